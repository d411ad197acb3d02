"""The life of a part as a strip: which engine and place it was in, when, and for how many hours.

In: a LifeStrip of spans in order. Out: inline SVG, 700 or 358 units wide. This engine's spans are dark, another's are
open, the shelf is a hatched, thinner piece; numbers lead to the list under the strip.
"""

from collections.abc import Sequence
from datetime import date
from typing import Literal

from msgspec import Struct

from engine_pages.pages.charts.labels import Label, Spot, letters_box, place, width_of, write
from engine_pages.pages.charts.paints import INK, OPEN_LINE, PAPER, SECOND_INK, SHELF, STEEL, SUNK, Spoken
from engine_pages.pages.charts.scales import Scale, date_ticks
from engine_pages.pages.charts.shapes import Box
from engine_pages.pages.charts.sheet import Sheet, joined
from engine_pages.pages.words import day_words, month_words

TOP, BOTTOM, AXIS = 24, 60, 70  # px
HEIGHT = 92


class Span(Struct, frozen=True):
    """A stretch of a part's life: its number in the list beneath, and its hours as they are to be shown."""

    start: date
    end: date
    number: str
    hours: str
    kind: Literal["this", "other", "shelf"]


class LifeStrip(Struct, frozen=True):
    """A part's life, in order of time."""

    spans: tuple[Span, ...]


def draw_life_strip(data: LifeStrip, width: int) -> str:
    """The strip as inline SVG, `width` units wide. ValueError when there is no span."""
    if not data.spans:
        raise ValueError("a life strip needs a span")
    sheet = Sheet(width, HEIGHT)
    start, end = min(span.start for span in data.spans), max(span.end for span in data.spans)
    days = Scale(start.toordinal(), end.toordinal() + 1, 2, width - 2)
    inner, outer = [], []
    for span in data.spans:
        box = _box(span, days)
        _piece(sheet, span, box)
        fits = box.right - box.left >= width_of(span.number, bold=True) + 8
        if fits and span.kind != "shelf":
            inner.append((span, box))
        outer.append(_label(span, box, width, number_inside=fits))
    for span, box in inner:
        x = box.left + (7 if box.right - box.left > 26 else 4)
        sheet.text((x, 47), span.number, PAPER if span.kind == "this" else INK, bold=True)
    write(sheet, place([label for label in outer[::-1] if label.words], [], Box(0, 2, width, TOP)))
    _axis(sheet, days, start, end)
    return sheet.svg(_spoken(data.spans), f"life {width} {data!r}")


def _box(span: Span, days: Scale) -> Box:
    left, right = days.px(span.start.toordinal()), days.px(span.end.toordinal() + 1)
    inset = 10 if span.kind == "shelf" else 0
    return Box(left, TOP + inset, max(right, left + 3), BOTTOM - inset)


def _piece(sheet: Sheet, span: Span, box: Box) -> None:
    fill = {"this": STEEL, "other": SUNK, "shelf": SHELF}[span.kind]
    sheet.rectangle(box, fill, edge=OPEN_LINE if span.kind == "shelf" else INK)


def _label(span: Span, box: Box, width: float, *, number_inside: bool) -> Label:
    """What stands over a piece: its hours, or its number where the piece is too short to hold it."""
    words = span.hours if number_inside or not span.number else f"{span.number}: {span.hours}".removesuffix(": ")
    shorter = "" if number_inside else span.number
    spots = [Spot((box.right, 17), "end"), Spot((box.left, 17)), Spot(((box.left + box.right) / 2, 17), "middle")]
    if box.right - box.left < width_of(words):
        spots = [spots[2], spots[0], spots[1]]
    spots.append(Spot((width - 1, 17), "end"))
    return Label(words, tuple(spots), INK, bold=True, shorter=shorter)


def _axis(sheet: Sheet, days: Scale, start: date, end: date) -> None:
    """The axis: first and last month in words, the turns of years or months between where there is room."""
    sheet.line([(days.start, AXIS), (days.end, AXIS)], INK)
    first, last = month_words(start), month_words(end)
    taken = [letters_box((days.start, 87), first)]
    sheet.text((days.start, 87), first)
    if last != first and width_of(first) + width_of(last) + 12 <= days.end - days.start:
        sheet.text((days.end, 87), last, anchor="end")
        taken.append(letters_box((days.end, 87), last, "end"))
    for day, words in date_ticks(start, end, days.end - days.start, 70):
        x = days.px(day.toordinal())
        sheet.line([(x, AXIS - 4), (x, AXIS + 4)], INK)
        label = Label(words, (Spot((x + 4, 87)), Spot((x, 87), "middle")), SECOND_INK)
        placed = place(
            [label], [Box(b.left - 6, b.top, b.right + 6, b.bottom) for b in taken], Box(0, 70, sheet.width, 92)
        )
        write(sheet, placed)
        taken += [one.box for one in placed]


def _spoken(spans: Sequence[Span]) -> Spoken:
    kinds = {"this": "this engine", "other": "another engine", "shelf": "on the shelf"}
    clauses = [
        f"{span.number} {kinds[span.kind]}, {day_words(span.start)} to {day_words(span.end)} {span.hours}".strip()
        for span in spans
    ]
    return Spoken("Where the part was", joined(clauses))
