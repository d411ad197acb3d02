"""The pool's closed forms against the plain way: one large normal distribution, conditioned on its readings."""

from collections.abc import Hashable, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import PoolFit, Spreads, Starts, fit_with_spreads, restricted_log_likelihood
from engine_pages.wear.pool.numbers import PoolPart, groups_of

Array = NDArray[np.float64]
FLAT = 1e6  # mm and mm/h: nothing is believed

SPREADS = Spreads(omega=0.006, tau=0.0003, sigma=0.002)


def bearings(unknown: bool = False, warm: bool = False) -> list[PoolPart]:
    """Five bearings on four sheets: sheets 0 and 1 read engine A, 2 and 3 engine B; RB-3 went from A to B."""
    rng = np.random.default_rng(11)
    read = {"RB-1": (0, 1), "RB-2": (0, 0, 1), "RB-3": (1, 2, 3), "RB-4": (2, 3), "RB-5": (3,)}
    parts = []
    for i, (name, sheets) in enumerate(read.items()):
        readings = []
        for k, sheet in enumerate(sheets):
            shared: dict[Hashable, float] = {("zero", sheet): 0.0015 * (1 if k != 1 else -1)}
            if warm:
                shared["expansion"] = 0.0004 * (k - 1)
            readings.append((3.0 + 7.5 * k + i, Measured(60.05 + float(rng.normal(0.0, 0.01)), 1e-6 * (1 + k), shared)))
        parts.append(PoolPart(name, tuple(readings), 60.05, unknown and name == "RB-4"))
    return parts


def plainly(
    parts: Sequence[PoolPart], spreads: Spreads, starts: Starts = "spread"
) -> tuple[dict[str, tuple[Array, Array]], float]:
    """Mean and covariance of each part's line, and the log density of all readings, α and β as good as flat."""
    omega = spreads.omega if starts == "spread" else 0.0
    sources = list(dict.fromkeys(s for part in parts for _, value in part.readings for s in value.shared))
    n = len(parts)
    prior = np.ones(2 + 2 * n + len(sources))
    prior[0], prior[1] = 0.0 if starts == "exact" else FLAT**2, FLAT**2
    for i, part in enumerate(parts):
        prior[2 + 2 * i], prior[3 + 2 * i] = FLAT**2 if part.own_intercept else omega**2, spreads.tau**2
    rows, y, v = [], [], []
    for i, part in enumerate(parts):
        for x, value in part.readings:
            row = np.zeros(len(prior))
            row[[0, 2 + 2 * i]], row[[1, 3 + 2 * i]] = 1.0, x
            for source, amount in value.shared.items():
                row[2 + 2 * n + sources.index(source)] = amount
            rows.append(row)
            y.append(value.value - part.target)
            v.append(value.independent + spreads.sigma**2)
    design, free = np.array(rows), prior > 0.0
    precision = design[:, free].T @ (design[:, free] / np.array(v)[:, None]) + np.diag(1.0 / prior[free])
    covariance = np.zeros((len(prior), len(prior)))
    covariance[np.ix_(free, free)] = np.linalg.inv(precision)
    mean = covariance @ design.T @ (np.array(y) / np.array(v))
    lines = {}
    for i, part in enumerate(parts):
        pick = np.zeros((2, len(prior)))
        pick[0, [0, 2 + 2 * i]], pick[1, [1, 3 + 2 * i]] = 1.0, 1.0
        lines[part.id] = (pick @ mean + [part.target, 0.0], pick @ covariance @ pick.T)
    log_det = np.linalg.slogdet(precision)[1] + np.log(v).sum() + np.log(prior[free]).sum()
    flat = np.log(prior[:2][prior[:2] > 0.0]).sum()
    square = float(np.array(y) @ (np.array(y) / v) - mean @ precision_of(precision, free) @ mean)
    constant = (len(y) - np.count_nonzero(prior[:2])) * np.log(2.0 * np.pi)
    return lines, -0.5 * (log_det - flat + square + constant)


def precision_of(precision: Array, free: NDArray[np.bool_]) -> Array:
    whole = np.zeros((len(free), len(free)))
    whole[np.ix_(free, free)] = precision
    return whole


def fitted(parts: Sequence[PoolPart], starts: Starts = "spread", common: Sequence[Hashable] = ()) -> PoolFit:
    fit = fit_with_spreads(parts, SPREADS, starts=starts, common=common)
    assert fit is not None
    return fit


@pytest.mark.parametrize("starts", ["spread", "alike", "exact"])
@pytest.mark.parametrize("unknown", [False, True])
@pytest.mark.parametrize("warm", [False, True])
@pytest.mark.parametrize("named", [False, True])
def test_lines_are_those_of_one_large_normal_distribution(
    starts: Starts, unknown: bool, warm: bool, named: bool
) -> None:
    parts = bearings(unknown, warm)
    lines = fitted(parts, starts, ["expansion"] if named else []).lines
    expected, _ = plainly(parts, SPREADS, starts)
    for name, (mean, covariance) in expected.items():
        sds = np.sqrt(np.diag(covariance))
        sds = np.where(sds > 0.0, sds, 1.0)  # an exact start is known
        assert lines[name].means[0] == pytest.approx(mean, abs=1e-4 * sds.min(), rel=1e-6)
        assert lines[name].covariances[0] / np.outer(sds, sds) == pytest.approx(
            covariance / np.outer(sds, sds), abs=2e-5
        )


@pytest.mark.parametrize("starts", ["spread", "alike", "exact"])
def test_the_likelihood_is_that_of_one_large_normal_distribution(starts: Starts) -> None:
    parts = bearings(warm=True)
    for spreads in (SPREADS, Spreads(0.001, 0.001, 0.0), Spreads(0.02, 0.0, 0.01)):
        found = restricted_log_likelihood(parts, spreads, starts)
        assert found == pytest.approx(plainly(parts, spreads, starts)[1], abs=2e-4)


def test_a_source_named_as_common_gives_the_lines_of_one_that_is_not() -> None:
    parts = bearings(warm=True)
    for one, other in zip(
        fitted(parts).lines.values(), fitted(parts, common=["expansion"]).lines.values(), strict=True
    ):
        assert other.means[0] == pytest.approx(one.means[0], rel=1e-8)
        assert other.covariances[0] == pytest.approx(one.covariances[0], rel=1e-5, abs=1e-14)


def test_a_part_without_a_reading_has_its_kinds_line() -> None:
    parts = [*bearings(), PoolPart("RB-9", (), 60.00)]
    line, expected = fitted(parts).lines["RB-9"], plainly(parts, SPREADS)[0]["RB-9"]
    assert line.n == 0
    assert line.parts == 5
    assert line.means[0] == pytest.approx(expected[0], rel=1e-6)
    assert line.covariances[0] == pytest.approx(expected[1], rel=1e-5)


def test_parts_that_share_a_zero_make_a_group_and_a_part_that_moved_joins_two() -> None:
    parts = bearings()
    assert groups_of(parts) == (("RB-1", "RB-2", "RB-3", "RB-4", "RB-5"),)
    stayed = [part for part in parts if part.id != "RB-3"]
    assert groups_of(stayed) == (("RB-1", "RB-2"), ("RB-4", "RB-5"))
    assert groups_of(bearings(warm=True), common=["expansion"]) == groups_of(parts)
    assert len(groups_of([part for part in bearings(warm=True) if part.id != "RB-3"])) == 1
