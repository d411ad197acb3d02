"""The places of a blank sheet: what stands in each, what is measured and graded on it, what may be decided.

A line that is not filled in claims nothing. On a sheet that looks, a place with nothing filled in was not looked at. A
build sheet fits whatever it names: it names what stands there by the record, and every other place is a comment.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from msgspec import Struct

from ..history.last_taken import LastTaken, last_taken
from ..history.story import DimensionStory, EngineStory, PartStory
from ..records.family import Dimension, Family, Kind, LimitLine
from ..records.resolve import Resolved
from ..records.sheet import CAUSES, DECISIONS, SheetKind
from ..records.slots import Slot, slots_of
from ..wear.limits import Limit
from .blank_lines import aside, behind, line
from .going_in import stands, stay_words
from .quoted import plain_or_quoted

UNITS = {"hours": (1, "h"), "km": (0, "km"), "starts": (0, "starts"), "runs": (0, "runs")}  # decimals shown, unit


class Blank(Struct, frozen=True):
    """What a blank sheet is written for.

    `engine` as told on `day`; `number` is the sheet's own, `resolved` are the sheets of the shop, `gauges` the names of
    its instruments.
    """

    engine: EngineStory
    family: Family
    kind: SheetKind
    day: date
    number: str | None
    resolved: Mapping[str, Resolved]
    gauges: tuple[str, ...] = ()


class _Place(Struct, frozen=True):
    """A line to be: a position, a set or one member of a set, and the parts that stand in its slots."""

    key: str
    slots: tuple[Slot, ...]
    parts: tuple[PartStory | None, ...]
    kind: Kind

    @property
    def is_set(self) -> bool:
        """Whether the line has members of its own."""
        return self.slots[0].member is not None and self.key == self.slots[0].position


def place_lines(blank: Blank) -> Iterator[str]:
    """Every place of the family, in its order."""
    parts = {part.slot: part for part in blank.engine.parts}
    for position, slots in slots_of(blank.family).by_position.items():
        kind = blank.family.kinds.get(slots[0].kind, Kind())
        whole = _Place(position, slots, tuple(parts.get(slot.id) for slot in slots), kind)
        for place in _as_fitted(blank, whole):
            lines = _lines(blank, place)
            yield from lines if _may_be_named(blank, place) else aside(lines)


def _as_fitted(blank: Blank, place: _Place) -> Iterator[_Place]:
    """A set as one line where all its members stand there, or none; else each member by itself."""
    members = [
        _Place(slot.id, (slot,), (part,), place.kind) for slot, part in zip(place.slots, place.parts, strict=True)
    ]
    alike = len({_may_be_named(blank, one) for one in members}) == 1
    yield from [place] if alike else members


def _may_be_named(blank: Blank, place: _Place) -> bool:
    """Whether naming the place on this sheet claims nothing that the record does not say."""
    return blank.kind != "build" or place.kind.whole is True or all(stands(part) for part in place.parts)


def _lines(blank: Blank, place: _Place) -> Iterator[str]:
    start = f"  {place.key}:"
    yield start + behind(start, _where(blank, place))
    yield from _part_lines(place)
    yield from _measured(blank, place)
    if blank.kind != "build":
        yield from _observed(blank, place.kind)
    yield line(4, "finding", "in your own words")
    yield line(4, "photos", "- {file: name.jpg, view: loaded side, caption: …}")
    if blank.kind == "teardown" and not place.kind.whole:
        yield line(4, "decision", ", ".join(DECISIONS))
        yield line(4, "because", ", ".join(CAUSES))
        yield line(4, "why")


def _where(blank: Blank, place: _Place) -> str:
    """What stands there and how long it has run."""
    known = [part for part in place.parts if part is not None]
    if place.kind.whole:
        return ""
    if not known:
        return "nothing is written of what stands here"
    words = [", ".join(dict.fromkeys(_run(part, blank.engine.exposure_unit) for part in known))]
    if blank.kind == "build":
        words += dict.fromkeys(said for part in known if (said := stay_words(part)))
    return "; ".join(words)


def _run(part: PartStory, unit: str) -> str:
    """How long a part has run; what it ran before the records is not nought where nobody knows it."""
    decimals, name = UNITS[unit]
    amount = f"{part.since_new.amount(unit):.{decimals}f}"
    if not part.since_new.is_bound(unit):
        return f"{amount} {name} since new"
    return f"at least {amount} {name} since new" if float(amount) else "life unknown"


def _part_lines(place: _Place) -> Iterator[str]:
    """The serials of what stands there."""
    if place.kind.whole:
        return
    serials = [part.id if part is not None and part.named else None for part in place.parts]
    if not any(serials) and not place.kind.serial:
        return
    if not place.is_set:
        yield _serial(4, "part", serials[0])
        return
    yield line(4, "part")  # a set has one serial a member
    for slot, serial in zip(place.slots, serials, strict=True):
        if serial is not None or place.kind.serial:
            yield _serial(6, slot.member or "", serial)


def _serial(indent: int, key: str, serial: str | None) -> str:
    return line(indent, key, "serial") if serial is None else f"{' ' * indent}{key}: {plain_or_quoted(serial)}"


def _measured(blank: Blank, place: _Place) -> Iterator[str]:
    if not place.kind.dimensions:
        return
    yield line(4, "measured")
    for name, dimension in place.kind.dimensions.items():
        about = _about(dimension, next(_told(place.parts, name, dimension), None))
        taken = [_taken(blank, part, name, dimension) for part in place.parts]
        if not place.is_set:
            yield from _leaves(6, name, about, dimension, taken[0])
            continue
        yield line(6, name, about)
        for slot, last in zip(place.slots, taken, strict=True):
            yield from _leaves(8, slot.member or "", "", dimension, last)


def _told(parts: Iterable[PartStory | None], name: str, dimension: Dimension) -> Iterator[DimensionStory]:
    """What is told of a dimension of the parts that stand there."""
    ids = (name, *(f"{name}@{station}" for station in dimension.stations or ()))
    for part in parts:
        yield from (one for one in (part.dimensions if part is not None else ()) if one.id in ids)


def _taken(blank: Blank, part: PartStory | None, name: str, dimension: Dimension) -> Mapping[str, LastTaken]:
    return last_taken(blank.resolved, part, name, dimension.unit) if part is not None else {}


def _leaves(indent: int, key: str, about: str, dimension: Dimension, last: Mapping[str, LastTaken]) -> Iterator[str]:
    """One dimension of one part: a line, or a line a station, each with its last value."""
    stations = dimension.stations or ()
    words = (about, "" if stations else _last(last.get("")))
    yield line(indent, key, "; ".join(said for said in words if said))
    for station in stations:
        yield line(indent + 2, station, _last(last.get(station)))


def _last(taken: LastTaken | None) -> str:
    """The last value and the sheet that it stands on."""
    return "" if taken is None else f"last {taken.written}, {taken.sheet.label}"


def _about(dimension: Dimension, told: DimensionStory | None) -> str:
    """Unit, limit and gauge: the limit of what stands there, which an undersize moves, else the family's."""
    ends = limit_words(told.limit, told.decimals) if told is not None else written_limit(dimension.limit)
    return ", ".join([dimension.unit, *ends, *([dimension.instrument] if dimension.instrument else [])])


def limit_words(limit: Limit | None, decimals: int) -> list[str]:
    """The ends of a limit as figures: `min 0.040`, `max 0.100`."""
    ends = (("min", limit.min), ("max", limit.max)) if limit is not None else ()
    return [f"{name} {end:.{decimals}f}" for name, end in ends if end is not None]


def written_limit(limit: LimitLine | None) -> list[str]:
    """The ends of a limit as the family writes them."""
    ends = (("min", limit.min), ("max", limit.max)) if limit is not None else ()
    return [f"{name} {end.written}" for name, end in ends if end is not None]


def _observed(blank: Blank, kind: Kind) -> Iterator[str]:
    if not kind.observe:
        return
    yield line(4, "observed")
    for name in kind.observe:
        grades = (blank.family.grades or {}).get(name, {})
        meaning = "; ".join(f"{grade} {words}" for grade, words in sorted(grades.items()) if grade.isdigit())
        yield line(6, name, meaning or "0 to 4")
