"""Contents of record files by git's blob id, each parsed once: ids in, what was written, or why it cannot be read, out.

A blob never changes, so what was parsed may be kept from run to run, by anything that keeps bytes under a key.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

from .git import read_blobs
from .load import record_kind
from .log_pieces import LogPieces
from .yaml_text import Plain, read_document

_KIND: Final = "record-blobs"
_LOG: Final = "log"  # read in pieces: a log of a hundred lines, kept a hundred times, would be most of what is kept
_SHELF: Final = 2  # signs of an id: 256 entries hold what is kept, since one for each blob takes as long as parsing it
_FORMAT: Final = "1"  # another number where a blob is parsed into something else than before
_AT_ONCE: Final = 2_000  # blobs in memory as bytes: of the largest files that are read, 2 GiB; of usual ones, 5 MB


class Kept(Protocol):
    """Bytes that outlast a run, or not: nothing but speed depends on it."""

    def get(self, kind: str, key: str) -> bytes | None:
        """The bytes that were put, or None."""

    def put(self, kind: str, key: str, data: bytes) -> None:
        """Keeps the bytes, if it can."""


class Version(NamedTuple):
    """One content of a record file. `trouble` says why it cannot be read, and is empty where it can."""

    data: Plain
    trouble: str = ""


def parsed_versions(
    root: Path, blobs: Mapping[str, str], kept: Kept | None = None, shop: str = ""
) -> dict[str, Version]:
    """The versions of blobs. `blobs`: id → a path that it had, for the words of its trouble. Raises GitFailed.

    kept: what was parsed in earlier runs. shop: a name of the repository, so that two of them do not mix.
    """
    shelves = _shelves(sorted({blob[:_SHELF] for blob in blobs}), kept, shop)
    found = {blob: Version(*version) for shelf in shelves.values() for blob, version in shelf.items() if blob in blobs}
    new = dict(_read(root, {blob: path for blob, path in blobs.items() if blob not in found}))
    if kept is not None:
        to_keep = {blob: version for blob, version in new.items() if record_kind(blobs[blob]) != _LOG}
        for blob, version in to_keep.items():
            shelves[blob[:_SHELF]][blob] = version
        for shelf in sorted({blob[:_SHELF] for blob in to_keep}):
            kept.put(_KIND, _key(shop, shelf), json.dumps(shelves[shelf], ensure_ascii=False).encode())
    missing = dict.fromkeys(blobs, Version(None, "its content is missing from this clone"))
    return missing | found | new


def _shelves(names: Iterable[str], kept: Kept | None, shop: str) -> dict[str, dict[str, Sequence[Any]]]:
    """What is kept, as JSON: id → data and trouble."""
    shelves = {name: kept.get(_KIND, _key(shop, name)) if kept is not None else None for name in names}
    return {name: json.loads(data) if data is not None else {} for name, data in shelves.items()}


def _read(root: Path, blobs: Mapping[str, str]) -> Iterator[tuple[str, Version]]:
    pieces = LogPieces()
    for ids in _in_turns(blobs):
        for blob, raw in read_blobs(root, ids).items():
            yield blob, _parsed(blobs[blob], raw, pieces)


def _parsed(path: str, raw: bytes, pieces: LogPieces) -> Version:
    """A file with an error says something else than a reader sees, so none of it counts."""
    lines = pieces.read(raw) if record_kind(path) == _LOG else None
    if lines is not None:
        return Version(lines)
    document, problems = read_document(path, raw)
    trouble = next((one for one in problems if one.level == "error"), None)
    if trouble is None:
        return Version(document.data)
    return Version(None, f"line {trouble.source.line}: {trouble.message}")


def _key(shop: str, shelf: str) -> str:
    return hashlib.sha256(f"{_FORMAT} {shop} {shelf}".encode()).hexdigest()


def _in_turns(ids: Iterable[str]) -> Iterator[list[str]]:
    left = iter(ids)
    while turn := list(islice(left, _AT_ONCE)):
        yield turn
