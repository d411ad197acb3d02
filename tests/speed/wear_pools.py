"""How long the wear of a whole shop takes: 2,000 parts with 10,000 readings in 60 pools, beside a mixed-model library.

Run it: python tests/speed/wear_pools.py [pools]. Not a test: times depend on the machine, so only the ratios count. The
two take turns, pool by pool: statsmodels' MixedLM by REML with method="powell" (its default optimiser can fail without
saying so), which knows neither gauges nor shared zeros; this project's fit of the same readings without zeros; and with
them, which is what a shop gets. Then everything that pages ask of each part. One process, one thread.
"""

import os
import sys
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass

from msgspec.structs import replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import pandas as pd
import statsmodels.formula.api as smf

from engine_pages.wear.bends import bend_of
from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import PoolFit, fit_pool
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame

PARTS, READINGS, POOLS = 2000, 5, 60
FRAME = Frame(new_width=0.022, limit_distance=0.054, service_life=120.0)
LIMIT = Limit(min=60.0, max=60.105)
EVENTS = 8


@dataclass(slots=True)
class Seconds:
    """Time spent so far."""

    library: float = 0.0
    without_zeros: float = 0.0
    with_zeros: float = 0.0
    bends: float = 0.0
    answers: float = 0.0
    largest: float = 0.0


def sizes(draw: np.random.Generator) -> list[int]:
    """Parts in each pool: many small, some large, 2,000 in all."""
    shares = np.exp(draw.normal(0.0, 0.7, POOLS))
    counts = np.maximum(4, np.floor(PARTS * shares / shares.sum()).astype(int))
    counts[np.argmax(counts)] += PARTS - counts.sum()
    return [int(count) for count in counts]


def pool_of(draw: np.random.Generator, n: int) -> list[PoolPart]:
    """Bearings read five times each; four of an engine at a time, by one gauge on one sheet."""
    parts = []
    for i in range(n):
        if i % 4 == 0:
            hours, zeros = np.cumsum(draw.uniform(5.0, 15.0, READINGS)), draw.normal(0.0, 0.001, READINGS)
        start, rate = draw.normal(60.051, 0.003), draw.normal(0.0005, 0.00012)
        readings = []
        for s in range(READINGS):
            x = float(hours[s])
            value = float(start + rate * x + zeros[s] + draw.normal(0.0, 0.002))
            readings.append((x, Measured(value, 0.0015**2, {("zero", i // 4, s): 0.001})))
        parts.append(PoolPart(f"RB-{i}", tuple(readings), 60.051))
    return parts


def without_zeros(parts: list[PoolPart]) -> list[PoolPart]:
    return [replace(p, readings=tuple((x, replace(y, shared={})) for x, y in p.readings)) for p in parts]


def by_library(parts: list[PoolPart]) -> None:
    """Independent random starts and rates, as the pool's model has them; micrometres, so that it converges."""
    rows = [(p.id, x, 1e3 * (y.value - p.target)) for p in parts for x, y in p.readings]
    table = pd.DataFrame(rows, columns=["part", "x", "y"])
    model = smf.mixedlm("y ~ x", table, groups="part", re_formula="0", vc_formula={"a": "1", "b": "0 + x"})
    model.fit(reml=True, method="powell")


def answers(fit: PoolFit) -> None:
    """What pages ask of every part: its rate, its limit, its line now, and its chance after each event."""
    for line in fit.lines.values():
        line.rate(0.9)
        line.to_limit(LIMIT, 0.9)
        line.interval(60.0, 0.9)
        for event in range(EVENTS):
            line.chance_inside(LIMIT, 60.0 + 2.0 * event)


def seconds(task: Callable[[], object]) -> float:
    before = time.perf_counter()
    task()
    return time.perf_counter() - before


def main(pools: int) -> None:
    warnings.simplefilter("ignore")  # the library's remarks on convergence
    draw, spent, parts_in_all = np.random.default_rng(1), Seconds(), 0
    for n in sizes(draw)[:pools]:
        parts = pool_of(draw, n)
        plain = without_zeros(parts)
        parts_in_all += n
        spent.library += seconds(lambda plain=plain: by_library(plain))
        spent.without_zeros += seconds(lambda plain=plain: fit_pool(plain, FRAME))
        one = seconds(lambda parts=parts: fit_pool(parts, FRAME))
        spent.with_zeros, spent.largest = spent.with_zeros + one, max(spent.largest, one)
        fit = fit_pool(parts, FRAME)
        assert fit is not None
        spent.bends += seconds(lambda parts=parts: bend_of(parts, FRAME))
        spent.answers += seconds(lambda fit=fit: answers(fit))
    print(f"{parts_in_all} parts, {parts_in_all * READINGS} readings, {pools} pools")
    print(f"MixedLM, powell              {spent.library:7.2f} s")
    print(
        f"the same without zeros       {spent.without_zeros:7.2f} s   ratio {spent.library / spent.without_zeros:6.1f}"
    )
    print(f"with shared zeros            {spent.with_zeros:7.2f} s   ratio {spent.library / spent.with_zeros:6.1f}")
    print(f"whether they bend            {spent.bends:7.2f} s")
    print(f"all lines' answers           {spent.answers:7.2f} s")
    whole = spent.with_zeros + spent.bends + spent.answers
    print(f"a shop, all together         {whole:7.2f} s   the largest pool's fit {spent.largest:.2f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else POOLS)
