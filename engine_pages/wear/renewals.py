"""How often a part is replaced in one engine as hours add up: several engines' histories in, a mean curve out.

For a part that is replaced again and again in the same place. Lives ask how long one unit lasts; this asks how many an
engine has eaten by a given exposure, and assumes no law and no independence of one replacement from the next.
"""

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from engine_pages.wear.lifetimes import Vector, normal_quantile, to_figures
from engine_pages.wear.trend import Interval


class EngineHistory(Struct, frozen=True):
    """One engine in its own exposure: where a part was replaced, and from where to where that would have been seen.

    Two parts replaced at one exposure stand twice; `places` hold such a part. ValueError for numbers that are not
    finite or below zero, for no place, for an end that is not past the start, or a replacement outside: one at
    `watched_to` counts, one at `watched_from` does not.
    """

    replaced_at: tuple[float, ...]
    watched_to: float
    watched_from: float = 0.0
    places: int = 1

    def __post_init__(self) -> None:
        if self.places < 1:
            raise ValueError(f"a history is that of one place or more: {self}")
        if not all(math.isfinite(x) and x >= 0.0 for x in (self.watched_from, self.watched_to, *self.replaced_at)):
            raise ValueError(f"exposures of a history are finite and not below zero: {self}")
        if not self.watched_from < self.watched_to:
            raise ValueError(f"an engine is watched to an exposure past {self.watched_from}, not to {self.watched_to}")
        outside = [x for x in self.replaced_at if not self.watched_from < x <= self.watched_to]
        if outside:
            raise ValueError(f"a replacement at {outside[0]} lies outside {self.watched_from} to {self.watched_to}")

    def stops_at(self, exposure: float) -> bool:
        """Whether the watch ends at an exposure with a replacement: a strip ended it, and it has not run since."""
        end = to_figures(self.watched_to)
        return end == to_figures(exposure) and end in map(to_figures, self.replaced_at)


class Growth(Struct, frozen=True):
    """The mean number of replacements a place from `exposure` on, its interval, and how many engines were watched.

    `low` and `high` are None where the engines cannot show how much they differ.
    """

    exposure: float
    mean: float
    low: float | None
    high: float | None
    watched: int


class MeanReplacements(Struct, frozen=True):
    """The curve: one `Growth` at each exposure with a replacement, from `since` (where it is 0) to `until`.

    `engines` and `replacements` are those given; `beyond` of the replacements lie past `until`: the first exposure at
    which a watch ends with a replacement, or past which for a while no engine was watched.
    """

    growths: tuple[Growth, ...]
    since: float
    until: float
    engines: int
    replacements: int
    beyond: int
    confidence: float

    def at(self, exposure: float) -> float | None:
        """The mean number of replacements a place since `since`; None outside `since` to `until`."""
        if not self.since <= exposure <= self.until:
            return None
        return next((one.mean for one in reversed(self.growths) if one.exposure <= exposure), 0.0)

    def interval_at(self, exposure: float) -> Interval | None:
        """The same with its interval; None also before the first replacement and where no interval can be given."""
        last = next((one for one in reversed(self.growths) if one.exposure <= exposure <= self.until), None)
        if last is None or last.low is None or last.high is None:
            return None
        return Interval(last.mean, last.low, last.high)


