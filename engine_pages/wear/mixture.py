"""Mixtures of normals: weights, means and standard deviations in, chances and quantiles out, by bracketed root-finding.

A mixture has no quantile in closed form, but each lies between those of its components.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from engine_pages.wear.roots import roots

Array = NDArray[np.float64]

# A standard deviation of zero is taken as this share of its mean: a step, but one with two sides.
STEP = 1e-13


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

    certain = not np.all(spread > 0.0)

    def excess(x: Array) -> Array:
        away = x[None, :] - means
        below: Array = weights @ ndtr(reach(away, spread) if certain else away / spread) - wanted
        return below

    return roots(excess, ends.min(axis=0), ends.max(axis=0)).reshape(-1, count)
