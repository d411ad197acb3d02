"""Did a change help: wear before and after a change in, rates, their ratio and a verdict out.

Each part is its own control. A rate is that of its part, moved by the change, by the season of its engine-interval, by
the part's own luck in it, and by its readings:

    rate = part + (change, if after) + season of the interval + own scatter + reading errors

`part` and `change` are free numbers, so that it does not matter which parts a shop has; season and own scatter are
normal with variances found from these rates; reading errors have the known covariance of their readings. Fitted by
generalised least squares; intervals are Student's t with the degrees of freedom of the seasons, not of the readings.
Few seasons say little of their spread, least where reading errors hide it: taken as the smallest that fits, it gave up
to 12 % false alarms where 10 % were allowed. The middle of what it may be gave 7 to 10 % where seasons rule, and fewer
where readings do (2,000 drawn shops each of 1 to 6 parts, 3 to 8 intervals a side, seasons of 30 %).
"""

from collections.abc import Sequence
from typing import Literal

import numpy as np
from msgspec import Struct
from scipy.linalg import cho_factor, cho_solve, null_space, solve_triangular
from scipy.special import stdtrit

from engine_pages.wear.blocks import Rows, blocks_of
from engine_pages.wear.fieller import Ratio, fieller
from engine_pages.wear.intervals import SAME_COLUMN, ChangeSide, Increment, LeftOut, Rates, rates_of, sorted_out
from engine_pages.wear.least_squares import RIDGE, Matrix, Vector, fitted_scatter
from engine_pages.wear.trend import Interval

# Engine-intervals a side below which nothing is said.
FEWEST_INTERVALS = 3
# Steps of the grid on which a variance is integrated, and how far it reaches beyond what the data show, in powers of e:
# with one degree of freedom a billionth is left beyond it.
STEPS = 1000
TAIL = 40.0

Verdict = Literal["lower", "higher", "cannot tell"]
WhyNot = Literal[
    "no part counts on both sides",
    "fewer than three intervals a side",
    "the change was made because the last rate looked bad",
    "a rate runs against wear",
    "no change is not ruled out",
    "one of several kinds, it may be chance",  # said by `change_by_kind` alone
]


class SideCount(Struct, frozen=True):
    """How many engine-intervals the increments of a side tell apart, and how many increments there are."""

    intervals: int
    increments: int


class FittedChange(Struct, frozen=True):
    """Rates before and after with their intervals, `difference` (after less before) and `ratio` (after ÷ before).

    All but the ratio are in the reading's unit per exposure, or multiples of the usual rate. Both rates are of the same
    average part: parts weigh in it as they weigh in the difference between the sides. `season` and `own` are the
    standard deviations found of a season and of a part's own scatter in it; `dof` the degrees of freedom.
    """

    before: Interval
    after: Interval
    difference: Interval
    ratio: Ratio
    season: float
    own: float
    dof: int


class ChangeAnswer(Struct, frozen=True):
    """The verdict on a change, the numbers, and what they rest on.

    `why` says why it cannot be told, None where it can. `fit` is None where no interval can be given at all; below the
    smallest sample, and where the change is a selection, the numbers stand and the verdict is withheld.
    """

    verdict: Verdict
    why: WhyNot | None
    fit: FittedChange | None
    before: SideCount
    after: SideCount
    parts: int
    used: tuple[Increment, ...]
    left_out: tuple[LeftOut, ...]


