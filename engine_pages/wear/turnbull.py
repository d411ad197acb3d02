"""Lives known between two strips only: columns of lives in, the drops of the self-consistent curve out.

The likelihood says nothing of where inside a drop the failures lie, so a drop is a span of exposure (Turnbull 1976,
spans with late entries as corrected by Frydman 1994).
"""

import numpy as np
from numpy.typing import NDArray

from engine_pages.wear.lifetimes import Columns, Vector

# Shares of all units: a drop smaller than this is none, and a late entry past which fewer are left hangs in the air.
NOTHING = 1e-6
# Of a share this small it is left to the slope whether it grows again.
VANISHED = 1e-10
# The curve stands when no other is likelier by more than this in the logarithm.
STILL = 1e-10
STEPS_A_ROUND = 10
MOST_ROUNDS = 500
# The smallest curvature of the likelihood, as a share of the largest, that still tells one curve from another.
SINGULAR = 1e-9

Shape = NDArray[np.bool_]  # of lives by spans

# Order of what happens at one exposure: an exact failure is there, a span closes with it inside, another opens past it.
EXACT, CLOSES, OPENS = 0, 1, 2


def self_consistent(lines: Columns) -> Vector | None:
    """Turnbull's estimate: rows of (after, by, S past the drop, variance of S), shape (drops, 4).

    Found by the expectation of failures and units at risk in each span, given the curve, in turn with Newton steps.
    Variances from the observed information of the drops; infinite where the lives do not determine them. None where
    late entries leave no estimate. ArithmeticError should the curve not come to rest.

    >>> from engine_pages.wear.lifetimes import Lifetime, columns_of
    >>> lives = [Lifetime(0.0, 10.0), Lifetime(5.0, 15.0), Lifetime(12.0, 20.0), Lifetime(20.0)]
    >>> self_consistent(columns_of(lives)).round(4).tolist()
    [[5.0, 10.0, 0.625, 0.082], [12.0, 15.0, 0.25, 0.0469]]
    """
    after, by, inside, beyond = _spans(lines)
    shares = _at_rest(inside, beyond)
    if shares is None:
        return None
    kept = shares > NOTHING
    inside, beyond, shares = inside[:, kept], beyond[:, kept], shares[kept] / shares[kept].sum()
    left = np.maximum(1.0 - np.cumsum(shares), 0.0)
    drops = np.column_stack([after[kept], by[kept], left, _variances(inside, beyond, shares)])
    return drops[np.isfinite(by[kept])]


