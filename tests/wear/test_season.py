"""The season: chances of several lines together, what they share counted once."""

import numpy as np
import pytest
from drawn_shops import drawn_shop

from engine_pages.wear.bends import fit_where_straight
from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import PoolFit, Spreads, fit_pool, fit_with_spreads
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame
from engine_pages.wear.season import Stake, combined, joint_chances

FRAME = Frame(new_width=0.022, limit_distance=0.054, service_life=120.0)


def pool(count: int, seed: int = 1) -> list[PoolPart]:
    draw = np.random.default_rng(seed)
    return [
        PoolPart(
            f"RB-{i}",
            tuple(
                (x, Measured(float(60.051 + 0.0006 * x + draw.normal(0.0, 0.002)), 1e-6)) for x in (10.0, 22.0, 35.0)
            ),
            60.051,
        )
        for i in range(count)
    ]


def fitted(parts: list[PoolPart]) -> PoolFit:
    fit = fit_pool(parts, FRAME)
    assert fit is not None
    return fit


LIMIT = Limit(max=60.105)
EVENTS = (60.0, 75.0, 90.0, 105.0)


def test_one_line_alone_has_the_chance_that_it_says_itself() -> None:
    parts = pool(4)
    fit = fitted(parts)
    for part in parts:
        together = joint_chances(fit.summary, parts, [Stake(part.id, LIMIT, EVENTS)])
        alone = [fit.lines[part.id].chance_inside(LIMIT, x) for x in EVENTS]
        assert together.tolist() == pytest.approx(alone, abs=0.002)


def test_lines_of_one_kind_stand_and_fall_together() -> None:
    parts = pool(4)
    fit = fitted(parts)
    together = joint_chances(fit.summary, parts, [Stake(part.id, LIMIT, EVENTS) for part in parts])
    alone = np.array([[fit.lines[part.id].chance_inside(LIMIT, x) for x in EVENTS] for part in parts])
    assert np.all(together >= alone.prod(axis=0) - 0.002)  # more often than if they had nothing to do with each other
    assert np.all(together <= alone.min(axis=0) + 0.002)
    assert float((together - alone.prod(axis=0)).max()) > 0.008


def test_chances_at_known_spreads_are_those_of_one_large_normal_distribution() -> None:
    """Against draws from the joint distribution of all lines, worked out with dense matrices."""
    parts = [
        PoolPart(p.id, tuple((x, Measured(y.value, y.independent)) for x, y in p.readings), p.target) for p in pool(3)
    ]
    omega, tau, sigma = 0.003, 0.0001, 0.001
    fit = fit_with_spreads(parts, Spreads(omega, tau, sigma), FRAME)
    assert fit is not None
    rows = [(i, x, y.value - p.target, y.independent + sigma**2) for i, p in enumerate(parts) for x, y in p.readings]
    # unknowns: α, β, and each part's a and b; the mean start lies about its target as the priors have it (0.5 × width)
    design = np.zeros((len(rows), 2 + 2 * len(parts)))
    for n, (i, x, _, _) in enumerate(rows):
        design[n, [0, 1, 2 + 2 * i, 3 + 2 * i]] = 1.0, x, 1.0, x
    prior = np.diag([1 / (0.5 * 0.022) ** 2, 1e-6, *[1 / omega**2, 1 / tau**2] * len(parts)])
    weight = np.diag([1 / row[3] for row in rows])
    covariance = np.linalg.inv(design.T @ weight @ design + prior)
    mean = covariance @ design.T @ weight @ np.array([row[2] for row in rows])
    draws = np.random.default_rng(5).multivariate_normal(mean, covariance, 400_000)
    inside = np.ones(len(draws), dtype=bool)
    for i in range(len(parts)):
        inside &= draws[:, 0] + draws[:, 2 + 2 * i] + 90.0 * (draws[:, 1] + draws[:, 3 + 2 * i]) <= 0.054
    found = joint_chances(fit.summary, parts, [Stake(p.id, LIMIT, (90.0,)) for p in parts])
    assert found[0] == pytest.approx(float(inside.mean()), abs=0.005)


