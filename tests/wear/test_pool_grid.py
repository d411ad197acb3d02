"""The pool's grid against one that is dense, lies elsewhere, and is worked out with plain matrices by this file alone.

All parts of a pool are read at the same exposures here, so that one covariance matrix serves them all. The priors are
those that the methods page states; the dense grid lies in the logarithms of the spreads and covers all that holds
weight. What is compared are the ends of 90 % intervals of rates, in widths of the dense grid's interval.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import ndtr

from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import PoolFit, fit_pool
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame

Array = NDArray[np.float64]

PROMISED = 0.04  # as the grid's docstring has it

BEARING = Frame(new_width=0.02, limit_distance=0.05, service_life=100.0)
GAP = Frame(limit_distance=0.3, service_life=100.0)  # a feeler gap of which no new range is known


@dataclass(frozen=True, slots=True)
class Shop:
    """A drawn pool: so many parts with so many readings each, by a gauge of standard uncertainty `gauge`, millimetres.

    `sigma`, `omega`, `tau`, `rate` are the truth: scatter beyond the gauge, spreads of starts and rates, mean rate.
    """

    parts: int
    readings: int
    sigma: float
    omega: float = 0.0
    tau: float = 0.0
    rate: float = 8e-4
    gauge: float = 0.001
    frame: Frame = BEARING
    seed: int = 0

    @property
    def exposures(self) -> Array:
        return np.linspace(5.0, 60.0, self.readings)

    @property
    def values(self) -> Array:
        """Parts × readings, from a target of zero."""
        draw = np.random.default_rng(self.seed)
        start, rate = draw.normal(0.0, self.omega, self.parts), draw.normal(self.rate, self.tau, self.parts)
        noise = draw.normal(0.0, math.hypot(self.sigma, self.gauge), (self.parts, self.readings))
        return start[:, None] + rate[:, None] * self.exposures + noise

    def fitted(self) -> PoolFit:
        x, parts = self.exposures.tolist(), []
        for i, row in enumerate(self.values.tolist()):
            parts.append(
                PoolPart(f"P-{i}", tuple((at, Measured(y, self.gauge**2)) for at, y in zip(x, row, strict=True)))
            )
        fit = fit_pool(parts, self.frame)
        assert fit is not None
        return fit


FAR_OFF = [
    *(Shop(8, 4, sigma=0.05, seed=seed) for seed in range(4)),
    Shop(8, 4, sigma=0.2),
    Shop(8, 4, sigma=0.02),
    Shop(20, 3, sigma=0.05, rate=2e-3, gauge=0.005, frame=GAP),
    Shop(20, 3, sigma=0.05, omega=0.01, tau=4e-4, rate=2e-3, gauge=0.005, frame=GAP, seed=1),
    Shop(1, 6, sigma=0.05),
    Shop(8, 4, sigma=0.001, omega=0.5),
    Shop(8, 4, sigma=0.001, omega=0.003, tau=0.02),
    Shop(200, 10, sigma=0.05),
]
USUAL = [
    *(Shop(8, 4, sigma=0.002, omega=0.003, tau=1e-4, seed=seed) for seed in range(3)),
    Shop(3, 3, sigma=0.001, omega=0.005, tau=2e-4),
    Shop(20, 2, sigma=0.003, omega=0.003, tau=3e-4),
    Shop(40, 5, sigma=0.001, omega=0.004, tau=2e-4),
    Shop(8, 4, sigma=0.02, omega=0.01, tau=4e-4, rate=2e-3, gauge=0.02, frame=GAP),
]


@dataclass(frozen=True, slots=True)
class Dense:
    """Weights of nodes with their spreads (G × 3: ω, τ, σ), mean (G × P) and variance (G) of the parts' rates."""

    weights: Array
    spreads: Array
    mean: Array
    variance: Array

    def rate(self, part: int) -> tuple[float, float]:
        """The ends of the 90 % interval of a part's rate."""
        mean, sd = self.mean[:, part], np.sqrt(self.variance)
        reach = float((np.abs(mean) + 6.0 * sd)[self.weights > 1e-9].max())

        def below(rate: float, share: float) -> float:
            return float(self.weights @ ndtr((rate - mean) / sd)) - share

        low, high = (brentq(below, -reach, reach, args=(share,), xtol=1e-10) for share in (0.05, 0.95))
        return float(low), float(high)


def medians(shop: Shop) -> Array:
    """The medians of the priors of ω, τ and σ: 0.3 new ranges, half the rate of a service life, the gauge."""
    width = shop.frame.new_width or 0.1 * (shop.frame.limit_distance or 0.0)
    life_rate = (shop.frame.limit_distance or 0.0) / (shop.frame.service_life or 0.0)
    return np.array([0.3 * width, 0.5 * life_rate, shop.gauge])


