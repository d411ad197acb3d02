"""Wear before and after a change, kind by kind: two dots with their intervals in a row, joined.

In: ChangeDots. Out: inline SVG, 700 or 358 units wide. Open above: the first side; full below: the other. An upright
stands at no wear, a dotted one at the usual rate. An interval that is wider than the chart runs into its edge without a
stroke. On a narrow column the names lie over the dots.
"""

from msgspec import Struct

from engine_pages.pages.charts.named_rows import NamedRows
from engine_pages.pages.charts.paints import INK, PAPER, SECOND_INK, STEEL, WIDE, Spoken
from engine_pages.pages.charts.scales import Scale, rounded_out
from engine_pages.pages.charts.sheet import Sheet, joined

TOP, FOOT = 24, 40  # px: above the first row, below the last
ROW_WIDE, ROW_NARROW = 34, 54
NAMES = 210.0  # px for names at the left of a wide chart
APART = 7.0  # px: the dots of a row from its middle
CAP = 4.0  # px: half an end stroke
REACH = 0.75  # times the span of the dots and the usual rate: farther ends are drawn as open
USUAL = 1.0  # rates are multiples of it

Rate = tuple[float, float, float]  # with its lower and its upper end


class DotsRow(Struct, frozen=True):
    """A kind with its rate on both sides, in multiples of its usual rate."""

    name: str
    before: Rate
    after: Rate
    strong: bool = False


class ChangeDots(Struct, frozen=True):
    """Rows in the order in which they are to stand, the axis' title, and what the two sides are called."""

    title: str
    rows: tuple[DotsRow, ...]
    sides: tuple[str, str] = ("before", "after")


def draw_change_dots(data: ChangeDots, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError when there is no row."""
    if not data.rows:
        raise ValueError("a chart of a change needs a kind")
    row = ROW_WIDE if width >= WIDE else ROW_NARROW
    rows = NamedRows(len(data.rows), width, TOP, row, NAMES)
    sheet = Sheet(width, rows.floor + FOOT)
    across = Scale(*_span(data), rows.left, rows.right)
    rows.axis(sheet, across)
    sheet.text((across.end, rows.floor + 33), data.title, INK, anchor="end")
    usual = across.px(USUAL)
    rows.upright(sheet, usual, STEEL, 1.3, dash=(2, 3))
    sheet.text((rows.inside(usual, "usual"), 15), "usual", SECOND_INK, anchor="middle")
    for n, one in enumerate(data.rows):
        rows.name(sheet, n, one.name, bold=one.strong)
        _row(sheet, one, across, rows.dots(n))
    return sheet.svg(_spoken(data), f"change dots {width} {data!r}")


def _span(data: ChangeDots) -> tuple[float, float]:
    middles = [rate[0] for row in data.rows for rate in (row.before, row.after)] + [0.0, USUAL]
    room = REACH * (max(middles) - min(middles))
    ends = [end for row in data.rows for rate in (row.before, row.after) for end in rate[1:]]
    near = [end for end in ends if min(middles) - room <= end <= max(middles) + room]
    return rounded_out(min([*middles, *near]), max([*middles, *near]), 5)


def _row(sheet: Sheet, one: DotsRow, across: Scale, y: float) -> None:
    paint = INK if one.strong else STEEL
    places = [(across.px(one.before[0]), y - APART), (across.px(one.after[0]), y + APART)]
    sheet.line(places, paint, 1.0)
    for rate, place, filled in ((one.before, places[0], False), (one.after, places[1], True)):
        _interval(sheet, rate, across, place[1], paint)
        sheet.dot(place, 4.0, paint if filled else PAPER, edge=PAPER if filled else paint)


def _interval(sheet: Sheet, rate: Rate, across: Scale, y: float, paint: str) -> None:
    """The line of an interval, with a stroke at each end that lies on the chart."""
    ends = [min(max(end, across.low), across.high) for end in rate[1:]]
    first, last = (across.px(end) for end in ends)
    sheet.line([(first, y), (last, y)], paint, 1.6)
    for end, shown, x in zip(rate[1:], ends, (first, last), strict=True):
        if end == shown:
            sheet.line([(x, y - CAP), (x, y + CAP)], paint, 1.6)


def _spoken(data: ChangeDots) -> Spoken:
    clauses = []
    for one in data.rows:
        said = ("{:.2f} ({:.2f} to {:.2f})".format(*rate) for rate in (one.before, one.after))
        clauses.append(f"{one.name}: {', '.join(map(' '.join, zip(said, data.sides, strict=True)))}")
    return Spoken(f"Wear {' and '.join(data.sides)}, {data.title}", joined(clauses))
