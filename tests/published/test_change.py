"""A change weighed against printed, recomputed and closed results from outside the project."""

import math
from itertools import pairwise

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm

from engine_pages.wear.change import FittedChange, weigh_change
from engine_pages.wear.fieller import fieller
from engine_pages.wear.intervals import Increment, SheetReading
from engine_pages.wear.measured import Measured


def test_the_ratio_against_a_printed_fieller_example() -> None:
    # Example notebook of the open-source package DCSTATS (class Fieller, after Finney's book): a = 14, b = 7, standard
    # deviations 3 and 2, uncorrelated, 10 degrees of freedom, t = 1.812461; prints limits 1.051413 and 4.414296.
    assert scipy.stats.t.ppf(0.95, 10) == pytest.approx(1.812461, abs=5e-7)
    ratio = fieller(14.0, 7.0, ((9.0, 0.0), (0.0, 4.0)), 1.812461)
    assert ratio.value == 2.0
    assert ratio.low == pytest.approx(1.051413, abs=1e-6)
    assert ratio.high == pytest.approx(4.414296, abs=2e-6)


@pytest.mark.parametrize(("confidence", "low", "high"), [(0.90, 1.54, 2.64), (0.95, 1.46, 2.83), (0.99, 1.27, 3.36)])
def test_the_ratio_against_a_printed_quotient_of_means(confidence: float, low: float, high: float) -> None:
    # The same notebook quotes an online calculator of the quotient of two means (Fieller 1940): means 14 and 7,
    # standard deviations 3 and 2 of 6 readings each; printed to two places.
    quantile = float(scipy.stats.t.ppf(0.5 + confidence / 2.0, 10))
    ratio = fieller(14.0, 7.0, ((9.0 / 6.0, 0.0), (0.0, 4.0 / 6.0)), quantile)
    assert ratio.low == pytest.approx(low, abs=0.0051)
    assert ratio.high == pytest.approx(high, abs=0.0051)


def test_the_ratio_by_hand() -> None:
    # By hand: above 6, below 10, variances 4 and 1, covariance 1, quantile 2. Ratios with
    # (6 − 10ρ)² ≤ 4 (4 − 2ρ + ρ²): 96ρ² − 112ρ + 20 ≤ 0, so ρ = (14 ± √76) / 24.
    ratio = fieller(6.0, 10.0, ((4.0, 1.0), (1.0, 1.0)), 2.0)
    assert ratio.low == pytest.approx((14.0 - math.sqrt(76.0)) / 24.0, rel=1e-14)
    assert ratio.high == pytest.approx((14.0 + math.sqrt(76.0)) / 24.0, rel=1e-14)


def fitted(increments: list[Increment]) -> FittedChange:
    fit = weigh_change(increments).fit
    assert fit is not None
    return fit


def test_rates_against_statsmodels_gls_with_the_same_covariance() -> None:
    # statsmodels GLS with the covariance written out reading by reading: three parts, four intervals a side, the second
    # part not measured at one sheet, all of one sheet sharing a zero.
    rng = np.random.default_rng(20)
    repeat, zero, hours = 0.0012, 0.0008, rng.uniform(8.0, 15.0, 8)
    season = 0.001 * (1.0 + 0.25 * rng.normal(size=8)) * np.repeat([1.0, 0.7], 4)
    sheets = [[0, 1, 2, 3, 4, 5, 6, 7, 8], [0, 1, 3, 4, 5, 6, 7, 8], [0, 1, 2, 3, 4, 5, 6, 7, 8]]
    on_sheet = rng.normal(0.0, zero, 9)
    increments: list[Increment] = []
    rows: list[tuple[int, int, int]] = []
    values: list[np.ndarray] = []
    for part, read_on in enumerate(sheets):
        wear = (1.0 + 0.2 * part) * np.concatenate([[0.0], np.cumsum(season * hours * rng.normal(1.0, 0.2, 8))])
        values.append(60.0 + wear + on_sheet + rng.normal(0.0, repeat, 9))
        for one, two in pairwise(read_on):
            first, last = (SheetReading(k, Measured(values[part][k], repeat**2, {("z", k): zero})) for k in (one, two))
            runs = {k: float(hours[k]) for k in range(one, two)}
            increments.append(Increment(part, "before" if two <= 4 else "after", runs, first, last))
            rows.append((part, one, two))
    fit = fitted(increments)

    # The map from 27 readings to 23 rates, and from 8 seasons to them.
    of_readings, of_seasons = np.zeros((len(rows), 27)), np.zeros((len(rows), 8))
    design = np.zeros((len(rows), 4))
    for row, (part, one, two) in enumerate(rows):
        run = hours[one:two].sum()
        of_readings[row, [9 * part + one, 9 * part + two]] = [-1.0 / run, 1.0 / run]
        of_seasons[row, one:two] = hours[one:two] / run
        design[row, part], design[row, 3] = 1.0, float(one >= 4)
    readings = repeat**2 * np.eye(27) + zero**2 * np.kron(np.ones((3, 3)), np.eye(9))
    variance = of_readings @ readings @ of_readings.T + fit.own**2 * np.eye(len(rows))
    variance += fit.season**2 * of_seasons @ of_seasons.T
    reference = sm.GLS(of_readings @ np.concatenate(values), design, sigma=variance).fit()

    assert fit.own > 0.0
    assert fit.dof == 6
    assert fit.difference.value == pytest.approx(reference.params[3], rel=1e-7)
    reach = scipy.stats.t.ppf(0.95, 6) * math.sqrt(reference.normalized_cov_params[3, 3])
    assert fit.difference.high - fit.difference.value == pytest.approx(reach, rel=1e-7)
    # The average part's rate before is a mean of statsmodels' part rates.
    assert min(reference.params[:3]) < fit.before.value < max(reference.params[:3])


def test_seasons_alone_against_the_two_sample_t_test() -> None:
    # With readings that are as good as exact only the seasons scatter. Closed form: the variance of a season is then
    # its sum of squares over the median of chi-square (in the place of its degrees of freedom); with that taken out the
    # interval is the one of the two-sample t test, here scipy's.
    before, after = [0.9, 1.4, 1.2, 1.1], [0.6, 0.9, 0.8]
    readings = np.concatenate([[0.0], np.cumsum([10.0 * rate for rate in before + after])])
    fit = fitted(
        [
            Increment(
                "part",
                "before" if k < 4 else "after",
                {k: 10.0},
                SheetReading(k, Measured(readings[k], 1e-12)),
                SheetReading(k + 1, Measured(readings[k + 1], 1e-12)),
            )
            for k in range(7)
        ]
    )
    squares = 3.0 * np.var(before, ddof=1) + 2.0 * np.var(after, ddof=1)
    assert fit.dof == 5
    assert fit.season**2 == pytest.approx(squares / scipy.stats.chi2.median(5), rel=1e-3)
    textbook = scipy.stats.ttest_ind(after, before).confidence_interval(0.9)
    wider = math.sqrt(5.0 / scipy.stats.chi2.median(5))
    assert fit.difference.value == pytest.approx((textbook.low + textbook.high) / 2.0, rel=1e-6)
    half = (textbook.high - textbook.low) / 2.0
    assert fit.difference.high - fit.difference.value == pytest.approx(wider * half, rel=1e-3)
