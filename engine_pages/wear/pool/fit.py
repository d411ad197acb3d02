"""Like parts fitted together: readings of a pool in, one line for each part and a joint summary out.

Reading j of part i, at exposure x since the part's baseline, lies from its target by

    y_ij = (α + a_i) + (β + b_i) · x_ij + z_s + e_ij,    a_i ~ N(0, ω²),  b_i ~ N(0, τ²),  e_ij ~ N(0, u_ij² + σ²),

z_s being what readings share (a gauge's zero on one sheet), of known variance. ω, τ and σ are integrated on a grid with
the priors of `pool.priors`; the rest is linear and Gaussian. Each part's line is a mixture of normals in closed form.
"""

import math
from collections.abc import Hashable, Mapping, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct

from engine_pages.wear.least_squares import SAME_EXPOSURE
from engine_pages.wear.pool.grid import Nodes, Start, integrated, nodes_at
from engine_pages.wear.pool.line import PartLine
from engine_pages.wear.pool.numbers import Numbers, PoolPart, Units, numbers_of
from engine_pages.wear.pool.plan import Plan, plan_of
from engine_pages.wear.pool.priors import Frame, Scales, believed
from engine_pages.wear.pool.summary import JointSummary, Known, summary_of

# How parts start: each a little differently (ω); all alike (ω = 0); exactly on target (α = 0 and ω = 0).
Starts = Literal["spread", "alike", "exact"]

NOTHING_KNOWN = Frame()


class Spreads(Struct, frozen=True):
    """Standard deviations: of starts (ω, value's unit), of rates (τ, per exposure), beyond the gauge (σ, value's)."""

    omega: float
    tau: float
    sigma: float


class PoolFit(Struct, frozen=True, eq=False):
    """A pool's joint summary and the line of every part that has one, by its id."""

    summary: JointSummary
    lines: Mapping[str, PartLine]


def fit_pool(
    parts: Sequence[PoolPart],
    frame: Frame = NOTHING_KNOWN,
    starts: Starts = "spread",
    common: Sequence[Hashable] = (),
) -> PoolFit | None:
    """The lines of like parts, each from its own readings and from what the others say of the kind.

    `parts`: readings as (exposure since the baseline, `Measured` value), any exposure and any unit, each one kind of
    both over the pool. `frame`: what is known beside them, for the priors' scales. `common` names sources that reach
    over many parts (an expansion that all readings corrected to 20 °C share); every other shared source is a sheet's.

    Method: restricted likelihood at each node, integrated over ω, τ and σ on a grid. Assumes straight lines, normal
    spreads, and known uncertainties. Smallest sample: one reading with a start that is known, or two at different
    exposures; a part alone then has its own line, with σ by its prior; of few parts the priors speak with, and the
    intervals are wide. A part without a reading has its kind's line from its target. On drawn shops of 2 to 8 parts
    with 2 to 4 readings, 90 % intervals held the truth about as often as they say (tests/coverage_of_intervals.py).

    None with no reading at all; no lines where the readings show no rate. ValueError for an id twice, and for numbers
    that are not finite.

    >>> from engine_pages.wear.measured import Measured
    >>> zero = {("zero", "bore gauge", "T-0412"): 0.001}
    >>> old = [(0.0, Measured(60.050, 2e-6)), (22.1, Measured(60.061, 2e-6, zero))]
    >>> young = [(9.5, Measured(60.056, 2e-6, zero))]
    >>> parts = [PoolPart("RB-1042", tuple(old), 60.051), PoolPart("RB-1043", tuple(young), 60.051)]
    >>> fit = fit_pool(parts, Frame(new_width=0.022, limit_distance=0.054, service_life=120.0))
    >>> rate = fit.lines["RB-1042"].rate(0.9)
    >>> round(rate.value, 5), rate.low < 0.0005 < rate.high
    (0.00049, True)
    """
    found = _summed_up(parts, frame, starts, common)
    if found is None:
        return None
    summary, numbers, plan = found
    return PoolFit(summary, summary.lines_of(parts, numbers, plan))


def summary_of_pool(
    parts: Sequence[PoolPart],
    frame: Frame = NOTHING_KNOWN,
    starts: Starts = "spread",
    common: Sequence[Hashable] = (),
) -> JointSummary | None:
    """The summary of `fit_pool` alone: lines follow from it, of whom they are asked for."""
    found = _summed_up(parts, frame, starts, common)
    return found[0] if found is not None else None


def _summed_up(
    parts: Sequence[PoolPart], frame: Frame, starts: Starts, common: Sequence[Hashable]
) -> tuple[JointSummary, Numbers, Plan] | None:
    measured = _checked(parts)
    if not measured:
        return None
    units, scales = believed(measured, frame, is_tied(frame, starts))
    start = start_of(scales, starts)
    numbers = numbers_of(measured, units, common)
    plan = plan_of(numbers)
    nodes, weights = integrated(numbers, plan, start, scales)
    return summary_of(units, nodes, weights, _said(measured, start)), numbers, plan