def mean_cumulative(histories: Sequence[EngineHistory], confidence: float = 0.90) -> MeanReplacements:
    """Mean cumulative number of replacements a place, over engines watched to different exposures.

    At each exposure, replacements ÷ places watched there, added up (Nelson 1988). The variance is Nelson's (1995): of
    the sum of those means, with the covariances of one engine's replacements, each estimated without bias from the
    engines watched at both exposures; where engines have different numbers of places, of what each engine replaced
    beyond its places' share (Cochran's ratio estimate 1977). Two-sided normal interval, its lower end held at 0. The
    interval is None where fewer than two engines share two of the exposures, or where that variance, a difference, is
    not above zero: engines that do not differ in what was seen say nothing of how much engines differ.

    Assumes that engines are alike, independent, and taken out of watch for reasons that have nothing to do with how
    often the part was replaced. An engine that was stripped, had the part replaced and has not run since is not: the
    replacement itself ended its watch. To drop it from the count would make every later replacement weigh too much
    (engines that end at their first replacement would seem to use two), to keep it would say that it never needs
    another. So the curve goes up to the first such end, where all that were watched still are, and no further.

    One engine is enough for the curve, two for an interval, and few make a rough one. ValueError for no engine, or a
    confidence outside 0 to 1.

    >>> curve = mean_cumulative([EngineHistory((20.0, 45.0), 60.0), EngineHistory((30.0,), 40.0)])
    >>> [(one.exposure, one.mean, one.watched) for one in curve.growths]
    [(20.0, 0.5, 2), (30.0, 1.0, 2), (45.0, 2.0, 1)]
    >>> stripped = mean_cumulative([EngineHistory((x,), x) for x in (10.0, 11.0, 12.0, 13.0)])
    >>> stripped.until, stripped.at(10.0), stripped.beyond
    (10.0, 0.25, 3)
    """
    quantile = normal_quantile(confidence)
    if not histories:
        raise ValueError("a mean number of replacements needs an engine")
    histories = [_to_figures(one) for one in histories]
    since, until = _watched(histories)
    times = np.unique([x for one in histories for x in one.replaced_at if x <= until])
    counts = np.array([[one.replaced_at.count(x) for x in times] for one in histories], dtype=np.float64)
    seen = np.array([[one.watched_from < x <= one.watched_to for x in times] for one in histories], dtype=np.bool_)
    places = np.array([one.places for one in histories], dtype=np.float64)
    watched = seen.sum(axis=0)
    means = np.cumsum(counts.sum(axis=0) / (places @ seen))
    variances = _variances(counts, seen, places)
    replacements = sum(len(one.replaced_at) for one in histories)
    growths = tuple(
        Growth(float(x), float(mean), *_ends(float(mean), float(variance), quantile), int(n))
        for x, mean, variance, n in zip(times, means, variances, watched, strict=True)
    )
    beyond = replacements - int(counts.sum())
    return MeanReplacements(growths, since, until, len(histories), replacements, beyond, confidence)


def _to_figures(one: EngineHistory) -> EngineHistory:
    """A history in which one and the same exposure is a tie, however it was added up."""
    replaced_at = tuple(to_figures(x) for x in one.replaced_at)
    return EngineHistory(replaced_at, to_figures(one.watched_to), to_figures(one.watched_from), one.places)


def _watched(histories: Sequence[EngineHistory]) -> tuple[float, float]:
    """The first exposures at which an engine is watched, up to where none is or one's watch ends with a replacement."""
    spans = sorted((one.watched_from, one.watched_to) for one in histories)
    since, until = spans[0]
    for start, end in spans:
        if start > until:
            break
        until = max(until, end)
    return since, min([until, *(one.watched_to for one in histories if one.stops_at(one.watched_to))])


def _variances(counts: Vector, seen: NDArray[np.bool_], places: Vector) -> Vector:
    """Nelson's variance of the curve at each exposure, shape (times,); not finite from where it cannot be estimated.

    The covariance of the means at two exposures is that of one engine's counts (less its places' share of all), times
    engines watched at both, ÷ places watched at one, ÷ at the other.
    """
    times = counts.shape[1]
    covariances = np.zeros((times, times))
    for late in range(times):
        for early in range(late + 1):
            both = seen[:, early] & seen[:, late]
            n, share = np.count_nonzero(both), places[both] / places[both].sum() if both.any() else places[both]
            first, second = counts[both, early], counts[both, late]
            product = float((first - share * first.sum()) @ (second - share * second.sum()))
            of_one = product / (n - 1) if n > 1 else math.inf
            watched = (places @ seen[:, early]) * (places @ seen[:, late])
            covariances[early, late] = covariances[late, early] = of_one * n / watched if n else 0.0
    return np.array([covariances[: at + 1, : at + 1].sum() for at in range(times)])


def _ends(mean: float, variance: float, quantile: float) -> tuple[float | None, float | None]:
    """A normal interval that holds no number below zero, or none."""
    if not 1e-12 < variance < math.inf:
        return None, None
    reach = quantile * math.sqrt(variance)
    return max(mean - reach, 0.0), mean + reach
