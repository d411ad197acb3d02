"""The marks that every page uses: the allowance bar, the word of a state with its glyph, the hatching they share.

In: small frozen values that say what is to be seen. Out: SVG as Markup, ready for a template. Form carries the meaning
and colour only repeats it, so every mark reads on a grey printer and to a colour-blind eye. The markup that goes around
them stands at the top of site_template/styles/page.css.
"""

from collections.abc import Mapping
from typing import Final

from markupsafe import Markup, escape
from msgspec import Struct

from engine_pages.pages import bar_strokes as draw
from engine_pages.pages.bar_strokes import Ends, Size, State
from engine_pages.pages.marks_two_sided import TwoSidedBar, two_sided_strokes

__all__ = ["Bar", "Ends", "State", "TwoSidedBar", "allowance_bar", "hatchings_for", "state_word"]

AS_BUILT = 1.0  # per cent across where a part begins
LIMIT = 78.0  # and where its limit stands
SCALE_END = 1.26  # allowance used at the end of the scale: room for what runs over
SHORTEST_FORECAST = 0.04  # of the allowance; shorter hatching is a smudge


class Bar(Struct, frozen=True):
    """What an allowance bar with one limit shows. All lengths: fraction of the allowance, 0 as built, 1 at the limit.

    `used` is None when nothing was read, or when there is no baseline to reckon from. `low`, `high` are the ends of its
    interval; `ends` says what kind of reading it was: by gauge, a range, or one-sided (`used` is then the bound).
    `forecast` is the allowance used at the end of the plan.
    """

    state: State
    used: float | None
    low: float | None = None
    high: float | None = None
    ends: Ends = "gauge"
    forecast: float | None = None


def allowance_bar(bar: Bar | TwoSidedBar, height: int, label: str) -> Markup:
    """The one drawing of how much is used, 26, 22, 14 or 8 px high; an empty label makes it decorative.

    Raises ValueError for any other height. `label` is read out in place of the drawing: "67 % used, near limit".
    """
    size = draw.size_of(height)
    strokes = one_sided_strokes(bar, size) if isinstance(bar, Bar) else two_sided_strokes(bar, size)
    said = Markup('role="img" aria-label="{}"').format(label) if label else Markup('aria-hidden="true"')
    names = f"allowance-bar high-{height} {bar.state.replace(' ', '-')}"
    frame = Markup('<svg class="{}" height="{}" width="100%" {}>').format(names, height, said)
    return frame + Markup(strokes) + Markup("</svg>")


def one_sided_strokes(bar: Bar, size: Size) -> str:
    """Everything inside the drawing of a bar with one limit."""
    used, over = bar.used, bar.state in draw.OVER
    parts = []
    if used is None:
        parts.append(_without_reading(bar, size))
    else:
        parts += [draw.level(AS_BUILT, LIMIT, size.bottom, "open-line", 1), draw.as_built_tick(AS_BUILT, size)]
        parts += [_fill(bar, used, size), _forecast(bar, used, size), _doubt(bar, used, size)]
    if over and (used is None or used < 1):
        parts.append(draw.over_the_tick(LIMIT, size))
    parts += [draw.tick(LIMIT, size, crossed=over), draw.head_mark(LIMIT, size, bar.state)]
    if used is not None:
        parts.append(_reading_ends(bar, used, size))
    if bar.state == "retired":
        parts.append(draw.struck(size))
    return "".join(parts)


def _across(used: float) -> float:
    """Position in per cent of a fraction of the allowance, kept on the scale."""
    return AS_BUILT + (LIMIT - AS_BUILT) * min(max(used, 0.0), SCALE_END)


def _without_reading(bar: Bar, size: Size) -> str:
    """Nobody looked: an open outline. Judged without a figure: a dashed line that begins nowhere."""
    if bar.state in ("not measured", "retired"):
        return draw.outline(AS_BUILT, LIMIT, size) + draw.as_built_tick(AS_BUILT, size)
    return draw.level(AS_BUILT, LIMIT, size.middle, "open-line", 1.5, "2 4")


def _fill(bar: Bar, used: float, size: Size) -> str:
    if bar.ends == "under":  # somewhere below the bound, and nothing says where
        return draw.block(AS_BUILT, _across(used), size, "band")
    end = used
    if bar.state == "undecided" and bar.low is not None:
        end = bar.low
    return draw.block(AS_BUILT, max(_across(end), AS_BUILT + 0.6), size, draw.FILL[bar.state])


def _forecast(bar: Bar, used: float, size: Size) -> str:
    if bar.forecast is None or bar.ends in ("under", "over") or bar.state in ("undecided", "retired"):
        return ""
    start = max(used, bar.high) if bar.high is not None and size.whiskers else used
    if bar.forecast - start < SHORTEST_FORECAST or start > SCALE_END:
        return ""
    gap = 0.8 if start > used else 0.0  # keeps the hatching clear of the whisker's cap
    return draw.hatch(_across(start) + gap, _across(bar.forecast), size, bar.state, ended=bar.forecast <= SCALE_END)


