"""The allowance bar of a dimension with a least and a most: ticks at both ends, what is new as a band between.

In: a TwoSidedBar, whose lengths are fractions of the way from the least allowed (0) to the most allowed (1). Out: SVG
text for `allowance_bar`. The bar is filled from where the part began to where it is now, so that its direction shows.
"""

from msgspec import Struct

from engine_pages.pages import bar_strokes as draw
from engine_pages.pages.bar_strokes import Ends, Size, State

LEAST = 8.0  # per cent across where the lower limit's tick stands
MOST = 92.0  # and the upper limit's; the room outside is for what lies beyond
EDGE = 0.4  # per cent kept free at either edge
SHORTEST_FORECAST = 0.04  # of the way between the limits; shorter hatching is a smudge
TOUCHING = 0.01  # of the way between the limits; ends nearer than this are drawn as one


class TwoSidedBar(Struct, frozen=True):
    """What a bar between two limits shows. All lengths: fraction of the way from the least (0) to the most (1) allowed.

    `value` is None when nothing was read; `low`, `high` are the ends of its interval; `as_built` is where it began;
    `new_low`, `new_high` what is allowed when new; `forecast` where it stands at the end of the plan.
    """

    state: State
    value: float | None
    as_built: float | None = None
    new_low: float | None = None
    new_high: float | None = None
    low: float | None = None
    high: float | None = None
    forecast: float | None = None
    ends: Ends = "gauge"


def two_sided_strokes(bar: TwoSidedBar, size: Size) -> str:
    """Everything inside the drawing of a bar between two limits."""
    value = bar.value
    parts = [_new_band(bar, size), draw.level(LEAST, MOST, size.bottom, "open-line", 1)]
    if value is None:
        parts.append(draw.outline(LEAST, MOST, size) if bar.state in ("not measured", "retired") else "")
    elif bar.ends in ("under", "over"):
        parts.append(_one_sided_fill(bar, value, size))
    else:
        parts += [_fill(bar, value, size), _forecast(bar, value, size)]
    parts.append(_doubt(bar, size))
    parts.append(_limits(bar, size))
    if bar.as_built is not None:
        parts.append(draw.as_built_tick(_across(bar.as_built), size))
    if value is not None and size.whiskers and bar.state not in ("undecided", "retired"):
        parts.append(_whisker(bar, value, size))
    if value is not None and bar.as_built is None and bar.ends not in ("under", "over"):
        parts.append(_point(bar, value, size))
    if bar.state == "retired":
        parts.append(draw.struck(size))
    return "".join(parts)


def _across(fraction: float) -> float:
    return min(max(LEAST + (MOST - LEAST) * fraction, EDGE), 100 - EDGE)


def _new_band(bar: TwoSidedBar, size: Size) -> str:
    if bar.new_low is None or bar.new_high is None:
        return ""
    left, right = _across(bar.new_low), _across(bar.new_high)
    return (
        f'<rect x="{draw.number(left)}%" y="{draw.number(size.top - 2)}" width="{draw.number(right - left)}%" '
        f'height="{size.thickness + 4}" fill="var(--band)"/>'
    )


def _fill(bar: TwoSidedBar, value: float, size: Size) -> str:
    """From where it began to the reading; with no beginning there is only a point, drawn last."""
    if bar.as_built is None:
        return ""
    start, end = _across(bar.as_built), _across(value)
    if bar.state == "undecided" and bar.low is not None and bar.high is not None:
        end = _across(bar.low if bar.high < bar.as_built or value < bar.as_built else bar.high)
    if bar.state != "undecided" and abs(end - start) < 0.6:  # a reading on the spot still shows
        end = start + (0.6 if start < 50 else -0.6)
    return draw.block(start, end, size, draw.FILL[bar.state])


