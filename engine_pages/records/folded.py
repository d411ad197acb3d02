"""A text in one spelling, and the way back to its own letters: what reads alike comes out the same.

In: a text. Out: capitals, ligatures, full-width letters, accents set on or built in, dashes, apostrophes and joining
strokes each in one way, and no sign that is not seen; with the place of every letter in the text that it came from.
Unicode's compatibility decomposition (UAX #15) and full case folding (The Unicode Standard, 3.13), letter by letter.
"""

import unicodedata
from functools import lru_cache
from typing import Final

from msgspec import Struct

MARKS: Final = "\u0300-\u036f"  # accents as signs of their own: part of the word that they stand in
_ALIKE: Final = str.maketrans(
    {
        **dict.fromkeys("\u2018\u2019\u02bc\u02b9\u2032\u00b4`", "'"),
        **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212_", "-"),
        "\u0131": "i",  # a dotless i is one in capitals
    }
)
_UNSEEN: Final = frozenset(("Cf", "Cc"))  # categories: soft hyphens, joiners, marks of direction
_BLANKS: Final = "\t\n\v\f\r"


class Folded(Struct, frozen=True):
    """A text in one spelling; `places` has for each of its letters, and for its end, the place in the text."""

    text: str
    places: range | tuple[int, ...]

    def span(self, start: int, end: int) -> tuple[int, int]:
        """From where to where a piece of this stands in the text."""
        return self.places[start], self.places[end]


def folded(text: str) -> Folded:
    """The text in one spelling.

    >>> folded("Jo\\u0308rg Wei\u00df, \uff25\uff0d02").text == folded("J\u00d6RG WEISS, e_02").text
    True
    """
    if is_plain(text):
        return Folded(text.lower(), range(len(text) + 1))
    letters: list[str] = []
    places: list[int] = []
    for place, sign in enumerate(text):
        alike = _letter(sign)
        letters.append(alike)
        places += [place] * len(alike)
    return Folded("".join(letters), (*places, len(text)))


def spelling(text: str) -> str:
    """The text in one spelling, without the way back."""
    return text.lower() if is_plain(text) else folded(text).text


def is_plain(text: str) -> bool:
    """Whether capitals are all that differs from its one spelling: so of nearly all names."""
    return text.isascii() and "_" not in text and "`" not in text and text.isprintable()


@lru_cache(maxsize=4096)
def _letter(sign: str) -> str:
    """A sign of a text in one spelling; nothing for one that is not seen."""
    if sign in _BLANKS:
        return " "
    if unicodedata.category(sign) in _UNSEEN:
        return ""
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", sign).casefold())
    return plain.translate(_ALIKE).replace("i\u0307", "i")  # what a dotted I is in small letters
