"""What to measure next: the reading that would settle most of what is in doubt."""

import numpy as np
import pytest
from scipy.stats import norm

from engine_pages.wear.limits import Limit
from engine_pages.wear.next_reading import doubt_settled
from engine_pages.wear.pool.line import PartLine

LIMIT = Limit(max=10.0)


def line(rate: float = 1.0, of_rate: float = 0.2, of_start: float = 0.0, scatter: float = 0.0) -> PartLine:
    covariance = np.array([[[of_start**2, 0.0], [0.0, of_rate**2]]])
    return PartLine(np.ones(1), np.array([[0.0, rate]]), covariance, scatter, n=3, parts=2)


def test_a_line_far_from_its_limit_needs_no_reading() -> None:
    assert doubt_settled(line(rate=0.2), LIMIT, 8.0, 10.0, 0.1) < 1e-4


def test_a_better_gauge_settles_more() -> None:
    settled = [doubt_settled(line(), LIMIT, 5.0, 10.0, u) for u in (0.05, 0.5, 5.0)]
    assert settled[0] > settled[1] > settled[2] > 0.0


def test_a_reading_later_in_a_life_says_more_of_the_rate() -> None:
    assert doubt_settled(line(), LIMIT, 8.0, 10.0, 0.5) > doubt_settled(line(), LIMIT, 2.0, 10.0, 0.5)


def test_scatter_beyond_the_gauge_spoils_the_reading() -> None:
    assert doubt_settled(line(scatter=2.0), LIMIT, 5.0, 10.0, 0.1) < doubt_settled(line(), LIMIT, 5.0, 10.0, 0.1)


def test_no_more_is_settled_than_was_in_doubt() -> None:
    assert 0.0 < doubt_settled(line(), LIMIT, 10.0, 10.0, 1e-9) <= 0.25


@pytest.mark.parametrize("limit", [Limit(min=-10.0), Limit(-10.0, 10.0)])
def test_readings_that_wear_down_and_two_limits_are_asked_alike(limit: Limit) -> None:
    assert doubt_settled(line(rate=-1.0), limit, 5.0, 10.0, 0.1) == pytest.approx(
        doubt_settled(line(), LIMIT, 5.0, 10.0, 0.1), rel=1e-6
    )


def test_the_doubt_left_is_that_of_draws() -> None:
    """Against 200,000 drawn lines, each read once and judged again by its conditional chance."""
    draw = np.random.default_rng(3)
    rate = draw.normal(1.0, 0.2, 200_000)
    read = 5.0 * rate + draw.normal(0.0, 0.5, rate.shape)
    share = 5.0 * 0.04 / (25.0 * 0.04 + 0.25)
    mean, sd = 1.0 + share * (read - 5.0), np.sqrt(0.04 - share * 5.0 * 0.04)
    left = norm.cdf((1.0 - mean) / sd)
    expected = 0.25 - float((left * (1.0 - left)).mean())
    assert doubt_settled(line(), LIMIT, 5.0, 10.0, 0.5) == pytest.approx(expected, abs=0.003)
