"""Strokes that allowance bars are drawn with.

In: positions across in per cent, heights from a Size. Out: SVG text. Percentages run across and pixels run down, and
there is no viewBox, so a bar stretches with its column while no stroke, dot or hatch is distorted. Paint is named after
the variables of site_template/styles/colours.css, which hold one set each for light, dark and print.
"""

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct

State = Literal["within", "near limit", "undecided", "due", "overdue", "beyond limit", "not measured", "retired"]
Ends = Literal["gauge", "range", "under", "over"]

# What the filled length of a bar is painted with. Colour repeats the form, it never stands for it.
FILL: Mapping[State, str] = {
    "within": "steel",
    "near limit": "near-fill",
    "undecided": "steel",
    "due": "steel",
    "overdue": "beyond",
    "beyond limit": "beyond",
    "not measured": "steel",
    "retired": "open-line",
}
OVER: tuple[State, ...] = ("beyond limit", "overdue")  # states whose bar lies over the tick


class Size(Struct, frozen=True):
    """Heights of one size of bar, in px: the whole drawing, the bar in it, and where the bar's top lies."""

    height: int
    thickness: int
    top: float
    whiskers: bool = True

    @property
    def bottom(self) -> float:
        return self.top + self.thickness

    @property
    def middle(self) -> float:
        return self.top + self.thickness / 2


SIZES: Mapping[int, Size] = {
    26: Size(26, 8, 9),  # answers and part pages
    22: Size(22, 8, 7),  # lists and tables
    14: Size(14, 6, 4),  # cells of the engine map
    8: Size(8, 5, 1.5, whiskers=False),  # members of a set, one above the other
}


def size_of(height: int) -> Size:
    """The Size with this height in px; ValueError for a height that is not drawn."""
    if height not in SIZES:
        raise ValueError(f"a bar is drawn {', '.join(map(str, SIZES))} px high, not {height}")
    return SIZES[height]


def number(value: float) -> str:
    """A coordinate with at most two decimals and no trailing zeros.

    >>> number(52.590), number(9.0), number(-0.001)
    ('52.59', '9', '0')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def block(left: float, right: float, size: Size, paint: str) -> str:
    """A filled length of the bar between two positions in per cent, whichever comes first."""
    start, length = min(left, right), abs(right - left)
    return (
        f'<rect x="{number(start)}%" y="{number(size.top)}" width="{number(length)}%" '
        f'height="{size.thickness}" fill="var(--{paint})"/>'
    )


def upright(x: float, top: float, bottom: float, paint: str, width: float) -> str:
    """An upright stroke at a position in per cent."""
    return (
        f'<line x1="{number(x)}%" x2="{number(x)}%" y1="{number(top)}" y2="{number(bottom)}" {_stroke(paint, width)}/>'
    )


def _stroke(paint: str, width: float) -> str:
    """What a stroke is painted with; one that is 1 px wide need not say so (SVG 2, 13.5.2)."""
    return f'stroke="var(--{paint})"' + (f' stroke-width="{number(width)}"' if width != 1 else "")


def level(left: float, right: float, y: float, paint: str, width: float, dash: str = "") -> str:
    """A level stroke between two positions in per cent."""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{number(left)}%" x2="{number(right)}%" y1="{number(y)}" y2="{number(y)}" '
        f"{_stroke(paint, width)}{dashes}/>"
    )


def pinned(x: float, shapes: str) -> str:
    """Shapes in px around a position in per cent: a nested drawing whose left edge is pinned there.

    That they show on both sides of it stands in the drawing: who prints without a browser knows no style sheet there.
    """
    return f'<svg x="{number(x)}%" overflow="visible">{shapes}</svg>'


def tick(x: float, size: Size, *, crossed: bool = False) -> str:
    """The limit: a tick, freed from the bar that crosses it by 1.5 px of paper on either side."""
    inset = 0 if size.height == 8 else 1
    gap = f'<rect x="-2.75" y="{number(size.top)}" width="5.5" height="{size.thickness}" fill="var(--paper)"/>'
    stroke = f'<rect x="-1.25" y="{inset}" width="2.5" height="{size.height - 2 * inset}" fill="var(--ink)"/>'
    return pinned(x, (gap if crossed else "") + stroke)


def as_built_tick(x: float, size: Size) -> str:
    """The thin tick where a part began."""
    return upright(x, size.top - 2, size.bottom + 2, "ink", 1)


def head_mark(x: float, size: Size, state: State) -> str:
    """What sits in the tick's head: a dot for near limit, a V for due and overdue, nothing for the others."""
    if state == "near limit":
        radius, centre = (4.6, 3.2) if size.height > 14 else (3.8, 2.4)
        dot = f'<circle cy="{centre}" r="{radius}" fill="var(--warm)" stroke="var(--paper)" stroke-width="1.5"/>'
        return pinned(x, dot)
    if state in ("due", "overdue"):
        paint = "ink" if state == "due" else "beyond"
        return pinned(x, f'<path d="M-5.5 0h11L0 7z" fill="var(--{paint})"/>')
    return ""