def _doubt(bar: Bar, used: float, size: Size) -> str:
    """The hatched part of an undecided bar: its interval, or all that a one-sided reading leaves open."""
    if bar.state != "undecided":
        return ""
    low = 0.0 if bar.ends == "under" else bar.low
    high = SCALE_END if bar.ends == "over" else bar.high
    if bar.ends == "under":
        high = used if high is None else high
    if bar.ends == "over":
        low = used if low is None else low
    return "" if low is None or high is None else draw.doubt(_across(low), _across(high), size)


def _reading_ends(bar: Bar, used: float, size: Size) -> str:
    """How well the reading is known: a whisker, brackets, an arrow, or slashes where it leaves the scale."""
    if used > SCALE_END:
        return draw.cut_off(_across(1.17), size)
    if bar.state in ("undecided", "retired"):  # the hatching says it, or nobody needs to know
        return ""
    if bar.ends in ("under", "over"):
        return draw.arrow(_across(used), size, to_right=bar.ends == "over")
    if not size.whiskers or bar.low is None or bar.high is None:
        return ""
    on_scale = bar.high <= SCALE_END
    strokes = draw.whisker_outside(_across(used), _across(bar.high), size, capped=on_scale)
    if bar.low > 0.01:  # a whisker that reaches back to as built needs no slit there
        strokes = draw.whisker_inside(_across(bar.low), size) + strokes
        if bar.ends == "range":
            strokes += draw.bracket(_across(bar.low), size, opens_right=True)
    if bar.ends == "range" and on_scale:
        strokes += draw.bracket(_across(bar.high), size, opens_right=False)
    return draw.whisker(strokes)


# The glyph beside a word is the same tick in little, 16 × 14 px. Within has none, retired is struck instead.
_TICK = '<rect x="7" width="2.2" height="14" fill="var(--ink)"/>'
_GAP = '<rect x="5.6" y="2" width="5" height="12" fill="var(--paper)"/>'
_GLYPHS: Mapping[State, str] = {
    "near limit": _TICK + '<circle cx="8.1" cy="4.4" r="4.4" fill="var(--warm)"/>',
    "undecided": '<rect x=".7" y="3.7" width="14.6" height="7.6" fill="url(#ep-doubt)" stroke="var(--ink)"/>',
    "due": _TICK + '<path d="M2 0h12.2l-6.1 8z" fill="var(--ink)"/>',
    "overdue": '<rect y="7.5" width="16" height="5.5" fill="var(--beyond)"/>'
    + _GAP
    + _TICK
    + '<path d="M2.6 0h11l-5.5 6z" fill="var(--beyond)"/>',
    "beyond limit": '<rect y="3.5" width="16" height="7" fill="var(--beyond)"/>' + _GAP + _TICK,
    "not measured": '<rect x=".75" y="3.75" width="14.5" height="6.5" fill="none" stroke="var(--open-line)" '
    'stroke-width="1.5"/>',
}


def state_word(state: State, said: str | None = None) -> Markup:
    """The word of a state and, after it, its glyph. The word alone is read out; the glyph is decoration.

    `said` stands for the word where the state's own would claim too much.

    >>> print(state_word("within"))
    <span class="state within">within</span>
    >>> print(state_word("within", "no limit written"))
    <span class="state within">no limit written</span>
    """
    name = state.replace(" ", "-")
    if state == "retired":
        return Markup('<span class="state retired"><s>retired</s></span>')
    glyph = _GLYPHS.get(state)
    drawn = f'<svg viewBox="0 0 16 14" width="16" height="14" aria-hidden="true">{glyph}</svg>' if glyph else ""
    return Markup(f'<span class="state {name}">{escape(said or state)}{drawn}</span>')


# By name: from stroke to stroke and how wide a stroke is, in px; degrees by which they are turned; their paint.
HATCHINGS: Final[Mapping[str, tuple[float, float, int, str]]] = {
    "ep-forecast": (5, 1.7, 45, "steel"),
    "ep-forecast-warm": (5, 1.7, 45, "warm"),
    "ep-doubt": (3.6, 1.8, -45, "ink"),
    "ep-shelf": (6, 1, 45, "open-line"),
}


def hatchings_for(html: str) -> Markup:
    """The hatchings that a page's bars and charts point to; they stand on it once, before the first mark."""
    found = [_hatching(name, *look) for name, look in HATCHINGS.items() if f"url(#{name})" in html]
    if not found:
        return Markup("")
    return Markup(
        '<svg class="hatchings" width="0" height="0" style="position:absolute" aria-hidden="true">'
        f"<defs>{''.join(found)}</defs></svg>"
    )


def _hatching(name: str, pitch: float, stroke: float, turn: int, paint: str) -> str:
    """One hatching: strokes of `stroke` px every `pitch` px on paper, turned by so many degrees."""
    return (
        f'<pattern id="{name}" width="{pitch}" height="{pitch}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({turn})"><rect width="{pitch}" height="{pitch}" fill="var(--paper)"/>'
        f'<rect width="{stroke}" height="{pitch}" fill="var(--{paint})"/></pattern>'
    )
