"""Files put into the shop's folder whole or not at all, and committed; what else lies staged stays as it is.

New files are written aside, on the same disk, flushed to it and moved into place: a folder of its own by one rename, a
file and its photos by two moves, the file last. Killed in between, photos may lie there that no sheet names; a sheet
never lies there half.
"""

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from types import MappingProxyType
from typing import Final

from filelock import FileLock, Timeout
from msgspec import Struct

from ..records.git import GitFailed, repository_of, run_git
from ..records.tree import NoTree
from .committing import commit, held_or_staged, in_utf8, refuse_where_no_commit_stays, unknown_to_git, unstage

ASIDE: Final = "engine-pages"  # our own folder among git's own files
WAIT_SECONDS: Final = 60.0  # for another hand that writes in this shop


class BusyError(Exception):
    """Another command has been writing in this shop for longer than one waits."""


class ChangedError(Exception):
    """A file is no more as it was read: somebody saved it meanwhile, and what was saved stays."""


class Exchange(Struct, frozen=True):
    """A file's content as it was read and judged, and what takes its place; the same twice for one that stays."""

    was: bytes
    now: bytes


NOTHING: Final[Mapping[str, Exchange]] = MappingProxyType({})
NONE_GONE: Final[Mapping[str, bytes | None]] = MappingProxyType({})


@contextmanager
def alone(shop: Path, *, commits: bool = True) -> Iterator[Path]:
    """While it lasts, no other hand of ours writes in the shop; gives an empty folder to write aside in.

    What a killed predecessor left there goes. `commits`: whether what is written is to be committed. Raises BusyError;
    NoTree where the shop is no folder; GitFailed where nothing can be committed.
    """
    if not shop.is_dir():
        raise NoTree(f"{shop}: there is no such folder")
    if commits:
        refuse_where_no_commit_stays(shop)
    place = _aside(shop)
    place.mkdir(parents=True, exist_ok=True)
    try:
        with FileLock(place / "lock", timeout=WAIT_SECONDS):
            for left in place.glob("new-*"):
                shutil.rmtree(left)
            aside = Path(tempfile.mkdtemp(prefix="new-", dir=place))
            try:
                yield aside
            finally:
                shutil.rmtree(aside, ignore_errors=True)
    except Timeout:
        raise BusyError(f"another command is writing in {shop}; try again when it is done") from None


def _aside(shop: Path) -> Path:
    """Among git's own files where they lie on the same disk, else in a folder under a dot in the shop itself."""
    if repository_of(shop) is not None:
        inside = shop / os.fsdecode(run_git(shop, "rev-parse", "--git-path", ASIDE).removesuffix(b"\n"))
        if inside.parent.stat().st_dev == shop.stat().st_dev:
            return inside
    return shop / f".{ASIDE}"


def put_and_commit(
    shop: Path, aside: Path, new: Mapping[str, bytes], last: str, message: str,
    changed: Mapping[str, Exchange] = NOTHING, also: Iterable[str] = (), gone: Mapping[str, bytes | None] = NONE_GONE,
) -> str | None:  # fmt: skip
    """Put new files in their place, exchange the content of others, take away `gone` as it was read (None: it went
    before, in no commit), and commit them all with `also`.

    The commit's id; None where the shop is no repository, or nothing is new. `last` is the new file without which the
    others say nothing. OSError, GitFailed, ChangedError: all is as it was then, and what was saved meanwhile stays.
    """
    paths = sorted({*new, *changed, *also})
    said = in_utf8(message)
    unknown = unknown_to_git(shop, paths)
    held, staged = held_or_staged(shop, gone)
    moved = put_new(shop, aside, new, last)
    done: list[str] = []
    away: list[str] = []
    made = None
    try:
        for path, one in changed.items():
            _exchange(aside, shop / path, one)
            done.append(path)
        for path, was in gone.items():
            if was is not None:
                _put_aside(shop, aside, path, was)
                away.append(path)
        if repository_of(shop) is not None:
            made = commit(shop, [*paths, *held], unknown, said)
    except (OSError, GitFailed, ChangedError):
        for path in away:
            os.rename(aside / path, shop / path)
        _take_away(moved)  # first: on a full disk that makes the room that git wants
        for path in done:
            with suppress(ChangedError):  # saved once more since: that is not ours to take back
                _exchange(aside, shop / path, Exchange(changed[path].now, changed[path].was))
        unstage(shop, unknown)
        raise
    unstage(shop, staged)
    for folder in {(shop / path).parent for path in gone}:
        with suppress(OSError):  # the folder holds something else
            folder.rmdir()
    return made


