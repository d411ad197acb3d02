"""A Weibull law for the lives of like units: lives in, shape, scale, reliability and quantiles with intervals out.

The share that outlives x is exp(−(x / scale)^shape). Maximum likelihood by exact, right-censored, interval-censored and
left-truncated lives together; every interval is a normal one on a logarithmic scale.
"""

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from engine_pages.wear.lifetimes import Lifetime, Tied, Vector, failures, normal_quantile, tied_lives
from engine_pages.wear.roots import roots
from engine_pages.wear.trend import Interval
from engine_pages.wear.weibull_likelihood import Derivatives, derivatives, log_likelihood, slopes_by_log_rate

# Two unknowns. A page shows no law below `lifetimes.FEWEST_FAILURES`; the arithmetic needs no more than this.
FEWEST_FOR_FIT = 2

# Shapes among which the maximum is looked for, a pure number. Parts that wear have 1 to 6; a maximum at the ends is
# none: below, failures without any law of hours, above, lives that are all one and the same.
LOG_SHAPES = np.arange(math.log(0.02), math.log(20_000.0), 0.2)
# A likelihood that is at an end as high as anywhere, in the logarithm, has no maximum either.
FLAT = 1e-7
# Newton's steps from the best of those shapes: until what a step would still gain is this, in the logarithm.
GAIN = 1e-13
MOST_STEPS = 60


class Weibull(Struct, frozen=True):
    """The law that fits n lives best. `shape` is a pure number, `scale` the exposure by which 63.2 % have failed.

    Shape and scale have normal intervals of their logarithms, `covariance` is that of (log shape, log scale) from the
    observed information. `log_likelihood` is that of exposures in the unit given.
    """

    shape: Interval
    scale: Interval
    covariance: tuple[tuple[float, float], tuple[float, float]]
    log_likelihood: float
    n: int
    failures: int
    confidence: float

    def reliability(self, exposure: float) -> Interval:
        """The share that outlives an exposure since new, 0 to 1; normal interval of log(−log R). ValueError below 0.

        >>> law = fit_weibull([Lifetime(x, x) for x in (80.0, 100.0, 130.0)])
        >>> round(law.reliability(law.scale.value).value, 6), law.reliability(0.0).value
        (0.367879, 1.0)
        """
        if not 0.0 <= exposure < math.inf:
            raise ValueError(f"an exposure is finite and not below zero, not {exposure}")
        if exposure == 0.0:
            return Interval(1.0, 1.0, 1.0)
        beyond = self.shape.value * (math.log(exposure) - math.log(self.scale.value))
        reach = self._reach(beyond, -self.shape.value)
        value, low, high = (_outlive(beyond + side) for side in (0.0, reach, -reach))
        return Interval(value, low, high)

    def life_at(self, share: float) -> Interval:
        """The exposure by which a share of the units has failed (0.1: B10); normal interval of its logarithm.

        ValueError outside 0 < share < 1.

        >>> law = fit_weibull([Lifetime(x, x) for x in (80.0, 100.0, 130.0)])
        >>> round(law.reliability(law.life_at(0.1).value).value, 9)
        0.9
        """
        if not 0.0 < share < 1.0:
            raise ValueError(f"a share of failed units lies between 0 and 1, not at {share}")
        below = math.log(-math.log1p(-share)) / self.shape.value
        return _on_log_scale(math.log(self.scale.value) + below, self._reach(-below, 1.0))

    def _reach(self, by_shape: float, by_scale: float) -> float:
        """Half an interval of what changes so much with log shape and log scale."""
        (c00, c01), (_, c11) = self.covariance
        variance = c00 * by_shape**2 + 2.0 * c01 * by_shape * by_scale + c11 * by_scale**2
        return normal_quantile(self.confidence) * math.sqrt(max(variance, 0.0))


