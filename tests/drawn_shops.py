"""Shops drawn at random, with the truth that no shop knows: one pool of like parts each, for measuring intervals.

A shop has 2 to 8 parts of one kind in one or two engines. Each engine comes apart a few times; a gauge reads its parts
on one sheet, so that they share its zero. Some parts were read when new, some come with a life that is not known. All
is drawn as ratios (of the way to the limit, the service life, the gauge), over what such parts and shops have: the
ranges are the trade's orders of size, from experience and not from a source. `wrong` draws what the model is not.
"""

import math
from collections.abc import Hashable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame

Wrong = Literal["", "gauge understated", "one wild", "run-in", "skewed rates", "suspicious only"]

NEW_OF_LIMIT = (0.15, 0.8)  # width of the new range ÷ middle of new to the limit
RATE_OF_LIFE = (0.4, 2.5)  # mean rate ÷ (way to the limit ÷ service life)
RATE_SPREAD = (0.05, 0.6)  # spread of rates ÷ mean rate
START_SPREAD = (0.05, 0.35)  # spread of starts ÷ width of the new range
REPEAT = (1 / 60, 1 / 8)  # repeat of the gauge ÷ way to the limit
EXTRA = (0.0, 1.0, 3.0)  # scatter beyond the gauge ÷ its repeat
ZERO = (0.0, 0.5, 1.0, 2.0)  # zero on a sheet ÷ repeat
UNKNOWN_START = 0.12  # share of parts whose life before is not known
READ_WHEN_NEW = 0.5  # share of the others that were read when new
BETWEEN_SHEETS = (0.08, 0.3)  # exposure between two teardowns ÷ service life
SEASON = (0.1, 0.5)  # exposure still to come ÷ service life
SHEETS = 5
TARGET = 60.0


@dataclass(frozen=True, slots=True)
class TrueWear:
    """value(x) = start + rate · x + run_in · (1 − exp(−x / short))."""

    start: float
    rate: float
    run_in: float = 0.0
    short: float = 1.0

    def at(self, x: float) -> float:
        return self.start + self.rate * x - self.run_in * math.expm1(-x / self.short)

    def crossing(self, limit: float) -> float:
        """Where it meets its limit from below, infinite for never."""
        if self.start >= limit:
            return 0.0
        straight = (limit - self.start) / self.rate if self.rate > 0.0 else math.inf
        if self.run_in == 0.0 or math.isinf(straight):
            return straight
        low, high = 0.0, straight  # the run-in comes on top: it is met earlier
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.at(middle) < limit else (low, middle)
        return high


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """A part as the shop sees it, how it truly wears, and the exposure at which its season will end."""

    part: PoolPart
    truth: TrueWear
    future: float
    wild: bool


@dataclass(frozen=True, slots=True)
class DrawnShop:
    """A pool with what is known beside it, its limit, and the strata that it belongs to."""

    parts: tuple[DrawnPart, ...]
    frame: Frame
    limit: float
    extra: float
    zero: float


@dataclass(frozen=True, slots=True)
class _Kind:
    """What the parts of a shop have in common."""

    distance: float
    life: float
    width: float
    alpha: float
    omega: float
    rate: float
    tau: float
    repeat: float
    extra: float
    zero: float
    wrong: Wrong


def drawn_shop(seed: int, number: int, wrong: Wrong = "") -> DrawnShop:
    """One shop by its number; the same seed and number give the same shop."""
    rng = np.random.default_rng([seed, number])
    kind = _kind(rng, wrong)
    n = 6 if wrong == "one wild" else int(rng.integers(2, 9))
    drawn = 3 * n if wrong == "suspicious only" else n
    engines = int(rng.integers(1, 3))
    hours = [np.cumsum(kind.life * rng.uniform(*BETWEEN_SHEETS, SHEETS)) for _ in range(engines)]
    zeros = [rng.normal(0.0, kind.zero * kind.repeat, SHEETS) for _ in range(engines)]
    parts = []
    for i in range(drawn):
        engine = int(rng.integers(engines))
        parts.append(_part(rng, kind, i, engine, hours[engine], zeros[engine]))
    if wrong == "suspicious only":  # those that look worn are taken out and measured
        parts = sorted(parts, key=lambda part: -part.part.readings[-1][1].value)[:n]
    frame = Frame(kind.width, kind.distance, kind.life)
    return DrawnShop(tuple(parts), frame, TARGET + kind.distance, kind.extra, kind.zero)


def _kind(rng: np.random.Generator, wrong: Wrong) -> _Kind:
    distance, life = _log_uniform(rng, (0.02, 0.5)), _log_uniform(rng, (20.0, 2000.0))
    width = distance * _log_uniform(rng, NEW_OF_LIMIT)
    rate = distance / life * _log_uniform(rng, RATE_OF_LIFE)
    tau = rate * rng.uniform(*RATE_SPREAD)
    alpha, omega = width * rng.uniform(-0.25, 0.25), width * rng.uniform(*START_SPREAD)
    repeat = distance * _log_uniform(rng, REPEAT)
    return _Kind(
        distance, life, width, alpha, omega, rate, tau, repeat, float(rng.choice(EXTRA)), float(rng.choice(ZERO)), wrong
    )


def _part(
    rng: np.random.Generator, kind: _Kind, i: int, engine: int, hours: np.ndarray, zeros: np.ndarray
) -> DrawnPart:
    count = int(rng.integers(2, 5))
    first = int(rng.integers(0, SHEETS - count + 1))
    unknown, new = rng.random() < UNKNOWN_START, rng.random() < READ_WHEN_NEW
    began = hours[first] if unknown or new else (hours[first - 1] if first else 0.0)
    wild = kind.wrong == "one wild" and i == 0
    truth = _truth(rng, kind, unknown, wild)
    told = 0.5 if kind.wrong == "gauge understated" else 1.0
    readings = []
    for s in range(first, first + count):
        x = float(hours[s] - began)
        value = truth.at(x) + zeros[s] + rng.normal(0.0, math.hypot(kind.repeat, kind.extra * kind.repeat))
        sheet: Hashable = ("zero", engine, s)
        shared = {sheet: told * kind.zero * kind.repeat} if kind.zero else {}
        readings.append((x, Measured(float(value), (told * kind.repeat) ** 2, shared)))
    part = PoolPart(f"P-{i}", tuple(readings), TARGET, unknown)
    return DrawnPart(part, truth, readings[-1][0] + kind.life * rng.uniform(*SEASON), wild)


def _truth(rng: np.random.Generator, kind: _Kind, unknown: bool, wild: bool) -> TrueWear:
    start = TARGET + float(rng.normal(kind.alpha, kind.omega))
    if unknown:
        start += kind.distance * rng.uniform(0.0, 0.4)
    rate = float(rng.normal(kind.rate, kind.tau))
    if kind.wrong == "skewed rates":  # the same mean and spread, lognormal
        shape = math.sqrt(math.log1p((kind.tau / kind.rate) ** 2))
        rate = kind.rate * math.exp(rng.normal(-0.5 * shape * shape, shape))
    plain = TrueWear(start, 4.0 * kind.rate if wild else rate)
    if kind.wrong == "run-in" and not unknown:  # a quarter of the way to the limit in the first few percent of life
        return replace(plain, run_in=0.25 * kind.distance * rng.uniform(0.6, 1.4), short=0.05 * kind.life)
    return plain


def _log_uniform(rng: np.random.Generator, ends: tuple[float, float]) -> float:
    return math.exp(rng.uniform(math.log(ends[0]), math.log(ends[1])))
