"""Where functions are zero, many at once: functions and two ends for each in, roots out."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# A root is found when its bracket is this share of where it began, or after so many steps.
CLOSE = 1e-11
MOST_STEPS = 100


def roots(excess: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Where functions that rise from below zero to above it are zero, many at once, each between its two ends.

    Inverse quadratic interpolation where the last three values are straight enough, else halving (Chandrupatla 1997).

    >>> roots(lambda x: x**3 - np.array([8.0, 27.0]), np.zeros(2), np.full(2, 9.0)).round(9).tolist()
    [2.0, 3.0]
    """
    newest, other = low, high
    at_newest, at_other = excess(newest), excess(other)
    best, share = newest, np.full(low.shape, 0.5)
    digits = 4.0 * np.finfo(np.float64).eps * np.maximum(np.abs(low), np.abs(high))
    close = np.maximum(np.maximum(CLOSE * (high - low), digits), np.finfo(np.float64).tiny)
    for _ in range(MOST_STEPS):
        middle = newest + share * (other - newest)
        value = excess(middle)
        same_side = (value < 0.0) == (at_newest < 0.0)
        before, at_before = np.where(same_side, newest, other), np.where(same_side, at_newest, at_other)
        other, at_other = np.where(same_side, other, newest), np.where(same_side, at_other, at_newest)
        newest, at_newest = middle, value
        best = np.where(np.abs(at_newest) <= np.abs(at_other), newest, other)
        width = np.abs(other - newest)
        if bool(np.all((width <= close) | (value == 0.0))):
            break
        share = np.clip(_share(newest, other, before, at_newest, at_other, at_before), 0.0, 1.0)
        least = 0.5 * close / np.maximum(width, close)
        share = np.clip(share, least, 1.0 - least)
    return best


def _share(newest: Array, other: Array, before: Array, at_newest: Array, at_other: Array, at_before: Array) -> Array:
    """How far from the newest point towards the other end to look next."""
    with np.errstate(divide="ignore", invalid="ignore"):
        xi = (newest - other) / (before - other)
        phi = (at_newest - at_other) / (at_before - at_other)
        of_other = at_newest / (at_other - at_newest) * at_before / (at_other - at_before)
        of_before = (before - newest) / (other - newest) * at_newest / (at_before - at_newest)
        share = of_other + of_before * at_other / (at_before - at_other)
    straight = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
    return np.where(straight & np.isfinite(share), share, 0.5)
