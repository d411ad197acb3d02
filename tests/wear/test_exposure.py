"""The ledger: what lies between two moments, and what is known of it at least."""

import pytest

from engine_pages.wear.exposure import Exposure, Ledger, total

FIRST, SECOND, THIRD = (10, 0, 0), (20, 0, 0), (30, 0, 0)


def test_what_lies_between_two_moments_is_summed_the_end_counted_and_the_start_not() -> None:
    book = Ledger([(SECOND, Exposure(hours=2.0, starts=3)), (FIRST, Exposure(hours=1.0)), (THIRD, Exposure(hours=0.5))])
    assert book.between(FIRST, SECOND) == Exposure(hours=2.0, starts=3)
    assert book.between(FIRST, None).hours == 2.5
    assert book.until(FIRST).hours == 1.0


def test_lines_of_one_moment_keep_their_order_and_all_count() -> None:
    assert Ledger([(FIRST, Exposure(runs=1)), (FIRST, Exposure(runs=1))]).until(FIRST).runs == 2


def test_a_second_run_without_hours_is_unknown_whatever_came_before() -> None:
    unknown = Exposure(runs=1, at_least=True)
    book = Ledger([(FIRST, unknown), (SECOND, Exposure(hours=1.0)), (THIRD, unknown)])
    assert book.until(FIRST).at_least
    assert not book.between(FIRST, SECOND).at_least
    assert book.between(SECOND, THIRD).at_least


def test_an_unknown_life_stays_unknown_in_a_sum() -> None:
    assert total([Exposure(hours=1.0, at_least=True), Exposure(hours=2.0)]) == Exposure(hours=3.0, at_least=True)


@pytest.mark.parametrize("unit", ["hours", "km", "starts", "runs"])
def test_each_unit_is_its_own_figure(unit: str) -> None:
    assert Exposure(**{unit: 4.0}).amount(unit) == 4.0
