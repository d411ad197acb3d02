"""From parts to groups to the pool: what readings say of each part in, what they say together out.

A part's matrix lies over its own columns; a group's over its sources, the outer columns (constant, exposure, common
sources) and the deviation. Sources are eliminated group by group, a pivot at a time for all nodes of the grid at once,
and what is left adds up over the pool. In a fixed order: the same answer every time.
"""

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from scipy.sparse import csr_array

from engine_pages.wear.pool.numbers import Array, Index, Numbers
from engine_pages.wear.pool.stats import PartStats, Precisions

# Entries of a part's matrix are sums over so many terms of its precision: pp, pq, qq and one for the rest.
TERMS = 4


class Bucket(Struct, frozen=True, eq=False):
    """The groups of one number of sources: their parts, how many they are, and where their matrices lie in a row."""

    parts: Index
    groups: int
    sources: int
    size: int
    cells: slice


class Plan(Struct, frozen=True, eq=False):
    """How the matrices of all parts (their upper triangles) add up to those of all groups, cell after cell.

    Entry e is that of columns `left[e]` and `right[e]` of part `part[e]`; cell c takes those from `starts[c]` to
    `starts[c + 1]`.
    """

    buckets: tuple[Bucket, ...]
    part: Index
    left: Index
    right: Index
    starts: Index
    outer: int


def plan_of(numbers: Numbers) -> Plan:
    """Where every entry of every part's matrix goes."""
    outer, parts = 2 + numbers.common, len(numbers.group)
    left, right = np.triu_indices(outer + numbers.places.shape[1] + 1)
    buckets: list[Bucket] = []
    targets = np.full((parts, len(left)), -1, dtype=np.intp)
    begin = 0
    for sources in np.unique(numbers.sources).tolist():
        bucket, cells = _bucket(numbers, sources, begin, left, right)
        targets[bucket.parts] = cells
        buckets.append(bucket)
        begin = bucket.cells.stop
    used = np.flatnonzero(targets.ravel() >= 0)
    order = used[np.argsort(targets.ravel()[used], kind="stable")]
    starts = np.searchsorted(targets.ravel()[order], np.arange(begin + 1))
    part, pair = order // len(left), order % len(left)
    return Plan(tuple(buckets), part, left[pair], right[pair], starts, outer)


def _bucket(numbers: Numbers, sources: int, begin: int, left: Index, right: Index) -> tuple[Bucket, Index]:
    """A bucket whose cells begin where the last ended, and the cell of each entry of its parts, −1 for none."""
    groups = np.flatnonzero(numbers.sources == sources)
    parts = np.flatnonzero(np.isin(numbers.group, groups))
    outer, size = 2 + numbers.common, sources + 2 + numbers.common + 1
    position = np.empty((len(parts), outer + numbers.places.shape[1] + 1), dtype=np.intp)
    position[:, :outer] = sources + np.arange(outer)
    position[:, outer:-1] = numbers.places[parts]
    position[:, -1] = size - 1
    row, column = position[:, left], position[:, right]
    cell = np.maximum(row, column) * size + np.minimum(row, column)
    cell += begin + np.searchsorted(groups, numbers.group[parts])[:, None] * size * size
    bucket = Bucket(parts, len(groups), sources, size, slice(begin, begin + len(groups) * size * size))
    return bucket, np.where((row >= 0) & (column >= 0), cell, -1)


def group_matrices(plan: Plan, stats: PartStats, given: Precisions) -> Iterator[tuple[Bucket, Array]]:
    """Each bucket with the normal matrices of its groups, k × C × m × m × h, their lower triangles.

    The prior precision of their sources, one each, is in them.
    """
    k, _, _, h = given.terms.shape
    cells = np.asarray(_summing(plan, stats) @ given.terms.reshape(-1, h), dtype=np.float64).reshape(k, -1, h)
    for bucket in plan.buckets:
        matrix = cells[:, bucket.cells].reshape(k, bucket.groups, bucket.size, bucket.size, h)
        for source in range(bucket.sources):
            matrix[:, :, source, source] += 1.0
        yield bucket, matrix


def _summing(plan: Plan, stats: PartStats) -> csr_array[np.float64]:
    """What the terms of all parts' precisions are multiplied by to give every cell of every group, at k scatters."""
    k, parts = stats.weight.shape
    n, part, a, b = len(plan.part), plan.part, plan.left, plan.right
    p_a, p_b, q_a, q_b = stats.p[:, part, a], stats.p[:, part, b], stats.q[:, part, a], stats.q[:, part, b]
    data = np.empty((k, n, TERMS))
    data[..., 0], data[..., 1], data[..., 2] = p_a * p_b, p_a * q_b + q_a * p_b, q_a * q_b
    data[..., 3] = stats.rest[:, part, a, b]
    first = TERMS * (np.arange(k)[:, None] * parts + part).astype(np.int32)
    columns = first[..., None] + np.arange(TERMS, dtype=np.int32)
    starts = TERMS * np.append((np.arange(k)[:, None] * n + plan.starts[:-1]).ravel(), k * n).astype(np.int32)
    shape = k * (len(plan.starts) - 1), k * parts * TERMS
    return csr_array((data.ravel(), columns.ravel(), starts), shape=shape)


def pooled(plan: Plan, stats: PartStats, given: Precisions) -> tuple[Array, Array]:
    """The outer matrix with the deviation (k × m × m × h, lower triangle), log det of all groups' sources (k × h)."""
    k, _, _, h = given.terms.shape
    whole, log_det = np.zeros((k, plan.outer + 1, plan.outer + 1, h)), np.zeros((k, h))
    for bucket, matrix in group_matrices(plan, stats, given):
        log_det += eliminated(matrix, bucket.sources, 1.0).sum(axis=1)
        whole += matrix[:, :, bucket.sources :, bucket.sources :].sum(axis=1)
    return whole, log_det


def eliminated(matrix: Array, count: int, least: float) -> NDArray[np.float64]:
    """Eliminates the first `count` columns of symmetric matrices (… × m × m × h, lower triangle) in place.

    Returns the sum of the logarithms of their pivots (… × h). No pivot is less than the prior precision of its column,
    of which `least` is the smallest; where so much cancels that arithmetic makes it less, it is taken as that.

    >>> matrix = np.array([[4.0, 0.0], [2.0, 3.0]])[:, :, None]
    >>> eliminated(matrix, 1, 0.0).round(6).tolist(), matrix[1, 1].tolist()
    ([1.386294], [2.0])
    """
    log_det = np.zeros((*matrix.shape[:-3], matrix.shape[-1]))
    for k in range(count):
        pivot = np.maximum(matrix[..., k, k, :], least)
        log_det += np.log(pivot)
        column = matrix[..., k + 1 :, k, :]
        matrix[..., k + 1 :, k + 1 :, :] -= column[..., :, None, :] * (column / pivot[..., None, :])[..., None, :, :]
    return log_det
