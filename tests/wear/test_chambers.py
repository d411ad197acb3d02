"""Which chambers lie low against the others: one, two neighbours, several, all."""

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
    assert low_chambers([900.0, 1400.0, 1390.0, 910.0], 200.0, "line").pattern == "several low"


def test_three_low_cylinders_are_no_pattern_even_side_by_side() -> None:
    assert low_chambers([1400.0, 900.0, 910.0, 905.0], 200.0, "line").pattern == "several low"


def test_a_place_that_was_not_read_parts_its_neighbours_and_keeps_the_numbers() -> None:
    found = low_chambers([1400.0, 900.0, None, 910.0], 200.0, "line")
    assert (found.pattern, found.low) == ("several low", (1, 3))


def test_chambers_that_are_all_under_the_limit_are_all_low_and_none_stands_out() -> None:
    found = low_chambers([640.0, 655.0, 660.0], 150.0, "ring", least=680.0)
    assert (found.pattern, found.low) == ("all low", (0, 1, 2))


def test_one_that_stands_out_does_so_where_all_are_under_the_limit_too() -> None:
    assert low_chambers([660.0, 400.0, 655.0], 150.0, "ring", least=680.0).low == (1,)


def test_under_the_limit_a_chamber_stands_out_from_half_the_margin_on() -> None:
    assert low_chambers([778.0, 653.0, 660.0], 150.0, "ring", least=680.0).low == (1, 2)
    assert low_chambers([745.0, 679.0, 700.0], 150.0, "ring", least=680.0).pattern == "even"
    assert low_chambers([900.0, 790.0, 900.0], 150.0, "ring", least=680.0).pattern == "even"


def test_without_a_margin_only_all_under_the_limit_can_be_told() -> None:
    assert low_chambers([640.0, 600.0], None, "line", least=680.0).pattern == "all low"
    assert low_chambers([740.0, 600.0], None, "line", least=680.0).pattern == "cannot tell"


def test_of_a_loss_the_same_is_told_with_the_signs_turned() -> None:
    assert low_chambers([-5.0, -30.0, -28.0, -6.0], 10.0, "line", least=-12.0).low == (1, 2)


@pytest.mark.parametrize(("values", "margin"), [([800.0], 100.0), ([], 100.0), ([800.0, 600.0], 0.0)])
def test_with_nothing_to_hold_it_against_it_cannot_tell(values: list[float], margin: float) -> None:
    assert low_chambers(values, margin, "ring").pattern == "cannot tell"


@given(PRESSURES, st.floats(1.0, 500.0))
def test_the_highest_is_never_low_while_any_is_inside(values: list[float], margin: float) -> None:
    found = low_chambers(values, margin, "ring", least=min(values))
    assert values.index(max(values)) not in found.low


@given(PRESSURES, st.floats(1.0, 500.0), st.integers(0, 5))
def test_faces_counted_from_another_apex_are_the_same_pattern(values: list[float], margin: float, by: int) -> None:
    turned = values[by % len(values) :] + values[: by % len(values)]
    assert low_chambers(values, margin, "ring").pattern == low_chambers(turned, margin, "ring").pattern


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


@st.composite
def curves(draw: st.DrawFn) -> list[tuple[float, float]]:
    """A curve as a family gives it: speeds that increase, factors that do not fall."""
    speeds = sorted(draw(st.lists(st.integers(50, 600), min_size=2, max_size=6, unique=True)))
    factors = sorted(draw(st.lists(st.floats(0.5, 1.5), min_size=len(speeds), max_size=len(speeds))))
    return [(float(speed), factor) for speed, factor in zip(speeds, factors, strict=True)]


@given(curves())
def test_a_curve_is_exact_at_its_points_and_nothing_outside(curve: list[tuple[float, float]]) -> None:
    assert [speed_factor(curve, speed) for speed, _ in curve] == [factor for _, factor in curve]
    assert at_standard_speed(800.0, curve[0][0] - 0.001, curve) is None
    assert at_standard_speed(800.0, curve[-1][0] + 0.001, curve) is None


@given(curves(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_rising_curve_is_monotonic_between_its_points(
    curve: list[tuple[float, float]], first: float, second: float
) -> None:
    low, high = curve[0][0], curve[-1][0]
    slow, fast = (min(low + share * (high - low), high) for share in sorted((first, second)))
    below, above = speed_factor(curve, slow), speed_factor(curve, fast)
    assert below is not None
    assert above is not None
    assert below <= above + 1e-12


@given(curves(), st.data())
def test_between_two_points_a_factor_lies_between_theirs(curve: list[tuple[float, float]], data: st.DataObject) -> None:
    left = data.draw(st.integers(0, len(curve) - 2))
    (slow, below), (fast, above) = curve[left], curve[left + 1]
    found = speed_factor(curve, data.draw(st.floats(slow, fast)))
    assert found is not None
    assert below - 1e-12 <= found <= above + 1e-12