@pytest.mark.parametrize(("count", "zero", "repeat"), [(6, 0.004, 0.001), (12, 0.001, 0.0015)])
def test_a_zero_that_the_last_sheet_shares_is_counted_once(count: int, zero: float, repeat: float) -> None:
    """Parts read once, all on one sheet, against draws from the normal distribution of all their lines and the zero."""
    omega, tau, read_at, asked = 0.003, 0.0001, 20.0, 22.0
    read = 0.012 + np.random.default_rng(3).normal(0.0, repeat, count)
    parts = [
        PoolPart(f"RB-{i}", ((read_at, Measured(60.051 + float(y), repeat**2, {("zero", "T-1"): zero})),), 60.051)
        for i, y in enumerate(read)
    ]
    fit = fit_with_spreads(parts, Spreads(omega, tau, 0.0), FRAME)
    assert fit is not None
    # unknowns: α, β, the zero, and each part's a and b; the mean start lies about its target (0.5 × width)
    prior = np.array([1 / (0.5 * 0.022) ** 2, 1e-6, 1 / zero**2, *[1 / omega**2, 1 / tau**2] * count])
    design, now = np.zeros((2, count, len(prior)))
    for i in range(count):
        design[i, [0, 1, 2, 3 + 2 * i, 4 + 2 * i]] = 1.0, read_at, 1.0, 1.0, read_at
        now[i, [0, 1, 3 + 2 * i, 4 + 2 * i]] = 1.0, asked, 1.0, asked
    covariance = np.linalg.inv(design.T @ design / repeat**2 + np.diag(prior))
    mean = covariance @ design.T @ read / repeat**2
    draws = np.random.default_rng(5).multivariate_normal(now @ mean, now @ covariance @ now.T, 200_000)
    for limit in np.quantile(draws.max(axis=1), [0.15, 0.5, 0.9]):
        exact = float((draws <= limit).all(axis=1).mean())
        stakes = [Stake(part.id, Limit(max=60.051 + float(limit)), (asked,)) for part in parts]
        assert joint_chances(fit.summary, parts, stakes)[0] == pytest.approx(exact, abs=0.006)


def test_a_part_without_a_reading_stands_on_its_kinds_line() -> None:
    parts = [*pool(4), PoolPart("RB-new", (), 60.051)]
    fit = fitted(parts)
    found = joint_chances(fit.summary, parts, [Stake("RB-new", LIMIT, EVENTS)])
    assert found.tolist() == pytest.approx([fit.lines["RB-new"].chance_inside(LIMIT, x) for x in EVENTS], abs=0.003)


def test_two_limits_are_both_kept() -> None:
    parts = pool(3)
    fit = fitted(parts)
    both = joint_chances(fit.summary, parts, [Stake("RB-0", Limit(60.080, 60.105), EVENTS)])
    alone = [fit.lines["RB-0"].chance_inside(Limit(60.080, 60.105), x) for x in EVENTS]
    assert both.tolist() == pytest.approx(alone, abs=0.003)


@pytest.mark.parametrize("factor", [1e-3, 39.37, 1e6])
def test_chances_do_not_depend_on_units(factor: float) -> None:
    def scaled(part: PoolPart) -> PoolPart:
        readings = tuple((x * 60.0, Measured(y.value * factor, y.independent * factor**2)) for x, y in part.readings)
        return PoolPart(part.id, readings, part.target * factor)

    parts = pool(3)
    frame = Frame(0.022 * factor, 0.054 * factor, 120.0 * 60.0)
    other = fit_pool([scaled(part) for part in parts], frame)
    assert other is not None
    stakes = [Stake(part.id, LIMIT, EVENTS) for part in parts]
    limit, at = Limit(max=60.105 * factor), tuple(60.0 * x for x in EVENTS)
    theirs = joint_chances(other.summary, [scaled(p) for p in parts], [Stake(p.id, limit, at) for p in parts])
    assert theirs.tolist() == pytest.approx(joint_chances(fitted(parts).summary, parts, stakes).tolist(), abs=1e-6)


