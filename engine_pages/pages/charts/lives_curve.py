"""Curves over a part's or an engine's hours: the share still good, and how many parts a place has used up.

In: a LivesCurve or a RenewalsCurve. Out: inline SVG, 700 or 358 units wide. A line in steps with its interval; where a
drop lies somewhere between two sheets it is dashed from one to the other.
"""

from collections.abc import Sequence

from msgspec import Struct

from engine_pages.pages.charts import wear_strokes as draw
from engine_pages.pages.charts.labels import Label, Spot, boxes_along, place, width_of, write
from engine_pages.pages.charts.paints import BAND, INK, STEEL, WIDE, Spoken
from engine_pages.pages.charts.scales import rounded_out, tick_texts, ticks
from engine_pages.pages.charts.shapes import XY, Box
from engine_pages.pages.charts.sheet import Sheet, joined
from engine_pages.pages.charts.wear_strokes import Plot

HIGH, FOOT = 250, 42  # px: the chart's height, and its axis below the plot


class Piece(Struct, frozen=True):
    """A stretch of exposure with the share still good, 0 to 1, and its ends. Not `sure`: it drops somewhere in it."""

    start: float
    end: float
    value: float
    low: float
    high: float
    sure: bool


class LivesCurve(Struct, frozen=True):
    """The curve in pieces, a law's curve as points, and the life that nine of ten reach with its ends."""

    title: str
    pieces: tuple[Piece, ...]
    law: tuple[XY, ...] = ()
    reached: tuple[float, float, float] | None = None


class RenewalsCurve(Struct, frozen=True):
    """Steps of (exposure, mean, low, high), each end None where none can be given, and where watching ends."""

    title: str
    steps: tuple[tuple[float, float, float | None, float | None], ...]
    until: float


def draw_lives_curve(data: LivesCurve, width: int) -> str:
    """The share still good as inline SVG, `width` units wide. ValueError without a piece."""
    if not data.pieces:
        raise ValueError("a curve of lives needs a piece")
    sheet = Sheet(width, HIGH)
    last = max(data.pieces[-1].end, *(end for end in (data.reached or ())[2:]), 0.0)
    plot = _plot(sheet, (0.0, last), (0.0, 100.0), "still good, %", data.title)
    for one in data.pieces:
        box = Box(*plot.at(one.start, one.high * 100), *plot.at(one.end, one.low * 100))
        sheet.rectangle(box, BAND, opacity=0.8)
    _steps(sheet, plot, data.pieces)
    law = [plot.at(x, share * 100) for x, share in data.law]
    if law:
        sheet.line(law, INK, 1.3, dash=(2, 3), clip=plot.box)
    labels, taken = [], boxes_along(law)
    if data.reached is not None:
        labels.append(_reached(sheet, plot, data.reached))
    if law:
        x, y = law[len(law) * 3 // 4]
        labels.append(Label("Weibull’s law", (Spot((x + 8, y - 8)), Spot((x - 8, y + 16), "end")), INK))
    write(sheet, place(labels, taken, Box(plot.box.left + 2, 18, sheet.width, plot.box.bottom - 2)))
    return sheet.svg(_lives_spoken(data), f"lives curve {width} {data!r}")


def _reached(sheet: Sheet, plot: Plot, reached: tuple[float, float, float]) -> Label:
    """Where nine of ten are still good: a bar with its dot, and its words."""
    middle, low, high = reached
    y = plot.up.px(90.0)
    sheet.line([(plot.across.px(low), y), (plot.across.px(high), y)], INK, 3)
    sheet.dot((plot.across.px(middle), y), 4.5, INK)
    at = plot.across.px(high)
    spots = (Spot((at + 6, y + 4.5)), Spot((plot.across.px(low) - 6, y + 4.5), "end"), Spot((at, y + 20), "end"))
    return Label("9 of 10", spots, INK, bold=True, must=True)


def _steps(sheet: Sheet, plot: Plot, pieces: Sequence[Piece]) -> None:
    before = 1.0
    for one in pieces:
        start, end = plot.at(one.start, before * 100), plot.at(one.end, one.value * 100)
        if one.sure:
            level = plot.up.px(one.value * 100)
            sheet.line([start, (start[0], level), (end[0], level)], STEEL, 2.5)
        else:
            sheet.line([start, end], STEEL, 2.5, dash=(5, 4))
        before = one.value


def draw_renewals_curve(data: RenewalsCurve, width: int) -> str:
    """Parts used up by a place as inline SVG, `width` units wide. ValueError without a step."""
    if not data.steps:
        raise ValueError("a curve of renewals needs a step")
    sheet = Sheet(width, HIGH)
    top = max(end for _, mean, _, high in data.steps for end in (mean, high) if end is not None)
    plot = _plot(sheet, (0.0, data.until), rounded_out(0.0, top, 4), "parts used up by a place", data.title)
    line, before = [plot.at(0.0, 0.0)], 0.0
    for x, mean, low, high in data.steps:
        line += [plot.at(x, before), plot.at(x, mean)]
        before = mean
        if low is not None and high is not None:
            ends = plot.at(x, low), plot.at(x, high)
            sheet.line(ends, BAND, 9)
            sheet.line(ends, STEEL, 1.5)
    sheet.line([*line, plot.at(data.until, before)], INK, 2.5)
    for x, mean, _, _ in data.steps:
        sheet.dot(plot.at(x, mean), 4.5, INK)
    return sheet.svg(_renewals_spoken(data), f"renewals {width} {data!r}")


def _plot(sheet: Sheet, xs: tuple[float, float], ys: tuple[float, float], up: str, across: str) -> Plot:
    """Axes with their figures, and a title on each."""
    most = 4 if ys[1] <= 5 else 5
    figures = tick_texts(ticks(*ys, most))
    left = max(width_of(text) for text in figures) + 12
    plot = Plot.of(Box(left, 28, sheet.width - 14, sheet.height - FOOT), rounded_out(*xs, 6), ys)
    sheet.text((0, 14), up, INK)
    draw.grid(sheet, plot, most)
    draw.exposure_axis(sheet, plot, 6 if sheet.width >= WIDE else 5)
    sheet.text((plot.box.right, sheet.height - 6), across, INK, anchor="end")
    return plot


def _lives_spoken(data: LivesCurve) -> Spoken:
    clauses = [
        f"{one.start:.1f} to {one.end:.1f}: {one.value:.0%} ({one.low:.0%} to {one.high:.0%})" for one in data.pieces
    ]
    if data.reached is not None:
        clauses.append("nine of ten reach {:.1f} ({:.1f} to {:.1f})".format(*data.reached))
    return Spoken(f"Share still good by {data.title}", joined(clauses))


def _renewals_spoken(data: RenewalsCurve) -> Spoken:
    clauses = [f"{mean:.2f} by {x:.1f}" for x, mean, _, _ in data.steps]
    return Spoken(f"Parts used up by a place, by {data.title}", joined(clauses))
