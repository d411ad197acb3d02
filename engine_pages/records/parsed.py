"""Contents of record files by git's blob id, each parsed once: ids in, what was written, or why it cannot be read, out.

A blob never changes, so what was parsed may be kept from run to run, by anything that keeps bytes under a key.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import Final, NamedTuple, Protocol

from .git import read_blobs
from .yaml_text import Plain, read_document

_KIND: Final = "record-blob"
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


def parsed_versions(root: Path, blobs: Mapping[str, str], kept: Kept | None = None) -> dict[str, Version]:
    """The versions of blobs. `blobs`: id → a path that it had, for the words of its trouble. Raises GitFailed."""
    found = dict(_kept_before(blobs, kept)) if kept is not None else {}
    for ids in _in_turns(one for one in blobs if one not in found):
        contents = read_blobs(root, ids)
        for blob in ids:
            found[blob] = _parsed(blobs[blob], contents[blob]) if blob in contents else _MISSING
            if kept is not None and blob in contents:
                kept.put(_KIND, _key(blob), json.dumps(found[blob], ensure_ascii=False).encode())
    return found


_MISSING: Final = Version(None, "its content is missing from this clone")


def _parsed(path: str, raw: bytes) -> Version:
    """A file with an error says something else than a reader sees, so none of it counts."""
    document, problems = read_document(path, raw)
    trouble = next((one for one in problems if one.level == "error"), None)
    if trouble is None:
        return Version(document.data)
    return Version(None, f"line {trouble.source.line}: {trouble.message}")


def _kept_before(blobs: Iterable[str], kept: Kept) -> Iterator[tuple[str, Version]]:
    for blob in blobs:
        data = kept.get(_KIND, _key(blob))
        if data is not None:
            yield blob, Version(*json.loads(data))


def _key(blob: str) -> str:
    return hashlib.sha256(f"{_FORMAT} {blob}".encode("ascii")).hexdigest()


def _in_turns(ids: Iterable[str]) -> Iterator[list[str]]:
    left = iter(ids)
    while turn := list(islice(left, _AT_ONCE)):
        yield turn
