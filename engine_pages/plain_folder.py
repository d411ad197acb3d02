"""A plain site into a folder: whole or not at all, and never over anything but an earlier one.

In: files by their paths, the folder, the records' folder. Out: the folder, with a list of all that was written, by
which the next writing knows it again. It is written beside its place and put there by renames; where the second one
fails the old folder goes back.
"""

import json
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Final

WRITTEN: Final = "engine-pages/plain.json"  # every file by its path, itself among them
_LITTER: Final = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})  # left by file managers where somebody looked in
_MOST_NAMED: Final = 5


class PlaceError(Exception):
    """The folder is not free for a site; the message says why. Nothing was touched."""


def write_folder(files: Mapping[str, Callable[[], bytes]], to: Path, records: Path) -> int:
    """Write the files and the list of them; how many. PlaceError where they cannot go there, OSError."""
    to = to.resolve()
    check_place(to, records.resolve())
    to.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=f".{to.name}.", dir=to.parent) as name:
        new, old = Path(name) / "new", Path(name) / "old"
        for path, made in files.items():
            _put(new / path, made())
        _put(new / WRITTEN, (json.dumps(sorted({*files, WRITTEN}), indent=0) + "\n").encode())
        check_place(to, records.resolve())  # making photos takes a while, in which somebody may have put a file there
        if to.exists():
            to.rename(old)
        try:
            new.rename(to)
        except OSError:
            if old.exists():
                old.rename(to)
            raise
    return len(files)


def check_place(to: Path, records: Path) -> None:
    """Raise PlaceError for a place among the records or above them, and for a folder that holds something else."""
    if to == records or to in records.parents or records in to.parents:
        raise PlaceError(f"{to} is among the records or holds them; name a folder outside {records}")
    if not to.exists():
        return
    if not to.is_dir():
        raise PlaceError(f"{to} is a file; a site needs a folder")
    others = sorted(_others(to, _written(to)))
    if others:
        more = f" and {len(others) - _MOST_NAMED} more" if len(others) > _MOST_NAMED else ""
        raise PlaceError(
            f"{to} holds something else: {', '.join(others[:_MOST_NAMED])}{more}. Nothing was touched; name a new "
            "folder, or an empty one"
        )


def _written(folder: Path) -> frozenset[str]:
    """What an earlier writing left in a folder; nothing where there is no such list, or none that can be read."""
    try:
        paths = json.loads((folder / WRITTEN).read_bytes())
    except (FileNotFoundError, NotADirectoryError, ValueError):
        return frozenset()
    return frozenset(path for path in paths if isinstance(path, str)) if isinstance(paths, list) else frozenset()


def _others(folder: Path, written: frozenset[str]) -> Iterator[str]:
    for path in folder.rglob("*"):
        name = path.relative_to(folder).as_posix()
        if (path.is_symlink() or not path.is_dir()) and name not in written and path.name not in _LITTER:
            yield name


def _put(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
