"""Where a line and its band meet a level, against the band itself, looked up exposure by exposure."""

import math

import numpy as np
import pytest

from engine_pages.wear.band import NEVER, Distance, passage

QUANTILE = 1.645
EXPOSURES = np.linspace(0.0, 200.0, 400_001)


def drawn(seed: int) -> Distance:
    """Some line: clear and unclear slopes, inside and past its level, known best at any exposure."""
    draw = np.random.default_rng(seed)
    best, sd_there, sd_slope = draw.uniform(-20, 60), draw.uniform(0.01, 2.0), draw.uniform(0.001, 0.3)
    c11 = sd_slope**2
    return Distance(draw.uniform(-8, 3), draw.uniform(-0.3, 0.5), sd_there**2 + c11 * best**2, -c11 * best, c11)


@pytest.mark.parametrize("seed", range(40))
def test_the_bounds_are_where_the_band_meets_the_level(seed: int) -> None:
    line = drawn(seed)
    found = passage(line, QUANTILE)
    distance = line.p + line.m * EXPOSURES
    reach = QUANTILE * np.sqrt(line.c00 + 2 * line.c01 * EXPOSURES + line.c11 * EXPOSURES**2)
    inside, past = np.flatnonzero(distance + reach < 0), np.flatnonzero(distance - reach > 0)
    step = EXPOSURES[1]
    comes_back = line.m < -QUANTILE * math.sqrt(line.c11)
    if len(inside) and inside[-1] < len(EXPOSURES) - 1:
        assert found.low == pytest.approx(EXPOSURES[inside[-1]], abs=2 * step)
    if not len(inside):
        assert found.low <= 0.0 or found.low > EXPOSURES[-1]
    if comes_back:
        assert (found.low, found.median, found.high) == (NEVER, NEVER, NEVER)
    elif len(past):
        assert found.high == pytest.approx(EXPOSURES[past[0]], abs=2 * step)
    else:
        assert found.high > EXPOSURES[-1] - step
    assert found.low <= found.median <= found.high or found.median == NEVER


def test_a_slope_clear_of_zero_has_both_bounds() -> None:
    found = passage(Distance(-4.0, 0.1, 0.01, 0.0, 1e-6), QUANTILE)
    assert 0.0 < found.low < found.median < found.high < NEVER


def test_a_slope_that_may_be_zero_has_a_lower_bound_alone() -> None:
    found = passage(Distance(-4.0, 0.01, 0.01, 0.0, 1e-3), QUANTILE)
    assert 0.0 < found.low < found.median
    assert found.high == NEVER


def test_a_line_blurred_across_its_level_has_none() -> None:
    assert passage(Distance(-0.1, 0.001, 1.0, 0.0, 1.0), QUANTILE).low == -math.inf


def test_a_slope_exactly_at_the_edge_of_what_is_clear_keeps_its_lower_bound() -> None:
    found = passage(Distance(p=-4.0, m=2.0, c00=1.0, c01=0.0, c11=1.0), quantile=2.0)
    assert (found.low, found.median, found.high) == (0.75, 2.0, NEVER)


def test_a_line_that_clearly_comes_back_does_not_pass_its_level() -> None:
    found = passage(Distance(0.5, -0.1, 0.001, 0.0, 1e-6), QUANTILE)
    assert (found.low, found.median, found.high) == (NEVER, NEVER, NEVER)


def test_a_flat_line_clear_past_its_level_passed_it_at_the_start() -> None:
    assert passage(Distance(4.0, 0.0, 1.0, 0.0, 0.0), QUANTILE).low == 0.0
