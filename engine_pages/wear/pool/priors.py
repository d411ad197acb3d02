"""What is believed of a pool before its readings: new range, way to the limit, service life and gauges in, scales out.

The spreads have half-Cauchy priors: flat near zero, so that few parts are not made alike by decree, and with a tail so
long that plenty of readings have their way whatever the scale. Their medians, the scales, are what a trade knows:

- ω, parts as built: a share of the width of the new range. Parts that pass inspection fill a good part of it.
- τ, rates of like parts: a share of the rate that uses up the way to the limit in a service life.
- σ, scatter beyond the gauge: a share of the gauge's own uncertainty. Where seating, dirt and hands add anything, it
  is of the size of what the gauge was chosen for.
- the mean start α lies about the middle of the new range, where there is one; without one it is free.

What is missing is replaced: no new range, a tenth of the way to the limit; no limit, the readings' own spread; no
service life, the longest exposure seen; exact gauges, a tenth of the new range's width.
"""

from collections.abc import Sequence
from statistics import median

from msgspec import Struct

from engine_pages.wear.pool.numbers import PoolPart, Units

# Medians of the half-Cauchy priors as shares of what they are scaled by, and the standard deviation of the mean start.
# Chosen on drawn shops so that intervals hold the truth as often as they say (tests/coverage_of_intervals.py); the
# figures move little when any of them is halved or doubled.
OF_NEW_WIDTH = 0.3
OF_LIFE_RATE = 0.5
OF_GAUGE = 1.0
START_OF_NEW_WIDTH = 0.5

# What stands for a new range that is not known, as a share of the way to the limit.
NEW_OF_LIMIT = 0.1
# What stands for the uncertainty of exact readings, as a share of the new range's width.
GAUGE_OF_NEW = 0.1


class Frame(Struct, frozen=True):
    """What is known of a pool beside its readings, each None where it is not.

    `new_width`: width of the range of new parts; `limit_distance`: from the middle of that range to the limit, both in
    the values' unit and above zero; `service_life`: exposure that such a part is expected to run.
    """

    new_width: float | None = None
    limit_distance: float | None = None
    service_life: float | None = None


class Scales(Struct, frozen=True):
    """Medians of the priors of ω, τ and σ and the standard deviation of α (None: free), rescaled."""

    omega: float
    tau: float
    sigma: float
    start: float | None


def believed(parts: Sequence[PoolPart], frame: Frame, tied: bool) -> tuple[Units, Scales]:
    """What a pool's numbers are divided by, and the scales of the priors in rescaled numbers, each above zero.

    `parts` have readings. With nothing to tie the mean start to its target, deviations are taken from the readings' own
    median: a target that is far off costs no digits.

    >>> from engine_pages.wear.measured import Measured
    >>> part = PoolPart("RB-1", ((100.0, Measured(0.5)),))
    >>> believed([part], Frame(new_width=0.02, limit_distance=0.05, service_life=100.0), tied=True)[1]
    Scales(omega=0.012, tau=0.05, sigma=0.004, start=0.02)
    """
    known = [value.value - part.target for part in parts if not part.own_intercept for _, value in part.readings]
    shift = 0.0 if tied or not known else median(known)
    own = [y.value - part.readings[0][1].value for part in parts if part.own_intercept for _, y in part.readings]
    deviations = [*(deviation - shift for deviation in known), *own]
    gauges = [value.u for part in parts for _, value in part.readings]
    longest = max(abs(x) for part in parts for x, _ in part.readings)
    new, limit, life = (_known(each) for each in (frame.new_width, frame.limit_distance, frame.service_life))
    sizes = [*map(abs, deviations), *gauges, new or 0.0, limit or 0.0]
    units = Units(longest or life or 1.0, max(sizes) or 1.0, shift)
    distance = limit or (max(deviations) - min(deviations)) or units.value
    width = new or NEW_OF_LIMIT * distance
    uncertain = [u for u in gauges if u > 0.0]
    gauge = median(uncertain) if uncertain else GAUGE_OF_NEW * width
    return units, Scales(
        omega=OF_NEW_WIDTH * width / units.value,
        tau=OF_LIFE_RATE * distance / units.value * units.exposure / (life or units.exposure),
        sigma=OF_GAUGE * gauge / units.value,
        start=None if new is None else START_OF_NEW_WIDTH * new / units.value,
    )


def _known(amount: float | None) -> float | None:
    """An amount that is there and above zero."""
    return amount if amount is not None and amount > 0.0 else None
