"""The Weibull law of lives: promises, and refusals where no law is the best."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from engine_pages.wear.lifetimes import Lifetime, tied_lives
from engine_pages.wear.weibull import Weibull, fit_weibull
from engine_pages.wear.weibull_likelihood import derivatives, log_likelihood


def drawn(seed: int, n: int = 15) -> list[Lifetime]:
    """Lives of every sort: exact, between two strips, running; new and used."""
    draw = np.random.default_rng(seed)
    shape = draw.uniform(0.7, 4.0)
    lives = []
    while len(lives) < n:
        life, entered = 30.0 * draw.weibull(shape), 12.0 * draw.random() * (draw.random() < 0.3)
        if life <= entered:
            continue
        good = entered + draw.random() * (life - entered)
        sort = len(lives) % 3
        lives.append(Lifetime(life, life, entered) if sort == 0 else Lifetime(good, 1.3 * life, entered))
        if sort == 2:
            lives[-1] = Lifetime(good, None, entered)
    return lives


def numbers(law: Weibull) -> list[float]:
    reliability, life = law.reliability(20.0), law.life_at(0.1)
    return [end for one in (law.shape, law.scale, reliability, life) for end in (one.low, one.value, one.high)]


@pytest.mark.parametrize("seed", range(6))
def test_no_other_law_is_likelier(seed: int) -> None:
    lives = drawn(seed)
    lines, law = tied_lives(lives), fit_weibull(lives)
    starts = [(math.log(shape), math.log(scale)) for shape in (0.3, 1.0, 5.0) for scale in (10.0, 40.0)]
    tight = {"xatol": 1e-8, "fatol": 1e-11, "maxiter": 4000}
    found = [
        -minimize(lambda v: -log_likelihood(lines, v[0], v[1]), at, method="Nelder-Mead", options=tight).fun
        for at in starts
    ]
    assert law.log_likelihood == pytest.approx(max(found), abs=1e-7)


@pytest.mark.parametrize("seed", range(6))
def test_the_derivatives_are_those_of_the_likelihood(seed: int) -> None:
    lines, at, step = tied_lives(drawn(seed)), np.array([0.6, 3.2]), 1e-5
    here = derivatives(lines, *at)
    for k, unit in enumerate(np.eye(2)):
        up, down = (derivatives(lines, *(at + sign * step * unit)) for sign in (1.0, -1.0))
        assert here.first[k] == pytest.approx((up.value - down.value) / (2 * step), rel=1e-6, abs=1e-6)
        assert here.second[k] == pytest.approx((up.first - down.first) / (2 * step), rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("unit", [1e-6, 60.0, 1e9])
def test_minutes_or_hours_give_the_same_law(seed: int, unit: float) -> None:
    lives = drawn(seed)
    scaled = [
        Lifetime(x.good * unit, None if x.failed_by is None else x.failed_by * unit, x.entered * unit) for x in lives
    ]
    law, again = fit_weibull(lives), fit_weibull(scaled)
    assert again.shape.value == pytest.approx(law.shape.value, rel=1e-6)
    assert again.scale.high == pytest.approx(law.scale.high * unit, rel=1e-6)
    assert again.reliability(20.0 * unit).low == pytest.approx(law.reliability(20.0).low, rel=1e-6)


def test_the_order_of_lives_changes_nothing() -> None:
    lives = drawn(3)
    assert fit_weibull(lives[::-1]) == fit_weibull(lives)


@settings(deadline=None, derandomize=True, max_examples=60)
@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(0, 20), st.integers(0, 20), st.booleans()), max_size=10),
)
def test_there_is_a_law_with_finite_numbers_or_a_reason(rows: list[tuple[int, int, int, bool]]) -> None:
    lives = [
        Lifetime(float(a + b), float(a + b + c) if fails and b + c > 0 else None, float(a)) for a, b, c, fails in rows
    ]
    try:
        law = fit_weibull(lives)
    except ValueError as refusal:
        reason = str(refusal)
        if "needs 2 failures" in reason or "no maximum" in reason:
            return
        raise
    assert not any(math.isnan(one) for one in numbers(law))
    for one in (law.shape, law.scale, law.reliability(20.0), law.life_at(0.1)):
        assert 0.0 <= one.low <= one.value <= one.high


@pytest.mark.parametrize("lives", [[], [Lifetime(5.0, 5.0)], [Lifetime(5.0), Lifetime(9.0)]])
def test_fewer_than_two_failures_have_no_law(lives: list[Lifetime]) -> None:
    with pytest.raises(ValueError, match="needs 2 failures"):
        fit_weibull(lives)


@pytest.mark.parametrize(
    "lives",
    [
        [Lifetime(5.0, 5.0), Lifetime(5.0, 5.0), Lifetime(3.0)],  # all at one exposure
        [Lifetime(4.0, 6.0), Lifetime(5.0, 8.0), Lifetime(5.5)],  # one length between 5.5 and 6 fits them all
        [Lifetime(0.0, 10.0), Lifetime(0.0, 20.0), Lifetime(30.0)],  # fails at once or never
        [Lifetime(5.0, 9.0, 5.0), Lifetime(20.0, 30.0, 20.0)],  # never known good past where they came in
    ],
)
def test_lives_that_no_shape_fits_best_are_refused(lives: list[Lifetime]) -> None:
    with pytest.raises(ValueError, match="no maximum"):
        fit_weibull(lives)


def test_two_failures_have_a_law_as_wide_as_it_should_be() -> None:
    law = fit_weibull([Lifetime(50.0, 50.0), Lifetime(80.0, 80.0)])
    assert law.shape.high > 4.0 * law.shape.low


def test_ties_with_one_longer_life_have_a_law() -> None:
    assert fit_weibull([Lifetime(5.0, 5.0), Lifetime(5.0, 5.0), Lifetime(9.0)]).shape.value > 1.0


def test_strips_close_together_are_nearly_exact_failures() -> None:
    exact = fit_weibull([Lifetime(x, x) for x in (80.0, 100.0, 130.0, 170.0)])
    close = fit_weibull([Lifetime(x - 1e-4, x + 1e-4) for x in (80.0, 100.0, 130.0, 170.0)])
    assert numbers(close) == pytest.approx(numbers(exact), rel=1e-4)


def test_a_new_part_is_sure_to_start_and_reliability_falls() -> None:
    law = fit_weibull(drawn(1))
    assert law.reliability(0.0).value == 1.0
    values = [law.reliability(x).value for x in (1.0, 10.0, 20.0, 40.0, 1e6)]
    assert values == sorted(values, reverse=True)
    assert law.reliability(law.life_at(0.25).value).value == pytest.approx(0.75)


@pytest.mark.parametrize("share", [0.0, 1.0, math.nan])
def test_a_share_outside_0_to_1_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        fit_weibull(drawn(1)).life_at(share)


@pytest.mark.parametrize("exposure", [-1.0, math.nan, math.inf])
def test_an_exposure_below_zero_is_refused(exposure: float) -> None:
    with pytest.raises(ValueError, match="not below zero"):
        fit_weibull(drawn(1)).reliability(exposure)
