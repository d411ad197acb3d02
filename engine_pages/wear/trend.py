"""The wear line of one part by itself: exposures and measured values in, a line with its uncertainty out.

The readings' known uncertainties weigh it (what they share stays shared), and scatter beyond them is fitted where there
are readings enough to show it. A part alone cannot tell its own scatter from two readings: the line says so. A model of
like parts together can stand in the place of `Line`; whoever asks needs its methods only.
"""

import math
from collections.abc import Sequence
from functools import partial

import numpy as np
from msgspec import Struct
from scipy.special import ndtr, ndtri, stdtr, stdtrit

from engine_pages.wear.band import Distance, Passage, passage
from engine_pages.wear.least_squares import Estimate, Matrix, Vector, fitted_scatter, free_line, has_slope, tied_line
from engine_pages.wear.limits import Limit, Side
from engine_pages.wear.measured import Measured, covariance, covariance_matrix

FEWEST_READINGS = 2


class Interval(Struct, frozen=True):
    """A value and the two-sided interval about it, in one unit."""

    value: float
    low: float
    high: float

    def holds(self, value: float) -> bool:
        """Whether the interval holds a value; a rate whose interval holds zero is no wear measurable yet."""
        return self.low <= value <= self.high

    def times(self, factor: float) -> "Interval":
        """In another unit, or with the sign turned: the value and its ends times a factor, the lower end below."""
        low, high = sorted((self.low * factor, self.high * factor))
        return Interval(self.value * factor, low, high)


class Crossing(Struct, frozen=True):
    """Exposures at which a line meets a level, zero or later; None is no bound.

    All three None: line and band never meet it, or leave it behind. Those before the last reading are passed, not
    predicted.
    """

    median: float | None
    low: float | None
    high: float | None


