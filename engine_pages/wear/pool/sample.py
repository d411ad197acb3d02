"""Of a large pool the parts that speak for their kind: all parts in, at most so many of them out.

What a kind has in common (its line, its spreads) is known well from a hundred parts; a thousand cost ten times as much
and move it by less than any page shows. Which parts speak is settled by a number drawn from each one's name: it depends
on no reader, on no reading and on no other part, so that parts that last, and are read more often, weigh no more than
those that did not.
"""

import hashlib
from collections.abc import Hashable, Iterator, Mapping, Sequence

from engine_pages.wear.pool.line import PartLine
from engine_pages.wear.pool.numbers import PoolPart, groups_of
from engine_pages.wear.pool.summary import JointSummary

MOST_FITTED = 120
"""Measured parts that a fit takes at most. Of 1,000 drawn parts, read five times each, a fit of 120 moves one part's
own rate by 1 to 2 % where its interval is 17 % to either side, and takes 0.02 s; of 400 it takes 0.1 s, of all 0.4 s
(tests/speed/large_pools.py)."""


DIGITS_DRAWN = 16  # hexadecimal, of the number that is drawn from a name


def sample_of(parts: Sequence[PoolPart], most: int = MOST_FITTED) -> Sequence[PoolPart]:
    """The parts themselves, in their order, where no more than so many were measured; else so many measured ones.

    >>> from engine_pages.wear.measured import Measured
    >>> parts = [PoolPart(name, ((1.0, Measured(1.0)),)) for name in "ABCD"]
    >>> [part.id for part in sample_of(parts, 2)], [part.id for part in sample_of([*parts, PoolPart("E")], 2)]
    (['A', 'D'], ['A', 'D'])
    """
    measured = [part for part in parts if part.readings]
    if len(measured) <= most:
        return parts
    speak = set(sorted((part.id for part in measured), key=drawn)[:most])
    return [part for part in measured if part.id in speak]


def drawn(id: str) -> tuple[str, str]:
    """The number that is drawn from a part's name, and the name: the least ones speak for their pool."""
    return hashlib.sha256(id.encode()).hexdigest()[:DIGITS_DRAWN], id


class GroupLines(Mapping[str, PartLine]):
    """The lines of a large pool's parts by their summary, each worked out with its group when it is first asked for."""

    def __init__(self, summary: JointSummary, parts: Sequence[PoolPart], common: Sequence[Hashable]) -> None:
        self._summary = summary
        self._parts = {part.id: part for part in parts}
        self._common = tuple(common)
        self._found: dict[str, PartLine] = {}
        self._asked: set[str] = set()
        self._group: dict[str, tuple[str, ...]] = {id: group for group in groups_of(parts, common) for id in group}

    def group(self, id: str) -> tuple[PoolPart, ...]:
        """The parts that share a gauge's zero with one, itself among them."""
        return tuple(self._parts[one] for one in self._group[id])

    def __getitem__(self, id: str) -> PartLine:
        if id in self._parts and id not in self._asked:
            group = self.group(id)
            self._asked.update(one.id for one in group)
            self._found.update(self._summary.lines(group, self._common))
        return self._found[id]

    def __iter__(self) -> Iterator[str]:
        return (id for id in self._parts if self.get(id) is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)
