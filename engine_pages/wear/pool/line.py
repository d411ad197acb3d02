"""The wear line of one part of a pool: a mixture of normal lines in, values, rates, chances and crossings out.

It answers what `trend.Line` answers, by the same names, so that whoever asks need not know whether a part was looked
at alone or among its like.
"""

from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np

from engine_pages.wear.limits import Limit, Side
from engine_pages.wear.measured import Measured
from engine_pages.wear.mixture import Array, chance_below, quantiles, quantiles_of_many
from engine_pages.wear.passing import Bounds, crossing_of
from engine_pages.wear.trend import Crossing, Interval


class WearLine(Protocol):
    """A line of wear: exposure since the baseline in, value in the dimension's unit out."""

    @property
    def n(self) -> int:
        """How many readings of the part itself it rests on."""

    @property
    def intercept(self) -> float:
        """The value at zero exposure."""

    @property
    def slope(self) -> float:
        """The rate, value's unit per exposure."""

    def at(self, x: float) -> tuple[float, float]:
        """Value and standard deviation of the line at an exposure."""

    def interval(self, x: float, confidence: float) -> Interval:
        """The line at an exposure with its two-sided interval."""

    def rate(self, confidence: float) -> Interval:
        """The rate with its two-sided interval."""

    def exposure_at(
        self, limit_value: float | Measured, confidence: float, side: Side | None = None
    ) -> Crossing | None:
        """Where the line meets a level."""

    def to_limit(self, limit: Limit, confidence: float) -> Crossing | None:
        """Where the line first meets either limit."""

    def chance_inside(self, limit: Limit, x: float) -> float:
        """The probability that the line is inside its limits at an exposure."""


@dataclass(frozen=True, slots=True, eq=False)
class PartLine:
    """value = intercept + slope · exposure, as a mixture of G normal lines.

    `weights` (G, summing to one), `means` (G × 2: intercept in the value's unit, slope in that unit per exposure) and
    `covariances` (G × 2 × 2). `extra_scatter` is the mean of σ over the mixture, the standard deviation of a reading
    beyond its known uncertainty, value's unit. `n` readings of this part and `parts` measured parts speak in it; n = 0
    is the kind's line. Assumes what the pool's model does: lines that are straight, spreads that are normal.

    >>> two = np.array([[60.0, 0.001], [60.0, 0.003]])
    >>> line = PartLine(np.array([0.5, 0.5]), two, np.zeros((2, 2, 2)), 0.0, n=2, parts=5)
    >>> round(line.at(10.0)[0], 9), line.chance_inside(Limit(max=60.02), 10.0)
    (60.02, 0.5)
    """

    weights: Array
    means: Array
    covariances: Array
    extra_scatter: float
    n: int
    parts: int
    _rates: dict[float, Interval] = field(init=False, repr=False, default_factory=dict)  # by confidence, once asked for

    @property
    def intercept(self) -> float:
        """The mean value at zero exposure."""
        return float(self.weights @ self.means[:, 0])

    @property
    def slope(self) -> float:
        """The mean rate, value's unit per exposure."""
        return float(self.weights @ self.means[:, 1])

    def at(self, x: float) -> tuple[float, float]:
        """Mean and standard deviation of the line itself (not of a reading) at exposure x."""
        means, sds = self._at(x)
        mean = float(self.weights @ means)
        return mean, float(np.sqrt(self.weights @ (sds**2 + (means - mean) ** 2)))

    def interval(self, x: float, confidence: float) -> Interval:
        """The median of the line at exposure x with its two-sided interval; ValueError outside 0 < confidence < 1."""
        return self._interval(*self._at(x), confidence)

    def band(self, xs: Array, confidence: float) -> Array:
        """The line at many exposures: median and both ends of the two-sided interval, X × 3, for drawing."""
        low, high = _tails(confidence)
        c, x = self.covariances, xs[None, :]
        variances = c[:, :1, 0] + 2.0 * x * c[:, :1, 1] + x * x * c[:, 1, 1:]
        means = self.means[:, :1] + x * self.means[:, 1:]
        return quantiles_of_many(self.weights, means, np.sqrt(np.maximum(variances, 0.0)), np.array([0.5, low, high]))

    def rate(self, confidence: float) -> Interval:
        """The median slope with its two-sided interval, value's unit per exposure."""
        if confidence not in self._rates:
            self._rates[confidence] = self._interval(self.means[:, 1], np.sqrt(self.covariances[:, 1, 1]), confidence)
        return self._rates[confidence]

    def chance_inside(self, limit: Limit, x: float) -> float:
        """The probability that the line (not a reading) is inside its limits at exposure x."""
        return _inside(self.weights, *self._at(x), limit)

    def exposure_at(
        self, limit_value: float | Measured, confidence: float, side: Side | None = None
    ) -> Crossing | None:
        """Where the line meets a level: median, and the exposures by which it has met it with the interval's chances.

        `side` says whether the level is a max or a min; left out, the level is met the way the line slopes. A level
        with an uncertainty of its own must be no reading of this pool. None where nothing bounds it on either side.
        """
        level = limit_value if isinstance(limit_value, Measured) else Measured(limit_value)
        if side is None:
            side = "max" if self.slope > 0.0 or (self.slope == 0.0 and self.intercept <= level.value) else "min"
        bounds = Bounds(upper=level.value) if side == "max" else Bounds(lower=level.value)
        return self._crossing(bounds, confidence, level.variance)

    def to_limit(self, limit: Limit, confidence: float) -> Crossing | None:
        """Where the line first meets either limit: P(passed by x) = Σ w P(line(x) outside) = 5 %, 50 %, 95 % (at 0.9).

        `high` is None where the chance never gets that far, "no upper bound"; all three where it never even gets to
        `low`. Exposures before the last reading are passed, not predicted.
        """
        return self._crossing(Bounds(limit.min, limit.max), confidence, 0.0)

    def scaled(self, factor: float) -> "PartLine":
        """The same line in another unit of its values, `factor` to each of this one."""
        means, covariances = self.means * factor, self.covariances * factor * factor
        return replace(self, means=means, covariances=covariances, extra_scatter=self.extra_scatter * factor)

    def moments(self) -> tuple[Array, Array]:
        """Mean (intercept, slope) and covariance (2 × 2) of the whole mixture."""
        mean = self.weights @ self.means
        off = self.means - mean
        spread = np.einsum("g,gij->ij", self.weights, self.covariances)
        return mean, spread + np.einsum("g,gi,gj->ij", self.weights, off, off)

    def _crossing(self, bounds: Bounds, confidence: float, variance: float) -> Crossing | None:
        low, high = _tails(confidence)
        found = crossing_of(self.weights, self.means, self.covariances, bounds, np.array([low, 0.5, high]), variance)
        return Crossing(low=found[0], median=found[1], high=found[2])

    def _at(self, x: float) -> tuple[Array, Array]:
        c = self.covariances
        variances = c[:, 0, 0] + 2.0 * x * c[:, 0, 1] + x * x * c[:, 1, 1]
        return self.means[:, 0] + x * self.means[:, 1], np.sqrt(np.maximum(variances, 0.0))

    def _interval(self, means: Array, sds: Array, confidence: float) -> Interval:
        low, high = _tails(confidence)
        found = quantiles(self.weights, means, sds, np.array([low, 0.5, high]))
        return Interval(value=float(found[1]), low=float(found[0]), high=float(found[2]))


