"""A value against its limits: the verdict, and how much of its allowance is used.

Values with their uncertainty and limits in one unit come in; verdicts and shares of an allowance go out. The rule of
decision is that of ISO 14253-1: what lies nearer to a limit than its uncertainty reaches is undecided.
"""

import math
from statistics import NormalDist
from typing import Literal

from msgspec import Struct

from engine_pages.wear.measured import Measured, covariance

Verdict = Literal["within", "undecided", "beyond"]
Wears = Literal["up", "down", "either", "none"]
Side = Literal["min", "max"]

# U = k·u: one-sided 95 % of a normal distribution, the usual rule of acceptance (ISO 14253-1).
ONE_SIDED_95 = 1.645

# Two figures that agree to this share of themselves are the same figure: a millionth of a millimetre on a metre, far
# below any gauge, far above what arithmetic in binary leaves behind.
SAME_FIGURE = 1e-9


class Limit(Struct, frozen=True):
    """The smallest and the largest value that may still run, either or both; ValueError for neither or crossed ones."""

    min: float | None = None
    max: float | None = None

    def __post_init__(self) -> None:
        if self.min is None and self.max is None:
            raise ValueError("a limit has a min, a max or both")
        if self.min is not None and self.max is not None and self.min > self.max:
            raise ValueError(f"a limit's min {self.min} lies above its max {self.max}")


class Allowance(Struct, frozen=True):
    """The share of the allowance that is used (0 at the baseline, 1 at the limit), its interval, and which limit."""

    used: float
    low: float
    high: float
    side: Side


def verdict(m_value: float, u: float, limit: Limit, k: float = ONE_SIDED_95) -> Verdict:
    """Within when value ± k·u lies inside the limits, beyond when it lies wholly outside, else undecided.

    `u` is the standard uncertainty. A value at a limit with no uncertainty is within.

    >>> bearing = Limit(max=60.105)
    >>> [verdict(value, 0.002, bearing) for value in (60.100, 60.104, 60.110)]
    ['within', 'undecided', 'beyond']
    """
    reach = k * u
    low, high = m_value - reach, m_value + reach
    if (limit.max is not None and _above(low, limit.max)) or (limit.min is not None and _above(limit.min, high)):
        return "beyond"
    if (limit.max is None or not _above(high, limit.max)) and (limit.min is None or not _above(limit.min, low)):
        return "within"
    return "undecided"


def verdict_one_sided(reading: Literal["under", "over"], bound: float, limit: Limit) -> Verdict:
    """The verdict on a reading that says only "under 0.05" or "over 0.05"; the bound itself is taken as exact.

    >>> verdict_one_sided("under", 0.05, Limit(max=0.10)), verdict_one_sided("over", 0.10, Limit(max=0.10))
    ('within', 'beyond')
    >>> verdict_one_sided("under", 0.05, Limit(min=0.02, max=0.10))
    'undecided'
    """
    lower, upper = (limit.min, limit.max) if reading == "under" else (limit.max, limit.min)
    # Seen from "under": nothing is known downward, so a limit below is passed for certain or not decided at all.
    sign = 1.0 if reading == "under" else -1.0
    if lower is not None:
        return "undecided" if _above(sign * bound, sign * lower) else "beyond"
    return "within" if upper is not None and not _above(sign * bound, sign * upper) else "undecided"


def allowance_used(
    value: Measured,
    baseline: Measured | None,
    limit: Limit,
    wears: Wears,
    rate: float | None = None,
    confidence: float = 0.90,
) -> Allowance | None:
    """(value − baseline) / (limit − baseline), with a two-sided normal interval of first order.

    `baseline` is the reading on the day the part's baseline began, or the range of a new part as a bracket; what it
    shares with `value` cancels, and the very same object is no distance at all. Of two limits the one that the line
    heads for counts: `rate` (its sign alone matters), else the way it `wears`, else the nearer one. Outside 0 to 1 the
    share is left as it is. None with nothing to start from, or where the allowance itself is not clear of zero.

    >>> round(allowance_used(Measured(60.061), Measured(60.051), Limit(max=60.101), "up").used, 6)
    0.2
    """
    if baseline is None:
        return None
    side = _headed_for(value.value, limit, wears, rate)
    level = limit.max if side == "max" else limit.min
    assert level is not None
    quantile = NormalDist().inv_cdf(0.5 + confidence / 2.0)
    allowance = level - baseline.value if side == "max" else baseline.value - level
    if not _above(allowance, quantile * baseline.u) or math.isclose(level, baseline.value, rel_tol=SAME_FIGURE):
        return None
    gone = 0.0 if value is baseline else value.value - baseline.value
    used = gone / (level - baseline.value)
    reach = 0.0 if value is baseline else quantile * _u_of_share(value, baseline, used, level)
    return Allowance(used, used - reach, used + reach, side)


def _u_of_share(value: Measured, baseline: Measured, used: float, level: float) -> float:
    """Standard uncertainty of the used share: ∂/∂value = 1/(limit − baseline), ∂/∂baseline = (share − 1) times that."""
    left = used - 1.0
    variance = value.variance + left * left * baseline.variance + 2.0 * left * covariance(value, baseline)
    return math.sqrt(max(variance, 0.0)) / abs(level - baseline.value)


def _headed_for(value: float, limit: Limit, wears: Wears, rate: float | None) -> Side:
    """Which limit counts: the only one, that of the rate, that of the wear, the nearer."""
    if limit.min is None or limit.max is None:
        return "max" if limit.min is None else "min"
    if rate:
        return "max" if rate > 0.0 else "min"
    if wears in ("up", "down"):
        return "max" if wears == "up" else "min"
    return "max" if limit.max - value <= value - limit.min else "min"


def _above(first: float, second: float) -> bool:
    """Whether a figure is larger than another by more than the noise of arithmetic."""
    return first > second and not math.isclose(first, second, rel_tol=SAME_FIGURE)
