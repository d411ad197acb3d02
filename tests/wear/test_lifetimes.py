"""One life: what a strip can tell of it, and what cannot be a life."""

import math

import pytest

from engine_pages.wear.lifetimes import Lifetime, columns_of, failures, normal_quantile


def test_a_life_found_failed_at_strip_lies_between_two_exposures() -> None:
    life = Lifetime(good=40.0, failed_by=60.0)
    assert (life.failed, life.exact, life.ended) == (True, False, 60.0)


def test_a_life_that_runs_on_has_not_failed() -> None:
    life = Lifetime(good=40.0, entered=12.0)
    assert (life.failed, life.exact, life.ended) == (False, False, 40.0)


@pytest.mark.parametrize(
    ("good", "failed_by", "entered"),
    [
        (math.nan, None, 0.0),
        (math.inf, None, 0.0),
        (-1.0, None, 0.0),
        (10.0, math.inf, 0.0),
        (10.0, 9.0, 0.0),
        (10.0, 12.0, 11.0),
        (10.0, 10.0, 10.0),
        (0.0, 0.0, 0.0),
        (10.0, 12.0, -1.0),
    ],
)
def test_what_cannot_be_a_life_is_refused(good: float, failed_by: float | None, entered: float) -> None:
    with pytest.raises(ValueError, match=r"life|unit"):
        Lifetime(good, failed_by, entered)


def test_the_order_of_lives_changes_no_column() -> None:
    lives = [Lifetime(5.0, 9.0), Lifetime(3.0, 3.0), Lifetime(7.0, None, 2.0)]
    there, back = columns_of(lives), columns_of(lives[::-1])
    assert there.good.tolist() == back.good.tolist()
    assert there.by.tolist() == back.by.tolist()
    assert there.failed.tolist() == [True, True, False]
    assert there.exact.tolist() == [True, False, False]


def test_hours_added_up_in_tenths_are_a_tie() -> None:
    assert len(set(columns_of([Lifetime(sum([0.1] * 221)), Lifetime(22.1)]).good.tolist())) == 1


def test_no_lives_are_no_rows() -> None:
    assert columns_of([]).good.tolist() == []
    assert failures([]) == 0


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.5, math.nan])
def test_a_confidence_outside_0_to_1_is_refused(confidence: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        normal_quantile(confidence)
