"""Wear between two readings on either side of a change: increments in, those that count and their rates out.

The unit is an engine's interval between two sheets, run on one recipe. What its parts wore in it is not told apart by
their number: they share its season. Two increments of one part that meet share the reading between them, and parts read
on one sheet share the gauge's zero; rates therefore come with their whole covariance.
"""

import math
from collections.abc import Hashable, Mapping, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.wear.least_squares import Matrix, Vector
from engine_pages.wear.measured import Measured, covariance_matrix, minus

ChangeSide = Literal["before", "after"]
WhyOut = Literal["run-in", "more than one recipe", "its part counts on one side only"]

# Columns whose singular values are below this share of the largest say the same thing twice.
SAME_COLUMN = 1e-9


class SheetReading(Struct, frozen=True):
    """A reading and the sheet it stands on, which names it within its part (any name for a start that stands on none).

    The variance that is the value's own belongs to that one reading, wherever it is used.
    """

    sheet: Hashable
    value: Measured


class Increment(Struct, frozen=True):
    """What one dimension of one part wore between two of its readings.

    `part` names what is its own control: a part, and its dimension where there are several. (Where parts are replaced
    at each sheet it may name their place; what they differ by then counts as their own scatter.) `runs` is the exposure
    run in each engine-interval between the two readings, all in one unit: one interval, or several where a sheet
    between did not measure the part. `usual_rate` is what one exposure is expected to wear, known without these
    readings: rates are then multiples of it, and kinds can stand together. Left at 1 they are in the reading's unit per
    exposure; −1 is for a dimension that wears down, since wear counts upward. `mixed_recipe`: it ran on more than one.
    """

    part: Hashable
    side: ChangeSide
    runs: Mapping[Hashable, float]
    first: SheetReading
    last: SheetReading
    usual_rate: float = 1.0
    run_in: bool = False
    mixed_recipe: bool = False

    @property
    def exposure(self) -> float:
        """The exposure run between the two readings.

        >>> nothing = SheetReading("T-1", Measured(0.0))
        >>> Increment("RB-1042", "before", {"K-07 2025": 12.0, "K-07 2026": 8.5}, nothing, nothing).exposure
        20.5
        """
        return math.fsum(self.runs.values())


class LeftOut(Struct, frozen=True):
    """An increment that does not count, and why."""

    increment: Increment
    why: WhyOut


class Rates(Struct, frozen=True, eq=False):
    """n rates and what they share.

    `values` (n) are wear ÷ (exposure · usual rate), `known` (n × n) the covariance that their readings give them,
    `parts` (n × parts) and `after` (n) are 1 where an increment is of that part, is after the change; `shares` (n ×
    intervals) is the share of its exposure in each engine-interval, each row a sum of 1.
    """

    values: Vector
    known: Matrix
    parts: Matrix
    after: Vector
    shares: Matrix

    def intervals(self, side: ChangeSide) -> int:
        """How many engine-intervals the increments of a side tell apart; one that spans two counts as one.

        >>> reading = SheetReading("T-1", Measured(0.0))
        >>> rates_of([Increment("RB-1042", "after", {"2025": 1.0, "2026": 1.0}, reading, reading)]).intervals("after")
        1
        """
        return rank(self.shares[self.after == (1.0 if side == "after" else 0.0)])


def rank(columns: Matrix) -> int:
    """The number of independent columns of an n × k matrix whose entries are near one; 0 of an empty one.

    >>> rank(np.array([[1.0, 0.0], [0.0, 1.0], [0.5, 0.5]]))
    2
    """
    if 0 in columns.shape:
        return 0
    singular = np.linalg.svd(columns, compute_uv=False)
    return int((singular > SAME_COLUMN * singular[0]).sum()) if singular[0] > 0.0 else 0


def sorted_out(increments: Sequence[Increment]) -> tuple[tuple[Increment, ...], tuple[LeftOut, ...]]:
    """Those that count and those that do not, each in the order given.

    Out are increments that hold run-in or more than one recipe, and those of parts that are then left on one side only:
    each part is its own control. ValueError where an interval lies on both sides or a part runs through one twice,
    where one reading has two values, and for exposures that are not above zero or numbers that are not finite.

    >>> new, old = SheetReading("T-1", Measured(60.05)), SheetReading("T-2", Measured(60.06))
    >>> used, out = sorted_out([Increment("RB-1042", "before", {"K-07 2025": 12.0}, new, old, run_in=True)])
    >>> used, out[0].why
    ((), 'run-in')
    """
    _refuse_what_cannot_be(increments)
    whys = [_why_out(each) for each in increments]
    sides: dict[Hashable, set[ChangeSide]] = {}
    for each, why in zip(increments, whys, strict=True):
        if why is None:
            sides.setdefault(each.part, set()).add(each.side)
    used, out = [], []
    for each, why in zip(increments, whys, strict=True):
        if why is None and len(sides[each.part]) == 2:
            used.append(each)
        else:
            out.append(LeftOut(each, why or "its part counts on one side only"))
    return tuple(used), tuple(out)


