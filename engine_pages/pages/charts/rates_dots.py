"""How fast every part of a kind wears: a dot with its interval for each, on one axis.

In: a RatesDots. Out: inline SVG, 700 or 358 units wide. The pale band behind is where the rate of any such part is
expected; an upright stands at no wear. On a narrow column the names lie over the bars.
"""

from msgspec import Struct

from engine_pages.pages.charts.labels import shortened, width_of
from engine_pages.pages.charts.named_rows import NamedRows
from engine_pages.pages.charts.paints import BAND, INK, SECOND_INK, STEEL, WIDE, Spoken
from engine_pages.pages.charts.scales import Scale, rounded_out
from engine_pages.pages.charts.shapes import Box
from engine_pages.pages.charts.sheet import Sheet, joined

TOP, FOOT = 26, 40  # px: above the first row, below the last
ROW_WIDE, ROW_NARROW = 25, 40
NAMES = 300.0  # px for names at the left of a wide chart
CAP = 4.5  # px: half an end stroke
ANY_PART = "any such part"


class RateRow(Struct, frozen=True):
    """A part's rate with its ends; `beside` is where it ran."""

    name: str
    beside: str
    value: float
    low: float
    high: float


class RatesDots(Struct, frozen=True):
    """Rows in the order in which they are to stand, the axis' title, and where the rate of any such part lies."""

    title: str
    rows: tuple[RateRow, ...]
    usual: tuple[float, float, float] | None = None


def draw_rates_dots(data: RatesDots, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError when there is no row."""
    if not data.rows:
        raise ValueError("a chart of rates needs a part")
    rows = NamedRows(len(data.rows), width, TOP, ROW_WIDE if width >= WIDE else ROW_NARROW, NAMES)
    sheet = Sheet(width, rows.floor + FOOT)
    ends = [end for one in data.rows for end in (one.low, one.high)] + [0.0]
    ends += list(data.usual) if data.usual is not None else []
    low, high = rounded_out(min(ends), max(ends), 5)
    across = Scale(low, high, rows.left, rows.right)
    if data.usual is not None:
        band = Box(across.px(data.usual[1]), TOP, across.px(data.usual[2]), rows.floor)
        sheet.rectangle(band, BAND, opacity=0.6)
    rows.axis(sheet, across)
    sheet.text((across.end, rows.floor + 33), data.title, INK, anchor="end")
    if data.usual is not None:
        _usual(sheet, rows, across.px(data.usual[0]))
    for n, one in enumerate(data.rows):
        _row(sheet, one, across, rows, n)
    return sheet.svg(_spoken(data), f"rates {width} {data!r}")


def _usual(sheet: Sheet, rows: NamedRows, middle: float) -> None:
    """Where the rate of any such part is expected."""
    rows.upright(sheet, middle, STEEL, 1.3, dash=(2, 3))
    at = max(rows.inside(middle, ANY_PART), rows.left + width_of(ANY_PART) / 2)
    sheet.text((at, 15), ANY_PART, SECOND_INK, anchor="middle")


def _row(sheet: Sheet, one: RateRow, across: Scale, rows: NamedRows, n: int) -> None:
    rows.name(sheet, n, one.name, bold=True)
    name_end = width_of(one.name, bold=True) + 8
    beside = shortened(one.beside, rows.room() - name_end)
    if beside:
        sheet.text((name_end, rows.letters(n)), beside, SECOND_INK)
    y, first, last = rows.dots(n), across.px(one.low), across.px(one.high)
    sheet.line([(first, y), (last, y)], STEEL, 2)
    for x in (first, last):
        sheet.line([(x, y - CAP), (x, y + CAP)], STEEL, 2)
    sheet.dot((across.px(one.value), y), 4.5, INK)


def _spoken(data: RatesDots) -> Spoken:
    clauses = [f"{one.name} {one.value:.3g} ({one.low:.3g} to {one.high:.3g})" for one in data.rows]
    if data.usual is not None:
        clauses.append("any such part {:.3g} ({:.3g} to {:.3g})".format(*data.usual))
    return Spoken(f"Rates of the parts, {data.title}", joined(clauses))
