"""Mean cumulative replacements: promises, and answers that can be reckoned by hand."""

import math
import statistics

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
    assert (curve.until, curve.replacements, curve.beyond_gap) == (10.0, 2, 1)
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
