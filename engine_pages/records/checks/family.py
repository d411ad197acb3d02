"""Checks of a family's file: its names agree with each other."""

from collections.abc import Iterable, Iterator
from decimal import Decimal, InvalidOperation

from ..family import Dimension, Family
from ..measurement import CIRCUMSTANCES
from ..model import Record
from ..resolve import fit_side
from ..slots import MOST_ROWS, Slots, slots_of, written_row
from ..source import Problem, Source, doubt, error, nearest, with_article
from .checked import Checked

MOST_EXPANSION = Decimal("1e-4")  # per kelvin; three times that of the metals that expand most, lead and zinc


def check_positions(checked: Checked) -> Iterator[Problem]:
    """A position's kind stands under `kinds`: its dimensions and limits are written there. Rows are counted from 1."""
    for record in checked.families():
        for name, place in record.it.positions.items():
            if place.kind not in record.it.kinds and not record.broken:
                message = f"kind {place.kind!r} stands nowhere under kinds; {nearest(place.kind, record.it.kinds)}"
                yield error(record.place("positions", name, "kind"), message)
            row = written_row(name, place)
            if row is not None and not 1 <= row <= MOST_ROWS:
                where = record.place if place.row is not None else record.document.key_place
                message = f"row {row}: rows are counted from 1, at the front, to {MOST_ROWS}; write row: beside kind:"
                yield error(where("positions", name, *(["row"] if place.row is not None else [])), message)


def check_members(checked: Checked) -> Iterator[Problem]:
    """The members of a set have names of their own, none of them a word that stands beside a reading."""
    for record in checked.families():
        for name, place in record.it.positions.items():
            at = record.place("positions", name, "names")
            yield from _twice(place.names or (), "member", at)
            yield from (error(at, _reserved(one, "member")) for one in place.names or () if one in CIRCUMSTANCES)


def check_stations(checked: Checked) -> Iterator[Problem]:
    """A station bears no member's name, or nobody knew which of the two `{a1: …}` means.

    Out of round and taper are worked out from station names split at the last hyphen: with none, a limit on them is
    never met.
    """
    for record, kind, name, dimension in _dimensions(checked):
        stations = dimension.stations or ()
        at = record.place("kinds", kind, "dimensions", name, "stations")
        yield from _twice(stations, "station", at)
        members = {
            member for place in record.it.positions.values() if place.kind == kind for member in place.names or ()
        }
        for station in stations:
            if station in members:
                yield error(at, f"station {station!r} bears the name of a member of a set; give it another")
            if station in CIRCUMSTANCES:
                yield error(at, _reserved(station, "station"))
        for form in ("out_of_round", "taper"):
            if getattr(dimension, form) is not None and not any("-" in station for station in stations):
                place = record.document.key_place("kinds", kind, "dimensions", name, form)
                yield doubt(
                    place, f"{form} is never worked out: it wants stations named depth-axis, such as top-thrust"
                )


def check_differences(checked: Checked) -> Iterator[Problem]:
    """A named difference is between stations of its own dimension."""
    for record, kind, name, dimension in _dimensions(checked):
        stations = dimension.stations or ()
        for word, form in (dimension.differences or {}).items():
            steps = ("kinds", kind, "dimensions", name, word, "difference")
            for inner, station in _stations_of(form.difference):
                if station not in stations:
                    message = f"{station!r} is no station of {name}; {nearest(station, stations)}"
                    yield error(record.place(*steps, *inner), message)


def check_fits(checked: Checked) -> Iterator[Problem]:
    """Each side of a fit names one place, a dimension of its kind, and where it says @ a station of that."""
    for record in checked.families():
        if record.broken:
            continue
        for name, fit in (record.it.fits or {}).items():
            for side in ("outer", "inner"):
                message = _side_problem(record.it, slots_of(record.it), getattr(fit, side))
                if message:
                    yield error(record.place("fits", name, side), message)
            if fit.row is not None and not 1 <= fit.row <= MOST_ROWS:
                message = f"row {fit.row}: rows are counted from 1, at the front, to {MOST_ROWS}"
                yield error(record.place("fits", name, "row"), message)


