"""A row of figures over time: its baselines, its verdicts, the allowance used, its line, and when that meets the limit.

Points in order of time come in, each with the exposure of its part, and the line that its pool of like parts gives it;
out comes one `DimensionStory`.
"""

from collections.abc import Sequence
from typing import Literal

import numpy as np
from msgspec import Struct

from ..records.source import Source
from ..wear.fits import Clearances, clearances_verdict
from ..wear.limits import ONE_SIDED_95, Allowance, Limit, Wears, allowance_used, verdict, verdict_one_sided
from ..wear.measured import Measured, from_bracket, minus
from ..wear.pool.line import PartLine
from ..wear.trend import Crossing
from .readings import Read
from .story import NO_WEAR, DimensionStory, ReadingStory, SheetRef, State, Verdict, Wear

NEAR = 0.75  # allowance used beyond which a part is near its limit (figures: state of a part)
K_ONE_SIDED_95 = ONE_SIDED_95  # U = k·u, ISO 14253-1 with a one-sided risk of 5 %
ZERO_EXPOSURE = 1e-9
SAMPLES = 24  # points of a drawn line
FARTHEST_DRAWN = 2.0  # times the plan's end: beyond it a crossing is said, not drawn


class Dated(Struct, frozen=True):
    """A reading in a row: its sheet, the part's exposure in the family's unit, its hours, and its baseline's number."""

    read: Read
    sheet: SheetRef
    slot: str
    exposure: float
    part_hours: float
    baseline: int
    limit: Limit | None
    clearances: Clearances | None = None
    correction: str | None = None
    in_doubt: bool = False


class Baseline(Struct, frozen=True):
    """Where the present baseline began: its number, the exposure then, and the work that opened it.

    `hours` are the part's then. `earlier` gives the exposures at which those before it began. One that begins `unseen`,
    somewhere in a life that is not known, is counted from its first reading, which is none of a new part.
    """

    number: int
    start: float | None
    why: str | None
    hours: float = 0.0
    earlier: tuple[float, ...] = ()
    unseen: bool = False


class Frame(Struct, frozen=True):
    """What surrounds a row of figures: its name, its limit and new range on this baseline, where the plan ends."""

    id: str
    name: str
    unit: str
    decimals: int
    limit: Limit | None
    limit_source: str | None
    limit_where: Source | None
    new: tuple[float, float] | None
    wears: str
    confidence: float
    keep: float | None
    exposure_unit: str
    now: float
    plan: float


def dimension_story(frame: Frame, rows: Sequence[Dated], baseline: Baseline, wear: Wear = NO_WEAR) -> DimensionStory:
    """All figures of one dimension. With nothing measured, its limit, its state, and the line of its kind."""
    present = [row for row in rows if row.baseline == baseline.number and not row.in_doubt]
    starts = starts_of(rows, baseline)
    start_value, start_from = _start_value(frame, present, baseline)
    line, crossing = wear.line, _to_limit(frame, wear.line)
    readings = _readings(rows, starts)
    last = next((row for row in reversed(present) if row.read.at_20 is not None), None)
    allowance = _allowance(frame, last, start_value, line)
    began = baseline.start or 0.0
    now, end = frame.now - began, frame.now - began + frame.plan
    chance = line.chance_inside(frame.limit, end) if line and line.n and frame.limit and frame.plan > 0 else None
    return DimensionStory(
        id=frame.id,
        name=frame.name,
        unit=frame.unit,
        decimals=frame.decimals,
        limit=frame.limit,
        limit_source=frame.limit_source,
        limit_where=frame.limit_where,
        new=frame.new,
        wears=frame.wears,
        state=_state(frame, readings, baseline, allowance, chance, line),
        readings=readings,
        baseline=start_value.value if start_value else None,
        baseline_from=start_from,
        baseline_number=baseline.number,
        baseline_why=baseline.why,
        allowance=allowance,
        forecast=_forecast(frame, line, start_value, allowance, end),
        line=line,
        rate=line.rate(frame.confidence) if line else None,
        to_limit=crossing,
        chance=chance,
        parts_in_fit=wear.parts,
        exposure_unit=frame.exposure_unit,
        now=now,
        at_plan_end=end if frame.plan > 0 else None,
        line_points=_sampled(frame, line, end, crossing),
        observed_at=last.read.station if last else None,
        wear=wear,
    )


def _to_limit(frame: Frame, line: PartLine | None) -> Crossing | None:
    """Where the line meets the limit; None where nothing at all can be said."""
    if line is None or frame.limit is None:
        return None
    found = line.to_limit(frame.limit, frame.confidence)
    return found if found is not None and found.low is not None else None


def starts_of(rows: Sequence[Dated], baseline: Baseline) -> dict[int, float]:
    """The exposure at which each baseline began; where that is not known, that of its first reading."""
    out: dict[int, float] = dict(enumerate(baseline.earlier))
    for row in rows:
        out.setdefault(row.baseline, row.exposure)
    if baseline.start is not None:
        out[baseline.number] = baseline.start
    return out


BaselineFrom = Literal["reading", "new range", "unknown"]


def _start_value(frame: Frame, present: Sequence[Dated], baseline: Baseline) -> tuple[Measured | None, BaselineFrom]:
    """The value at the baseline: its first reading if it has not run since, else the middle of the new range."""
    first = next((row for row in present if row.read.at_20 is not None), None)
    if first is not None and first.read.at_20 is not None and baseline.start is not None and not baseline.unseen:
        run = max(first.exposure - baseline.start, first.part_hours - baseline.hours)
        if run <= ZERO_EXPOSURE:
            return first.read.at_20, "reading"
    if frame.new is not None:
        return from_bracket(*frame.new), "new range"
    return None, "unknown"


