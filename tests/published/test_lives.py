"""Lives against printed and recomputed results from outside the project."""

import math

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import minimize
from statsmodels.duration.survfunc import SurvfuncRight

from engine_pages.wear.lifetimes import Lifetime, columns_of
from engine_pages.wear.renewals import EngineHistory, mean_cumulative
from engine_pages.wear.survival import product_limit, survival
from engine_pages.wear.weibull import fit_weibull


def lives_of(exposures: list[float], running: list[float]) -> list[Lifetime]:
    """Exact failures, and units that had not failed."""
    return [Lifetime(x, x) for x in exposures] + [Lifetime(x) for x in running]


# NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.1.3: 20 units, the test stopped at 500 hours.
NIST_UNITS = lives_of([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], [500] * 10)

# Diesel-generator fans, W. Nelson, Applied Life Data Analysis (1982), `genfan` of R's survival: hours of 12 that failed
# and of 58 removed or still running (as hours × how many).
FAILED_FANS = [450, 1150, 1150, 1600, 2070, 2070, 2080, 3100, 3450, 4600, 6100, 8750]
OTHER_FANS = {
    **{460: 1, 1560: 1, 1660: 1, 1850: 5, 2030: 3, 2200: 1, 3000: 4, 3200: 1, 3750: 2, 4150: 4, 4300: 4, 4850: 4},
    **{5000: 3, 6100: 3, 6300: 1, 6450: 2, 6700: 1, 7450: 1, 7800: 2, 8100: 2, 8200: 1, 8500: 3, 8750: 2, 9400: 1},
    **{9900: 1, 10100: 3, 11500: 1},
}
FANS = lives_of(FAILED_FANS, [hours for hours, count in OTHER_FANS.items() for _ in range(count)])


def test_the_law_of_a_stopped_test_against_nist_handbook() -> None:
    # Printed: shape 1.7208, scale 606.5280, log likelihood −75.135.
    law = fit_weibull(NIST_UNITS, confidence=0.95)
    assert law.shape.value == pytest.approx(1.7208, abs=5e-5)
    assert law.scale.value == pytest.approx(606.5280, abs=5e-3)
    assert law.log_likelihood == pytest.approx(-75.1346, abs=1e-4)


def test_the_intervals_of_a_stopped_test_against_r_survreg() -> None:
    # R 4.2.2, survival's survreg, recomputed: standard errors of shape and scale (delta method), the life by which a
    # tenth has failed and its interval on the scale of log life. Shape on a log scale; a linear one has 0.74 to 2.71.
    law = fit_weibull(NIST_UNITS, confidence=0.95)
    assert law.shape.value * math.sqrt(law.covariance[0][0]) == pytest.approx(0.5021506, abs=1e-5)
    assert law.scale.value * math.sqrt(law.covariance[1][1]) == pytest.approx(124.910656, abs=1e-3)
    assert (law.shape.low, law.shape.high) == pytest.approx((0.9713, 3.0487), abs=5e-5)
    tenth = law.life_at(0.1)
    assert tenth.value == pytest.approx(164.022439, abs=1e-3)
    assert (tenth.low, tenth.high) == pytest.approx((83.8751295, 320.754919), abs=1e-2)


def test_the_curve_of_a_stopped_test_against_r_survfit() -> None:
    # The same units; with no unit taken out before, the share left is a plain count.
    curve = survival(NIST_UNITS)
    assert curve is not None
    shares = {step.by: step.survival.value for step in curve.steps}
    assert (shares[240.0], shares[386.0]) == pytest.approx((0.8, 0.5), abs=1e-12)
    assert curve.life_at(0.5).by == 386.0


