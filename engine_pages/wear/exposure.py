"""Exposure: what a part has been through, in hours, km, starts, runs and over-revs, and the ledger that sums it.

Lines of a log go in as (moment, exposure); out comes what lies between any two moments. A moment is any value that
sorts: the ledger asks nothing of it but its order.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

Moment = tuple[int, int, int]  # day number, minute of the day, order within the minute


class Exposure(Struct, frozen=True):
    """Hours [h], distance [km], starts, runs, over-revs, time above the redline [s].

    `at_least` says that a part of the life is unknown, so that each figure is a lower bound; `unwritten` names the
    units that were not written of a stretch that is known otherwise.

    >>> both = Exposure(hours=2.0, starts=3) + Exposure(hours=0.5, unwritten=frozenset({"starts"}))
    >>> both.hours, both.is_bound("hours"), both.is_bound("starts")
    (2.5, False, True)
    """

    hours: float = 0.0
    km: float = 0.0
    starts: float = 0.0
    runs: float = 0.0
    over_revs: float = 0.0
    above_redline: float = 0.0
    at_least: bool = False
    unwritten: frozenset[str] = frozenset()

    def __add__(self, other: "Exposure") -> "Exposure":
        sums = {name: getattr(self, name) + getattr(other, name) for name in AMOUNTS}
        return Exposure(**sums, at_least=self.at_least or other.at_least, unwritten=self.unwritten | other.unwritten)

    def __sub__(self, other: "Exposure") -> "Exposure":
        rests = {name: getattr(self, name) - getattr(other, name) for name in AMOUNTS}
        return Exposure(**rests, at_least=self.at_least, unwritten=self.unwritten)

    def amount(self, unit: str) -> float:
        """The figure of one unit: hours, km, starts, runs."""
        value: float = getattr(self, unit)
        return value

    def with_amount(self, unit: str, amount: float) -> "Exposure":
        """The same with another figure in one unit; ValueError for a unit that is none."""
        if unit not in AMOUNTS:
            raise ValueError(f"an exposure has no {unit}")
        amounts = {name: amount if name == unit else getattr(self, name) for name in AMOUNTS}
        return Exposure(**amounts, at_least=self.at_least, unwritten=self.unwritten - {unit})

    def is_bound(self, unit: str) -> bool:
        """Whether the figure of one unit is only a lower bound."""
        return self.at_least or unit in self.unwritten


AMOUNTS: tuple[str, ...] = tuple(name for name in Exposure.__struct_fields__ if name not in ("at_least", "unwritten"))
NOTHING = Exposure()


def total(exposures: Iterable[Exposure]) -> Exposure:
    """The sum; nothing at all sums to nothing.

    >>> total([Exposure(hours=2.0), Exposure(hours=0.5, starts=1)]).hours
    2.5
    """
    out = NOTHING
    for exposure in exposures:
        out = out + exposure
    return out


class Ledger:
    """The sums of one engine's log. Lines may come in any order; equal moments keep the order given.

    >>> book = Ledger([((1, 0, 0), Exposure(hours=2.0)), ((3, 0, 0), Exposure(hours=0.5))])
    >>> book.until((2, 0, 0)).hours, book.between((2, 0, 0), (4, 0, 0)).hours
    (2.0, 0.5)
    """

    def __init__(self, lines: Iterable[tuple[Moment, Exposure]]) -> None:
        ordered: Sequence[tuple[Any, Exposure]] = sorted(lines, key=lambda line: line[0])
        self._moments = [moment for moment, _ in ordered]
        self._sums = [NOTHING]
        self._unknown = [0]  # how many lines so far say "at least"
        self._unwritten = {unit: [0] for _, exposure in ordered for unit in exposure.unwritten}
        for _, exposure in ordered:
            self._sums.append(self._sums[-1] + exposure)
            self._unknown.append(self._unknown[-1] + exposure.at_least)
            for unit, counts in self._unwritten.items():
                counts.append(counts[-1] + (unit in exposure.unwritten))

    def until(self, moment: Moment) -> Exposure:
        """All that lies at or before a moment."""
        return self._sums[bisect_right(self._moments, moment)]

    def between(self, start: Moment, end: Moment | None) -> Exposure:
        """What lies after `start` and at or before `end` (None: until the last line)."""
        first = bisect_right(self._moments, start)
        last = bisect_right(self._moments, end) if end is not None else len(self._moments)
        rest = self._sums[last] - self._sums[first]
        # an unknown stretch before the start says nothing of what came after it
        unknown = self._unknown[last] > self._unknown[first]
        unwritten = frozenset(unit for unit, counts in self._unwritten.items() if counts[last] > counts[first])
        return replace(rest, at_least=unknown, unwritten=unwritten)

    @property
    def all(self) -> Exposure:
        """The whole log."""
        return self._sums[-1]
