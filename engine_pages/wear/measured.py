"""A value with its variance budget: readings, repeats and brackets in, values that keep what they share out.

Two readings of one gauge on one sheet are wrong by the same zero. A value therefore carries, beside the variance that
is its own, the signed part that each named source gives it; where two values meet, what they share adds up or cancels.
First-order propagation throughout (GUM, JCGM 100:2008, clause 5): right where errors are small beside the values.
"""

import math
import statistics
from collections.abc import Hashable, Iterable, Mapping, Sequence

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

# The standard uncertainty of anything equally likely over a half-width is half-width / √3 (GUM 4.3.7),
# over a whole step is step / √12.
RECTANGLE_HALF_WIDTH = math.sqrt(3.0)
RECTANGLE_WIDTH = math.sqrt(12.0)


class Measured(Struct, frozen=True):
    """A value, the variance (u²) that belongs to it alone, and one standard deviation of each source that it shares.

    A source is any name that can be looked up, such as `("zero", gauge, sheet)`; sources are independent of each other,
    and what one gives has a sign, so that a difference can cancel it. Value and contributions are in one unit, the
    variance in its square.

    >>> round(Measured(60.061, 0.0015**2, {("zero", "bore-50-75", "T-0412"): 0.001}).u, 6)
    0.001803
    """

    value: float
    independent: float = 0.0
    shared: Mapping[Hashable, float] = field(default_factory=dict)

    @property
    def variance(self) -> float:
        """The whole variance, the square of the value's unit."""
        return self.independent + math.fsum(part * part for part in self.shared.values())

    @property
    def u(self) -> float:
        """The combined standard uncertainty, in the value's unit."""
        return math.sqrt(self.variance)


class Gauge(Struct, frozen=True):
    """Standard uncertainties of a gauge: of one reading, of its setting; `assumed` where its shop said neither."""

    repeat: float
    zero: float
    assumed: bool


def plus(first: Measured, second: Measured) -> Measured:
    """The sum of two different readings.

    >>> plus(Measured(50.0, 9e-6), Measured(0.2, 16e-6)).u
    0.005
    """
    return _combined([(1.0, first), (1.0, second)])


def minus(first: Measured, second: Measured) -> Measured:
    """The difference of two different readings; the zero of one gauge on one sheet cancels.

    >>> zero = {("zero", "mic", "T-1"): 0.004}
    >>> minus(Measured(60.25, 0.5, zero), Measured(60.0, 0.25, zero))
    Measured(value=0.25, independent=0.75, shared={})
    """
    return _combined([(1.0, first), (-1.0, second)])


def scaled(reading: Measured, factor: float) -> Measured:
    """The reading times an exact factor (a unit, a radius from a diameter).

    >>> scaled(Measured(2.0, 0.01), -3.0).value
    -6.0
    """
    return _combined([(factor, reading)])


def mean(readings: Sequence[Measured]) -> Measured:
    """The plain mean of one or more different readings; ValueError where there is none.

    >>> mean([Measured(1.0, 0.02, {"zero": 0.1}), Measured(2.0, 0.02, {"zero": 0.1})])
    Measured(value=1.5, independent=0.01, shared={'zero': 0.1})
    """
    if not readings:
        raise ValueError("a mean needs at least one reading")
    return _combined([(1.0 / len(readings), reading) for reading in readings])


def covariance(first: Measured, second: Measured) -> float:
    """The covariance of two different readings: what their shared sources give both, the square of the unit.

    >>> covariance(Measured(1.0, 0.02, {"zero": 0.5}), Measured(2.0, 0.02, {"zero": -0.5}))
    -0.25
    """
    common = (source for source in first.shared if source in second.shared)
    return math.fsum(first.shared[source] * second.shared[source] for source in common)


def covariance_matrix(readings: Sequence[Measured]) -> NDArray[np.float64]:
    """Variances and covariances of n different readings, n × n, the square of the unit.

    >>> covariance_matrix([Measured(1.0, 3.0, {"zero": 1.0}), Measured(2.0, 2.0, {"zero": 1.0})]).tolist()
    [[4.0, 1.0], [1.0, 3.0]]
    """
    sources = list(dict.fromkeys(source for reading in readings for source in reading.shared))
    parts = np.array([[reading.shared.get(source, 0.0) for source in sources] for reading in readings])
    own = np.diag([reading.independent for reading in readings])
    return own + parts @ parts.T if sources else own


