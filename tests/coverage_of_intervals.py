"""How often the intervals of a pool hold the truth, on drawn shops; and what they do where the model is wrong.

Run it: python tests/coverage_of_intervals.py [shops] [seed]. It prints the tables that the
README quotes: 2000 shops of 2 to 8 parts with 2 to 4 readings each, then 1000 of each wrong kind. Parts of one shop are
one cluster: standard errors are those of the shops' sums. CI runs 500 (tests/wear/test_coverage.py).
"""

import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import astuple, dataclass, fields
from itertools import pairwise
from typing import get_args

import numpy as np
from drawn_shops import DrawnPart, DrawnShop, Wrong, drawn_shop
from numpy.typing import NDArray

from engine_pages.wear.bends import fit_where_straight
from engine_pages.wear.limits import Limit
from engine_pages.wear.pool.fit import fit_pool
from engine_pages.wear.pool.line import PartLine

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the tool said of one part, and what was true. Widths: of the line in ways to the limit, else in lives."""

    shop: int
    parts: int
    readings: int
    extra: float
    zero: float
    own: bool
    wild: bool
    line_90: bool
    line_50: bool
    crossing_90: bool
    crossing_50: bool
    rate_90: bool
    line_width: float
    crossing_width: float
    chance: float
    lasted: bool


INTERVALS = ("line_90", "crossing_90", "line_50", "crossing_50", "rate_90")


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """Outcomes as columns."""

    columns: dict[str, Array]

    def __getitem__(self, name: str) -> Array:
        return self.columns[name]

    def where(self, which: NDArray[np.bool_]) -> "Table":
        return Table({name: column[which] for name, column in self.columns.items()})

    def share(self, name: str) -> tuple[float, float]:
        """A share and its standard error, shops being clusters."""
        held, p = self[name], float(self[name].mean())
        _, shop = np.unique(self["shop"], return_inverse=True)
        sums = np.bincount(shop, weights=held - p)
        return p, math.sqrt(float(sums @ sums)) / len(held)

    @property
    def brier(self) -> float:
        """Mean square of chance less outcome (Brier 1950)."""
        return float(((self["chance"] - self["lasted"]) ** 2).mean())


def measured(shops: int, seed: int, wrong: Wrong = "", straight: bool = False) -> Table:
    """The outcomes of so many shops; `straight` fits later readings only where a constant rate does not fit."""
    outcomes = [outcome for k in range(shops) for outcome in _of_shop(k, drawn_shop(seed, k, wrong), straight)]
    rows = np.array([astuple(outcome) for outcome in outcomes], dtype=np.float64)
    return Table({field.name: rows[:, i] for i, field in enumerate(fields(Outcome))})


def _of_shop(number: int, shop: DrawnShop, straight: bool) -> Iterator[Outcome]:
    parts = [drawn.part for drawn in shop.parts]
    if straight:
        bent = fit_where_straight(parts, shop.frame)
        fit = None if bent is None else bent.fit
    else:
        fit = fit_pool(parts, shop.frame)
    assert fit is not None
    for drawn in shop.parts:
        line = fit.lines.get(drawn.part.id)
        if line is not None:
            yield _outcome(number, shop, drawn, line)


def _outcome(number: int, shop: DrawnShop, drawn: DrawnPart, line: PartLine) -> Outcome:
    limit, truth, x = Limit(max=shop.limit), drawn.truth, drawn.future
    value, crossing = truth.at(x), truth.crossing(shop.limit)
    wide, narrow = line.interval(x, 0.9), line.interval(x, 0.5)
    first, second = (_ends(line, limit, confidence) for confidence in (0.9, 0.5))
    return Outcome(
        shop=number,
        parts=len(shop.parts),
        readings=len(drawn.part.readings),
        extra=shop.extra,
        zero=shop.zero,
        own=drawn.part.own_intercept,
        wild=drawn.wild,
        line_90=wide.holds(value),
        line_50=narrow.holds(value),
        crossing_90=first[0] <= crossing <= first[1],
        crossing_50=second[0] <= crossing <= second[1],
        rate_90=line.rate(0.9).holds(truth.rate),
        line_width=(wide.high - wide.low) / (shop.frame.limit_distance or 1.0),
        crossing_width=(first[1] - first[0]) / (shop.frame.service_life or 1.0) if first[0] < math.inf else math.inf,
        chance=line.chance_inside(limit, x),
        lasted=value <= shop.limit,
    )


def _ends(line: PartLine, limit: Limit, confidence: float) -> tuple[float, float]:
    """The interval of the crossing; what has no bound ends nowhere."""
    found = line.to_limit(limit, confidence)
    if found is None:
        return 0.0, math.inf
    low, high = (math.inf if end is None else end for end in (found.low, found.high))
    return low, high


HEADING = (
    f"{'':22}{'parts':>6}{'line 90':>9}{'cross 90':>9}{'line 50':>9}{'cross 50':>9}{'rate 90':>9}"
    f"{'no bound':>10}{'width':>8}{'cr. width':>10}"
)


def row(label: str, table: Table) -> str:
    """One line of a table: shares held in percent, share without an upper bound, median widths."""
    shares = "".join(f"{100.0 * table.share(name)[0]:9.1f}" for name in INTERVALS)
    unbounded = 100.0 * float(np.isinf(table["crossing_width"]).mean())
    bounded = table["crossing_width"][np.isfinite(table["crossing_width"])]
    width = float(np.median(bounded)) if len(bounded) else math.nan
    return (
        f"{label:22}{len(table['shop']):6d}{shares}{unbounded:10.1f}"
        f"{float(np.median(table['line_width'])):8.2f}{width:10.2f}"
    )


STRATA: tuple[tuple[str, Callable[[Table], NDArray[np.bool_]]], ...] = (
    *((f"{n} parts", lambda t, n=n: t["parts"] == n) for n in range(2, 9)),
    *((f"{n} readings of it", lambda t, n=n: t["readings"] == n) for n in (2, 3, 4)),
    *((f"extra scatter {e:g} ×", lambda t, e=e: t["extra"] == e) for e in (0.0, 1.0, 3.0)),
    *((f"shared zero {z:g} ×", lambda t, z=z: t["zero"] == z) for z in (0.0, 0.5, 1.0, 2.0)),
    ("life before unknown", lambda t: t["own"] == 1.0),
)


def reliability(table: Table) -> Iterator[str]:
    """The chance of lasting, by what was said: how many parts, the mean said, the share that lasted."""
    edges = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0 + 1e-9)
    for low, high in pairwise(edges):
        part = table.where((table["chance"] >= low) & (table["chance"] < high))
        if len(part["shop"]):
            lasted, se = part.share("lasted")
            said = float(part["chance"].mean())
            yield (
                f"said {low:4.0%} to {min(high, 1.0):4.0%}{len(part['shop']):8d} parts"
                f"{said:8.1%} said{lasted:8.1%} lasted ± {se:.1%}"
            )


def right_tables(table: Table) -> Iterator[str]:
    """The tables where the model is right."""
    yield HEADING
    yield row("all", table)
    errors = "".join(f"{100.0 * table.share(name)[1]:9.1f}" for name in INTERVALS)
    yield f"{'± standard error':28}{errors}"
    for label, which in STRATA:
        yield row(label, table.where(which(table)))
    yield f"\nchance of lasting the season: Brier score {table.brier:.4f}"
    yield from reliability(table)


def wrong_tables(shops: int, seed: int) -> Iterator[str]:
    """The tables where the model is wrong."""
    yield HEADING
    for wrong in (name for name in get_args(Wrong) if name):
        table = measured(shops, seed, wrong)
        if wrong == "one wild":
            yield row("one wild: the others", table.where(table["wild"] == 0.0))
            yield row("one wild: the wild one", table.where(table["wild"] == 1.0))
        else:
            yield row(wrong, table)
    yield row("run-in, where straight", measured(shops, seed, "run-in", straight=True))


def main(shops: int, seed: int) -> None:
    for line in right_tables(measured(shops, seed)):
        print(line)
    print(f"\nwhere the model is wrong, {shops // 2} shops each")
    for line in wrong_tables(shops // 2, seed):
        print(line, flush=True)


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 2000,
        int(sys.argv[2]) if len(sys.argv) > 2 else 1,
    )