def test_the_law_of_generator_fans_against_nelson_and_r_survreg() -> None:
    # Nelson's prints from memory: shape 1.0584, scale 26.297 thousand hours; R 4.2.2 survreg for the other digits.
    law = fit_weibull(FANS)
    assert (law.n, law.failures) == (70, 12)
    assert law.shape.value == pytest.approx(1.05844585, abs=1e-5)
    assert law.scale.value == pytest.approx(26296.8452, abs=5e-2)
    assert law.log_likelihood == pytest.approx(-135.15272, abs=1e-4)
    assert law.life_at(0.1).value == pytest.approx(3137.240778, abs=1e-2)


def test_the_curve_of_generator_fans_against_r_survfit() -> None:
    curve = survival(FANS)
    assert curve is not None
    assert [step.by for step in curve.steps] == [450, 1150, 1600, 2070, 2080, 3100, 3450, 4600, 6100, 8750]
    assert [step.survival.value for step in curve.steps] == pytest.approx(
        [
            *(0.98571429, 0.95672269, 0.94200388, 0.90774919, 0.89062185),
            *(0.87167245, 0.85230195, 0.82723424, 0.79541754, 0.70703782),
        ],
        abs=1e-8,
    )


def test_leaving_out_what_still_runs_would_make_a_life_far_too_short() -> None:
    # The classic error, on Nelson's fans: from the twelve that failed alone.
    assert fit_weibull(lives_of(FAILED_FANS, [])).scale.value < 0.2 * fit_weibull(FANS).scale.value


def test_the_curve_by_hand_against_miller_leukaemia() -> None:
    # R. G. Miller, Survival Analysis (1981), acute myelogenous leukaemia, maintained group, weeks; S by R's survfit,
    # and by hand: 10/11, 9/10, 7/8, 6/7, 4/5, 3/4, 1/2.
    curve = survival(lives_of([9, 13, 18, 23, 31, 34, 48], [13, 28, 45, 161]), confidence=0.95)
    assert curve is not None
    assert [step.by for step in curve.steps] == [9, 13, 18, 23, 31, 34, 48]
    by_hand = np.cumprod([10 / 11, 9 / 10, 7 / 8, 6 / 7, 4 / 5, 3 / 4, 1 / 2])
    printed = [0.90909091, 0.81818182, 0.71590909, 0.61363636, 0.49090909, 0.36818182, 0.18409091]
    assert [step.survival.value for step in curve.steps] == pytest.approx(by_hand.tolist(), abs=1e-12)
    assert by_hand == pytest.approx(printed, abs=1e-8)
    assert curve.life_at(0.5).by == 31.0


def test_seven_units_against_abernethy_handbook() -> None:
    # R. B. Abernethy, The New Weibull Handbook, appendix C.5: shape 2.257, scale 4900.1. So few have a very wide
    # interval: 95 % on a log scale 1.13 to 4.49, standard error of the shape 0.7918 (R survreg, recomputed).
    law = fit_weibull(lives_of([1500, 2250, 4000, 4300, 7000], [1750, 5000]), confidence=0.95)
    assert law.shape.value == pytest.approx(2.257, abs=5e-4)
    assert law.scale.value == pytest.approx(4900.1, abs=5e-2)
    assert law.shape.value * math.sqrt(law.covariance[0][0]) == pytest.approx(0.79177169, abs=1e-5)
    assert (law.shape.low, law.shape.high) == pytest.approx((1.13, 4.49), abs=5e-3)


# Radiotherapy alone in early breast cancer, 46 women looked at now and then, months: good up to, changed by
# (Finkelstein and Wolfe, Biometrics 41, 1985; data from memory). The best known set of lives between two looks.
CHANGED = [
    *((0, 7), (0, 8), (0, 5), (4, 11), (5, 12), (5, 11), (6, 10), (7, 16), (7, 14), (11, 15), (11, 18), (17, 25)),
    *((17, 25), (19, 35), (18, 26), (25, 37), (26, 40), (27, 34), (36, 44), (36, 48), (37, 44)),
]
UNCHANGED = [15, 17, 18, 22, 24, 24, 32, 33, 34, 36, 36, 37, 37, 37, 38, 40, 45] + [46] * 8


