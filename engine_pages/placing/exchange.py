"""Let a new folder take an old one's place in one step, so that at no instant neither stands there.

Linux and macOS have a call for it; where there is none, or the disk does not know it, two renames do it, and between
them the old folder waits aside: who builds next puts it back.
"""

import ctypes
import os
import sys
from pathlib import Path
from typing import Final

_AT_CWD: Final = -100  # Linux, fcntl.h
_LINUX_EXCHANGE: Final = 2  # RENAME_EXCHANGE, linux/fs.h
_MAC_SWAP: Final = 2  # RENAME_SWAP, sys/stdio.h


def take_place(new: Path, to: Path, aside: Path) -> None:
    """`new` stands at `to`, what stood there at `aside`, where nothing must be. OSError leaves `to` as it was."""
    if not os.path.lexists(to):  # a link that leads nowhere is in the way too
        new.rename(to)
    elif _swapped(new, to):
        try:
            new.rename(aside)
        except OSError:
            _swapped(new, to)
            raise
    else:
        to.rename(aside)
        new.rename(to)


def _swapped(one: Path, other: Path) -> bool:
    """Whether the system has exchanged the two."""
    if sys.platform not in ("linux", "darwin"):
        return False
    library = ctypes.CDLL(None, use_errno=True)
    names = os.fsencode(one), os.fsencode(other)
    try:
        if sys.platform == "linux":
            return bool(library.renameat2(_AT_CWD, names[0], _AT_CWD, names[1], _LINUX_EXCHANGE) == 0)
        return bool(library.renamex_np(*names, _MAC_SWAP) == 0)
    except AttributeError:  # a C library that does not know the call
        return False
