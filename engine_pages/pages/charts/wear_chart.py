"""The wear chart: how fast a part wears, since when, and where its line meets the limit.

In: a WearChart, drawn 700 units wide for a page or 358 for a phone. Out: inline SVG. Everything is said by form, with
letters beside it: readings are dots with error bars, the fit a line with its band, dashed beyond the last reading, the
limit a thick line, the place where both meet a bar on it.
"""

from engine_pages.pages.charts import wear_strokes as draw
from engine_pages.pages.charts.labels import Label, Spot, place, spots_around, width_of, write
from engine_pages.pages.charts.paints import BEYOND, INK, SECOND_INK, WIDE
from engine_pages.pages.charts.scales import tick_texts, ticks
from engine_pages.pages.charts.shapes import Box
from engine_pages.pages.charts.sheet import Sheet
from engine_pages.pages.charts.wear_data import (
    LimitLine,
    Mark,
    Point,
    WearChart,
    crossing_words,
    exposure_range,
    in_reach,
    limit_met,
    spoken_words,
    value_range,
)
from engine_pages.pages.charts.wear_strokes import Plot

__all__ = ["LimitLine", "Mark", "Point", "WearChart", "draw_wear_chart"]

STEPS_UP = 5


def draw_wear_chart(data: WearChart, width: int) -> str:
    """The chart as inline SVG, `width` units wide; 330 units high, 340 on a phone."""
    wide = width >= WIDE
    sheet = Sheet(width, 330 if wide else 340)
    plot = _plot(sheet, data)
    limits = [limit for limit in data.limits if in_reach(data, limit)]
    draw.grid(sheet, plot, STEPS_UP)
    if data.new_range is not None:
        draw.new_block(sheet, plot, data.new_range)
    draw.band(sheet, plot, data)
    letters = draw.signs(sheet, plot, data.marks, plot.box.top - 8)
    for limit in limits:
        draw.limit_line(sheet, plot, limit)
    met = limit_met(data)
    bar = draw.crossing_bar(sheet, plot, met, data.crossing) if met and data.crossing else None
    draw.fitted_line(sheet, plot, data)
    _plan_and_now(sheet, plot, data, met)
    draw.readings(sheet, plot, data.readings)
    draw.exposure_axis(sheet, plot, 8 if wide else 4)
    _axis_names(sheet, plot, data)
    _mark_letters(sheet, letters)
    taken = draw.occupied(plot, data, limits) + ([bar] if bar else [])
    write(sheet, place(_labels(plot, data, limits, bar), taken, _letters_within(plot)))
    return sheet.svg(spoken_words(data), f"wear {width} {data!r}")


def _plot(sheet: Sheet, data: WearChart) -> Plot:
    """The box, with as much room at the left as the figures on the axis take and at the top as the signs do."""
    xs, ys = exposure_range(data), value_range(data)
    figures = tick_texts(ticks(*ys, STEPS_UP))
    left = max(width_of(text) for text in figures) + 12 if figures else 30
    top = 50 if data.marks else 28
    return Plot.of(Box(max(left, 34), top, sheet.width - 12, sheet.height - 44), xs, ys)


def _plan_and_now(sheet: Sheet, plot: Plot, data: WearChart, met: LimitLine | None) -> None:
    if data.plan_x is not None and plot.holds_x(data.plan_x):
        top = plot.up.px(met.value) if met else plot.box.top
        draw.plan_line(sheet, plot, plot.across.px(data.plan_x), min(top, plot.box.bottom - 30))
    if plot.holds_x(data.now_x):
        draw.now_tick(sheet, plot, plot.across.px(data.now_x))


def _axis_names(sheet: Sheet, plot: Plot, data: WearChart) -> None:
    """What is measured, at the top left, and against what, at the bottom right."""
    named = f"{data.title}, {data.unit}" if data.unit else data.title
    sheet.text((0, 14), named if width_of(named) <= sheet.width else data.unit, INK)
    sheet.text((plot.box.right, sheet.height - 5), data.exposure_name or data.exposure_unit, INK, anchor="end")


def _mark_letters(sheet: Sheet, letters: list[tuple[float, str]]) -> None:
    """The letter over each sign; letters of signs that stand together are read in the same order."""
    for x, letter in letters:
        sheet.text((x, 33), letter, INK, anchor="middle", bold=True)


def _letters_within(plot: Plot) -> Box:
    return Box(plot.box.left + 1, plot.box.top - 2, plot.box.right + 11, plot.box.bottom - 1)


