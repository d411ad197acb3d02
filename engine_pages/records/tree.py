"""Where record files come from: the shop's folder as it lies there, or the same folder at a commit.

In: a folder, or a folder and a revision. Out: the list of files, their bytes and sizes, and what was left out and
why. Paths are relative to the shop, with forward slashes, sorted; both trees leave out the same names, so that a
record reads alike from either. A listing is taken once, when a tree is made.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final, Protocol

from msgspec import Struct

from .git import GitFailed, read_blobs, repository_of, run_git, why_no_repository

SITE: Final = "site"  # the built site, at the shop's top only: an engine may well be called so
_PREFETCHED: Final = (".yml", ".yaml")  # read together at a commit: thousands of small files, one process
_MOST: Final = 1 << 20  # bytes; a record file has a mebibyte at most, what is larger is read alone

# Windows has devices by these names, whatever the ending, and takes these signs in no name: Microsoft Learn, "Naming
# Files, Paths, and Namespaces".
_DEVICES: Final = re.compile(r"(?:CON|PRN|AUX|NUL|(?:COM|LPT)[1-9¹²³])(?:\.|$)", re.IGNORECASE)
_NO_WINDOWS_SIGN: Final = re.compile(r'[<>:"|?*\\\x00-\x1f]')

_SUBMODULE: Final = 0o160000  # git's own file mode for a commit of another repository


class NoTree(Exception):  # noqa: N818 - it says what there is none of
    """There is no tree to read: no such folder, no repository, no such revision. The message says which."""


class NoFile(LookupError):  # noqa: N818 - it says what there is none of
    """A path that the tree does not hold, or that could not be read; the message says which."""


class LeftOut(Struct, frozen=True):
    """A name that stands in the shop and is not read: the path, fit to be shown, and why."""

    path: str
    why: str


class Tree(Protocol):
    """The files of a shop."""

    @property
    def label(self) -> str:
        """What is being read, for messages."""

    def paths(self) -> Sequence[str]:
        """Every file, sorted."""

    def read(self, path: str) -> bytes:
        """The bytes of a file that `paths` names. Raises NoFile."""

    def size(self, path: str) -> int:
        """Its size in bytes. Raises NoFile."""


class Folder:
    """The shop's folder as it lies there: half-typed files, files that git ignores, and all.

    Left out: names that begin with a dot, the built site, and whatever is no plain file. A symbolic link is never
    followed, into the shop or out of it.
    """

    __slots__ = ("_left_out", "_paths", "root")

    def __init__(self, root: Path | str) -> None:
        """Raises NoTree where `root` is no folder or may not be opened."""
        self.root = Path(root)
        if not self.root.is_dir():
            raise NoTree(f"{root}: there is no such folder")
        self._left_out: list[LeftOut] = []
        self._paths = dict.fromkeys(sorted(self._listed()))

    @property
    def label(self) -> str:
        return "the folder as it lies"

    def paths(self) -> Sequence[str]:
        return tuple(self._paths)

    def read(self, path: str) -> bytes:
        try:
            # Not followed even where a link has taken the file's place since the listing.
            handle = os.open(self._place(path), os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
            with open(handle, "rb") as file:
                return file.read()
        except OSError as trouble:
            raise NoFile(f"{shown(path)}: cannot be read: {trouble.strerror}") from trouble

    def size(self, path: str) -> int:
        try:
            return self._place(path).lstat().st_size
        except OSError as trouble:
            raise NoFile(f"{shown(path)}: cannot be read: {trouble.strerror}") from trouble

    def left_out(self) -> Sequence[LeftOut]:
        """What stands here and is not read, though a person may have meant it to be; sorted."""
        return tuple(sorted(self._left_out, key=lambda one: one.path))

    def _place(self, path: str) -> Path:
        if path not in self._paths:
            raise NoFile(f"{shown(path)}: no such file in {self.label}")
        return self.root / path

    def _listed(self) -> Iterator[str]:
        folders = [""]
        while folders:
            folder = folders.pop()
            for path, mode in self._children(folder):
                why = why_left_out(path, mode)
                if why:
                    self._left_out.append(LeftOut(shown(path), why))
                elif stat.S_ISDIR(mode):
                    folders.append(path)
                else:
                    yield path

    def _children(self, folder: str) -> list[tuple[str, int]]:
        """Path and file mode of what stands in a folder; a folder that cannot be opened is left out."""
        try:
            with os.scandir(self.root / folder) as entries:
                inside = [(f"{folder}/{one.name}" if folder else one.name, one) for one in entries]
                return [
                    (path, one.stat(follow_symlinks=False).st_mode) for path, one in inside if not is_passed_over(path)
                ]
        except OSError as trouble:
            if not folder:
                raise NoTree(f"{self.root}: the folder cannot be opened: {trouble.strerror}") from trouble
            self._left_out.append(LeftOut(shown(folder), f"cannot be opened: {trouble.strerror}"))
            return []


class Commit:
    """The shop's folder as it was at a commit, read from git's own store; nothing is checked out.

    `commit` is the full id. Bytes are those that were committed: a filter that a repository names is not run.
    """

    __slots__ = ("_blobs", "_fetched", "_left_out", "_photos_too", "_prefix", "commit", "root")

    def __init__(self, root: Path | str, revision: str, only: Sequence[str] | None = None) -> None:
        """Raises NoTree: no such folder, no repository, unknown revision, or no shop folder at that commit.

        `only`: these files, and all that stands in these folders; None is everything.
        """
        repository = repository_of(Path(root))
        if repository is None:
            raise NoTree(f"{root}: {why_no_repository(Path(root))}")
        commit = repository.commit(revision)
        if commit is None:
            raise NoTree(f"{shown(revision)}: no such revision in the repository of {root}")
        try:
            self._take(Path(root), commit, repository.prefix, only)
        except GitFailed as trouble:
            raise NoTree(f"{shown(revision)}: the shop's folder is not in that commit ({trouble})") from trouble

    def _take(self, root: Path, commit: str, prefix: str, only: Sequence[str] | None) -> None:
        self.root, self.commit, self._prefix = root, commit, prefix
        # Git takes no list of none: it would list everything.
        command = ("ls-tree", "-r", "-z", "-l", "--full-tree", f"{commit}:{prefix}")
        listing = run_git(root, *command, "--", *(only or ())) if only is None or only else b""
        self._left_out: list[LeftOut] = []
        self._blobs = dict(sorted(self._listed(listing)))
        self._fetched: dict[str, bytes] = {}
        self._photos_too = False

    def with_files(self, only: Sequence[str] | None) -> Commit:
        """The same commit with other files: these, and all that stands in these folders; None is everything.

        GitFailed.
        """
        other = object.__new__(Commit)
        other._take(self.root, self.commit, self._prefix, only)
        return other

    def part(self, paths: Iterable[str], folders: tuple[str, ...] = ()) -> Commit:
        """The same commit with these of its files alone, and what was left out of these folders.

        All that is not large is read by one process, photos too: a part is an engine or a few.
        """
        part = object.__new__(Commit)
        part.root, part.commit, part._prefix = self.root, self.commit, self._prefix
        part._blobs = {path: self._blobs[path] for path in sorted(paths) if path in self._blobs}
        part._left_out = [left for left in self._left_out if left.path.startswith(folders)]
        part._fetched, part._photos_too = {}, True
        return part

    def joined(self, other: Commit) -> Commit:
        """These files and those of another part of the same commit."""
        both = self.part((), ())
        both._blobs = dict(sorted({**self._blobs, **other._blobs}.items()))
        both._left_out = [*self._left_out, *other._left_out]
        return both

    def place_of(self, folder: str) -> str:
        """How git names a folder of the shop at this commit."""
        return f"{self.commit}:{self._prefix}{folder}"

    def blob(self, path: str) -> str:
        """The id of a file's content. Raises NoFile."""
        return self._blob(path)[0]

    @property
    def label(self) -> str:
        return f"commit {self.commit[:12]}"

    def paths(self) -> Sequence[str]:
        return tuple(self._blobs)

    def read(self, path: str) -> bytes:
        blob, size = self._blob(path)
        try:
            if not self._is_fetched(path, size):
                return run_git(self.root, "cat-file", "blob", blob)
            if not self._fetched:
                self._fetched = self._read_records()
        except GitFailed as trouble:
            raise NoFile(f"{shown(path)}: cannot be read from {self.label}: {trouble}") from trouble
        if blob not in self._fetched:
            raise NoFile(f"{shown(path)}: its content is missing from this clone")
        return self._fetched[blob]

    def size(self, path: str) -> int:
        return self._blob(path)[1]

    def left_out(self) -> Sequence[LeftOut]:
        """What stands in the commit and is not read, though a person may have meant it to be; sorted."""
        return tuple(sorted(self._left_out, key=lambda one: one.path))

    def _blob(self, path: str) -> tuple[str, int]:
        if path not in self._blobs:
            raise NoFile(f"{shown(path)}: no such file in {self.label}")
        return self._blobs[path]

    def _listed(self, listing: bytes) -> Iterator[tuple[str, tuple[str, int]]]:
        """(path, (blob id, size)) of every plain file; a line is `mode type id size<tab>path`."""
        for entry in listing.split(b"\0")[:-1]:
            meta, _, name = entry.partition(b"\t")
            mode, _, blob, size = meta.decode("ascii").split()
            path = os.fsdecode(name)
            if is_passed_over(path):
                continue
            why = why_left_out(path, int(mode, 8))
            if why:
                self._left_out.append(LeftOut(shown(path), why))
            else:
                yield path, (blob, int(size) if size.isdigit() else 0)

    def _is_fetched(self, path: str, size: int) -> bool:
        """Whether a file is read together with the others."""
        return size <= _MOST and (self._photos_too or path.endswith(_PREFETCHED))

    def _read_records(self) -> dict[str, bytes]:
        """Every record file of the commit in one process: id → bytes."""
        wanted = {blob for path, (blob, size) in self._blobs.items() if self._is_fetched(path, size)}
        return read_blobs(self.root, wanted)


