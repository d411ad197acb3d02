"""Names of a shop that not everybody may read, looked up by the words of a text: thousands cost no more than few.

In: checked records. Out: `Names`: every engine, serial, person and owner, with the engines whose readers may know it.
"""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cached_property
from typing import Final

from .checked import Checked

OURSELVES: Final = frozenset(("the shop", "shop", "ours", "us", "self", "me"))  # an owner who is nobody else
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
    def _by_word(self) -> dict[str, list[str]]:
        """Names by their first word, as it is looked up; the longest first."""
        found: dict[str, list[str]] = {}
        for name in sorted(self.readers, key=lambda one: (-len(one), one)):
            found.setdefault(first_word(name), []).append(name)
        return found

    def foreign_in(self, text: str, engine: str, beside: "Names | None" = None) -> Iterator[Span]:
        """Where a text holds what readers of an engine may not know, and whatever stands in `beside`."""
        end = 0
        for place in _BEGINNING.finditer(text):
            if place.start() >= end:
                word, ends = _alike(place[0]), []
                for names in (self, beside) if beside is not None else (self,):
                    ends += [names._end(text, place.start(), word, engine)]
                if max(ends) > place.start():
                    end = max(ends)
                    yield place.start(), end

    def _end(self, text: str, start: int, word: str, engine: str) -> int:
        """Where the longest name ends that begins here, or `start`."""
        for name in self._by_word.get(word, ()):
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


def names_of(checked: Checked) -> Names:
    """Engines with the names and numbers that they bear, serials, people and owners; who bears one may read it."""
    readers = dict(checked.beyond.names)
    for name, may in borne_in(checked):
        readers[name] = readers[name] & may if name in readers else may
    return Names(readers)


def borne_in(checked: Checked) -> Iterator[tuple[str, frozenset[str]]]:
    """Every name that these records hold, as often as it stands there."""
    shop = checked.shop
    for records in shop.engines.values():
        file = records.file.it if records.file is not None else None
        own = frozenset((records.id,))
        yield records.id, own
        yield from ((name, own) for name in ((file.name, file.stamped) if file is not None else ()) if name)
        for owner in (file.owners or ()) if file is not None else ():
            texts = (text for text in (owner.name, owner.contact) if text and text.casefold() not in OURSELVES)
            yield from ((text, NOBODY) for text in texts)
    yield from _serials(checked)
    people = shop.file.it.people if shop.file is not None else None
    yield from ((name, NOBODY) for initials, name in (people or {}).items() if name != initials)


def _serials(checked: Checked) -> Iterator[tuple[str, frozenset[str]]]:
    """Every serial, with the engines that its part ever was in."""
    was_in: dict[str, set[str]] = {}
    for stay in checked.fitting.stays:
        was_in.setdefault(stay.part.id, set()).add(stay.engine)
    named: Iterable[str] = (part.id for part in checked.fitting.parts.values() if part.named)
    for serial in dict.fromkeys((*named, *checked.shop.parts)):
        yield serial, frozenset(was_in.get(serial, ()))


def hidden(words: Collection[str]) -> Names:
    """Words that nobody may read."""
    return Names(dict.fromkeys(words, NOBODY))
