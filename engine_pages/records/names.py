"""Names that not everybody may read, looked up by the words of a text: thousands cost no more than few.

In: names, each with the engines whose readers may know it. Out: `Names`, which finds in a text those that are foreign.
"""

import hashlib
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, MutableSet
from functools import cached_property, lru_cache
from typing import Final

from .folded import MARKS, folded, is_plain, spelling

FEWEST_LETTERS: Final = 2  # of a name that is looked for in free text: one letter is every other word
NOBODY: Final[frozenset[str]] = frozenset()
# Scripts that part no words: every sign of them is a word.
_UNPARTED: Final = "\u3040-\u30ff\u3400-\u9fff\uf900-\ufaff"
_LETTER: Final = rf"(?:(?![{_UNPARTED}])[\w{MARKS}-])"
_WORD: Final = re.compile(rf"{_LETTER}+|[^\w{MARKS}-]|[{_UNPARTED}]")
_PLAIN_WORD: Final = re.compile(r"[\w-]+|[^\w-]", re.ASCII)  # the same where all letters are plain
_FIRST_OF_LINE: Final = re.compile(rf"^(?:{_PLAIN_WORD.pattern})", re.ASCII | re.MULTILINE)
_PLAIN_BEGINNING: Final = re.compile(rf"(?<![\w-])(?:{_PLAIN_WORD.pattern})", re.ASCII)
_BEGINNING: Final = re.compile(rf"(?<!{_LETTER})(?:{_WORD.pattern})|[{_UNPARTED}]")  # where a name can begin
_LAST: Final = re.compile(rf"{_LETTER}+$")
_PIECE: Final = re.compile(rf"[\w{MARKS}]+")  # of a word with hyphens
_BLANKS: Final = re.compile(r"(?:\\?\s)+")  # of a name in which signs are escaped
_ANYTHING: Final = re.compile("")
_UNPARTED_END: Final = re.compile(rf"[{_UNPARTED}]$")
_AFTER_ID: Final = re.compile(rf"(?![\w{MARKS}])")
_AFTER_WORD: Final = re.compile(rf"(?!{_LETTER})")
_ID: Final = re.compile(r"(?=.*[^\W\d_])(?=.*[\d-])\w(?:[\w-]*\w)?")  # as K-05 and RB2; no plain word

Span = tuple[int, int]


class Names:
    """Names by the engines whose readers may know them; found as whole words in any spelling that reads alike (see
    `folded`), the longest first.

    Blanks, ends of lines and hyphens between a name's words are alike. A hyphen, and a stroke under the line, is a
    letter of a word, but not beside an id: `K-05` stands in `K-05-spare`, and `Ann` not in `Ann-Marie`. Where a script
    parts no words a name is found inside others.

    >>> names = Names({"K-05": frozenset({"K-05"}), "Ann Ox": NOBODY})
    >>> list(names.foreign_in("as on k-05, said Ann Ox; not K-051", "K-07"))
    [(6, 10), (17, 23)]
    >>> list(names.foreign_in("as on k-05, said Ann Ox", "K-05"))
    [(17, 23)]
    """

    def __init__(self, readers: Mapping[str, frozenset[str]]) -> None:
        self.readers: dict[str, frozenset[str]] = {}
        for written, may in readers.items():
            name = written.strip()
            if len(name) >= FEWEST_LETTERS:
                before = self.readers.get(name)
                self.readers[name] = may if before is None else before & may

    def spell(self, name: str) -> bool:
        """Whether one of them is spelt alike."""
        alike = spelling(name)
        return any(spelling(one) == alike for one in self.by_word.get(_first_word(name), ()))

    def relevant(self, asked: Collection[str]) -> str:
        """A digest of the names that begin with one of these words, and of who may read them."""
        names = sorted(name for word in asked for name in self.by_word.get(word, ()))
        return hashlib.sha256(repr([(name, sorted(self.readers[name])) for name in names]).encode()).hexdigest()

    @cached_property
    def by_word(self) -> dict[str, list[str]]:
        """Names by their first word, as it is looked up; the longest first."""
        found: dict[str, list[str]] = {}
        for name, word in zip(self.readers, _first_words(self.readers), strict=True):
            found.setdefault(word, []).append(name)
        for alike in found.values():
            if len(alike) > 1:
                alike.sort(key=lambda one: (-len(one), one))
        return found

    def foreign_in(
        self, text: str, engine: str, beside: "Names | None" = None, asked: MutableSet[str] | None = None
    ) -> Iterator[Span]:
        """Where a text holds what readers of an engine may not know, and whatever stands in `beside`.

        `asked` is given the words under which was looked: while none of them is a new name's first, nothing is found
        that was not.
        """
        alike, end = folded(text), 0
        text = alike.text
        several = (self,) if beside is None else (self, beside)
        for start, words in _beginnings(text):
            if start >= end:
                if asked is not None:
                    asked |= set(words)
                if all(names.by_word.keys().isdisjoint(words) for names in several):
                    continue  # most words begin no name
                foreign = max(names._end(text, start, words, engine) for names in several)
                own = max(names._own_end(text, start, words, engine) for names in several)
                end = max(end, foreign, own)
                if foreign > own:
                    yield alike.span(start, foreign)

    def _end(self, text: str, start: int, words: Iterable[str], engine: str) -> int:
        """Where the longest foreign name ends that begins here, or `start`."""
        return self._longest(text, start, words, lambda name: engine not in self.readers[name])

    def _own_end(self, text: str, start: int, words: Iterable[str], engine: str) -> int:
        """Where the longest id ends that begins here and that readers may know; in it no other is looked for."""
        return self._longest(
            text, start, words, lambda name: engine in self.readers[name] and _ID.fullmatch(name) is not None
        )

    def _longest(self, text: str, start: int, words: Iterable[str], counts: Callable[[str], bool]) -> int:
        ends = [start]
        for word in words:
            names = (name for name in self.by_word.get(word, ()) if counts(name))
            found = (_end_of(name, text, start) for name in names)  # the longest first
            ends.append(next((end for end in found if end), start))
        return max(ends)