def at(shop: Shop, spreads: Array) -> tuple[Array, Array, Array]:
    """Log likelihood of nodes (α and β integrated), mean and variance of the parts' rates at each."""
    x, y = shop.exposures, shop.values
    omega, tau, sigma = (spreads[:, k, None, None] for k in range(3))
    covariance = omega**2 + tau**2 * np.outer(x, x) + (sigma**2 + shop.gauge**2) * np.eye(len(x))
    weight = np.linalg.inv(covariance)
    design = np.stack([np.ones(len(x)), x], axis=1)
    on_design = weight @ design  # G × n × 2
    of_start = 0.0 if shop.frame.new_width is None else 1.0 / (0.5 * shop.frame.new_width) ** 2
    precision = len(y) * design.T @ on_design + np.diag([of_start, 0.0])
    common = np.linalg.inv(precision)
    pull = y.sum(axis=0) @ on_design
    kind = np.einsum("gij,gj->gi", common, pull)  # α and β
    square = np.einsum("gij,ij->g", weight, y.T @ y) - np.einsum("gi,gi->g", pull, kind)
    log_det = len(y) * np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(precision)[1]
    along = on_design[:, :, 1]  # what a reading says of a rate, G × n
    rate = spreads[:, 1] ** 2
    left = y[None] - (kind @ design.T)[:, None]
    mean = kind[:, 1, None] + rate[:, None] * np.einsum("gpn,gn->gp", left, along)
    gain = np.array([0.0, 1.0]) - rate[:, None] * (along @ design)
    variance = rate - rate**2 * (along @ x) + np.einsum("gi,gij,gj->g", gain, common, gain)
    return -0.5 * (log_det + square), mean, variance


def dense(shop: Shop, while_sought: int = 22, at_last: int = 30) -> Dense:
    """Nodes in the logarithms of the spreads, from a thousandth to some thousands of the priors' medians."""
    size, ends = medians(shop), [(-7.0, 8.5)] * 3
    for _ in range(8):
        logs = triples(ends, while_sought)
        depth = log_posterior(at(shop, size * np.exp(logs))[0], logs)
        held = logs[depth > depth.max() - 13.0]
        step = [(high - low) / (while_sought - 1) for low, high in ends]
        ends = [
            (max(float(held[:, k].min()) - step[k], -7.0), min(float(held[:, k].max()) + step[k], 8.5))
            for k in range(3)
        ]
    logs = triples(ends, at_last)
    log_likelihood, mean, variance = at(shop, size * np.exp(logs))
    depth = log_posterior(log_likelihood, logs)
    weights = np.exp(depth - depth.max())
    return Dense(weights / weights.sum(), size * np.exp(logs), mean, variance)


def triples(ends: Sequence[tuple[float, float]], count: int) -> Array:
    axes = np.meshgrid(*(np.linspace(low, high, count) for low, high in ends), indexing="ij")
    return np.stack([axis.ravel() for axis in axes], axis=1)


def log_posterior(log_likelihood: Array, logs: Array) -> Array:
    """With half-Cauchy priors, as densities of logarithms."""
    found: Array = log_likelihood + (logs - np.log1p(np.exp(2.0 * logs))).sum(axis=1)
    return found


def furthest_off(shop: Shop) -> float:
    """The largest distance of an end of a part's interval from the dense grid's, in widths of the interval."""
    fit, exact, furthest = shop.fitted(), dense(shop), 0.0
    for i in range(min(shop.parts, 4)):
        found, (low, high) = fit.lines[f"P-{i}"].rate(0.9), exact.rate(i)
        furthest = max(furthest, abs(found.low - low) / (high - low), abs(found.high - high) / (high - low))
    return furthest


@pytest.mark.parametrize("shop", USUAL)
def test_intervals_are_those_of_a_dense_grid_in_usual_shops(shop: Shop) -> None:
    assert furthest_off(shop) < PROMISED


@pytest.mark.parametrize("shop", FAR_OFF)
def test_intervals_are_those_of_a_dense_grid_where_spreads_are_far_larger_than_believed(shop: Shop) -> None:
    assert furthest_off(shop) < PROMISED


def test_plain_scatter_is_not_taken_for_parts_that_differ() -> None:
    """Parts all alike, readings that scatter by fifty times the gauge: the scatter is σ's, not ω's nor τ's."""
    shop = Shop(200, 10, sigma=0.05)
    summary = shop.fitted().summary
    assert float(summary.weights @ summary.sigma) == pytest.approx(0.05, rel=0.05)
    assert float(summary.weights @ summary.omega) < 0.006
    assert float(summary.weights @ summary.tau) < 2e-4