def fit_with_spreads(
    parts: Sequence[PoolPart],
    spreads: Spreads,
    frame: Frame = NOTHING_KNOWN,
    starts: Starts = "spread",
    common: Sequence[Hashable] = (),
) -> PoolFit | None:
    """As `fit_pool` with ω, τ and σ known: best linear unbiased prediction, intervals normal (Henderson 1975).

    >>> from engine_pages.wear.measured import Measured
    >>> parts = [PoolPart("A", ((0.0, Measured(0.0)), (1.0, Measured(2.0)))), PoolPart("B", ((1.0, Measured(4.0)),))]
    >>> fit = fit_with_spreads(parts, Spreads(0.0, 1.0, 1.0), starts="exact")
    >>> [round(line.slope, 6) for line in fit.lines.values()], round(fit.lines["A"].rate(0.9).high, 4)
    ([2.5, 3.5], 3.9245)
    """
    measured = _checked(parts)
    if not measured:
        return None
    units, start, nodes = _known(measured, spreads, frame, starts, common)
    summary = summary_of(units, nodes, np.ones(1), _said(measured, start))
    return PoolFit(summary, summary.lines(parts, common))


def restricted_log_likelihood(
    parts: Sequence[PoolPart], spreads: Spreads, starts: Starts = "spread", common: Sequence[Hashable] = ()
) -> float:
    """The logarithm of the restricted likelihood at known spreads, with flat α and β (Patterson and Thompson 1971).

    In the units of the readings, with the constant of −½(n − p) log 2π and without one for the design, as mixed-model
    software prints it. For parts of known start only: one with an intercept of its own adds a constant. ValueError with
    no reading.

    >>> from engine_pages.wear.measured import Measured
    >>> parts = [PoolPart("A", ((1.0, Measured(2.0)), (1.0, Measured(4.0))))]
    >>> round(restricted_log_likelihood(parts, Spreads(0.0, 0.0, 1.0), "exact"), 6)
    -2.265512
    """
    measured = _checked(parts)
    units, start, nodes = _known(measured, spreads, NOTHING_KNOWN, starts, common)
    n = sum(len(part.readings) for part in measured)
    of_rate = math.log(units.value / units.exposure)
    of_start = 0.0 if start.exact else math.log(units.value)
    return float(nodes.log_likelihood[0]) + of_rate + of_start - n * math.log(units.value)


def _known(
    measured: Sequence[PoolPart], spreads: Spreads, frame: Frame, starts: Starts, common: Sequence[Hashable]
) -> tuple[Units, Start, Nodes]:
    """The one node of known spreads."""
    units, scales = believed(measured, frame, is_tied(frame, starts))
    start = start_of(scales, starts)
    omega = spreads.omega / units.value if starts == "spread" else 0.0
    tau, sigma = spreads.tau * units.exposure / units.value, spreads.sigma / units.value
    numbers = numbers_of(measured, units, common)
    axes = np.array([omega]), np.array([tau]), np.array([sigma])
    return units, start, nodes_at(numbers, plan_of(numbers), start, axes)


def start_of(scales: Scales, starts: Starts) -> Start:
    """What is believed of the mean start."""
    return Start(exact=starts == "exact", spread=starts == "spread", sd=scales.start)


def is_tied(frame: Frame, starts: Starts) -> bool:
    """Whether the mean start is held to its target, by a new range or exactly."""
    return starts == "exact" or bool(frame.new_width and frame.new_width > 0.0)


def _checked(parts: Sequence[PoolPart]) -> list[PoolPart]:
    """The parts that were measured."""
    if len({part.id for part in parts}) != len(parts):
        raise ValueError("each part of a pool has an id of its own")
    for part in parts:
        numbers = [part.target, *(n for x, value in part.readings for n in (x, value.value, value.variance))]
        if not all(math.isfinite(number) for number in numbers):
            raise ValueError(f"exposures, values and uncertainties of {part.id} are finite numbers")
    return [part for part in parts if part.readings]


def _said(measured: Sequence[PoolPart], start: Start) -> Known:
    """How much speaks in a summary, and of what."""
    n = sum(len(part.readings) for part in measured)
    return Known(n, len(measured), _has_start(measured, start), _has_rate(measured, start))


def _has_start(measured: Sequence[PoolPart], start: Start) -> bool:
    """Whether anything says where parts of the kind start."""
    return start.exact or start.sd is not None or any(not part.own_intercept for part in measured)


def _has_rate(measured: Sequence[PoolPart], start: Start) -> bool:
    """Whether the readings show a rate: two exposures of one part, or of parts that start alike, zero among them."""
    reach = SAME_EXPOSURE * max(abs(x) for part in measured for x, _ in part.readings)
    apart = [0.0] if start.exact or start.sd is not None else []
    for part in measured:
        own = [x for x, _ in part.readings]
        if max(own) - min(own) > reach:
            return True
        apart += [] if part.own_intercept else own
    return bool(apart) and max(apart) - min(apart) > reach
