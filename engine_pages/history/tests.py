"""Cranking compression, leak-down and other tests: each reading brought to the family's unit and speed, and judged.

On a rotor a list is its chambers in order; everywhere else a list is repeats of one reading, and their mean is judged.
"""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from ..records.checks.tests import BUILT_IN
from ..records.family import Family, TestRule
from ..records.load import SheetRecord
from ..records.measurement import Measurement, Written, leaves
from ..records.quantity import Bracket, OneSided, Quantity, Side
from ..records.sheet import TestRun
from ..records.slots import key_name, slots_of, title_of
from ..records.units import canonical, dimension_of
from ..wear.limits import Limit, verdict, verdict_one_sided
from ..wear.pressure import at_standard_speed, leak_down_percent
from .amounts import amount_in
from .book import sheet_ref
from .chamber_state import Row, state_of_test, usual_scatter
from .rows import limit_in
from .series import range_verdict
from .story import ChamberReading, TestStory, Verdict

AT_THE_STARTER = ("compression",)  # the engine is turned by its starter
NAMES = {"leak_down": "Leak-down"}  # as the trade writes it


class Bench(Struct, frozen=True):
    """What surrounds a test's readings: its name, the sheet's circumstances, the family's rule, in what unit."""

    test: str
    run: TestRun
    rule: TestRule
    unit: str
    rpm: float | None
    limit: Limit | None


def tests_of(family: Family, sheet: SheetRecord) -> Iterator[TestStory]:
    """Every test of one sheet; where nothing was read there was none."""
    for name, run in (sheet.it.tests or {}).items():
        if run.is_blank:
            continue
        rule = (family.tests or {}).get(name) or TestRule()
        yield _story(family, sheet, name, run, rule)


def _story(family: Family, sheet: SheetRecord, name: str, run: TestRun, rule: TestRule) -> TestStory:
    unit = _unit(name, run, rule)
    bench = Bench(name, run, rule, unit, amount_in(run.amount("rpm"), "rpm"), limit_in(rule.limit, unit))
    rows = tuple(
        (key, key_name(family, key), tuple(_chambers(bench, tree, by_chambers(family, key))))
        for key, tree in run.readings.items()
    )
    spreads = _spreads(rows)
    spread_limits = (_spread_limit(rule, "chambers", unit), _spread_limit(rule, "rows", unit))
    not_corrected = _not_corrected(bench)
    scatter = usual_scatter(name, unit) if not_corrected is None else None  # a limit is of the standard speed
    state, why = state_of_test(rows, spreads, spread_limits, bench.limit, scatter, faces=run.faces_marked)
    return TestStory(
        test=name,
        name=test_name(name, rule),
        unit=unit,
        sheet=sheet_ref(sheet),
        rpm=bench.rpm,
        at_rpm=amount_in(rule.at, "rpm"),
        faces_marked=run.faces_marked,
        rows=rows,
        spread_chambers=spreads[0],
        spread_rows=spreads[1],
        limit=bench.limit,
        limit_source=rule.source,
        spread_limits=spread_limits,
        state=state,
        why=why,
        source=sheet.record.place("tests", name),
        not_corrected=not_corrected,
        read_in=_read_in(run, unit),
        orifice=orifice.written if (orifice := run.amount("orifice")) is not None else None,
    )


def _unit(name: str, run: TestRun, rule: TestRule) -> str:
    """The family's unit, else what the trade uses for this test, else the sheet's. A bare limit is in this unit."""
    for written in (rule.unit, BUILT_IN.get(name), run.circumstances.get("unit")):
        if written is not None and (known := canonical(written)) is not None:
            return known
    return "kPa"


def _read_in(run: TestRun, unit: str) -> str:
    """The unit of a bare reading: the sheet's own where it names one, else the test's."""
    written = run.circumstances.get("unit")
    return (canonical(written) if written is not None else None) or unit


def test_name(test: str, rule: TestRule) -> str:
    """What a test is called on pages."""
    return rule.name or NAMES.get(test) or title_of(test)


def by_chambers(family: Family, key: str) -> bool:
    """Whether several readings of a position are its chambers: those of a rotor are."""
    slots = slots_of(family).named(key)
    return family.architecture == "rotary" and bool(slots) and slots[0].row is not None


def _spread_limit(rule: TestRule, which: str, unit: str) -> float | None:
    return amount_in(getattr(rule.spread, which), unit) if rule.spread else None


def _spreads(rows: Sequence[Row]) -> tuple[float | None, float | None]:
    """How far apart the chambers of one row lie at most, and the means of the rows."""
    known = [[c.corrected for c in row[2] if c.corrected is not None] for row in rows]
    within = [max(values) - min(values) for values in known if len(values) > 1]
    means = [sum(values) / len(values) for values in known if values]
    return max(within, default=None), max(means) - min(means) if len(means) > 1 else None


def _chambers(bench: Bench, tree: Measurement, by_chambers: bool) -> Iterator[ChamberReading]:
    readings = list(leaves(tree))
    if not by_chambers:
        for names, reading in readings:
            yield _repeats(bench, reading.values, "-".join(names) or None)
        return
    several = sum(len(reading.values) for _, reading in readings) > 1
    number = 0
    for names, reading in readings:
        for value in reading.values:
            number += 1
            yield _one(bench, value, number if several else None, "-".join(names) or None)


