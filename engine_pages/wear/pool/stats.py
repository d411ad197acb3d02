"""What a pool's readings say of each part's line, part by part: arrays and a scatter in, two coordinates a column out.

With weights w = 1 / (v + σ²) every column c over the readings of a part (a constant, the exposure, a shared source,
the deviation) is two numbers and a rest: p, its mean times √Σw, q, its slope times √Σw(x − x̄)², and what a line does
not explain. Written so, nothing cancels, whatever the exposures. Given the spreads ω of starts and τ of rates, the
precision of (p, q) is a 2 × 2 matrix in closed form (Woodbury), so that columns a and b meet as

    aᵀ V⁻¹ b = rest(a, b) + (p, q)ₐ · precision · (p, q)_b,    log|V| = −Σ log w + log det.
"""

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from engine_pages.wear.pool.numbers import Array, Numbers

# The standard deviation of a start of which nothing is known, in rescaled values: as good as infinite.
UNKNOWN_START = 1e4


class PartStats(Struct, frozen=True, eq=False):
    """At k scatters: p and q (k × P × a) and rests (k × P × a × a) of the a columns (constant, exposure, Numbers').

    `weight` is Σw, `spread` Σw(x − x̄)², `middle` x̄ of each part (k × P); `log_weights` Σ log w over all readings (k).
    """

    p: Array
    q: Array
    rest: Array
    weight: Array
    spread: Array
    middle: Array
    log_weights: Array


def part_stats(numbers: Numbers, sigmas: Array) -> PartStats:
    """Each part's columns at k scatters σ, in rescaled values."""
    first, part = numbers.first, numbers.part
    w = 1.0 / (numbers.v[None, :] + (sigmas * sigmas)[:, None])
    weight = np.add.reduceat(w, first, axis=1)
    middle = np.add.reduceat(w * numbers.x, first, axis=1) / weight
    x = numbers.x - middle[:, part]
    spread = np.add.reduceat(w * x * x, first, axis=1)
    root, root_spread = np.sqrt(weight)[..., None], np.sqrt(spread)[..., None]
    along = x / np.where(spread > 0.0, root_spread[..., 0], 1.0)[:, part]
    mean = np.add.reduceat(w[..., None] * numbers.columns, first, axis=1) / weight[..., None]
    centred = numbers.columns - mean[:, part]
    slope = np.add.reduceat((w * along)[..., None] * centred, first, axis=1)
    # What is left of the columns beside their line, before it is squared: a rest is never a difference of large sums.
    left = np.sqrt(w)[..., None] * (centred - along[..., None] * slope[:, part])
    k, parts, c = mean.shape
    rest = np.zeros((k, parts, c + 2, c + 2))
    rest[:, :, 2:, 2:] = np.add.reduceat(left[..., :, None] * left[..., None, :], first, axis=1)
    p = np.concatenate([root, root * middle[..., None], root * mean], axis=2)
    q = np.concatenate([np.zeros((k, parts, 1)), root_spread, slope], axis=2)
    return PartStats(p, q, rest, weight, spread, middle, np.log(w).sum(axis=1))


class Precisions(Struct, frozen=True, eq=False):
    """The precision of (p, q) of P parts at k scatters and h pairs (ω, τ), and log det of its inverse (k × P × h).

    `terms` (k × P × 4 × h) holds its entries pp, pq and qq, and a one that the rests of columns are counted by.
    """

    terms: Array
    log_det: Array


def precisions(stats: PartStats, own: NDArray[np.bool_], omega: Array, tau: Array) -> Precisions:
    """Precisions at spreads that spread out over k × h; parts whose start is their own have no ω but an endless one."""
    start, rate = start_variance(own, omega), (tau * tau)[:, None, :]
    weight, spread, middle = (each[..., None] for each in (stats.weight, stats.spread, stats.middle))
    of_start, of_rate = weight * start, spread * rate
    of_middle = weight * middle * middle * rate
    det = 1.0 + of_start + of_middle + of_rate + of_start * of_rate
    terms = np.ones((*det.shape[:2], 4, det.shape[2]))
    terms[:, :, 0] = (1.0 + of_rate) / det
    terms[:, :, 1] = -middle * np.sqrt(weight * spread) * rate / det
    terms[:, :, 2] = (1.0 + of_start + of_middle) / det
    return Precisions(terms, np.log(det))


def start_variance(own: NDArray[np.bool_], omega: Array) -> Array:
    """ω² (k × h) for each of P parts (k × P × h), as good as infinite where a part's start is its own.

    >>> start_variance(np.array([False, True]), np.array([[0.5]])).ravel().tolist()
    [0.25, 100000000.0]
    """
    return np.where(own[None, :, None], UNKNOWN_START**2, (omega * omega)[:, None, :])
