"""What the bench page needs of one engine, and nothing else: its places in order, what is measured and graded on each.

In: an engine told and its family. Out: plain values for the page's JSON. No owner, no history, no other engine: only
serials, what was decided of a part that is out, the days of sheets, units, last readings, limits and grades, since this
page may lie on a phone.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from statistics import median
from typing import Any, Final

from msgspec import Struct

from engine_pages.bench.going_in import stands, stay_words
from engine_pages.history.amounts import amount_in
from engine_pages.history.figure_numbers import number
from engine_pages.history.last_taken import last_taken
from engine_pages.history.story import DimensionStory, EngineStory, PartStory
from engine_pages.history.tests import by_chambers, test_name
from engine_pages.history.told_parts import SheetRef
from engine_pages.records.family import Dimension, Family, Fit, Kind, LimitLine, TestRule
from engine_pages.records.fields import REASONS
from engine_pages.records.quantity import Quantity
from engine_pages.records.resolve import Resolved, fit_title
from engine_pages.records.sheet import CAUSES, DECISIONS, ORIGINS, SheetKind
from engine_pages.records.slots import dimension_name, key_name, slots_of, title_of
from engine_pages.records.typed_amounts import amount_pattern, reading_pattern
from engine_pages.records.units import UNITS

SHEET_KINDS: Final[tuple[SheetKind, ...]] = ("teardown", "inspection", "build")
HEADS: Final = (  # of a test, before its readings; the example is how one is written
    {"id": "rpm", "name": "Speed", "unit": "rpm", "example": "250"},
    {"id": "temperature", "name": "Temperature of the engine", "unit": "°C", "example": "80"},
)
FEWEST_CHANGES: Final = 3  # of which a usual one can be told
BY_CHAMBER: Final = ("compression", "leak_down")  # tests of a sealing row; others are of the whole engine


class BenchOf(Struct, frozen=True):
    """What a form is made for: an engine told, its family, the sheets as resolved, and the shop's name.

    `numbers` are the next sheet numbers, `made` the day; `take` is where a server on this machine takes the zip.
    """

    engine: EngineStory
    family: Family
    resolved: Mapping[str, Resolved]
    shop: str
    numbers: Mapping[SheetKind, str | None]
    made: date
    take: str | None = None


def bench_form(of: BenchOf) -> dict[str, Any]:
    """The form's data: plain values alone, for JSON."""
    engine, family = of.engine, of.family
    return {
        "shop": of.shop,
        "engine": engine.id,
        "name": engine.name or engine.id,
        "made": of.made.isoformat(),
        "people": sorted(engine.people),
        "instruments": [[gauge, name] for gauge, name, _ in engine.instruments],
        "sheets": [f"{sheet.ref.kind} {sheet.ref.name}" for sheet in engine.sheets],
        "kinds": {kind: {"number": of.numbers.get(kind)} for kind in SHEET_KINDS},
        "reasons": REASONS,
        "decisions": DECISIONS,
        "causes": CAUSES,
        "origins": ORIGINS,
        "fluids": [[span.fluid, span.name] for span in engine.fluids if span.ended is None],
        "torque": _torque(engine),
        "take": of.take,
        "reading": reading_pattern(),
        "amount": amount_pattern(),
        "units": _units(),
        "goes_in": dict(_goes_in(of)),
        "positions": list(_positions(of)),
        "fits": [_fit(of, id, fit) for id, fit in (family.fits or {}).items()],
        "tests": [_test(engine, family, test, rule) for test, rule in (family.tests or {}).items()],
    }


def _torque(engine: EngineStory) -> list[list[str]]:
    """Each fastening that a sheet of this engine says the torque of: its name, the last value, and its sheet."""
    last = {name: [name, value, sheet.ref.label] for sheet in engine.sheets for name, value in sheet.torque}
    return list(last.values())


def _units() -> dict[str, list[Any]]:
    """By each spelling of a unit: what it measures, and scale and offset to the base of that."""
    return {
        spelling: [unit.dimension, float(unit.scale), float(unit.offset)]
        for unit in UNITS
        for spelling in (unit.name, *unit.also)
    }


def _positions(of: BenchOf) -> Iterator[dict[str, Any]]:
    family, parts = of.family, {part.slot: part for part in of.engine.parts}
    for position, slots in slots_of(family).by_position.items():
        kind = family.kinds.get(slots[0].kind, Kind())
        here = [(slot, parts.get(slot.id)) for slot in slots]
        yield {
            "id": position,
            "name": family.positions[position].name or title_of(position),
            "kind": slots[0].kind,
            "whole": bool(kind.whole),
            "members": [
                {"id": slot.member or "", "part": _serial(part), "stay": stay_words(part) if part is not None else ""}
                for slot, part in here
            ],
            "dimensions": [
                {
                    "id": name,
                    "name": dimension_name(family, slots[0].kind, name),
                    "unit": dimension.unit,
                    "wears": dimension.wears or "either",
                    "decimals": _decimals(dimension),
                    "usual": _usual(of.engine, slots[0].kind, name),
                    "instrument": dimension.instrument,
                    "stations": list(dimension.stations or ()),
                    "of": [{"member": slot.member or "", **_of_part(of, name, dimension, part)} for slot, part in here],
                }
                for name, dimension in (kind.dimensions or {}).items()
            ],
            "observe": [_observed(family, name) for name in kind.observe or ()],
        }


def _serial(part: PartStory | None) -> str | None:
    return part.id if part is not None and part.named else None


