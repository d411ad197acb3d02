"""The chance that several lines stay inside their limits, event by event: pools and stakes in, chances out.

Lines of one pool lean on the same kind: where its rate is higher than thought, all of them are nearer their limits. At
a node of the pool's grid they share α, β and the common sources, which are normal; given these they are independent
(what is left of a gauge's zero on one sheet is taken as each line's own). So the product of their chances is integrated
over what they share, by Gauss and Legendre's rule in its probabilities along the two directions that move them most,
what is left over being taken as each line's own; then over the nodes. Between pools chances multiply: an assumption,
beside which stands the range that holds whatever the dependence (Fréchet 1935).
"""

import itertools
import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from engine_pages.wear.limits import Limit
from engine_pages.wear.mixture import reach
from engine_pages.wear.pool.lines import LineTerms, kind_terms
from engine_pages.wear.pool.numbers import Array, PoolPart, groups_of, origin_of
from engine_pages.wear.pool.summary import JointSummary

# Points of the rule along the directions in which a pool's lines are moved together. An even number: where the lines
# are known but for what they share, the chance is a step, and its middle is no point.
POINTS = (24, 8)


@dataclass(frozen=True, slots=True)
class Stake:
    """One part of a pool that must stay inside its limit: its exposures since its baseline after each of E events."""

    part: str
    limit: Limit
    at: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Chances:
    """After each of E events: the chance of being inside every limit, and the range that it cannot leave."""

    together: Array
    outer_low: Array
    outer_high: Array


def joint_chances(
    summary: JointSummary, parts: Sequence[PoolPart], stakes: Sequence[Stake], common: Sequence[Hashable] = ()
) -> Array:
    """The chance, after each event, that all stakes of one pool are inside their limits.

    `parts`: the members of the pool as they were fitted, in the units of the readings; a stake on one without a reading
    stands on its kind's line. `common` as of the fit. All stakes have the same number of events, at least one. Assumes
    what the pool's model does. ValueError for a stake on an unknown part, or where the pool shows no rate.

    >>> from engine_pages.wear.measured import Measured
    >>> from engine_pages.wear.pool.fit import Spreads, fit_with_spreads
    >>> parts = [PoolPart("A", ((0.0, Measured(0.0)), (10.0, Measured(1.0)))), PoolPart("B")]
    >>> fit = fit_with_spreads(parts, Spreads(0.0, 0.0, 0.1), starts="exact")
    >>> both = [Stake(name, Limit(max=2.0), (20.0,)) for name in ("A", "B")]
    >>> joint_chances(fit.summary, parts, both[:1]).round(6), joint_chances(fit.summary, parts, both).round(6)
    (array([0.5]), array([0.5]))
    """
    known = {part.id: part for part in parts}
    if not summary.known.has_rate or any(stake.part not in known for stake in stakes):
        raise ValueError("a stake is on a part of its pool, and the pool shows a rate")
    nodes = summary.nodes()
    offset, gain, spread = _stacked(summary, parts, [known[stake.part] for stake in stakes], common)
    line = np.array([[(1.0, x / summary.units.exposure) for x in stake.at] for stake in stakes])  # n × E × 2
    own = np.einsum("nei,nijg,nej->gen", line, spread, line)
    moved = np.einsum("nei,nikg->genk", line, gain)
    mean = np.einsum("nei,nig->gen", line, offset) + np.einsum("genk,gk->gen", moved, nodes.mean)
    factor = _root(nodes.covariance)
    shared, left = _directions(moved @ factor[:, None])
    own = np.sqrt(np.maximum(own + left, 0.0))
    low, high = _limits(summary, [known[stake.part] for stake in stakes], stakes)
    weights = summary.weights / summary.weights.sum()
    chances: Array = np.minimum(weights @ _integrated(mean, shared, own, low, high), 1.0)
    return chances


