"""Doubts that only the figures can show: a reading far outside the new range, or moved against wear; odd decisions."""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from ..records.source import Problem, doubt
from ..records.units import canonical, convert, dimension_of
from .plausible import far_off
from .story import DimensionStory, PartStory, ReadingStory

TURNS = {
    0.5: "one turn of a metric micrometer",
    0.635: "one turn of an inch micrometer (0.025 in)",
}  # mm, trade practice
INCH = 25.4


def doubts_of(parts: Iterable[PartStory]) -> Iterator[Problem]:
    """Every doubt that the parts' figures raise."""
    for part in parts:
        for dimension in part.dimensions:
            yield from _far_off(part, dimension)
            yield from _against_wear(part, dimension)
            yield from _jumped(part, dimension)


def _far_off(part: PartStory, dimension: DimensionStory) -> Iterator[Problem]:
    if dimension.new is None:
        return
    low, high = dimension.new
    for reading in dimension.readings:
        value = reading.value
        if value is None or reading.u is None or reading.baseline != dimension.baseline_number:
            continue
        if far_off(value, dimension.new, dimension.limit, dimension.wears):
            new = f"{low:g} to {high:g} {dimension.unit}"
            read = f"{dimension.name.lower()} of {part.id} reads {value:g} {dimension.unit}"
            yield doubt(reading.source, f"{read}; new is {new}: {_guess(value, low, high, dimension.unit)}")


def _guess(value: float, low: float, high: float, unit: str) -> str:
    middle = (low + high) / 2
    for factor in (10.0, 100.0, 1000.0):
        if _near(value * factor, low, high) or _near(value / factor, low, high):
            return "is the decimal point in its place?"
    if canonical(unit) is None or dimension_of(unit) != "length":
        return "is it the right line?"
    if unit == "mm" and _near(value * INCH, low, high):
        return "was it read in inches?"
    if unit == "in" and _near(value / INCH, low, high):
        return "was it read in millimetres?"
    for of_mm, words in TURNS.items():
        turn = of_mm / float(convert(Decimal(1), unit, "mm"))
        if abs(abs(value - middle) - turn) <= (high - low) + 0.1 * turn:
            return f"off by about {words}?"
    return "is it the right line?"


def _near(value: float, low: float, high: float) -> bool:
    slack = max(high - low, 0.01 * abs(high))
    return low - slack <= value <= high + slack


def _jumped(part: PartStory, dimension: DimensionStory) -> Iterator[Problem]:
    """A change many times that of its kind: a slipped digit, another place, or something that happened."""
    if "." in dimension.id:  # a difference of readings: the reading itself is told
        return
    for jump in dimension.wear.jumps:
        reading = next((one for one in dimension.readings if one.sheet.path == jump.sheet), None)
        if reading is not None and reading.change is not None:
            moved = f"{dimension.name.lower()} of {part.id} moved by {reading.change:+.{dimension.decimals}f}"
            since = f"{dimension.unit} since {jump.since}"
            many = f", {abs(jump.times):.0f} times the spread of its kind" if jump.times is not None else ""
            yield doubt(reading.source, f"{moved} {since}{many}: the right line, or did something happen?")


def _against_wear(part: PartStory, dimension: DimensionStory) -> Iterator[Problem]:
    """A journal that grew: a change against the way it wears, beyond the uncertainty of the change."""
    if dimension.wears not in ("up", "down") or "." in dimension.id:
        return
    sign = 1.0 if dimension.wears == "up" else -1.0
    before: ReadingStory | None = None
    for reading in dimension.readings:
        change, u = reading.change, reading.change_u
        if change is not None and u is not None and before is not None and sign * change < -u:
            moved = "grew" if change > 0 else "shrank"
            amount = f"{abs(change):.{dimension.decimals}f} {dimension.unit}"
            what = f"{dimension.name.lower()} of {part.id} {moved} by {amount} since {before.day}"
            yield doubt(reading.source, f"{what}, against wear and beyond its uncertainty")
        before = reading if reading.u is not None else before
