"""A pool of like parts: what each part takes from the others, and that whatever was measured it speaks in numbers."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured, from_bracket
from engine_pages.wear.pool.fit import PoolFit, Spreads, fit_pool, fit_with_spreads
from engine_pages.wear.pool.line import PartLine, WearLine
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame
from engine_pages.wear.trend import Crossing, fit_line

NEW = (60.040, 60.062)
FRAME = Frame(new_width=0.022, limit_distance=0.054, service_life=120.0)
LIMIT = Limit(max=60.105)


def part(name: str, readings: list[tuple[float, float]], u: float = 0.0015, zero: float = 0.0) -> PoolPart:
    """A bearing, each reading on a sheet of its own exposure."""
    values = [(x, Measured(y, u * u, {("zero", x): zero} if zero else {})) for x, y in readings]
    return PoolPart(name, tuple(values), 60.051)


SHOP = [
    part("RB-1", [(0.0, 60.049), (9.5, 60.054), (22.1, 60.060)]),
    part("RB-2", [(9.5, 60.057), (22.1, 60.063)]),
    part("RB-3", [(0.0, 60.052), (15.0, 60.058)]),
    part("RB-4", [(12.0, 60.055)]),
]


def fitted(parts: list[PoolPart], frame: Frame = FRAME) -> PoolFit:
    fit = fit_pool(parts, frame)
    assert fit is not None
    return fit


def test_a_pools_line_and_a_parts_own_answer_to_the_same_names() -> None:
    own, pooled = fit_line([0.0, 9.5], [Measured(60.05, 1e-6), Measured(60.06, 1e-6)]), fitted(SHOP).lines["RB-1"]
    assert own is not None
    lines: list[WearLine] = [own, pooled]
    for line in lines:
        assert line.interval(20.0, 0.9).low < line.at(20.0)[0] < line.interval(20.0, 0.9).high
        assert line.rate(0.9).holds(line.slope)
        assert 0.0 <= line.chance_inside(LIMIT, 40.0) <= 1.0
        assert line.to_limit(LIMIT, 0.9) is not None
        assert line.exposure_at(Measured(60.1, 1e-6), 0.9) is not None


def test_nothing_measured_is_no_pool() -> None:
    assert fit_pool([PoolPart("RB-1", (), 60.051)], FRAME) is None
    assert fit_pool([], FRAME) is None


def test_a_part_with_one_reading_leans_on_its_like() -> None:
    alone, among = fitted([SHOP[3]]).lines["RB-4"], fitted(SHOP).lines["RB-4"]
    rate_alone, rate_among = alone.rate(0.9), among.rate(0.9)
    assert rate_among.high - rate_among.low < 0.75 * (rate_alone.high - rate_alone.low)


def test_a_part_without_a_reading_has_its_kinds_line_from_its_new_range() -> None:
    lines = fitted([*SHOP, PoolPart("RB-9", (), 60.051)]).lines
    unread, read = lines["RB-9"], lines["RB-1"]
    assert (unread.n, unread.parts) == (0, 4)
    assert NEW[0] < unread.interval(0.0, 0.9).low < unread.interval(0.0, 0.9).high < NEW[1]
    assert unread.rate(0.9).high - unread.rate(0.9).low > read.rate(0.9).high - read.rate(0.9).low


def test_a_part_of_another_size_is_worn_from_its_own_target() -> None:
    undersize = replace(
        SHOP[1], target=59.801, readings=tuple((x, replace(y, value=y.value - 0.25)) for x, y in SHOP[1].readings)
    )
    one, other = fitted(SHOP).lines["RB-2"], fitted([SHOP[0], undersize, *SHOP[2:]]).lines["RB-2"]
    assert other.slope == pytest.approx(one.slope, rel=1e-6)
    assert other.at(30.0)[0] == pytest.approx(one.at(30.0)[0] - 0.25, abs=1e-9)


def test_a_part_with_a_life_before_informs_rates_and_not_starts() -> None:
    used = replace(part("RB-5", [(0.0, 60.090), (12.0, 60.0958)]), own_intercept=True)
    kind_with = fitted([*SHOP, used, PoolPart("RB-9", (), 60.051)]).lines["RB-9"]
    kind_without = fitted([*SHOP, PoolPart("RB-9", (), 60.051)]).lines["RB-9"]
    assert kind_with.at(0.0)[0] == pytest.approx(kind_without.at(0.0)[0], abs=0.0005)
    assert kind_with.rate(0.9).high - kind_with.rate(0.9).low < kind_without.rate(0.9).high - kind_without.rate(0.9).low
    moved = replace(used, readings=tuple((x, replace(y, value=y.value + 1.0)) for x, y in used.readings))
    assert fitted([*SHOP, moved]).lines["RB-5"].slope == pytest.approx(
        fitted([*SHOP, used]).lines["RB-5"].slope, rel=1e-6
    )


def test_a_start_that_nobody_knows_has_no_line_without_a_reading() -> None:
    unknown = PoolPart("RB-9", (), 60.051, own_intercept=True)
    assert "RB-9" not in fitted([*SHOP, unknown]).lines


def test_where_only_lives_unknown_before_were_read_a_new_part_starts_in_its_new_range_or_nowhere() -> None:
    used = [replace(each, own_intercept=True) for each in SHOP[:3]]
    new = PoolPart("RB-9", (), 60.051)
    start = fitted([*used, new]).lines["RB-9"].interval(0.0, 0.5)
    assert NEW[0] < start.low < start.high < NEW[1]
    assert "RB-9" not in fitted([*used, new], Frame()).lines


def test_readings_at_one_exposure_show_no_rate() -> None:
    parts = [part("RB-1", [(0.0, 60.05)]), part("RB-2", [(0.0, 60.052)]), PoolPart("RB-9", (), 60.051)]
    assert fitted(parts).lines == {}
    at_ten = [part("RB-1", [(10.0, 60.05)]), part("RB-2", [(10.0, 60.052)])]
    assert fitted(at_ten, Frame()).lines == {}
    assert fitted(at_ten).lines.keys() == {"RB-1", "RB-2"}  # a new range says how far they have come


def test_a_part_alone_has_its_own_line_where_its_scatter_is_known() -> None:
    x, y = [0.0, 9.5, 22.1, 31.0], [60.051, 60.055, 60.061, 60.064]
    readings = [Measured(value, 0.0015**2, {("zero", i // 2): 0.001}) for i, value in enumerate(y)]
    own = fit_line(x, readings, scatter=0.002)
    fit = fit_with_spreads(
        [PoolPart("RB-1", tuple(zip(x, readings, strict=True)), 60.051)], Spreads(0.004, 0.0003, 0.002)
    )
    assert own is not None
    assert fit is not None
    line = fit.lines["RB-1"]
    assert line.means[0] == pytest.approx([own.intercept, own.slope], rel=1e-7)
    assert line.covariances[0] == pytest.approx(np.array(own.covariance), rel=1e-5)
    assert line.rate(0.9).low == pytest.approx(own.rate(0.9).low, rel=1e-5)


def test_a_part_alone_has_its_own_line_where_it_was_read_often() -> None:
    draw = np.random.default_rng(4)
    x = np.linspace(0.0, 60.0, 60)
    y = 60.05 + 0.0006 * x + draw.normal(0.0, 0.0025, 60)
    readings = [Measured(float(value), 0.0015**2) for value in y]
    own = fit_line(x.tolist(), readings)
    assert own is not None
    line = fitted([PoolPart("RB-1", tuple(zip(x.tolist(), readings, strict=True)), 60.051)], Frame()).lines["RB-1"]
    reach = own.rate(0.9).high - own.slope
    assert line.slope == pytest.approx(own.slope, abs=0.01 * reach)
    assert line.rate(0.9).high - line.slope == pytest.approx(reach, rel=0.1)
    assert line.extra_scatter == pytest.approx(own.extra_scatter, rel=0.15)


def test_a_part_read_once_is_worn_from_its_new_range_as_a_bracket() -> None:
    # Alone, with spreads that leave the start where the new range has it.
    reading = Measured(60.061, 0.0015**2)
    own = fit_line([0.0, 22.1], [from_bracket(*NEW), reading])
    fit = fit_with_spreads(
        [PoolPart("RB-1", ((22.1, reading),), 60.051)],
        Spreads(0.0, 0.0, 0.0),
        Frame(new_width=2 * 0.022 / math.sqrt(12)),
    )
    assert own is not None
    assert fit is not None
    assert fit.lines["RB-1"].slope == pytest.approx(own.slope, rel=1e-6)
    assert fit.lines["RB-1"].rate(0.9).high == pytest.approx(own.rate(0.9).high, rel=1e-3)


def test_a_zero_shared_on_one_sheet_moves_all_its_parts_together() -> None:
    apart, shared = [], []
    for i, value in enumerate((60.052, 60.050, 60.051, 60.053)):
        for parts, names in ((apart, (f"old {i}", f"new {i}")), (shared, ("old", "new"))):
            old, new = (Measured(v, 1e-8, {name: 0.003}) for v, name in zip((value, value + 0.01), names, strict=True))
            parts.append(PoolPart(f"RB-{i}", ((0.0, old), (20.0, new)), 60.051))
    of_apart, of_shared = (fitted(parts).lines["RB-0"].rate(0.9) for parts in (apart, shared))
    # Four parts do not average away one gauge's zero.
    assert of_shared.high - of_shared.low > 1.3 * (of_apart.high - of_apart.low)


@pytest.mark.parametrize("length", [1 / 25.4, 1e-3, 1e3])
@pytest.mark.parametrize("time", [1 / 60, 3600.0])
@pytest.mark.parametrize("frame", [FRAME, Frame(), Frame(limit_distance=0.054)])
def test_a_pool_does_not_depend_on_its_units(length: float, time: float, frame: Frame) -> None:
    def other(each: PoolPart) -> PoolPart:
        readings = [
            (
                x * time,
                Measured(y.value * length, y.independent * length**2, {k: v * length for k, v in y.shared.items()}),
            )
            for x, y in each.readings
        ]
        return PoolPart(each.id, tuple(readings), each.target * length, each.own_intercept)

    parts = [
        *SHOP[:3],
        part("RB-4", [(0.0, 60.05), (9.5, 60.056)], zero=0.002),
        part("RB-5", [(9.5, 60.054)], zero=0.002),
    ]
    known = [
        None if a is None else a * b
        for a, b in ((frame.new_width, length), (frame.limit_distance, length), (frame.service_life, time))
    ]
    plain, scaled = fitted(parts, frame), fitted([other(each) for each in parts], Frame(*known))
    for name, line in plain.lines.items():
        found, expected = scaled.lines[name].rate(0.9), line.rate(0.9)
        assert (found.low, found.value, found.high) == pytest.approx(
            tuple(each * length / time for each in (expected.low, expected.value, expected.high)),
            rel=1e-5,
            abs=1e-9 * length / time,
        )
        one, two = line.to_limit(LIMIT, 0.9), scaled.lines[name].to_limit(Limit(max=60.105 * length), 0.9)
        assert one is not None
        assert two is not None
        assert (two.low, two.median, two.high) == tuple(
            None if each is None else pytest.approx(each * time, rel=1e-5) for each in (one.low, one.median, one.high)
        )


def test_the_same_readings_give_the_same_bytes() -> None:
    assert fitted(SHOP).summary.digest == fitted(SHOP).summary.digest


def test_ids_twice_and_numbers_that_are_none_are_refused() -> None:
    with pytest.raises(ValueError, match="an id of its own"):
        fit_pool([SHOP[0], SHOP[0]], FRAME)
    with pytest.raises(ValueError, match="finite"):
        fit_pool([part("RB-1", [(math.nan, 60.0)])], FRAME)
    with pytest.raises(ValueError, match="finite"):
        fit_pool([part("RB-1", [(0.0, math.inf)])], FRAME)


def speaks_in_numbers(line: PartLine, limit: Limit, at: float) -> None:
    """Every figure of a line is a number in its place."""
    for interval in (line.rate(0.9), line.interval(at, 0.9), line.interval(0.0, 0.5)):
        assert math.isfinite(interval.low)
        assert math.isfinite(interval.high)
        slack = 1e-9 * max(abs(interval.low), abs(interval.high))
        assert interval.low - slack <= interval.value <= interval.high + slack
    assert all(math.isfinite(number) for number in (*line.at(at), line.extra_scatter))
    for each in (limit, Limit(max=limit.max), Limit(min=limit.min)):
        assert 0.0 <= line.chance_inside(each, at) <= 1.0
        crossing = line.to_limit(each, 0.9)
        if crossing is not None:
            bounds = [x for x in (crossing.low, crossing.median, crossing.high) if x is not None]
            assert all(math.isfinite(x) and x >= 0.0 for x in bounds)
            assert bounds == sorted(bounds)


WRITTEN = st.floats(0.0, 1.0).map(lambda y: 60.0 + round(y, 3))
AMOUNT = st.sampled_from([None, 0.0, 1e-4, 0.02, 3.0])


@settings(deadline=None, derandomize=True, max_examples=80)
@given(
    parts=st.lists(
        st.tuples(
            st.lists(st.tuples(st.sampled_from([0.0, 0.1, 7.5, 22.1, 1e5]), WRITTEN, st.integers(0, 2)), max_size=4),
            st.booleans(),
        ),
        min_size=1,
        max_size=5,
    ),
    u=st.sampled_from([0.0, 1e-9, 0.0015, 50.0]),
    zero=st.sampled_from([0.0, 0.003, 5.0]),
    target=st.sampled_from([0.0, 60.0]),
    frame=st.tuples(AMOUNT, AMOUNT, st.sampled_from([None, 0.1, 1e5])),
    unit=st.sampled_from([1.0, 1 / 25.4]),
)
def test_whatever_was_measured_a_pool_speaks_in_numbers(
    parts: list[tuple[list[tuple[float, float, int]], bool]],
    u: float,
    zero: float,
    target: float,
    frame: tuple[float | None, float | None, float | None],
    unit: float,
) -> None:
    pool = [
        PoolPart(
            f"P{i}",
            tuple((x, Measured(y * unit, u * u, {("zero", s): zero} if zero else {})) for x, y, s in readings),
            target * unit,
            unknown,
        )
        for i, (readings, unknown) in enumerate(parts)
    ]
    fit = fit_pool(pool, Frame(*frame))
    if fit is None:
        assert not any(readings for readings, _ in parts)
        return
    for line in fit.lines.values():
        speaks_in_numbers(line, Limit(min=59.9 * unit, max=60.5 * unit), 30.0)


@pytest.mark.parametrize("u", [0.0, 0.0015])
@pytest.mark.parametrize("n", [1, 2, 6])
def test_readings_that_never_change_are_no_wear(u: float, n: int) -> None:
    fit = fitted([part(f"RB-{i}", [(0.0, 60.051), (10.0, 60.051), (20.0, 60.051)], u) for i in range(n)])
    for line in fit.lines.values():
        assert line.rate(0.9).holds(0.0)
        assert line.slope == pytest.approx(0.0, abs=1e-6)
        speaks_in_numbers(line, Limit(min=60.0, max=60.105), 30.0)


def test_four_hundred_parts_speak_in_numbers() -> None:
    draw = np.random.default_rng(8)
    parts = []
    for i in range(400):
        start, rate = draw.normal(60.051, 0.004), draw.normal(0.0005, 0.0001)
        x = np.cumsum(draw.uniform(5.0, 20.0, 4)).tolist()
        shared = [{("zero", i // 8, k): 0.001} for k in range(4)]
        readings = [
            (t, Measured(float(start + rate * t + draw.normal(0.0, 0.0015)), 0.0015**2, shared[k]))
            for k, t in enumerate(x)
        ]
        parts.append(PoolPart(f"RB-{i}", tuple(readings), 60.051))
    fit = fitted(parts)
    assert len(fit.lines) == 400
    for line in list(fit.lines.values())[::40]:
        speaks_in_numbers(line, Limit(min=60.0, max=60.105), 30.0)
    w = fit.summary.weights
    assert float(w @ fit.summary.mean[:, 1]) == pytest.approx(0.0005, abs=0.00002)
    assert float(w @ fit.summary.tau) == pytest.approx(0.0001, rel=0.2)


def test_a_part_with_one_wild_sibling_keeps_a_rate_of_its_own_sign() -> None:
    wild = part("RB-9", [(0.0, 60.050), (10.0, 60.140)])
    line = fitted([*SHOP, wild]).lines["RB-1"]
    assert line.rate(0.9).holds(0.0005)
    assert line.to_limit(LIMIT, 0.9) != Crossing(None, None, None)
