"""Whether a constant rate fits: readings of a pool in, the bend of their common curve and a straight part's fit out.

Beside the line stands a curve, γ · √use, the wear of a surface that protects itself the more it has run: γ leads the
way of the wear where the rate falls with use (running in), against it where the rate grows. Spreads and scatter are
fitted with the curve in place, so that a bend is not taken for scatter.
"""

from collections.abc import Hashable, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.wear.mixture import chance_below
from engine_pages.wear.pool.fit import NOTHING_KNOWN, PoolFit, Starts, fit_pool, is_tied, start_of
from engine_pages.wear.pool.grid import integrated
from engine_pages.wear.pool.numbers import Numbers, PoolPart, numbers_of
from engine_pages.wear.pool.plan import plan_of
from engine_pages.wear.pool.priors import Frame, believed

# Fewer readings, or fewer different exposures than a line and a curve need, cannot show a bend.
FEWEST_READINGS = 4
FEWEST_EXPOSURES = 3
# A rate is said not to be constant where a bend the other way has at most this chance on either side (5 % two-sided).
RISK = 0.05
# Where a line bends, readings before these shares of the longest exposure are left out, as few as will do.
CUTS = (0.1, 0.2, 0.35, 0.5)
# Exposures that differ by less than this share of the longest are one.
SAME = 1e-6


class Bend(Struct, frozen=True):
    """What the test found: the two-sided chance that so clear a bend is none, and which way the rate goes with use."""

    chance: float
    rate: Literal["falls", "grows"]
    readings: int

    @property
    def bends(self) -> bool:
        """Whether a constant rate does not fit."""
        return self.chance < RISK


class BentFit(Struct, frozen=True, eq=False):
    """A pool's fit, its bend (None: too few readings to tell), and the exposure from which readings count.

    `since` is zero where all do. Where it is not, parts start anew there: their lines hold from there on. `parts` are
    those of the fit, with the readings that count.
    """

    fit: PoolFit
    bend: Bend | None
    since: float
    parts: tuple[PoolPart, ...]


def bend_of(
    parts: Sequence[PoolPart],
    frame: Frame = NOTHING_KNOWN,
    starts: Starts = "spread",
    common: Sequence[Hashable] = (),
) -> Bend | None:
    """The bend of a pool's readings, or of one part's.

    Arguments as of `fit_pool`. Method: the posterior chance of γ < 0 or γ > 0, whichever is less, times two, with γ, α
    and β flat and ω, τ, σ integrated. Parts whose start is their own are left out, unless all are: their curve would
    begin at an exposure that is not known. On drawn shops with straight lines it found a bend in 3 of 100.

    None with fewer than four readings, or fewer than three exposures that differ.

    >>> from engine_pages.wear.measured import Measured
    >>> used = (0.5, 2.0, 5.0, 10.0, 20.0, 40.0)
    >>> running_in = PoolPart("RB-1", tuple((x, Measured(0.020 * x**0.2, 4e-7)) for x in used))
    >>> found = bend_of([running_in])
    >>> found.bends, found.rate
    (True, 'falls')
    """
    measured = [part for part in parts if part.readings and not part.own_intercept]
    measured = measured or [part for part in parts if part.readings]
    n = sum(len(part.readings) for part in measured)
    if n < FEWEST_READINGS or _exposures(measured) < FEWEST_EXPOSURES:
        return None
    units, scales = believed(measured, frame, is_tied(frame, starts))
    start = replace(start_of(scales, starts), bend=True)
    numbers = _with_curve(numbers_of(measured, units, common))
    nodes, weights = integrated(numbers, plan_of(numbers), start, scales)
    bends, sds = nodes.mean[:, 2], np.sqrt(nodes.covariance[:, 2, 2])
    below = chance_below(weights, bends, sds, 0.0)
    bend = float(weights @ bends)
    worn = bend + float(weights @ nodes.mean[:, 1])  # by the longest exposure
    falls = (bend > 0.0) == (worn > 0.0)
    return Bend(2.0 * min(below, 1.0 - below), "falls" if falls else "grows", n)


def fit_where_straight(
    parts: Sequence[PoolPart],
    frame: Frame = NOTHING_KNOWN,
    starts: Starts = "spread",
    common: Sequence[Hashable] = (),
) -> BentFit | None:
    """A pool's fit from all readings where a constant rate fits them, else from the later ones only.

    Arguments and None as of `fit_pool`. Of the cuts at 10, 20, 35 and 50 % of the longest exposure the first counts
    after which the readings show no bend; where all do, or too few are left to tell, the last that leaves two readings
    of one part. Parts that were not read since have no line, and none has where no part was read twice: nothing is
    carried on from an early rate. A part whose life before is not known keeps its readings, unless all are such.

    >>> from engine_pages.wear.measured import Measured
    >>> used = (0.5, 2.0, 5.0, 10.0, 20.0, 40.0)
    >>> running_in = PoolPart("RB-1", tuple((x, Measured(0.020 * x**0.2, 4e-7)) for x in used))
    >>> found = fit_where_straight([running_in])
    >>> found.since > 0.0, round(fit_pool([running_in]).lines["RB-1"].slope / found.fit.lines["RB-1"].slope, 1)
    (True, 2.0)
    """
    whole = fit_pool(parts, frame, starts, common)
    bend = bend_of(parts, frame, starts, common)
    if whole is None or bend is None or not bend.bends:
        return None if whole is None else BentFit(whole, bend, 0.0, tuple(parts))
    later, since = _later(parts, frame, starts, common)
    fit = fit_pool(later, frame, starts, common)
    return BentFit(PoolFit(whole.summary, {}) if fit is None else fit, bend, since, tuple(later))


def _later(
    parts: Sequence[PoolPart], frame: Frame, starts: Starts, common: Sequence[Hashable]
) -> tuple[Sequence[PoolPart], float]:
    """The parts with their later readings only, and from which exposure on; no parts where none was read twice since.

    Where a part stood at a cut says nothing of how its kind starts.
    """
    longest = max(x for part in parts for x, _ in part.readings)
    best: tuple[Sequence[PoolPart], float] = (), longest
    for cut in CUTS:
        later = counted(parts, cut * longest)
        if not any(_exposures([part]) > 1 for part in later):
            break
        best = later, cut * longest
        left = bend_of(later, frame, starts, common)
        if left is not None and not left.bends:
            break
    return best


def counted(parts: Sequence[PoolPart], since: float) -> tuple[PoolPart, ...]:
    """The parts with the readings that count from an exposure on; see `fit_where_straight`."""
    unknown = all(part.own_intercept for part in parts if part.readings)
    return tuple(part if part.own_intercept and not unknown else _since(part, since) for part in parts)


def _since(part: PoolPart, exposure: float) -> PoolPart:
    later = tuple((x, value) for x, value in part.readings if x >= exposure)
    return replace(part, readings=later, own_intercept=True)


def _exposures(parts: Sequence[PoolPart]) -> int:
    """How many different exposures there are."""
    every = np.sort([x for part in parts for x, _ in part.readings])
    return 0 if not len(every) else 1 + int((np.diff(every) > SAME * np.abs(every).max()).sum())


def _with_curve(numbers: Numbers) -> Numbers:
    """The numbers with √x as the first of the outer columns beside the line."""
    curve = np.sqrt(np.maximum(numbers.x, 0.0))
    return replace(numbers, columns=np.column_stack([curve, numbers.columns]), common=numbers.common + 1)
