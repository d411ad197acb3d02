"""Pools of like parts against mixed models fitted by restricted maximum likelihood (REML) elsewhere."""

import math
import warnings

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from engine_pages.wear.bends import bend_of
from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import (
    PoolFit,
    Spreads,
    Starts,
    fit_pool,
    fit_with_spreads,
    restricted_log_likelihood,
)
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame


def pool(rows: dict[str, list[tuple[float, float]]]) -> list[PoolPart]:
    """Readings of which no gauge is known: all scatter is fitted, as mixed-model software does."""
    return [PoolPart(name, tuple((x, Measured(y)) for x, y in readings)) for name, readings in rows.items()]


def mean_rate(fit: PoolFit) -> tuple[float, float]:
    """Mean and standard deviation of the kind's rate β over the grid."""
    w, mean, covariance = fit.summary.weights, fit.summary.mean[:, 1], fit.summary.covariance[:, 1, 1]
    middle = float(w @ mean)
    return middle, math.sqrt(float(w @ (covariance + (mean - middle) ** 2)))


# Growth of cracks in 21 specimens of an alloy, length in hundredths of an inch at every 10 000 cycles from 90 on
# (Meeker and Escobar, Statistical Methods for Reliability Data; `Fatigue` of R's nlme, relLength = length ÷ 90).
# Reference: R 4.2.2, nlme lme(relLength − 1 ~ 0 + cycles, random = ~ 0 + cycles | Path), REML, cycles in millions.
CRACKS = """
90 95 100 105 112 119 127 135 148 164
90 94 98 103 108 114 121 128 137 147 160
90 94 98 103 108 113 119 126 135 146 158 177
90 94 98 103 107 112 119 125 134 143 155 173
90 94 98 103 107 112 119 124 134 143 155 171
90 94 98 103 107 112 118 123 133 141 151 168
90 94 98 102 107 111 117 123 132 141 152 166
90 93 97 100 106 111 117 123 130 139 149 162
90 92 97 101 105 109 115 121 128 136 144 155 172
90 92 96 100 104 108 113 119 126 134 142 152 167
90 93 96 100 104 108 113 118 124 131 139 149 165
90 93 97 100 103 107 110 116 122 129 137 148 164
90 92 97 99 103 106 110 114 120 126 131 140 152
90 93 96 100 103 107 112 116 120 126 130 137 145
90 92 96 99 103 106 110 116 121 127 133 140 149
90 92 95 97 100 103 107 111 116 122 126 133 140
90 93 96 97 100 105 108 111 116 120 124 132 138
90 92 94 97 101 104 107 109 114 119 123 128 135
90 92 94 97 99 102 105 108 112 116 120 125 131
90 92 94 97 99 102 105 108 112 116 119 124 129
90 92 94 97 99 102 104 107 111 114 118 122 127
"""
CRACK_SPREADS = Spreads(omega=0.0, tau=1.36329547, sigma=0.060235289)


def cracks() -> list[PoolPart]:
    lengths = [[int(length) for length in line.split()] for line in CRACKS.split("\n") if line]
    return pool(
        {f"{i}": [(k / 100, length / 90 - 1) for k, length in enumerate(row)] for i, row in enumerate(lengths, 1)}
    )


def test_lines_at_known_spreads_against_nlme_fatigue() -> None:
    fit = fit_with_spreads(cracks(), CRACK_SPREADS, starts="exact")
    assert fit is not None
    # The lengths are whole hundredths; the reference had them ÷ 90 to six decimals: 2·10⁻⁵ of a slope.
    assert mean_rate(fit) == (pytest.approx(5.264060593, abs=2e-5), pytest.approx(0.302687891, abs=1e-6))
    assert fit.lines["1"].slope == pytest.approx(7.52541138, abs=1e-4)
    assert fit.lines["21"].slope == pytest.approx(3.124100583, abs=1e-4)
    found = restricted_log_likelihood(cracks(), CRACK_SPREADS, "exact")
    assert found == pytest.approx(328.804749, abs=5e-3)


def test_a_pool_with_plenty_of_readings_against_nlme_fatigue() -> None:
    fit = fit_pool(cracks(), starts="exact")
    assert fit is not None
    rate, sd = mean_rate(fit)
    assert rate == pytest.approx(5.264060593, abs=0.1 * 0.302687891)  # a tenth of REML's standard error
    # With 21 specimens τ is not known well; integrating over it makes the kind's rate a little less certain than
    # REML's plug-in says, and must.
    assert 0.302687891 < sd < 1.15 * 0.302687891
    assert float(fit.summary.weights @ fit.summary.sigma) == pytest.approx(0.060235289, rel=0.01)
    assert fit.lines["1"].slope == pytest.approx(7.52541138, abs=0.02)
    assert fit.lines["21"].slope == pytest.approx(3.124100583, abs=0.02)


def test_a_crack_that_grows_ever_faster_does_not_fit_a_constant_rate() -> None:
    # The same data: the published curves bend upward, and a straight line is a deliberately poor model.
    bend = bend_of(cracks(), starts="exact")
    assert bend is not None
    assert bend.bends
    assert bend.rate == "grows"


