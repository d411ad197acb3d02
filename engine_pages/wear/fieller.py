"""The ratio of two estimates with its interval: values and covariance in, a ratio that may lack bounds out."""

import math

from msgspec import Struct

Covariance = tuple[tuple[float, float], tuple[float, float]]


class Ratio(Struct, frozen=True):
    """A ratio of two rates, no unit. `value` None: the estimate below the line is not above zero.

    `low` and `high` are the ends of Fieller's interval; None is no bound on that side.
    """

    value: float | None
    low: float | None
    high: float | None


def fieller(above: float, below: float, covariance: Covariance, quantile: float) -> Ratio:
    """The ratio above ÷ below of two normal estimates in one unit, with Fieller's interval.

    `covariance` is 2 × 2, of (above, below), the square of their unit; `quantile` half the width of the interval in
    standard deviations (normal, or Student's t where the covariance was estimated). The interval holds every ratio ρ
    for which above − ρ · below is no further from zero than `quantile` of its own standard deviations (Fieller 1954,
    J. R. Stat. Soc. B 16, 175–185). Where `below` may be zero these ratios reach infinity: they are then all (no
    bounds), or all but a gap. Such a gap that holds zero leaves its upper end as `low`, since a ratio of wear is not
    below zero; any other gap leaves no bounds. A bounded interval is given as it is, also where it begins below zero.
    Assumes that both estimates are normal. ValueError for numbers that are not finite, negative variances or quantile.

    >>> ratio = fieller(6.0, 10.0, ((0.25, 0.0), (0.0, 0.25)), 2.0)
    >>> ratio.value, round(ratio.low, 6), round(ratio.high, 6)
    (0.6, 0.488697, 0.723424)
    >>> fieller(6.0, 1.0, ((0.25, 0.0), (0.0, 1.0)), 2.0).high is None
    True
    """
    (of_above, common), (_, of_below) = covariance
    if not all(math.isfinite(number) for number in (above, below, of_above, common, of_below, quantile)):
        raise ValueError("estimates, their covariance and the quantile are finite numbers")
    if of_above < 0.0 or of_below < 0.0 or quantile < 0.0:
        raise ValueError("variances and the quantile are not negative")
    q2 = quantile * quantile
    # Ratios with a·ρ² − 2·b·ρ + c ≤ 0.
    a = below * below - q2 * of_below
    b = above * below - q2 * common
    c = above * above - q2 * of_above
    # b² − a·c, written so that nothing cancels where both estimates are known well.
    of_difference = below * below * of_above - 2.0 * above * below * common + above * above * of_below
    root = q2 * (of_difference - q2 * (of_above * of_below - common * common))
    value = above / below if below > 0.0 else None
    return Ratio(value, *_ends(a, b, c, root))


def _ends(a: float, b: float, c: float, root: float) -> tuple[float | None, float | None]:
    """The ends of the ratios with a·ρ² − 2·b·ρ + c ≤ 0, `root` being b² − a·c."""
    if a > 0.0:
        return _solutions(a, b, c, max(root, 0.0))
    if a == 0.0:
        edge = c / (2.0 * b) if b != 0.0 else 0.0
        return (edge if b > 0.0 else None, edge if b < 0.0 else None)
    if root <= 0.0:
        return None, None
    low, high = _solutions(a, b, c, root)
    return (high, None) if low < 0.0 < high else (None, None)


def _solutions(a: float, b: float, c: float, root: float) -> tuple[float, float]:
    """Both solutions of a·ρ² − 2·b·ρ + c = 0 in order; a is not zero."""
    far = b + math.copysign(math.sqrt(root), b)
    if far == 0.0:
        return 0.0, 0.0
    first, second = far / a, c / far
    return min(first, second), max(first, second)