def _spans(lines: Columns) -> tuple[Vector, Vector, Shape, Shape]:
    """Spans that may hold a drop (ends, shape (m,)), which lives may fail in each, and which had entered by then.

    A span opens where something opens and the next thing that happens is that something closes.
    """
    times = np.unique(np.concatenate([lines.entered, lines.good, lines.by]))
    opens = 3 * np.searchsorted(times, lines.good) + np.where(lines.exact, EXACT, OPENS)
    closes = 3 * np.searchsorted(times, lines.by) + CLOSES
    entry = 3 * np.searchsorted(times, lines.entered) + CLOSES
    opening = np.unique(opens)
    places = np.unique(np.concatenate([opening, closes, entry]))
    following = places[np.minimum(np.searchsorted(places, opening, side="right"), len(places) - 1)]
    spans = (following % 3 == CLOSES) & (following > opening)
    first, last = opening[spans], following[spans]
    inside = (first >= opens[:, None]) & (last <= closes[:, None])
    return times[first // 3], times[last // 3], inside, first > entry[:, None]


def _at_rest(inside: Shape, beyond: Shape) -> Vector | None:
    """The share of all units that fails in each span, shape (m,), None where a late entry leaves no estimate.

    A share times its slope sums to nothing, and the likelihood bends down: so no curve is likelier, in the logarithm,
    by more than the largest slope.
    """
    shares = np.full(inside.shape[1], 1.0 / inside.shape[1])
    for _ in range(MOST_ROUNDS):
        for _ in range(STEPS_A_ROUND):
            shares = _expected(inside, beyond, shares)
            if (beyond @ shares).min() < NOTHING:
                return None
        slope, _ = _slope(inside, beyond, shares)
        if slope.max() < STILL:
            return shares
        shares = _leap(inside, beyond, shares)
    raise ArithmeticError(f"the self-consistent curve does not come to rest in {MOST_ROUNDS} rounds")


def _expected(inside: Shape, beyond: Shape, shares: Vector) -> Vector:
    """One step of self-consistency: failures expected in each span, of the units expected to be at risk there."""
    weight = inside * shares
    weight /= weight.sum(axis=1, keepdims=True)
    still_good = np.cumsum(weight[:, ::-1], axis=1)[:, ::-1]
    at_risk = (beyond * still_good).sum(axis=0)
    rate = np.minimum(weight.sum(axis=0) / np.where(at_risk > 0.0, at_risk, 1.0), 1.0)
    reached = np.concatenate([[1.0], np.cumprod(1.0 - rate)[:-1]])
    return np.asarray(rate * reached, dtype=np.float64)


def _leap(inside: Shape, beyond: Shape, shares: Vector) -> Vector:
    """A step towards the span that wants more, and a Newton step, each where it makes the lives likelier.

    Self-consistency alone creeps where a share vanishes, and never brings back one that vanished too early.
    """
    slope, _ = _slope(inside, beyond, shares)
    towards = np.where(np.arange(len(shares)) == slope.argmax(), 1.0, 0.0) - shares
    shares = _as_far_as_likelier(inside, beyond, shares, towards)
    slope, information = _slope(inside, beyond, shares)
    free = (shares > VANISHED) | (slope > 0.0)
    tangent = _tangent(int(np.count_nonzero(free)))
    bends, axes = np.linalg.eigh(tangent.T @ information[np.ix_(free, free)] @ tangent)
    # With late entries the likelihood may bend up: uphill all the same.
    sizes = np.maximum(np.abs(bends), SINGULAR * np.abs(bends).max(initial=0.0) + VANISHED)
    way = np.zeros(len(shares))
    way[free] = tangent @ (axes @ ((axes.T @ (tangent.T @ slope[free])) / sizes))
    return _as_far_as_likelier(inside, beyond, shares, way)


def _as_far_as_likelier(inside: Shape, beyond: Shape, shares: Vector, way: Vector) -> Vector:
    """The shares moved along a way, less and less far until the lives are likelier; where they were if never."""
    down = way < 0.0
    size = min(1.0, 0.99 * float((shares[down] / -way[down]).min(initial=np.inf)))
    now = _log_likelihood(inside, beyond, shares)
    for _ in range(12):
        there = shares + size * way
        if _log_likelihood(inside, beyond, there) > now:
            return there
        size /= 4.0
    return shares


def _log_likelihood(inside: Shape, beyond: Shape, shares: Vector) -> float:
    """The logarithm of the chance of what was seen, given that each unit lived to come in."""
    return float(np.log(inside @ shares).sum() - np.log(beyond @ shares).sum())


def _slope(inside: Shape, beyond: Shape, shares: Vector) -> tuple[Vector, Vector]:
    """First derivative of the log likelihood by the shares, shape (m,), and minus the second, shape (m, m)."""
    of_life = inside / (inside @ shares)[:, None]
    of_entry = beyond / (beyond @ shares)[:, None]
    return of_life.sum(axis=0) - of_entry.sum(axis=0), of_life.T @ of_life - of_entry.T @ of_entry


def _tangent(n: int) -> Vector:
    """Directions in which n shares can move and still sum to what they did: the last one gives what others take."""
    return np.vstack([np.eye(n - 1), -np.ones(n - 1)])


def _variances(inside: Shape, beyond: Shape, shares: Vector) -> Vector:
    """Variance of the curve past each drop; infinite where it changes along a way on which the lives say nothing."""
    _, information = _slope(inside, beyond, shares)
    tangent = _tangent(len(shares))
    bends, axes = np.linalg.eigh(tangent.T @ information @ tangent)
    told = bends > SINGULAR * np.abs(bends).max(initial=0.0)
    along = np.tril(np.ones((len(shares), len(shares)))) @ tangent @ axes
    variances: Vector = (along[:, told] ** 2 / bends[told]).sum(axis=1)
    untold = (np.abs(along[:, ~told]) > NOTHING).any(axis=1)
    return np.where(untold, np.inf, variances)
