"""Wear before and after a change, kind by kind: two dots with their intervals in a row, joined.

In: ChangeDots. Out: inline SVG, 700 or 358 units wide. Open above: before; full below: after. An upright stands at no
wear, a dotted one at the usual rate. An interval that is wider than the chart runs into its edge without a stroke. On a
narrow column the names lie over the dots.
"""

from dataclasses import dataclass

from engine_pages.pages.charts.labels import shortened, width_of
from engine_pages.pages.charts.scales import Scale, rounded_out, tick_texts, ticks
from engine_pages.pages.charts.sheet import Sheet, joined
from engine_pages.pages.charts.themed import HAIRLINE, INK, PAPER, SECOND_INK, STEEL, WIDE, Spoken

TOP, FOOT = 24, 40  # px: above the first row, below the last
ROW_WIDE, ROW_NARROW = 34, 52
NAMES = 210.0  # px for names at the left of a wide chart
APART = 7.0  # px: the dots of a row from its middle
CAP = 4.0  # px: half an end stroke
REACH = 0.75  # times the span of the dots and the usual rate: farther ends are drawn as open
USUAL = 1.0  # rates are multiples of it

Rate = tuple[float, float, float]  # with its lower and its upper end


@dataclass(frozen=True, slots=True)
class DotsRow:
    """A kind with its rate before and after, in multiples of its usual rate."""

    name: str
    before: Rate
    after: Rate
    strong: bool = False


@dataclass(frozen=True, slots=True)
class ChangeDots:
    """Rows in the order in which they are to stand, and the axis' title."""

    title: str
    rows: tuple[DotsRow, ...]


def draw_change_dots(data: ChangeDots, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError when there is no row."""
    if not data.rows:
        raise ValueError("a chart of a change needs a kind")
    wide = width >= WIDE
    row, left = (ROW_WIDE, NAMES) if wide else (ROW_NARROW, 2.0)
    floor = TOP + row * len(data.rows) + 4
    sheet = Sheet(width, floor + FOOT)
    across = Scale(*_span(data), left, width - 10.0)
    _axis(sheet, data, across, floor)
    for n, one in enumerate(data.rows):
        _row(sheet, one, across, TOP + row * n, wide=wide)
    return sheet.svg(_spoken(data), f"change dots {width} {data!r}")


def _span(data: ChangeDots) -> tuple[float, float]:
    middles = [rate[0] for row in data.rows for rate in (row.before, row.after)] + [0.0, USUAL]
    room = REACH * (max(middles) - min(middles))
    ends = [end for row in data.rows for rate in (row.before, row.after) for end in rate[1:]]
    near = [end for end in ends if min(middles) - room <= end <= max(middles) + room]
    return rounded_out(min([*middles, *near]), max([*middles, *near]), 5)


def _axis(sheet: Sheet, data: ChangeDots, across: Scale, floor: float) -> None:
    values = ticks(across.low, across.high, 5)
    for value, words in zip(values, tick_texts(values), strict=True):
        x = across.px(value)
        sheet.line([(x, TOP), (x, floor)], INK if value == 0.0 else HAIRLINE, 1.2 if value == 0.0 else 1.0)
        half = width_of(words) / 2
        sheet.text((min(max(x, half), sheet.width - half), floor + 16), words, SECOND_INK, anchor="middle")
    sheet.text((across.end, floor + 33), data.title, INK, anchor="end")
    usual = across.px(USUAL)
    sheet.line([(usual, TOP), (usual, floor)], STEEL, 1.3, dash=(2, 3))
    half = width_of("usual") / 2
    sheet.text((min(max(usual, across.start + half), sheet.width - half - 1), 15), "usual", SECOND_INK, anchor="middle")


def _row(sheet: Sheet, one: DotsRow, across: Scale, top: float, *, wide: bool) -> None:
    letters, y = (top + 21, top + 16.5) if wide else (top + 14, top + 33)
    room = across.start - 12.0 if wide else sheet.width
    sheet.text((0, letters), shortened(one.name, room, bold=one.strong), INK, bold=one.strong, halo=not wide)
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
        clauses.append("{}: {} before, {} after".format(one.name, *said))
    return Spoken(f"Wear before and after, {data.title}", joined(clauses))
