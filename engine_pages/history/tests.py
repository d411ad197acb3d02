"""Cranking compression, leak-down and other tests: each reading brought to the family's unit and speed, and judged."""

from collections.abc import Iterator

from ..records.family import Family, TestRule
from ..records.load import SheetRecord
from ..records.measurement import Measurement, leaves
from ..records.quantity import Quantity, in_unit
from ..records.sheet import TestRun
from ..records.slots import slots_of, title_of
from ..records.units import dimension_of
from ..wear.limits import Limit, verdict
from ..wear.pressure import at_standard_speed, leak_down_percent
from .book import sheet_ref
from .dimensions import limit_in
from .story import ChamberReading, State, TestStory, Verdict


def tests_of(family: Family, sheet: SheetRecord) -> Iterator[TestStory]:
    """Every test of one sheet."""
    for name, run in (sheet.it.tests or {}).items():
        rule = (family.tests or {}).get(name) or TestRule()
        yield _story(family, sheet, name, run, rule)


def _story(family: Family, sheet: SheetRecord, name: str, run: TestRun, rule: TestRule) -> TestStory:
    unit = rule.unit or run.circumstances.get("unit") or ("%" if name == "leak_down" else "kPa")
    limit = limit_in(rule.limit, unit)
    rpm, at_rpm = _number(run.amount("rpm"), "rpm"), _number(rule.at, "rpm")
    rows = tuple(
        (key, _name(family, key), tuple(_chambers(name, tree, run, rule, unit, rpm, limit)))
        for key, tree in run.readings.items()
    )
    within = [_spread([c.corrected for c in row[2]]) for row in rows if len(row[2]) > 1]
    means = [sum(v) / len(v) for row in rows if (v := [c.corrected for c in row[2] if c.corrected is not None])]
    spread_limits = (_spread_limit(rule, "chambers", unit), _spread_limit(rule, "rows", unit))
    chambers = max((s for s in within if s is not None), default=None)
    between = _spread(means) if len(means) > 1 else None
    state, why = _state(rows, (chambers, between), spread_limits, limit)
    return TestStory(
        test=name,
        name=rule.name or title_of(name),
        unit=unit,
        sheet=sheet_ref(sheet),
        rpm=rpm,
        at_rpm=at_rpm,
        faces_marked=run.faces_marked,
        rows=rows,
        spread_chambers=chambers,
        spread_rows=between,
        limit=limit,
        limit_source=rule.source,
        spread_limits=spread_limits,
        state=state,
        why=why,
        source=sheet.record.place("tests", name),
    )


def _name(family: Family, key: str) -> str:
    slots = slots_of(family).named(key)
    return slots[0].name if slots else title_of(key)


def _number(amount: Quantity | None, unit: str) -> float | None:
    return float(in_unit(amount, unit, unit)) if amount is not None else None


def _spread_limit(rule: TestRule, which: str, unit: str) -> float | None:
    amount = getattr(rule.spread, which) if rule.spread else None
    return _number(amount, unit)


def _spread(values: list[float | None] | list[float]) -> float | None:
    known = [v for v in values if v is not None]
    return max(known) - min(known) if len(known) > 1 else None


def _chambers(
    name: str, tree: Measurement, run: TestRun, rule: TestRule, unit: str, rpm: float | None, limit: Limit | None
) -> Iterator[ChamberReading]:
    """A list is the chambers of a rotor in order; a map names them."""
    for _, reading in leaves(tree):
        for number, value in enumerate(reading.values, 1):
            several = len(reading.values) > 1
            found = _in_unit(name, value, run, unit) if isinstance(value, Quantity) else None
            corrected = _at_speed(found, rpm, rule)
            judged: Verdict = verdict(corrected, 0.0, limit) if corrected is not None and limit else "no limit"
            yield ChamberReading(number if several else None, value.written, found, corrected, judged)


def _in_unit(name: str, value: Quantity, run: TestRun, unit: str) -> float:
    """A reading in the test's unit; a leak-down written as what is left is worked out from the supply."""
    written_unit = value.unit or run.circumstances.get("unit") or unit
    supply = run.amount("supply")
    if name == "leak_down" and dimension_of(written_unit) == "pressure" and supply is not None:
        held, fed = (float(in_unit(q, "kPa", written_unit)) for q in (value, supply))
        return leak_down_percent(fed, held)
    return float(in_unit(value, unit, written_unit))


def _at_speed(value: float | None, rpm: float | None, rule: TestRule) -> float | None:
    if value is None or rpm is None or not rule.curve:
        return value
    points: list[tuple[float, float]] = [(float(speed), float(factor)) for speed, factor in rule.curve]
    corrected = at_standard_speed(value, rpm, points)
    return value if corrected is None else corrected


def curve_reaches(rule: TestRule, rpm: float | None) -> bool:
    """Whether the family's curve reaches the cranking speed; outside it nothing is corrected, and the page says so."""
    if rpm is None or not rule.curve:
        return False
    return float(rule.curve[0][0]) <= rpm <= float(rule.curve[-1][0])


def _state(
    rows: tuple[tuple[str, str, tuple[ChamberReading, ...]], ...],
    spreads: tuple[float | None, float | None],
    allowed: tuple[float | None, float | None],
    limit: Limit | None,
) -> tuple[State, str]:
    beyond = [name for _, name, chambers in rows if any(c.verdict == "beyond" for c in chambers)]
    if beyond:
        return "beyond limit", f"{', '.join(beyond)} outside the limit"
    for what, spread, most in zip(("chambers", "rows"), spreads, allowed, strict=True):
        if spread is not None and most is not None and spread > most:
            return "beyond limit", f"{what} {spread:.0f} apart, at most {most:.0f}"
    return "within", "" if limit is not None or any(allowed) else "no limit written"