def weigh_change(increments: Sequence[Increment], confidence: float = 0.9, selected: bool = False) -> ChangeAnswer:
    """Whether wear is lower or higher after a change, or cannot be told.

    `increments` are n wear increments of any number of parts in any order, see `Increment` for units; those that hold
    run-in or more than one recipe, and parts that count on one side only, are left out and listed. `selected`: the
    change was made because the last rate looked bad; then the next would look better by itself, and the verdict is
    withheld. Intervals are two-sided with `confidence`; the verdict is given where the ratio's interval leaves out 1.

    Method: generalised least squares on rates with the known covariance of the readings, parts as free numbers, a
    random effect for each engine-interval and one for each increment. The own scatter is the smallest that brings
    chi-square down to its degrees of freedom (Mandel and Paule 1970), the seasons' variance the median of what it may
    be with Jeffreys' prior (1946). Student's t with the degrees of freedom of the seasons, intervals less two where the
    parts link them all; the ratio by Fieller (1954). Assumes: seasons independent and of one spread on both sides,
    exposures exact, wear that is straight, and a change that moves like parts by a like amount or by a like ratio.
    Smallest sample: three engine-intervals a side. ValueError for a confidence outside 0 to 1, and as `sorted_out`.

    >>> from engine_pages.wear.intervals import SheetReading
    >>> from engine_pages.wear.measured import Measured
    >>> read = [SheetReading(k, Measured(v, 1e-8)) for k, v in enumerate((60.0, 60.010, 60.021, 60.030, 60.035))]
    >>> read += [SheetReading(5, Measured(60.0395, 1e-8)), SheetReading(6, Measured(60.0450, 1e-8))]
    >>> sides = ["before"] * 3 + ["after"] * 3
    >>> wear = [Increment("RB-1", sides[k], {k: 10.0}, read[k], read[k + 1]) for k in range(6)]
    >>> answer = weigh_change(wear)
    >>> ratio = answer.fit.ratio
    >>> answer.verdict, round(ratio.value, 2), round(ratio.low, 2), round(ratio.high, 2)
    ('lower', 0.5, 0.39, 0.62)
    >>> weigh_change(wear[1:]).why
    'fewer than three intervals a side'
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"a confidence lies between 0 and 1, not at {confidence}")
    used, left_out = sorted_out(increments)
    rates = rates_of(used) if used else None
    before, after = _count(rates, "before"), _count(rates, "after")
    fit = _fitted(rates, confidence) if rates is not None else None
    few = min(before.intervals, after.intervals) < FEWEST_INTERVALS
    verdict, why = _verdict(fit, few, selected, bool(used))
    parts = 0 if rates is None else rates.parts.shape[1]
    return ChangeAnswer(verdict, why, fit, before, after, parts, used, left_out)


def _count(rates: Rates | None, side: ChangeSide) -> SideCount:
    if rates is None:
        return SideCount(0, 0)
    after = int(rates.after.sum())
    return SideCount(rates.intervals(side), after if side == "after" else len(rates.after) - after)


def _verdict(fit: FittedChange | None, few: bool, selected: bool, any_used: bool) -> tuple[Verdict, WhyNot | None]:
    """The verdict, and the first reason why it cannot be told."""
    if not any_used:
        return "cannot tell", "no part counts on both sides"
    if few or fit is None:  # three intervals a side always leave two degrees of freedom, or more
        return "cannot tell", "fewer than three intervals a side"
    if selected:
        return "cannot tell", "the change was made because the last rate looked bad"
    if fit.before.high < 0.0 or fit.after.high < 0.0:
        return "cannot tell", "a rate runs against wear"
    if fit.difference.holds(0.0):  # just where Fieller's set of ratios holds 1
        return "cannot tell", "no change is not ruled out"
    return ("lower" if fit.difference.value < 0.0 else "higher"), None


def _fitted(rates: Rates, confidence: float) -> FittedChange | None:
    """Rates and ratio; None where no degree of freedom is left for the seasons."""
    design = np.column_stack([rates.parts, rates.after])
    known = _invertible(rates.known, rates.values)
    free = _free_of_seasons(known, np.column_stack([rates.parts, rates.shares]))
    # every part counts on both sides, so that no column of the design says what others say
    dof = len(known) - sum(left.shape[1] for _, left in free) - design.shape[1]
    if dof < 1:
        return None
    own = _own_variance(rates.values, known, free)
    inside = known + own * np.eye(len(known))
    season = _season_variance(rates.values, inside, design, rates.shares, dof)
    variance = inside + season * rates.shares @ rates.shares.T
    weights = _weights(design, variance, rates)
    (after, before, difference) = (float(value) for value in weights @ rates.values)
    spread = weights @ variance @ weights.T
    quantile = float(stdtrit(dof, 0.5 + confidence / 2.0))
    reach = quantile * np.sqrt(np.diag(spread))
    common = float(spread[0, 1])
    covariance = ((float(spread[0, 0]), common), (common, float(spread[1, 1])))
    return FittedChange(
        before=_about(before, float(reach[1])),
        after=_about(after, float(reach[0])),
        difference=_about(difference, float(reach[2])),
        ratio=fieller(after, before, covariance, quantile),
        season=float(np.sqrt(season)),
        own=float(np.sqrt(own)),
        dof=dof,
    )


def _weights(design: Matrix, variance: Matrix, rates: Rates) -> Matrix:
    """What turns n rates into the rate after, the rate before and their difference (3 × n), of the average part.

    The difference weighs what is after upward and what is before downward, part by part in equal measure: its two
    halves are the rates. So parts that all change by one ratio show that ratio, however unlike they are.
    """
    weighed = cho_solve(cho_factor(variance, lower=True), design)
    difference = np.linalg.solve(design.T @ weighed, weighed.T)[-1]
    after = difference * rates.after
    return np.vstack([after, after - difference, difference])


def _free_of_seasons(known: Matrix, whole: Matrix) -> list[tuple[Rows, Matrix]]:
    """Combinations of rates (n × few) that no part and no season moves, block by block of rates that share nothing.

    The change moves none of them either: what is after it is the sum of the seasons after it.
    """
    return [(rows, null_space(whole[rows].T, rcond=SAME_COLUMN)) for rows in blocks_of(known, whole)]


def _own_variance(values: Vector, known: Matrix, free: Sequence[tuple[Rows, Matrix]]) -> float:
    """The variance of rates about parts and seasons beyond their readings' own; zero where nothing is left to show it.

    Seasons are free numbers here: what is left has nothing of them.
    """
    turned = [_turned(values[rows], known[np.ix_(rows, rows)], left) for rows, left in free if left.shape[1]]
    if not turned:
        return 0.0
    of_readings, squares = (np.concatenate(each) for each in zip(*turned, strict=True))
    dof = len(squares)
    return fitted_scatter(lambda extra: float((squares / (of_readings + extra)).sum()), float(squares.sum()) / dof, dof)


def _turned(values: Vector, known: Matrix, left: Matrix) -> tuple[Vector, Vector]:
    """Variances by the readings, and squares, of combinations that are independent of one another."""
    of_readings, turn = np.linalg.eigh(left.T @ known @ left)
    return np.maximum(of_readings, np.finfo(np.float64).eps * of_readings[-1]), (turn.T @ left.T @ values) ** 2


def _season_variance(values: Vector, inside: Matrix, design: Matrix, shares: Matrix, dof: int) -> float:
    """The variance of a season: from what the seasons as free numbers would take away of the rates' chi-square."""
    root = np.linalg.cholesky(inside)
    plain = solve_triangular(root, np.column_stack([values, design, shares]), lower=True)
    y, x, z = plain[:, 0], plain[:, 1 : 1 + design.shape[1]], plain[:, 1 + design.shape[1] :]
    q, _ = np.linalg.qr(x)
    turn, stretch, _ = np.linalg.svd(z - q @ (q.T @ z), full_matrices=False)
    pull = np.maximum(stretch[:dof], SAME_COLUMN * stretch[0]) ** 2
    return _median_variance((turn[:, :dof].T @ y) ** 2, pull)


