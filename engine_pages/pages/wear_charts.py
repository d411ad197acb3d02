"""From a dimension's story to the data of its wear chart.

In: a part's story, one of its dimensions in the unit to be shown, and what happened to the part. Out: `WearChart`,
drawn over the part's exposure since new. Readings of earlier baselines are drawn where they lie near the limits of
today: a journal that was ground stands a quarter of a millimetre lower, and the chart would show nothing else.
"""

from collections.abc import Iterable
from typing import Final

from engine_pages.history.story import DimensionStory, PartStory, ReadingStory
from engine_pages.pages.bars import reading_ends
from engine_pages.pages.charts.wear_chart import LimitLine, Mark, Point, WearChart
from engine_pages.pages.dimension_words import reading_words
from engine_pages.pages.words import figure_words
from engine_pages.wear.limits import Limit

FEWEST_READINGS: Final = 2
AXIS: Final = {"hours": "hours", "km": "km", "starts": "starts", "runs": "runs"}
UNIT: Final = {"hours": "h", "km": "km", "starts": "starts", "runs": "runs"}


def wear_chart(part: PartStory, dimension: DimensionStory, marks: Iterable[Mark] = ()) -> WearChart | None:
    """The chart of a dimension; None for fewer than two readings: one is a figure, and stands beside its limit."""
    start = baseline_start(part, dimension)
    shown = [reading for reading in dimension.readings if _is_near(dimension, reading)]
    readings = tuple(point for reading in shown if (point := _point(dimension, reading, start)) is not None)
    if len(readings) < FEWEST_READINGS and not (readings and dimension.line_points):
        return None
    whole = dimension.baseline_number == 0 or shown[0].baseline != dimension.baseline_number
    return WearChart(
        title=dimension.name,
        unit=dimension.unit,
        exposure_unit=UNIT[dimension.exposure_unit],
        readings=readings,
        line=tuple((x + start, value, low, high) for x, value, low, high in dimension.line_points),
        last_x=readings[-1].x,
        limits=limit_lines(dimension.limit, dimension.decimals),
        new_range=dimension.new if whole else None,
        marks=tuple(marks),
        crossing=_crossing(dimension, start),
        now_x=start + (dimension.now or 0.0),
        plan_x=start + dimension.at_plan_end if dimension.at_plan_end is not None else None,
        exposure_name=axis_name(part, dimension),
    )


def axis_name(part: PartStory, dimension: DimensionStory) -> str:
    """What the axis counts: `hours since new`, or what is known of them where the life before is not."""
    counted = AXIS[dimension.exposure_unit]
    return f"{counted} on record" if part.since_new.at_least else f"{counted} since new"


def baseline_start(part: PartStory, dimension: DimensionStory) -> float:
    """The part's exposure when the present baseline of the dimension began."""
    return part.since_new.amount(dimension.exposure_unit) - (dimension.now or 0.0)


def limit_lines(limit: Limit | None, decimals: int) -> tuple[LimitLine, ...]:
    """A limit's lines with their words: `limit 60.105`, or `least` and `most` where there are two."""
    if limit is None:
        return ()
    both = limit.min is not None and limit.max is not None
    named = (("least" if both else "limit", limit.min), ("most" if both else "limit", limit.max))
    return tuple(
        LimitLine(value, f"{name} {figure_words(value, decimals)}") for name, value in named if value is not None
    )


def _is_near(dimension: DimensionStory, reading: ReadingStory) -> bool:
    """Whether a reading belongs in the chart: of this baseline, or within one allowance of what is allowed now."""
    if reading.baseline == dimension.baseline_number:
        return True
    value = reading.value_20c if reading.value_20c is not None else reading.value
    ends = [*(dimension.new or ()), *(one.value for one in limit_lines(dimension.limit, 0))]
    if value is None or reading.part_hours is None or dimension.exposure_unit != "hours" or len(ends) < 2:
        return False
    width = max(ends) - min(ends)
    return bool(min(ends) - width <= value <= max(ends) + width)


def _point(dimension: DimensionStory, reading: ReadingStory, start: float) -> Point | None:
    value = reading.value_20c if reading.value_20c is not None else reading.value
    if value is None or reading.exposure is None or reading.kind == "not measurable":
        return None
    x = reading.exposure + start
    if reading.baseline != dimension.baseline_number and reading.part_hours is not None:
        x = reading.part_hours
    return Point(x, value, reading.low, reading.high, reading_ends(reading), reading_words(reading))


def _crossing(dimension: DimensionStory, start: float) -> tuple[float, float | None] | None:
    crossing = dimension.to_limit
    if crossing is None or crossing.low is None:
        return None
    return crossing.low + start, None if crossing.high is None else crossing.high + start