def rates_of(increments: Sequence[Increment]) -> Rates:
    """The rates of n increments, with the covariance that shared readings and shared zeros give them.

    Rates are in the reading's unit per exposure, or multiples of the usual rate; covariance in the square of that.
    First-order propagation (GUM, JCGM 100:2008, clause 5); exposures are taken as exact.

    >>> readings = [SheetReading(sheet, Measured(value, 1e-6)) for sheet, value in enumerate((60.0, 60.02, 60.03))]
    >>> one = Increment("RB-1042", "before", {"2025": 10.0}, readings[0], readings[1])
    >>> two = Increment("RB-1042", "after", {"2026": 10.0}, readings[1], readings[2])
    >>> rates_of([one, two]).values.round(6).tolist(), (rates_of([one, two]).known * 1e8).round(6).tolist()
    ([0.002, 0.001], [[2.0, -1.0], [-1.0, 2.0]])
    """
    exposures = np.array([each.exposure for each in increments])
    per = exposures * np.array([each.usual_rate for each in increments])
    wear = [minus(_shared_alone(each.last), _shared_alone(each.first)) for each in increments]
    own = _own_errors(increments)
    parts = list(dict.fromkeys(each.part for each in increments))
    intervals = list(dict.fromkeys(interval for each in increments for interval in each.runs))
    runs = np.array([[each.runs.get(interval, 0.0) for interval in intervals] for each in increments])
    return Rates(
        values=np.array([each.value for each in wear]) / per,
        known=(covariance_matrix(wear) + own @ own.T) / np.outer(per, per),
        parts=np.array([[float(each.part == part) for part in parts] for each in increments]),
        after=np.array([float(each.side == "after") for each in increments]),
        shares=runs / exposures[:, np.newaxis],
    )


def _shared_alone(reading: SheetReading) -> Measured:
    """The reading with what it shares with others, less the error that is its own."""
    return replace(reading.value, independent=0.0)


def _own_errors(increments: Sequence[Increment]) -> Matrix:
    """What one standard deviation of each reading's own error does to each increment (n × readings)."""
    number: dict[tuple[Hashable, Hashable], int] = {}
    for each in increments:
        for reading in (each.first, each.last):
            number.setdefault((each.part, reading.sheet), len(number))
    errors = np.zeros((len(increments), len(number)))
    for row, each in zip(errors, increments, strict=True):
        row[number[each.part, each.last.sheet]] += math.sqrt(each.last.value.independent)
        row[number[each.part, each.first.sheet]] -= math.sqrt(each.first.value.independent)
    return errors


def _why_out(increment: Increment) -> WhyOut | None:
    if increment.run_in:
        return "run-in"
    return "more than one recipe" if increment.mixed_recipe else None


def _refuse_what_cannot_be(increments: Sequence[Increment]) -> None:
    sides: dict[Hashable, ChangeSide] = {}
    been: set[tuple[Hashable, Hashable]] = set()
    values: dict[tuple[Hashable, Hashable], Measured] = {}
    for each in increments:
        _refuse_numbers(each)
        for interval in each.runs:
            if (each.part, interval) in been:
                raise ValueError(f"{each.part} runs through the interval {interval} twice")
            been.add((each.part, interval))
            if not each.mixed_recipe and sides.setdefault(interval, each.side) != each.side:
                raise ValueError(f"the interval {interval} lies before the change or after it, not both")
        for reading in (each.first, each.last):
            if values.setdefault((each.part, reading.sheet), reading.value) != reading.value:
                raise ValueError(f"{each.part} has two values on the sheet {reading.sheet}")


def _refuse_numbers(increment: Increment) -> None:
    if not increment.runs or not all(0.0 < run < math.inf for run in increment.runs.values()):
        raise ValueError("an increment has run, and each of its exposures is above zero")
    if increment.usual_rate == 0.0 or not math.isfinite(increment.usual_rate):
        raise ValueError("a usual rate is a finite number and not zero")
    for reading in (increment.first.value, increment.last.value):
        if not (math.isfinite(reading.value) and math.isfinite(reading.variance) and reading.independent >= 0.0):
            raise ValueError("readings and their uncertainties are finite numbers, variances not negative")
