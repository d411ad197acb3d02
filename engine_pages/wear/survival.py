"""The share of units that outlive an exposure, without a formula for it: lives in, a curve in steps out.

Failures known to the hour give the product-limit estimate (Kaplan and Meier 1958) with Greenwood's variance; where some
are known between two strips only, the self-consistent estimate (Turnbull 1976) stands in its place. Both are the
maximum of the same likelihood, and agree where both can be had.
"""

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from engine_pages.wear.lifetimes import FEWEST_FAILURES, Columns, Lifetime, Vector, columns_of, normal_quantile
from engine_pages.wear.trend import Interval
from engine_pages.wear.turnbull import self_consistent

# Shares that agree to this are one share: what rounding leaves of 0.5, reached in ten steps.
SAME_SHARE = 1e-9


class Step(Struct, frozen=True):
    """One drop of the curve: somewhere after `after` and by `by`, where exactly is not known; equal where it is.

    `survival` is the share that outlives `by`; `at_risk` the units known good up to the drop.
    """

    after: float
    by: float
    survival: Interval
    at_risk: int


class LifeReached(Struct, frozen=True):
    """The exposure by which a share has failed: after `after` and by `by`, with the interval's ends; None is not
    reached within what was seen."""

    after: float | None
    by: float | None
    low: float | None
    high: float | None


class Survival(Struct, frozen=True):
    """The share of units that outlive an exposure, of those that reach `since`; seen up to `until`.

    `n` units and `failures` count; `units_left_out` lives lie outside `since` to `until` (see `survival`).
    `good_at_first` units were there from `since` and good at the first drop.
    """

    steps: tuple[Step, ...]
    since: float
    until: float
    n: int
    failures: int
    units_left_out: int
    good_at_first: int
    confidence: float

    def at(self, exposure: float) -> Interval | None:
        """The share that outlives an exposure, 0 to 1, with its interval; None outside `since` to `until`.

        Before the first drop the value is 1, and its lower end the exact one of Clopper and Pearson (1934) for no
        failure among `good_at_first`. Inside a drop of unknown place the lower value and the wider interval.
        """
        if not self.since <= exposure <= self.until:
            return None
        begun = [step for step in self.steps if _has_begun(step, exposure)]
        low, value = self._at_first(), 1.0
        if begun:
            low, value = begun[-1].survival.low, begun[-1].survival.value
        ended = [step for step in begun if step.by <= exposure]
        return Interval(value, low, ended[-1].survival.high if ended else 1.0)

    def life_at(self, share: float) -> LifeReached:
        """The exposure by which a share of the units has failed, 0 < share < 1: the first at which the curve is down.

        Its interval is where the curve's own limits are down (Brookmeyer and Crowley 1982). ValueError for another
        share.

        >>> survival([Lifetime(x, x) for x in (10.0, 20.0, 30.0)] + [Lifetime(30.0)]).life_at(0.5)
        LifeReached(after=20.0, by=20.0, low=0.0, high=None)
        """
        if not 0.0 < share < 1.0:
            raise ValueError(f"a share of failed units lies between 0 and 1, not at {share}")
        left = 1.0 - share + SAME_SHARE
        down = next((step for step in self.steps if step.survival.value <= left), None)
        low = next((step.after for step in self.steps if step.survival.low <= left), None)
        high = next((step.by for step in self.steps if step.survival.high <= left), None)
        low = self.since if self._at_first() <= left else low
        return LifeReached(down.after if down else None, down.by if down else None, low, high)

    def _at_first(self) -> float:
        """The lower limit of a share of which no failure was seen yet."""
        return ((1.0 - self.confidence) / 2.0) ** (1.0 / self.good_at_first) if self.good_at_first else 0.0


