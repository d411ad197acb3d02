"""The strokes of a wear chart: each function puts one thing on a sheet; letters among them are placed elsewhere.

In: a Plot (the box and its two scales) and a piece of the chart's data. Out: strokes on the sheet; what letters must
keep off is gathered by `occupied`.
"""

from collections.abc import Sequence
from math import isfinite

from msgspec import Struct

from engine_pages.pages.charts.labels import boxes_along
from engine_pages.pages.charts.paints import (
    BAND,
    BEYOND,
    HAIRLINE,
    INK,
    OPEN_LINE,
    PAPER,
    STEEL,
)
from engine_pages.pages.charts.scales import Scale, tick_texts, ticks
from engine_pages.pages.charts.shapes import XY, Box
from engine_pages.pages.charts.sheet import Sheet
from engine_pages.pages.charts.wear_data import LimitLine, LinePoint, Mark, Point, WearChart, line_at

DOT = 4.5  # px: radius of a reading
CAP = 4.0  # px: half the width of an error bar's cap


class Plot(Struct, frozen=True):
    """The box that readings are plotted in, and the scales across and up."""

    box: Box
    across: Scale
    up: Scale

    @classmethod
    def of(cls, box: Box, xs: tuple[float, float], ys: tuple[float, float]) -> "Plot":
        """The plot that spans these exposures and values in this box."""
        return cls(box, Scale(*xs, box.left, box.right), Scale(*ys, box.bottom, box.top))

    def at(self, x: float, y: float) -> XY:
        """Where an exposure and a value lie, in px."""
        return self.across.px(x), self.up.px(y)

    def holds_x(self, x: float) -> bool:
        """Whether an exposure lies on the plot."""
        return self.across.low <= x <= self.across.high


def grid(sheet: Sheet, plot: Plot, steps: int) -> None:
    """Hairlines at round values with their figures at the left."""
    values = ticks(plot.up.low, plot.up.high, steps)
    for value in values:
        sheet.line([(plot.box.left, plot.up.px(value)), (plot.box.right, plot.up.px(value))], HAIRLINE)
    for value, text in zip(values, tick_texts(values), strict=True):
        sheet.text((plot.box.left - 9, plot.up.px(value) + 4.5), text, anchor="end")


def exposure_axis(sheet: Sheet, plot: Plot, steps: int) -> None:
    """The axis of exposure: a line of ink, ticks, figures."""
    floor = plot.box.bottom
    sheet.line([(plot.box.left, floor), (plot.box.right, floor)], INK)
    values = ticks(plot.across.low, plot.across.high, steps)
    for value in values:
        sheet.line([(plot.across.px(value), floor), (plot.across.px(value), floor + 5)], INK)
    for value, text in zip(values, tick_texts(values), strict=True):
        sheet.text((plot.across.px(value), floor + 19), text, anchor="middle")


def new_block(sheet: Sheet, plot: Plot, new_range: tuple[float, float]) -> None:
    """What is allowed when new: a block on the axis of values."""
    low, high = sorted(new_range)
    top, bottom = plot.up.px(high), plot.up.px(low)
    sheet.rectangle(Box(plot.box.left, top, plot.box.left + 10, bottom), HAIRLINE)


def band(sheet: Sheet, plot: Plot, data: WearChart) -> None:
    """The interval of the fitted line, paler beyond the last reading."""
    for points, opacity in zip(split(data), (0.8, 0.42), strict=True):
        if len(points) > 1:
            low = [plot.at(x, low) for x, _, low, _ in points]
            high = [plot.at(x, high) for x, _, _, high in points]
            sheet.area([*low, *reversed(high)], BAND, opacity=opacity, clip=plot.box)


def fitted_line(sheet: Sheet, plot: Plot, data: WearChart) -> None:
    """The fitted line, dashed beyond the last reading."""
    known, beyond = split(data)
    if len(known) > 1:
        sheet.line([plot.at(x, y) for x, y, _, _ in known], STEEL, 2, clip=plot.box)
    if len(beyond) > 1:
        sheet.line([plot.at(x, y) for x, y, _, _ in beyond], STEEL, 2, dash=(5, 4), clip=plot.box)


def split(data: WearChart) -> tuple[list[LinePoint], list[LinePoint]]:
    """The samples of the line up to the last reading, and from there on; both hold the point between."""
    between = line_at(data, data.last_x)
    joint = [] if between is None else [between]
    known = [point for point in data.line if point[0] < data.last_x]
    beyond = [point for point in data.line if point[0] > data.last_x]
    return [*known, *joint], [*joint, *beyond]


def limit_line(sheet: Sheet, plot: Plot, limit: LimitLine) -> None:
    """A limit from edge to edge."""
    y = plot.up.px(limit.value)
    sheet.line([(plot.box.left, y), (plot.box.right, y)], BEYOND, 2)


def crossing_bar(sheet: Sheet, plot: Plot, limit: LimitLine, crossing: tuple[float, float | None]) -> Box | None:
    """Where the line meets the limit: a thick piece of the limit, open to the right where there is no end to it.

    Returns the box that it takes, None where it lies off the plot.
    """
    low, high = crossing
    if low > plot.across.high:
        return None
    y, left = plot.up.px(limit.value), max(plot.across.px(low), plot.box.left)
    bounded = high is not None and isfinite(high) and plot.holds_x(high)
    right = plot.across.px(high) if bounded and high is not None else plot.box.right
    right = max(right, left + 4)
    sheet.line([(left, y), (right, y)], BEYOND, 6)
    if not bounded:
        sheet.area([(right - 1, y - 6.5), (right + 9, y), (right - 1, y + 6.5)], BEYOND)
    return Box(left, y - 4, right, y + 4)


