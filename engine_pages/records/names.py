"""Names that not everybody may read, looked up by the words of a text: thousands cost no more than few.

In: names, each with the engines whose readers may know it. Out: `Names`, which finds in a text those that are foreign.
"""

import hashlib
import re
from collections.abc import Collection, Iterator, Mapping, MutableSet
from functools import cached_property
from typing import Final

FEWEST_LETTERS: Final = 2  # of a name that is looked for in free text: one letter is every other word
NOBODY: Final[frozenset[str]] = frozenset()
_BEGINNING: Final = re.compile(r"(?<![\w-])(?:[\w-]+|[^\w-])")  # where a name can begin: a whole word, or a sign
_WORD: Final = re.compile(r"[\w-]+|[^\w-]")

Span = tuple[int, int]


class Names:
    """Names by the engines whose readers may know them; found as whole words, in capitals or not, the longest first.

    >>> names = Names({"K-05": frozenset({"K-05"}), "Ann Ox": NOBODY})
    >>> list(names.foreign_in("as on k-05, said Ann Ox; not K-051", "K-07"))
    [(6, 10), (17, 23)]
    >>> list(names.foreign_in("as on k-05, said Ann Ox", "K-05"))
    [(17, 23)]
    """

    def __init__(self, readers: Mapping[str, frozenset[str]]) -> None:
        self.readers = {name: may for name, may in readers.items() if len(name) >= FEWEST_LETTERS}

    @cached_property
    def spelt(self) -> frozenset[str]:
        """The names in one spelling."""
        return frozenset(name.casefold() for name in self.readers)

    def relevant(self, asked: Collection[str]) -> str:
        """A digest of the names that begin with one of these words, and of who may read them."""
        names = sorted(name for word in asked for name in self.by_word.get(word, ()))
        return hashlib.sha256(repr([(name, sorted(self.readers[name])) for name in names]).encode()).hexdigest()

    @cached_property
    def by_word(self) -> dict[str, list[str]]:
        """Names by their first word, as it is looked up; the longest first."""
        found: dict[str, list[str]] = {}
        for name in sorted(self.readers, key=lambda one: (-len(one), one)):
            found.setdefault(first_word(name), []).append(name)
        return found

    def foreign_in(
        self, text: str, engine: str, beside: "Names | None" = None, asked: MutableSet[str] | None = None
    ) -> Iterator[Span]:
        """Where a text holds what readers of an engine may not know, and whatever stands in `beside`.

        `asked` is given the words under which was looked: while none of them is a new name's first, nothing is found
        that was not.
        """
        end = 0
        for place in _BEGINNING.finditer(text):
            if place.start() >= end:
                word, ends = _alike(place[0]), []
                if asked is not None:
                    asked.add(word)
                for names in (self, beside) if beside is not None else (self,):
                    ends += [names._end(text, place.start(), word, engine)]
                if max(ends) > place.start():
                    end = max(ends)
                    yield place.start(), end

    def _end(self, text: str, start: int, word: str, engine: str) -> int:
        """Where the longest name ends that begins here, or `start`."""
        for name in self.by_word.get(word, ()):
            if engine not in self.readers[name]:
                found = re.compile(rf"{re.escape(name)}(?![\w-])", re.IGNORECASE).match(text, start)
                if found is not None:
                    return found.end()
        return start


def first_word(name: str) -> str:
    """The word under which a name is looked up.

    >>> first_word("Ann Ox"), first_word("K-05"), first_word("+49 30")
    ('ann', 'k-05', '+')
    """
    begins = _WORD.match(name)
    return _alike(begins[0]) if begins is not None else ""


def _alike(word: str) -> str:
    """A word in one spelling: two that differ in capitals, as re.IGNORECASE counts them, come out the same."""
    return word.casefold().replace("i\u0307", "i").replace("\u0131", "i")


def hidden(words: Collection[str]) -> Names:
    """Words that nobody may read."""
    return Names(dict.fromkeys(words, NOBODY))