def survival(lives: Sequence[Lifetime], confidence: float = 0.90) -> Survival | None:
    """The curve of n lives, or None with fewer than `FEWEST_FAILURES` failures in it: then show the raw lives.

    Kaplan–Meier where every failure is exact, else Turnbull; both with late entries (a unit counts from the exposure
    with which it came in) and ties (who fails at an exposure at which another is taken out failed first). Two-sided
    intervals on the scale of log(−log S) (Kalbfleisch and Prentice 1980): they stay between 0 and 1. Variance by
    Greenwood (1926), with Turnbull's by the observed information of the drops, their places taken as given: with many
    strips and few lives it is too small rather than too large. A curve that has come down to 0 keeps the upper end of
    the step before, since this variance says nothing there.

    Assumes that units are alike and independent, that being taken out says nothing of the life left (not so for a part
    taken out because it looked bad: that is a failure), and that strips come without regard to the failure.

    With used parts there may be exposures at which nobody was watched, or all who were there failed while others came
    in beyond: what is before says nothing of what is after. The curve is then of the stretch with the most failures,
    the later of two, `since` its start. None also where a used part came in at an exposure that, by the estimate, no
    other unit reached: then there is no estimate, however many failed.
    ValueError for a confidence outside 0 to 1.

    >>> curve = survival([Lifetime(x, x) for x in (9.0, 13.0, 18.0, 23.0)] + [Lifetime(x) for x in (13.0, 28.0)])
    >>> [(step.by, step.at_risk, round(step.survival.value, 4)) for step in curve.steps]
    [(9.0, 6, 0.8333), (13.0, 5, 0.6667), (18.0, 3, 0.4444), (23.0, 2, 0.2222)]
    >>> survival([Lifetime(9.0, 9.0), Lifetime(10.0, 20.0), Lifetime(28.0)]) is None
    True
    """
    quantile = normal_quantile(confidence)
    everyone = columns_of(lives)
    lines, since = _stretch(everyone)
    if np.count_nonzero(lines.failed) < FEWEST_FAILURES:
        return None
    drops = product_limit(lines) if lines.exact[lines.failed].all() else self_consistent(lines)
    if drops is None:
        return None
    steps = _steps(lines, drops, quantile)
    there = np.count_nonzero((lines.entered <= since) & (lines.good >= steps[0].after))
    return Survival(
        steps=steps,
        since=since,
        until=float(np.where(lines.failed, lines.by, lines.good).max()),
        n=len(lines.good),
        failures=int(np.count_nonzero(lines.failed)),
        units_left_out=len(everyone.good) - len(lines.good),
        good_at_first=int(there),
        confidence=confidence,
    )


def product_limit(lines: Columns) -> Vector:
    """Kaplan–Meier of exact failures: rows of (after, by, S, variance of S), one a drop, shape (drops, 4).

    >>> product_limit(columns_of([Lifetime(5.0, 5.0), Lifetime(6.0)])).tolist()
    [[5.0, 5.0, 0.5, 0.125]]
    """
    times, failed = np.unique(lines.by[lines.failed], return_counts=True)
    ended = np.where(lines.failed, lines.by, lines.good)
    at_risk = ((lines.entered < times[:, None]) & (ended >= times[:, None])).sum(axis=1)
    share = np.cumprod(1.0 - failed / at_risk)
    left = np.maximum(at_risk - failed, 1)  # where none is left the curve is at zero, and its variance not asked for
    return np.column_stack([times, times, share, share**2 * np.cumsum(failed / (at_risk * left))])


def _stretch(lines: Columns) -> tuple[Columns, float]:
    """The lives that one curve can speak of, and the exposure from which it does."""
    if not len(lines.good):
        return lines, 0.0
    ended = np.where(lines.failed, lines.by, lines.good)
    which, stretch, reach = np.zeros(len(ended), dtype=np.int64), 0, ended[0]
    for at in range(1, len(ended)):  # in the order of entry
        here = which[:at] == stretch
        all_gone = bool(lines.failed[:at][here & (ended[:at] == reach)].all())
        if lines.entered[at] > reach or (lines.entered[at] == reach and all_gone):
            stretch += 1
        which[at], reach = stretch, max(reach, ended[at])
    failed = np.bincount(which, weights=lines.failed)
    chosen = which == np.flatnonzero(failed == failed.max())[-1]
    kept = Columns(lines.entered[chosen], lines.good[chosen], lines.by[chosen])
    return kept, float(kept.entered.min())


def _steps(lines: Columns, drops: Vector, quantile: float) -> tuple[Step, ...]:
    """Drops with their intervals and how many were at risk."""
    out: list[Step] = []
    for after, by, share, variance in drops.tolist():
        before = out[-1].survival.high if out else 1.0
        at_risk = np.count_nonzero((lines.entered < by) & (lines.good >= after))
        out.append(Step(after, by, _log_log(share, variance, quantile, before), int(at_risk)))
    return tuple(out)


def _log_log(share: float, variance: float, quantile: float, before: float) -> Interval:
    """S to the power exp(±q·sd(S) / (S·log S)): a normal interval of log(−log S), turned back."""
    if share <= SAME_SHARE:
        return Interval(0.0, 0.0, before)
    if not math.isfinite(variance):
        return Interval(share, 0.0, before)
    reach = quantile * math.sqrt(variance) / (share * -math.log(share))
    # Beyond e^±30 the ends are 0 and 1 to all figures.
    wider = math.exp(min(reach, 30.0))
    return Interval(share, share**wider, share ** (1.0 / wider))


def _has_begun(step: Step, exposure: float) -> bool:
    """Whether some of a drop may lie at or before an exposure."""
    return step.by <= exposure or step.after < exposure
