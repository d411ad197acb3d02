"""A part among its like and against itself: rates, changes and lines in; ranks, jumps and the weight of selection out.

Small answers, each from numbers alone. What they are called on a page is a page's business.
"""

import math
from collections.abc import Sequence

from msgspec import Struct

from engine_pages.wear.limits import ONE_SIDED_95, Limit, Wears
from engine_pages.wear.pool.line import WearLine
from engine_pages.wear.pool.summary import JointSummary
from engine_pages.wear.trend import Crossing, Interval

# Of fewer parts no percentile is given: one of twenty is five in a hundred.
FEWEST_FOR_PERCENTILE = 20
# A change that lies this many of its kind's own standard deviations from what was to be expected is a doubt: one in
# two million by chance alone, so rather a slipped digit, another place, or something that happened.
MANY_TIMES = 5.0
# Shares of a part's exposure that differ by less are one figure.
SAME = 1e-9


class Rank(Struct, frozen=True):
    """The place of a figure among n like ones, 1 being the highest, and how many share it (itself included)."""

    place: int
    of: int
    shared_by: int

    @property
    def from_below(self) -> int:
        """The place counted from the lowest."""
        return self.of - self.place - self.shared_by + 2

    @property
    def percentile(self) -> float | None:
        """The share of the others that lie lower (ties half), in percent; None below twenty figures."""
        if self.of < FEWEST_FOR_PERCENTILE:
            return None
        return 100.0 * (self.of - self.place - 0.5 * (self.shared_by - 1)) / (self.of - 1)


def rank_of(value: float, others: Sequence[float]) -> Rank:
    """The rank of a figure (a rate, a life, a share used) among those of others of its kind, all in one unit.

    Figures within a billionth of each other share a place. Alone it is first of one.

    >>> rank_of(0.9, [0.4, 0.5, 0.4])
    Rank(place=1, of=4, shared_by=1)
    >>> rank_of(0.4, [0.9, 0.5, 0.4]).from_below
    1
    """
    alike = [other for other in others if math.isclose(other, value, rel_tol=SAME)]
    higher = sum(1 for other in others if other > value) - sum(1 for other in alike if other > value)
    return Rank(place=1 + higher, of=1 + len(others), shared_by=1 + len(alike))


def moved_against_wear(change: float, u: float, wears: Wears, k: float = ONE_SIDED_95) -> bool:
    """Whether a reading moved against wear by more than its uncertainty k · u reaches (a journal that grew).

    `change` since the reading before and `u`, its standard uncertainty with what both share taken out, in one unit. A
    dimension that wears either way or not at all has no such direction.

    >>> moved_against_wear(-0.004, 0.002, "up"), moved_against_wear(-0.003, 0.002, "up")
    (True, False)
    """
    if wears not in ("up", "down"):
        return False
    return (change if wears == "up" else -change) < -k * u


def times_the_spread(change: float, u: float, run: float, kind: JointSummary) -> float:
    """How many standard deviations of its kind a change lies from the change to be expected, with its sign.

    `change` (value's unit) between two readings of one part, `u` the standard uncertainty of that change by its gauges,
    `run` the exposure between them. Expected is the kind's rate times `run`; its variance is that of the kind's rates
    times run², twice the extra scatter's, and u². Best of a kind fitted without the part itself: a jump that counts
    widens what it is measured by. More than `MANY_TIMES` is a doubt on the sheet that wrote it.

    >>> from engine_pages.wear.measured import Measured
    >>> from engine_pages.wear.pool.fit import Frame, Spreads, fit_with_spreads
    >>> from engine_pages.wear.pool.numbers import PoolPart
    >>> like = [PoolPart("B", ((0.0, Measured(0.0)), (10.0, Measured(0.01))))]
    >>> kind = fit_with_spreads(like, Spreads(0.001, 0.0, 0.0)).summary
    >>> round(times_the_spread(0.02, 0.002, 10.0, kind), 3)
    5.0
    """
    w, mean, covariance = kind.weights, kind.mean, kind.covariance
    rate = float(w @ mean[:, 1])
    of_rates = float(w @ (kind.tau**2 + covariance[:, 1, 1] + (mean[:, 1] - rate) ** 2))
    variance = u * u + 2.0 * float(w @ kind.sigma**2) + run * run * of_rates
    away = change - rate * run
    if variance == 0.0:
        return 0.0 if away == 0.0 else math.copysign(math.inf, away)
    return away / math.sqrt(variance)


class Selection(Struct, frozen=True):
    """A part's answer from all sheets, and from those that were not written because something looked bad.

    Rates are medians with intervals; `chance` and the like those of being inside the limit at the exposure asked for,
    None without a limit. The fields without are None where too little is left for a line, where the limit is met only
    where the answer changes.
    """

    rate: Interval
    rate_without: Interval | None
    to_limit: Crossing | None
    to_limit_without: Crossing | None
    chance: float | None
    chance_without: float | None
    changes: bool


def selection_of(
    every: WearLine, without: WearLine | None, limit: Limit | None, x: float, keep: float, confidence: float = 0.90
) -> Selection:
    """Compares a part's line from all sheets with that without sheets of incidents and failures.

    `x`: the exposure at the plan's end, `keep`: the chance that is wanted there. The answer changes where one chance
    is at least `keep` and the other is not, where either rate lies outside the other's interval, or where nothing is
    left without those sheets.

    >>> from engine_pages.wear.measured import Measured
    >>> from engine_pages.wear.trend import fit_line
    >>> line = fit_line([0.0, 10.0, 20.0], [Measured(0.0, 1e-6), Measured(0.01, 1e-6), Measured(0.02, 1e-6)])
    >>> selection_of(line, line, Limit(max=0.05), 30.0, keep=0.9).changes
    False
    """
    rate = every.rate(confidence)
    chance = every.chance_inside(limit, x) if limit else None
    if without is None:
        return Selection(rate, None, _to_limit(every, limit, confidence), None, chance, None, changes=True)
    other = without.rate(confidence)
    other_chance = without.chance_inside(limit, x) if limit else None
    crossed = chance is not None and other_chance is not None and (chance >= keep) != (other_chance >= keep)
    apart = not (rate.holds(other.value) and other.holds(rate.value))
    changes = crossed or apart
    mine, others = (_to_limit(line, limit, confidence) if changes else None for line in (every, without))
    return Selection(rate, other, mine, others, chance, other_chance, changes)


def _to_limit(line: WearLine, limit: Limit | None, confidence: float) -> Crossing | None:
    return line.to_limit(limit, confidence) if limit else None