def _goes_in(of: BenchOf) -> Iterator[tuple[str, dict[str, Any]]]:
    """The lines that a build proposes: serials by place. None for a set of which one member does not go back, since a
    build that names a set fits all of it."""
    parts = {part.slot: part for part in of.engine.parts}
    for position, slots in slots_of(of.family).by_position.items():
        here = [(slot.member or "", parts.get(slot.id)) for slot in slots]
        serials = {member: part.id for member, part in here if part is not None and part.named}
        whole = of.family.kinds.get(slots[0].kind, Kind()).whole
        if serials and not whole and all(stands(part) for _, part in here):
            yield position, {"part": serials.get("", serials)}


def _usual(engine: EngineStory, kind: str, id: str) -> float | None:
    """How far this dimension moves between two sheets, in its unit: the median of this engine's parts of the kind."""
    changes = [
        abs(reading.change)
        for part in (*engine.parts, *engine.former_parts)
        for dimension in part.dimensions
        if part.kind == kind and dimension.id.partition("@")[0] == id
        for reading in dimension.readings
        if reading.change is not None
    ]
    return number(median(changes)) if len(changes) >= FEWEST_CHANGES else None


def _of_part(of: BenchOf, id: str, dimension: Dimension, part: PartStory | None) -> dict[str, Any]:
    """Limit, new range and last readings of what is there; those of the family where nothing is."""
    told = [one for one in part.dimensions if one.id.partition("@")[0] == id] if part is not None else []
    last = last_taken(of.resolved, part, id, dimension.unit) if part is not None else {}
    return {
        "limit": _ends(told[0]) if told else _limit(dimension.limit, dimension.unit),
        "new": told[0].new if told else _new(dimension, dimension.unit),
        "last": {station: _shown(one.written, one.value, one.u, one.sheet) for station, one in last.items()},
    }


def _shown(written: str, value: float | None, u: float | None, sheet: SheetRef) -> dict[str, Any]:
    return {"written": written, "value": number(value), "u": number(u), "sheet": sheet.label}


def _fit(of: BenchOf, id: str, fit: Fit) -> dict[str, Any]:
    """A clearance that may be measured directly, in the unit that it is told in."""
    story = next((one for one in of.engine.fits if one.id == id), None)
    told = story.dimension if story is not None else None
    unit = fit.unit or (told.unit if told is not None else "mm")
    last = told.last if told is not None else None
    shown = {}
    if told is not None and last is not None:
        figure = f"{last.value:.{told.decimals}f}, worked out" if last.worked_out and last.value is not None else None
        shown = {"": _shown(figure or last.written, last.value, last.u, last.sheet)}
    return {
        "id": id,
        "name": story.title if story is not None else fit_title(of.family, id),
        "unit": unit,
        "wears": "either",
        "decimals": _decimals(fit),
        "instrument": fit.instrument,
        "of": [{"member": "", "limit": _limit(fit.limit, unit), "new": _new(fit, unit), "last": shown}],
    }


def _decimals(dimension: Dimension | Fit) -> int:
    """Digits behind the point, as the family writes its own figures of this dimension."""
    written = [*(dimension.new or ()), *((dimension.limit.min, dimension.limit.max) if dimension.limit else ())]
    return max((one.decimals for one in written if one is not None), default=3)


def _ends(told: DimensionStory) -> list[float | None] | None:
    return None if told.limit is None else [told.limit.min, told.limit.max]


def _limit(line: LimitLine | None, unit: str) -> list[float | None] | None:
    return None if line is None else [_amount(line.min, unit), _amount(line.max, unit)]


def _new(dimension: Dimension | Fit, unit: str) -> list[float | None] | None:
    return None if dimension.new is None else [_amount(end, unit) for end in dimension.new]


def _amount(amount: Quantity | None, unit: str) -> float | None:
    return amount_in(amount, unit) if amount is not None else None


def _observed(family: Family, name: str) -> dict[str, Any]:
    written = (family.grades or {}).get(name, {})
    return {"id": name, "name": title_of(name), "grades": dict(sorted(written.items()))}


def _test(engine: EngineStory, family: Family, test: str, rule: TestRule) -> dict[str, Any]:
    last = next((one for one in reversed(engine.tests) if one.test == test), None)
    written = {key: [one.written for one in chambers] for key, _, chambers in last.rows} if last is not None else {}
    keys = list(written) or _keys_of(family, test)
    return {
        "id": test,
        "name": test_name(test, rule),
        "unit": rule.unit,
        "head": list(HEADS),
        "at": _amount(rule.at, "rpm"),
        "rows": [
            {"id": key, "name": key_name(family, key), "chambers": _chambers(family, key), "last": written.get(key, [])}
            for key in keys
        ],
    }


def _keys_of(family: Family, test: str) -> list[str]:
    """Where a test that was never written is read: the first place of each row, or the whole engine."""
    by_row: dict[int | None, str] = {}
    for position, slots in slots_of(family).by_position.items():
        whole = bool(family.kinds.get(slots[0].kind, Kind()).whole)
        if slots[0].row is not None or whole:
            by_row.setdefault(None if whole else slots[0].row, position)
    rows = [position for row, position in sorted(by_row.items(), key=lambda item: item[0] or 0) if row is not None]
    return rows if test in BY_CHAMBER and rows else [by_row[None]] if None in by_row else rows[:1]


def _chambers(family: Family, key: str) -> int:
    """How many readings a row takes: a rotor has three faces."""
    return 3 if by_chambers(family, key) else 1
