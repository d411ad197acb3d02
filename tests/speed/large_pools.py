"""How many parts a kind's fit needs: 1,000 drawn parts, fitted from samples of them, time and answers side by side.

Run it: python tests/speed/large_pools.py. For each sample: the time of the fit, the kind's mean rate, and by how much
the rates of a hundred parts, each from its own readings and the sample's summary, differ from those by all parts.
"""

import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from wear_pools import FRAME, pool_of

from engine_pages.wear.pool.fit import fit_pool
from engine_pages.wear.pool.sample import GroupLines, sample_of

PARTS, LOOKED_AT = 1000, 100
SAMPLES = (1000, 400, 180, 120, 60)


def main() -> None:
    parts = pool_of(np.random.default_rng(5), PARTS)
    best = np.empty(0)
    for size in SAMPLES:
        speak, before = sample_of(parts, size), time.process_time()
        fit = fit_pool(speak, FRAME)
        spent = time.process_time() - before
        assert fit is not None
        lines = GroupLines(fit.summary, parts, ())
        rates = [lines[part.id].rate(0.9) for part in parts[:LOOKED_AT]]
        values = np.array([rate.value for rate in rates])
        best = values if size == SAMPLES[0] else best
        half = np.median([(rate.high - rate.low) / 2 / rate.value for rate in rates])
        moved = np.median(np.abs(values / best - 1.0))
        mean = fit.summary.weights @ fit.summary.mean[:, 1]
        print(
            f"{size:5} parts {spent:6.2f} s   kind {1e6 * mean:6.1f} µm/1000 h"
            f"   a part's rate moves by {moved:6.2%}, its interval is ± {half:.0%}"
        )


if __name__ == "__main__":
    main()
