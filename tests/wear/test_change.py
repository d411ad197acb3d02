"""Did a change help: what counts, what is said, and when nothing is."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from msgspec.structs import replace

from engine_pages.wear.change import ChangeAnswer, FittedChange, SideCount, weigh_change
from engine_pages.wear.fieller import Ratio, fieller
from engine_pages.wear.intervals import Increment, SheetReading, rates_of
from engine_pages.wear.measured import Measured, scaled

U = 0.0005
BEFORE = (0.0110, 0.0095, 0.0102)
AFTER = (0.0055, 0.0062, 0.0049)


def run(
    part: str,
    rates: Sequence[float],
    before: int = 3,
    hours: float = 10.0,
    u: float = U,
    start: float = 60.0,
    zero: float = 0.0,
) -> list[Increment]:
    """One part through an engine's intervals, wearing `rates` per hour; the first `before` are before the change."""
    values = [start, *(start + hours * sum(rates[: k + 1]) for k in range(len(rates)))]
    readings = [
        SheetReading(f"T-{k}", Measured(value, u * u, {("zero", k): zero} if zero else {}))
        for k, value in enumerate(values)
    ]
    return [
        Increment(part, "before" if k < before else "after", {f"2020+{k}": hours}, readings[k], readings[k + 1])
        for k in range(len(rates))
    ]


HALVED = run("RB-1", BEFORE + AFTER)


def fitted(answer: ChangeAnswer) -> FittedChange:
    assert answer.fit is not None
    return answer.fit


def numbers(fit: FittedChange) -> list[float]:
    each = [number for one in (fit.before, fit.after, fit.difference) for number in (one.value, one.low, one.high)]
    ratio = [end for end in (fit.ratio.value, fit.ratio.low, fit.ratio.high) if end is not None]
    return [*each, *ratio, fit.season, fit.own]


def test_a_rate_that_was_halved_is_lower() -> None:
    answer = weigh_change(HALVED)
    fit = fitted(answer)
    assert (answer.verdict, answer.why) == ("lower", None)
    assert fit.before.value == pytest.approx(sum(BEFORE) / 3, rel=1e-2)
    assert fit.after.value == pytest.approx(sum(AFTER) / 3, rel=1e-2)
    assert fit.ratio.value == pytest.approx(fit.after.value / fit.before.value)
    assert fit.ratio.low is not None
    assert fit.ratio.high is not None
    assert fit.ratio.low < 0.54 < fit.ratio.high < 1.0
    assert (answer.before, answer.after, answer.parts) == (SideCount(3, 3), SideCount(3, 3), 1)
    assert answer.used == tuple(HALVED)
    assert answer.left_out == ()


def test_the_same_turned_round_is_higher_with_the_ratio_upside_down() -> None:
    fit = fitted(weigh_change(HALVED))
    answer = weigh_change([replace(each, side="after" if each.side == "before" else "before") for each in HALVED])
    turned = fitted(answer)
    assert answer.verdict == "higher"
    assert turned.ratio.value == pytest.approx(1.0 / (fit.ratio.value or 0.0))
    assert turned.ratio.low == pytest.approx(1.0 / (fit.ratio.high or 0.0))
    assert turned.difference.value == pytest.approx(-fit.difference.value)


def test_seasons_that_scatter_as_much_as_the_change_cannot_be_told() -> None:
    answer = weigh_change(run("RB-1", (0.012, 0.005, 0.010, 0.004, 0.009, 0.008)))
    assert (answer.verdict, answer.why) == ("cannot tell", "no change is not ruled out")
    ratio = fitted(answer).ratio
    assert ratio.low is not None
    assert ratio.low < 1.0
    assert ratio.high is None or ratio.high > 1.0


def test_two_intervals_on_a_side_are_too_few_and_the_numbers_still_stand() -> None:
    answer = weigh_change(HALVED[1:])
    assert (answer.verdict, answer.why) == ("cannot tell", "fewer than three intervals a side")
    assert answer.before == SideCount(2, 2)
    assert fitted(answer).dof == 3


