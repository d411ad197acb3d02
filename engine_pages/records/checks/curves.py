"""Checks of a family's tests: the curve over cranking speed and the spreads agree with what they are read as.

In: checked records. Out: an error where a curve and its standard speed contradict each other, or a spread allows
nothing.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Final

from ..family import Family, TestRule
from ..model import Record
from ..quantity import Quantity
from ..source import Problem, error
from .checked import Checked

Point = tuple[Decimal, Decimal]

ROUNDED: Final = Decimal("0.005")
"""How far the factor at the standard speed may lie from 1: factors read off a graph are written to two decimals."""


def check_curves(checked: Checked) -> Iterator[Problem]:
    """A curve's factor is reading ÷ reading at the standard speed, `at`: there it is 1, and the curve reaches there."""
    for record, name, rule in _rules(checked):
        if rule.curve is None:
            continue
        steps, points = ("tests", name), tuple(rule.curve)
        first, last = points[0][0], points[-1][0]
        if rule.at is None:
            message = "a curve without at: is of no speed; write at: beside it, the speed where the factor is 1"
            yield error(record.document.key_place(*steps, "curve"), f"{message}{_where_one(points)}")
        elif (factor := _factor(points, rule.at.number)) is None:
            message = f"{rule.at.written} lies outside the curve, {first} to {last} rpm"
            yield error(record.place(*steps, "at"), f"{message}; at is the speed where its factor is 1")
        elif abs(factor - 1) > ROUNDED:
            message = f"at {rule.at.written} the curve gives {factor:.3f}, and 1 is wanted at the standard speed"
            yield error(record.place(*steps, "curve"), f"{message}; write the point [{rule.at.number}, 1.0]")


def check_spreads(checked: Checked) -> Iterator[Problem]:
    """Chambers and rows may lie some way apart, more than none."""
    for record, name, rule in _rules(checked):
        for side in ("chambers", "rows"):
            spread: Quantity | None = getattr(rule.spread, side) if rule.spread else None
            if spread is not None and spread.number <= 0:
                message = f"{spread.written}: a spread is above 0; leave the key out where there is none"
                yield error(record.place("tests", name, "spread", side), message)


def _rules(checked: Checked) -> Iterator[tuple[Record[Family], str, TestRule]]:
    for record in checked.families():
        yield from ((record, name, rule) for name, rule in (record.it.tests or {}).items())


def _factor(points: Sequence[Point], speed: Decimal) -> Decimal | None:
    """The curve at a speed, straight between its points; None outside them."""
    if len(points) == 1:
        return points[0][1] if points[0][0] == speed else None
    for (low, before), (high, after) in pairwise(points):
        if low <= speed <= high:
            return before + (after - before) * (speed - low) / (high - low)
    return None


def _where_one(points: Sequence[Point]) -> str:
    """The standard speed that the curve itself most likely means."""
    speed = next((speed for speed, factor in points if factor == 1), None)
    return f", at: {speed} rpm" if speed is not None else ""