def _beginnings(text: str) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Where a name can begin, with the words under which it is looked up: the whole word, and ids within hyphens."""
    for place in (_PLAIN_BEGINNING if text.isascii() else _BEGINNING).finditer(text):
        word = place[0]
        pieces = [piece.span() for piece in _PIECE.finditer(word)] if "-" in word else []
        if not pieces or pieces[0][0] > 0:
            yield place.start(), (word, *(word[:end] for _, end in pieces))
        for nth, (start, _) in enumerate(pieces):
            inside = [word[start:end] for _, end in pieces[nth:]]
            ids = tuple(one for one in inside if _ID.fullmatch(one))
            # where the word begins, any of them may be the first of a name whose words a hyphen joins here
            yield place.start() + start, (word, *inside) if start == 0 else ids


def _end_of(name: str, text: str, start: int) -> int:
    """Where a name ends that begins at a place of a folded text; nought where it does not stand there."""
    alike, after, last = _looked_for(name)
    if last is None:
        end = start + len(alike) if text.startswith(alike, start) else 0
    else:  # of a thousand names that begin alike one may stand here: patterns are dear
        found = _with_blanks(alike).match(text, start) if last in text else None
        end = found.end() if found is not None else 0
    return end if end and after.match(text, end) else 0


@lru_cache(maxsize=65536)
def _looked_for(name: str) -> tuple[str, re.Pattern[str], str | None]:
    """A name in one spelling, what may come after it, and where blanks are in it what comes after the last."""
    alike = spelling(name)
    last = _LAST.search(alike)
    after = _AFTER_ID if last is not None and _ID.fullmatch(last[0]) else _AFTER_WORD
    after = _ANYTHING if _UNPARTED_END.search(alike) else after
    words = _BLANKS.split(alike)
    return alike, after, words[-1] if len(words) > 1 else None


@lru_cache(maxsize=65536)
def _with_blanks(alike: str) -> re.Pattern[str]:
    """How a name with blanks, in one spelling, may stand in a text."""
    return re.compile(_BLANKS.sub(r"[\\s-]+", re.escape(alike)))


def _first_words(names: Iterable[str]) -> list[str]:
    """The words under which names are looked up; of tens of thousands the plain ones are read at once.

    >>> _first_words(["Ann Ox", "J\u00f6rg", "K-05", "+49 30"])
    ['ann', 'jo\u0308rg', 'k-05', '+']
    """
    known = list(names)
    plain = [name for name in known if is_plain(name)]
    of_plain = dict(zip(plain, _FIRST_OF_LINE.findall("\n".join(plain).lower()), strict=True))
    return [of_plain.get(name) or _first_word(name) for name in known]


def _first_word(name: str) -> str:
    begins = _WORD.match(spelling(name))
    return begins[0] if begins is not None else ""


def hidden(words: Collection[str]) -> Names:
    """Words that nobody may read."""
    return Names(dict.fromkeys(words, NOBODY))
