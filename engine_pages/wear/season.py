"""The chance that several lines stay inside their limits, event by event: pools and stakes in, chances out.

Lines of one pool lean on the same kind: where its rate is higher than thought, all of them are nearer their limits. At
a node of the pool's grid they share α, β and the common sources, and with their group what its readings leave open of
a gauge's zero on a sheet. All of it is normal; given it they are independent. So the product of their chances is
integrated over what they share, by Gauss and Legendre's rule in its probabilities along the two directions that move
them most, what is left over being taken as each line's own; then over the nodes. Between pools chances multiply: an
assumption, beside which stands the range that holds whatever the dependence (Fréchet 1935).
"""

import itertools
import math
from collections.abc import Hashable, Sequence

import numpy as np
from msgspec import Struct
from scipy.special import ndtr, ndtri

from engine_pages.wear.limits import Limit
from engine_pages.wear.mixture import reach
from engine_pages.wear.pool.lines import kind_terms, square_roots
from engine_pages.wear.pool.numbers import Array, PoolPart, groups_of, origin_of
from engine_pages.wear.pool.summary import JointSummary

# Points of the rule along the directions in which a pool's lines are moved together. An even number: where the lines
# are known but for what they share, the chance is a step, and its middle is no point.
POINTS = (24, 8)


class Stake(Struct, frozen=True):
    """One part of a pool that must stay inside its limit: its exposures since its baseline after each of E events."""

    part: str
    limit: Limit
    at: tuple[float, ...]


class Chances(Struct, frozen=True, eq=False):
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
    offset, gain, spread, zeros = _stacked(summary, parts, [known[stake.part] for stake in stakes], common)
    line = np.array([[(1.0, x / summary.units.exposure) for x in stake.at] for stake in stakes])  # n × E × 2
    own = np.einsum("nei,nijg,nej->gen", line, spread, line)
    moved = np.einsum("nei,nikg->genk", line, gain)
    mean = np.einsum("nei,nig->gen", line, offset) + np.einsum("genk,gk->gen", moved, nodes.mean)
    by_zeros = np.einsum("nei,nikg->genk", line, zeros)
    shared, left = _directions(np.concatenate([moved @ square_roots(nodes.covariance)[:, None], by_zeros], axis=-1))
    own = np.sqrt(np.maximum(own - (by_zeros**2).sum(axis=-1), 0.0) + left)
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
) -> tuple[Array, Array, Array, Array]:
    """Offsets, gains, spreads and zeros of the staked parts' lines, from their own groups' readings.

    Each group with a staked part has columns of its own among the zeros.
    """
    wanted = {part.id for part in staked if part.readings}
    groups = [set(g) for g in groups_of([p for p in parts if p.readings], common) if wanted & set(g)]
    measured = [part for part in parts if any(part.id in group for group in groups)]
    terms = summary.terms(measured, common) if measured else None
    place = {part.id: i for i, part in enumerate(measured)}
    kind = kind_terms(summary.nodes())
    picked = [(terms, place[part.id]) if terms and part.readings else (kind, 0) for part in staked]
    width = terms.zeros.shape[2] if terms else 0
    zeros = np.zeros((len(staked), 2, width * len(groups), len(summary.weights)))
    for n, part in enumerate(staked):
        for k, group in enumerate(groups):
            if terms and part.id in group:
                zeros[n, :, k * width : (k + 1) * width] = terms.zeros[place[part.id]]
    offset, gain, spread = (np.array([getattr(t, name)[i] for t, i in picked]) for name in ("offset", "gain", "spread"))
    return offset, gain, spread, zeros


def _directions(shared: Array) -> tuple[Array, Array]:
    """What n lines share (G × E × n × K) along the directions that move them most, and the variance left to each."""
    variances, vectors = np.linalg.eigh(shared @ np.swapaxes(shared, -1, -2))  # n × n, whatever number of zeros
    most = slice(-1, -1 - min(len(POINTS), shared.shape[-2], shared.shape[-1]), -1)
    along = vectors[..., most] * np.sqrt(np.maximum(variances[..., None, most], 0.0))
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
