"""Verdicts by ISO 14253-1 and the used share of an allowance."""

import math

import pytest

from engine_pages.wear.limits import Limit, Verdict, Wears, allowance_used, verdict, verdict_one_sided
from engine_pages.wear.measured import Measured, from_bracket

BEARING = Limit(max=60.105)
SHAFT = Limit(min=59.980, max=60.000)
NEW = Measured(60.050, 1e-6)


@pytest.mark.parametrize(
    ("value", "expected"),
    [(60.1017, "within"), (60.1018, "undecided"), (60.105, "undecided"), (60.1082, "undecided"), (60.1084, "beyond")],
)
def test_a_reading_near_the_limit_is_undecided(value: float, expected: Verdict) -> None:
    assert verdict(value, 0.002, BEARING) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [(59.976, "beyond"), (59.981, "undecided"), (59.990, "within"), (59.999, "undecided"), (60.004, "beyond")],
)
def test_two_limits_are_both_kept(value: float, expected: Verdict) -> None:
    assert verdict(value, 0.002, SHAFT) == expected


def test_an_uncertainty_wider_than_the_limits_decides_nothing() -> None:
    assert verdict(59.99, 0.02, SHAFT) == "undecided"


def test_without_uncertainty_a_value_at_the_limit_is_within() -> None:
    assert verdict(60.105, 0.0, BEARING) == "within"
    assert verdict(0.1 + 0.2, 0.0, Limit(max=0.3)) == "within"
    assert verdict(60.1051, 0.0, BEARING) == "beyond"


def test_a_wider_rule_leaves_more_undecided() -> None:
    assert verdict(60.101, 0.002, BEARING) == "within"
    assert verdict(60.101, 0.002, BEARING, k=3.0) == "undecided"


@pytest.mark.parametrize("unit", [1 / 25.4, 1.0, 1000.0])
def test_a_verdict_does_not_depend_on_the_unit(unit: float) -> None:
    for value in (60.101, 60.104, 60.110):
        assert verdict(value * unit, 0.002 * unit, Limit(max=60.105 * unit)) == verdict(value, 0.002, BEARING)


@pytest.mark.parametrize(("low", "high"), [(None, None), (2.0, 1.0)])
def test_a_limit_that_limits_nothing_is_refused(low: float | None, high: float | None) -> None:
    with pytest.raises(ValueError, match="limit"):
        Limit(low, high)


@pytest.mark.parametrize(
    ("limit", "under", "over"),
    [
        (Limit(max=0.10), "within", "undecided"),
        (Limit(max=0.05), "within", "beyond"),
        (Limit(max=0.04), "undecided", "beyond"),
        (Limit(min=0.10), "beyond", "undecided"),
        (Limit(min=0.05), "beyond", "within"),
        (Limit(min=0.04), "undecided", "within"),
        (Limit(min=0.02, max=0.10), "undecided", "undecided"),
        (Limit(min=0.06, max=0.10), "beyond", "undecided"),
        (Limit(min=0.02, max=0.04), "undecided", "beyond"),
    ],
)
def test_a_one_sided_reading_decides_only_what_it_can(limit: Limit, under: Verdict, over: Verdict) -> None:
    assert verdict_one_sided("under", 0.05, limit) == under
    assert verdict_one_sided("over", 0.05, limit) == over


def test_a_bracket_inside_its_limit_is_within() -> None:
    gap = from_bracket(0.05, 0.08)
    assert verdict(gap.value, gap.u, Limit(max=0.08)) == "within"
    assert verdict(gap.value, gap.u, Limit(max=0.07)) == "undecided"
    assert verdict(gap.value, gap.u, Limit(max=0.05)) == "beyond"


def test_the_allowance_runs_from_baseline_to_limit() -> None:
    half = allowance_used(Measured(60.0775), NEW, BEARING, "up")
    assert half is not None
    assert half.used == pytest.approx(0.5)
    assert half.side == "max"


def test_the_interval_of_the_allowance_is_that_of_many_draws() -> None:
    # First order against the spread of the ratio itself: value and baseline each 1 µm, sharing 2 µm of one zero.
    value, baseline = Measured(60.0775, 1e-6, {"zero": 0.002}), Measured(60.050, 1e-6, {"zero": 0.002})
    found = allowance_used(value, baseline, BEARING, "up", confidence=0.90)
    assert found is not None
    step, allowance = 1e-7, 0.055

    def share(of_value: float, of_baseline: float) -> float:
        start = 60.050 + of_baseline
        return (60.0775 + of_value - start) / (60.105 - start)

    slopes = [
        (share(step, 0) - share(-step, 0)) / (2 * step) * 0.001,
        (share(0, step) - share(0, -step)) / (2 * step) * 0.001,
        (share(step, step) - share(-step, -step)) / (2 * step) * 0.002,
    ]
    assert found.high - found.low == pytest.approx(2 * 1.6448536 * math.hypot(*slopes), rel=1e-5)
    assert abs(slopes[2]) < 0.002 / allowance  # what is shared cancels in part


def test_a_baseline_is_no_distance_from_itself() -> None:
    start = allowance_used(NEW, NEW, BEARING, "up")
    assert start is not None
    assert (start.used, start.low, start.high) == (0.0, 0.0, 0.0)


def test_an_allowance_may_be_overdrawn_or_not_begun() -> None:
    over, under = (
        allowance_used(Measured(60.116), NEW, BEARING, "up"),
        allowance_used(Measured(60.039), NEW, BEARING, "up"),
    )
    assert over is not None
    assert under is not None
    assert over.used == pytest.approx(1.2)
    assert under.used == pytest.approx(-0.2)


def test_of_two_limits_the_one_ahead_counts() -> None:
    middle = Measured(59.991)
    nearer_max = Measured(59.996)

    def side(rate: float | None, wears: Wears) -> str | None:
        found = allowance_used(nearer_max, middle, SHAFT, wears, rate)
        return found.side if found else None

    assert side(-0.001, "up") == "min"
    assert side(0.001, "down") == "max"
    assert side(None, "down") == "min"
    assert side(None, "up") == "max"
    assert side(0.0, "either") == "max"
    found = allowance_used(Measured(59.985), middle, SHAFT, "either")
    assert found is not None
    assert found.side == "min"
    assert found.used == pytest.approx(6 / 11)


def test_with_nothing_to_start_from_no_share_is_given() -> None:
    assert allowance_used(Measured(60.06), None, BEARING, "up") is None


def test_an_allowance_that_may_be_nothing_is_not_given() -> None:
    assert allowance_used(Measured(60.06), Measured(60.105), BEARING, "up") is None
    assert allowance_used(Measured(60.06), Measured(60.110), BEARING, "up") is None
    assert allowance_used(Measured(60.06), from_bracket(60.09, 60.119), BEARING, "up") is None


@pytest.mark.parametrize("unit", [1 / 25.4, 1000.0])
def test_a_share_does_not_depend_on_the_unit(unit: float) -> None:
    plain = allowance_used(Measured(60.08, 4e-6), NEW, BEARING, "up")
    other = allowance_used(
        Measured(60.08 * unit, 4e-6 * unit**2), Measured(60.05 * unit, 1e-6 * unit**2), Limit(max=60.105 * unit), "up"
    )
    assert plain is not None
    assert other is not None
    assert (other.used, other.low, other.high) == pytest.approx((plain.used, plain.low, plain.high))