def test_lives_between_two_looks_against_the_turnbull_estimate_of_klein_and_moeschberger() -> None:
    # Klein and Moeschberger, Survival Analysis (1997), section 5.2, estimate from memory to three digits; its last
    # value before zero, 0.467, was printed from an iteration stopped early: at the maximum it is 0.466.
    lives = [Lifetime(float(good), float(by)) for good, by in CHANGED] + [Lifetime(float(x)) for x in UNCHANGED]
    curve = survival(lives)
    assert curve is not None
    assert len(lives) == 46
    spans = [(step.after, step.by) for step in curve.steps]
    assert spans == [(4, 5), (6, 7), (7, 8), (11, 12), (24, 25), (33, 34), (38, 40), (46, 48)]
    printed = [0.954, 0.920, 0.832, 0.761, 0.668, 0.586, 0.467, 0.0]
    assert [step.survival.value for step in curve.steps] == pytest.approx(printed, abs=1.5e-3)


# Valve seats of 41 diesel engines, days: Nelson and Doganaksoy 1989, Nelson, Technometrics 37, 1995 (`valveSeat` of R's
# survival). End of watch, and the replacements before it; two on one day are two.
SEATS: list[tuple[int, tuple[int, ...]]] = [
    *((761, ()), (759, ()), (667, (98,)), (667, (326, 653, 653)), (665, ()), (667, (84,)), (663, (87,))),
    *((653, (646,)), (653, (92,)), (651, ()), (650, (258, 328, 377, 621)), (648, (61, 539))),
    *((644, (254, 276, 298, 640)), (642, (76, 538)), (641, (635,)), (649, (349, 404, 561)), (631, ()), (596, ())),
    *((614, (120, 479)), (582, (323, 449)), (589, (139, 139)), (593, ()), (589, (573,)), (606, (165, 408, 604))),
    *((594, (249,)), (613, (344, 497)), (595, (265, 586)), (389, (166, 206, 348)), (601, ()), (601, (410, 581))),
    *((611, ()), (608, ()), (587, ()), (603, (367,)), (585, (202, 563, 570)), (587, ()), (578, ()), (578, ())),
    *((586, ()), (585, ()), (582, ())),
]


def test_mean_cumulative_replacements_against_nelson_valve_seats() -> None:
    # 0.0244 at 61 days and 1.54 at 653, as Nelson's plot; digits recomputed with two codes outside the project.
    curve = mean_cumulative([EngineHistory(tuple(map(float, at)), float(end)) for end, at in SEATS])
    assert (curve.engines, curve.replacements, curve.beyond) == (41, 48, 0)
    assert curve.at(61.0) == pytest.approx(1 / 41, abs=1e-12)
    assert curve.at(166.0) == pytest.approx(11 / 41, abs=1e-12)
    assert curve.at(653.0) == pytest.approx(1.54268751, abs=1e-5)


def test_the_interval_of_replacements_against_lawless_and_nadeau_on_valve_seats() -> None:
    # Lawless and Nadeau, Technometrics 37, 1995: the sum over engines of the squared share that each has in the curve.
    # It divides by n where Nelson divides by n − 1; times 41/40 both are the same to 3 % here, down to 9 engines.
    curve = mean_cumulative([EngineHistory(tuple(map(float, at)), float(end)) for end, at in SEATS], confidence=0.95)
    days = sorted({day for _, at in SEATS for day in at})
    shares = np.zeros((len(SEATS), len(days)))
    for column, day in enumerate(days):
        counts = np.array([at.count(day) for _, at in SEATS], dtype=float)
        seen = np.array([end >= day for end, _ in SEATS])
        shares[:, column] = np.where(seen, counts - counts[seen].mean(), 0.0) / seen.sum()
    reference = np.sqrt((np.cumsum(shares, axis=1) ** 2).sum(axis=0) * 41 / 40)
    ours = [(one.high - one.mean) / 1.959964 for one in curve.growths if one.high is not None]
    assert ours == pytest.approx(reference.tolist(), rel=0.03)
    assert ours[:20] == pytest.approx(reference[:20].tolist(), rel=1e-6)  # while all 41 are watched: the very same


