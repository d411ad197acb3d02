"""Leak-down and the correction to a standard cranking speed."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine_pages.wear.pressure import at_standard_speed, leak_down_percent, speed_factor

CURVE = [(200.0, 0.93), (250.0, 1.0), (300.0, 1.05)]


def test_a_supply_that_is_no_pressure_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        leak_down_percent(0.0, 0.0)


def test_the_points_of_a_curve_are_met_exactly() -> None:
    assert [speed_factor(CURVE, speed) for speed, _ in CURVE] == [0.93, 1.0, 1.05]


def test_between_the_points_a_curve_is_straight() -> None:
    assert speed_factor(CURVE, 262.0) == pytest.approx(float(1 + Fraction(5, 100) * Fraction(12, 50)))


@given(st.floats(200.0, 300.0), st.floats(200.0, 300.0))
def test_a_faster_crank_never_has_a_smaller_factor_on_a_rising_curve(first: float, second: float) -> None:
    slow, fast = speed_factor(CURVE, min(first, second)), speed_factor(CURVE, max(first, second))
    assert slow is not None
    assert fast is not None
    assert slow <= fast + 1e-15


@pytest.mark.parametrize("speed", [199.9, 300.1, 0.0])
def test_outside_its_curve_nothing_is_corrected(speed: float) -> None:
    assert speed_factor(CURVE, speed) is None
    assert at_standard_speed(800.0, speed, CURVE) is None


def test_a_reading_at_a_slow_crank_is_raised() -> None:
    assert at_standard_speed(744.0, 200.0, CURVE) == pytest.approx(800.0)


@pytest.mark.parametrize(
    ("curve", "message"),
    [
        ([], "at least one point"),
        ([(250.0, 1.0), (250.0, 1.1)], "increase strictly"),
        ([(300.0, 1.0), (250.0, 1.1)], "increase strictly"),
        ([(200.0, 0.0), (250.0, 1.0)], "above zero"),
    ],
)
def test_a_curve_that_is_none_is_refused(curve: list[tuple[float, float]], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        speed_factor(curve, 250.0)
