"""The fingerprint of a state: a sum over an edition's records and photos, in words that can be read out over the phone.

In: the files of a bundle with their sizes and sums. Out: eight words. Who was told them by another way than the bundle
itself knows that it holds what the maker handed over: another reading, another photo, another name gives other words.
Eight words are 88 bits of SHA-256 (FIPS 180-4): 2^88 tries to make another bundle to the same words.
"""

import hashlib
from collections.abc import Mapping
from typing import Final

from msgspec import Struct

from .manifest import Entry
from .words import BYTES, spelt_alike, words_of

RECORDS: Final = "records/"  # where a bundle holds its records and photos; its site is drawn from them


class StateMark(Struct, frozen=True):
    """What names a state of an engine's records: git's name for its folder, an edition's fingerprint."""

    tree: str
    fingerprint: str


def fingerprint_of(files: Mapping[str, Entry]) -> str:
    """The words of the records and photos among these files.

    >>> from engine_pages.editions.manifest import entry_of
    >>> one = fingerprint_of({"records/a.yml": entry_of(b"60.061"), "site/index.html": entry_of(b"drawn")})
    >>> one == fingerprint_of({"records/a.yml": entry_of(b"60.061")}), len(one.split())
    (True, 8)
    """
    lines = (f"{one.sha256} {one.bytes} {path}\n" for path, one in sorted(files.items()) if path.startswith(RECORDS))
    return words_of(hashlib.sha256("".join(lines).encode()).digest()[:BYTES])


def is_alike(one: str, other: str) -> bool:
    """Whether two fingerprints are the same, however they were typed.

    >>> is_alike("Abbey, zoo", "abbey zoo"), is_alike("abbey", "zoo")
    (True, False)
    """
    return spelt_alike(one) == spelt_alike(other)
