"""A cache of bytes that are costly to make again: published photos, parsed blobs.

In: a kind, a key made from everything the bytes depend on, and the bytes. Out: the bytes again, or None. A cache may
vanish, be damaged or be unwritable at any time: nothing but speed depends on it.

An entry is one file: a mark, the SHA-256 of kind, key and bytes, then the bytes. It is written beside its place and
renamed there, so several processes may share a cache; a half-written or damaged entry fails its sum, and is removed.
"""

import hashlib
import os
import re
import sys
import tempfile
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final, NamedTuple, TypeVar

FOLDER_NAME: Final = "engine-pages"

DEFAULT_MAX_BYTES: Final = 512_000_000
"""Bytes of all entries: about 1,000 published photos of half a megabyte."""

_MARK: Final = b"engine-pages cache 1\n"
_HEAD_LENGTH: Final = len(_MARK) + hashlib.sha256().digest_size
_LENGTH_BYTES: Final = 8  # a part's length, big-endian

# Trimming walks the whole cache, so it is rare: whenever this share of the limit was written since the last time, by
# whichever processes, and then down to a limit that leaves room. The cache may stand over its limit by this share
# meanwhile.
_TRIM_EVERY: Final = 0.125
_TRIM_DOWN_TO: Final = 0.8
_TALLY: Final = "written"  # a file beside the kinds: a byte in it for every kilobyte that was written, begun ones too
_TALLIED: Final = 1000
# What lies in its place and is no file, as a link or a pipe, is not written to, nor waited for.
_APPENDED: Final = os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)

_STALE_SECONDS: Final = 3600.0  # a file still half-written after an hour belongs to a process that died
_PARTIAL: Final = ".engine-pages-part-"

_MOST_REMEMBERED: Final = 300  # entries that are in memory as they were read

T = TypeVar("T")

_KIND: Final = re.compile(r"[a-z][a-z0-9-]{0,31}")
_KEY: Final = re.compile(r"[0-9a-f]{64}")


class _Entry(NamedTuple):
    """Sorts by last use; the path settles ties, so that two processes agree."""

    used: int  # ns since the epoch
    path: str
    size: int  # bytes


class Cache:
    """Bytes by kind and key, under one folder, bounded in size, the least recently used leaving first.

    root: the folder; None is `cache_folder()`. Nothing is created before the first `put`.
    max_bytes: of all entries together; a single entry larger than this is not kept.
    problem: None, or why nothing is kept: an unusable folder makes a build slower and never breaks it.
    """

    def __init__(self, root: Path | None = None, max_bytes: int = DEFAULT_MAX_BYTES) -> None:
        self.root = root if root is not None else cache_folder()
        self.max_bytes = max_bytes
        self._memory: OrderedDict[tuple[str, str], Any] = OrderedDict()  # the last used at its end
        self._unwritten: dict[tuple[str, str], Callable[[], bytes]] = {}
        self._puts_off = False
        self.problem: str | None = None
        if self.root is None:
            self.problem = "no cache is kept: this user has no home folder"

    def get(self, kind: str, key: str) -> bytes | None:
        """The bytes that were put, or None. A damaged entry is removed and counts as absent."""
        path = self._path(kind, key)
        if path is None:
            return None
        try:
            entry = path.read_bytes()
        except OSError:
            return None  # absent, or unreadable, which comes to the same
        data = entry[_HEAD_LENGTH:]
        if entry[:_HEAD_LENGTH] != _head(kind, key, data):
            _remove(path)
            return None
        with suppress(OSError):  # a cache that can only be read still serves
            os.utime(path)
        return data

    def recall(self, kind: str, key: str, read: Callable[[bytes], T]) -> T | None:
        """What `read` makes of the bytes that were put, or None; made once, and nobody's to change.

        For entries that a process wants again and again. It is this object's own memory: what another process has put
        there since is not seen.
        """
        if (kind, key) not in self._memory:
            found = self.get(kind, key)
            if found is None:
                return None
            self._remember(kind, key, read(found))
        self._memory.move_to_end((kind, key))
        known: T = self._memory[kind, key]
        return known

    def keep(self, kind: str, key: str, value: T, write: Callable[[T], bytes]) -> None:
        """Keeps what `recall` gives, as bytes and in memory."""
        self._remember(kind, key, value)
        self.put_later(kind, key, lambda: write(value))

    def put_later(self, kind: str, key: str, made: Callable[[], bytes]) -> None:
        """As `put`, when there is time for it; see `putting_off`."""
        self._unwritten[kind, key] = made
        if not self._puts_off:
            self.write_kept()

    @contextmanager
    def putting_off(self) -> Iterator[None]:
        """Meanwhile what is kept is written when there is time for it: in the end, or when `write_kept` is called."""
        self._puts_off = True
        try:
            yield
        finally:
            self._puts_off = False
            self.write_kept()

    def write_kept(self) -> None:
        """Writes what was kept and put off, for other processes too."""
        while self._unwritten:
            (kind, key), made = self._unwritten.popitem()
            self.put(kind, key, made())

    def _remember(self, kind: str, key: str, value: object) -> None:
        self._memory[kind, key] = value
        while len(self._memory) > _MOST_REMEMBERED:
            self._memory.popitem(last=False)

    def holds(self, kind: str, key: str) -> bool:
        """Whether an entry lies there, damaged or not."""
        path = self._path(kind, key)
        return path is not None and path.is_file()

    def put(self, kind: str, key: str, data: bytes) -> None:
        """Keeps the bytes, if it can; see `problem`."""
        path = self._path(kind, key)
        if path is None or self.problem is not None or len(data) > self.max_bytes:
            return
        try:
            self._write(path, _head(kind, key, data), data)
        except OSError as error:
            self.problem = f"no cache is kept: {self.root} cannot be written ({error.strerror or error})"
            return
        if self._is_due(len(data)):
            self.trim()

    def _is_due(self, written: int) -> bool:
        """Whether so much was written that the cache is to be trimmed; where nobody can count, always."""
        assert self.root is not None  # something was written there
        try:
            return _tally(self.root / _TALLY, written) * _TALLIED > self.max_bytes * _TRIM_EVERY
        except OSError:
            return True

    def trim(self) -> None:
        """Removes what a dead process left behind, and, over `max_bytes`, the least recently used entries."""
        if self.root is None:
            return
        _remove(self.root / _TALLY)
        with suppress(OSError):  # most often: it was a file, and is gone
            (self.root / _TALLY).rmdir()
        entries = sorted(_entries(self.root))
        total = sum(entry.size for entry in entries)
        if total <= self.max_bytes:
            return
        for entry in entries:
            if total <= self.max_bytes * _TRIM_DOWN_TO:
                return
            _remove(Path(entry.path))
            total -= entry.size

    def _path(self, kind: str, key: str) -> Path | None:
        """Where an entry lies; both names are checked, for they become folder and file names."""
        if not _KIND.fullmatch(kind):
            raise ValueError(f"a kind is a short lower-case word, not {kind!r}")
        if not _KEY.fullmatch(key):
            raise ValueError(f"a key comes from key_of, not {key!r}")
        return None if self.root is None else self.root / kind / key[:2] / key

    @staticmethod
    def _write(path: Path, head: bytes, data: bytes) -> None:
        # Photos may be a customer's: the folder is its owner's alone, as mkstemp makes the files.
        path.parents[2].mkdir(mode=0o700, parents=True, exist_ok=True)
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, partial = tempfile.mkstemp(prefix=_PARTIAL, dir=path.parent)
        try:
            # No fsync: an entry that a power cut spoils fails its sum.
            with os.fdopen(handle, "wb") as file:
                file.write(head)
                file.write(data)
            os.replace(partial, path)
        except OSError:
            _remove(Path(partial))
            # Where an open file cannot be replaced, another process has just put the same bytes there.
            if not path.exists():
                raise


