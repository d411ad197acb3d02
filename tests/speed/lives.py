"""How long the self-consistent curve of lives between two strips takes, and whether it is at the maximum.

Run it: python tests/speed/lives.py. Not a test: times depend on the machine. Beside it self-consistency alone (Turnbull
1976), as a textbook has it, for as many steps: how much less likely the lives are by then. One process, one thread.
"""

import math
import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from engine_pages.wear.lifetimes import Columns, Lifetime, Vector, columns_of
from engine_pages.wear.turnbull import self_consistent

SIZES = (100, 300, 600, 1200)
PLAIN_STEPS = 1000


def lives(n: int, *, late: bool) -> list[Lifetime]:
    """Parts that wear out about 90 h, no two alike; two fifths still run, and some came in used."""
    draw = np.random.default_rng(n)
    out = []
    for life in 100.0 * draw.weibull(3.0, n) + 1.0:
        good = float(np.round(life * draw.uniform(0.3, 0.99), 2))
        entered = good * float(draw.uniform(0.0, 0.9)) if late and draw.random() < 0.3 else 0.0
        by = float(np.round(life * 1.1 + 1.0, 2)) if draw.random() < 0.6 else None
        out.append(Lifetime(good, by, entered))
    return out


def likelihood(lines: Columns, drops: Vector) -> float:
    """The log likelihood of a curve's drops; what is left past the last one lies beyond everything."""
    shares = np.append(-np.diff(np.concatenate([[1.0], drops[:, 2]])), drops[-1, 2])
    after, by = np.append(drops[:, 0], drops[-1, 1]), np.append(drops[:, 1], math.inf)
    inside = (after >= lines.good[:, None]) & (by <= lines.by[:, None])
    inside[~lines.failed, -1] = True
    beyond = after >= lines.entered[:, None]
    return float(np.log(inside @ shares).sum() - np.log(beyond @ shares).sum())


def plain(lines: Columns) -> float:
    """The log likelihood that self-consistency alone comes to, over every stretch between two exposures."""
    edges = np.unique(np.concatenate([lines.good, lines.by]))
    inside = ((edges[:-1] >= lines.good[:, None]) & (edges[1:] <= lines.by[:, None])).astype(float)
    shares = np.full(len(edges) - 1, 1.0 / (len(edges) - 1))
    for _ in range(PLAIN_STEPS):
        shares *= (1.0 / (inside @ shares)) @ inside / len(lines.good)
    return float(np.log(inside @ shares).sum())


def main() -> None:
    for n in SIZES:
        for late in (False, True):
            lines = columns_of(lives(n, late=late))
            start = time.perf_counter()
            drops = self_consistent(lines)
            took = time.perf_counter() - start
            told = "no estimate" if drops is None else f"{len(drops)} drops"
            line = f"{n:5d} lives, {'some came in used' if late else 'all from new':18s} {took:6.3f} s, {told}"
            if drops is not None and not late:
                start = time.perf_counter()
                less = likelihood(lines, drops) - plain(lines)
                line += (
                    f"; {PLAIN_STEPS} plain steps {time.perf_counter() - start:6.2f} s, log likelihood {less:.1e} less"
                )
            print(line)


if __name__ == "__main__":
    main()
