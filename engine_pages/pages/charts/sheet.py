"""The sheet that a chart is drawn on, measured in px from its top left corner.

In: width and height in px, then strokes, areas, signs and letters in px, in the order in which they lie on each other.
Out: the sheet's SVG. Nothing here knows what a chart means; scales turn values into px before they come here.
"""

from collections.abc import Iterable, Sequence

from markupsafe import Markup

from engine_pages.pages.chart_signs import RING, SIGNS, SignKind
from engine_pages.pages.charts.inline_svg import inline_svg
from engine_pages.pages.charts.paints import INK, PAPER, SECOND_INK, WARM, Spoken
from engine_pages.pages.charts.shapes import XY, Anchor, Area, Box, Dot, Laid, Letters, Line


class Sheet:
    """A chart being drawn. Later strokes lie over earlier ones; `clip` keeps a stroke inside a box."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._laid: list[Laid] = []

    def line(
        self,
        points: Sequence[XY],
        paint: str,
        width: float = 1.0,
        *,
        dash: tuple[float, float] | None = None,
        clip: Box | None = None,
        opacity: float = 1.0,
    ) -> None:
        """A stroke through the points; `dash` is drawn and left, in px."""
        self._laid.append(Laid(Line(points, paint, width, dash, opacity), clip))

    def area(
        self,
        points: Sequence[XY],
        paint: str,
        *,
        edge: str = "none",
        width: float = 1.0,
        opacity: float = 1.0,
        clip: Box | None = None,
    ) -> None:
        """A filled outline, with an edge of its own colour where one is named."""
        self._laid.append(Laid(Area(points, paint, edge, width, opacity), clip))

    def rectangle(self, box: Box, paint: str, *, edge: str = "none", opacity: float = 1.0) -> None:
        """A filled rectangle."""
        corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
        self.area(corners, paint, edge=edge, opacity=opacity)

    def dot(self, at: XY, radius: float, paint: str, *, edge: str = PAPER, width: float = 1.5) -> None:
        """A round point with a rim, so that it stays apart from lines beneath it."""
        self._laid.append(Laid(Dot(at, radius, paint, edge, width), None))

    def sign(self, kind: SignKind, at: XY) -> None:
        """One of the signs of chart_signs, centred."""
        sign, paint = SIGNS[kind], WARM if SIGNS[kind].paint == "warm" else INK
        face, width = (paint, 1.0) if sign.filled else (PAPER, 1.6)
        if not sign.points:
            self.dot(at, RING, face, edge=paint, width=width)
            return
        self.area([(at[0] + x, at[1] + y) for x, y in sign.points], face, edge=paint, width=width)
        if sign.line:
            self.line([(at[0] + x, at[1] + y) for x, y in sign.line], paint, 1.2)

    def text(
        self,
        at: XY,
        words: str,
        paint: str = SECOND_INK,
        *,
        anchor: Anchor = "start",
        bold: bool = False,
        halo: bool = False,
    ) -> None:
        """Letters on a baseline, where there are any; `halo` frees them from what lies beneath."""
        if words:
            self._laid.append(Laid(Letters(at, words, paint, anchor, bold, halo), None))

    def svg(self, spoken: Spoken, key: str) -> Markup:
        """The finished chart."""
        return inline_svg(self.width, self.height, self._laid, spoken, key)


def joined(parts: Iterable[str]) -> str:
    """Clauses as one spoken description, empty ones left out."""
    return "; ".join(part for part in parts if part) + "."