def _repeats(bench: Bench, values: Sequence[Written], name: str | None) -> ChamberReading:
    """Several readings of one thing: their mean is judged."""
    found = [_in_unit(bench, value) for value in values if isinstance(value, Quantity)]
    known = [value for value in found if value is not None]
    if len(values) == 1 or not known:
        return _one(bench, values[0], None, name)
    mean = sum(known) / len(known)
    corrected = _at_speed(bench, mean)
    written = ", ".join(value.written for value in values)
    return ChamberReading(None, written, mean, corrected, _judged(bench, corrected), name)


def _one(bench: Bench, value: Written, chamber: int | None, name: str | None) -> ChamberReading:
    """One reading; of a range the middle is shown and the ends are judged. A bound is judged, and is no figure."""
    if isinstance(value, Bracket):
        return _range(bench, value, chamber, name)
    if isinstance(value, OneSided):
        return _bound(bench, value, chamber, name)
    found = _in_unit(bench, value) if isinstance(value, Quantity) else None
    corrected = _at_speed(bench, found)
    return ChamberReading(chamber, value.written, found, corrected, _judged(bench, corrected), name)


def _range(bench: Bench, value: Bracket, chamber: int | None, name: str | None) -> ChamberReading:
    ends = [end for end in (_in_unit(bench, value.low), _in_unit(bench, value.high)) if end is not None]
    if len(ends) < 2:
        return ChamberReading(chamber, value.written, None, None, "no limit", name)
    low, high = sorted(_at_speed(bench, end) or end for end in ends)
    judged: Verdict = range_verdict((low, high), bench.limit) if bench.limit is not None else "no limit"
    return ChamberReading(chamber, value.written, sum(ends) / 2, (low + high) / 2, judged, name)


def _bound(bench: Bench, value: OneSided, chamber: int | None, name: str | None) -> ChamberReading:
    """How far beyond its bound the reading lies is not known: nothing is compared with it."""
    bound = _at_speed(bench, _in_unit(bench, value.bound))
    judged: Verdict = "no limit"
    if bound is not None and bench.limit is not None:
        judged = verdict_one_sided(_side(bench, value), bound, bench.limit)
    return ChamberReading(chamber, value.written, None, None, judged, name, bound=bound is not None)


def _side(bench: Bench, value: OneSided) -> Side:
    """Which side of its bound a reading lies on; what is left over 90 psi is a loss under 10 %."""
    if not _is_held(bench, value.bound):
        return value.side
    return "over" if value.side == "under" else "under"


def _judged(bench: Bench, value: float | None) -> Verdict:
    """A test's reading is taken as exact: no shop writes down how far its pressure gauge is out."""
    return verdict(value, 0.0, bench.limit) if value is not None and bench.limit is not None else "no limit"


def _is_held(bench: Bench, value: Quantity) -> bool:
    """Whether a leak-down is written as the pressure that is left."""
    written = value.unit or bench.run.circumstances.get("unit") or bench.unit
    known = canonical(written)
    return bench.test == "leak_down" and known is not None and dimension_of(known) == "pressure" and bench.unit == "%"


def _in_unit(bench: Bench, value: Quantity) -> float | None:
    """A reading in the test's unit; a leak-down written as what is left is worked out from the supply."""
    written = bench.run.circumstances.get("unit") or bench.unit
    if _is_held(bench, value):
        supply = bench.run.amount("supply")
        held, fed = amount_in(value, "kPa", written), amount_in(supply, "kPa", value.unit or written)
        return leak_down_percent(fed, held) if held is not None and fed is not None and fed > 0 else None
    return amount_in(value, bench.unit, written)


def _at_speed(bench: Bench, value: float | None) -> float | None:
    """The reading at the standard cranking speed where the curve reaches it, else as it is."""
    if value is None or bench.rpm is None or not curve_reaches(bench.rule, bench.rpm):
        return value
    points = [(float(speed), float(factor)) for speed, factor in bench.rule.curve or ()]
    return at_standard_speed(value, bench.rpm, points)


def curve_reaches(rule: TestRule, rpm: float | None) -> bool:
    """Whether the family's curve reaches the cranking speed; outside it nothing is corrected, and the page says so."""
    if rpm is None or not rule.curve:
        return False
    return float(rule.curve[0][0]) <= rpm <= float(rule.curve[-1][0])


def _not_corrected(bench: Bench) -> str | None:
    """Why nothing was brought to the standard speed, where the family names one and it was not met."""
    if bench.rule.at is None or curve_reaches(bench.rule, bench.rpm):
        return None
    speed = "cranking speed" if bench.test in AT_THE_STARTER else "speed"
    if not bench.rule.curve:
        if bench.rpm is not None and bench.rpm == amount_in(bench.rule.at, "rpm"):
            return None
        unwritten = "" if bench.rpm is not None else f"no {speed} is written, and "
        return f"{unwritten}the family gives no curve for the {speed}"
    if bench.rpm is None:
        return f"no {speed} is written"
    low, high = (float(bench.rule.curve[end][0]) for end in (0, -1))
    return f"{bench.rpm:g} rpm lies outside the curve, {low:g} to {high:g} rpm"
