"""A pool's line: where it leaves its limits, and what it refuses to say."""

import math

import numpy as np
import pytest

from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured, from_bracket
from engine_pages.wear.pool.line import PartLine
from engine_pages.wear.trend import Crossing, Line


def line_of(*nodes: tuple[float, float, float, float, float, float]) -> PartLine:
    """Nodes as (weight, start, rate, sd of start, sd of rate, correlation)."""
    w, start, rate, sd, of_rate, r = np.array(nodes).T
    covariances = np.array([[sd * sd, r * sd * of_rate], [r * sd * of_rate, of_rate * of_rate]])
    return PartLine(w, np.column_stack([start, rate]), np.moveaxis(covariances, -1, 0), 0.0, 3, 4)


CERTAIN = line_of((1.0, 60.0, 0.5, 0.0, 0.0, 0.0))


def test_a_certain_line_crosses_at_one_exposure() -> None:
    crossing = CERTAIN.to_limit(Limit(max=62.0), 0.9)
    assert crossing is not None
    assert [crossing.low, crossing.median, crossing.high] == pytest.approx([4.0] * 3)
    assert CERTAIN.chance_inside(Limit(max=62.0), 3.9) == 1.0
    assert CERTAIN.chance_inside(Limit(max=62.0), 4.1) == 0.0


def test_one_normal_line_crosses_where_its_band_does() -> None:
    # One node is the normal line of one part: its crossing is Fieller's, which the line alone has in closed form.
    one = line_of((1.0, 60.05, 0.0006, 0.001, 0.00008, -0.8))
    c = 0.001, 0.00008
    covariance = ((c[0] ** 2, -0.8 * c[0] * c[1]), (-0.8 * c[0] * c[1], c[1] ** 2))
    alone = Line(60.05, 0.0006, covariance, 0.0, True, 3, 1, math.inf)
    for limit in (Limit(max=60.105), Limit(min=60.0), Limit(max=60.0605)):
        found, expected = one.to_limit(limit, 0.9), alone.to_limit(limit, 0.9)
        assert found is not None
        assert expected is not None
        for x, y in ((found.low, expected.low), (found.median, expected.median), (found.high, expected.high)):
            assert (x is None) == (y is None)
            assert x is None or x == pytest.approx(y, rel=1e-8)
    assert one.interval(40.0, 0.9).high == pytest.approx(alone.interval(40.0, 0.9).high, rel=1e-12)
    assert one.rate(0.5).low == pytest.approx(alone.rate(0.5).low, rel=1e-12)


def test_a_rate_that_may_be_none_gives_no_upper_bound() -> None:
    line = line_of((1.0, 60.0, 0.001, 0.001, 0.001, 0.0))  # one in six that it does not wear at all
    crossing = line.to_limit(Limit(max=60.1), 0.9)
    assert crossing is not None
    assert crossing.low is not None
    assert crossing.median is not None
    assert crossing.high is None
    narrower = line.to_limit(Limit(max=60.1), 0.5)
    assert narrower is not None
    assert narrower.high is not None


def test_the_chance_of_having_passed_at_each_bound_is_that_of_the_bound() -> None:
    line = line_of((0.3, 60.0, 0.002, 0.002, 0.0002, -0.5), (0.7, 60.01, 0.001, 0.004, 0.0001, 0.2))
    limit = Limit(max=60.105)
    crossing = line.to_limit(limit, 0.9)
    assert crossing is not None
    for bound, chance in ((crossing.low, 0.05), (crossing.median, 0.5), (crossing.high, 0.95)):
        assert bound is not None
        assert 1.0 - line.chance_inside(limit, bound) == pytest.approx(chance, abs=1e-8)


def test_a_line_that_heads_away_never_meets_its_limit() -> None:
    assert line_of((1.0, 60.0, -0.01, 0.001, 0.0001, 0.0)).to_limit(Limit(max=60.1), 0.9) == Crossing(None, None, None)


def test_a_line_past_its_limit_from_the_start_met_it_at_zero() -> None:
    assert line_of((1.0, 60.2, 0.01, 0.001, 0.0001, 0.0)).to_limit(Limit(max=60.1), 0.9) == Crossing(0.0, 0.0, 0.0)


def test_a_line_that_is_past_its_limit_by_now_has_a_crossing_and_no_forecast() -> None:
    # Known well at 30 h, where it is past; it crossed somewhere before.
    line = line_of((1.0, 60.05, 0.002, 0.003, 0.0001, -0.95))
    crossing = line.to_limit(Limit(max=60.10), 0.9)
    assert crossing is not None
    assert crossing.low is not None
    assert crossing.high is not None
    assert 20.0 < crossing.low < 25.0 < crossing.high < 30.0


def test_of_two_limits_the_first_met_counts() -> None:
    line = line_of((0.5, 60.05, 0.001, 0.0, 0.0001, 0.0), (0.5, 60.05, -0.001, 0.0, 0.0001, 0.0))
    both = line.to_limit(Limit(min=60.0, max=60.1), 0.9)
    one = line.to_limit(Limit(max=60.1), 0.9)
    assert both is not None
    assert both.high is not None
    assert both.high == pytest.approx(50.0 / (1.0 - 0.1645), rel=1e-3)
    assert one is not None
    assert one.high is None
    assert line.chance_inside(Limit(min=60.0, max=60.1), 1e6) == pytest.approx(0.0)


def test_the_farther_limit_matters_little() -> None:
    line = line_of((1.0, 60.05, 0.001, 0.001, 0.0001, 0.0))
    near, both = line.to_limit(Limit(max=60.1), 0.9), line.to_limit(Limit(min=10.0, max=60.1), 0.9)
    assert near is not None
    assert both is not None
    assert both.median == pytest.approx(near.median, rel=1e-9)


def test_a_level_that_is_itself_read_widens_the_crossing() -> None:
    line = line_of((1.0, 60.05, 0.001, 0.001, 0.0001, 0.0))
    exact, read = line.exposure_at(60.1, 0.9), line.exposure_at(from_bracket(60.09, 60.11), 0.9)
    assert exact is not None
    assert read is not None
    assert exact.low is not None
    assert read.low is not None
    assert read.low < exact.low
    assert read.median == pytest.approx(exact.median)


def test_a_level_is_met_the_way_the_line_slopes_or_as_asked() -> None:
    down = line_of((1.0, 60.05, -0.001, 0.0, 0.0, 0.0))
    assert down.exposure_at(Measured(60.0), 0.9) == down.to_limit(Limit(min=60.0), 0.9)
    # As the line of a part alone: one that comes back from past its level will not pass it.
    assert down.exposure_at(60.0, 0.9, "max") == Crossing(None, None, None)


@pytest.mark.parametrize("scale", [1e-4, 1.0, 1e5])
def test_a_crossing_is_found_at_any_scale(scale: float) -> None:
    line = line_of((0.5, 0.0, 0.9 / scale, 0.0, 0.0, 0.0), (0.5, 0.0, 1.1 / scale, 0.01, 0.01 / scale, 0.0))
    crossing = line.to_limit(Limit(max=10.0), 0.9)
    assert crossing is not None
    assert crossing.low == pytest.approx(8.99 * scale, rel=0.01)
    assert crossing.high == pytest.approx(10.0 / 0.9 * scale, rel=1e-6)


def test_a_confidence_that_is_none_is_refused() -> None:
    for confidence in (0.0, 1.0, 90.0):
        with pytest.raises(ValueError, match="between 0 and 1"):
            CERTAIN.interval(0.0, confidence)