def test_six_parts_of_one_engine_do_not_make_two_intervals_three() -> None:
    wear = [each for k in range(6) for each in run(f"RB-{k}", (*BEFORE[1:], *AFTER), before=2)]
    answer = weigh_change(wear)
    assert answer.before == SideCount(intervals=2, increments=12)
    assert answer.verdict == "cannot tell"


def test_one_interval_a_side_gives_no_numbers() -> None:
    answer = weigh_change(run("RB-1", (0.01, 0.005), before=1))
    assert answer.fit is None
    assert answer.why == "fewer than three intervals a side"


def test_nothing_at_all_is_an_answer() -> None:
    answer = weigh_change([])
    assert (answer.verdict, answer.why, answer.fit) == ("cannot tell", "no part counts on both sides", None)
    assert (answer.before, answer.after, answer.parts) == (SideCount(0, 0), SideCount(0, 0), 0)


def test_a_change_made_because_the_last_rate_looked_bad_is_not_judged() -> None:
    open_minded, selected = weigh_change(HALVED), weigh_change(HALVED, selected=True)
    assert selected.verdict == "cannot tell"
    assert selected.why == "the change was made because the last rate looked bad"
    assert selected.fit == open_minded.fit


def test_run_in_and_mixed_recipes_are_out_and_listed() -> None:
    wear = run("RB-1", (0.08, *BEFORE, 0.02, *AFTER), before=5)
    wear[0] = replace(wear[0], run_in=True)
    wear[4] = replace(wear[4], mixed_recipe=True)
    answer = weigh_change(wear)
    assert [(out.increment, out.why) for out in answer.left_out] == [
        (wear[0], "run-in"),
        (wear[4], "more than one recipe"),
    ]
    assert answer.verdict == "lower"
    assert (answer.before.intervals, answer.after.intervals) == (3, 3)


def test_a_part_on_one_side_only_has_no_control_and_is_out() -> None:
    other = run("RB-2", (0.05, 0.05, 0.05))
    answer = weigh_change(HALVED + other)
    assert {out.why for out in answer.left_out} == {"its part counts on one side only"}
    assert answer.fit == weigh_change(HALVED).fit
    assert weigh_change(other).why == "no part counts on both sides"


def test_parts_that_all_change_by_one_ratio_show_it_however_unlike_they_are() -> None:
    # The second part wears three times as fast, and has missed most of the intervals before.
    slow = run("RB-1", (0.01,) * 4 + (0.006,) * 4, before=4)
    fast = run("RB-2", (0.03,) * 4 + (0.018,) * 4, before=4, u=0.01)
    answer = weigh_change(slow + fast[3:])
    assert fitted(answer).ratio.value == pytest.approx(0.6, rel=1e-9)


def test_a_part_that_was_not_measured_at_a_sheet_spans_its_two_intervals() -> None:
    first = run("RB-1", BEFORE + AFTER)
    whole = run("RB-2", BEFORE + AFTER)
    spans = Increment("RB-2", "before", {**whole[0].runs, **whole[1].runs}, whole[0].first, whole[1].last)
    answer = weigh_change([*first, spans, *whole[2:]])
    assert answer.before == SideCount(intervals=3, increments=5)
    assert answer.verdict == "lower"
    # Alone it cannot tell those two apart.
    assert weigh_change([spans, *whole[2:]]).before == SideCount(intervals=2, increments=2)


def test_kinds_stand_together_as_multiples_of_their_usual_rates() -> None:
    seal = [
        replace(each, usual_rate=-2.0)
        for each in run("AS-1", [-2.0 * rate for rate in BEFORE + AFTER], u=2.0 * U, start=8.0)
    ]
    alone, together = fitted(weigh_change(HALVED)), fitted(weigh_change(HALVED + seal))
    assert together.ratio.value == pytest.approx(alone.ratio.value, rel=1e-2)
    assert together.before.value == pytest.approx(alone.before.value, rel=1e-2)
    assert together.dof == alone.dof


def test_wear_that_runs_backwards_is_not_called_an_improvement() -> None:
    answer = weigh_change(run("RB-1", [-rate for rate in BEFORE + AFTER]))
    assert (answer.verdict, answer.why) == ("cannot tell", "a rate runs against wear")
    assert fitted(answer).ratio.value is None


