"""Where parts sit: a family's positions, with sets opened into their members, in the order of every page.

A slot is one place for one part: `rotor-bearing-2`, or a member of a set, `apex-seals-1/a2`.
"""

import re
from functools import lru_cache

from msgspec import Struct

from .family import Family, Kind, Place

MOST_ROWS = 99  # rotors or cylinders; the largest piston engines built in numbers had 28 to 36
_TRAILING_NUMBER = re.compile(r"^(.*?)-?(\d{1,9})$", re.ASCII)


class Slot(Struct, frozen=True):
    """One place for one part. `row` counts rotors or cylinders from the front; None belongs to the whole engine."""

    id: str
    position: str
    member: str | None
    kind: str
    row: int | None
    order: int
    name: str


class Slots(Struct, frozen=True):
    """All slots of a family: by id, and by the position that a sheet names."""

    by_id: dict[str, Slot]
    by_position: dict[str, tuple[Slot, ...]]

    def named(self, key: str) -> tuple[Slot, ...]:
        """The slots that a sheet's key means: a position, a whole set, or one member; none where it stands nowhere."""
        if key in self.by_position:
            return self.by_position[key]
        return (self.by_id[key],) if key in self.by_id else ()

    @property
    def keys(self) -> list[str]:
        return [*self.by_position, *(key for key in self.by_id if key not in self.by_position)]

    @property
    def rows(self) -> int:
        """How many rotors or cylinders."""
        return max((slot.row for slot in self.by_id.values() if slot.row), default=0)


def slots_of(family: Family) -> Slots:
    """The slots of a family, members of sets opened."""
    return _slots_of(_Key(family))


class _Key:
    """A family by identity: models of the same content are the same family only where they are the same object."""

    __slots__ = ("family",)

    def __init__(self, family: Family) -> None:
        self.family = family

    def __hash__(self) -> int:
        return id(self.family)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and other.family is self.family


@lru_cache(maxsize=256)
def _slots_of(key: _Key) -> Slots:
    by_id: dict[str, Slot] = {}
    by_position: dict[str, tuple[Slot, ...]] = {}
    order = 0
    for position, place in key.family.positions.items():
        row = written_row(position, place)
        if row is not None and not 1 <= row <= MOST_ROWS:
            row = None  # the family is at fault, and is told so
        name = place.name or title_of(position)
        members: tuple[str | None, ...] = tuple(dict.fromkeys(place.names or ())) or (None,)
        slots = []
        for member in members:
            slot_id = position if member is None else f"{position}/{member}"
            slot = Slot(slot_id, position, member, place.kind, row, order, f"{name}, {member}" if member else name)
            order += 1
            by_id[slot_id] = slot
            slots.append(slot)
        by_position[position] = tuple(slots)
    return Slots(by_id, by_position)


def written_row(position: str, place: Place) -> int | None:
    """A position's row as the family gives it: `row:`, else the number at the end of the position's id."""
    return place.row if place.row is not None else row_of(position)


def row_of(position: str) -> int | None:
    """The number at the end of a position's id.

    >>> row_of("rotor-bearing-2"), row_of("eccentric-shaft")
    (2, None)
    """
    match = _TRAILING_NUMBER.match(position)
    return int(match[2]) if match else None


def with_row(name: str, row: int | None) -> str:
    """A name with its row behind it, where there is one and the name does not end with it already.

    >>> with_row("Bearing clearance", 2), with_row("Bearing clearance 2", 2)
    ('Bearing clearance 2', 'Bearing clearance 2')
    """
    behind = "" if row is None else f" {row}"
    return name if name.endswith(behind) else f"{name}{behind}"


def title_of(word: str) -> str:
    """An id in words: hyphens and low lines become blanks.

    >>> title_of("rotor-bearing-2"), title_of("inside_diameter")
    ('Rotor bearing 2', 'Inside diameter')
    """
    text = re.sub(r"[-_]+", " ", word).strip()
    return text[:1].upper() + text[1:]


def key_name(family: Family, key: str) -> str:
    """What a position is called that a sheet names, also where it stands nowhere in the family."""
    slots = slots_of(family).named(key)
    return slots[0].name if slots else title_of(key)


def kind_name(family: Family, kind: str) -> str:
    """What a kind is called on pages."""
    written: Kind | None = family.kinds.get(kind)
    return (written.name if written and written.name else None) or title_of(kind)


def dimension_name(family: Family, kind: str, dimension: str) -> str:
    """What a dimension is called on pages."""
    written = family.kinds[kind].dimensions if kind in family.kinds else None
    own = written.get(dimension) if written else None
    return (own.name if own and own.name else None) or title_of(dimension)