def used_and_new(seed: int, n: int = 40) -> list[Lifetime]:
    """Exact failures and running units, some of which came in used; whole hours, so that there are ties."""
    draw = np.random.default_rng(seed)
    entered = np.where(draw.random(n) < 0.4, draw.integers(1, 15, n), 0)
    ended = entered + draw.integers(1, 30, n)
    failed = draw.random(n) < 0.6
    rows = zip(ended.tolist(), failed.tolist(), entered.tolist(), strict=True)
    return [Lifetime(float(end), float(end) if fails else None, float(start)) for end, fails, start in rows]


@pytest.mark.parametrize("seed", range(5))
def test_late_entries_and_ties_against_statsmodels_survfunc(seed: int) -> None:
    lives = used_and_new(seed)
    times, failed = [x.ended for x in lives], [float(x.failed) for x in lives]
    reference = SurvfuncRight(np.array(times), np.array(failed), entry=np.array([x.entered for x in lives]))
    ours = product_limit(columns_of(lives))
    assert ours[:, 0].tolist() == reference.surv_times.tolist()
    assert ours[:, 2] == pytest.approx(reference.surv_prob, abs=1e-12)
    left = ours[:, 2] > 0.0
    assert np.sqrt(ours[left, 3]) == pytest.approx(reference.surv_prob_se[left], rel=1e-9)


def test_log_log_intervals_against_scipy_ecdf() -> None:
    ages, running = FAILED_FANS, [x.good for x in FANS if not x.failed]
    reference = stats.ecdf(stats.CensoredData(uncensored=ages, right=running)).sf
    band = reference.confidence_interval(0.9, method="log-log")
    curve = survival(FANS, confidence=0.9)
    assert curve is not None
    for step in curve.steps:
        low, high = float(band.low.evaluate(step.by)), float(band.high.evaluate(step.by))
        assert (step.survival.low, step.survival.high) == pytest.approx((low, high), rel=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_lives_between_two_strips_against_scipy_weibull_fit(seed: int) -> None:
    draw = np.random.default_rng(seed)
    true = 100.0 * draw.weibull(2.5, 30)
    good, by = 20.0 * np.floor(true / 20.0), 20.0 * np.floor(true / 20.0) + 20.0
    running = good > 80.0
    censored = stats.CensoredData(right=good[running], interval=np.column_stack([good, by])[~running])
    shape, _, scale = stats.weibull_min.fit(censored, floc=0.0)
    rows = zip(good.tolist(), by.tolist(), running.tolist(), strict=True)
    law = fit_weibull([Lifetime(g, None if runs else b) for g, b, runs in rows])
    assert (law.shape.value, law.scale.value) == pytest.approx((shape, scale), rel=2e-4)  # scipy stops at 1e-4


@pytest.mark.parametrize("seed", range(4))
def test_late_entries_against_brute_force_on_scipys_density(seed: int) -> None:
    lives = [x for x in used_and_new(seed) if x.ended > 0.0]
    entered, ended = np.array([x.entered for x in lives]), np.array([x.ended for x in lives])
    failed = np.array([x.failed for x in lives])

    def unlikely(at: np.ndarray) -> float:
        law = stats.weibull_min(math.exp(at[0]), scale=math.exp(at[1]))
        return float(law.logsf(entered).sum() - law.logpdf(ended[failed]).sum() - law.logsf(ended[~failed]).sum())

    tight = {"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000}
    reference = minimize(unlikely, np.array([0.3, 3.0]), method="Nelder-Mead", options=tight)
    law = fit_weibull(lives)
    assert (math.log(law.shape.value), math.log(law.scale.value)) == pytest.approx(tuple(reference.x), abs=1e-5)
    assert law.log_likelihood == pytest.approx(-reference.fun, abs=1e-8)