def chance_between(outer: PartLine, at_outer: float, inner: PartLine, at_inner: float, limit: Limit) -> float:
    """The probability that outer − inner is inside its limits, each line at an exposure of its own.

    Both in the limit's unit. Exact for the two mixtures; assumes that they are independent, as parts of two kinds are.

    >>> level = lambda value, variance: PartLine(
    ...     np.ones(1), np.array([[value, 0.0]]), np.array([[[variance, 0.0], [0.0, 0.0]]]), 0.0, n=1, parts=1
    ... )
    >>> bearing, journal = level(60.05, 9e-6), level(59.97, 16e-6)
    >>> round(chance_between(bearing, 5.0, journal, 20.0, Limit(max=0.085)), 4)  # one standard deviation of 0.005
    0.8413
    """
    (outer_means, outer_sds), (inner_means, inner_sds) = outer._at(at_outer), inner._at(at_inner)
    weights = np.outer(outer.weights, inner.weights).ravel()
    means = (outer_means[:, None] - inner_means[None, :]).ravel()
    sds = np.hypot(outer_sds[:, None], inner_sds[None, :]).ravel()
    return _inside(weights, means, sds, limit)


def _inside(weights: Array, means: Array, sds: Array, limit: Limit) -> float:
    below = 1.0 if limit.max is None else chance_below(weights, means, sds, limit.max)
    under = 1.0 if limit.min is None else chance_below(weights, -means, sds, -limit.min)
    return min(max(below - (1.0 - under), 0.0), 1.0)


def _tails(confidence: float) -> tuple[float, float]:
    """The chances below the two ends of an interval; ValueError outside 0 < confidence < 1."""
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"a confidence lies between 0 and 1, not at {confidence}")
    return 0.5 - confidence / 2.0, 0.5 + confidence / 2.0
