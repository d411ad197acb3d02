"""Rows of figures with their intervals on one axis: rates of a kind, ratios of a change, lives.

In: an IntervalRows. Out: inline SVG, 700 or 358 units wide. A dot is the figure, its line the interval; an interval
without a bound runs into the edge with an open end. A dotted upright is what the rows are read against. On a narrow
column the names lie over the dots.
"""

from math import isfinite

from msgspec import Struct

from engine_pages.pages.charts.labels import shortened
from engine_pages.pages.charts.named_rows import NamedRows
from engine_pages.pages.charts.paints import INK, PAPER, STEEL, WIDE, Spoken
from engine_pages.pages.charts.scales import Scale, rounded_out
from engine_pages.pages.charts.sheet import Sheet, joined

TOP, FOOT = 24, 36  # px: above the first row, below the last
ROW_WIDE, ROW_NARROW = 26, 40
NAMES = 222.0  # px for names at the left of a wide chart
REACH = 3.0  # times the span of the figures: farther ends are drawn as open


class IntervalRow(Struct, frozen=True):
    """A row: its name, the figure and its ends; None is no bound (of the figure: none is known)."""

    name: str
    value: float | None
    low: float | None
    high: float | None
    strong: bool = False


class IntervalRows(Struct, frozen=True):
    """Rows under an axis with its title; `against` is the value that they are read against, with its words."""

    title: str
    rows: tuple[IntervalRow, ...]
    against: float | None = None
    against_words: str = ""


def draw_interval_rows(data: IntervalRows, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError with no figure at all."""
    low, high = _span(data)
    rows = NamedRows(len(data.rows), width, TOP, ROW_WIDE if width >= WIDE else ROW_NARROW, NAMES)
    sheet = Sheet(width, rows.floor + FOOT)
    across = Scale(low, high, rows.left, rows.right)
    sheet.text((0, 14), shortened(data.title, width), INK)
    rows.axis(sheet, across, zero=False)
    if data.against is not None and low <= data.against <= high:
        at = across.px(data.against)
        rows.upright(sheet, at, INK, 1.3, dash=(2, 3))
        sheet.text((rows.inside(at, data.against_words), rows.floor + 31), data.against_words, INK, anchor="middle")
    for n, row in enumerate(data.rows):
        rows.name(sheet, n, row.name, bold=row.strong)
        _row(sheet, row, across, rows.dots(n))
    return sheet.svg(_spoken(data), f"interval rows {width} {data!r}")


def _row(sheet: Sheet, row: IntervalRow, across: Scale, y: float) -> None:
    if row.value is None:
        return
    paint = INK if row.strong else STEEL
    ends = [across.low if row.low is None else max(row.low, across.low)]
    ends.append(across.high if row.high is None else min(row.high, across.high))
    first, last = (across.px(end) for end in ends)
    sheet.line([(first, y), (last, y)], paint, 2)
    for end, x, shown in ((row.low, first, ends[0]), (row.high, last, ends[1])):
        if end is not None and end == shown:  # a bound has its stroke; what has none runs on
            sheet.line([(x, y - 5), (x, y + 5)], paint, 2)
    if across.low <= row.value <= across.high:
        sheet.dot((across.px(row.value), y), 4.5, paint, edge=PAPER)


def _span(data: IntervalRows) -> tuple[float, float]:
    values = [row.value for row in data.rows if row.value is not None and isfinite(row.value)]
    values += [data.against] if data.against is not None else []
    if not values:
        raise ValueError("a chart of intervals needs a figure")
    middle = (min(values), max(values))
    room = REACH * ((middle[1] - middle[0]) or abs(middle[1]) or 1.0)
    ends = [end for row in data.rows for end in (row.low, row.high) if end is not None and isfinite(end)]
    near = [end for end in ends if middle[0] - room <= end <= middle[1] + room]
    return rounded_out(min([*values, *near]), max([*values, *near]), 5)


def _spoken(data: IntervalRows) -> Spoken:
    clauses = []
    for row in data.rows:
        ends = [f"{end:.3g}" if end is not None else "no bound" for end in (row.low, row.high)]
        clauses.append(
            f"{row.name} {row.value:.3g} ({ends[0]} to {ends[1]})" if row.value is not None else f"{row.name} not known"
        )
    return Spoken(data.title, joined(clauses))
