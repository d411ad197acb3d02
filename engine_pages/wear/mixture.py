"""Mixtures of normals: weights, means and standard deviations in, chances and quantiles out, by Newton's method.

A mixture has no quantile in closed form, but each lies between those of its components: where too many steps would be
needed, as between two hills far apart, it is bracketed there.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from engine_pages.wear.roots import roots

Array = NDArray[np.float64]

# A standard deviation of zero is taken as this share of its mean: a step, but one with two sides.
STEP = 1e-13
# Newton's method ends where the deviate, and the step in standard deviations, are this small; or after so many steps.
CLOSE = 1e-7
MOST_NEWTON_STEPS = 8


def chance_below(weights: Array, means: Array, sds: Array, level: float) -> float:
    """The probability that the mixture lies at or below a level.

    >>> chance_below(np.array([0.5, 0.5]), np.array([-1.0, 1.0]), np.array([1.0, 1.0]), 0.0)
    0.5
    """
    return float(weights @ ndtr(reach(level - means, sds)))


def reach(distances: Array, sds: Array) -> Array:
    """Distances in standard deviations; with none at all, infinitely far, and at the level itself just past it."""
    exact = sds <= 0.0
    ratio = distances / np.where(exact, 1.0, sds)
    return np.where(exact, np.where(distances >= 0.0, np.inf, -np.inf), ratio)


def quantiles(weights: Array, means: Array, sds: Array, chances: Array) -> Array:
    """The values below which the mixture lies with the given chances (each between 0 and 1).

    >>> quantiles(np.ones(1), np.array([10.0]), np.array([2.0]), np.array([0.05, 0.5, 0.95])).round(4).tolist()
    [6.7103, 10.0, 13.2897]
    """
    found: Array = quantiles_of_many(weights, means[:, None], sds[:, None], chances)[0]
    return found


def quantiles_of_many(weights: Array, means: Array, sds: Array, chances: Array) -> Array:
    """The quantiles (X × C) of X mixtures that share their weights (G); means and standard deviations are G × X."""
    spread = np.maximum(sds, STEP * np.abs(means))
    wanted, count = np.tile(chances, means.shape[1]), len(chances)
    means, spread = means.repeat(count, axis=1), spread.repeat(count, axis=1)
    ends = means + spread * ndtri(wanted)[None, :]
    low, high = ends.min(axis=0), ends.max(axis=0)
    certain = not np.all(spread > 0.0)
    found = None if certain else _by_slope(weights, means, spread, ndtri(wanted), low, high)

    def excess(x: Array) -> Array:
        away = x[None, :] - means
        below: Array = weights @ ndtr(reach(away, spread) if certain else away / spread) - wanted
        return below

    return (roots(excess, low, high) if found is None else found).reshape(-1, count)


def _by_slope(weights: Array, means: Array, sds: Array, wanted: Array, low: Array, high: Array) -> Array | None:
    """The quantiles by Newton's method; None where it takes too many steps.

    Of chances their standard normal deviates are compared (`wanted`): those of a mixture that is nearly normal lie on
    a line, so that three or four steps do from where one normal of its mean and variance has them. The error that a
    step leaves is of the order of its square.
    """
    mean = weights @ means
    scale = np.sqrt(weights @ (sds * sds + (means - mean) ** 2))
    x = np.clip(mean + scale * wanted, low, high)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for _ in range(MOST_NEWTON_STEPS):
            away = (x - means) / sds
            deviate = ndtri(weights @ ndtr(away))
            density = weights @ (np.exp(-0.5 * away * away) / sds)  # times √2π, as what it divides
            short = wanted - deviate
            step = short * np.exp(-0.5 * deviate * deviate) / density
            x = np.clip(x + step, low, high)
            if bool(np.all((np.abs(short) <= CLOSE) & (np.abs(step) <= CLOSE * scale))):
                return x
    return None
