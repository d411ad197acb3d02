"""One axis of a pool's grid: where a spread is looked for; the weight found along it in, a better place to look out.

An axis lies in the probabilities of the spread's prior, a half-Cauchy distribution, where that is flat and its long
tail takes no room. Of what lies far out in that tail it shows little; so an axis can lie in log(1 + spread / median)
instead, where spreads near zero and a thousand medians are both seen, and nodes are weighed by the prior's density.
"""

import math

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.wear.pool.numbers import Array

# A cell at the end of an axis that holds less of the weight than this is left out when the axis is drawn in.
NEGLIGIBLE = 1e-3
# An end is let out where more of the weight than this lies past it, if that falls on as it falls towards the end; ...
PAST_END = 0.05
# ... by this share of the axis.
LET_OUT = 0.5
# An axis rests where it keeps more than this share of itself.
KEPT = 0.85
# Where an axis that looks afar ends at first, in medians of the prior: it is let out where weight lies farther still.
FARTHEST = 3000.0


class Axis(Struct, frozen=True):
    """A spread between two ends, in the probabilities of its prior or `afar`, in log(1 + spread / scale).

    `scale` is the median of the spread's prior, in the spread's unit; zero for a spread that is zero.
    """

    scale: float
    low: float = 0.0
    high: float = 1.0
    afar: bool = False

    @property
    def inside(self) -> bool:
        """Whether it reaches neither to zero nor to infinity."""
        return self.low > 0.0 and self.high < self._most

    def spreads(self, count: int) -> Array:
        """The spreads in the middles of so many equal cells; one alone, zero, where the spread is zero.

        >>> Axis(2.0).spreads(1).round(12).tolist(), Axis(0.0).spreads(4).tolist()
        ([2.0], [0.0])
        """
        middles = self._middles(count)
        return self.scale * (np.expm1(middles) if self.afar else half_cauchy(middles))

    def log_prior(self, count: int) -> Array:
        """The logarithm of the prior's density along the axis, at the same places, but for a constant.

        >>> Axis(2.0).log_prior(2).tolist(), Axis(2.0, 0.0, 20.0, afar=True).log_prior(1).round(3).tolist()
        ([0.0, 0.0], [-10.0])
        """
        middles = self._middles(count)
        return middles - np.log1p(np.expm1(middles) ** 2) if self.afar else np.zeros(len(middles))

    def looking_afar(self) -> "Axis":
        """From zero far into the prior's tail."""
        return Axis(self.scale, 0.0, math.log1p(FARTHEST), afar=True)

    def moved(self, weights: Array) -> "Axis":
        """The axis by the weight of its cells; itself where it may rest.

        Each end is drawn in to half a cell beyond the first that counts, or let out where weight lies past it.

        >>> Axis(1.0).moved(np.array([0.0, 0.5, 0.5, 0.0]))
        Axis(scale=1.0, low=0.125, high=0.875, afar=False)
        >>> Axis(1.0, 0.5, 0.75).moved(np.array([0.4, 0.3, 0.3, 0.0]))
        Axis(scale=1.0, low=0.375, high=0.71875, afar=False)
        """
        n = len(weights)
        if n == 1:
            return self
        heavy, cell = np.flatnonzero(weights > NEGLIGIBLE), (self.high - self.low) / n
        below = self.low > 0.0 and past(weights) > PAST_END
        above = self.high < self._most and past(weights[::-1]) > PAST_END
        first = -LET_OUT * n if below else max(float(heavy[0]) - 0.5, 0.0)
        last = (1.0 + LET_OUT) * n if above else min(float(heavy[-1]) + 1.5, float(n))
        if not below and not above and last - first > KEPT * n:
            return self
        return replace(self, low=max(0.0, self.low + first * cell), high=min(self._most, self.low + last * cell))

    @property
    def _most(self) -> float:
        """The largest end there is."""
        return math.inf if self.afar else 1.0

    def _middles(self, count: int) -> Array:
        n = count if self.scale > 0.0 else 1
        middles: Array = self.low + (self.high - self.low) * (np.arange(n) + 0.5) / n
        return middles


def past(weights: Array) -> float:
    """The weight before the first cell, if it falls on as it falls from the second cell to the first.

    >>> past(np.array([0.25, 0.5, 0.25])), past(np.array([0.0, 0.2, 0.8]))
    (0.25, 0.0)
    """
    first, second = float(weights[0]), float(weights[1])
    return first * first / (second - first) if second > first else first


def half_cauchy(probability: Array) -> Array:
    """The quantile of a half-Cauchy distribution whose median is one.

    >>> half_cauchy(np.array([0.0, 0.5])).round(12).tolist()
    [0.0, 1.0]
    """
    return np.tan(0.5 * math.pi * probability)
