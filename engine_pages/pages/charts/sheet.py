"""The sheet that a chart is drawn on: a matplotlib figure measured in px from its top left corner.

In: width and height in px, then strokes, areas, signs and letters in px, in the order in which they lie on each other.
Out: the sheet's SVG. Nothing here knows what a chart means; scales turn values into px before they come here.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Polygon
from matplotlib.text import Text
from matplotlib.transforms import Affine2D, Bbox

from engine_pages.pages.chart_signs import RING, SIGNS, SignKind
from engine_pages.pages.charts.themed import CLASS_PREFIX, INK, PAPER, SECOND_INK, WARM, Spoken, one_line, themed_svg

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


class Sheet:
    """A chart being drawn. Later strokes lie over earlier ones; `clip` keeps a stroke inside a box."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._figure = Figure(figsize=(width / 72, height / 72), dpi=72)
        self._down = Affine2D().scale(1, -1).translate(0, height)
        self._count = 0

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
        stroke = Line2D(
            [x for x, _ in points],
            [y for _, y in points],
            color=paint,
            linewidth=width,
            alpha=opacity,
            solid_capstyle="butt",
            dash_capstyle="butt",
        )
        if dash:
            stroke.set_dashes([part / width for part in dash])  # matplotlib reckons dashes in line widths
        self._add(stroke, clip)

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
        shape = Polygon(
            list(points),
            closed=True,
            facecolor=paint,
            edgecolor=edge,
            linewidth=width if edge != "none" else 0,
            alpha=opacity,
        )
        self._add(shape, clip)

    def rectangle(self, box: Box, paint: str, *, edge: str = "none", opacity: float = 1.0) -> None:
        """A filled rectangle."""
        corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
        self.area(corners, paint, edge=edge, opacity=opacity)

    def dot(self, at: XY, radius: float, paint: str, *, edge: str = PAPER, width: float = 1.5) -> None:
        """A round point with a rim, so that it stays apart from lines beneath it."""
        self._add(Circle(at, radius, facecolor=paint, edgecolor=edge, linewidth=width), None)

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
        sides: dict[Anchor, Literal["left", "center", "right"]] = {"start": "left", "middle": "center", "end": "right"}
        letters = Text(
            at[0],
            at[1],
            one_line(words),
            color=paint,
            fontsize=LETTERS,
            fontweight="bold" if bold else "normal",
            horizontalalignment=sides[anchor],
            verticalalignment="baseline",
            parse_math=False,  # a dollar sign in a label is a dollar sign
        )
        if halo:
            letters.set_gid(f"{CLASS_PREFIX}halo")
        self._add(letters, None)

    def svg(self, spoken: Spoken, key: str) -> Markup:
        """The finished chart."""
        return themed_svg(self._figure, spoken, key)

    def _add(self, artist: Artist, clip: Box | None) -> None:
        self._count += 1
        artist.set_transform(self._down)
        artist.set_zorder(self._count)
        self._figure.add_artist(artist)
        if clip is None:
            artist.set_clip_on(False)
        else:
            artist.set_clip_box(Bbox([[clip.left, self.height - clip.bottom], [clip.right, self.height - clip.top]]))


def joined(parts: Iterable[str]) -> str:
    """Clauses as one spoken description, empty ones left out."""
    return "; ".join(part for part in parts if part) + "."