def _labels(plot: Plot, data: WearChart, limits: list[LimitLine], bar: Box | None) -> list[Label]:
    """Everything that wants letters, the most important first."""
    readings = sorted(data.readings, key=lambda point: point.x)
    last, first, others = readings[-1:], readings[:1], readings[-2:0:-1]
    return [
        *(_limit_label(plot, limit) for limit in limits),
        *([_crossing_label(plot, data, bar)] if bar else []),
        *(_off_chart_label(plot, limit) for limit in data.limits if limit not in limits),
        *(_reading_label(plot, point, must=True) for point in last),
        *(_reading_label(plot, point) for point in first if len(readings) > 1),
        *_axis_labels(plot, data),
        *(_reading_label(plot, point) for point in others),
        *([_new_label(plot, data.new_range)] if data.new_range else []),
        *([] if data.readings or data.line else [_nothing_label(plot)]),
    ]


def _limit_label(plot: Plot, limit: LimitLine) -> Label:
    y, box = plot.up.px(limit.value), plot.box
    middle = (box.left + box.right) / 2
    spots = [
        spot
        for lift in (-6, 15)
        for spot in (
            Spot((box.left + 16, y + lift)),
            Spot((box.right - 8, y + lift), "end"),
            Spot((middle, y + lift), "middle"),
        )
    ]
    return Label(limit.text, tuple(spots), BEYOND, bold=True, must=True)


def _crossing_label(plot: Plot, data: WearChart, bar: Box) -> Label:
    middle, right = (bar.left + bar.right) / 2, plot.box.right
    over, under = bar.top - 5, bar.bottom + 14
    spots = [
        Spot((middle, over), "middle"),
        Spot((right, over), "end"),
        Spot((bar.left, over)),
        Spot((bar.left, over), "end"),
    ]
    spots += [Spot((middle, under), "middle"), Spot((right, under), "end"), Spot((bar.left - 6, under), "end")]
    words = crossing_words(data)
    return Label(words, tuple(spots), BEYOND, bold=True, must=True, shorter=words.removeprefix("meets it at "))


def _off_chart_label(plot: Plot, limit: LimitLine) -> Label:
    """A limit so far off that readings would shrink to a line: its words stand at the edge it lies behind."""
    above = limit.value > plot.up.high
    y = plot.box.top + 14 if above else plot.box.bottom - 6
    words = f"{limit.text}, {'above' if above else 'below'} this chart"
    middle = (plot.box.left + plot.box.right) / 2
    spots = (Spot((plot.box.left + 16, y)), Spot((plot.box.right - 4, y), "end"), Spot((middle, y), "middle"))
    return Label(words, spots, BEYOND, bold=True, must=True)


def _reading_label(plot: Plot, point: Point, *, must: bool = False) -> Label:
    box = draw.reading_box(plot, point)
    x, y = plot.at(point.x, point.y)
    reach = (box.bottom - box.top) / 2
    spots = (*spots_around(x, y), *spots_around(x, y, max(9.0, reach)))
    return Label(point.label, spots, INK, bold=True, must=must)


def _axis_labels(plot: Plot, data: WearChart) -> list[Label]:
    """`plan ends` and `now` beside their uprights, just over the axis."""
    labels, y = [], plot.box.bottom - 6
    for x, words, shorter in ((data.plan_x, "plan ends", "plan"), (data.now_x, "now", "")):
        if x is not None and plot.holds_x(x):
            px = plot.across.px(x)
            spots = (Spot((px + 4, y)), Spot((px - 4, y), "end"), Spot((px + 4, y - 16)), Spot((px - 4, y - 16), "end"))
            labels.append(Label(words, spots, INK, shorter=shorter))
    return labels


def _new_label(plot: Plot, new_range: tuple[float, float]) -> Label:
    low, high = plot.up.px(min(new_range)), plot.up.px(max(new_range))
    x = plot.box.left + 14
    return Label("new", (Spot((x, low - 2)), Spot((x, high + 11)), Spot((x, (low + high) / 2 + 4.5))), SECOND_INK)


def _nothing_label(plot: Plot) -> Label:
    box = plot.box
    middle, height = (box.left + box.right) / 2, box.bottom - box.top
    spots = tuple(Spot((middle, box.top + height * share), "middle") for share in (0.5, 0.7, 0.3))
    return Label("no readings", spots, SECOND_INK, must=True)