def key_of(*parts: bytes | str) -> str:
    """SHA-256, in hexadecimal, of the parts; each with its type and length, so that no two lists of parts agree.

    >>> key_of("ab", "c") == key_of("a", "bc")
    False
    >>> len(key_of(b"photo", "1600"))
    64
    """
    total = hashlib.sha256()
    for part in parts:
        # File names may hold bytes that are no text; Python carries them as lone surrogates.
        data = part if isinstance(part, bytes) else part.encode("utf-8", "surrogatepass")
        total.update(b"b" if isinstance(part, bytes) else b"t")
        total.update(len(data).to_bytes(_LENGTH_BYTES, "big"))
        total.update(data)
    return total.hexdigest()


def cache_folder(
    platform: str = sys.platform, environ: Mapping[str, str] | None = None, home: Path | None = None
) -> Path | None:
    """The user's cache folder for this program; None where there is no home folder either.

    Linux and the like: `XDG_CACHE_HOME` where it is absolute, else `~/.cache` (XDG Base Directory Specification 0.8).
    macOS: `~/Library/Caches`. Windows: `LOCALAPPDATA`, else `~/AppData/Local`. All arguments are for tests.
    """
    environ = os.environ if environ is None else environ
    if platform == "win32":
        given, beneath_home = environ.get("LOCALAPPDATA", ""), "AppData/Local"
    elif platform == "darwin":
        given, beneath_home = "", "Library/Caches"
    else:
        given, beneath_home = environ.get("XDG_CACHE_HOME", ""), ".cache"
    if given and Path(given).is_absolute():
        return Path(given) / FOLDER_NAME
    home = _home() if home is None else home
    return None if home is None else home / beneath_home / FOLDER_NAME


def _home() -> Path | None:
    try:
        return Path.home()
    except RuntimeError:
        return None


def _head(kind: str, key: str, data: bytes) -> bytes:
    """The sum covers the name too: an entry that lies under another's name is damaged."""
    return _MARK + bytes.fromhex(key_of(kind, key, data))


def _entries(root: Path) -> Iterator[_Entry]:
    """Every entry of the cache; leftovers of dead processes are removed on the way.

    Only files that lie and are named as entries do: a folder given by mistake loses nothing of its own.
    """
    for path in root.glob("*/[0-9a-f][0-9a-f]/*"):
        try:
            status = path.stat()
        except OSError:
            continue  # another process has just removed it
        if _KEY.fullmatch(path.name):
            yield _Entry(status.st_mtime_ns, str(path), status.st_size)
        elif path.name.startswith(_PARTIAL) and time.time() - status.st_mtime > _STALE_SECONDS:
            _remove(path)


def _tally(path: Path, written: int) -> int:
    """Count bytes that were written; the kilobytes since the last trimming. Processes append, and lose nothing."""
    with os.fdopen(os.open(path, _APPENDED, 0o600), "ab") as tally:
        tally.write(bytes(-(-written // _TALLIED)))
        return tally.tell()


def _remove(path: Path) -> None:
    with suppress(OSError):  # gone already, or held open by another process: the next trimming finds it
        path.unlink()
