"""Words by which a key is read out over the phone: random bytes in, words out of the project's own list, and back.

The list holds 2,048 words of plain English, 11 bits each, no two alike in their first four letters and none the
beginning of another: who hears one writes no other.
"""

import re
from functools import cache
from typing import Final

from ..shipped import shipped

COUNT: Final = 8  # words of a key
BITS: Final = 11  # of a word: 2,048 to choose from
BYTES: Final = COUNT * BITS // 8  # 88 random bits


@cache
def word_list() -> tuple[str, ...]:
    """The list, in alphabetical order."""
    return tuple((shipped("site_template") / "locked" / "words.txt").read_text(encoding="ascii").split())


def words_of(random: bytes) -> str:
    """Eight words for 88 random bits, the first bits first, with a blank between.

    >>> words_of(bytes(11))
    'abbey abbey abbey abbey abbey abbey abbey abbey'
    >>> words_of(b"\\xff" * 11).split()[0]
    'zoo'
    """
    number = int.from_bytes(random, "big")
    places = (number >> BITS * (COUNT - 1 - place) & (1 << BITS) - 1 for place in range(COUNT))
    return " ".join(word_list()[place] for place in places)


def spelt_alike(words: str) -> str:
    """Words as they go into the reckoning, however they were typed.

    >>> spelt_alike("  Amaze, badge;cabin\\n- dairy ")
    'amaze badge cabin dairy'
    """
    return " ".join(re.findall("[a-z]+", words.lower()))
