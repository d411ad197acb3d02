"""A blank sheet for one engine: its family's places in order, with everything that the bench wants beside each line.

In: an engine told, its family, the kind of sheet and the day. Out: YAML text. A line with nothing after it means "not
looked at", so that a half-filled sheet is a valid one. What stands behind `#` is for the eye alone: the unit, the last
value and its sheet, the limit, the gauge, the grades as the family writes them.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from ..history.story import DimensionStory, EngineStory, PartStory
from ..records.family import Dimension, Family, Kind, TestRule
from ..records.fields import REASONS
from ..records.sheet import CAUSES, DECISIONS, SheetKind
from ..records.slots import Slot, slots_of

COMMENT_AT = 34  # column of what stands behind a line; longer lines push it out

TEST_HEAD = ("rpm", "temperature")
_NUMBER = re.compile(r"(.*?)(\d+)(?:-[a-z]{4})?")  # a sheet begun on a phone has letters of its own behind it


@dataclass(frozen=True, slots=True)
class Blank:
    """What a blank sheet is written for; `number` is the sheet's own, `taken` those of all sheets of the shop."""

    engine: EngineStory
    family: Family
    kind: SheetKind
    day: date
    number: str | None


def blank_sheet(blank: Blank) -> str:
    """The sheet as text, with a newline at the end."""
    return "\n".join([*_head(blank), "positions:", *_positions(blank), *_tests(blank), *_foot(blank)]) + "\n"


def next_number(labels: Iterable[str]) -> str | None:
    """The number after the highest: `T-0413` after `T-0412`; None where none is numbered.

    >>> next_number(["T-0099", "T-0412", "rebuild"]), next_number(["T-0412-kvbn"]), next_number([])
    ('T-0413', 'T-0413', None)
    """
    found = [(int(match[2]), match[1], len(match[2])) for label in labels if (match := _NUMBER.fullmatch(label))]
    if not found:
        return None
    number, before, digits = max(found)
    return f"{before}{number + 1:0{digits}d}"


def _head(blank: Blank) -> Iterator[str]:
    engine = blank.engine
    yield f"engine: {engine.id}"
    yield f"date: {blank.day.isoformat()}"
    yield f"sheet: {blank.number}" if blank.number else _line(0, "sheet", "a number of its own, if your shop has them")
    if blank.kind != "build":
        yield _line(0, "reason", ", ".join(REASONS))
    people = ", ".join(engine.people) or "initials"
    yield _line(0, "by", people)
    yield _line(0, "counter", f"hours; the log says {engine.total.hours:.1f} h")
    yield _line(0, "temperature", "°C of parts and gauges")
    yield _line(0, "note", "what the owner may read")


def _foot(blank: Blank) -> Iterator[str]:
    if blank.kind == "build":
        yield _line(0, "rest", "'as before' puts back every place not named whose part was to be reused")
        yield _line(0, "torque", "what: value, as you write it")
        now = ", ".join(f"{span.fluid} {span.name}" for span in blank.engine.fluids if span.ended is None)
        yield _line(0, "fluids", f"in it now: {now}" if now else "oil, fuel, premix, injected, coolant, filter")
    if blank.kind == "teardown":
        yield _line(0, "work", "- {part: …, did: ground, dimensions: […], size: …}")


def _positions(blank: Blank) -> Iterator[str]:
    parts = {part.slot: part for part in blank.engine.parts}
    for position, slots in slots_of(blank.family).by_position.items():
        kind = blank.family.kinds.get(slots[0].kind, Kind())
        here = [parts.get(slot.id) for slot in slots]
        yield f"  {position}:" + _behind(f"  {position}:", _where(here))
        yield from _part_lines(slots, here, kind)
        yield from _measured(slots, here, kind)
        if blank.kind != "build":
            yield from _observed(blank, kind)
        yield _line(4, "finding", "in your own words")
        yield _line(4, "photos", "- {file: name.jpg, view: loaded side, caption: …}")
        if blank.kind == "teardown" and not kind.whole:
            yield _line(4, "decision", ", ".join(DECISIONS))
            yield _line(4, "because", ", ".join(CAUSES))
            yield _line(4, "why", "")


def _where(parts: list[PartStory | None]) -> str:
    """How long what stands there has run."""
    known = next((part for part in parts if part is not None), None)
    if known is None:
        return "nothing is written of what stands here"
    least = "at least " if known.since_new.at_least else ""
    return f"{least}{known.since_new.hours:.1f} h since new"


