"""Each part's line at every node of a pool's grid: arrays and nodes in, means and covariances of lines out.

Given a node and the outer columns o (α, β and the common sources), a part's line is normal with

    mean = offset + gain · o,    covariance = spread,

and depends on no reading outside its own group (best linear prediction, Henderson 1975). Over o, which is normal at a
node, it is normal again; over the nodes it is a mixture of normals.
"""

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from engine_pages.wear.pool.grid import AT_ONCE, Nodes
from engine_pages.wear.pool.numbers import Array, Index, Numbers
from engine_pages.wear.pool.plan import Bucket, Plan, group_matrices
from engine_pages.wear.pool.stats import PartStats, part_stats, precisions, start_variance


class LineTerms(Struct, frozen=True, eq=False):
    """P lines at G nodes, rescaled: offset (P × 2 × G), gain (P × 2 × K × G) and spread (P × 2 × 2 × G).

    `zeros` (P × 2 × S × G): what of the spread a part has together with others of its group, as what S independent
    standard normals of the group move its line by. S is 0 where that was not asked for.
    """

    offset: Array
    gain: Array
    spread: Array
    zeros: Array

    def moments(self, nodes: Nodes) -> tuple[Array, Array]:
        """Means (P × 2 × G) and covariances (P × 2 × 2 × G) of the lines at the nodes, the outer columns integrated."""
        outer, between = nodes.mean.T[None, :, None], np.moveaxis(nodes.covariance, 0, -1)[None]
        mean = self.offset + _times(self.gain, outer)[:, :, 0]
        covariance = self.spread + _times(_times(self.gain, between), np.swapaxes(self.gain, 1, 2))
        return mean, covariance


def kind_terms(nodes: Nodes) -> LineTerms:
    """The line of a part of the kind with no reading of its own, as P = 1.

    >>> one = np.ones(1)
    >>> nodes = Nodes(0.5 * one, 2.0 * one, one, one, np.array([[0.0, 3.0]]), np.zeros((1, 2, 2)))
    >>> kind_terms(nodes).moments(nodes)[1][0, :, :, 0].tolist()
    [[0.25, 0.0], [0.0, 4.0]]
    """
    g, k = nodes.mean.shape
    gain, spread = np.zeros((1, 2, k, g)), np.zeros((1, 2, 2, g))
    gain[0, 0, 0], gain[0, 1, 1] = 1.0, 1.0
    spread[0, 0, 0], spread[0, 1, 1] = nodes.omega**2, nodes.tau**2
    return LineTerms(np.zeros((1, 2, g)), gain, spread, np.zeros((1, 2, 0, g)))


def line_terms(numbers: Numbers, plan: Plan, nodes: Nodes, with_zeros: bool = False) -> LineTerms:
    """The lines of all parts of whole groups at the nodes, which come with their scatters in order."""
    most = int(numbers.sources.max(initial=0)) if with_zeros else 0
    batches = [
        _taken(_terms(numbers, plan, sigma, nodes.omega[which], nodes.tau[which], most), there)
        for sigma, which, there in _batches(plan, nodes.sigma)
    ]
    return LineTerms(
        np.concatenate([batch.offset for batch in batches], axis=-1),
        np.concatenate([batch.gain for batch in batches], axis=-1),
        np.concatenate([batch.spread for batch in batches], axis=-1),
        np.concatenate([batch.zeros for batch in batches], axis=-1),
    )