def _put_aside(shop: Path, aside: Path, path: str, was: bytes) -> None:
    _refuse_changed(shop / path, was)
    (aside / path).parent.mkdir(parents=True, exist_ok=True)
    os.rename(shop / path, aside / path)


def _exchange(aside: Path, path: Path, one: Exchange) -> None:
    if one.now != one.was:
        rewrite(path, one.now, one.was, aside)
    else:
        _refuse_changed(path, one.was)


def _refuse_changed(path: Path, was: bytes) -> None:
    if not path.is_file() or path.read_bytes() != was:
        raise ChangedError(f"{path} was changed meanwhile; what was saved stays, and nothing else was written")


def put_new(shop: Path, aside: Path, files: Mapping[str, bytes], last: str) -> dict[Path, bytes]:
    """Write new files aside and move them into place, `last` last; what was put there. One that is there already is
    left. FileExistsError for a file that is there with other content; OSError: nothing is there that was not.
    """
    missing = {path: content for path, content in files.items() if not _is_there(shop / path, content)}
    for path, content in missing.items():
        _write(aside / path, content)
    _flush_folders(aside)
    moved: dict[Path, bytes] = {}
    try:
        for part in _moves(shop, missing, last):
            (shop / part).parent.mkdir(parents=True, exist_ok=True)
            _move(aside / part, shop / part)
            moved |= {shop / path: one for path, one in missing.items() if path == part or path.startswith(f"{part}/")}
            _flush((shop / part).parent)
    except OSError:
        _take_away(moved)
        raise
    return moved


def _move(aside: Path, place: Path) -> None:
    """Move a file or a folder to a place where nothing is. FileExistsError where another hand was quicker.

    Of a folder rename sees to that by itself; over a file it would go without a word, and a link does not.
    """
    if aside.is_dir():
        os.rename(aside, place)
        return
    try:
        os.link(aside, place)
    except OSError as trouble:
        if place.exists():
            raise FileExistsError(f"{place} was saved meanwhile; that stays, and nothing was written") from trouble
        os.rename(aside, place)  # on a disk without links, a look directly before is all that can be had
    else:
        os.unlink(aside)


def _take_away(moved: Mapping[Path, bytes]) -> None:
    """Our files, and the folders that are empty then; what another hand has saved in them or put beside them stays."""
    for one, content in moved.items():
        with suppress(FileNotFoundError):  # another hand was quicker
            if one.read_bytes() == content:
                one.unlink()
        with suppress(OSError):  # the folder holds something
            one.parent.rmdir()
            one.parent.parent.rmdir()


def _is_there(path: Path, content: bytes) -> bool:
    if not path.exists():
        return False
    if path.read_bytes() != content:
        raise FileExistsError(f"{path} is there already with other content")
    return True


def _moves(shop: Path, paths: Iterable[str], last: str) -> Iterator[str]:
    """What to rename: a folder that is not there yet as a whole, else file by file; what holds `last` comes last."""
    found = {_top_that_is_new(shop, path) for path in paths}
    tops = {top for top in found if not any(top.startswith(f"{other}/") for other in found)}  # others come with theirs
    yield from sorted(tops, key=lambda top: (last == top or last.startswith(f"{top}/"), top))


def _top_that_is_new(shop: Path, path: str) -> str:
    """The folder right over a file where it is new, else the file. Folders further up hold nothing by themselves."""
    folder = path.rpartition("/")[0]
    return path if not folder or (shop / folder).exists() else folder


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def rewrite(path: Path, content: bytes, was: bytes | None = None, aside: Path | None = None) -> None:
    """A file's content exchanged, whole or not at all; its permissions stay. OSError leaves it as it was.

    `was`: what it held when it was read. ChangedError where it holds something else by now. `aside`: where to write
    first, on the same disk; directly beside it where that is left out, and there a kill leaves it.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=aside or path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, path.stat().st_mode & 0o777 if path.exists() else 0o644)
        if was is not None:
            _refuse_changed(path, was)
        os.replace(name, path)
    except BaseException:
        os.unlink(name)
        raise
    _flush(path.parent)


def _flush_folders(top: Path) -> None:
    for folder, _, _ in os.walk(top):
        _flush(Path(folder))


def _flush(folder: Path) -> None:
    """The names in a folder, to the disk; Windows does that by itself and lets no folder be opened."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