def test_no_unit_changes_the_verdict() -> None:
    fit = fitted(weigh_change(HALVED))
    for per_length, per_hour in ((1000.0, 1.0), (1.0, 3600.0), (1e-9, 1e9), (1e9, 1e-9)):
        wear = [
            replace(
                each,
                runs={interval: hours * per_hour for interval, hours in each.runs.items()},
                first=replace(each.first, value=scaled(each.first.value, per_length)),
                last=replace(each.last, value=scaled(each.last.value, per_length)),
            )
            for each in HALVED
        ]
        other = fitted(weigh_change(wear))
        assert other.ratio.value == pytest.approx(fit.ratio.value, rel=1e-8)
        assert other.ratio.low == pytest.approx(fit.ratio.low, rel=1e-6)
        assert other.ratio.high == pytest.approx(fit.ratio.high, rel=1e-6)
        assert other.season == pytest.approx(fit.season * per_length / per_hour, rel=1e-6)


def test_the_order_of_increments_does_not_matter() -> None:
    wear = HALVED + run("RB-2", (0.0114, 0.0089, 0.0107, 0.0051, 0.0068, 0.0044), zero=0.0003)
    answer = weigh_change(wear)
    for turned in (wear[::-1], wear[5:] + wear[:5], wear[::2] + wear[1::2]):
        other = weigh_change(turned)
        assert other.verdict == answer.verdict
        assert numbers(fitted(other)) == pytest.approx(numbers(fitted(answer)), rel=1e-7)


def test_better_gauges_give_narrower_intervals() -> None:
    fits = [fitted(weigh_change(run("RB-1", BEFORE + AFTER, u=u))) for u in (0.0005, 0.005, 0.05)]
    widths = [fit.difference.high - fit.difference.low for fit in fits]
    assert widths[0] < widths[1] < widths[2]
    assert weigh_change(run("RB-1", BEFORE + AFTER, u=0.05)).verdict == "cannot tell"


def test_a_zero_shared_by_a_sheet_does_not_shrink_with_the_number_of_parts() -> None:
    def width(parts: int, u: float, zero: float) -> float:
        wear = [each for k in range(parts) for each in run(f"RB-{k}", (0.01,) * 3 + (0.005,) * 3, u=u, zero=zero)]
        fit = fitted(weigh_change(wear))
        return fit.difference.high - fit.difference.low

    assert width(8, 1e-6, 0.01) == pytest.approx(width(1, 1e-6, 0.01), rel=1e-3)
    assert width(8, 0.01, 0.0) < 0.5 * width(1, 0.01, 0.0)


@pytest.mark.parametrize("u", [0.0, 1e-9, U, 10.0])
@pytest.mark.parametrize(
    "rates",
    [(0.0,) * 6, (0.01,) * 6, (0.0,) * 3 + (0.01,) * 3, (0.01,) * 3 + (0.0,) * 3, BEFORE + AFTER],
)
def test_every_number_is_one(rates: tuple[float, ...], u: float) -> None:
    for wear in (run("RB-1", rates, u=u), run("RB-1", rates, u=u) + run("RB-2", rates, u=u)):
        answer = weigh_change(wear)
        assert all(math.isfinite(number) for number in numbers(fitted(answer)))
        if rates[0] == rates[-1]:
            assert answer.verdict == "cannot tell"


def test_a_part_that_was_hardly_measured_at_all_changes_nothing() -> None:
    alone = fitted(weigh_change(HALVED))
    beside = weigh_change(HALVED + run("RB-2", AFTER + BEFORE, u=1e4))
    assert beside.verdict == "lower"
    assert numbers(fitted(beside)) == pytest.approx(numbers(alone), rel=1e-3)


def test_wear_that_begins_with_a_change_is_higher_though_its_ratio_has_no_upper_bound() -> None:
    answer = weigh_change(run("RB-1", (0.0001, -0.0002, 0.0001, 0.02, 0.021, 0.019)))
    assert answer.verdict == "higher"
    ratio = fitted(answer).ratio
    assert ratio.high is None
    assert ratio.low is not None
    assert ratio.low > 1.0