def _batches(plan: Plan, sigma: Array) -> Iterator[tuple[Array, Index, NDArray[np.bool_]]]:
    """k scatters at once, their nodes (k × h), and which of these are there: each scatter's last stands again where
    others have more."""
    scatters, begins, counts = np.unique(sigma, return_index=True, return_counts=True)
    most = int(counts.max())
    step = max(1, AT_ONCE // (most * max(len(plan.starts), len(plan.part))))
    for first in range(0, len(scatters), step):
        begin, count = begins[first : first + step, None], counts[first : first + step, None]
        nth = np.arange(int(count.max()))
        yield scatters[first : first + step], begin + np.minimum(nth, count - 1), nth < count


def _taken(terms: LineTerms, there: NDArray[np.bool_]) -> LineTerms:
    """The terms at those of the nodes that are there."""
    if there.all():
        return terms
    which = np.flatnonzero(there)
    return LineTerms(
        terms.offset[..., which], terms.gain[..., which], terms.spread[..., which], terms.zeros[..., which]
    )


def _terms(numbers: Numbers, plan: Plan, sigma: Array, omega: Array, tau: Array, most: int) -> LineTerms:
    """The lines at k scatters and h pairs (ω, τ) of each (k × h), with the zeros of up to `most` sources a group."""
    stats = part_stats(numbers, sigma)
    given = precisions(stats, numbers.own, omega, tau)
    start = start_variance(numbers.own, omega)
    pulls, gain, spread = _alone(stats, start, (tau * tau)[:, None], np.exp(given.log_det))
    on_outer = np.concatenate([gain, -pulls[:, :, 2 : plan.outer]], axis=2)
    zeros = np.zeros((*on_outer.shape[:2], most, on_outer.shape[-1]))
    terms = LineTerms(pulls[:, :, -1].copy(), on_outer, spread, zeros)
    for bucket, matrix in group_matrices(plan, stats, given):
        if bucket.sources:
            _add_sources(terms, numbers, plan, bucket, pulls, matrix)
    return terms


def _alone(stats: PartStats, start: Array, rate: Array, det: Array) -> tuple[Array, Array, Array]:
    """Each part by itself: what each column pulls its line by (P × 2 × a × G), its gain on (α, β), its spread.

    With M = Σ w (1, x)(1, x)ᵀ and Ω = diag(ω², τ²): gain (I + ΩM)⁻¹, spread (I + ΩM)⁻¹Ω, pull spread · (1, x)ᵀW c.
    `start`, `rate` and `det` are k × P × h, of which G = k · h nodes are made.
    """
    weight, spread, middle = (each[..., None] for each in (stats.weight, stats.spread, stats.middle))
    square = weight * middle * middle + spread
    cross = -weight * middle / det
    gain = np.array([[(1.0 + rate * square) / det, start * cross], [rate * cross, (1.0 + start * weight) / det]])
    own = np.array([[start * gain[0, 0], start * rate * cross], [start * rate * cross, rate * gain[1, 1]]])
    root, root_spread = np.sqrt(weight), np.sqrt(spread)
    of_start = root * start * (1.0 + rate * spread) / det, root_spread * own[0, 1]  # by p and by q
    of_rate = root * rate * middle / det, root_spread * own[1, 1]
    p, q = stats.p[..., None], stats.q[..., None]
    pulls = np.array([p * by_p[:, :, None] + q * by_q[:, :, None] for by_p, by_q in (of_start, of_rate)])
    parts = stats.p.shape[1]
    return (
        pulls.transpose(2, 0, 3, 1, 4).reshape(parts, 2, stats.p.shape[2], -1),
        gain.transpose(3, 0, 1, 2, 4).reshape(parts, 2, 2, -1),
        own.transpose(3, 0, 1, 2, 4).reshape(parts, 2, 2, -1),
    )


def _add_sources(terms: LineTerms, numbers: Numbers, plan: Plan, bucket: Bucket, pulls: Array, matrices: Array) -> None:
    """Adds what the readings of whole groups say of their shared sources, and what they leave open."""
    s, parts = bucket.sources, bucket.parts
    # C × G × m × m, lower triangle
    normal = matrices.transpose(1, 0, 4, 2, 3).reshape(bucket.groups, -1, bucket.size, bucket.size)
    lower = np.tril(normal[..., :s, :s])
    full = lower + np.swapaxes(np.tril(lower, -1), -1, -2)
    variance = np.asarray(np.linalg.inv(full), dtype=np.float64)
    root = square_roots(variance) if terms.zeros.shape[2] else None
    answers = variance @ np.swapaxes(normal[..., s:, :s], -1, -2)  # of the outer columns and the deviation
    variance, answers = (np.ascontiguousarray(np.moveaxis(each, 1, -1)) for each in (variance, answers))
    groups, places = np.unique(numbers.group[parts], return_inverse=True)[1][:, None], numbers.places[parts]
    of_part = pulls[parts][:, :, plan.outer : -1]  # zero where a part lacks a source: places of −1 do no harm
    found = _times(of_part, answers[groups, places])
    terms.offset[parts] -= found[:, :, -1]
    terms.gain[parts] += found[:, :, :-1]
    shared: Array = variance[groups[:, None], places[:, :, None], places[:, None, :]]
    terms.spread[parts] += _times(_times(of_part, shared), np.swapaxes(of_part, 1, 2))
    if root is not None:
        terms.zeros[parts, :, :s] = _times(of_part, np.moveaxis(root, 1, -1)[groups, places])


def square_roots(covariance: Array) -> Array:
    """Square roots (… × K × K) of covariances that may lack full rank.

    >>> root = square_roots(np.array([[4.0, 4.0], [4.0, 4.0]]))
    >>> (root @ root.T).round(9).tolist()
    [[4.0, 4.0], [4.0, 4.0]]
    """
    values, vectors = np.linalg.eigh(covariance)
    root: Array = vectors * np.sqrt(np.maximum(values, 0.0))[..., None, :]
    return root


def _times(first: Array, second: Array) -> Array:
    """Matrix products at every node: P × i × j × G times P × j × l × G."""
    inner = first.shape[2]
    out: Array = first[:, :, 0, None] * second[:, 0, None]
    for j in range(1, inner):
        out += first[:, :, j, None] * second[:, j, None]
    return out
