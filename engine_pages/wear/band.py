"""Where a line and its confidence band meet a level, solved exactly: the numbers of a line in, exposures out.

With distance g(x) = p + m·x of the line past the level and variance s²(x) of the line, the band meets the level where
g² = q²·s² (Fieller 1954, as in inverse prediction). With slope clear of zero that is one exposure on each side of the
crossing; with a slope that may be zero there may be a bound on one side alone, or none.
"""

import math

from msgspec import Struct

NEVER = math.inf


class Passage(Struct, frozen=True):
    """Exposures at which a level is passed: earliest, by the line itself, latest. Infinite is never or no bound;
    an earliest of −inf says that nothing is known."""

    low: float
    median: float
    high: float


class Distance(Struct, frozen=True):
    """The line's distance past a level, p + m·x, and its variance, c00 + 2·c01·x + c11·x²."""

    p: float
    m: float
    c00: float
    c01: float
    c11: float


Span = tuple[float, float]


def passage(line: Distance, quantile: float) -> Passage:
    """When the line passes the level, from exposure zero on, with the band of `quantile` standard deviations.

    >>> passage(Distance(p=-4.0, m=2.0, c00=0.25, c01=0.0, c11=0.0), quantile=2.0)
    Passage(low=1.5, median=2.0, high=2.5)
    >>> passage(Distance(p=-4.0, m=0.0, c00=0.0, c01=0.0, c11=0.01), quantile=2.0)
    Passage(low=20.0, median=inf, high=inf)
    """
    inside, past = _clear(line, quantile)
    if inside is not None and inside[1] > 0.0:
        low = inside[1]
    else:
        clear_slope = line.m * line.m > quantile * quantile * line.c11
        past_from_start = past is not None and past[0] <= 0.0 <= past[1]
        low = 0.0 if clear_slope or past_from_start else -math.inf
    median = max(-line.p / line.m, 0.0) if line.m > 0.0 else NEVER
    if line.m <= 0.0 <= line.p and low <= 0.0:
        median = 0.0  # past the level at first, and not clear inside it later on
    high = max(past[0], 0.0) if past is not None and past[1] >= 0.0 else NEVER
    return Passage(low, median, high)


def _clear(line: Distance, quantile: float) -> tuple[Span | None, Span | None]:
    """The exposures at which the whole band lies inside the level, and those at which it lies past it.

    A line that clearly comes back from past its level will not pass it: what lies behind is left out.
    """
    p, m, q2 = line.p, line.m, quantile * quantile
    a = m * m - q2 * line.c11
    b = p * m - q2 * line.c01
    c = p * p - q2 * line.c00
    # b² − a·c, written so that nothing cancels where the line is known well.
    of_line = m * m * line.c00 - 2.0 * p * m * line.c01 + p * p * line.c11
    root = q2 * (of_line - q2 * (line.c00 * line.c11 - line.c01 * line.c01))
    if a > 0.0:
        low, high = _roots(a, b, c, max(root, 0.0))
        before, after = (-math.inf, low), (high, math.inf)
        return (before, after) if m > 0.0 else (after, None)
    clear = _half_line(b, c) if a == 0.0 else _roots(a, b, c, root) if root > 0.0 else None
    if clear is None:
        return None, None
    return (clear, None) if p + m * _within(clear) < 0.0 else (None, clear)


def _roots(a: float, b: float, c: float, root: float) -> Span:
    """Both solutions of a·x² + 2·b·x + c = 0 in order, `root` being b² − a·c ≥ 0; a is not zero."""
    far = -(b + math.copysign(math.sqrt(root), b))
    if far == 0.0:
        return 0.0, 0.0
    first, second = far / a, c / far
    return min(first, second), max(first, second)


def _half_line(b: float, c: float) -> Span | None:
    """Where 2·b·x + c is above zero: the slope lies exactly at the edge of what is clear."""
    if b == 0.0:
        return (-math.inf, math.inf) if c > 0.0 else None
    edge = -c / (2.0 * b)
    return (edge, math.inf) if b > 0.0 else (-math.inf, edge)


def _within(span: Span) -> float:
    """An exposure at which to ask on which side of its level a clear line lies."""
    low, high = span
    if math.isfinite(low) and math.isfinite(high):
        return low + (high - low) / 2.0
    return next((end for end in span if math.isfinite(end)), 0.0)
