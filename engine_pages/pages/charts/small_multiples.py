"""Several dimensions of a part side by side, each a little wear chart on the same exposures.

In: the WearCharts of the dimensions. Out: one inline SVG, three across on 700 units, two on 358. A panel keeps what
compares: readings, line, limit, the last figure; signs, plan and words stay with the full chart.
"""

from collections.abc import Sequence
from math import ceil

from engine_pages.pages.charts import wear_strokes as draw
from engine_pages.pages.charts.labels import Label, Spot, place, shortened, spots_around, width_of, write
from engine_pages.pages.charts.paints import BEYOND, INK, WIDE, Spoken
from engine_pages.pages.charts.scales import tick_texts, ticks
from engine_pages.pages.charts.shapes import Anchor, Box
from engine_pages.pages.charts.sheet import Sheet, joined
from engine_pages.pages.charts.wear_data import (
    WearChart,
    exposure_range,
    in_reach,
    limit_met,
    spoken_words,
    value_range,
)
from engine_pages.pages.charts.wear_strokes import Plot

PANEL = 156  # px: height of a panel
GAP = 20  # px between panels
STEPS_UP = 3


def draw_small_multiples(charts: Sequence[WearChart], width: int) -> str:
    """The panels as one inline SVG, `width` units wide. ValueError when there is none to draw."""
    if not charts:
        raise ValueError("there is no dimension to draw")
    across = min(len(charts), 3 if width >= WIDE else 2)
    each = (width - (across - 1) * GAP) / across if len(charts) > 1 else min(width, 358)
    sheet = Sheet(width, ceil(len(charts) / across) * (PANEL + GAP) - GAP + 18)
    ranges = [exposure_range(chart) for chart in charts]
    shared = min(low for low, _ in ranges), max(high for _, high in ranges)
    for index, chart in enumerate(charts):
        left, top = (index % across) * (each + GAP), (index // across) * (PANEL + GAP)
        _panel(sheet, chart, Box(left, top, left + each, top + PANEL), shared)
    first = charts[0]
    sheet.text((width - 1, sheet.height - 4), first.exposure_name or first.exposure_unit, INK, anchor="end")
    return sheet.svg(_spoken(charts), f"multiples {width} {charts!r}")


def _panel(sheet: Sheet, data: WearChart, frame: Box, xs: tuple[float, float]) -> None:
    ys = value_range(data)
    figures = tick_texts(ticks(*ys, STEPS_UP))
    left = frame.left + max((width_of(text) for text in figures), default=24) + 11
    plot = Plot.of(Box(left, frame.top + 26, frame.right - 8, frame.bottom - 24), xs, ys)
    limits = [limit for limit in data.limits if in_reach(data, limit)]
    named = f"{data.title}, {data.unit}" if data.unit else data.title
    room = frame.right - frame.left
    words = named if width_of(named, bold=True) <= room else shortened(data.title, room, bold=True)
    sheet.text((frame.left, frame.top + 12), words, INK, bold=True)
    draw.grid(sheet, plot, STEPS_UP)
    if data.new_range is not None:
        draw.new_block(sheet, plot, data.new_range)
    draw.band(sheet, plot, data)
    for limit in limits:
        draw.limit_line(sheet, plot, limit)
    met = limit_met(data)
    if met and data.crossing:
        draw.crossing_bar(sheet, plot, met, data.crossing)
    draw.fitted_line(sheet, plot, data)
    draw.readings(sheet, plot, data.readings)
    draw.exposure_axis(sheet, plot, 4 if room > 200 else 3)
    taken = draw.occupied(plot, data, limits)
    write(sheet, place(_labels(plot, data), taken, Box(left + 1, plot.box.top - 6, frame.right, plot.box.bottom - 1)))


def _labels(plot: Plot, data: WearChart) -> list[Label]:
    labels = []
    for point in sorted(data.readings, key=lambda one: one.x)[-1:]:
        labels.append(Label(point.label, spots_around(*plot.at(point.x, point.y), 8.0), INK, bold=True, must=True))
    for limit in data.limits:
        if in_reach(data, limit):
            y = plot.up.px(limit.value)
            spots = tuple(Spot((x, y + lift), anchor) for lift in (-5, 14) for x, anchor in _ends(plot))
            labels.append(Label(limit.text, spots, BEYOND, bold=True))
        else:
            y = plot.box.top + 10 if limit.value > plot.up.high else plot.box.bottom - 6
            side = "above" if limit.value > plot.up.high else "below"
            spots = tuple(Spot((x, y), anchor) for x, anchor in _ends(plot))
            arrow = "↑" if side == "above" else "↓"
            label = Label(f"{limit.text}, {side}", spots, BEYOND, bold=True, must=True, shorter=f"{limit.text} {arrow}")
            labels.append(label)
    return labels


def _ends(plot: Plot) -> tuple[tuple[float, Anchor], ...]:
    return (plot.box.left + 14, "start"), (plot.box.right, "end")


def _spoken(charts: Sequence[WearChart]) -> Spoken:
    said = [spoken_words(chart) for chart in charts]
    return Spoken(f"{len(charts)} dimensions", joined(f"{one.title}: {one.description.rstrip('.')}" for one in said))
