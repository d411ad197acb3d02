"""One part's own line: what it takes from its readings, and what it refuses to say."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured, from_bracket
from engine_pages.wear.trend import Crossing, Interval, Line, fit_line

HOURS = [0.0, 9.5, 22.1, 31.0]
BORE = [60.051, 60.055, 60.061, 60.064]


def readings(values: list[float], u: float = 0.0015, zero: float = 0.0) -> list[Measured]:
    """Readings each taken on a sheet of its own."""
    return [Measured(value, u * u, {("zero", sheet): zero}) for sheet, value in enumerate(values)]


def fitted(x: list[float], y: list[Measured], through: Measured | None = None, scatter: float | None = None) -> Line:
    line = fit_line(x, y, through, scatter)
    assert line is not None
    return line


def test_one_reading_is_no_line() -> None:
    assert fit_line([10.0], readings([60.05])) is None
    assert fit_line([], []) is None
    assert fit_line([10.0], readings([60.05]), through=Measured(60.04)) is None


def test_readings_at_one_exposure_are_no_line() -> None:
    assert fit_line([22.1, 22.1, 22.1], readings([60.05, 60.06, 60.07])) is None
    assert fit_line([0.0, 0.0], readings([60.05, 60.06]), through=Measured(60.04)) is None


def test_two_readings_make_a_line_that_knows_nothing_of_its_scatter() -> None:
    line = fitted([0.0, 20.0], readings([60.05, 60.06]))
    assert line.slope == pytest.approx(0.0005)
    assert line.extra_scatter == 0.0
    assert not line.scatter_known
    assert math.sqrt(line.covariance[1][1]) == pytest.approx(0.0015 * math.sqrt(2) / 20)


def test_readings_that_agree_with_their_gauge_show_no_scatter() -> None:
    line = fitted(HOURS, readings(BORE))
    assert line.extra_scatter == 0.0
    assert line.scatter_known
    assert math.isinf(line.interval_dof)


def test_readings_that_jump_show_scatter_and_a_wide_rate() -> None:
    jumpy = fitted(HOURS, readings([60.051, 60.075, 60.041, 60.080]))
    assert jumpy.extra_scatter > 0.005
    assert jumpy.interval_dof == 2
    assert jumpy.rate(0.9).holds(0.0)


def test_the_scatter_brings_chi_square_to_its_degrees_of_freedom() -> None:
    values, repeats = [60.051, 60.060, 60.055, 60.069, 60.066], [0.001, 0.002, 0.0015, 0.003, 0.001]
    hours = [0.0, 8.0, 15.0, 22.0, 30.0]
    line = fitted(hours, [Measured(value, u * u) for value, u in zip(values, repeats, strict=True)])
    rest = [value - line.at(x)[0] for x, value in zip(hours, values, strict=True)]
    chi_square = sum(r * r / (u * u + line.extra_scatter**2) for r, u in zip(rest, repeats, strict=True))
    assert line.extra_scatter > 0.0
    assert chi_square == pytest.approx(line.dof)


def test_a_zero_of_its_own_on_each_sheet_widens_the_rate() -> None:
    with_zero, without = fitted(HOURS, readings(BORE, zero=0.002)), fitted(HOURS, readings(BORE))
    assert with_zero.covariance[1][1] == pytest.approx(without.covariance[1][1] * (0.0015**2 + 0.002**2) / 0.0015**2)


def test_a_zero_that_all_readings_share_moves_the_line_and_not_its_slope() -> None:
    shared = [Measured(value, 0.0015**2, {"zero": 0.002}) for value in BORE]
    line, plain = fitted(HOURS, shared), fitted(HOURS, readings(BORE))
    assert line.slope == pytest.approx(plain.slope, rel=1e-9)
    assert line.covariance[1][1] == pytest.approx(plain.covariance[1][1], rel=1e-9)
    assert line.covariance[0][0] == pytest.approx(plain.covariance[0][0] + 0.002**2, rel=1e-9)


@pytest.mark.parametrize("n", [2, 3, 4])
@pytest.mark.parametrize("zero", [0.002, 0.0031, 1.7])
def test_readings_wrong_by_one_zero_alone_have_a_rate_without_doubt(n: int, zero: float) -> None:
    line = fitted([3.3, 9.7, 22.1, 31.3][:n], [Measured(0.1 * x, 0.0, {"zero": zero}) for x in (33, 97, 221, 313)[:n]])
    assert line.rate(0.9).high == pytest.approx(line.slope, abs=1e-7)
    assert line.at(15.0)[1] == pytest.approx(zero, rel=1e-6)


def test_two_readings_on_one_sheet_share_its_zero() -> None:
    # Two stations of one sheet against one later sheet: their zero does not average away.
    x = [0.0, 0.0, 20.0]
    shared = [Measured(1.0, 1e-6, {"a": 0.003}), Measured(1.0, 1e-6, {"a": 0.003}), Measured(2.0, 1e-6, {"b": 0.003})]
    line = fitted(x, shared, scatter=0.0)
    assert line.covariance[1][1] == pytest.approx((0.5e-6 + 0.003**2 + 1e-6 + 0.003**2) / 400, rel=1e-9)


def test_a_known_start_is_one_more_reading_without_scatter() -> None:
    start = from_bracket(60.040, 60.060)
    tied = fitted(HOURS[1:], readings(BORE[1:]), through=start, scatter=0.0)
    as_reading = fitted([0.0, *HOURS[1:]], [start, *readings(BORE[1:])], scatter=0.0)
    assert tied.intercept == pytest.approx(as_reading.intercept, rel=1e-12)
    assert tied.slope == pytest.approx(as_reading.slope, rel=1e-9)
    assert np.array(tied.covariance) == pytest.approx(np.array(as_reading.covariance), rel=1e-9)


def test_a_start_that_shares_a_zero_with_a_reading_is_believed_no_further() -> None:
    shared = [Measured(60.055, 1e-6, {"a": 0.003}), Measured(60.062, 1e-6, {"b": 0.003})]
    start = Measured(60.050, 1e-6, {"a": 0.003})
    tied = fitted([10.0, 20.0], shared, through=start, scatter=0.0)
    as_reading = fitted([0.0, 10.0, 20.0], [start, *shared], scatter=0.0)
    assert np.array(tied.covariance) == pytest.approx(np.array(as_reading.covariance), rel=1e-9)
    assert tied.slope == pytest.approx(as_reading.slope, rel=1e-9)


def test_an_exact_start_is_met_exactly() -> None:
    line = fitted(HOURS[1:], readings(BORE[1:]), through=Measured(60.050))
    assert line.at(0.0) == (60.050, 0.0)


def test_a_start_leaves_a_degree_of_freedom_to_two_readings() -> None:
    line = fitted([10.0, 20.0], readings([60.08, 60.06]), through=Measured(60.05))
    assert line.dof == 1
    assert line.scatter_known
    assert line.extra_scatter > 0.0


def test_identical_readings_have_a_rate_of_zero() -> None:
    line = fitted(HOURS, readings([60.051] * 4))
    assert line.slope == 0.0
    assert line.rate(0.9).holds(0.0)
    assert line.exposure_at(60.105, 0.9, "max") is not None


def test_exact_readings_on_a_line_leave_nothing_uncertain() -> None:
    line = fitted([0.0, 1.0, 2.0], [Measured(1.0), Measured(3.0), Measured(5.0)])
    assert line.rate(0.9).high == pytest.approx(2.0)
    assert line.exposure_at(11.0, 0.9) == Crossing(median=5.0, low=5.0, high=5.0)


def test_exact_readings_that_never_change_never_meet_the_limit() -> None:
    line = fitted(HOURS, [Measured(60.051)] * 4)
    assert line.to_limit(Limit(max=60.105), 0.9) == Crossing(None, None, None)
    assert line.to_limit(Limit(max=60.0), 0.9) == Crossing(0.0, 0.0, 0.0)
    assert line.chance_inside(Limit(max=60.105), 1e5) == 1.0
    assert line.chance_inside(Limit(max=60.0), 0.0) == 0.0


def test_the_interval_ends_where_the_chance_says() -> None:
    line, limit = fitted(HOURS, readings(BORE)), Limit(max=60.105)
    crossing = line.to_limit(limit, 0.90)
    assert crossing is not None
    assert crossing.low is not None
    assert crossing.median is not None
    assert crossing.high is not None
    assert line.chance_inside(limit, crossing.low) == pytest.approx(0.95, abs=1e-6)
    assert line.chance_inside(limit, crossing.median) == pytest.approx(0.50, abs=1e-6)
    assert line.chance_inside(limit, crossing.high) == pytest.approx(0.05, abs=1e-6)


def test_the_interval_with_fitted_scatter_ends_where_the_chance_says() -> None:
    limit = Limit(min=59.90)
    line = fitted([0.0, 10.0, 20.0, 30.0, 40.0], readings([60.00, 59.985, 59.983, 59.972, 59.958], u=0.0005))
    crossing = line.to_limit(limit, 0.80)
    assert line.interval_dof == 3
    assert crossing is not None
    assert crossing.low is not None
    assert crossing.high is not None
    assert line.chance_inside(limit, crossing.low) == pytest.approx(0.90, abs=1e-6)
    assert line.chance_inside(limit, crossing.high) == pytest.approx(0.10, abs=1e-6)


def test_a_rate_that_may_be_zero_has_no_upper_bound() -> None:
    crossing = fitted([0.0, 20.0], readings([60.051, 60.053])).to_limit(Limit(max=60.105), 0.90)
    assert crossing is not None
    assert crossing.high is None
    assert crossing.low is not None
    assert crossing.low > 20.0


def test_a_rate_against_wear_still_gives_a_lower_bound() -> None:
    crossing = fitted([0.0, 20.0], readings([60.053, 60.051])).to_limit(Limit(max=60.105), 0.90)
    assert crossing is not None
    assert (crossing.median, crossing.high) == (None, None)
    assert crossing.low is not None


def test_readings_that_blur_across_the_limit_say_nothing() -> None:
    line = fitted([0.0, 20.0], readings([60.100, 60.104], u=0.01))
    assert line.to_limit(Limit(max=60.105), 0.90) is None
    assert line.exposure_at(60.105, 0.90) is None


def test_a_line_clear_away_from_its_limit_never_meets_it() -> None:
    line = fitted(HOURS, readings(BORE))
    assert line.to_limit(Limit(min=60.0), 0.9) == Crossing(None, None, None)


def test_a_limit_already_passed_is_a_crossing_and_no_forecast() -> None:
    crossing = fitted(HOURS, readings([60.051, 60.075, 60.111, 60.135])).to_limit(Limit(max=60.105), 0.9)
    assert crossing is not None
    assert crossing.high is not None
    assert 9.5 < crossing.high < 31.0


def test_a_limit_passed_from_the_start_was_met_at_zero_exposure() -> None:
    assert fitted(HOURS, readings(BORE)).to_limit(Limit(max=60.0), 0.9) == Crossing(0.0, 0.0, 0.0)


def test_of_two_limits_the_first_met_counts() -> None:
    line = fitted([0.0, 20.0], readings([60.051, 60.053]))
    either = line.to_limit(Limit(min=60.000, max=60.105), 0.90)
    upper, lower = line.to_limit(Limit(max=60.105), 0.90), line.to_limit(Limit(min=60.000), 0.90)
    assert either is not None
    assert upper is not None
    assert lower is not None
    assert upper.low is not None
    assert lower.low is not None
    assert either.low == min(upper.low, lower.low)
    assert either.median == upper.median


def test_the_chance_between_two_limits_is_that_of_the_normal_distribution() -> None:
    line = Line(10.0, 0.0, ((4.0, 0.0), (0.0, 0.0)), 0.0, True, 4, 2, math.inf)
    assert line.chance_inside(Limit(min=8.0, max=12.0), 5.0) == pytest.approx(0.6826894921)  # ±1 σ, any table
    assert line.chance_inside(Limit(max=12.0), 5.0) == pytest.approx(0.8413447461)


def test_a_level_that_is_itself_a_reading_widens_the_crossing() -> None:
    line = fitted(HOURS, readings(BORE))
    exact, read = line.exposure_at(60.105, 0.9), line.exposure_at(Measured(60.105, 0.002**2), 0.9)
    assert exact is not None
    assert read is not None
    assert exact.low is not None
    assert read.low is not None
    assert read.median == exact.median
    assert read.low < exact.low


def test_a_confidence_that_is_none_is_refused() -> None:
    line = fitted(HOURS, readings(BORE))
    for confidence in (0.0, 1.0, 90.0):
        with pytest.raises(ValueError, match="between 0 and 1"):
            line.interval(0.0, confidence)


def test_readings_that_do_not_pair_or_are_no_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="its exposure"):
        fit_line([0.0], readings(BORE))
    with pytest.raises(ValueError, match="finite"):
        fit_line([0.0, math.nan], readings(BORE[:2]))
    with pytest.raises(ValueError, match="finite"):
        fit_line([0.0, 1.0], readings([1.0, math.inf]))


@pytest.mark.parametrize("length", [1 / 25.4, 1e-3, 1e3])
@pytest.mark.parametrize("time", [1 / 60, 3600.0])
@pytest.mark.parametrize("u", [0.0, 0.0015])
@pytest.mark.parametrize("values", [BORE, [60.051, 60.075, 60.041, 60.080]])
def test_a_line_does_not_depend_on_its_units(length: float, time: float, u: float, values: list[float]) -> None:
    plain = fitted(HOURS, readings(values, u))
    other = fitted([x * time for x in HOURS], readings([value * length for value in values], u * length))
    assert other.slope == pytest.approx(plain.slope * length / time, rel=1e-8)
    assert other.extra_scatter == pytest.approx(plain.extra_scatter * length, rel=1e-7)
    assert other.rate(0.9).high == pytest.approx(plain.rate(0.9).high * length / time, rel=1e-7)
    expected, found = plain.to_limit(Limit(max=60.105), 0.9), other.to_limit(Limit(max=60.105 * length), 0.9)
    assert (expected is None) == (found is None)
    if expected is not None and found is not None:
        for one, two in ((expected.low, found.low), (expected.median, found.median), (expected.high, found.high)):
            assert two == (None if one is None else pytest.approx(one * time, rel=1e-6))


@settings(deadline=None, derandomize=True, max_examples=300)
@given(
    points=st.lists(
        st.tuples(st.floats(0.0, 1e5).map(lambda x: round(x, 1)), st.floats(0.01, 200.0), st.floats(0.0, 1.0)),
        min_size=2,
        max_size=7,
    ),
    zero=st.sampled_from([0.0, 0.003]),
    start=st.sampled_from([None, Measured(60.0), Measured(60.0, 1e-4, {("zero", 0): 0.003})]),
    level=st.floats(0.01, 200.0),
)
def test_whatever_was_measured_a_line_speaks_in_numbers(
    points: list[tuple[float, float, float]], zero: float, start: Measured | None, level: float
) -> None:
    y = [Measured(value, u * u, {("zero", i % 2): zero}) for i, (_, value, u) in enumerate(points)]
    line = fit_line([x for x, _, _ in points], y, start)
    if line is None:
        assert len({x for x, _, _ in points} | ({0.0} if start else set())) == 1
        return
    rate, at = line.rate(0.9), line.interval(100.0, 0.9)
    assert rate.low <= rate.value <= rate.high
    assert at.low <= at.value <= at.high
    for limit in (Limit(max=level), Limit(min=level), Limit(min=level, max=level + 1.0)):
        assert 0.0 <= line.chance_inside(limit, 50.0) <= 1.0
        crossing = line.to_limit(limit, 0.9)
        if crossing is not None:
            bounds = [x for x in (crossing.low, crossing.median, crossing.high) if x is not None]
            assert all(math.isfinite(x) and x >= 0.0 for x in bounds)
            assert bounds == pytest.approx(sorted(bounds), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(("n", "scatter"), [(3, 0.0), (4, 1.0), (5, 3.0)])
def test_nine_intervals_of_ten_hold_the_true_rate(n: int, scatter: float) -> None:
    """Drawn with a fixed seed: known repeat 1, a zero of 2 on each sheet, and scatter the line must find."""
    draw, held, times = np.random.default_rng(2026), 0, 400
    for _ in range(times):
        x = np.sort(draw.uniform(0.0, 40.0, n))
        y = 5.0 + 0.3 * x + draw.normal(0.0, math.hypot(1.0, 2.0, scatter), n)
        held += fitted(x.tolist(), readings(y.tolist(), u=1.0, zero=2.0)).rate(0.90).holds(0.3)
    # The binomial spread of 400 draws is 1.5 %; scatter from few readings costs a few more.
    assert 0.84 <= held / times <= 0.97


def test_an_interval_in_another_unit_or_turned_keeps_its_lower_end_below() -> None:
    assert Interval(2.0, 1.0, math.inf).times(25.4) == Interval(50.8, 25.4, math.inf)
    assert Interval(2.0, 1.0, math.inf).times(-1.0) == Interval(-2.0, -math.inf, -1.0)