def check_grades(checked: Checked) -> Iterator[Problem]:
    """Grades run from 0 to 4, and what they explain is observed on some kind."""
    for record in checked.families():
        observed = {name: None for kind in record.it.kinds.values() for name in kind.observe or ()}
        for name, meanings in (record.it.grades or {}).items():
            if name not in observed and not record.broken:
                place = record.document.key_place("grades", name)
                yield doubt(place, f"{name!r} is observed on no kind; {nearest(name, observed)}")
            for grade in meanings:
                if grade not in ("0", "1", "2", "3", "4"):
                    place = record.document.key_place("grades", name, grade)
                    yield error(place, f"{grade!r} is no grade; grades are 0, 1, 2, 3 and 4")


def check_expansions(checked: Checked) -> Iterator[Problem]:
    """An expansion is a number per kelvin; one that no metal has was most likely written without its e-6."""
    for record in checked.families():
        for name, kind in record.it.kinds.items():
            if kind.expansion is None:
                continue
            place = record.place("kinds", name, "expansion")
            try:
                per_kelvin = Decimal(kind.expansion.strip())
            except InvalidOperation:
                per_kelvin = Decimal("nan")
            if not per_kelvin.is_finite():
                yield error(place, f"{kind.expansion!r} is no number; write an expansion per kelvin, 11.5e-6")
            elif not 0 < per_kelvin < MOST_EXPANSION:
                yield error(place, f"{kind.expansion} is no metal's expansion per kelvin; steel has 11.5e-6")
            elif kind.material is not None:
                yield error(place, f"both material {kind.material} and expansion are written; write one of them")


def _dimensions(checked: Checked) -> Iterator[tuple[Record[Family], str, str, Dimension]]:
    for record in checked.families():
        for kind_name, kind in record.it.kinds.items():
            for name, dimension in (kind.dimensions or {}).items():
                yield record, kind_name, name, dimension


def _twice(names: Iterable[str], what: str, at: Source) -> Iterator[Problem]:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            yield error(at, f"{what} {name!r} is named twice")
        seen.add(name)


def _reserved(name: str, what: str) -> str:
    return f"{name!r} is no {what}'s name: {', '.join(CIRCUMSTANCES)} stand beside a reading"


def _stations_of(difference: tuple[str | tuple[str, ...], ...]) -> Iterator[tuple[tuple[int, ...], str]]:
    """The stations of a difference with the steps to each; the word between them is none."""
    for index, part in enumerate(difference):
        if isinstance(part, tuple):
            yield from (((index, inner), station) for inner, station in enumerate(part))
        elif index == 0 or len(difference) == 2:
            yield (index,), part


def _side_problem(family: Family, slots: Slots, text: str) -> str | None:
    side = fit_side(family, text)
    if side is None:
        return f"{text!r}: a side of a fit is written position.dimension, such as rotor-1.width"
    slot_id, name, station = side
    if slot_id in slots.by_position and slot_id not in slots.by_id:
        return f"{slot_id} is a set; name one member: {nearest(slot_id, [s.id for s in slots.by_position[slot_id]])}"
    slot = slots.by_id.get(slot_id)
    if slot is None:
        return f"position {slot_id!r} stands nowhere in the family; {nearest(slot_id, slots.by_id)}"
    kind = family.kinds.get(slot.kind)
    dimension = (kind.dimensions or {}).get(name) if kind else None
    if kind is None:
        return None
    if dimension is None:
        return f"{with_article(slot.kind)} has no dimension {name!r}; {nearest(name, kind.dimensions or {})}"
    if station is not None and station not in (dimension.stations or ()):
        return f"{station!r} is no station of {name}; {nearest(station, dimension.stations or ())}"
    return None
