"""The last test of a rotor drawn on it: its flanks with their figures, those that lie low marked.

In: the rotor's name, its faces' figures in words, which are low. Out: SVG as Markup with a title and a description. The
rotor stands with an apex up; which face of the metal is the first is the shop's own mark, not the drawing's.
"""

from collections.abc import Sequence
from math import cos, radians, sin, sqrt
from typing import Final

from markupsafe import Markup, escape
from msgspec import Struct

from engine_pages.pages.bar_strokes import number
from engine_pages.pages.rotor_drawing import ECCENTRICITY, RADIUS

FACES: Final = 3
_SCALE: Final = 0.56  # px per mm of the drawn rotor
_WIDTH, _HEIGHT = 264, 150
_CENTRE = (132.0, 74.0)
_APEXES = (90.0, -30.0, 210.0)  # degrees, clockwise: face 1 lies between the first and the second
_MIDDLES = (30.0, 270.0, 150.0)  # of faces 1, 2, 3


class Face(Struct, frozen=True):
    """One face: its figure in words with the unit, and whether it lies low."""

    figure: str
    low: bool


def rotor_faces(name: str, faces: Sequence[Face]) -> Markup:
    """The rotor with its faces' figures. ValueError unless there are three."""
    if len(faces) != FACES:
        raise ValueError(f"a rotor has {FACES} faces, not {len(faces)}")
    said = ", ".join(f"face {n} {face.figure}{', low' if face.low else ''}" for n, face in enumerate(faces, start=1))
    flanks = "".join(_flank(n, face.low) for n, face in enumerate(faces))
    seals = "".join(_seal(angle) for angle in _APEXES)
    words = "".join(_words(n, face) for n, face in enumerate(faces))
    x, y = _CENTRE
    return Markup(
        f'<svg class="rotor-faces" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{escape(name)}: '
        f'{escape(said)}" data-search-exclude="">'
        f'<path d="{_outline()}" fill="var(--sunk)"/>{flanks}{seals}'
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(3 * ECCENTRICITY * _SCALE * 0.8)}" fill="var(--paper)" '
        f'stroke="var(--ink)" stroke-width="1.2"/>{words}</svg>'
    )


def _at(angle: float, radius: float) -> tuple[float, float]:
    """A place in px at an angle in degrees and a radius in mm from the rotor's centre."""
    turn = radians(angle)
    return _CENTRE[0] + radius * _SCALE * cos(turn), _CENTRE[1] - radius * _SCALE * sin(turn)


def _arc(n: int) -> str:
    """The flank of a face, bulged to the inner envelope, R − 2e from the rotor's centre."""
    chord, rise = sqrt(3) * RADIUS, RADIUS / 2 - 2 * ECCENTRICITY
    radius = number((chord**2 / 4 + rise**2) / (2 * rise) * _SCALE)
    x, y = _at(_APEXES[(n + 1) % FACES], RADIUS)
    return f"A{radius} {radius} 0 0 1 {number(x)} {number(y)}"


def _start(n: int) -> str:
    x, y = _at(_APEXES[n], RADIUS)
    return f"M{number(x)} {number(y)}"


def _outline() -> str:
    return _start(0) + "".join(_arc(n) for n in range(FACES)) + "Z"


def _flank(n: int, low: bool) -> str:
    """A face's own edge: a low one is thick and warm, so that it is seen without colour as well."""
    paint, width = ("var(--warm)", "5") if low else ("var(--ink)", "1.4")
    return f'<path d="{_start(n)}{_arc(n)}" fill="none" stroke="{paint}" stroke-width="{width}"/>'


def _seal(angle: float) -> str:
    (x, y), (u, v) = _at(angle, RADIUS - 8), _at(angle, RADIUS + 5)
    ends = f'x1="{number(x)}" y1="{number(y)}" x2="{number(u)}" y2="{number(v)}"'
    return f'<line {ends} stroke="var(--ink)" stroke-width="2.4"/>'


def _words(n: int, face: Face) -> str:
    x, y = _at(_MIDDLES[n], RADIUS - 2 * ECCENTRICITY)
    anchor, dx, dy = (("start", 10, -6), ("middle", 0, 17), ("end", -10, -6))[n]
    figure = f"{face.figure}, low" if face.low else face.figure
    if n == 1:  # beneath the rotor there is room for one line
        return _text(x, y + dy, anchor, f"face 2: {figure}", face.low)
    return _text(x + dx, y + dy, anchor, f"face {n + 1}", False) + _text(x + dx, y + dy + 16, anchor, figure, face.low)


def _text(x: float, y: float, anchor: str, words: str, strong: bool) -> str:
    weight = ' font-weight="700"' if strong else ""
    return f'<text x="{number(x)}" y="{number(y)}" text-anchor="{anchor}"{weight}>{escape(words)}</text>'
