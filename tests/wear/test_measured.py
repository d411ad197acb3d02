"""Values that keep what they share: repeats, brackets, gauges, sums and differences."""

import math

import numpy as np
import pytest

from engine_pages.wear.measured import (
    Gauge,
    Measured,
    covariance,
    covariance_matrix,
    from_bracket,
    from_repeats,
    gauge_model,
    mean,
    minus,
    plus,
    scaled,
)

ZERO = ("zero", "mic-50-75", "T-0412")
OTHER_ZERO = ("zero", "mic-50-75", "T-0519")


def reading(value: float, repeat: float = 0.002, zero: float = 0.003, source: tuple[str, ...] = ZERO) -> Measured:
    return Measured(value, repeat**2, {source: zero})


def test_a_difference_on_one_sheet_cancels_the_zero() -> None:
    gap = minus(reading(60.05), reading(60.00))
    assert gap.value == pytest.approx(0.05)
    assert gap.shared == {}
    assert gap.u == pytest.approx(0.002 * math.sqrt(2))


def test_a_difference_between_two_sheets_keeps_both_zeros() -> None:
    gap = minus(reading(60.05), reading(60.00, source=OTHER_ZERO))
    assert gap.u == pytest.approx(math.sqrt(2 * 0.002**2 + 2 * 0.003**2))


def test_a_sum_on_one_sheet_doubles_the_zero() -> None:
    assert plus(reading(10.0), reading(20.0)).shared == {ZERO: pytest.approx(0.006)}


def test_many_readings_of_one_gauge_never_mean_less_than_its_zero() -> None:
    many = mean([reading(60.0) for _ in range(100)])
    assert many.u == pytest.approx(math.hypot(0.0002, 0.003))


def test_a_factor_scales_value_and_uncertainty_alike() -> None:
    thou = scaled(reading(60.0), 1 / 25.4)
    assert thou.value == pytest.approx(60.0 / 25.4)
    assert thou.u == pytest.approx(reading(60.0).u / 25.4)


def test_a_mean_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one reading"):
        mean([])


def test_covariance_is_what_both_share_with_its_sign() -> None:
    assert covariance(reading(1.0), reading(2.0)) == pytest.approx(0.003**2)
    assert covariance(reading(1.0), scaled(reading(2.0), -1.0)) == pytest.approx(-(0.003**2))
    assert covariance(reading(1.0), reading(2.0, source=OTHER_ZERO)) == 0.0


def test_the_matrix_says_of_each_pair_what_covariance_says() -> None:
    readings = [reading(1.0), reading(2.0), reading(3.0, source=OTHER_ZERO), Measured(4.0)]
    matrix = covariance_matrix(readings)
    for row, first in enumerate(readings):
        for column, second in enumerate(readings):
            expected = first.variance if row == column else covariance(first, second)
            assert matrix[row, column] == pytest.approx(expected)
    assert np.linalg.eigvalsh(matrix).min() >= -1e-18


def test_repeats_narrow_the_repeat_but_not_the_zero() -> None:
    measured = from_repeats([60.061, 60.062, 60.060], repeat=0.0015, zero=0.001, zero_source=ZERO)
    assert measured.value == pytest.approx(60.061)
    assert measured.independent == pytest.approx(0.0015**2 / 3)
    assert measured.shared == {ZERO: 0.001}


def test_readings_that_scatter_more_than_their_gauge_count_with_their_own_scatter() -> None:
    measured = from_repeats([60.05, 60.06, 60.07], repeat=0.0015, zero=0.0, zero_source=ZERO)
    assert measured.independent == pytest.approx(0.01**2 / 3)


def test_identical_readings_are_as_uncertain_as_their_gauge() -> None:
    assert from_repeats([60.06] * 4, 0.002, 0.0, ZERO) == Measured(60.06, 0.002**2 / 4)


def test_a_gauge_with_no_uncertainty_leaves_none() -> None:
    assert from_repeats([60.06], 0.0, 0.0, ZERO).u == 0.0


@pytest.mark.parametrize(("repeat", "zero"), [(-0.001, 0.0), (0.0, -0.001)])
def test_a_negative_uncertainty_is_refused(repeat: float, zero: float) -> None:
    with pytest.raises(ValueError, match="not negative"):
        from_repeats([1.0], repeat, zero, ZERO)


def test_no_reading_is_no_value() -> None:
    with pytest.raises(ValueError, match="at least one reading"):
        from_repeats([], 0.001, 0.001, ZERO)


def test_a_bracket_is_its_middle_with_half_its_width_over_root_three() -> None:
    gap = from_bracket(0.05, 0.08)
    assert gap.value == pytest.approx(0.065)
    assert gap.u == pytest.approx(0.015 / math.sqrt(3))
    assert gap.shared == {}


def test_a_bracket_the_wrong_way_round_is_refused() -> None:
    with pytest.raises(ValueError, match="from low to high"):
        from_bracket(0.08, 0.05)


def test_a_gauge_counts_as_its_shop_wrote_it() -> None:
    assert gauge_model(0.001, 0.0015, 0.001, None, 0.001) == Gauge(0.0015, 0.001, assumed=False)


def test_one_uncertainty_is_shared_out_between_repeat_and_zero() -> None:
    gauge = gauge_model(0.001, None, None, 0.002, 0.001)
    assert gauge.repeat == gauge.zero == pytest.approx(0.002 / math.sqrt(2))
    assert not gauge.assumed


def test_an_uncertainty_beside_one_part_leaves_the_rest_to_the_other() -> None:
    assert gauge_model(None, 0.003, None, 0.005, 0.001).zero == pytest.approx(0.004)
    assert gauge_model(None, None, 0.003, 0.005, 0.001).repeat == pytest.approx(0.004)
    assert gauge_model(None, 0.006, None, 0.005, 0.001).zero == 0.0


def test_a_gauge_that_nobody_described_is_assumed_from_its_resolution() -> None:
    gauge = gauge_model(0.02, None, None, None, 0.001)
    assert gauge == Gauge(0.02 / math.sqrt(12), 0.02 / math.sqrt(12), assumed=True)


def test_a_figure_written_roughly_is_no_better_than_half_its_last_digit() -> None:
    assert gauge_model(0.01, None, None, None, 0.1).repeat == 0.05
    assert gauge_model(None, None, None, None, 0.01) == Gauge(0.005, 0.005, assumed=True)


def test_what_is_known_of_a_gauge_stays_beside_what_is_assumed() -> None:
    assert gauge_model(0.01, 0.002, None, None, 0.01) == Gauge(0.002, 0.005, assumed=True)


def test_a_last_digit_without_a_step_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        gauge_model(0.01, None, None, None, 0.0)
