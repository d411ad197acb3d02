"""Straight lines by generalised least squares: exposures, values and their covariance in, weights of the values out.

An estimate is handed out as the weights that turn the readings into intercept and slope. The covariance of both is then
weights · V · weightsᵀ for whatever V really is, also where V is singular: exact readings, or one zero shared by all.
"""

from collections.abc import Callable

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from engine_pages.wear.roots import roots

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

# Added to the diagonal of V as a share of its mean, so that it can be inverted; weights change by no more than this.
RIDGE = 1e-12

# Exposures that differ by less than this share of the largest are one exposure, and show no slope.
SAME_EXPOSURE = 1e-12


class Estimate(Struct, frozen=True, eq=False):
    """Weights (2 × n) that give intercept and slope, and the chi-square of the values about the line."""

    weights: Matrix
    chi_square: float


def has_slope(x: Vector, through_origin: bool) -> bool:
    """Whether one or more exposures can show a slope: two that differ, or one that differs from zero.

    >>> has_slope(np.array([22.1, 22.1]), through_origin=False), has_slope(np.array([22.1]), through_origin=True)
    (False, True)
    """
    reach = np.abs(x).max() if through_origin else np.ptp(x)
    return bool(reach > SAME_EXPOSURE * np.abs(x).max())


def free_line(x: Vector, y: Vector, variance: Matrix) -> Estimate:
    """Intercept and slope from n ≥ 2 values with two different exposures; `variance` is n × n, semidefinite.

    >>> level = np.eye(3)
    >>> (free_line(np.array([0.0, 1.0, 2.0]), np.zeros(3), level).weights[1] * 2.0).round(12).tolist()
    [-1.0, 0.0, 1.0]
    """
    centre = x.mean()
    design = np.column_stack([np.ones_like(x), x - centre])
    factor = cho_factor(_invertible(variance), lower=True)
    weighed = cho_solve(factor, design)
    weights = np.linalg.solve(design.T @ weighed, weighed.T)
    rest = y - design @ (weights @ y)
    weights[0] -= centre * weights[1]
    return Estimate(weights, float(rest @ cho_solve(factor, rest)))


def tied_line(x: Vector, y: Vector, variance: Matrix, start_variance: float, start_covariance: Vector) -> Estimate:
    """Intercept and slope with a value known at zero exposure; weights are of the n values, then of that start.

    `y` are the values less the start, `variance` n × n theirs as read, `start_covariance` what each shares with the
    start. The start may be exact, and n may be one.

    >>> tied = tied_line(np.array([2.0]), np.array([1.0]), np.eye(1), 0.0, np.zeros(1))
    >>> tied.weights.tolist()
    [[0.0, 1.0], [0.5, -0.5]]
    """
    of_start = start_variance - start_covariance
    apart = variance + of_start[:, np.newaxis] - start_covariance[np.newaxis, :]
    factor = cho_factor(_invertible(apart), lower=True)
    weighed = cho_solve(factor, x)
    slope = weighed / (x @ weighed)
    # What the values say of the start beyond the slope: the best linear guess of its error.
    pull = cho_solve(factor, of_start)
    intercept = pull - (pull @ x) * slope
    rest = y - x * (slope @ y)
    weights = np.array([[*intercept, 1.0 - intercept.sum()], [*slope, -slope.sum()]])
    return Estimate(weights, float(rest @ cho_solve(factor, rest)))


def fitted_scatter(chi_square: Callable[[float], float], ceiling: float, dof: int) -> float:
    """The smallest extra variance for which chi-square is no more than its degrees of freedom (Mandel and Paule 1970).

    `chi_square` falls as the extra variance grows; `ceiling` is a variance at which it is low enough for certain: the
    residual variance of the line with no weights.

    >>> round(fitted_scatter(lambda extra: 12.0 / (1.0 + extra), ceiling=6.0, dof=2), 9)
    5.0
    """
    if ceiling <= 0.0 or chi_square(0.0) <= dof:
        return 0.0

    def excess(shares: Vector) -> Vector:
        return np.array([dof - chi_square(share * ceiling) for share in shares.tolist()])

    # At the ceiling the excess is zero or more; arithmetic may leave it a hair below.
    ends = np.zeros(1), np.ones(1)
    return ceiling if excess(ends[1])[0] <= 0.0 else ceiling * float(roots(excess, *ends)[0])


def _invertible(variance: Matrix) -> Matrix:
    """The variance with a ridge on its diagonal; equal weights where all of it is zero."""
    level = float(np.trace(variance)) / len(variance)
    return variance + (RIDGE * level if level > 0.0 else 1.0) * np.eye(len(variance))
