"""Mixtures of normals: chances and quantiles, also where nothing is uncertain."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import stdtrit

from engine_pages.wear.mixture import chance_below, quantiles
from engine_pages.wear.roots import roots

TAILS = np.array([0.05, 0.5, 0.95])


def test_a_mixture_over_many_scales_has_the_quantiles_of_students_t() -> None:
    # Student's t with ν degrees of freedom is a normal whose variance is ν ÷ a chi-square (any textbook); here with
    # ν = 4 the chi-square's 2000 equally likely values, from its quantile −2 ln … found by bisection on its own tail.
    chances = (np.arange(2000) + 0.5) / 2000
    tail = roots(lambda x: 1.0 - np.exp(-x / 2) * (1.0 + x / 2) - chances, np.zeros(2000), np.full(2000, 80.0))
    found = quantiles(np.full(2000, 1 / 2000), np.zeros(2000), np.sqrt(4.0 / tail), TAILS)
    assert found == pytest.approx([float(stdtrit(4, p)) for p in TAILS], abs=2e-3)


def test_a_mixture_of_certain_values_has_those_as_quantiles() -> None:
    found = quantiles(np.array([0.3, 0.3, 0.4]), np.array([1.0, 2.0, 3.0]), np.zeros(3), TAILS)
    assert found == pytest.approx([1.0, 2.0, 3.0], rel=1e-9)
    assert quantiles(np.ones(1), np.zeros(1), np.zeros(1), TAILS).tolist() == [0.0, 0.0, 0.0]


def test_two_hills_far_apart_have_quantiles_on_each() -> None:
    found = quantiles(np.array([0.5, 0.5]), np.array([-1e6, 1e6]), np.array([1.0, 1.0]), np.array([0.25, 0.75]))
    assert found == pytest.approx([-1e6, 1e6], abs=1e-4)


@settings(deadline=None, derandomize=True)
@given(
    hills=st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(-1e3, 1e3), st.floats(1e-3, 1e3)), min_size=1, max_size=6)
)
def test_a_quantile_has_the_chance_that_it_was_asked_for(hills: list[tuple[float, float, float]]) -> None:
    weights, means, sds = (np.array(column) for column in zip(*hills, strict=True))
    weights = weights / weights.sum()
    for chance, value in zip(TAILS, quantiles(weights, means, sds, TAILS), strict=True):
        assert chance_below(weights, means, sds, float(value)) == pytest.approx(chance, abs=1e-4)


@settings(deadline=None, derandomize=True, max_examples=200)
@given(
    hills=st.lists(st.tuples(st.floats(1e-4, 1.0), st.floats(-9.0, 9.0), st.floats(-4.0, 2.0)), min_size=1, max_size=8),
    chance=st.floats(0.001, 0.999),
)
def test_quantiles_are_those_that_a_library_s_bracketing_finds(
    hills: list[tuple[float, float, float]], chance: float
) -> None:
    weights, means, exponents = (np.array(column) for column in zip(*hills, strict=True))
    weights, sds = weights / weights.sum(), 10.0**exponents
    ends = float((means - 9.0 * sds).min()), float((means + 9.0 * sds).max())
    found = float(quantiles(weights, means, sds, np.array([chance]))[0])
    expected = brentq(lambda x: chance_below(weights, means, sds, x) - chance, *ends, xtol=1e-14, rtol=1e-14)
    flat = abs(chance_below(weights, means, sds, (found + expected) / 2) - chance) < 1e-9  # between two hills any is
    assert flat or found == pytest.approx(expected, abs=1e-9 * (ends[1] - ends[0]))