def _part_lines(slots: tuple[Slot, ...], here: list[PartStory | None], kind: Kind) -> Iterator[str]:
    """The serials fitted there; a build sheet proposes them."""
    if kind.whole:
        return
    serials = [part.id if part is not None and part.named else None for part in here]
    if not any(serials) and not kind.serial:
        return
    if slots[0].member is None:
        yield _serial(4, "part", serials[0])
        return
    yield "    part:"  # a set has one serial a member
    for slot, serial in zip(slots, serials, strict=True):
        if serial is not None or kind.serial:
            yield _serial(6, slot.member or "", serial)


def _serial(indent: int, key: str, serial: str | None) -> str:
    return _line(indent, key, "serial") if serial is None else f"{' ' * indent}{key}: {serial}"


def _measured(slots: tuple[Slot, ...], here: list[PartStory | None], kind: Kind) -> Iterator[str]:
    if not kind.dimensions:
        return
    yield "    measured:"
    for name, dimension in kind.dimensions.items():
        ids = (name, *(f"{name}@{station}" for station in dimension.stations or ()))
        known = (told for part in here for id in ids if (told := _told(part, id)) is not None)
        about = _about(dimension, next(known, None))
        if slots[0].member is None:
            yield from _leaves(6, name, about, (name, dimension), here[0])
            continue
        yield _line(6, name, about)
        for slot, part in zip(slots, here, strict=True):
            yield from _leaves(8, slot.member or "", "", (name, dimension), part)


def _leaves(indent: int, key: str, about: str, of: tuple[str, Dimension], part: PartStory | None) -> Iterator[str]:
    """One dimension of one part: a line, or a line a station; what was judged over them stands on the first."""
    name, dimension = of
    yield _line(indent, key, "; ".join(words for words in (about, _last(_told(part, name))) if words))
    for station in dimension.stations or ():
        yield _line(indent + 2, station, _last(_told(part, f"{name}@{station}")))


def _told(part: PartStory | None, id: str) -> DimensionStory | None:
    return next((one for one in part.dimensions if one.id == id), None) if part is not None else None


def _last(told: DimensionStory | None) -> str:
    """The last value and the sheet that it stands on."""
    reading = told.last if told is not None else None
    if reading is None:
        return ""
    at = f" at {reading.station}" if reading.station and reading.station not in (told.id if told else "") else ""
    return f"last {reading.written}{at}, {reading.sheet.label}"


def _about(dimension: Dimension, told: DimensionStory | None) -> str:
    """Unit, limit and gauge of a dimension."""
    words = [dimension.unit, *(f"{name} {end}" for name, end in _limit(dimension, told) if end is not None)]
    if dimension.instrument:
        words.append(dimension.instrument)
    return ", ".join(words)


def _limit(dimension: Dimension, told: DimensionStory | None) -> tuple[tuple[str, str | None], ...]:
    """The limit of what stands there, which an undersize moves; where nothing is known to stand there, the family's."""
    if told is not None:
        ends = (None, None) if told.limit is None else (told.limit.min, told.limit.max)
        low, high = (None if end is None else f"{end:.{told.decimals}f}" for end in ends)
    else:
        written = (None, None) if dimension.limit is None else (dimension.limit.min, dimension.limit.max)
        low, high = (None if amount is None else amount.written for amount in written)
    return ("min", low), ("max", high)


def _observed(blank: Blank, kind: Kind) -> Iterator[str]:
    if not kind.observe:
        return
    yield "    observed:"
    for name in kind.observe:
        grades = (blank.family.grades or {}).get(name, {})
        meaning = "; ".join(f"{grade} {words}" for grade, words in sorted(grades.items()) if grade.isdigit())
        yield _line(6, name, meaning or "0 to 4")


def _tests(blank: Blank) -> Iterator[str]:
    if not blank.family.tests or blank.kind == "build":
        return
    yield "tests:"
    for name, rule in blank.family.tests.items():
        yield f"  {name}:" + _behind(f"  {name}:", _rule(rule))
        yield from (_line(4, key, "") for key in TEST_HEAD)
        last = next((test for test in reversed(blank.engine.tests) if test.test == name), None)
        for key, _, chambers in last.rows if last is not None else ():
            yield _line(4, key, f"last {', '.join(one.written for one in chambers)}")


def _rule(rule: TestRule) -> str:
    limit = [] if rule.limit is None else [("min", rule.limit.min), ("max", rule.limit.max)]
    ends = [f"{name} {end.written}" for name, end in limit if end is not None]
    return ", ".join([*([rule.unit] if rule.unit else []), *ends, *([f"at {rule.at.written}"] if rule.at else [])])


def _line(indent: int, key: str, about: str) -> str:
    line = f"{' ' * indent}{key}:"
    return line + _behind(line, about)


def _behind(line: str, about: str) -> str:
    """A comment behind a line; nothing for nothing to say."""
    if not about:
        return ""
    plain = " ".join(about.split())
    return f"{' ' * max(COMMENT_AT - len(line), 1)}# {plain}"
