"""A pool's readings as plain arrays, rescaled: parts with measured values in, arrays and groups out.

Exposures are divided by the longest, values by a length of their own size, so that what follows meets numbers near one
whatever the units. What readings share is sorted by how far it reaches: a source that one reading bears alone is part
of that reading's own variance; one that a few parts share ties them into a group; one that the caller names as common
reaches everywhere. Given the spreads, groups know of each other only through the kind's line and the common sources.
"""

from collections.abc import Hashable, Iterable, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from engine_pages.wear.measured import Measured

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# A standard uncertainty is never taken as less than this share of the readings' own size: weights stay finite.
LEAST_UNCERTAINTY = 1e-7


class PoolPart(Struct, frozen=True):
    """One part of a pool: readings as (exposure since its baseline, value), and the target that they are taken from.

    `target` is the middle of a new part's range, moved by the part's size, in the values' unit. With `own_intercept`
    (a prior life that is not known, a baseline that nobody saw) its start says nothing of the kind's: it informs rates.
    """

    id: str
    readings: tuple[tuple[float, Measured], ...] = ()
    target: float = 0.0
    own_intercept: bool = False


class Units(Struct, frozen=True):
    """What the rescaled numbers are multiplied by: one exposure, one value; and what every deviation is taken from."""

    exposure: float
    value: float
    shift: float = 0.0


class Numbers(Struct, frozen=True, eq=False):
    """N readings of P measured parts in order, rescaled.

    `columns` (N × c) holds, beside the constant and the exposure, what bears on a reading: the common sources first,
    then one column for each of the J places of a part's shared sources, then the deviation. `places` (P × J) says
    which source of its group a column is, −1 for none; `group` (P) and `sources` (a count for each group) the rest.
    """

    ids: tuple[str, ...]
    x: Array
    v: Array
    columns: Array
    part: Index
    first: Index
    origin: Array
    own: NDArray[np.bool_]
    places: Index
    group: Index
    sources: Index
    common: int


def numbers_of(parts: Sequence[PoolPart], units: Units, common: Sequence[Hashable]) -> Numbers:
    """The arrays of all parts that have a reading; parts without one are not in them."""
    measured = [part for part in parts if part.readings]
    rows = [(i, x, value) for i, part in enumerate(measured) for x, value in part.readings]
    origin = np.array([origin_of(part, units) for part in measured])
    bearers = _bearers(rows)
    place_of = _places(rows, bearers, common)
    group, sources, index = _groups(len(measured), place_of)
    columns = np.zeros((len(rows), len(common) + (max(map(len, place_of), default=0)) + 1))
    v = np.empty(len(rows))
    where = {source: k for k, source in enumerate(common)}
    for n, (i, _, value) in enumerate(rows):
        alone = 0.0
        for source, amount in value.shared.items():
            if source in where:
                columns[n, where[source]] = amount / units.value
            elif source in place_of[i]:
                columns[n, len(common) + place_of[i][source]] = amount / units.value
            else:
                alone += amount * amount
        v[n] = (value.independent + alone) / units.value**2
        columns[n, -1] = (value.value - origin[i]) / units.value
    places = np.full((len(measured), columns.shape[1] - len(common) - 1), -1, dtype=np.intp)
    for i, own in enumerate(place_of):
        for source, j in own.items():
            places[i, j] = index[source]
    part = np.array([i for i, _, _ in rows], dtype=np.intp)
    return Numbers(
        ids=tuple(part.id for part in measured),
        x=np.array([x for _, x, _ in rows]) / units.exposure,
        v=np.maximum(v, LEAST_UNCERTAINTY**2),
        columns=columns,
        part=part,
        first=np.searchsorted(part, np.arange(len(measured))),
        origin=origin,
        own=np.array([part.own_intercept for part in measured], dtype=np.bool_),
        places=places,
        group=group,
        sources=sources,
        common=len(common),
    )


def origin_of(part: PoolPart, units: Units) -> float:
    """The value that a part's deviations are taken from: its target; with an intercept of its own its first reading."""
    return part.readings[0][1].value if part.own_intercept and part.readings else part.target + units.shift


def groups_of(parts: Iterable[PoolPart], common: Iterable[Hashable] = ()) -> tuple[tuple[str, ...], ...]:
    """Parts that one shared source or a chain of them ties together, in their order; a part that shares none is alone.

    >>> zero = {("zero", "mic", "T-1"): 0.001}
    >>> parts = [PoolPart(name, ((9.0, Measured(60.0, 1e-6, zero)),)) for name in ("RB-1", "RB-2")]
    >>> groups_of([*parts, PoolPart("RB-3")])
    (('RB-1', 'RB-2'), ('RB-3',))
    """
    listed = list(parts)
    rows = [(i, x, value) for i, part in enumerate(listed) for x, value in part.readings]
    group, _, _ = _groups(len(listed), _places(rows, _bearers(rows), list(common)))
    found: dict[int, list[str]] = {}
    for part, number in zip(listed, group.tolist(), strict=True):
        found.setdefault(number, []).append(part.id)
    return tuple(tuple(ids) for ids in found.values())


Row = tuple[int, float, Measured]


def _bearers(rows: Sequence[Row]) -> dict[Hashable, int]:
    """How many readings each source bears on."""
    count: dict[Hashable, int] = {}
    for _, _, value in rows:
        for source in value.shared:
            count[source] = count.get(source, 0) + 1
    return count


def _places(rows: Sequence[Row], bearers: dict[Hashable, int], common: Sequence[Hashable]) -> list[dict[Hashable, int]]:
    """For each part, a column for each source that it shares between readings or with other parts."""
    places: list[dict[Hashable, int]] = [{} for _ in range(1 + max((i for i, _, _ in rows), default=-1))]
    for i, _, value in rows:
        for source in value.shared:
            if bearers[source] > 1 and source not in common:
                places[i].setdefault(source, len(places[i]))
    return places


def _groups(n: int, places: Sequence[dict[Hashable, int]]) -> tuple[Index, Index, dict[Hashable, int]]:
    """Each part's group, each group's number of sources, and each source's index in its group."""
    leader = list(range(n))

    def find(i: int) -> int:
        while leader[i] != i:
            leader[i] = leader[leader[i]]
            i = leader[i]
        return i

    bearer: dict[Hashable, int] = {}
    for i, own in enumerate(places):
        for source in own:
            one, other = find(i), find(bearer.setdefault(source, i))
            leader[max(one, other)] = min(one, other)
    number: dict[int, int] = {}
    group = np.array([number.setdefault(find(i), len(number)) for i in range(n)], dtype=np.intp)
    counts, index = [0] * len(number), {}
    for source, i in bearer.items():
        index[source] = counts[group[i]]
        counts[group[i]] += 1
    return group, np.array(counts, dtype=np.intp), index
