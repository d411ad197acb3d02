"""A part among its like and against itself: ranks, jumps, and the weight of selection."""

import math

import pytest

from engine_pages.wear.among_like import MANY_TIMES, Rank, moved_against_wear, rank_of, selection_of, times_the_spread
from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import PoolFit, Spreads, fit_pool, fit_with_spreads
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame

FRAME = Frame(new_width=0.022, limit_distance=0.054, service_life=120.0)


def part(name: str, *readings: tuple[float, float]) -> PoolPart:
    return PoolPart(name, tuple((x, Measured(y, 2e-6)) for x, y in readings), 60.051)


def fitted(*parts: PoolPart) -> PoolFit:
    fit = fit_pool(parts, FRAME)
    assert fit is not None
    return fit


def test_the_highest_of_four_is_first_of_four() -> None:
    assert rank_of(0.9, [0.3, 0.5, 0.4]) == Rank(1, 4, 1)
    assert rank_of(0.3, [0.9, 0.5, 0.4]) == Rank(4, 4, 1)
    assert rank_of(0.3, [0.9, 0.5, 0.4]).from_below == 1


def test_equal_figures_share_a_place() -> None:
    assert rank_of(0.1 + 0.2, [0.3, 0.5, 0.1]) == Rank(2, 4, 2)
    assert rank_of(0.5, [0.5, 0.5]) == Rank(1, 3, 3)
    assert rank_of(0.5, []) == Rank(1, 1, 1)


def test_no_percentile_is_given_of_fewer_than_twenty() -> None:
    assert rank_of(1.0, [0.0] * 18).percentile is None
    assert rank_of(1.0, [0.0] * 19).percentile == 100.0
    assert rank_of(0.0, [float(i) for i in range(20)]).percentile == pytest.approx(2.5)


def test_a_reading_that_moved_against_wear_counts_beyond_its_uncertainty_only() -> None:
    assert moved_against_wear(-0.0040, 0.002, "up")
    assert not moved_against_wear(-0.0030, 0.002, "up")
    assert moved_against_wear(0.0040, 0.002, "down")
    assert not moved_against_wear(-0.0040, 0.002, "down")
    assert not moved_against_wear(-1.0, 0.002, "either")
    assert not moved_against_wear(-1.0, 0.002, "none")


def test_a_jump_is_told_from_the_kinds_wear() -> None:
    kind = fitted(*(part(f"RB-{i}", (0.0, 60.05), (10.0, 60.055 + i / 1e4), (20.0, 60.06)) for i in range(4))).summary
    assert abs(times_the_spread(0.005, 0.002, 10.0, kind)) < 1.0
    assert times_the_spread(0.100, 0.002, 10.0, kind) > MANY_TIMES
    assert times_the_spread(-0.100, 0.002, 10.0, kind) < -MANY_TIMES


def test_a_change_where_nothing_is_uncertain_is_none_or_endless() -> None:
    exact = fit_with_spreads([part("RB-1", (0.0, 0.0), (1.0, 0.0))], Spreads(0.0, 0.0, 0.0))
    assert exact is not None
    assert times_the_spread(0.0, 0.0, 0.0, exact.summary) == 0.0
    assert times_the_spread(-1.0, 0.0, 0.0, exact.summary) == -math.inf


def test_sheets_written_because_something_looked_bad_change_the_answer_or_not() -> None:
    quiet = part("RB-1", (0.0, 60.050), (10.0, 60.054), (20.0, 60.059))
    worse = part("RB-1", (0.0, 60.050), (10.0, 60.054), (20.0, 60.059), (21.0, 60.095))
    others = [part(f"RB-{i}", (0.0, 60.05), (10.0, 60.055), (20.0, 60.06)) for i in range(2, 5)]
    every, without = fitted(worse, *others).lines["RB-1"], fitted(quiet, *others).lines["RB-1"]
    limit = Limit(max=60.105)
    assert selection_of(every, without, limit, 40.0, keep=0.9).changes
    assert not selection_of(without, without, limit, 40.0, keep=0.9).changes
    nothing_left = selection_of(every, None, limit, 40.0, keep=0.9)
    assert nothing_left.changes
    assert nothing_left.chance_without is None
    no_limit = selection_of(without, without, None, 40.0, keep=0.9)
    assert (no_limit.chance, no_limit.to_limit, no_limit.changes) == (None, None, False)