class Line(Struct, frozen=True):
    """value = intercept + slope · exposure, with the covariance of both.

    `extra_scatter` is the standard deviation of a reading beyond its known uncertainty; where `scatter_known` is false
    it is taken as zero because nothing could be said of it. `dof` are the degrees of freedom it was fitted with.
    Intervals are Student's t with `interval_dof` = dof where scatter was found (with exact readings the textbook's t
    with n − 2), normal where none was found or fitted. On drawn readings of 3 to 8 a part, 90 % intervals of the rate
    so made held the truth 86 to 95 % of the time; with t for the fitted share of the variance alone (GUM G.4) from
    80 % on. With two readings they hold it as often as they say only where there is no scatter to be seen.
    """

    intercept: float
    slope: float
    covariance: tuple[tuple[float, float], tuple[float, float]]
    extra_scatter: float
    scatter_known: bool
    n: int
    dof: int
    interval_dof: float

    def at(self, x: float) -> tuple[float, float]:
        """Value and standard deviation of the line itself (not of a reading) at exposure x."""
        (c00, c01), (_, c11) = self.covariance
        return self.intercept + self.slope * x, math.sqrt(max(c00 + 2.0 * c01 * x + c11 * x * x, 0.0))

    def interval(self, x: float, confidence: float) -> Interval:
        """The line at exposure x with its two-sided interval."""
        value, sd = self.at(x)
        return _about(value, self.quantile(confidence) * sd)

    def rate(self, confidence: float) -> Interval:
        """The slope with its two-sided interval, value's unit per exposure."""
        return _about(self.slope, self.quantile(confidence) * math.sqrt(self.covariance[1][1]))

    def quantile(self, confidence: float) -> float:
        """Half the width of a two-sided interval in standard deviations; ValueError outside 0 < confidence < 1."""
        if not 0.0 < confidence < 1.0:
            raise ValueError(f"a confidence lies between 0 and 1, not at {confidence}")
        tail = 0.5 + confidence / 2.0
        return float(ndtri(tail) if math.isinf(self.interval_dof) else stdtrit(self.interval_dof, tail))

    def exposure_at(
        self, limit_value: float | Measured, confidence: float, side: Side | None = None
    ) -> Crossing | None:
        """Where the line meets a level, and where its band does: Fieller's interval, which may lack a bound.

        `low` is the exposure up to which the line is clear on this side of the level, `high` that from which it is
        clear past it. `side` says whether the level is a max or a min; left out, the level is met the way the line
        slopes. A level with an uncertainty of its own must be no reading of this line. None where the slope may be
        zero and there is no bound on either side.

        >>> line = fit_line([0.0, 1.0, 2.0], [Measured(10.0), Measured(12.0), Measured(14.0)])
        >>> line.exposure_at(20.0, 0.9, "max")
        Crossing(median=5.0, low=5.0, high=5.0)
        """
        level = limit_value if isinstance(limit_value, Measured) else Measured(limit_value)
        if side is None:
            upward = self.slope > 0.0 or (self.slope == 0.0 and self.intercept <= level.value)
            side = "max" if upward else "min"
        return _crossing([self._passage(level, confidence, side)])

    def to_limit(self, limit: Limit, confidence: float) -> Crossing | None:
        """Where the line first meets either limit, as `exposure_at`.

        Of two limits the earlier bound counts, each limit being looked at by itself: where both are about as near, the
        chance that one is met before `low` is at most twice what one limit would have.
        """
        passages = []
        if limit.max is not None:
            passages.append(self._passage(Measured(limit.max), confidence, "max"))
        if limit.min is not None:
            passages.append(self._passage(Measured(limit.min), confidence, "min"))
        return _crossing(passages)

    def chance_inside(self, limit: Limit, x: float) -> float:
        """The probability that the line (not a reading) is inside its limits at exposure x."""
        value, sd = self.at(x)
        below = 1.0 if limit.max is None else self._chance_below(limit.max - value, sd)
        under = 0.0 if limit.min is None else 1.0 - self._chance_below(value - limit.min, sd)
        return max(below - under, 0.0)

    def _chance_below(self, distance: float, sd: float) -> float:
        if sd == 0.0:
            return 1.0 if distance >= 0.0 else 0.0
        reach = distance / sd
        return float(ndtr(reach) if math.isinf(self.interval_dof) else stdtr(self.interval_dof, reach))

    def _passage(self, level: Measured, confidence: float, side: Side) -> Passage:
        """Exposures at which a level is passed on its far side: upward a max, downward a min."""
        sign = 1.0 if side == "max" else -1.0
        (c00, c01), (_, c11) = self.covariance
        distance = Distance(sign * (self.intercept - level.value), sign * self.slope, c00 + level.variance, c01, c11)
        return passage(distance, self.quantile(confidence))


def fit_line(
    x: Sequence[float],
    y: Sequence[Measured],
    through: Measured | None = None,
    scatter: float | None = None,
) -> Line | None:
    """The line of n readings y at exposures x by generalised least squares with known covariance.

    `through` is a value known at zero exposure beside the readings (the middle of a new part's range as a bracket, or
    an exact one: a line through that point). `scatter` is the standard deviation of a reading beyond its uncertainty
    where it is known, 0 for none. Left out, it is fitted where a degree of freedom is left (n ≥ 3, or n ≥ 2 with
    `through`): the smallest for which chi-square is no more than its degrees of freedom (Mandel and Paule 1970); with
    exact readings that is the ordinary line. With no degree of freedom it is taken as zero.
    None below two readings, and where all exposures are one. ValueError for lengths that differ or numbers not finite.

    >>> line = fit_line([0.0, 10.0], [Measured(60.0, 1e-6), Measured(60.25, 1e-6)])
    >>> round(line.slope, 6), round(line.rate(0.9).high, 6), line.scatter_known
    (0.025, 0.025233, False)
    """
    if len(x) != len(y):
        raise ValueError("each reading has its exposure")
    exposures = np.asarray(x, dtype=np.float64)
    origin = through if through is not None else (y[0] if y else Measured(0.0))
    # Taken from a value of their own size, so that equal readings have a slope of exactly zero.
    values = np.array([reading.value - origin.value for reading in y])
    variance = covariance_matrix(y) if y else np.zeros((0, 0))
    if not (np.isfinite(exposures).all() and np.isfinite(values).all() and np.isfinite(variance).all()):
        raise ValueError("exposures, values and uncertainties are finite numbers")
    if len(y) < FEWEST_READINGS or not has_slope(exposures, through_origin=through is not None):
        return None
    start = None if through is None else (through.variance, np.array([covariance(each, through) for each in y]))
    dof = len(y) - (2 if through is None else 1)
    extra = scatter * scatter if scatter is not None else _extra_variance(exposures, values, variance, start, dof)
    estimate = _estimate(exposures, values, variance, start, extra)
    return _line(estimate, values, origin, _with_start(variance, start), extra, scatter is None, dof)


