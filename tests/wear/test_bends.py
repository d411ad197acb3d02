"""Run-in and bends: a constant rate is not carried on where it does not fit."""

import numpy as np
import pytest

from engine_pages.wear.bends import bend_of, fit_where_straight
from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame

FRAME = Frame(new_width=0.022, limit_distance=0.054, service_life=120.0)
HOURS = [0.5, 2.0, 6.0, 12.0, 20.0, 30.0, 40.0]


def pool(power: float, parts: int = 3, hours: list[float] = HOURS, u: float = 0.001) -> list[PoolPart]:
    """Bearings whose bore grows by 0.03 mm in 40 h, as a power of use, read with a gauge's noise."""
    draw = np.random.default_rng(3)
    return [
        PoolPart(
            f"RB-{i}",
            tuple(
                (x, Measured(float(60.051 + 0.03 * (x / 40.0) ** power + draw.normal(0.0, u)), u * u)) for x in hours
            ),
            60.051,
        )
        for i in range(parts)
    ]


@pytest.mark.parametrize("parts", [1, 3])
def test_wear_that_slows_with_use_does_not_fit_a_constant_rate(parts: int) -> None:
    found = bend_of(pool(0.2, parts), FRAME)
    assert found is not None
    assert found.bends
    assert found.rate == "falls"


def test_wear_that_quickens_with_use_does_not_fit_a_constant_rate() -> None:
    found = bend_of(pool(2.0), FRAME)
    assert found is not None
    assert found.bends
    assert found.rate == "grows"


def test_wear_that_takes_away_bends_the_same_way() -> None:
    journals = [
        PoolPart(part.id, tuple((x, Measured(2 * 60.051 - y.value, y.independent)) for x, y in part.readings), 60.051)
        for part in pool(0.2)
    ]
    found = bend_of(journals, FRAME)
    assert found is not None
    assert (found.bends, found.rate) == (True, "falls")


def test_wear_in_proportion_to_use_is_straight() -> None:
    found = bend_of(pool(1.0), FRAME)
    assert found is not None
    assert not found.bends
    fit = fit_where_straight(pool(1.0), FRAME)
    assert fit is not None
    assert fit.since == 0.0


def test_three_readings_cannot_show_a_bend() -> None:
    assert bend_of(pool(0.2, 1, [0.5, 6.0, 40.0]), FRAME) is None
    assert bend_of(pool(0.2, 3, [0.5, 40.0]), FRAME) is None


def test_an_early_rate_is_not_carried_on() -> None:
    fit = fit_where_straight(pool(0.2), FRAME)
    assert fit is not None
    assert fit.since > 0.0
    truth = 60.051 + 0.03 * (60.0 / 40.0) ** 0.2
    for line in fit.fit.lines.values():
        # From 20 to 40 h it wears 0.0039 mm, from 0.5 to 40 h 0.0176 mm.
        assert line.rate(0.9).value < 0.00035
        assert line.interval(60.0, 0.9).low < truth + 0.003
        assert line.chance_inside(Limit(max=60.105), 60.0) > 0.95


def test_a_part_that_is_still_running_in_has_no_forecast() -> None:
    parts = [*pool(0.2), PoolPart("RB-9", ((0.5, Measured(60.063, 1e-6)), (2.0, Measured(60.067, 1e-6))), 60.051)]
    fit = fit_where_straight(parts, FRAME)
    assert fit is not None
    assert "RB-9" not in fit.fit.lines


def test_where_no_part_was_read_twice_since_nothing_is_forecast() -> None:
    early, late = [0.5, 1.0, 2.0, 3.0], 40.0
    fit = fit_where_straight(pool(0.2, 3, [*early, late]), FRAME)
    assert fit is not None
    assert fit.bend is not None
    assert fit.bend.bends
    assert fit.since == late
    assert fit.fit.lines == {}


def test_a_part_with_a_life_before_keeps_its_readings_where_others_run_in() -> None:
    used = PoolPart("RB-9", ((0.0, Measured(60.08, 1e-6)), (3.0, Measured(60.081, 1e-6))), 60.051, own_intercept=True)
    fit = fit_where_straight([*pool(0.2), used], FRAME)
    assert fit is not None
    assert fit.since > 3.0
    assert fit.fit.lines["RB-9"].n == 2


def test_few_straight_pools_are_said_to_bend() -> None:
    """One in twenty may be; drawn with a fixed seed, scatter to be found beside the gauge's."""
    draw, bent, times = np.random.default_rng(2026), 0, 120
    for _ in range(times):
        parts = []
        for i in range(4):
            start, rate = draw.normal(60.051, 0.003), draw.normal(0.0005, 0.0001)
            x = np.sort(draw.uniform(0.0, 60.0, 4)).tolist()
            y = [float(start + rate * t + draw.normal(0.0, 0.002)) for t in x]
            parts.append(PoolPart(f"RB-{i}", tuple((t, Measured(v, 1e-6)) for t, v in zip(x, y, strict=True)), 60.051))
        found = bend_of(parts, FRAME)
        assert found is not None
        bent += found.bends
    assert bent <= 0.12 * times


def test_nothing_measured_has_no_bend() -> None:
    assert bend_of([PoolPart("RB-1", (), 60.051)], FRAME) is None
    assert fit_where_straight([PoolPart("RB-1", (), 60.051)], FRAME) is None