# Wear of eight cylinder liners of one marine Diesel engine, thousands of hours and mm, limit 4 mm (the set analysed by
# Giorgio, Guida and Pulcini, Technometrics 2010, its first eight liners). Reference: R nlme and lme4, REML.
LINERS = {
    "1": [(11.30, 0.9), (14.68, 1.3), (31.27, 2.85)],
    "2": [(11.30, 1.5), (21.97, 2.0)],
    "3": [(12.30, 1.0), (16.30, 1.35)],
    "4": [(14.81, 1.9), (18.70, 2.25), (28.00, 2.75)],
    "5": [(10.00, 1.2), (30.45, 2.75), (37.31, 3.05)],
    "6": [(6.86, 0.5), (17.20, 1.45), (24.71, 2.15)],
    "7": [(2.04, 0.4), (12.58, 2.0), (16.62, 2.35)],
    "8": [(7.54, 0.5), (8.84, 1.1), (9.77, 1.15), (16.30, 2.1)],
}
LINER_FRAME = Frame(limit_distance=4.0, service_life=40.0)
A = Spreads(omega=0.0, tau=0.0191850027, sigma=0.234732375)
B = Spreads(omega=0.0, tau=0.0171701196, sigma=0.236015765)
A_RATES = [
    0.09082902986,
    0.100121231,
    0.0873760079,
    0.1080857203,
    0.0874844717,
    0.0876605919,
    0.136386955,
    0.1148407041,
]
A_HOURS_TO_4MM = [44.03878, 39.95157, 45.77916, 37.00766, 45.7224, 45.63054, 29.32832, 34.83086]  # thousands


def test_liners_from_an_exact_start_against_nlme() -> None:
    fit = fit_with_spreads(pool(LINERS), A, starts="exact")
    assert fit is not None
    assert mean_rate(fit) == (pytest.approx(0.101598089, abs=2e-6), pytest.approx(0.00743556702, abs=1e-6))
    assert [line.slope for line in fit.lines.values()] == pytest.approx(A_RATES, abs=2e-6)
    crossings = [line.to_limit(Limit(max=4.0), 0.9) for line in fit.lines.values()]
    assert [crossing.median for crossing in crossings if crossing] == pytest.approx(A_HOURS_TO_4MM, abs=2e-3)
    assert restricted_log_likelihood(pool(LINERS), A, "exact") == pytest.approx(-10.39288126, abs=1e-6)


def test_liners_that_start_alike_against_nlme() -> None:
    fit = fit_with_spreads(pool(LINERS), B, starts="alike")
    assert fit is not None
    assert mean_rate(fit) == (pytest.approx(0.0910406239, abs=2e-6), pytest.approx(0.00976398188, abs=1e-6))
    assert fit.summary.mean[0, 0] + fit.summary.units.shift == pytest.approx(0.189018468, abs=2e-5)
    assert restricted_log_likelihood(pool(LINERS), B, "alike") == pytest.approx(-10.48793417, abs=1e-6)


@pytest.mark.parametrize(
    ("starts", "reml", "se", "tau", "sigma"),
    [("exact", 0.101598089, 0.00743556702, A.tau, A.sigma), ("alike", 0.0910406239, 0.00976398188, B.tau, B.sigma)],
)
def test_the_grid_over_eight_liners_against_nlme(
    starts: Starts, reml: float, se: float, tau: float, sigma: float
) -> None:
    fit = fit_pool(pool(LINERS), LINER_FRAME, starts)
    assert fit is not None
    rate, sd = mean_rate(fit)
    assert rate == pytest.approx(reml, abs=0.1 * se)
    # Eight liners do not tell τ well: what REML plugs in is integrated over here, and the rate is less certain.
    assert se < sd < 1.35 * se
    assert float(fit.summary.weights @ fit.summary.tau) == pytest.approx(tau, rel=0.25)
    assert float(fit.summary.weights @ fit.summary.sigma) == pytest.approx(sigma, rel=0.1)


def test_hours_to_4_mm_of_eight_liners_against_nlme() -> None:
    fit = fit_pool(pool(LINERS), LINER_FRAME, "exact")
    assert fit is not None
    for line, hours in zip(fit.lines.values(), A_HOURS_TO_4MM, strict=True):
        crossing = line.to_limit(Limit(max=4.0), 0.9)
        assert crossing is not None
        assert crossing.median == pytest.approx(hours, rel=0.01)
        assert crossing.low is not None
        assert crossing.high is not None
        assert crossing.low < hours < crossing.high


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_plenty_of_drawn_parts_against_statsmodels_reml(seed: int) -> None:
    # 40 parts with 8 readings each, every spread to be found. MixedLM with method="powell": its default optimiser can
    # fail without saying so. Independent effects are asked for by variance components, since starts and rates are
    # independent in this model.
    draw = np.random.default_rng(seed)
    rows = {}
    for i in range(40):
        start, rate = draw.normal(0.0, 0.01), draw.normal(0.002, 0.0006)
        rows[f"P{i}"] = [(x, start + rate * x + draw.normal(0.0, 0.004)) for x in np.sort(draw.uniform(0.0, 40.0, 8))]
    table = pd.DataFrame([(name, x, 100.0 * y) for name, readings in rows.items() for x, y in readings])
    table.columns = ["part", "x", "y"]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = smf.mixedlm("y ~ x", table, groups="part", re_formula="0", vc_formula={"a": "1", "b": "0 + x"})
        reml = model.fit(reml=True, method="powell")
    fit = fit_pool(pool(rows))
    assert fit is not None
    rate, sd = mean_rate(fit)
    se = float(reml.bse["x"]) / 100.0
    assert rate == pytest.approx(float(reml.params["x"]) / 100.0, abs=0.1 * se)
    assert sd == pytest.approx(se, rel=0.1)
