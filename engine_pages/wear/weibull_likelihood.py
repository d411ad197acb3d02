"""The Weibull likelihood of lives: columns of lives and two numbers in, its logarithm and derivatives out.

With z = shape · (log x − log scale) the cumulative hazard is H = e^z. An exact failure adds log shape − log x + z − H,
one between two exposures log(e^−H₁ − e^−H₂), a unit still good −H, a late entry +H of where it came in.
"""

import math
from collections.abc import Callable

import numpy as np
from msgspec import Struct

from engine_pages.wear.lifetimes import Tied, Vector

# Largest z that is looked at: e^300 can still be squared. A hazard like that has no chance in any case.
FARTHEST = 300.0
# z of an exposure of zero; e to it is zero, also with the largest log rate added.
NO_HAZARD = -1e9


class Derivatives(Struct, frozen=True, eq=False):
    """The log likelihood and its derivatives by (log shape, log scale), shapes (2,) and (2, 2)."""

    value: float
    first: Vector
    second: Vector


def log_likelihood(lines: Tied, log_shape: float, log_scale: float) -> float:
    """The logarithm of the likelihood, exposures and scale in one unit.

    >>> from engine_pages.wear.lifetimes import Lifetime, tied_lives
    >>> log_likelihood(tied_lives([Lifetime(1.0, 1.0), Lifetime(2.0)]), 0.0, 0.0)
    -3.0
    """
    shape, exact, between = math.exp(log_shape), lines.exact, lines.failed & ~lines.exact
    z = _z(lines.good[exact], shape, log_scale)
    total = float(lines.count[exact] @ (log_shape - np.log(lines.good[exact]) + z))
    hazard = _added(_z(lines.entered, shape, log_scale), _z(lines.good, shape, log_scale))
    gain = _added(_z(lines.good[between], shape, log_scale), _z(lines.by[between], shape, log_scale))
    with np.errstate(divide="ignore"):  # no chance at all is a logarithm of −∞
        return total - float(lines.count @ hazard) + float(lines.count[between] @ np.log(-np.expm1(-gain)))


def slopes_by_log_rate(lines: Tied, shapes: Vector) -> Callable[[Vector], Vector]:
    """For S shapes the slope of the log likelihood by the log rate ν = −shape · log scale, as a function of S rates.

    Each falls with its ν.

    >>> from engine_pages.wear.lifetimes import Lifetime, tied_lives
    >>> slopes_by_log_rate(tied_lives([Lifetime(1.0, 1.0), Lifetime(2.0)]), np.array([1.0, 2.0]))(np.zeros(2)).tolist()
    [-2.0, -4.0]
    """
    between, each = lines.failed & ~lines.exact, shapes[:, None]
    good, entered = _z(lines.good, each, 0.0), _z(lines.entered, each, 0.0)
    start, end = _z(lines.good[between], each, 0.0), _z(lines.by[between], each, 0.0)
    exact, count = lines.count[lines.exact].sum(), lines.count

    def slopes(nu: Vector) -> Vector:
        rate = nu[:, None]
        hazard, gain = _added(entered + rate, good + rate), _added(start + rate, end + rate)
        return np.asarray(exact - hazard @ count + _pull(gain) @ count[between], dtype=np.float64)

    return slopes


def derivatives(lines: Tied, log_shape: float, log_scale: float) -> Derivatives:
    """The log likelihood with both derivatives in closed form.

    >>> from engine_pages.wear.lifetimes import Lifetime, tied_lives
    >>> derivatives(tied_lives([Lifetime(1.0, 1.0), Lifetime(1.0, 1.0)]), 0.0, 0.0).first.tolist()
    [2.0, 0.0]
    """
    shape, exact, between = math.exp(log_shape), lines.exact, lines.failed & ~lines.exact
    first, second = np.zeros(2), np.zeros((2, 2))
    z, count = _z(lines.good[exact], shape, log_scale), lines.count
    units, run = count[exact].sum(), count[exact] @ z
    # log shape + z: its own derivatives are (1 + z, −shape) and (z, −shape; −shape, 0).
    first += [units + run, -shape * units]
    second += [[run, -shape * units], [-shape * units, 0.0]]
    good, entered = _hazard(lines.good, shape, log_scale), _hazard(lines.entered, shape, log_scale)
    first -= count @ (good - entered)[:, :2]
    second -= _square(count @ (good - entered))
    gain = _hazard(lines.by[between], shape, log_scale) - _hazard(lines.good[between], shape, log_scale)
    height = gain[:, 5]
    # log(1 − e^−h): first derivative by h is 1/(e^h − 1), the second −e^h/(e^h − 1)².
    by_gain = _pull(height) / height
    bend = -by_gain * (1.0 + by_gain) * count[between]
    by_gain *= count[between]
    first += by_gain @ gain[:, :2]
    second += _square(by_gain @ gain) + np.einsum("i,ij,ik->jk", bend, gain[:, :2], gain[:, :2])
    return Derivatives(log_likelihood(lines, log_shape, log_scale), first, second)


def _hazard(x: Vector, shape: float, log_scale: float) -> Vector:
    """Derivatives of H = e^z by (log shape, log scale), first two, then second three, then H itself, shape (n, 6)."""
    z = _z(x, shape, log_scale)
    h = np.exp(np.minimum(z, FARTHEST))
    zh = z * h
    return np.column_stack([zh, -shape * h, zh * (1.0 + z), -shape * (h + zh), shape**2 * h, h])


def _square(columns: Vector) -> Vector:
    """The three second derivatives as a matrix."""
    return np.array([[columns[2], columns[3]], [columns[3], columns[4]]])


def _pull(gain: Vector) -> Vector:
    """h / (e^h − 1), which is 1 for h = 0 and 0 far out."""
    near = np.minimum(gain, FARTHEST)
    return np.where(near > 0.0, near / np.where(near > 0.0, np.expm1(near), 1.0), 1.0)


def _z(x: Vector, shape: float | Vector, log_scale: float) -> Vector:
    """shape · (log x − log scale), S × n for S shapes; for no exposure far below anything that is ever added to it."""
    run = x > 0.0
    return np.where(run, shape * (np.log(np.where(run, x, 1.0)) - log_scale), NO_HAZARD)


def _added(before: Vector, after: Vector) -> Vector:
    """e^after − e^before, not zero where both are cut off."""
    return np.asarray(np.exp(np.minimum(after, FARTHEST)) * -np.expm1(before - after), dtype=np.float64)
