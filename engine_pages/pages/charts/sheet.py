"""The sheet that a chart is drawn on, measured in px from its top left corner.

In: width and height in px, then strokes, areas, signs and letters in px, in the order in which they lie on each other.
Out: the sheet's SVG. Nothing here knows what a chart means; scales turn values into px before they come here.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

from engine_pages.pages.chart_signs import RING, SIGNS, SignKind
from engine_pages.pages.charts.paints import INK, PAPER, SECOND_INK, WARM, Spoken

LETTERS = 13  # px: the height of every letter on a chart
Anchor = Literal["start", "middle", "end"]
XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in px, y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def overlap(self, other: "Box") -> float:
        """Area in px² that both cover."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across * down if across > 0 and down > 0 else 0.0

    def holds(self, other: "Box") -> bool:
        """Whether the other lies wholly inside."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )


@dataclass(frozen=True, slots=True)
class Line:
    """A stroke through points, `width` px wide; `dash` is drawn and left, in px."""

    points: Sequence[XY]
    paint: str
    width: float
    dash: tuple[float, float] | None
    opacity: float


@dataclass(frozen=True, slots=True)
class Area:
    """A filled outline, with an edge of its own paint, `width` px wide, unless that is "none"."""

    points: Sequence[XY]
    paint: str
    edge: str
    width: float
    opacity: float


@dataclass(frozen=True, slots=True)
class Dot:
    """A filled circle, `radius` px, with a rim."""

    at: XY
    radius: float
    paint: str
    edge: str
    width: float


@dataclass(frozen=True, slots=True)
class Letters:
    """Words on a baseline."""

    at: XY
    words: str
    paint: str
    anchor: Anchor
    bold: bool
    halo: bool


@dataclass(frozen=True, slots=True)
class Laid:
    """A shape as it lies on the sheet: kept inside a box where one is named."""

    shape: Line | Area | Dot | Letters
    clip: Box | None


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
        """Letters on a baseline; `halo` frees them from what lies beneath."""
        self._laid.append(Laid(Letters(at, words, paint, anchor, bold, halo), None))

    def svg(self, spoken: Spoken, key: str) -> Markup:
        """The finished chart."""
        # Only here, for matplotlib is a third of what every command would load, and charts that are kept need none.
        from engine_pages.pages.charts.canvas import figure_of
        from engine_pages.pages.charts.themed import themed_svg

        return themed_svg(figure_of(self.width, self.height, self._laid), spoken, key)


def joined(parts: Iterable[str]) -> str:
    """Clauses as one spoken description, empty ones left out."""
    return "; ".join(part for part in parts if part) + "."
