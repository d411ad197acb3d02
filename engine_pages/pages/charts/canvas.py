"""A chart's shapes as a matplotlib figure.

In: what lies on a sheet, in px from its top left corner. Out: a figure in which one unit is one px.
"""

from collections.abc import Iterable
from functools import singledispatch
from typing import Final, Literal

from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Polygon
from matplotlib.text import Text
from matplotlib.transforms import Affine2D, Bbox

from engine_pages.pages.charts.paints import CLASS_PREFIX, one_line
from engine_pages.pages.charts.sheet import LETTERS, Anchor, Area, Dot, Laid, Letters, Line

DOTS: Final = 72  # an inch: one px is one of matplotlib's points
_SIDES: Final[dict[Anchor, Literal["left", "center", "right"]]] = {"start": "left", "middle": "center", "end": "right"}


def figure_of(width: float, height: float, shapes: Iterable[Laid]) -> Figure:
    """The shapes, each over the one before it."""
    figure = Figure(figsize=(width / DOTS, height / DOTS), dpi=DOTS)
    down = Affine2D().scale(1, -1).translate(0, height)
    for count, one in enumerate(shapes, 1):
        artist = _artist(one.shape)
        artist.set_transform(down)
        artist.set_zorder(count)
        figure.add_artist(artist)
        if one.clip is None:
            artist.set_clip_on(False)
        else:
            artist.set_clip_box(
                Bbox([[one.clip.left, height - one.clip.bottom], [one.clip.right, height - one.clip.top]])
            )
    return figure


@singledispatch
def _artist(shape: object) -> Artist:
    raise TypeError(f"a chart has no {type(shape).__name__}")


@_artist.register
def _(shape: Line) -> Artist:
    stroke = Line2D(
        [x for x, _ in shape.points],
        [y for _, y in shape.points],
        color=shape.paint,
        linewidth=shape.width,
        alpha=shape.opacity,
        solid_capstyle="butt",
        dash_capstyle="butt",
    )
    if shape.dash:
        stroke.set_dashes([part / shape.width for part in shape.dash])  # matplotlib reckons dashes in line widths
    return stroke


@_artist.register
def _(shape: Area) -> Artist:
    return Polygon(
        list(shape.points),
        closed=True,
        facecolor=shape.paint,
        edgecolor=shape.edge,
        linewidth=shape.width if shape.edge != "none" else 0,
        alpha=shape.opacity,
    )


@_artist.register
def _(shape: Dot) -> Artist:
    return Circle(shape.at, shape.radius, facecolor=shape.paint, edgecolor=shape.edge, linewidth=shape.width)


@_artist.register
def _(shape: Letters) -> Artist:
    letters = Text(
        *shape.at,
        one_line(shape.words),
        color=shape.paint,
        fontsize=LETTERS,
        fontweight="bold" if shape.bold else "normal",
        horizontalalignment=_SIDES[shape.anchor],
        verticalalignment="baseline",
        parse_math=False,  # a dollar sign in a label is a dollar sign
    )
    if shape.halo:
        letters.set_gid(f"{CLASS_PREFIX}halo")
    return letters