def _median_variance(squares: Vector, pull: Vector) -> float:
    """The median of a variance s, of which each square (over 1 + s · pull) is a chi-square with one degree of freedom.

    Its prior is Jeffreys' (1946), the root of the information that the squares have of s. It is nearly level in
    log(1 + s · pull), so that is the grid.
    """
    typical = float(np.exp(np.log(pull).mean()))
    reach = np.log1p(typical * float((squares / pull).mean())) + TAIL
    steps = np.linspace(0.0, reach, STEPS)
    s = np.expm1(steps) / typical
    whole = 1.0 + s[:, np.newaxis] * pull
    prior = np.sqrt(((pull / whole) ** 2).sum(axis=1)) * (1.0 + s * typical)
    log_chance = -0.5 * (np.log(whole) + squares / whole).sum(axis=1)
    weight = prior * np.exp(log_chance - log_chance.max())
    below = np.concatenate([[0.0], np.cumsum(weight[1:] + weight[:-1])])
    return float(np.expm1(np.interp(0.5 * below[-1], below, steps)) / typical)


def _invertible(known: Matrix, values: Vector) -> Matrix:
    """The known covariance with a ridge: a millionth of each rate's own size, so that exact readings are no trouble."""
    level = np.diag(known) + values * values
    level = np.where(level > 0.0, level, level.mean() or 1.0)
    return known + np.diag(RIDGE * level)


def _about(value: float, reach: float) -> Interval:
    return Interval(value, value - reach, value + reach)