def test_the_outer_range_holds_whatever_the_dependence_against_frechet() -> None:
    # Fréchet (1935): P(A and B) lies between max(0, P(A) + P(B) − 1) and min(P(A), P(B)).
    found = combined([np.array([0.8 * 0.7])], [np.array([0.8]), np.array([0.7])])
    assert (found.outer_low[0], found.outer_high[0]) == (pytest.approx(0.5), pytest.approx(0.7))
    assert found.together[0] == pytest.approx(0.56)


def test_a_stake_on_nobody_is_refused() -> None:
    parts = pool(2)
    with pytest.raises(ValueError, match="a stake is on a part of its pool"):
        joint_chances(fitted(parts).summary, parts, [Stake("RB-9", LIMIT, EVENTS)])


ENGINES, POOLS = 40, 10


def test_an_engines_chance_is_what_it_says_on_drawn_shops() -> None:
    """Engines of some 50 parts in 10 pools each; the truth is drawn, the chance of lasting is asked for.

    A limit is put where its pool's most worn line is past it with a chance of one in fifty, so that engines fail.
    """
    said, lasted, low, high = [], [], [], []
    for engine in range(ENGINES):
        chances, alone, truth = [], [], True
        for k in range(POOLS):
            shop = drawn_shop(7, engine * POOLS + k)
            parts = [drawn.part for drawn in shop.parts]
            fit = fit_pool(parts, shop.frame)
            assert fit is not None
            known = [drawn for drawn in shop.parts if drawn.part.id in fit.lines]
            if not known:
                continue
            level = max(fit.lines[d.part.id].interval(d.future, 0.96).high for d in known)
            limit = Limit(max=level)
            stakes = [Stake(d.part.id, limit, (d.future,)) for d in known]
            chances.append(joint_chances(fit.summary, parts, stakes))
            alone += [np.array([fit.lines[s.part].chance_inside(limit, s.at[0])]) for s in stakes]
            truth &= all(d.truth.at(d.future) <= level for d in known)
        found = combined(chances, alone)
        said.append(float(found.together[0]))
        low.append(float(found.outer_low[0]))
        high.append(float(found.outer_high[0]))
        lasted.append(truth)
    p = np.array(said)
    se = float(np.sqrt((p * (1.0 - p)).sum())) / ENGINES
    assert 0.2 < p.mean() < 0.95  # a test of engines that all last, or none, would show nothing
    assert abs(float(np.mean(lasted)) - p.mean()) < 3.5 * se
    assert np.mean(low) - 3.5 * se <= np.mean(lasted) <= np.mean(high) + 3.5 * se


def test_parts_that_stand_and_fall_as_one_stay_in_the_outer_range() -> None:
    """Ten pools that share one true rate: far from independent, and the range still holds it."""
    each = 0.9
    pools = [np.array([each])] * POOLS
    found = combined(pools, pools)
    assert found.outer_low[0] <= each <= found.outer_high[0] + 1e-12
    assert found.together[0] < each  # what multiplying says, too low here, which the page admits


def test_readings_that_count_after_a_bend_are_given_back() -> None:
    used = (0.5, 2.0, 5.0, 10.0, 20.0, 40.0)
    parts = [PoolPart("RB-1", tuple((x, Measured(60.051 + 0.020 * x**0.2, 4e-7)) for x in used), 60.051)]
    bent = fit_where_straight(parts, FRAME)
    assert bent is not None
    assert bent.since > 0.0
    found = joint_chances(bent.fit.summary, bent.parts, [Stake("RB-1", LIMIT, (50.0, 60.0))])
    alone = [bent.fit.lines["RB-1"].chance_inside(LIMIT, x) for x in (50.0, 60.0)]
    assert found.tolist() == pytest.approx(alone, abs=0.003)
