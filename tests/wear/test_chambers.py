"""Which chambers lie low against the others: one, two neighbours, or no pattern."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine_pages.wear.chambers import apart, low_chambers
from engine_pages.wear.pressure import at_standard_speed, speed_factor

PRESSURES = st.lists(st.floats(100.0, 1500.0), min_size=2, max_size=6)


def test_readings_within_the_margin_are_even() -> None:
    assert low_chambers([812.0, 806.0, 799.0], 100.0, "ring").pattern == "even"


@pytest.mark.parametrize("low", [0, 1, 2])
def test_one_low_face_stands_out_wherever_it_is(low: int) -> None:
    values = [800.0, 800.0, 800.0]
    values[low] = 600.0
    found = low_chambers(values, 100.0, "ring")
    assert (found.pattern, found.low) == ("one low", (low,))


@pytest.mark.parametrize("good", [0, 1, 2])
def test_any_two_faces_of_a_rotor_are_neighbours(good: int) -> None:
    values = [600.0, 600.0, 600.0]
    values[good] = 800.0
    assert low_chambers(values, 100.0, "ring").pattern == "two neighbours low"


def test_cylinders_stand_in_a_line_and_the_ends_are_no_neighbours() -> None:
    assert low_chambers([1400.0, 900.0, 910.0, 1390.0], 200.0, "line").pattern == "two neighbours low"
    assert low_chambers([900.0, 1400.0, 1390.0, 910.0], 200.0, "line").pattern == "scattered"


@pytest.mark.parametrize(("values", "margin"), [([800.0], 100.0), ([], 100.0), ([800.0, 600.0], 0.0)])
def test_with_nothing_to_hold_it_against_it_cannot_tell(values: list[float], margin: float) -> None:
    assert low_chambers(values, margin, "ring").pattern == "cannot tell"


@given(PRESSURES, st.floats(1.0, 500.0), st.floats(0.01, 100.0))
def test_the_pattern_does_not_depend_on_the_unit(values: list[float], margin: float, factor: float) -> None:
    near = any(abs(max(values) - value - margin) < 1e-6 for value in values)
    if not near:  # a reading at the margin itself falls on either side by rounding
        assert low_chambers([v * factor for v in values], margin * factor, "line") == low_chambers(
            values, margin, "line"
        )


@given(PRESSURES)
def test_readings_lie_as_far_apart_as_their_ends(values: list[float]) -> None:
    assert apart(values) == max(values) - min(values)


@given(
    st.lists(st.floats(50.0, 600.0), min_size=2, max_size=6, unique=True).map(sorted),
    st.lists(st.floats(0.5, 1.5), min_size=6, max_size=6).map(sorted),
    st.floats(0.0, 1.0),
)
def test_a_curve_is_exact_at_its_points_monotonic_between_and_nothing_outside(
    speeds: list[float], factors: list[float], share: float
) -> None:
    curve = list(zip(speeds, factors, strict=False))
    assert [speed_factor(curve, speed) for speed, _ in curve] == [factor for _, factor in curve]
    low, high = curve[0], curve[1]
    between = low[0] + share * (high[0] - low[0])
    found = speed_factor(curve, between)
    assert found is not None
    assert low[1] - 1e-12 <= found <= high[1] + 1e-12
    assert speed_factor(curve, speeds[0] - 1.0) is None
    assert at_standard_speed(800.0, speeds[-1] + 1.0, curve) is None
