"""What a wear chart shows: readings over exposure, the fitted line, limits, what happened, where line and limit meet.

In: numbers in the chart's own units. Out: frozen values, the ranges that their chart spans, and the words that are read
out in its place. Nothing is judged here; the numbers come from the wear room.
"""

from collections.abc import Iterator
from itertools import pairwise
from math import isfinite
from typing import Literal

from msgspec import Struct

from engine_pages.pages.bar_strokes import Ends
from engine_pages.pages.charts.paints import Spoken
from engine_pages.pages.charts.scales import span_text
from engine_pages.pages.charts.sheet import joined

MarkKind = Literal["fluid", "incident", "move", "machined"]
LinePoint = tuple[float, float, float, float]  # exposure, value of the line, low and high end of its interval

# A limit stays in the chart while the readings still take this share of its height; else words at the edge name it.
LEAST_SHARE = 0.12
# The chart goes on to where the line meets its limit, but not further than so many times what is known and planned.
FURTHEST = 2.2


class Point(Struct, frozen=True):
    """One reading: exposure `x`, value `y`, its interval, the kind of reading, and its figure as it is to be shown.

    Of a one-sided reading (`under`, `over`) `y` is the bound.
    """

    x: float
    y: float
    low: float | None = None
    high: float | None = None
    kind: Ends = "gauge"
    label: str = ""


class LimitLine(Struct, frozen=True):
    """A limit's value and its words: `limit 60.105`."""

    value: float
    text: str


class Mark(Struct, frozen=True):
    """Something that happened at an exposure; the letter leads to the key under the chart."""

    x: float
    letter: str
    kind: MarkKind


class WearChart(Struct, frozen=True):
    """One dimension of one part over its exposure.

    `line` is the fit, sampled in order of exposure up to and beyond the last reading at `last_x`; `crossing` is where
    it meets a limit (high None: no upper bound). `exposure_unit` follows figures ("h"), `exposure_name` names the axis
    ("hours since new"). `crossing_text` replaces the words that the crossing would be given.
    """

    title: str
    unit: str
    exposure_unit: str
    readings: tuple[Point, ...]
    line: tuple[LinePoint, ...]
    last_x: float
    limits: tuple[LimitLine, ...]
    new_range: tuple[float, float] | None
    marks: tuple[Mark, ...]
    crossing: tuple[float, float | None] | None
    now_x: float
    plan_x: float | None = None
    exposure_name: str = ""
    crossing_text: str = ""


def exposure_range(data: WearChart) -> tuple[float, float]:
    """The exposures that the chart spans, from nothing, or from near the first of several that all lie far out."""
    known = [point.x for point in data.readings] + [data.now_x]
    if data.plan_x is not None:
        known.append(data.plan_x)
    end = max(known)
    for reach in data.crossing or ():
        if reach is not None and isfinite(reach) and end < reach <= FURTHEST * end:
            end = reach
    if end <= 0:
        end = data.line[-1][0] if data.line and data.line[-1][0] > 0 else 1.0
    xs = sorted({point.x for point in data.readings})
    far_out = len(xs) > 1 and xs[0] > 0.7 * end
    start = xs[0] - 0.06 * (end - xs[0]) if far_out else 0.0
    return start, end + 0.06 * (end - start)


def value_range(data: WearChart) -> tuple[float, float]:
    """The values that the chart spans: readings, what is new, the line to the end of the plan, limits in reach."""
    low, high = _shown_values(data)
    for limit in data.limits:
        if in_reach(data, limit):
            low, high = min(low, limit.value), max(high, limit.value)
    if not high > low:  # a lone figure: a reading needs a close look, a limit alone a wide one
        room = abs(low) * (0.001 if data.readings else 0.2) or 1.0
        low, high = low - room, high + room
    span = high - low
    at_foot = any(limit.value <= low for limit in data.limits if in_reach(data, limit))  # room for words under it
    return low - (0.13 if at_foot else 0.07) * span, high + 0.11 * span


def in_reach(data: WearChart, limit: LimitLine) -> bool:
    """Whether a limit lies near enough to what is shown to be drawn with it."""
    low, high = _shown_values(data)
    with_limit = max(high, limit.value) - min(low, limit.value)
    return high == low or high - low >= LEAST_SHARE * with_limit


def line_at(data: WearChart, x: float) -> LinePoint | None:
    """The fitted line and its interval at an exposure, straight between its samples; None outside them."""
    for before, after in pairwise(data.line):
        if before[0] <= x <= after[0]:
            share = 0.0 if after[0] == before[0] else (x - before[0]) / (after[0] - before[0])
            y, low, high = (b + (a - b) * share for b, a in zip(before[1:], after[1:], strict=True))
            return x, y, low, high
    return None


def limit_met(data: WearChart) -> LimitLine | None:
    """The limit that the crossing belongs to: the drawn one that is nearest to the line there."""
    drawn = [limit for limit in data.limits if in_reach(data, limit)]
    if data.crossing is None or not drawn:
        return None
    low, high = data.crossing
    there = line_at(data, low if high is None else (low + high) / 2) or (data.line[-1] if data.line else None)
    return drawn[0] if there is None else min(drawn, key=lambda limit: abs(limit.value - there[1]))


def crossing_words(data: WearChart) -> str:
    """Where the line meets its limit, in words."""
    if data.crossing is None:
        return ""
    low, high = data.crossing
    span = span_text(low, high, data.exposure_unit)
    return data.crossing_text or (span if high is None else f"meets it at {span}")


def spoken_words(data: WearChart) -> Spoken:
    """What is read out in place of the chart."""
    return Spoken(f"{data.title}, {data.unit}", joined(_clauses(data)))


def _clauses(data: WearChart) -> Iterator[str]:
    count = len(data.readings)
    if not count:
        yield "No readings"
    elif count == 1:
        yield f"One reading, {_words(data.readings[0])} at {_exposure(data, data.readings[0].x)}"
    else:
        first, last = min(data.readings, key=_exposure_of), max(data.readings, key=_exposure_of)
        yield f"{count} readings"
        yield f"first {_words(first)} at {_exposure(data, first.x)}"
        yield f"last {_words(last)} at {_exposure(data, last.x)}"
    yield from (limit.text for limit in data.limits)
    if not data.limits:
        yield "no limit"
    if data.crossing is not None:
        yield f"the line {crossing_words(data)}".replace("the line not before", "the line meets it not before")


def _words(point: Point) -> str:
    side = {"under": "under ", "over": "over "}.get(point.kind, "")
    figure = point.label or f"{point.y:g}"
    return figure if figure.startswith(side) else side + figure


def _exposure(data: WearChart, x: float) -> str:
    return f"{x:g} {data.exposure_unit}"


def _exposure_of(point: Point) -> float:
    return point.x


def _shown_values(data: WearChart) -> tuple[float, float]:
    values = [value for point in data.readings for value in (point.y, point.low, point.high) if value is not None]
    values += data.new_range or ()
    last = max(data.now_x, data.last_x, data.plan_x or 0.0)
    values += [y for x, y, _, _ in data.line if x <= last]
    at_last = line_at(data, last)
    if at_last is not None:
        values.append(at_last[1])
    if not values:
        values = [limit.value for limit in data.limits] or [0.0, 1.0]
    return min(values), max(values)