def upright_dots(sheet: Sheet, x: float, top: float, bottom: float) -> None:
    """A fine dotted line down from a sign."""
    sheet.line([(x, top), (x, bottom)], OPEN_LINE, 1, dash=(1, 3))


def plan_line(sheet: Sheet, plot: Plot, x: float, top: float) -> None:
    """Where the plan ends: a dotted upright of ink."""
    sheet.line([(x, plot.box.bottom), (x, top)], INK, 1.3, dash=(2, 3))


def now_tick(sheet: Sheet, plot: Plot, x: float) -> None:
    """Where the part stands today: a tick on the axis."""
    sheet.line([(x, plot.box.bottom), (x, plot.box.bottom - 12)], INK, 1.3)


def readings(sheet: Sheet, plot: Plot, points: Sequence[Point]) -> None:
    """Each reading a dot with its error bar, a range in brackets, or a one-sided bound with its arrow; dots on top."""
    bounds = [point for point in points if point.kind in ("under", "over")]
    others = [point for point in points if point.kind not in ("under", "over")]
    for point in bounds:
        _arrow(sheet, *plot.at(point.x, point.y), 1 if point.kind == "under" else -1)
    for point in others:
        if point.low is not None and point.high is not None:
            _error_bar(sheet, plot.across.px(point.x), plot.up.px(point.high), plot.up.px(point.low), point.kind)
    for point in others:
        if point.kind == "range":
            sheet.dot(plot.at(point.x, point.y), 3.2, PAPER, edge=INK, width=1.5)
        else:
            sheet.dot(plot.at(point.x, point.y), DOT, INK)


def _error_bar(sheet: Sheet, x: float, top: float, bottom: float, kind: str) -> None:
    """An upright with a cap at either end; of a range the caps are brackets."""
    sheet.line([(x, top), (x, bottom)], INK, 1.5)
    foot = 3.0 if kind == "range" else 0.0
    for end, inward in ((top, foot), (bottom, -foot)):
        corners = [(x - CAP, end + inward), (x - CAP, end), (x + CAP, end), (x + CAP, end + inward)]
        sheet.line(corners if foot else corners[1:3], INK, 1.5)


def _arrow(sheet: Sheet, x: float, y: float, down: int) -> None:
    """A cap at the bound and an arrow to the side where the value lies."""
    tip = y + 17 * down
    sheet.line([(x - 5, y), (x + 5, y)], INK, 2)
    sheet.line([(x, y), (x, tip)], INK, 1.5)
    sheet.line([(x - 4, tip - 5 * down), (x, tip), (x + 4, tip - 5 * down)], INK, 1.5)


def reading_box(plot: Plot, point: Point) -> Box:
    """What a reading takes up, its error bar included."""
    x, y = plot.at(point.x, point.y)
    ends = [plot.up.px(value) for value in (point.low, point.high) if value is not None]
    if point.kind in ("under", "over"):
        ends = [y + (17 if point.kind == "under" else -17)]
    return Box(x - 5.5, min([y - 5.5, *ends]), x + 5.5, max([y + 5.5, *ends]))


def occupied(plot: Plot, data: WearChart, limits: Sequence[LimitLine]) -> list[Box]:
    """What letters keep off: readings, the line, the limits."""
    boxes = [reading_box(plot, point) for point in data.readings]
    inside = [plot.at(x, y) for x, y, _, _ in data.line if plot.holds_x(x) and plot.up.low <= y <= plot.up.high]
    boxes += boxes_along(inside)
    for limit in limits:
        y = plot.up.px(limit.value)
        boxes.append(Box(plot.box.left, y - 1.5, plot.box.right, y + 1.5))
    return boxes


def spread(xs: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Positions in order, pushed from each other until they are `apart` px apart, each group about its own middle.

    They stay between `low` and `high`; where there is no room for that, they stand closer.

    >>> spread([10.0, 12.0, 40.0], 8.0, 0.0, 100.0)
    [7.0, 15.0, 40.0]
    """
    apart = min(apart, (high - low) / max(len(xs) - 1, 1))

    def inside(middle: float, count: int) -> float:
        half = (count - 1) * apart / 2
        return min(max(middle, low + half), high - half)

    groups: list[tuple[float, int]] = []  # middle and count
    for x in xs:
        groups.append((inside(x, 1), 1))
        while len(groups) > 1:
            (before, many), (after, few) = groups[-2], groups[-1]
            if after - before >= apart * (many + few) / 2 - 1e-9:
                break
            together = many + few
            groups[-2:] = [(inside((before * many + after * few) / together, together), together)]
    return [middle + (place - (count - 1) / 2) * apart for middle, count in groups for place in range(count)]


def signs(sheet: Sheet, plot: Plot, marks: Sequence[Mark], y: float) -> list[tuple[float, str]]:
    """The signs of what happened, in a row over the plot, with a dotted line down from each.

    Returns where each stands and its letter.
    """
    shown = sorted((mark for mark in marks if plot.holds_x(mark.x)), key=lambda mark: (mark.x, mark.letter))
    stands = spread([plot.across.px(mark.x) for mark in shown], 13.0, 8.0, sheet.width - 8.0)
    for mark, x in zip(shown, stands, strict=True):
        true_x = plot.across.px(mark.x)
        sheet.line([(x, y), (true_x, plot.box.top + 4), (true_x, plot.box.bottom)], OPEN_LINE, 1, dash=(1, 3))
    for mark, x in zip(shown, stands, strict=True):
        sheet.sign(mark.kind, (x, y))
    return [(x, mark.letter) for mark, x in zip(shown, stands, strict=True)]