def combined(pools: Sequence[Array], alone: Sequence[Array]) -> Chances:
    """The engine's chances: `pools` multiplied (E each, at least one), and the outer range of each line `alone` (E).

    The range is max(0, 1 − Σ(1 − p)) to min p; it holds however the lines depend on each other.

    >>> found = combined([np.array([0.9])], [np.array([0.9]), np.array([0.95])])
    >>> float(found.together[0]), round(float(found.outer_low[0]), 2), float(found.outer_high[0])
    (0.9, 0.85, 0.9)
    """
    each = np.array(alone)
    low, high = np.maximum(0.0, 1.0 - (1.0 - each).sum(axis=0)), each.min(axis=0)
    together = np.clip(np.prod(np.array(pools), axis=0), low, high)  # rounding alone could carry it outside
    return Chances(together, low, high)


def _stacked(
    summary: JointSummary, parts: Sequence[PoolPart], staked: Sequence[PoolPart], common: Sequence[Hashable]
) -> tuple[Array, Array, Array]:
    """Offsets, gains and spreads of the staked parts' lines, from their own groups' readings."""
    wanted = {part.id for part in staked if part.readings}
    whole = {id for group in groups_of([p for p in parts if p.readings], common) if wanted & set(group) for id in group}
    measured = [part for part in parts if part.id in whole]
    terms = summary.terms(measured, common) if measured else None
    place = {part.id: i for i, part in enumerate(measured)}
    kind = kind_terms(summary.nodes())
    picked = [_one(terms, place[part.id]) if terms and part.readings else _one(kind, 0) for part in staked]
    offsets, gains, spreads = zip(*picked, strict=True)
    return np.array(offsets), np.array(gains), np.array(spreads)


def _one(terms: LineTerms, i: int) -> tuple[Array, Array, Array]:
    return terms.offset[i], terms.gain[i], terms.spread[i]


def _root(covariance: Array) -> Array:
    """Square roots (G × K × K) of covariances that may lack full rank."""
    values, vectors = np.linalg.eigh(covariance)
    root: Array = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
    return root


def _directions(shared: Array) -> tuple[Array, Array]:
    """What n lines share (G × E × n × K) along the directions that move them most, and the variance left to each."""
    u, sizes, _ = np.linalg.svd(shared, full_matrices=False)
    along = u[..., : len(POINTS)] * sizes[..., None, : len(POINTS)]
    left: Array = np.maximum((shared**2).sum(axis=-1) - (along**2).sum(axis=-1), 0.0)
    return along, left


def _limits(summary: JointSummary, parts: Sequence[PoolPart], stakes: Sequence[Stake]) -> tuple[Array, Array]:
    """Both limits of each stake, rescaled; infinite where there is none."""
    low, high = np.full(len(stakes), -np.inf), np.full(len(stakes), np.inf)
    for i, (part, stake) in enumerate(zip(parts, stakes, strict=True)):
        origin = origin_of(part, summary.units)
        if stake.limit.min is not None:
            low[i] = (stake.limit.min - origin) / summary.units.value
        if stake.limit.max is not None:
            high[i] = (stake.limit.max - origin) / summary.units.value
    return low, high


def _integrated(mean: Array, shared: Array, own: Array, low: Array, high: Array) -> Array:
    """The product of the lines' chances at each node and event (G × E), over what they share."""
    rules = [_rule(count) for count in POINTS[: shared.shape[-1]]]
    total = np.zeros(mean.shape[:2])
    for points in itertools.product(*(zip(*rule, strict=True) for rule in rules)):
        moved, weight = np.array([at for at, _ in points]), math.prod(weight for _, weight in points)
        total += weight * _inside(mean + shared @ moved, own, low, high).prod(axis=-1)
    return total


def _rule(count: int) -> tuple[list[float], list[float]]:
    """Standard normal quantiles and their weights, by Gauss and Legendre's rule in probability."""
    points, weights = np.polynomial.legendre.leggauss(count)
    return ndtri(0.5 + 0.5 * points).tolist(), (0.5 * weights).tolist()


def _inside(at: Array, own: Array, low: Array, high: Array) -> Array:
    """The chance of each line between its limits."""
    upper, lower = np.isfinite(high), np.isfinite(low)
    inside: Array = np.ones(at.shape)
    inside[..., upper] = ndtr(reach(high[upper] - at[..., upper], own[..., upper]))
    inside[..., lower] -= ndtr(-reach(at[..., lower] - low[lower], own[..., lower]))
    return np.maximum(inside, 0.0)
