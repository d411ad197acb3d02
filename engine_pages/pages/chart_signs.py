"""The signs that charts set along time: fluid changes, moves, machining, incidents, and the kinds of sheet.

In: the kind of sign. Out: its outline as numbers, so that a chart can plot it, and as a small SVG for the key under the
chart; one shape, drawn twice. Each differs in outline or filling, none by colour alone.
"""

from collections.abc import Mapping
from typing import Literal

from markupsafe import Markup
from msgspec import Struct

from engine_pages.pages.bar_strokes import number

SignKind = Literal["fluid", "move", "machined", "incident", "build", "teardown", "inspection"]
Point = tuple[float, float]


class Sign(Struct, frozen=True):
    """An outline around (0, 0) in px, y down; a round one has no points. `line` is a stroke across it."""

    points: tuple[Point, ...]
    filled: bool
    paint: str = "ink"
    line: tuple[Point, Point] | None = None


_DOWN = ((-5.0, -4.5), (5.0, -4.5), (0.0, 4.5))
_BOX = ((-5.0, -4.5), (5.0, -4.5), (5.0, 4.5), (-5.0, 4.5))
_SQUARE = ((-5.5, -5.5), (5.5, -5.5), (5.5, 5.5), (-5.5, 5.5))

SIGNS: Mapping[SignKind, Sign] = {
    "fluid": Sign(_DOWN, filled=True),
    "move": Sign(_DOWN, filled=False),
    "machined": Sign(_BOX, filled=False, line=((-5.0, 4.5), (5.0, -4.5))),
    "incident": Sign(((0.0, -6.5), (6.0, 0.0), (0.0, 6.5), (-6.0, 0.0)), filled=True, paint="warm"),
    "build": Sign(_SQUARE, filled=True),
    "teardown": Sign(_SQUARE, filled=False, line=((-5.5, 0.0), (5.5, 0.0))),
    "inspection": Sign((), filled=False),
}
RING = 5.2  # px: radius of a round sign


def chart_sign(kind: SignKind) -> Markup:
    """A sign for a key list, 14 px square, decoration: the words beside it say what it means."""
    sign = SIGNS[kind]
    fill = f"var(--{sign.paint})" if sign.filled else "var(--paper)"
    stroke = "" if sign.filled else f' stroke="var(--{sign.paint})" stroke-width="1.6"'
    if sign.points:
        outline = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in sign.points) + "Z"
        shape = f'<path d="{outline}" fill="{fill}"{stroke}/>'
    else:
        shape = f'<circle r="{RING}" fill="{fill}"{stroke}/>'
    if sign.line:
        (x1, y1), (x2, y2) = sign.line
        shape += f'<path d="M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}" stroke="var(--{sign.paint})"/>'
    return Markup(
        f'<svg class="chart-sign" viewBox="-7 -7 14 14" width="14" height="14" aria-hidden="true">{shape}</svg>'
    )
