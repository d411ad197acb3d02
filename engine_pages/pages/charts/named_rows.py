"""Rows of a chart with names: at the left of a wide one, over their dots on a narrow column.

In: how many rows, and the chart's width. Out: where names, dots and uprights go; on a narrow column uprights leave the
names free, so that no line runs through letters.
"""

from msgspec import Struct

from engine_pages.pages.charts.labels import shortened, width_of
from engine_pages.pages.charts.paints import HAIRLINE, INK, SECOND_INK, WIDE
from engine_pages.pages.charts.scales import Scale, tick_texts, ticks
from engine_pages.pages.charts.sheet import Sheet

LETTERS_HIGH = 20.0  # px: what a name takes at the top of a narrow row
EDGE, MARGIN = 2.0, 10.0  # px: left of a narrow axis, right of any


class NamedRows(Struct, frozen=True):
    """Where `count` rows of `height` px go under `top`, on a chart `width` px wide with `names` px left of its axis."""

    count: int
    width: float
    top: float
    height: float
    names: float

    @property
    def wide(self) -> bool:
        """Whether names stand at the left."""
        return self.width >= WIDE

    @property
    def left(self) -> float:
        """Where the axis begins, px."""
        return self.names if self.wide else EDGE

    @property
    def right(self) -> float:
        """Where the axis ends, px."""
        return self.width - MARGIN

    @property
    def floor(self) -> float:
        """The end of the last row, px."""
        return self.top + self.height * self.count + 4.0

    def head(self, n: int) -> float:
        """Where a row begins, px."""
        return self.top + self.height * n

    def letters(self, n: int) -> float:
        """The baseline of a row's name, px."""
        return self.head(n) + (self.height / 2.0 + 4.5 if self.wide else 14.0)

    def dots(self, n: int) -> float:
        """The middle of a row's dots, px."""
        return self.head(n) + (self.height / 2.0 if self.wide else (self.height + LETTERS_HIGH) / 2.0)

    def room(self) -> float:
        """How wide a name may be, px."""
        return self.left - 12.0 if self.wide else self.width

    def upright(
        self, sheet: Sheet, x: float, paint: str, width: float = 1.0, dash: tuple[float, float] | None = None
    ) -> None:
        """A line down all rows, beside the names and not through them."""
        if self.wide:
            sheet.line([(x, self.top), (x, self.floor)], paint, width, dash=dash)
            return
        for n in range(self.count):
            end = self.floor if n == self.count - 1 else self.head(n + 1)
            sheet.line([(x, self.head(n) + LETTERS_HIGH), (x, end)], paint, width, dash=dash)

    def axis(self, sheet: Sheet, across: Scale, *, zero: bool = True) -> None:
        """Grid lines with their figures under them; the one at zero is stronger where it means no wear."""
        values = ticks(across.low, across.high, 5)
        for value in values:
            strong = zero and value == 0.0
            self.upright(sheet, across.px(value), INK if strong else HAIRLINE, 1.2 if strong else 1.0)
        for value, words in zip(values, tick_texts(values), strict=True):
            sheet.text((self.inside(across.px(value), words), self.floor + 16.0), words, SECOND_INK, anchor="middle")

    def inside(self, x: float, words: str) -> float:
        """The middle of words near x that stand on the chart whole."""
        half = width_of(words) / 2.0
        return min(max(x, half), self.width - half - 1.0)

    def name(self, sheet: Sheet, n: int, words: str, *, bold: bool = False) -> None:
        """A row's name, cut where it is wider than its room."""
        sheet.text((0, self.letters(n)), shortened(words, self.room(), bold=bold), INK, bold=bold)