def over_the_tick(x: float, size: Size) -> str:
    """A short block across the tick: beyond by a crack, a grade or a date, whatever length the reading fills."""
    top, thick = number(size.top), size.thickness
    return pinned(x, f'<rect x="-9" y="{top}" width="18" height="{thick}" fill="var(--beyond)"/>')


def hatch(left: float, right: float, size: Size, state: State, *, ended: bool) -> str:
    """The forecast: hatched from the reading to the end of the plan, with an upright there unless it is cut off."""
    pattern, paint = ("forecast-warm", "warm") if state == "near limit" else ("forecast", "steel")
    start, length = min(left, right), abs(right - left)
    shape = (
        f'<rect x="{number(start)}%" y="{number(size.top)}" width="{number(length)}%" height="{size.thickness}" '
        f'fill="url(#ep-{pattern})"/>'
    )
    return shape + (upright(right, size.top, size.bottom, paint, 1.5) if ended else "")


def doubt(left: float, right: float, size: Size) -> str:
    """Undecided: the whole uncertainty hatched densely, 1 px taller than the bar on either side."""
    return (
        f'<rect x="{number(left)}%" y="{number(size.top - 1)}" width="{number(right - left)}%" '
        f'height="{size.thickness + 2}" fill="url(#ep-doubt)" stroke="var(--ink)" stroke-width="1"/>'
    )


def outline(left: float, right: float, size: Size) -> str:
    """Not measured: an open outline from end to end."""
    return (
        f'<rect x="{number(left)}%" y="{number(size.top)}" width="{number(right - left)}%" '
        f'height="{size.thickness}" fill="none" stroke="var(--open-line)" stroke-width="1.5"/>'
    )


def whisker(strokes: str) -> str:
    """The strokes of a whisker as one, so that a very narrow bar can do without."""
    return f'<g class="whisker">{strokes}</g>' if strokes else ""


def whisker_inside(x: float, size: Size) -> str:
    """The whisker's end that lies in the fill: a slit of paper, with its cap sticking out above and below."""
    slit = f"M0 {number(size.top)}v{size.thickness}"
    caps = f"M0 {number(size.top - 2.5)}v2.5M0 {number(size.bottom)}v2.5"
    return pinned(x, f'<path d="{slit}" {_stroke("paper", 1.8)}/><path d="{caps}" {_stroke("ink", 1.5)}/>')


def whisker_outside(start: float, end: float, size: Size, *, capped: bool) -> str:
    """The whisker's arm outside the fill, haloed in paper, with a cap unless it runs off the scale."""
    arm = level(start, end, size.middle, "paper", 4.5) + level(start, end, size.middle, "ink", 1.5)
    if not capped:
        return arm
    cap = f'<path d="M0 {number(size.top - 2.5)}v{size.thickness + 5}"'
    return arm + pinned(end, f"{cap} {_stroke('paper', 4.5)}/>{cap} {_stroke('ink', 1.5)}/>")


def bracket(x: float, size: Size, *, opens_right: bool) -> str:
    """The two feet that turn a whisker's cap into a square bracket: the reading is a range."""
    reach = "h4" if opens_right else "h-4"
    feet = f'<path d="M0 {number(size.top - 2)}{reach}M0 {number(size.bottom + 2)}{reach}"'
    return pinned(x, f'{feet} fill="none" stroke="var(--ink)" stroke-width="1.5"/>')


def arrow(x: float, size: Size, *, to_right: bool) -> str:
    """A one-sided reading: a cap at the bound and an arrow to the side where the value lies."""
    turn = 1 if to_right else -1
    length, barb = (15 * turn, 4 * turn) if size.height > 14 else (12 * turn, 3 * turn)
    mid, tall = number(size.middle), size.thickness + 4
    path = (
        f"M0 {number(size.top - 2)}v{tall}M0 {mid}h{length}m{-barb} {-abs(barb)}l{barb} {abs(barb)}l{-barb} {abs(barb)}"
    )
    halo = f'<path d="{path}" fill="none" stroke="var(--paper)" stroke-width="4.5"/>'
    return pinned(x, halo + f'<path d="{path}" fill="none" stroke="var(--ink)" stroke-width="1.5"/>')


def struck(size: Size) -> str:
    """Retired: one stroke through everything, from edge to edge."""
    return level(0, 100, size.middle, "ink", 2)


def cut_off(x: float, size: Size) -> str:
    """Two slashes of paper through a bar that goes on past the scale."""
    top, bottom = size.top - 2, size.bottom + 2
    slashes = "".join(f"M{x0} {number(bottom)}l6 {number(top - bottom)}" for x0 in (-3, 4))
    return pinned(x, f'<path d="{slashes}" fill="none" stroke="var(--paper)" stroke-width="2.5"/>')
