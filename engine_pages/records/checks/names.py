"""The names of a shop that not everybody may read: checked records in; engines, serials, people and owners out."""

from collections.abc import Iterable, Iterator
from typing import Final

from ..engine import Owner
from ..load import EngineRecords
from ..names import NOBODY, Names
from .checked import Checked

OURSELVES: Final = frozenset(("the shop", "shop", "ours", "us", "self", "me"))  # an owner who is nobody else
SHORTEST_WORD: Final = 3  # letters of a word of a name: a shorter one is an initial, or `of`


def names_of(checked: Checked) -> Names:
    """Engines with the names and numbers that they bear, serials, people and owners; who bears one may read it."""
    return checked.beyond.names or Names(together(borne_in(checked)))


def together(borne: Iterable[tuple[str, frozenset[str]]]) -> dict[str, frozenset[str]]:
    """Each name with the engines whose readers may know it wherever it stands."""
    readers: dict[str, frozenset[str]] = {}
    for name, may in borne:
        readers[name] = readers[name] & may if name in readers else may
    return readers


def borne_in(checked: Checked) -> Iterator[tuple[str, frozenset[str]]]:
    """Every name that these records hold, as often as it stands there."""
    shop = checked.shop
    for records in shop.engines.values():
        file = records.file.it if records.file is not None else None
        own = frozenset((records.id,))
        yield records.id, own
        yield from ((name, own) for name in ((file.name, file.stamped) if file is not None else ()) if name)
        for owner in _owners(records):
            texts = (text for text in (owner.name, owner.contact) if text and text.casefold() not in OURSELVES)
            yield from ((text, NOBODY) for text in texts)
    yield from _serials(checked)
    yield from ((name, NOBODY) for name in _people(checked))


def words_of_people(checked: Checked) -> Iterator[tuple[str, str]]:
    """Each word of people's and owners' names that is written as a name, with the whole name."""
    owners = (owner.name for records in checked.shop.engines.values() for owner in _owners(records) if owner.name)
    for name in (*_people(checked), *(one for one in owners if one.casefold() not in OURSELVES)):
        words = name.split()
        if len(words) > 1:
            yield from ((word, name) for word in words if len(word) >= SHORTEST_WORD and word[0].isupper())


def _people(checked: Checked) -> Iterator[str]:
    """Who signs, by name, but for those who have no other than their initials."""
    people = checked.shop.file.it.people if checked.shop.file is not None else None
    yield from (name for initials, name in (people or {}).items() if name != initials)


def _owners(records: EngineRecords) -> Iterable[Owner]:
    return (records.file.it.owners if records.file is not None else None) or ()


def _serials(checked: Checked) -> Iterator[tuple[str, frozenset[str]]]:
    """Every serial, with the engines that its part ever was in."""
    was_in: dict[str, set[str]] = {}
    for stay in checked.fitting.stays:
        was_in.setdefault(stay.part.id, set()).add(stay.engine)
    named: Iterable[str] = (part.id for part in checked.fitting.parts.values() if part.named)
    for serial in dict.fromkeys((*named, *checked.shop.parts)):
        yield serial, frozenset(was_in.get(serial, ()))
