"""Where a thing is written, and what is wrong with it: the two values that every record carries with it."""

from collections.abc import Iterable
from difflib import SequenceMatcher, get_close_matches
from typing import Final, Literal

from msgspec import Struct

Level = Literal["error", "doubt"]
BLANKS = "\u00a0\u202f"  # hard blanks, which a builder may write before a unit
_MOST_NEAR: Final = 3  # words that are as near as each other; of more a reader makes no choice


class Source(Struct, frozen=True, order=True):
    """A place in a record file: path from the shop's folder, line and column counted from 1."""

    path: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{printable(self.path)}:{self.line}:{self.column}"

    @property
    def line_text(self) -> str:
        """Path and line, as figures and tables name a source; a place that is not told has no line."""
        return f"{self.path}:{self.line}" if self.line else self.path


class Problem(Struct, frozen=True, order=True):
    """An error (cannot be understood, or contradicts itself) or a doubt (can be true), at its place."""

    source: Source
    level: Level
    message: str

    def __str__(self) -> str:
        return f"{self.source}: {self.level}: {printable(self.message)}"


def printable(text: str) -> str:
    """The text on one line, with every sign that would steer a terminal written out.

    >>> printable("O\\x1b[31mD"), printable("38 µm")
    ('O\\\\x1b[31mD', '38 µm')
    """
    return "".join(sign if sign.isprintable() or sign in BLANKS else repr(sign)[1:-1] for sign in text)


def error(source: Source, message: str) -> Problem:
    """A problem that stops publishing."""
    return Problem(source, "error", message)


def doubt(source: Source, message: str) -> Problem:
    """A problem that is shown on the page."""
    return Problem(source, "doubt", message)


def nearest(word: str, known: Iterable[str]) -> str:
    """The spelling help that ends a message: the nearest known words, else what is allowed, in short.

    >>> nearest("positons", ["engine", "positions"]), nearest("R-0230", ["R-0231", "R-0229", "R-0239"])
    ('did you mean positions?', 'did you mean R-0231 or R-0239?')
    >>> nearest("xyz", ["a", "b"]), nearest("xyz", [])
    ('allowed: a, b', 'none is written there')
    """
    words = list(dict.fromkeys(known))
    close = get_close_matches(word, words, n=_MOST_NEAR, cutoff=0.6)
    if close:
        best = _likeness(word, close[0])
        as_near = [one for one in words if one in close and _likeness(word, one) == best]
        return f"did you mean {' or '.join(as_near)}?"
    if not words:
        return "none is written there"
    shown = ", ".join(words[:24]) + (", …" if len(words) > 24 else "")
    return f"allowed: {shown}"


def _likeness(word: str, other: str) -> float:
    return SequenceMatcher(None, other, word).ratio()  # in the order in which get_close_matches holds them


def with_article(noun: str) -> str:
    """A noun with `a` or `an` before it, by its first letter.

    >>> with_article("eccentric-shaft"), with_article("rotor")
    ('an eccentric-shaft', 'a rotor')
    """
    return f"{'an' if noun[:1].lower() in set('aeiou') else 'a'} {noun}"