def fit_weibull(lives: Sequence[Lifetime], confidence: float = 0.90) -> Weibull:
    """The Weibull law of n lives by maximum likelihood (Nelson 1982, Meeker and Escobar 1998).

    An exact failure gives its density, one between two strips the share that fails between them, one that runs or was
    taken out the share that outlives it, each ÷ the share that outlives the exposure with which the unit came in. For
    a list of shapes the best scale is found between brackets (the likelihood bends one way in it), and from the best of
    those Newton's steps in (log shape, log scale). Scaling all exposures scales the law and nothing else.

    Two-sided intervals on log scales: they hold no impossible value, and are wide and lopsided with few failures, where
    the normal approximation is rough: on 700 drawn shops of 8 lives, about 5 of them failures, 90 % intervals of shape,
    scale and B10 held the truth 80 to 84 % of the time, of a reliability 88 %; with 20 lives 85 to 87 %. The shape
    itself comes out too large with few failures: with all lives failures by two fifths on average with five, a sixth
    with ten (drawn likewise). None of that is taken off. Assumes like, independent units and one law of failure: a
    mixture of two kinds of damage looks like a small shape.

    ValueError for a confidence outside 0 to 1, fewer than two failures, or where the likelihood has no maximum: all
    lives agree with one and the same length, or with failing at once or never, so that no shape is the best.

    >>> law = fit_weibull([Lifetime(x, x) for x in (1500, 2250, 4000, 4300, 7000)] + [Lifetime(1750), Lifetime(5000)])
    >>> round(law.shape.value, 3), round(law.scale.value, 1), round(law.shape.low, 2), round(law.shape.high, 2)
    (2.257, 4900.1, 1.27, 4.02)
    """
    normal_quantile(confidence)
    failed = failures(lives)
    if failed < FEWEST_FOR_FIT:
        raise ValueError(f"a Weibull law needs {FEWEST_FOR_FIT} failures, and {failed} are known")
    lines = tied_lives(lives)
    unit = float(np.where(lines.failed, lines.by, lines.good).max())
    lines = Tied(lines.entered / unit, lines.good / unit, lines.by / unit, lines.count)
    log_shape, log_scale, last = _maximum(lines, *_first_guess(lines))
    covariance = _covariance(last)
    quantile = normal_quantile(confidence)
    (c00, _), (_, c11) = covariance
    exact = lines.count[lines.exact].sum()
    return Weibull(
        shape=_on_log_scale(log_shape, quantile * math.sqrt(c00)),
        scale=_on_log_scale(log_scale + math.log(unit), quantile * math.sqrt(c11)),
        covariance=covariance,
        log_likelihood=float(last.value - exact * math.log(unit)),
        n=len(lives),
        failures=failed,
        confidence=confidence,
    )


def _first_guess(lines: Tied) -> tuple[float, float]:
    """(log shape, log scale) of the best of the listed shapes; ValueError where none of them is."""
    if lines.good.max() <= lines.by.min():
        raise ValueError("no maximum of the likelihood: all lives agree with one and the same length")
    if not (lines.good > lines.entered).any():
        raise ValueError("no maximum of the likelihood: no unit was ever known good past where it came in")
    shapes = np.exp(LOG_SHAPES)
    log_scales = -_best_log_rates(lines, shapes) / shapes
    heights = np.array([log_likelihood(lines, *at) for at in zip(LOG_SHAPES, log_scales.tolist(), strict=True)])
    if max(heights[0], heights[-1]) >= heights.max() - FLAT:
        raise ValueError("no maximum of the likelihood: it only grows as the shape goes to an end")
    best = int(heights.argmax())
    return float(LOG_SHAPES[best]), float(log_scales[best])


def _best_log_rates(lines: Tied, shapes: Vector) -> Vector:
    """The best log rate for each shape: where the slope by it changes its sign."""
    slopes = slopes_by_log_rate(lines, shapes)
    ends = np.concatenate([lines.good, lines.by[lines.failed]])
    # With the shortest life for a scale each unit's hazard is one and more: no rate is higher.
    low, high = np.full(shapes.shape, -1.0), 1.0 - shapes * math.log(ends[ends > 0.0].min())
    while (rises := slopes(low) < 0.0).any():
        low[rises] *= 2.0
    while (falls := slopes(high) > 0.0).any():
        high[falls] *= 2.0
    return roots(lambda nu: -slopes(nu), low, high)


def _maximum(lines: Tied, log_shape: float, log_scale: float) -> tuple[float, float, Derivatives]:
    """Newton's steps uphill, halved where they do not climb; ValueError where they do not come to rest."""
    at = np.array([log_shape, log_scale])
    here = derivatives(lines, log_shape, log_scale)
    for _ in range(MOST_STEPS):
        bends, axes = np.linalg.eigh(-here.second)
        if bends[0] > 0.0 and here.first @ np.linalg.solve(-here.second, here.first) < GAIN:
            return float(at[0]), float(at[1]), here
        step = axes @ ((axes.T @ here.first) / np.maximum(np.abs(bends), 1e-12))
        step *= min(1.0, 1.0 / float(np.abs(step).max()))
        at, here = _climb(lines, at, here, step)
    raise ValueError("no maximum of the likelihood was found: it is flat")


def _climb(lines: Tied, at: Vector, here: Derivatives, step: Vector) -> tuple[Vector, Derivatives]:
    """As far along a step as the likelihood does not fall."""
    for _ in range(40):
        there = at + step
        height = log_likelihood(lines, *there.tolist())
        if height >= here.value - 1e-12 * abs(here.value):
            break
        step = step / 2.0
    return there, derivatives(lines, *there.tolist())


def _covariance(last: Derivatives) -> tuple[tuple[float, float], tuple[float, float]]:
    """Inverse of the observed information."""
    inverse = np.linalg.inv(-last.second)
    return (float(inverse[0, 0]), float(inverse[0, 1])), (float(inverse[0, 1]), float(inverse[1, 1]))


def _on_log_scale(middle: float, reach: float) -> Interval:
    return Interval(math.exp(middle), _power(middle - reach), _power(middle + reach))


def _power(exponent: float) -> float:
    """e to a power, infinite where no number is large enough."""
    return math.exp(exponent) if exponent < 709.0 else math.inf


def _outlive(log_hazard: float) -> float:
    return math.exp(-_power(log_hazard))