def _one_sided_fill(bar: TwoSidedBar, bound: float, size: Size) -> str:
    """Pale where the value may lie: below the bound or above it."""
    here = _across(bound)
    far = LEAST if bar.ends == "under" else MOST
    arrow = draw.arrow(here, size, to_right=bar.ends == "over") if bar.state != "undecided" else ""
    return draw.block(here, far, size, "band") + arrow


def _forecast(bar: TwoSidedBar, value: float, size: Size) -> str:
    if bar.forecast is None or bar.state in ("undecided", "retired"):
        return ""
    rising = bar.forecast >= value
    reach = (bar.high if rising else bar.low) if size.whiskers else None
    start = value if reach is None else (max(value, reach) if rising else min(value, reach))
    length = bar.forecast - start if rising else start - bar.forecast
    if length < SHORTEST_FORECAST:
        return ""
    gap = 0.8 if start != value else 0.0  # keeps the hatching clear of the whisker's cap
    left = _across(start) + (gap if rising else -gap)
    if not EDGE <= left <= 100 - EDGE:
        return ""
    inside = LEAST + (MOST - LEAST) * bar.forecast
    return draw.hatch(left, _across(bar.forecast), size, bar.state, ended=EDGE < inside < 100 - EDGE)


def _doubt(bar: TwoSidedBar, size: Size) -> str:
    """The hatched part of an undecided bar: its interval, or all that a one-sided reading leaves open."""
    if bar.state != "undecided":
        return ""
    low, high = bar.low, bar.high
    if bar.ends == "under":
        low, high = -1.0, bar.value
    elif bar.ends == "over":
        low, high = bar.value, 2.0
    return "" if low is None or high is None else draw.doubt(_across(low), _across(high), size)


def _limits(bar: TwoSidedBar, size: Size) -> str:
    """Both ticks; the one that is concerned, nearest to what is shown, carries the state's mark."""
    shown = bar.value if bar.value is not None else bar.as_built
    lower = shown is not None and shown < 0.5
    strokes = []
    for x, concerned in ((LEAST, lower), (MOST, not lower)):
        over = concerned and bar.state in draw.OVER
        inside = bar.value is None or 0 <= bar.value <= 1
        strokes.append(draw.over_the_tick(x, size) if over and inside else "")
        strokes.append(draw.tick(x, size, crossed=over))
        strokes.append(draw.head_mark(x, size, bar.state) if concerned else "")
    return "".join(strokes)


def _whisker(bar: TwoSidedBar, value: float, size: Size) -> str:
    """The interval's two ends: the one nearer the beginning lies in the fill, the other outside it."""
    if bar.low is None or bar.high is None or bar.ends in ("under", "over"):
        return ""
    start = value if bar.as_built is None else bar.as_built
    inner, outer = (bar.low, bar.high) if value >= start else (bar.high, bar.low)
    in_fill = min(start, value) + TOUCHING < inner < max(start, value) - TOUCHING
    if in_fill:
        strokes = draw.whisker_inside(_across(inner), size)
    elif abs(inner - start) > TOUCHING:  # it reaches back past the beginning
        strokes = _arm(start, inner, size)
    else:
        strokes = ""
    strokes += _arm(value, outer, size)
    if bar.ends == "range":
        strokes += draw.bracket(_across(outer), size, opens_right=outer < value)
        strokes += draw.bracket(_across(inner), size, opens_right=inner < value) if in_fill else ""
    return draw.whisker(strokes)


def _arm(start: float, end: float, size: Size) -> str:
    capped = EDGE < LEAST + (MOST - LEAST) * end < 100 - EDGE
    return draw.whisker_outside(_across(start), _across(end), size, capped=capped)


def _point(bar: TwoSidedBar, value: float, size: Size) -> str:
    """A reading with no beginning to fill from: a round point."""
    dot = f'<circle cy="{draw.number(size.middle)}" r="{size.thickness / 2}" fill="var(--{draw.FILL[bar.state]})"/>'
    return draw.pinned(_across(value), dot)
