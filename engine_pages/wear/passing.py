"""When a mixture of normal lines leaves its bounds: lines and bounds in, exposures out.

The chance that a line is outside by exposure x is Σ w [Φ((line − upper)/s) + Φ((lower − line)/s)]. It is least
somewhere among the readings, where the line is known best, and grows from there; what is asked is where it first
reaches a chance.
"""

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from scipy.special import ndtr

from engine_pages.wear.mixture import Array, reach
from engine_pages.wear.roots import roots

# Exposures 0 … ∞ are looked at through t = x / (x + scale): first at so many places, then between two of them.
PLACES = 33
# An exposure farther than this many scales is never.
FARTHEST = 1e6


class Bounds(Struct, frozen=True):
    """Values that a line is to stay between, either or both, in its unit."""

    lower: float | None = None
    upper: float | None = None


def crossing_of(
    weights: Array, means: Array, covariances: Array, bounds: Bounds, chances: Array, variance: float = 0.0
) -> list[float | None]:
    """The exposures, from zero on, by which a line is outside with the given chances; None is never.

    Lines as in `PartLine`; `variance` is that of the bound itself. Zero where it is outside with that chance wherever
    one looks.

    >>> line = np.ones(1), np.array([[0.0, 2.0]]), np.zeros((1, 2, 2))
    >>> [round(x, 9) for x in crossing_of(*line, Bounds(upper=10.0), np.array([0.05, 0.5]))]
    [5.0, 5.0]
    """
    scale = _scale(weights, means, bounds)
    lines = _Lines(weights, means, covariances, bounds, scale, variance)
    places = _places(weights, covariances, scale)
    outside = np.append(lines.outside(places[:-1]), lines.outside_at_last())
    least = int(np.flatnonzero(outside == outside.min())[-1])
    late = np.arange(len(places)) > least
    after = [np.flatnonzero(late & (outside >= chance)) for chance in chances]
    ends = np.array([found[0] if len(found) else len(places) - 1 for found in after])
    t = np.maximum.accumulate(roots(lambda t: lines.outside(t) - chances, places[ends - 1], places[ends]))
    out: list[float | None] = []
    for chance, found, at in zip(chances, after, t, strict=True):
        far = not len(found) or at >= FARTHEST / (1.0 + FARTHEST)
        out.append(0.0 if outside[least] >= chance else None if far else float(scale * at / (1.0 - at)))
    return out


def _places(weights: Array, covariances: Array, scale: float) -> Array:
    """Where to look first: all over, and where the line is known best."""
    of_rate = np.where(covariances[:, 1, 1] > 0.0, covariances[:, 1, 1], 1.0)
    best = max(float(weights @ (-covariances[:, 0, 1] / of_rate)), 0.0)
    return np.sort(np.append(np.linspace(0.0, 1.0, PLACES), best / (best + scale)))


def _scale(weights: Array, means: Array, bounds: Bounds) -> float:
    """An exposure of the order of those that are looked for: where the mean line meets a bound, else where it might."""
    intercept, slope = float(weights @ means[:, 0]), float(weights @ means[:, 1])
    distances = [abs(bound - intercept) for bound in (bounds.lower, bounds.upper) if bound is not None]
    steepest = max(abs(slope), float(np.abs(means[:, 1]).max()))
    scale = max(distances, default=0.0) / steepest if steepest > 0.0 else 0.0
    return scale if np.isfinite(scale) and scale > 0.0 else 1.0


class _Lines(Struct, frozen=True, eq=False):
    """The chance that a mixture of lines is outside its bounds; `variance` is that of the bounds."""

    weights: Array
    means: Array
    covariances: Array
    bounds: Bounds
    scale: float
    variance: float

    def outside(self, t: Array) -> Array:
        """At exposures scale · t / (1 − t), where t < 1; written in 1 − t so that nothing overflows far out."""
        near, far = (1.0 - t)[None, :], (self.scale * t)[None, :]
        c = self.covariances[:, :, :, None]
        c00 = c[:, 0, 0] + self.variance
        variances = c00 * near**2 + 2.0 * c[:, 0, 1] * near * far + c[:, 1, 1] * far**2
        sds = np.sqrt(np.maximum(variances, 0.0))
        values = self.means[:, :1] * near + self.means[:, 1:] * far
        return self._outside(values, sds, near)

    def outside_at_last(self) -> float:
        """As exposure grows without end: whichever way the slope leads."""
        chances = self._outside(self.means[:, 1:], np.sqrt(self.covariances[:, 1, 1])[:, None], np.zeros((1, 1)))
        return float(chances[0])

    def _outside(self, values: Array, sds: Array, near: Array) -> NDArray[np.float64]:
        total = np.zeros(values.shape[1])
        if self.bounds.upper is not None:
            total += self.weights @ ndtr(reach(values - self.bounds.upper * near, sds))
        if self.bounds.lower is not None:
            total += self.weights @ ndtr(reach(self.bounds.lower * near - values, sds))
        return np.minimum(total, 1.0)
