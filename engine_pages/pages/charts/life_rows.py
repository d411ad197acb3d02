"""The lives of a kind's parts so far: a bar for each, from where its hours begin to the last that is known of it.

In: LifeRows. Out: inline SVG, 700 or 358 units wide. Full: known good. Hatched: somewhere in there it failed. Pale: run
since anybody looked. Words at the right say how each stands; on a narrow column they lie over the bar.
"""

from msgspec import Struct

from engine_pages.pages.charts.labels import shortened, width_of
from engine_pages.pages.charts.named_rows import NamedRows
from engine_pages.pages.charts.paints import (
    BAND,
    BEYOND,
    INK,
    OPEN_LINE,
    PAPER,
    SHELF,
    STEEL,
    WIDE,
    Spoken,
)
from engine_pages.pages.charts.scales import Scale, rounded_out
from engine_pages.pages.charts.shapes import Box
from engine_pages.pages.charts.sheet import Sheet, joined

TOP, FOOT = 8, 40  # px: above the first row, below the last
ROW_WIDE, ROW_NARROW = 25, 40
NAMES, WORDS = 150.0, 165.0  # px for names at the left and words at the right of a wide chart
HIGH = 10.0  # px: height of a bar


class LifeRow(Struct, frozen=True):
    """One life, or several alike: known good from `entered` to `good`, run to `run`; `failed` whether it ended so."""

    name: str
    words: str
    entered: float
    good: float
    run: float
    failed: bool


class LifeRows(Struct, frozen=True):
    """Lives in the order in which they are to stand, and the axis' title."""

    title: str
    rows: tuple[LifeRow, ...]


def draw_life_rows(data: LifeRows, width: int) -> str:
    """The chart as inline SVG, `width` units wide. ValueError when there is no life."""
    if not data.rows:
        raise ValueError("a chart of lives needs a life")
    wide = width >= WIDE
    left, right = (NAMES, width - WORDS) if wide else (2.0, width - 12.0)
    row = ROW_WIDE if wide else ROW_NARROW
    rows = NamedRows(len(data.rows), width, TOP, row, NAMES)
    sheet = Sheet(width, rows.floor + FOOT)
    across = Scale(*rounded_out(0.0, max(one.run for one in data.rows) or 1.0, 5), left, right)
    rows.axis(sheet, across)
    sheet.text((right, rows.floor + 33), data.title, INK, anchor="end")
    for n, one in enumerate(data.rows):
        _row(sheet, one, across, TOP + row * n, wide=wide)
    return sheet.svg(_spoken(data), f"lives {width} {data!r}")


def _row(sheet: Sheet, one: LifeRow, across: Scale, top: float, *, wide: bool) -> None:
    letters, y = (top + 16.5, top + 12) if wide else (top + 14, top + 27)
    paint = BEYOND if one.failed else INK
    room = NAMES - 12 if wide else sheet.width - width_of(one.words, bold=one.failed) - 12
    sheet.text((0, letters), shortened(one.name, room, bold=True), INK, bold=True, halo=True)
    at = across.end + 12 if wide else sheet.width - 1
    sheet.text((at, letters), one.words, paint, anchor="start" if wide else "end", bold=one.failed, halo=True)
    start, good, run = (across.px(x) for x in (one.entered, one.good, one.run))
    if good > start:
        sheet.rectangle(Box(start, y - HIGH / 2, good, y + HIGH / 2), STEEL)
    if run > good:
        box = Box(good, y - HIGH / 2, run, y + HIGH / 2)
        sheet.rectangle(box, PAPER)
        sheet.rectangle(box, SHELF if one.failed else BAND, edge=OPEN_LINE)
    if one.failed:
        sheet.line([(run, y - HIGH / 2 - 3), (run, y + HIGH / 2 + 3)], BEYOND, 3)


def _spoken(data: LifeRows) -> Spoken:
    return Spoken("Lives so far", joined(f"{one.name}: {one.run:.1f}, {one.words}" for one in data.rows))
