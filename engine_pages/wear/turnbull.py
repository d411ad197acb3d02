"""Lives known between two strips only: columns of lives in, the drops of the self-consistent curve out.

The likelihood says nothing of where inside a drop the failures lie, so a drop is a span of exposure (Turnbull 1976,
spans with late entries as corrected by Frydman 1994).
"""

import numpy as np
from numpy.typing import NDArray

from engine_pages.wear.lifetimes import Columns, Vector

# Shares of all units: a drop smaller than this is none, and a late entry past which fewer are left hangs in the air.
NOTHING = 1e-6
# Fewer units at risk than this are none: what adding up leaves behind.
NOBODY = 1e-9
# The curve stands when no other is likelier by more than this in the logarithm.
STILL = 1e-10
STEPS_A_ROUND = 10
MOST_ROUNDS = 500
# The smallest curvature of the likelihood, as a share of the largest, that still tells one curve from another.
SINGULAR = 1e-9
FLAT = 1e-10  # what is taken as a curvature where there is none at all

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


def _spans(lines: Columns) -> tuple[Vector, Vector, Vector, Vector]:
    """Spans that may hold a drop (ends, shape (m,)); 1 where a life may fail in one, and where it had entered by then.

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
    beyond = first > entry[:, None]
    return times[first // 3], times[last // 3], inside.astype(np.float64), beyond.astype(np.float64)


def _at_rest(inside: Vector, beyond: Vector) -> Vector | None:
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
        if _slope(inside, beyond, shares).max() < STILL:
            return shares
        shares = _leap(inside, beyond, shares)
    raise ArithmeticError(f"the self-consistent curve does not come to rest in {MOST_ROUNDS} rounds")


def _expected(inside: Vector, beyond: Vector, shares: Vector) -> Vector:
    """One step of self-consistency: failures expected in each span, of the units expected to be at risk there.

    At risk in a span are all that are expected to fail there or later, but for those that come in later.
    """
    failing = shares * ((1.0 / (inside @ shares)) @ inside)
    at_risk = np.cumsum(failing[::-1])[::-1] - (1.0 - beyond).sum(axis=0)
    rate = np.minimum(failing / np.where(at_risk > NOBODY, at_risk, np.inf), 1.0)
    reached = np.concatenate([[1.0], np.cumprod(1.0 - rate)[:-1]])
    return np.asarray(rate * reached, dtype=np.float64)


def _leap(inside: Vector, beyond: Vector, shares: Vector) -> Vector:
    """A Newton step among the spans that hold something and those that want more, as far as it makes lives likelier.

    Self-consistency alone creeps where a share vanishes, and never brings back one that vanished. The step goes to the
    best place of the parabola that the likelihood looks like from here, no share below zero: most are then nothing, and
    the next step has few left to move (the constrained Newton method of Wang 2008).
    """
    slope = _slope(inside, beyond, shares)
    free = (shares > 0.0) | _peaks(slope)
    information = _information(inside[:, free], beyond[:, free], inside @ shares, beyond @ shares)
    aim = np.zeros(len(shares))
    aim[free] = _best_of_parabola(information, slope[free], shares[free])
    return _as_far_as_likelier(inside, beyond, shares, aim)


def _peaks(slope: Vector) -> NDArray[np.bool_]:
    """Where the slope is above zero, and no smaller than beside."""
    wide = np.concatenate([[-np.inf], slope, [-np.inf]])
    return (slope > 0.0) & (slope >= wide[:-2]) & (slope >= wide[2:])


def _best_of_parabola(information: Vector, slope: Vector, shares: Vector) -> Vector:
    """Shares that sum to 1, none below zero, where slope · step − step · information · step / 2 is largest.

    With late entries the likelihood may bend up: its bends are taken as bends down, which is uphill all the same. With
    the target taken off every column, least squares that may have any sum have the same answer but for its size
    (Haskell and Hanson 1981).
    """
    from scipy.optimize import nnls  # loaded for this alone

    bends, axes = np.linalg.eigh(information)
    roots = np.sqrt(np.maximum(np.abs(bends), SINGULAR * np.abs(bends).max() + FLAT))[:, None]
    rows = roots * axes.T
    target = rows @ shares + (axes.T @ slope) / roots[:, 0]
    rows = rows - target[:, None]
    system = np.vstack([rows / np.abs(rows).max(), np.ones(len(shares))])
    try:
        found, _ = nnls(system, np.append(np.zeros(len(shares)), 1.0))
    except RuntimeError:  # as nnls documents, where it does not come to an end: this round has no such step
        return shares
    return np.asarray(found / found.sum(), dtype=np.float64)


def _as_far_as_likelier(inside: Vector, beyond: Vector, shares: Vector, aim: Vector) -> Vector:
    """The shares moved to their aim, or less and less far until the lives are likelier; where they were if never."""
    now, size = _log_likelihood(inside, beyond, shares), 1.0
    for _ in range(12):
        there = (1.0 - size) * shares + size * aim
        if (inside @ there).min() > 0.0 and _log_likelihood(inside, beyond, there) > now:
            return there
        size /= 4.0
    return shares


def _log_likelihood(inside: Vector, beyond: Vector, shares: Vector) -> float:
    """The logarithm of the chance of what was seen, given that each unit lived to come in."""
    return float(np.log(inside @ shares).sum() - np.log(beyond @ shares).sum())


def _slope(inside: Vector, beyond: Vector, shares: Vector) -> Vector:
    """First derivative of the log likelihood by the shares, shape (m,)."""
    return np.asarray((1.0 / (inside @ shares)) @ inside - (1.0 / (beyond @ shares)) @ beyond, dtype=np.float64)


def _information(inside: Vector, beyond: Vector, chance: Vector, entering: Vector) -> Vector:
    """Minus the second derivative by the spans that are columns here, shape (m, m); chances of all, shape (n,)."""
    of_life, of_entry = inside / chance[:, None], beyond / entering[:, None]
    return np.asarray(of_life.T @ of_life - of_entry.T @ of_entry, dtype=np.float64)


def _variances(inside: Vector, beyond: Vector, shares: Vector) -> Vector:
    """Variance of the curve past each drop; infinite where it changes along a way on which the lives say nothing."""
    information = _information(inside, beyond, inside @ shares, beyond @ shares)
    m = len(shares)
    tangent = np.vstack([np.eye(m - 1), -np.ones(m - 1)])  # ways to move and still sum to 1: the last gives
    bends, axes = np.linalg.eigh(tangent.T @ information @ tangent)
    told = bends > SINGULAR * np.abs(bends).max(initial=0.0)
    along = np.tril(np.ones((m, m))) @ tangent @ axes
    variances: Vector = (along[:, told] ** 2 / bends[told]).sum(axis=1)
    untold = (np.abs(along[:, ~told]) > NOTHING).any(axis=1)
    return np.where(untold, np.inf, variances)
