"""Texts and photos that were once for the crew alone, known again wherever they stand, and names once written.

In: what was gathered of any version. Out: `Sealed`.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Final

from msgspec import Struct, field

from ..records.folded import MARKS, spelling

FEWEST_SIGNS: Final = 8  # of a sentence that is known again by itself; shorter ones stand in too many texts
_SENTENCE: Final = re.compile(r"(?<=[.!?;])\s+|\n+")


class Sealed(Struct, frozen=True):
    """Texts that once stood under a key that is not given, spelt alike, and photos that once were crew only.

    A photo is known by its sheet (path, number or place in its engine) and its file's name, and by git's name for its
    content. `names`: those of any version, with the engines whose readers may know them.
    """

    texts: frozenset[str] = frozenset()
    photos: frozenset[tuple[str, str]] = field(default_factory=frozenset)
    blobs: frozenset[str] = frozenset()
    names: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def holds(self, text: str) -> bool:
        """Whether a text is, or has in it, one that was for the crew alone, or a whole sentence of one.

        >>> Sealed(frozenset(sentences("Owner over-revved it."))).holds("Found: owner over-revved it. Rebuilt.")
        True
        """
        if not self.texts:
            return False
        spelt = alike(text)
        return spelt in self.texts or any(f" {one} " in f" {spelt} " for one in self.texts if len(one) >= FEWEST_SIGNS)

    def holds_photo(self, sheet: str, number: str | None, file: str) -> bool:
        return any((name, file) in self.photos for name in (sheet, number, place_in_engine(sheet)))


NOTHING_SEALED: Final = Sealed()


def alike(text: str) -> str:
    """Letters and digits in one spelling, so that a comma or a capital hides nothing."""
    return " ".join(re.findall(rf"[\w{MARKS}]+", spelling(text)))


def sentences(text: str) -> Iterator[str]:
    """A text and its sentences, spelt alike; a short one counts where it is the whole of a text alone."""
    yield from (one for one in map(alike, (text, *_SENTENCE.split(text))) if one)


def place_in_engine(path: str) -> str:
    """Where a sheet lies in its engine's folder, whatever that is called.

    >>> place_in_engine("engines/K-07/builds/2026-10-31.yml")
    'builds/2026-10-31.yml'
    """
    return path.split("/", 2)[-1]
