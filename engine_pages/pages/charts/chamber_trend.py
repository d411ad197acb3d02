"""A test over time, a small panel a rotor or cylinder on shared axes: its faces, the limit, the builds between.

In: a ChamberTrendChart. Out: inline SVG, two panels across on 700 units, one on 358. The faces of one test stand side
by side in their order, so that a low one is seen without colour; what was not brought to the standard speed is drawn
open. A line breaks at a build: what came before it was another assembly.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from math import ceil

from msgspec import Struct

from engine_pages.pages.charts.labels import letters_box, width_of
from engine_pages.pages.charts.paints import BEYOND, HAIRLINE, INK, OPEN_LINE, PAPER, STEEL, WIDE, Spoken
from engine_pages.pages.charts.scales import Scale, date_ticks, rounded_out, tick_texts, ticks
from engine_pages.pages.charts.shapes import XY, Box
from engine_pages.pages.charts.sheet import Sheet, joined
from engine_pages.pages.words import day_words, figure_words

PANEL, GAP = 168.0, 24.0  # px: height of a panel, and what lies between two
APART = 8.0  # px between the faces of one test
ROOM = 0.14  # of the axis before its first test and behind its last
DASHES: tuple[tuple[float, float] | None, ...] = (None, (7, 3), (2, 3))  # faces are told apart in black and white
Drawn = Sequence[tuple[int, XY, bool]]  # number of the stretch, where in px, as read


class ChamberDot(Struct, frozen=True):
    """One test on a line: engine hours or day number, the figure, the number of its stretch, whether as read.

    What compares is of one stretch: one assembly, and one orifice of a leak-down tester.
    """

    x: float
    y: float
    stretch: int
    as_read: bool = False


class ChamberLine(Struct, frozen=True):
    """One face, or the worst of them: its name, a short one for the chart, its dots in order of time."""

    name: str
    sign: str
    dots: tuple[ChamberDot, ...]


class ChamberPanel(Struct, frozen=True):
    """One rotor or cylinder: its title and lines."""

    title: str
    lines: tuple[ChamberLine, ...]


class ChamberTrendChart(Struct, frozen=True):
    """Panels on shared axes; `limits` in the unit, `builds` on the axis. `by_day`: the axis counts days, not hours."""

    title: str
    unit: str
    decimals: int
    panels: tuple[ChamberPanel, ...]
    limits: tuple[float, ...]
    builds: tuple[float, ...]
    by_day: bool = False


class _Axes(Struct, frozen=True):
    """Where values lie in one panel."""

    box: Box
    across: Scale
    up: Scale

    def at(self, x: float, y: float) -> XY:
        return self.across.px(x), self.up.px(y)


def draw_chamber_trend(data: ChamberTrendChart, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError with no dot at all."""
    dots = [dot for panel in data.panels for line in panel.lines for dot in line.dots]
    if not dots:
        raise ValueError("a trend needs a test")
    columns = min(len(data.panels), 2) if width >= WIDE else 1
    room = (width - (columns - 1) * GAP) / columns
    sheet = Sheet(width, ceil(len(data.panels) / columns) * (PANEL + GAP) - GAP)
    values = [*(dot.y for dot in dots), *data.limits]
    ys = rounded_out(min(values), max(values), 4)
    xs = _across([dot.x for dot in dots], data.by_day)
    for n, panel in enumerate(data.panels):
        left, top = (n % columns) * (room + GAP), (n // columns) * (PANEL + GAP)
        frame = Box(left, top, left + room, top + PANEL)
        _panel(sheet, data, panel, _axes(frame, xs, ys))
    return sheet.svg(_spoken(data), f"chamber trend {width} {data!r}")


def _across(xs: Sequence[float], by_day: bool) -> tuple[float, float]:
    """The axis with room at both ends, so that faces side by side stay inside it."""
    room = max(max(xs) - min(xs), 30.0 if by_day else 1.0) * ROOM
    return min(xs) - room, max(xs) + room


def _axes(frame: Box, xs: tuple[float, float], ys: tuple[float, float]) -> _Axes:
    left = frame.left + max(width_of(words) for words in tick_texts(ticks(*ys, 4))) + 10
    box = Box(left, frame.top + 30, frame.right - 4, frame.bottom - 36)
    return _Axes(box, Scale(*xs, box.left, box.right), Scale(*ys, box.bottom, box.top))


def _panel(sheet: Sheet, data: ChamberTrendChart, panel: ChamberPanel, axes: _Axes) -> None:
    _grid(sheet, data, panel, axes)
    placed = [_placed(panel, n, axes) for n in range(len(panel.lines))]
    for limit in data.limits:
        y = axes.up.px(limit)
        sheet.line([(axes.box.left, y), (axes.box.right, y)], BEYOND, 1.6)
        words = f"limit {figure_words(limit, data.decimals)}"
        at = _clear_of(placed, words, y, axes)
        sheet.rectangle(letters_box(at, words), PAPER)  # a ground of its own: no grid line strikes through the words
        sheet.text(at, words, BEYOND)
    for n, drawn in enumerate(placed):
        _strokes(sheet, drawn, DASHES[n % len(DASHES)])
    for drawn in placed:
        for _, at, as_read in drawn:
            sheet.dot(at, 3.4, PAPER if as_read else STEEL, edge=STEEL if as_read else PAPER, width=1.6)
    _signs(sheet, panel, placed, axes)


def _clear_of(placed: Sequence[Drawn], words: str, y: float, axes: _Axes) -> XY:
    """Where a limit's words meet the fewest dots, then the fewest grid lines: over or under its line, at either end."""
    wide = width_of(words)
    spots = [(x, at) for at in (y - 5, y + 15) for x in (axes.box.left + 6, axes.box.right - wide - 2)]
    inside = [(x, at) for x, at in spots if axes.box.top + 10 <= at <= axes.box.bottom - 2]
    grid = [axes.up.px(value) for value in ticks(axes.up.low, axes.up.high, 4)]

    def met(spot: XY) -> tuple[int, int]:
        box, words_box = Box(spot[0] - 6, spot[1] - 16, spot[0] + wide + 6, spot[1] + 6), letters_box(spot, words)
        dots = (at for drawn in placed for _, at, _ in drawn)
        on_dots = sum(box.left <= x <= box.right and box.top <= at <= box.bottom for x, at in dots)
        return on_dots, sum(words_box.top <= at <= words_box.bottom for at in grid)

    return min(inside or spots, key=met)  # the first of equals: at the left, over the line


def _grid(sheet: Sheet, data: ChamberTrendChart, panel: ChamberPanel, axes: _Axes) -> None:
    box = axes.box
    sheet.text((box.left, box.top - 16), f"{panel.title}, {data.unit}", INK, bold=True)
    marks = ticks(axes.up.low, axes.up.high, 4)
    for value in marks:
        sheet.line([(box.left, axes.up.px(value)), (box.right, axes.up.px(value))], HAIRLINE)
    for value, words in zip(marks, tick_texts(marks), strict=True):
        sheet.text((box.left - 6, axes.up.px(value) + 4.5), words, anchor="end")
    for x, words in _ticks_across(axes, data.by_day):
        sheet.text((axes.across.px(x), box.bottom + 16), words, anchor="middle")
    sheet.text((box.right, box.bottom + 31), "date" if data.by_day else "engine hours", anchor="end")
    for build in data.builds:
        if axes.across.low <= build <= axes.across.high:
            x = axes.across.px(build)
            sheet.line([(x, box.top), (x, box.bottom)], OPEN_LINE, 1.2, dash=(2, 3))


def _ticks_across(axes: _Axes, by_day: bool) -> list[tuple[float, str]]:
    low, high = axes.across.low, axes.across.high
    if not by_day:
        marks = ticks(low, high, 4)
        return list(zip(marks, tick_texts(marks), strict=True))
    ends = date.fromordinal(int(low)), date.fromordinal(int(high))
    return [(float(day.toordinal()), words) for day, words in date_ticks(*ends, axes.box.right - axes.box.left, 70)]


def _placed(panel: ChamberPanel, nth: int, axes: _Axes) -> list[tuple[int, XY, bool]]:
    """A line's dots in px: the lines of a panel stand side by side around the test's own place."""
    aside = (nth - (len(panel.lines) - 1) / 2) * APART
    dots = panel.lines[nth].dots
    return [(dot.stretch, (axes.across.px(dot.x) + aside, axes.up.px(dot.y)), dot.as_read) for dot in dots]


def _strokes(sheet: Sheet, drawn: Drawn, dash: tuple[float, float] | None) -> None:
    for stretch in _stretches(drawn):
        if len(stretch) > 1:
            sheet.line(stretch, STEEL, 1.6, dash=dash)


def _stretches(drawn: Drawn) -> Iterator[list[XY]]:
    """The dots that are joined: of one stretch; what is as read is not joined to what is at the standard speed."""
    stretch: list[XY] = []
    before: tuple[int, bool] | None = None
    for number, at, as_read in drawn:
        if before is not None and before != (number, as_read):
            yield stretch
            stretch = []
        stretch.append(at)
        before = number, as_read
    yield stretch


def _signs(sheet: Sheet, panel: ChamberPanel, placed: Sequence[Drawn], axes: _Axes) -> None:
    """The faces' numbers over each test, in the order in which they stand."""
    if len(panel.lines) < 2:
        return
    tops: dict[float, float] = {}
    for line, drawn in zip(panel.lines, placed, strict=True):
        for dot, (_, at, _) in zip(line.dots, drawn, strict=True):
            tops[dot.x] = min(tops.get(dot.x, at[1]), at[1])
    for line, drawn in zip(panel.lines, placed, strict=True):
        for dot, (_, at, _) in zip(line.dots, drawn, strict=True):
            sheet.text((at[0], max(tops[dot.x] - 8, axes.box.top - 3)), line.sign, anchor="middle", halo=True)


def _spoken(data: ChamberTrendChart) -> Spoken:
    limits = (f"limit {figure_words(limit, data.decimals)}" for limit in data.limits)
    return Spoken(f"{data.title}, {data.unit}", joined([*(_said(data, panel) for panel in data.panels), *limits]))


def _said(data: ChamberTrendChart, panel: ChamberPanel) -> str:
    lines = []
    for line in panel.lines:
        told = (f"{figure_words(dot.y, data.decimals)} {_when(data, dot)}" for dot in line.dots)
        lines.append(f"{line.name} {', '.join(told)}")
    return f"{panel.title}: {', '.join(lines)}"


def _when(data: ChamberTrendChart, dot: ChamberDot) -> str:
    return f"on {day_words(date.fromordinal(int(dot.x)))}" if data.by_day else f"at {dot.x:.1f} h"
