"""How fast every part of a kind wears: a dot with its interval for each, on one axis.

In: a RatesDots. Out: inline SVG, 700 or 358 units wide. The pale band behind is where the rate of any such part is
expected; an upright stands at no wear. On a narrow column the names lie over the bars.
"""

from dataclasses import dataclass

from engine_pages.pages.charts.labels import shortened, width_of
from engine_pages.pages.charts.scales import Scale, rounded_out, tick_texts, ticks
from engine_pages.pages.charts.sheet import Box, Sheet, joined
from engine_pages.pages.charts.themed import BAND, HAIRLINE, INK, SECOND_INK, STEEL, WIDE, Spoken

TOP, FOOT = 26, 40  # px: above the first row, below the last
ROW_WIDE, ROW_NARROW = 25, 38
NAMES = 300.0  # px for names at the left of a wide chart
CAP = 4.5  # px: half an end stroke


@dataclass(frozen=True, slots=True)
class RateRow:
    """A part's rate with its ends; `beside` is where it ran."""

    name: str
    beside: str
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class RatesDots:
    """Rows in the order in which they are to stand, the axis' title, and where the rate of any such part lies."""

    title: str
    rows: tuple[RateRow, ...]
    usual: tuple[float, float, float] | None = None


def draw_rates_dots(data: RatesDots, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError when there is no row."""
    if not data.rows:
        raise ValueError("a chart of rates needs a part")
    wide = width >= WIDE
    row, left, right = (ROW_WIDE, NAMES, width - 12.0) if wide else (ROW_NARROW, 2.0, width - 10.0)
    floor = TOP + row * len(data.rows) + 4
    sheet = Sheet(width, floor + FOOT)
    ends = [end for one in data.rows for end in (one.low, one.high)] + [0.0]
    ends += list(data.usual) if data.usual is not None else []
    low, high = rounded_out(min(ends), max(ends), 5)
    across = Scale(low, high, left, right)
    if data.usual is not None:
        sheet.rectangle(Box(across.px(data.usual[1]), TOP, across.px(data.usual[2]), floor), BAND, opacity=0.6)
    _axis(sheet, data, across, floor)
    for n, one in enumerate(data.rows):
        _row(sheet, one, across, TOP + row * n, wide=wide)
    return sheet.svg(_spoken(data), f"rates {width} {data!r}")


def _axis(sheet: Sheet, data: RatesDots, across: Scale, floor: float) -> None:
    values = ticks(across.low, across.high, 5)
    for value, words in zip(values, tick_texts(values), strict=True):
        x = across.px(value)
        sheet.line([(x, TOP), (x, floor)], INK if value == 0.0 else HAIRLINE, 1.2 if value == 0.0 else 1.0)
        half = width_of(words) / 2
        sheet.text((min(max(x, half), sheet.width - half), floor + 16), words, SECOND_INK, anchor="middle")
    sheet.text((across.end, floor + 33), data.title, INK, anchor="end")
    if data.usual is not None:
        middle = across.px(data.usual[0])
        sheet.line([(middle, TOP), (middle, floor)], STEEL, 1.3, dash=(2, 3))
        half = width_of("any such part") / 2
        at = min(max(middle, across.start + half), sheet.width - half - 1)
        sheet.text((at, 15), "any such part", SECOND_INK, anchor="middle")


def _row(sheet: Sheet, one: RateRow, across: Scale, top: float, *, wide: bool) -> None:
    name_end = width_of(one.name, bold=True) + 8
    letters, y = (top + 16, top + 12) if wide else (top + 15, top + 26)
    room = across.start - 14 if wide else sheet.width
    sheet.text((0, letters), shortened(one.name, room, bold=True), INK, bold=True, halo=not wide)
    beside = shortened(one.beside, room - name_end)
    if beside:
        sheet.text((name_end, letters), beside, SECOND_INK, halo=not wide)
    first, last = across.px(one.low), across.px(one.high)
    sheet.line([(first, y), (last, y)], STEEL, 2)
    for x in (first, last):
        sheet.line([(x, y - CAP), (x, y + CAP)], STEEL, 2)
    sheet.dot((across.px(one.value), y), 4.5, INK)


def _spoken(data: RatesDots) -> Spoken:
    clauses = [f"{one.name} {one.value:.3g} ({one.low:.3g} to {one.high:.3g})" for one in data.rows]
    if data.usual is not None:
        clauses.append("any such part {:.3g} ({:.3g} to {:.3g})".format(*data.usual))
    return Spoken(f"Rates of the parts, {data.title}", joined(clauses))