def from_repeats(readings: Sequence[float], repeat: float, zero: float, zero_source: Hashable) -> Measured:
    """The mean of n readings taken one after another: u² = zero² + repeat²/n.

    Where the readings' own scatter is larger than `repeat` (standard uncertainty of one reading) it counts instead.
    `zero` is the standard uncertainty of the setting, shared by all that bears the name `zero_source`.
    All in one unit. ValueError with no reading or a negative uncertainty.

    >>> from_repeats([60.061, 60.062, 60.060], repeat=0.0015, zero=0.001, zero_source="T-0412").value
    60.061
    """
    if not readings:
        raise ValueError("a measured value needs at least one reading")
    if repeat < 0.0 or zero < 0.0:
        raise ValueError("a standard uncertainty is not negative")
    own_scatter = statistics.variance(readings) if len(readings) > 1 else 0.0
    return Measured(
        statistics.fmean(readings),
        max(repeat * repeat, own_scatter) / len(readings),
        {zero_source: zero} if zero > 0.0 else {},
    )


def from_bracket(low: float, high: float) -> Measured:
    """The middle of a range that holds the value, standard uncertainty half-width / √3 (GUM 4.3.7).

    For a feeler that goes and one that does not, and for the range in which a new part may lie. ValueError where `low`
    is above `high`.

    >>> round(from_bracket(0.05, 0.08).u, 5)
    0.00866
    """
    if low > high:
        raise ValueError(f"a range runs from low to high, not from {low} to {high}")
    half_width = (high - low) / 2.0
    return Measured(low + half_width, (half_width / RECTANGLE_HALF_WIDTH) ** 2)


def gauge_model(
    resolution: float | None,
    repeat: float | None,
    zero: float | None,
    uncertainty: float | None,
    last_digit: float,
) -> Gauge:
    """The two standard uncertainties of a gauge from what its shop wrote down, all in one unit.

    `uncertainty` alone counts as both, each divided by √2; beside one of the two it leaves the rest to the other.
    What still has no figure is assumed: resolution / √12, and at least half of `last_digit`, the step of the last
    written digit of the reading (0.001 for 60.061). ValueError where that step is not above zero.

    >>> gauge_model(0.01, None, None, None, last_digit=0.01)
    Gauge(repeat=0.005, zero=0.005, assumed=True)
    >>> gauge_model(None, 0.0015, 0.001, None, last_digit=0.001)
    Gauge(repeat=0.0015, zero=0.001, assumed=False)
    """
    if not last_digit > 0.0:
        raise ValueError("the step of the last written digit is above zero")
    if uncertainty is not None:
        half = uncertainty / math.sqrt(2.0)
        if repeat is None and zero is None:
            repeat = zero = half
        elif repeat is None and zero is not None:
            repeat = _rest(uncertainty, zero)
        elif zero is None and repeat is not None:
            zero = _rest(uncertainty, repeat)
    assumed = max((resolution or 0.0) / RECTANGLE_WIDTH, last_digit / 2.0)
    return Gauge(
        repeat=assumed if repeat is None else repeat,
        zero=assumed if zero is None else zero,
        assumed=repeat is None or zero is None,
    )


def _rest(whole: float, part: float) -> float:
    """What is left of a combined standard uncertainty when one part of it is known."""
    return math.sqrt(max(whole * whole - part * part, 0.0))


def _combined(terms: Iterable[tuple[float, Measured]]) -> Measured:
    """The sum of different readings, each times its factor, sources added with their sign."""
    terms = list(terms)
    sources: dict[Hashable, list[float]] = {}
    for factor, reading in terms:
        for source, part in reading.shared.items():
            sources.setdefault(source, []).append(factor * part)
    shared = {source: math.fsum(parts) for source, parts in sources.items()}
    return Measured(
        math.fsum(factor * reading.value for factor, reading in terms),
        math.fsum(factor * factor * reading.independent for factor, reading in terms),
        {source: part for source, part in shared.items() if part != 0.0},
    )
