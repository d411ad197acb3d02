"""Mean cumulative replacements: promises, and answers that can be reckoned by hand."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine_pages.wear.renewals import EngineHistory, mean_cumulative


@st.composite
def histories(draw: st.DrawFn) -> EngineHistory:
    start = draw(st.sampled_from([0, 0, 5, 20]))
    length = draw(st.integers(1, 30))
    replaced = draw(st.lists(st.integers(1, length), max_size=5))
    return EngineHistory(tuple(float(start + x) for x in replaced), float(start + length), float(start))


@settings(deadline=None, derandomize=True)
@given(st.lists(histories(), min_size=1, max_size=6), st.sampled_from([1e-3, 60.0]))
def test_the_curve_grows_and_neither_order_nor_unit_matters(engines: list[EngineHistory], unit: float) -> None:
    curve = mean_cumulative(engines)
    assert mean_cumulative(engines[::-1]).replacements == curve.replacements
    scaled = [
        EngineHistory(tuple(x * unit for x in one.replaced_at), one.watched_to * unit, one.watched_from * unit)
        for one in engines[::-1]
    ]
    again = mean_cumulative(scaled)
    means = [one.mean for one in curve.growths]
    assert means == sorted(means)
    assert [one.mean for one in again.growths] == pytest.approx(means)
    for one, other in zip(curve.growths, again.growths, strict=True):
        assert one.watched >= 1
        assert (one.low is None) == (one.high is None) == (other.low is None)
        if one.low is not None and one.high is not None:
            assert 0.0 <= one.low <= one.mean <= one.high < math.inf
            assert other.high == pytest.approx(one.high)


def test_engines_watched_equally_long_have_the_interval_of_a_plain_mean() -> None:
    # Then Nelson's variance is that of counts of independent engines, divided by their number.
    counts = [(10.0, 20.0, 40.0), (15.0,), (), (5.0, 35.0), (30.0, 30.0)]
    last = mean_cumulative([EngineHistory(one, 50.0) for one in counts], confidence=0.95).growths[-1]
    numbers = [len(one) for one in counts]
    assert last.mean == statistics.mean(numbers)
    assert last.high is not None
    half = 1.959964 * math.sqrt(statistics.variance(numbers) / len(numbers))
    assert last.high - last.mean == pytest.approx(half, rel=1e-6)


def test_two_replacements_at_one_exposure_count_twice() -> None:
    assert mean_cumulative([EngineHistory((10.0, 10.0), 20.0), EngineHistory((), 20.0)]).at(10.0) == 1.0


def test_an_engine_counts_only_while_it_is_watched() -> None:
    curve = mean_cumulative([EngineHistory((30.0,), 40.0, watched_from=20.0), EngineHistory((10.0, 30.0), 40.0)])
    assert [(one.exposure, one.mean, one.watched) for one in curve.growths] == [(10.0, 1.0, 1), (30.0, 2.0, 2)]


def test_one_engine_has_a_curve_and_no_interval() -> None:
    curve = mean_cumulative([EngineHistory((10.0, 25.0), 40.0)])
    assert [(one.mean, one.low, one.high) for one in curve.growths] == [(1.0, None, None), (2.0, None, None)]
    assert curve.interval_at(30.0) is None


def test_engines_that_do_not_differ_have_no_interval() -> None:
    assert mean_cumulative([EngineHistory((10.0,), 40.0)] * 3).growths[0].high is None


def test_engines_without_a_replacement_have_a_mean_of_zero() -> None:
    curve = mean_cumulative([EngineHistory((), 40.0), EngineHistory((), 20.0)])
    assert (curve.at(30.0), curve.at(41.0), curve.growths) == (0.0, None, ())


def test_past_a_gap_without_any_engine_nothing_is_counted() -> None:
    curve = mean_cumulative([EngineHistory((5.0,), 10.0), EngineHistory((35.0,), 40.0, watched_from=30.0)])
    assert (curve.until, curve.replacements, curve.beyond) == (10.0, 2, 1)
    assert curve.at(35.0) is None


def test_hours_added_up_in_tenths_are_one_exposure() -> None:
    curve = mean_cumulative([EngineHistory((0.1 + 0.2,), 1.0), EngineHistory((0.3,), 1.0)])
    assert [one.mean for one in curve.growths] == [1.0]


def test_no_engine_is_refused() -> None:
    with pytest.raises(ValueError, match="needs an engine"):
        mean_cumulative([])


@pytest.mark.parametrize(
    ("replaced", "to", "start"),
    [((5.0,), 4.0, 0.0), ((5.0,), 9.0, 5.0), ((), 5.0, 5.0), ((math.nan,), 5.0, 0.0), ((), math.inf, 0.0)],
)
def test_what_cannot_be_a_history_is_refused(replaced: tuple[float, ...], to: float, start: float) -> None:
    with pytest.raises(ValueError, match=r"history|watched|outside"):
        EngineHistory(replaced, to, start)


def test_engines_that_end_at_their_replacement_do_not_make_it_weigh_more() -> None:
    # Four engines that used one part each, and have not run since: none used more than one. Those that ended were left
    # out of the count, the later replacements weighed 1/3, 1/2 and 1, and the curve came to 2.08.
    exposures = (10.0, 11.0, 12.0, 13.0)
    stripped = mean_cumulative([EngineHistory((x,), x) for x in exposures])
    assert (stripped.until, stripped.at(10.0), stripped.at(13.0), stripped.beyond) == (10.0, 0.25, None, 3)
    run_on = mean_cumulative([EngineHistory((x,), 20.0) for x in exposures])
    assert (run_on.until, run_on.at(13.0), run_on.beyond) == (20.0, 1.0, 0)


def test_a_watch_that_ends_without_a_replacement_leaves_the_count_and_not_the_curve() -> None:
    curve = mean_cumulative([EngineHistory((10.0,), 12.0), EngineHistory((11.0, 30.0), 40.0)])
    assert (curve.until, curve.at(11.0), curve.at(30.0)) == (40.0, 1.0, 2.0)


def renewal_function(shape: float, scale: float, to: float, steps: int = 2000) -> np.ndarray:
    """Expected renewals by each of equal steps: M(t) = F(t) + the sum of M(t − u) over the lives u (the renewal
    equation, Cox, Renewal Theory, 1962), for Weibull lives."""
    times = np.linspace(0.0, to, steps + 1)
    failed = 1.0 - np.exp(-((times / scale) ** shape))
    fails = np.diff(failed)
    out = np.zeros(steps + 1)
    for at in range(1, steps + 1):
        out[at] = failed[at] + fails[:at] @ out[at - 1 :: -1][:at]
    return out


def test_parts_that_wear_out_in_engines_apart_are_counted_as_the_renewal_equation_expects() -> None:
    # Lives of Weibull shape 5, scale 20 h; six engines that each came apart at their first to third renewal and have
    # not run since. At the end of the curve the count agrees with the expectation there to a tenth of a part; dropped
    # from the count as they end, they made it three fifths of a part too many.
    draw, shape, scale, to = np.random.default_rng(7), 5.0, 20.0, 120.0
    expected = renewal_function(shape, scale, to)
    ours, truth, dropped, truth_there = [], [], [], []
    for _ in range(300):
        lives = [scale * draw.weibull(shape, draw.integers(1, 4)) for _ in range(6)]
        fleet = [np.cumsum(one).tolist() for one in lives]
        curve = mean_cumulative([EngineHistory(tuple(one), one[-1]) for one in fleet])
        ours.append(curve.growths[-1].mean)
        truth.append(float(np.interp(curve.until, np.linspace(0.0, to, len(expected)), expected)))
        dropped.append(sum(1 / sum(one[-1] >= x for one in fleet) for each in fleet for x in each))
        truth_there.append(
            float(np.interp(max(one[-1] for one in fleet), np.linspace(0.0, to, len(expected)), expected))
        )
    assert statistics.mean(ours) == pytest.approx(statistics.mean(truth), abs=0.1)
    assert statistics.mean(dropped) - statistics.mean(truth_there) > 0.6


def test_an_engine_with_more_places_weighs_more() -> None:
    one, two = EngineHistory((), 20.0), EngineHistory((10.0, 10.0), 20.0, places=2)
    assert mean_cumulative([one, two]).at(10.0) == pytest.approx(2 / 3)


def test_engines_of_as_many_places_have_the_curve_and_interval_of_one_engine_shared_by_them() -> None:
    at = [(10.0, 20.0, 40.0), (15.0,), (5.0, 35.0), (30.0, 30.0)]
    whole = mean_cumulative([EngineHistory(x, 50.0) for x in at]).growths[-1]
    shared = mean_cumulative([EngineHistory(x, 50.0, places=4) for x in at]).growths[-1]
    assert shared.high is not None
    assert whole.high is not None
    assert (shared.mean, shared.high) == pytest.approx((whole.mean / 4, whole.high / 4))


def test_the_interval_over_engines_of_different_places_is_that_of_a_ratio_against_cochran() -> None:
    # Cochran, Sampling Techniques (1977), section 6.3: variance of a ratio of totals, without the share of a finite
    # population: n/(n − 1) · Σ (count − ratio · places)² / (Σ places)².
    counts, places = [3, 1, 0, 4, 2], [2, 1, 1, 2, 1]
    histories = [EngineHistory((5.0,) * n, 20.0, places=k) for n, k in zip(counts, places, strict=True)]
    last = mean_cumulative(histories, confidence=0.95).growths[-1]
    ratio = sum(counts) / sum(places)
    squares = sum((n - ratio * k) ** 2 for n, k in zip(counts, places, strict=True))
    half = 1.959964 * math.sqrt(5 / 4 * squares) / sum(places)
    assert last.high is not None
    assert (last.mean, last.high - last.mean) == pytest.approx((ratio, half), rel=1e-6)


def test_a_history_of_no_place_is_refused() -> None:
    with pytest.raises(ValueError, match="one place or more"):
        EngineHistory((), 10.0, places=0)