def shown(path: str) -> str:
    """A path fit to be printed: what no terminal should get, or no text file can hold, by its number."""
    return "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in path)


def why_not_on_windows(name: str) -> str | None:
    """Why a file or folder cannot have this name on Windows, so that a clone of the shop fails there; None if it can.

    >>> why_not_on_windows("nul.yml"), why_not_on_windows("K-07."), why_not_on_windows("K-07.yml")
    ('it is a device there', 'it ends in a point or a blank', None)
    """
    if _DEVICES.match(name):
        return "it is a device there"
    if name.endswith((".", " ")):
        return "it ends in a point or a blank"
    sign = _NO_WINDOWS_SIGN.search(name)
    return None if sign is None else f"it holds {shown(sign[0])}"


def is_passed_over(path: str) -> bool:
    """Whether a path is passed over without a word: under a dot name, or in the built site."""
    return path.startswith((".", f"{SITE}/")) or "/." in path or path == SITE


def why_left_out(path: str, mode: int) -> str:
    """Why a path is not read, or nothing: it is a plain file or a folder with a name that can be written down."""
    if stat.S_ISLNK(mode):
        return "a symbolic link, which is never followed; put the file itself here"
    if stat.S_IFMT(mode) == _SUBMODULE:
        return "another repository, which is not read"
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        return "no plain file"
    if not path.isascii() and any("\ud800" <= letter <= "\udfff" for letter in path):
        return "its name is not UTF-8"
    return ""