def test_the_verdict_is_that_of_the_ratio() -> None:
    rng = np.random.default_rng(4)
    for _ in range(100):
        answer = weigh_change(run("RB-1", [*rng.uniform(0.005, 0.015, 3), *rng.uniform(0.002, 0.012, 3)]))
        ratio = fitted(answer).ratio
        holds_one = (ratio.low is None or ratio.low <= 1.0) and (ratio.high is None or ratio.high >= 1.0)
        assert holds_one == (answer.verdict == "cannot tell")


def test_meeting_increments_share_a_reading_and_the_covariance_says_so() -> None:
    known = rates_of(run("RB-1", (0.01, 0.01, 0.01), hours=1.0, u=1.0, zero=1.0)).known
    assert known.tolist() == [[4.0, -2.0, 0.0], [-2.0, 4.0, -2.0], [0.0, -2.0, 4.0]]


def test_the_interval_of_a_ratio_holds_what_the_numbers_allow_and_nothing_else() -> None:
    rng = np.random.default_rng(5)
    ratios = np.linspace(0.0, 50.0, 5001)
    kinds = set()
    for _ in range(300):
        above, below = rng.uniform(-1.0, 3.0, 2)
        half = rng.normal(size=(2, 2)) * rng.choice([0.1, 0.5, 1.0])
        ((of_above, common), (_, of_below)) = half @ half.T
        ratio = fieller(above, below, ((of_above, common), (common, of_below)), 1.645)
        allowed = (above - ratios * below) ** 2 <= 1.645**2 * (of_above - 2 * ratios * common + ratios**2 * of_below)
        inside = np.ones(len(ratios), dtype=bool)
        if ratio.low is not None:
            inside &= ratios >= ratio.low
        if ratio.high is not None:
            inside &= ratios <= ratio.high
        assert not (allowed & ~inside).any()
        kinds.add((ratio.low is None, ratio.high is None))
        if ratio.low is not None or ratio.high is not None:
            assert (allowed == inside).all()
    assert kinds == {(False, False), (False, True), (True, True)}


def test_a_ratio_at_the_edge_of_what_is_known_has_one_end() -> None:
    assert fieller(3.0, 2.0, ((0.0, 0.0), (0.0, 1.0)), 2.0) == Ratio(1.5, 0.75, None)
    assert fieller(-3.0, 2.0, ((0.0, 0.0), (0.0, 1.0)), 2.0) == Ratio(-1.5, None, -0.75)
    assert fieller(0.0, 0.0, ((0.0, 0.0), (0.0, 0.0)), 2.0) == Ratio(None, None, None)
    assert fieller(0.0, 2.0, ((0.0, 0.0), (0.0, 0.0)), 2.0) == Ratio(0.0, 0.0, 0.0)
    assert fieller(3.0, 2.0, ((0.0, 0.0), (0.0, 0.0)), 2.0) == Ratio(1.5, 1.5, 1.5)


def test_what_cannot_be_is_refused() -> None:
    one, two = HALVED[0], HALVED[1]
    bad_number = replace(one.first, value=Measured(math.nan))
    for wear, said in (
        ([one, replace(one, part="RB-2", side="after")], "not both"),
        ([one, one], "twice"),
        ([one, replace(two, first=SheetReading("T-1", Measured(1.0)))], "two values"),
        ([replace(one, runs={})], "above zero"),
        ([replace(one, runs={"2020": 0.0})], "above zero"),
        ([replace(one, runs={"2020": math.inf})], "above zero"),
        ([replace(one, usual_rate=0.0)], "usual rate"),
        ([replace(one, first=bad_number)], "finite"),
        ([replace(one, first=SheetReading("T-0", Measured(60.0, -1.0)))], "not negative"),
    ):
        with pytest.raises(ValueError, match=said):
            weigh_change(wear)
    for confidence in (0.0, 1.0, math.nan):
        with pytest.raises(ValueError, match="confidence"):
            weigh_change(HALVED, confidence)
    with pytest.raises(ValueError, match="finite"):
        fieller(math.nan, 1.0, ((1.0, 0.0), (0.0, 1.0)), 2.0)
    with pytest.raises(ValueError, match="not negative"):
        fieller(1.0, 1.0, ((-1.0, 0.0), (0.0, 1.0)), 2.0)
