"""A test of one rotor or cylinder over the engine's hours: a line a face, the limit, and the builds between.

In: a ChamberLines. Out: inline SVG, 700 or 358 units wide. A line breaks at a build: what came before it was another
assembly.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from engine_pages.pages.charts.scales import Scale, rounded_out, tick_texts, ticks
from engine_pages.pages.charts.sheet import XY, Sheet, joined
from engine_pages.pages.charts.themed import HAIRLINE, INK, PAPER, SECOND_INK, STEEL, WARM, Spoken

TOP, FLOOR, HEIGHT = 26, 138, 172
LETTERS = 13.0  # px from one line of letters to the next
DASHES: tuple[tuple[float, float] | None, ...] = (None, (7, 3), (2, 3))  # faces are told apart in black and white


@dataclass(frozen=True, slots=True)
class ChamberLine:
    """One face, or the lowest of them: its name, and (hours, value) in order."""

    name: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class ChamberLines:
    """Lines over hours with their title and unit; limits as values, builds as hours."""

    title: str
    unit: str
    lines: tuple[ChamberLine, ...]
    limits: tuple[float, ...]
    builds: tuple[float, ...]


def draw_chamber_lines(data: ChamberLines, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError with no point at all."""
    every = [point for line in data.lines for point in line.points]
    if not every:
        raise ValueError("a trend needs a point")
    hours, values = [x for x, _ in every], [y for _, y in every]
    left, right = 46.0, width - 64.0
    low, high = rounded_out(min([*values, *data.limits]), max([*values, *data.limits]), 4)
    first, last = rounded_out(min(hours), max(hours), 5)
    across, up = Scale(first, last, left, right), Scale(low, high, FLOOR, TOP)
    sheet = Sheet(width, HEIGHT)
    sheet.text((0, 14), f"{data.title}, {data.unit}", INK)
    for value, words in zip(marks := ticks(low, high, 4), tick_texts(marks), strict=True):
        sheet.line([(left, up.px(value)), (right, up.px(value))], HAIRLINE)
        sheet.text((left - 7, up.px(value) + 4.5), words, anchor="end")
    for hour, words in zip(marks := ticks(first, last, 5), tick_texts(marks), strict=True):
        sheet.text((across.px(hour), FLOOR + 16), words, SECOND_INK, anchor="middle")
    sheet.text((right, FLOOR + 30), "engine hours", SECOND_INK, anchor="end")
    for hour in data.builds:
        if first <= hour <= last:
            sheet.line([(across.px(hour), TOP), (across.px(hour), FLOOR)], SECOND_INK, 1, dash=(1, 3))
    for limit in data.limits:
        sheet.line([(left, up.px(limit)), (right, up.px(limit))], WARM, 1.6)
        sheet.text((right + 6, up.px(limit) + 4.5), "limit", WARM, bold=True)
    for n, line in enumerate(data.lines):
        _line(sheet, line, DASHES[n % len(DASHES)], data.builds, across, up)
    _names(sheet, data, across, up)
    return sheet.svg(_spoken(data), f"chamber lines {width} {data!r}")


def _line(
    sheet: Sheet,
    line: ChamberLine,
    dash: tuple[float, float] | None,
    builds: tuple[float, ...],
    across: Scale,
    up: Scale,
) -> None:
    for stretch in _stretches(line, builds, across, up):
        if len(stretch) > 1:
            sheet.line(stretch, STEEL, 1.8, dash=dash)
        for at in stretch:
            sheet.dot(at, 3.6, STEEL, edge=PAPER)


def _names(sheet: Sheet, data: ChamberLines, across: Scale, up: Scale) -> None:
    """The names behind the last points, moved apart where they would lie on each other."""
    ends = sorted((up.px(line.points[-1][1]), across.px(line.points[-1][0]), line.name) for line in data.lines)
    below = -LETTERS
    for y, x, name in ends:
        below = max(y + 4.5, below + LETTERS)
        sheet.text((x + 8, below), name, INK)


def _stretches(line: ChamberLine, builds: tuple[float, ...], across: Scale, up: Scale) -> Iterator[list[XY]]:
    """The points between one build and the next; what is read as the engine is built belongs to what follows."""
    stretch: list[XY] = []
    before: float | None = None
    for x, y in line.points:
        if before is not None and any(before < build <= x for build in builds):
            yield stretch
            stretch = []
        stretch.append((across.px(x), up.px(y)))
        before = x
    yield stretch


def _spoken(data: ChamberLines) -> Spoken:
    clauses = [
        f"{line.name}: {', '.join(f'{y:.4g} at {x:.1f} h' for x, y in line.points)}"
        for line in data.lines
        if line.points
    ]
    return Spoken(f"{data.title}, {data.unit}", joined([*clauses, *(f"limit {limit:.4g}" for limit in data.limits)]))
