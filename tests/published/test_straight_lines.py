"""Straight lines against certified, printed and recomputed results from outside the project."""

import math

import numpy as np
import pytest
import statsmodels.api as sm

from engine_pages.wear.measured import Measured
from engine_pages.wear.trend import Line, fit_line


def line_of(
    x: list[float],
    y: list[float],
    u: list[float] | None = None,
    through: Measured | None = None,
    scatter: float | None = None,
) -> Line:
    """Readings with known standard uncertainties, or exact ones: then all scatter is fitted, the ordinary line."""
    uncertainties = u if u is not None else [0.0] * len(y)
    readings = [Measured(value, of_value**2) for value, of_value in zip(y, uncertainties, strict=True)]
    line = fit_line(x, readings, through, scatter)
    assert line is not None
    return line


# NIST/ITL Statistical Reference Datasets, linear least squares, Norris (lower difficulty, 36 observations): calibration
# of ozone monitors; certified values from the data set's own page.
NORRIS_X = [
    *(0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5),
    *(11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1),
    *(448.9, 0.5),
]
NORRIS_Y = [
    *(0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9),
    *(10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4),
    *(449.2, 0.2),
]


def test_the_ordinary_line_against_nist_norris() -> None:
    line = line_of(NORRIS_X, NORRIS_Y)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-11)
    assert math.sqrt(line.covariance[0][0]) == pytest.approx(0.232818234301152, rel=1e-9)
    assert math.sqrt(line.covariance[1][1]) == pytest.approx(0.429796848199937e-3, rel=1e-9)
    assert line.extra_scatter == pytest.approx(0.884796396144373, rel=1e-9)
    assert line.interval_dof == 34


def test_the_line_through_an_exact_start_against_nist_noint1() -> None:
    # NIST/ITL StRD, NoInt1: y = b·x, 11 observations.
    line = line_of([float(x) for x in range(60, 71)], [float(y) for y in range(130, 141)], through=Measured(0.0))
    assert line.slope == pytest.approx(2.07438016528926, rel=1e-12)
    assert math.sqrt(line.covariance[1][1]) == pytest.approx(0.165289256198347e-1, rel=1e-9)
    assert line.extra_scatter == pytest.approx(3.56753034006338, rel=1e-9)
    assert line.at(0.0) == (0.0, 0.0)


def test_known_uncertainties_against_gsl_weighted_fit() -> None:
    # GNU Scientific Library manual, "Simple Linear Regression Example": y = -106.6 + 0.06 x, covariance
    # [39602, -19.9; -19.9, 0.01], as printed; the four points and weights 1/u² from memory, which give that print.
    # Uncertainties are known, so chi-square 0.8 of 2 degrees of freedom narrows nothing: the slope's standard error is
    # 0.1, where a fit scaled by its residuals has 0.0632.
    weights = [0.1, 0.2, 0.3, 0.4]
    line = line_of([1970, 1980, 1990, 2000], [12, 11, 14, 13], u=[1 / math.sqrt(weight) for weight in weights])
    assert line.intercept == pytest.approx(-106.6, abs=1e-8)
    assert line.slope == pytest.approx(0.06, abs=1e-10)
    assert line.covariance[0][0] == pytest.approx(39602, abs=1e-3)
    assert line.covariance[0][1] == line.covariance[1][0] == pytest.approx(-19.9, abs=1e-6)
    assert line.covariance[1][1] == pytest.approx(0.01, abs=1e-9)
    assert line.extra_scatter == 0.0


# D. Harvey, Analytical Chemistry 2.x, section 5.4: six standards and their signal; the standard deviations, the three
# readings and the printed uncertainties of the result from memory.
HARVEY_X = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5]
HARVEY_Y = [0.0, 12.36, 24.83, 35.91, 48.79, 60.42]
HARVEY_U = [0.02, 0.02, 0.07, 0.13, 0.22, 0.33]


def test_the_ordinary_line_against_harvey_calibration() -> None:
    line = line_of(HARVEY_X, HARVEY_Y)
    assert line.slope == pytest.approx(120.706, abs=5e-4)
    assert line.intercept == pytest.approx(0.209, abs=5e-4)
    assert line.extra_scatter == pytest.approx(0.4033, abs=6e-4)


def test_the_exposure_at_a_mean_reading_against_harvey_calibration() -> None:
    # The book's interval is of first order, ours Fieller's: the same to four digits, so well is the slope known.
    line = line_of(HARVEY_X, HARVEY_Y)
    level = Measured((29.32 + 29.16 + 29.51) / 3, line.extra_scatter**2 / 3)
    crossing = line.exposure_at(level, confidence=0.95)
    assert crossing is not None
    assert crossing.low is not None
    assert crossing.high is not None
    assert crossing.median == pytest.approx(0.241, abs=5e-4)
    half_width = (crossing.high - crossing.low) / 2
    assert half_width == pytest.approx(0.0066, abs=1e-4)
    assert half_width / line.quantile(0.95) == pytest.approx(0.0024, abs=5e-5)


def test_the_weighted_line_against_harvey_calibration_recomputed() -> None:
    # The book prints 122.985 and 0.0224, from a sum cut short on the way; with nothing cut its data give these.
    line = line_of(HARVEY_X, HARVEY_Y, u=HARVEY_U, scatter=0.0)
    assert line.slope == pytest.approx(122.641, abs=1e-3)
    assert line.intercept == pytest.approx(0.0445, abs=1e-4)


@pytest.mark.parametrize("seed", range(5))
def test_known_weights_against_statsmodels_wls(seed: int) -> None:
    # statsmodels' WLS with weights 1/u² and a scale fixed at one takes the uncertainties as known, as we do.
    draw = np.random.default_rng(seed)
    x, u = draw.uniform(0.0, 60.0, 7), draw.uniform(0.001, 0.004, 7)
    y = 60.05 + 0.0005 * x + draw.normal(0.0, u)
    reference = sm.WLS(y, sm.add_constant(x), weights=1.0 / u**2).fit(cov_type="fixed scale")
    line = line_of(x.tolist(), y.tolist(), u=u.tolist(), scatter=0.0)
    assert [line.intercept, line.slope] == pytest.approx(reference.params, rel=1e-8)
    assert np.array(line.covariance) == pytest.approx(reference.cov_params(), rel=1e-8)


def test_a_zero_shared_by_two_readings_against_statsmodels_gls() -> None:
    x, y = np.array([0.0, 0.0, 12.0, 30.0]), np.array([60.050, 60.053, 60.056, 60.066])
    variance = np.diag([1e-6, 2e-6, 1e-6, 3e-6]) + 4e-6 * np.array(
        [[1, 1, 0, 0], [1, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]]
    )
    reference = sm.GLS(y, sm.add_constant(x), sigma=variance).fit(cov_type="fixed scale")
    own = [1e-6, 2e-6, 1e-6, 3e-6]
    sheets = ["first", "first", "second", "third"]
    readings = [Measured(v, w, {sheet: 0.002}) for v, w, sheet in zip(y.tolist(), own, sheets, strict=True)]
    line = fit_line(x.tolist(), readings, scatter=0.0)
    assert line is not None
    assert [line.intercept, line.slope] == pytest.approx(reference.params, rel=1e-8)
    assert np.array(line.covariance) == pytest.approx(reference.cov_params(), rel=1e-8)
