"""Put a built site in its place whole: it grows in a hidden folder beside, and takes the old one's place by renames.

In: the folder where a site is to stand, and whoever builds. Out: the new site there, with a list of all that was built,
by which the next build knows the site again, and what in it belongs to somebody else.

Promised: however a build ends, by an error, by Ctrl-C, on a full disk or killed outright, the old site or the new one
lies whole on the disk. Only where the system cannot exchange two folders in one step does a kill between two renames
leave nothing in its place; the old site then waits beside, and the next build puts it back first. A power cut is
promised nothing: nothing is synced.
"""

import json
import os
import shutil
import sys
from collections.abc import Iterator, Set
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Final

from .exchange import take_place

WRITTEN: Final = "engine-pages/written.json"  # every file of the build by its path, itself among them
_NEW, _OLD, _GONE = "new", "old", "gone"  # within the folder beside: being built, put aside, to be removed
LOCK: Final = "lock"
_LITTER: Final = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})  # left by file managers where somebody looked in
_MOST_NAMED: Final = 5


class PlaceError(Exception):
    """The folder is not free for what is to be built; the message says why. Nothing in it was touched."""


@contextmanager
def in_its_place(to: Path) -> Iterator[Path]:
    """An empty folder to build into, which takes the place of `to` where the block ends well.

    `to` is an absolute path without links. Raises PlaceError where the site cannot go there,
    and OSError where it cannot be written; then `to` is as it was.
    """
    check_place(to)
    with beside(to) as work:
        try:
            _clear(to, work)
            new = work / _NEW
            new.mkdir()
            yield new
            _write_list(new)
            check_place(to)  # building takes a while, in which somebody may have put a file there
            _exchange(to, work)
        finally:
            _clear(to, work)


def check_outside(to: Path, records: Path, within: str | None = None) -> None:
    """Raise PlaceError for a place among the records or above them; `within` them is the one folder that is free."""
    if to == records or to in records.parents:
        raise PlaceError(f"{to} is among the records or holds them; name a folder outside {records}")
    if records in to.parents and to.relative_to(records).parts[0] != within:
        free = f", or {records / within}" if within is not None else ""
        raise PlaceError(f"{to} is among the records or holds them; name a folder outside {records}{free}")


def check_place(to: Path) -> None:
    """Raise PlaceError where `to` holds anything that no build of ours wrote, or cannot be exchanged."""
    if not to.exists():
        return
    if not to.is_dir():
        raise PlaceError(f"{to} is a file; a site needs a folder")
    if os.path.ismount(to):
        raise PlaceError(f"{to} is a mount point, which nothing can take the place of; name a folder in it")
    written = _written(to)
    others = list(_others(to, written or frozenset(), _folders(written or frozenset())))
    if others and written is None:
        raise PlaceError(f"{to} is not empty and no site of ours: name a new folder, or an empty one")
    if others:
        more = f" and {len(others) - _MOST_NAMED} more" if len(others) > _MOST_NAMED else ""
        raise PlaceError(
            f"{to} holds what no build of ours wrote: {', '.join(others[:_MOST_NAMED])}{more}. Nothing was touched. "
            "Move it away, or name another folder; what belongs to the site lies among the notes, and is built in"
        )


def _write_list(site: Path) -> None:
    """The paths as JSON in plain ASCII: a name may hold anything that the file system lets it."""
    there = {path.relative_to(site).as_posix() for path in site.rglob("*") if not path.is_dir()}
    file = site / WRITTEN
    file.parent.mkdir(exist_ok=True)
    file.write_text(json.dumps(sorted({*there, WRITTEN}), indent=0) + "\n", encoding="ascii")


def _written(site: Path) -> frozenset[str] | None:
    """What the build of a site wrote; None where there is no such list, or none that can be read."""
    try:
        paths = json.loads((site / WRITTEN).read_bytes())
    except (FileNotFoundError, NotADirectoryError, ValueError):
        return None
    return frozenset(path for path in paths if isinstance(path, str)) if isinstance(paths, list) else None


def _folders(written: Set[str]) -> frozenset[str]:
    return frozenset(parent.as_posix() for path in written for parent in Path(path).parents)


def _others(folder: Path, written: Set[str], folders: Set[str], above: str = "") -> Iterator[str]:
    """What lies in a folder and was not written, sorted; a whole folder of such is named once, an empty one not."""
    for entry in sorted(folder.iterdir()):
        path = above + entry.name
        if entry.is_dir() and not entry.is_symlink():
            inside = _others(entry, written, folders, f"{path}/")
            if path in folders:
                yield from inside
            elif any(True for _ in inside):
                yield f"{path}/"
        elif path not in written and entry.name not in _LITTER:
            yield path


@contextmanager
def beside(to: Path) -> Iterator[Path]:
    """The folder beside, for one build at a time. What is in it belongs to this build, or to one that was killed."""
    work = to.parent / f".{to.name}.engine-pages"
    lock = _locked(work, to)
    try:
        yield work
    finally:
        lock.close()
        (work / LOCK).unlink(missing_ok=True)
        with suppress(OSError):  # another build may have begun in it since
            work.rmdir()


def _locked(work: Path, to: Path) -> IO[bytes]:
    try:
        work.mkdir(parents=True, exist_ok=True)
        lock = (work / LOCK).open("wb")
    except OSError as trouble:
        raise PlaceError(
            f"the site is built beside its place, and {work} cannot be written: {trouble.strerror}; where only {to} "
            "is yours to write, name a folder in it"
        ) from None
    if sys.platform != "win32":  # there nobody can remove a file that is open, which keeps a second build out too
        import fcntl

        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            lock.close()
            raise PlaceError(f"another build to {to} is going on; wait until it is done") from None
    return lock


def _exchange(to: Path, work: Path) -> None:
    if to.exists():
        shutil.copymode(to, work / _NEW)
    try:
        take_place(work / _NEW, to, work / _OLD)
    except OSError as trouble:
        raise PlaceError(
            f"{to} cannot be exchanged for the new site: {trouble.strerror}; where it is a mount point or in use, "
            "name a folder in it"
        ) from None


def _clear(to: Path, work: Path) -> None:
    """Leave nothing in the folder beside; an old site that was put aside goes back where no new one came."""
    old, gone = work / _OLD, work / _GONE
    if old.exists() and not to.exists():
        old.rename(to)
    for leftover in (work / _NEW, gone):
        if leftover.exists():
            shutil.rmtree(leftover)
    if old.exists():
        old.rename(gone)  # what is called old is whole at any time
        shutil.rmtree(gone)