Start = tuple[float, Vector]  # variance of the value at zero exposure, its covariance with each reading


def _estimate(x: Vector, y: Vector, variance: Matrix, start: Start | None, extra: float) -> Estimate:
    """The line at one extra variance."""
    whole = variance + extra * np.eye(len(x))
    return free_line(x, y, whole) if start is None else tied_line(x, y, whole, *start)


def _extra_variance(x: Vector, y: Vector, variance: Matrix, start: Start | None, dof: int) -> float:
    """The extra variance that the readings show, zero where they cannot show any."""
    if dof < 1:
        return 0.0
    exact = None if start is None else (0.0, np.zeros_like(y))
    ceiling = _estimate(x, y, np.zeros_like(variance), exact, 0.0).chi_square / dof
    if not variance.any() and (start is None or start[0] == 0.0):
        return ceiling
    chi_square = partial(_chi_square, x, y, variance, start)
    return fitted_scatter(chi_square, ceiling, dof)


def _chi_square(x: Vector, y: Vector, variance: Matrix, start: Start | None, extra: float) -> float:
    return _estimate(x, y, variance, start, extra).chi_square


def _with_start(variance: Matrix, start: Start | None) -> Matrix:
    """The covariance of all that the weights stand for: the readings, and the value at zero exposure after them."""
    if start is None:
        return variance
    own, common = start
    return np.block([[variance, common[:, np.newaxis]], [common[np.newaxis, :], np.array([[own]])]])


def _line(
    estimate: Estimate, y: Vector, origin: Measured, variance: Matrix, extra: float, fitted: bool, dof: int
) -> Line:
    """The line that an estimate's weights make of the readings."""
    of_readings = estimate.weights[:, : len(y)]
    intercept, slope = (float(part) for part in of_readings @ y)
    whole = estimate.weights @ variance @ estimate.weights.T + extra * (of_readings @ of_readings.T)
    # Where all that is uncertain cancels, arithmetic may leave a variance a hair below zero.
    of_intercept, of_slope = (max(float(part), 0.0) for part in np.diag(whole))
    off_diagonal = float(whole[0, 1] + whole[1, 0]) / 2.0
    return Line(
        intercept=origin.value + intercept,
        slope=slope,
        covariance=((of_intercept, off_diagonal), (off_diagonal, of_slope)),
        extra_scatter=math.sqrt(extra),
        scatter_known=not fitted or dof > 0,
        n=len(y),
        dof=dof,
        interval_dof=float(dof) if fitted and extra > 0.0 else math.inf,
    )


def _about(value: float, reach: float) -> Interval:
    return Interval(value, value - reach, value + reach)


def _crossing(passages: Sequence[Passage]) -> Crossing | None:
    """The first of several passages; None where nothing at all is known of when it comes."""
    low = min(each.low for each in passages)
    median = min(each.median for each in passages)
    high = min(each.high for each in passages)
    if low == -math.inf and math.isinf(high):
        return None
    return Crossing(*(value if math.isfinite(value) else None for value in (median, low, high)))