def _readings(rows: Sequence[Dated], starts: dict[int, float]) -> tuple[ReadingStory, ...]:
    out: list[ReadingStory] = []
    before: Dated | None = None
    for row in rows:
        same = before if before and before.baseline == row.baseline and before.read.at_20 and row.read.at_20 else None
        out.append(_reading(row, same, row.exposure - starts[row.baseline]))
        if row.read.at_20 is not None:
            before = row
    return tuple(out)


def _reading(row: Dated, before: Dated | None, exposure: float) -> ReadingStory:
    read = row.read
    cold = read.at_20
    change = minus(cold, before.read.at_20) if cold and before and before.read.at_20 else None
    low, high = read.ends if read.ends else (None, None)
    if cold is not None and read.ends is None:
        low, high = cold.value - K_ONE_SIDED_95 * cold.u, cold.value + K_ONE_SIDED_95 * cold.u
    return ReadingStory(
        day=row.sheet.day,
        sheet=row.sheet,
        written=read.written,
        kind=read.kind,
        value=read.raw.value if read.raw else read.bound,
        value_20c=read.figure,
        u=cold.u if cold else None,
        low=low,
        high=high,
        exposure=exposure,
        part_hours=row.part_hours,
        baseline=row.baseline,
        verdict=verdict_of(row),
        station=read.station,
        instrument=read.instrument,
        gauge_assumed=read.assumed,
        temperature=read.temperature,
        corrected=read.corrected,
        repeats=read.repeats,
        decimals=read.decimals,
        change=change.value if change else None,
        change_u=K_ONE_SIDED_95 * change.u if change else None,
        source=read.source,
        slot=row.slot,
        limit=row.limit,
        correction=row.correction,
    )


def verdict_of(row: Dated) -> Verdict:
    """The verdict by the limit of the reading's own baseline: an undersize journal has an undersize limit."""
    read, limit = row.read, row.limit
    if row.in_doubt:
        return "undecided"
    if limit is None:
        return "no limit"
    if row.clearances is not None:
        return clearances_verdict(row.clearances, limit, K_ONE_SIDED_95)
    if read.kind in ("under", "over") and read.judged_bound is not None:
        return verdict_one_sided("under" if read.kind == "under" else "over", read.judged_bound, limit)
    if read.at_20 is None:
        return "no limit"
    if read.judged_ends is not None:  # a range lies wholly inside or outside, or cannot be decided
        return range_verdict(read.judged_ends, limit)
    return verdict(read.at_20.value, read.at_20.u, limit, K_ONE_SIDED_95)


def range_verdict(ends: tuple[float, float], limit: Limit) -> Verdict:
    """The verdict on a range that holds the value for certain."""
    middle, half = (ends[0] + ends[1]) / 2, (ends[1] - ends[0]) / 2
    return verdict(middle, half, limit, k=1.0)


def _allowance(frame: Frame, last: Dated | None, start: Measured | None, line: PartLine | None) -> Allowance | None:
    if last is None or last.read.at_20 is None or frame.limit is None:
        return None
    wears: Wears = "up" if frame.wears == "up" else "down" if frame.wears == "down" else "either"
    rate = line.slope if line and not line.rate(frame.confidence).holds(0.0) else None
    return allowance_used(last.read.at_20, start, frame.limit, wears, rate, frame.confidence)


def _forecast(
    frame: Frame, line: PartLine | None, start: Measured | None, allowance: Allowance | None, end: float
) -> float | None:
    """The share that the line will have used at the plan's end."""
    if line is None or start is None or allowance is None or frame.plan <= 0 or frame.limit is None:
        return None
    level = frame.limit.max if allowance.side == "max" else frame.limit.min
    if level is None or level == start.value:
        return None
    return (line.at(end)[0] - start.value) / (level - start.value)


def _state(
    frame: Frame,
    readings: Sequence[ReadingStory],
    baseline: Baseline,
    allowance: Allowance | None,
    chance: float | None,
    line: PartLine | None,
) -> State:
    present = [r for r in readings if r.baseline == baseline.number and r.kind != "not measurable"]
    if not present:
        return "not measured"
    last = present[-1]
    if last.verdict == "beyond":
        return "beyond limit"
    if last.verdict == "undecided":
        return "undecided"
    if allowance is not None and allowance.used > NEAR:
        return "near limit"
    # where no wear can be measured yet, the chance is what is believed of any such part: no reason to speak of a limit
    if chance is not None and frame.keep is not None and chance < frame.keep and _wears_measurably(frame, line):
        return "near limit"
    return "within"


def _wears_measurably(frame: Frame, line: PartLine | None) -> bool:
    return line is not None and not line.rate(frame.confidence).holds(0.0)


def _sampled(
    frame: Frame, line: PartLine | None, end: float, crossing: Crossing | None
) -> tuple[tuple[float, float, float, float], ...]:
    """The line with its band, past the plan's end, and past its crossing unless that is far off."""
    if line is None:
        return ()
    plain = max(end, 0.0) * 1.15 or 1.0
    reach = max(plain, min((crossing.high or 0.0) if crossing else 0.0, FARTHEST_DRAWN * plain))
    xs = [reach * i / SAMPLES for i in range(SAMPLES + 1)]
    return tuple((x, *band) for x, band in zip(xs, line.band(np.array(xs), frame.confidence).tolist(), strict=True))
