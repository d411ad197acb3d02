"""Is a zip to the byte what the writer of bundles makes of the files in it?

In: an open zip whose files were found whole, and its list. Out: yes or no. What is around the files counts so as well:
headers, times, order, comments, bytes before and behind. Nothing is written to a disk.
"""

import io
import os
import zipfile
from collections.abc import Iterator
from typing import IO, Final

from .bundle import add_file, add_list
from .manifest import Manifest

PIECE: Final = 1 << 20  # bytes of a file that are held at once


def is_own_frame(archive: zipfile.ZipFile, raw: IO[bytes], manifest: Manifest) -> bool:
    """Whether `raw`, the zip's own bytes, are what a bundle of its files has. Whatever reading a file raises.

    A zip that packs its files was made by another writer: nothing of it is unpacked.
    """
    if any(one.compress_type != zipfile.ZIP_STORED for one in archive.infolist()):
        return False
    raw.seek(0, os.SEEK_END)
    comparing = _Comparing(raw)
    size = raw.tell()
    with zipfile.ZipFile(comparing, "w") as again:
        for path, entry in sorted(manifest.files.items()):
            add_file(again, path, entry.bytes, _pieces(archive, path))
        add_list(again, manifest)
    return not comparing.differing and comparing.end == size


def _pieces(archive: zipfile.ZipFile, path: str) -> Iterator[bytes]:
    with archive.open(path) as file:
        while piece := file.read(PIECE):
            yield piece


class _Comparing(io.RawIOBase):
    """A file that keeps nothing of what is written to it but where it differs from another.

    A zip's writer goes back to a file's header once it knows the sum: what is written anew to a place counts anew.
    """

    def __init__(self, other: IO[bytes]) -> None:
        self.differing: set[int] = set()
        self.end = 0
        self._other = other
        self._at = 0

    def seekable(self) -> bool:
        return True

    def writable(self) -> bool:
        return True

    def tell(self) -> int:
        return self._at

    def seek(self, offset: int, whence: int = os.SEEK_SET, /) -> int:
        self._at = offset + {os.SEEK_SET: 0, os.SEEK_CUR: self._at, os.SEEK_END: self.end}[whence]
        return self._at

    def write(self, data: bytes, /) -> int:  # type: ignore[override]  # the zip's writer hands bytes alone
        self._other.seek(self._at)
        if self._other.read(len(data)) == data:
            self.differing.discard(self._at)
        else:
            self.differing.add(self._at)
        self._at += len(data)
        self.end = max(self.end, self._at)
        return len(data)
