"""What one more reading would tell: a line, its limit and a gauge in, how much surer its answer would be out."""

import numpy as np
from scipy.special import ndtr, ndtri

from engine_pages.wear.limits import Limit
from engine_pages.wear.mixture import Array, reach
from engine_pages.wear.pool.line import PartLine

POINTS = 64  # of Gauss and Legendre's rule over what the reading may say, in its probabilities
_AT, _WEIGHTS = np.polynomial.legendre.leggauss(POINTS)
QUANTILES, SHARES = ndtri(0.5 + 0.5 * _AT), 0.5 * _WEIGHTS


def doubt_settled(line: PartLine, limit: Limit, now: float, end: float, u: float) -> float:
    """By how much a reading taken now would lessen the doubt whether the line is inside its limit at the end.

    `now` and `end` are exposures since the baseline, `u` the standard uncertainty of the reading, value's unit. The
    doubt of an answer with chance p is p (1 − p), a quarter at most; what a reading would leave of it is averaged over
    what the reading may say (preposterior analysis, Raiffa and Schlaifer 1961). The line is taken as one normal line
    with the moments of its mixture: good enough to rank by. Zero where nothing is in doubt.

    >>> sure = PartLine(np.ones(1), np.array([[0.0, 1.0]]), np.zeros((1, 2, 2)), 0.0, n=3, parts=1)
    >>> doubt_settled(sure, Limit(max=5.0), 1.0, 3.0, 0.1)
    0.0
    >>> vague = PartLine(np.ones(1), np.array([[0.0, 1.0]]), np.array([[[0.0, 0.0], [0.0, 0.04]]]), 0.0, n=3, parts=1)
    >>> round(doubt_settled(vague, Limit(max=10.0), 8.0, 10.0, 0.1), 2)
    0.24
    """
    mean, covariance = line.moments()
    at_now, at_end = np.array([1.0, now]), np.array([1.0, end])
    before = float(at_end @ covariance @ at_end)
    read = float(at_now @ covariance @ at_now) + u * u + line.extra_scatter**2
    told = float(at_end @ covariance @ at_now) ** 2 / read if read > 0.0 else 0.0
    middle = float(at_end @ mean)
    later = _doubts(middle + np.sqrt(told) * QUANTILES, max(before - told, 0.0), limit)
    now_doubted = _doubts(np.array([middle]), before, limit)
    return max(float(now_doubted[0] - SHARES @ later), 0.0)


def _doubts(middles: Array, variance: float, limit: Limit) -> Array:
    """p (1 − p) of being inside for normal values with these middles."""
    sd = np.full(middles.shape, np.sqrt(variance))
    below = np.ones(middles.shape) if limit.max is None else ndtr(reach(limit.max - middles, sd))
    under = np.zeros(middles.shape) if limit.min is None else ndtr(-reach(middles - limit.min, sd))
    p = np.clip(below - under, 0.0, 1.0)
    return np.asarray(p * (1.0 - p))
