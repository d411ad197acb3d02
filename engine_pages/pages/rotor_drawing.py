"""The drawings over the columns of the engine map: a rotor in its housing, a piston in its cylinder.

In: which row, counted from the front, of how many. Out: SVG as Markup, decoration (the column's heading says which it
is). Both keep the trade's geometry, each row at the angle where it stands when the first is at top dead centre, so that
the columns differ as the engine's do.
"""

from math import cos, pi, radians, sin, sqrt

from markupsafe import Markup

from engine_pages.pages.bar_strokes import number

# Generating radius and eccentricity of a common 654 cm³ chamber in mm: 105 and 15 (trade figures, from memory). Only
# their ratio shapes the drawing; the gears follow from it: internal gear 3e, stationary gear 2e.
RADIUS = 105.0
ECCENTRICITY = 15.0
SCALE = 0.235  # px per mm, so that the housing stands 56 px high

# Crank angles in degrees of in-line engines, front to back; others are spread evenly.
CRANK_ANGLES = {
    1: (0.0,),
    2: (0.0, 180.0),
    3: (0.0, 240.0, 120.0),
    4: (0.0, 180.0, 180.0, 0.0),
    6: (0.0, 240.0, 120.0, 120.0, 240.0, 0.0),
}
CRANK, ROD = 7.5, 25.0  # px; a rod of 3.3 crank radii is common practice

_LINE = 'stroke="var(--ink)" stroke-width="1.4"'


def housing_point(angle: float) -> tuple[float, float]:
    """A point of the housing's bore in mm at a rotor angle in radians: the epitrochoid, long axis along x.

    >>> housing_point(0.0)
    (120.0, 0.0)
    """
    e, r = ECCENTRICITY, RADIUS
    return e * cos(3 * angle) + r * cos(angle), e * sin(3 * angle) + r * sin(angle)


def rotor_points(shaft_angle: float) -> tuple[tuple[float, float], tuple[tuple[float, float], ...]]:
    """Centre and three apexes of the rotor in mm at a shaft angle in radians; the rotor turns a third as fast."""
    x, y = ECCENTRICITY * cos(shaft_angle), ECCENTRICITY * sin(shaft_angle)
    turns = (shaft_angle / 3 + 2 * pi * k / 3 for k in range(3))
    return (x, y), tuple((x + RADIUS * cos(turn), y + RADIUS * sin(turn)) for turn in turns)


def rotor_glyph(row: int = 1, rows: int = 2) -> Markup:
    """A rotor in its housing, long axis upright, at the shaft angle of this row (1 is the front) of so many.

    ValueError when the row is not one of the rows.
    """
    _check_row(row, rows)
    # At half a turn the first rotor's flank faces the short axis squarely: the drawing that the trade knows.
    centre, apexes = rotor_points(2 * pi * (row - 1) / rows + pi / 2)
    (cx, cy), tips = _page(centre), [_page(apex) for apex in apexes]
    # The flank bulges to the inner envelope, R − 2e from the rotor's centre: an arc through both apexes and that point.
    chord, rise = sqrt(3) * RADIUS, RADIUS / 2 - 2 * ECCENTRICITY
    flank = number((chord**2 / 4 + rise**2) / (2 * rise) * SCALE)
    arcs = "".join(f"A{flank} {flank} 0 0 1 {number(x)} {number(y)}" for x, y in (*tips[1:], tips[0]))
    rotor = f"M{number(tips[0][0])} {number(tips[0][1])}{arcs}Z"
    bore, shaft = number(3 * ECCENTRICITY * SCALE), number(1.5 * ECCENTRICITY * SCALE)
    return Markup(
        '<svg class="row-glyph" viewBox="-27 -31 54 62" width="54" height="62" aria-hidden="true">'
        f'<path d="{_housing_outline()}" fill="none" {_LINE}/>'
        f'<path d="{rotor}" fill="var(--band)" stroke-linejoin="round" {_LINE}/>'
        f'<circle cx="{number(cx)}" cy="{number(cy)}" r="{bore}" fill="var(--paper)" {_LINE}/>'
        f'<circle r="{shaft}" fill="none" {_LINE}/></svg>'
    )


def cylinder_glyph(row: int = 1, rows: int = 4) -> Markup:
    """A piston in its cylinder at the crank angle of this row (1 is the front) of so many in line.

    ValueError when the row is not one of the rows.
    """
    _check_row(row, rows)
    angles = CRANK_ANGLES.get(rows) or tuple(360 * k / rows for k in range(rows))
    turn = radians(angles[row - 1])
    x, y = CRANK * sin(turn), 44 - CRANK * cos(turn)
    pin = y - sqrt(ROD**2 - x**2)  # where the piston's pin stands above the crank's
    rings = f"M-10.4 {number(pin - 2.8)}h20.8M-10.4 {number(pin - 0.4)}h20.8"
    return Markup(
        '<svg class="row-glyph" viewBox="-16 -2 32 62" width="32" height="62" aria-hidden="true">'
        '<path d="M-12 0V28M12 0V28" fill="none" stroke="var(--ink)" stroke-width="1.8"/>'
        f'<rect x="-10.4" y="{number(pin - 5.5)}" width="20.8" height="13" rx="1" fill="var(--band)" {_LINE}/>'
        f'<path d="{rings}" stroke="var(--ink)"/>'
        f'<path d="M0 {number(pin + 3)}L{number(x)} {number(y)}" stroke="var(--ink)" stroke-width="2.2"/>'
        f'<circle cy="44" r="{number(CRANK)}" fill="none" {_LINE}/>'
        f'<circle cx="{number(x)}" cy="{number(y)}" r="2.6" fill="var(--paper)" {_LINE}/></svg>'
    )


def _check_row(row: int, rows: int) -> None:
    if not 1 <= row <= rows:
        raise ValueError(f"row {row} is not one of {rows}")


def _page(point: tuple[float, float]) -> tuple[float, float]:
    """From the bore's axes in mm to the page in px: the long axis stands upright."""
    return point[1] * SCALE, -point[0] * SCALE


def _housing_outline() -> str:
    points = [_page(housing_point(2 * pi * k / 72)) for k in range(72)]
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + "Z"
