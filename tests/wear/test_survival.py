"""The curve of lives: promises that hold whatever the lives are, and answers that can be reckoned by hand."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine_pages.wear.lifetimes import FEWEST_FAILURES, Lifetime, columns_of, failures
from engine_pages.wear.survival import Survival, product_limit, survival
from engine_pages.wear.turnbull import self_consistent

whole_hours = st.integers(0, 30).map(float)


@st.composite
def lifetimes(draw: st.DrawFn, exact: bool = False, late: bool = True) -> Lifetime:
    entered = draw(whole_hours) if late and draw(st.booleans()) else 0.0
    good = entered + draw(whole_hours)
    if draw(st.booleans()):
        return Lifetime(good, None, entered)
    if exact:
        return Lifetime(good + 1.0, good + 1.0, entered)
    return Lifetime(good, good + 1.0 + draw(whole_hours), entered)


def curve(lives: list[Lifetime], confidence: float = 0.9) -> Survival:
    found = survival(lives, confidence)
    assert found is not None
    return found


def failed_at(*exposures: float) -> list[Lifetime]:
    return [Lifetime(x, x) for x in exposures]


@settings(deadline=None, derandomize=True)
@given(st.lists(st.one_of(lifetimes(), lifetimes(exact=True)), max_size=12))
def test_a_curve_falls_and_every_interval_holds_its_value(lives: list[Lifetime]) -> None:
    found = survival(lives)
    if found is None:
        return
    assert failures(lives) >= found.failures >= FEWEST_FAILURES
    assert found.n + found.units_left_out == len(lives)
    values = [step.survival.value for step in found.steps]
    assert values == sorted(values, reverse=True)
    for step in found.steps:
        assert 0.0 <= step.survival.low <= step.survival.value <= step.survival.high <= 1.0
        assert found.since <= step.after <= step.by <= found.until
        assert step.at_risk <= found.n
    for first, second in zip(found.steps, found.steps[1:], strict=False):
        assert first.by <= second.after or first.by < second.by


@settings(deadline=None, derandomize=True)
@given(st.lists(lifetimes(), max_size=10), st.sampled_from([1e-3, 60.0, 1e5]))
def test_hours_or_minutes_and_the_order_of_lives_give_the_same_curve(lives: list[Lifetime], unit: float) -> None:
    scaled = [
        Lifetime(x.good * unit, None if x.failed_by is None else x.failed_by * unit, x.entered * unit)
        for x in lives[::-1]
    ]
    found, again = survival(lives), survival(scaled)
    assert survival(lives[::-1]) == found
    assert (found is None) == (again is None)
    if found is not None and again is not None:
        assert [s.survival.value for s in again.steps] == pytest.approx([s.survival.value for s in found.steps])
        assert [s.by for s in again.steps] == pytest.approx([s.by * unit for s in found.steps])


@settings(deadline=None, derandomize=True)
@given(st.lists(lifetimes(exact=True, late=False), min_size=2, max_size=12).filter(lambda lives: failures(lives) > 0))
def test_both_estimates_and_their_variances_agree_on_exact_failures(lives: list[Lifetime]) -> None:
    # Kaplan–Meier is the maximum of the same likelihood, and Greenwood's variance its observed information.
    lines = columns_of(lives)
    closed, searched = product_limit(lines), self_consistent(lines)
    assert searched is not None
    left = closed[:, 2] > 1e-9
    assert searched[left] == pytest.approx(closed[left], abs=1e-6)


def test_both_estimates_agree_with_late_entries() -> None:
    lives = [*failed_at(5.0, 8.0, 8.0, 13.0), Lifetime(9.0, 9.0, 6.0), Lifetime(15.0, None, 7.0), Lifetime(11.0)]
    lines = columns_of(lives)
    assert self_consistent(lines) == pytest.approx(product_limit(lines), abs=1e-7)


@pytest.mark.parametrize("seed", range(8))
def test_no_other_curve_makes_the_strips_likelier(seed: int) -> None:
    # Brute force: a thousand and more ways to spread the failures over every place between two of the exposures.
    draw = np.random.default_rng(seed)
    good = draw.integers(0, 12, 9).astype(float)
    by = np.where(draw.random(9) < 0.7, good + draw.integers(1, 9, 9), math.inf)
    by[0] = good[0] + 2.0
    entered = np.where(draw.random(9) < 0.3, np.floor(good / 2.0), 0.0)
    lives = [Lifetime(g, b if b < math.inf else None, e) for g, b, e in zip(good, by, entered, strict=True)]
    found = self_consistent(columns_of(lives))
    assert found is not None
    edges = np.unique(np.concatenate([good, by, entered]))
    cells = np.column_stack([edges[:-1], edges[1:]])
    inside = (cells[:, 0] >= good[:, None]) & (cells[:, 1] <= by[:, None])
    beyond = cells[:, 0] >= entered[:, None]

    def likelihood(shares: np.ndarray) -> float:
        with np.errstate(divide="ignore"):
            return float(np.log(inside @ shares).sum() - np.log(beyond @ shares).sum())

    ours = np.zeros(len(cells))
    before = 1.0
    for _, end, left, _ in found:
        ours[np.flatnonzero(cells[:, 1] == end)[0]] += before - left
        before = left
    ours[-1] += before if math.isinf(edges[-1]) else 0.0
    height = likelihood(ours)
    for size in (0.3, 0.03, 0.003):
        for other in draw.dirichlet(np.ones(len(cells)), 400):
            assert likelihood((1.0 - size) * ours + size * other) <= height + 1e-9


def test_fewer_than_three_failures_draw_no_curve() -> None:
    assert survival([*failed_at(10.0, 20.0), Lifetime(30.0)]) is None
    assert survival([*failed_at(10.0, 20.0, 25.0), Lifetime(30.0)]) is not None


@pytest.mark.parametrize("lives", [[], [Lifetime(10.0)], failed_at(10.0), [Lifetime(float(x)) for x in range(9)]])
def test_none_one_and_all_running_draw_no_curve(lives: list[Lifetime]) -> None:
    assert survival(lives) is None


def test_ties_fall_together_and_who_is_taken_out_then_was_still_at_risk() -> None:
    found = curve([*failed_at(10.0, 10.0, 20.0), Lifetime(10.0)])
    assert [(s.by, s.at_risk, s.survival.value) for s in found.steps] == [(10.0, 4, 0.5), (20.0, 1, 0.0)]


def test_a_curve_that_comes_down_to_zero_keeps_the_upper_end_before() -> None:
    last = curve(failed_at(10.0, 20.0, 30.0)).steps
    assert (last[-1].survival.value, last[-1].survival.low) == (0.0, 0.0)
    assert last[-1].survival.high == last[-2].survival.high < 1.0


def test_a_used_part_counts_from_where_it_came_in() -> None:
    found = curve([*failed_at(10.0, 20.0, 30.0), Lifetime(40.0, None, entered=15.0)])
    assert [step.at_risk for step in found.steps] == [3, 3, 2]
    assert [step.survival.value for step in found.steps] == pytest.approx([2 / 3, 4 / 9, 2 / 9])


def test_where_all_failed_before_others_came_in_the_curve_speaks_of_one_stretch() -> None:
    later = [Lifetime(x, x, entered=30.0) for x in (40.0, 50.0, 60.0)]
    found = curve([*failed_at(10.0, 20.0), *later, Lifetime(70.0, None, 30.0)])
    assert (found.since, found.n, found.units_left_out) == (30.0, 4, 2)
    assert found.at(20.0) is None
    assert [step.survival.value for step in found.steps] == pytest.approx([0.75, 0.5, 0.25])


def test_a_used_part_that_came_in_where_no_other_is_thought_to_have_been_leaves_no_curve() -> None:
    lives = [Lifetime(2.0, 10.0), Lifetime(2.0, 10.0), Lifetime(2.0, 10.0), Lifetime(20.0, None, entered=5.0)]
    assert failures(lives) == 3
    assert survival(lives) is None


def test_inside_a_drop_of_unknown_place_the_lower_value_and_the_wider_interval_stand() -> None:
    found = curve([Lifetime(10.0, 20.0), Lifetime(10.0, 20.0), Lifetime(30.0, 40.0), Lifetime(50.0)])
    inside, past = found.at(15.0), found.at(20.0)
    assert inside is not None
    assert past is not None
    assert (inside.value, inside.low, inside.high) == (past.value, past.low, 1.0)
    assert past.high < 1.0


def test_before_the_first_failure_the_share_is_not_certain() -> None:
    early = curve([*failed_at(10.0, 20.0, 30.0), Lifetime(30.0), Lifetime(5.0)]).at(8.0)
    assert early is not None
    assert (early.value, early.high) == (1.0, 1.0)
    assert early.low == pytest.approx(0.05 ** (1 / 4))  # none of the four that ran so far


def test_nothing_is_said_beyond_what_was_seen() -> None:
    found = curve([*failed_at(10.0, 20.0, 30.0), Lifetime(35.0)])
    assert found.at(35.0) is not None
    assert found.at(35.1) is None
    unreached = found.life_at(0.9)
    assert (unreached.after, unreached.by, unreached.high) == (None, None, None)


def test_a_life_by_strips_is_a_span_not_a_middle() -> None:
    half = curve([Lifetime(10.0, 20.0), Lifetime(22.0, 40.0), Lifetime(50.0, 60.0), Lifetime(70.0)]).life_at(0.5)
    assert (half.after, half.by) == (22.0, 40.0)


def test_a_wider_confidence_has_a_wider_interval() -> None:
    lives = [*failed_at(*range(10, 20)), Lifetime(25.0)]
    for narrow, wide in zip(curve(lives, 0.8).steps, curve(lives, 0.95).steps, strict=True):
        assert wide.survival.low < narrow.survival.low
        assert wide.survival.high > narrow.survival.high


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, math.nan])
def test_a_share_outside_0_to_1_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        curve(failed_at(10.0, 20.0, 30.0)).life_at(share)


def test_three_hundred_lives_between_two_strips_are_at_the_maximum_too() -> None:
    # Hardly two alike. Self-consistency alone, which creeps, comes no higher in 2,000 steps.
    draw = np.random.default_rng(1)
    true = 100.0 * draw.weibull(3.0, 300) + 1.0
    good = np.round(true * draw.uniform(0.3, 0.99, 300), 2)
    failed = draw.random(300) < 0.6
    by = np.where(failed, np.round(true * 1.1 + 1.0, 2), math.inf)
    drops = self_consistent(
        columns_of([Lifetime(g, b if b < math.inf else None) for g, b in zip(good, by, strict=True)])
    )
    assert drops is not None
    edges = np.unique(np.concatenate([good, by]))
    inside = ((edges[:-1] >= good[:, None]) & (edges[1:] <= by[:, None])).astype(float)
    shares = np.full(len(edges) - 1, 1.0 / (len(edges) - 1))
    for _ in range(2000):
        shares *= (1.0 / (inside @ shares)) @ inside / len(good)
    left = np.concatenate([[1.0], drops[:, 2]])
    ours = np.append(left[:-1] - left[1:], left[-1])
    spans = [*((after, end) for after, end, _, _ in drops), (drops[-1, 1], math.inf)]
    within = np.array([[g <= after and end <= b for after, end in spans] for g, b in zip(good, by, strict=True)], float)
    within[~failed, -1] = 1.0
    assert np.log(within @ ours).sum() > np.log(inside @ shares).sum() - 1e-6
