"""From values to px, and the numbers that stand on an axis.

In: the values to be shown. Out: a Scale, its round tick values, and texts with the digits that they need.
"""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, isfinite, log10
from typing import Final

from msgspec import Struct

from engine_pages.pages.words import figure_words, month_words, range_words, unit_words

MONTHS_APART = (1, 2, 3, 6, 12, 24, 60, 120, 240)  # between two dates on an axis
_STEPS: Final = (Fraction(10), Fraction(5), Fraction(5, 2), Fraction(2), Fraction(1))  # between two values on an axis
_FEWEST: Final = 2  # values inside a range, for its scale to be read
_ALIKE: Final = 1e-9  # of a step or a range: what is nearer than this is the same


class Scale(Struct, frozen=True):
    """A straight scale: `low` lies at px `start`, `high` at px `end`. The two values must differ."""

    low: float
    high: float
    start: float
    end: float

    def px(self, value: float) -> float:
        """Where a value lies, in px."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round values from `low` to `high`, in at most `most` steps; of no range its only value."""
    if not high > low:
        return [low]
    slack = (high - low) * _ALIKE
    return [value for value in _round_values(low, high, most) if low - slack <= value <= high + slack]


def rounded_out(low: float, high: float, most: int) -> tuple[float, float]:
    """The range widened to the round values around it; a range of nothing is widened first."""
    if not high > low:
        room = abs(low) * 0.05 or 1.0
        low, high = low - room, high + room
    found = _round_values(low, high, most)
    return min(found[0], low), max(found[-1], high)


def tick_texts(values: Sequence[float]) -> list[str]:
    """The values with as many decimals as tell them apart.

    >>> tick_texts([60.04, 60.06]), tick_texts([0.0, 0.025]), tick_texts([0.0, 2000.0])
    (['60.04', '60.06'], ['0.000', '0.025'], ['0', '2000'])
    """
    decimals = max((_decimals(value) for value in values), default=0)
    return [figure_words(value, decimals) for value in values]


def span_text(low: float, high: float | None, unit: str) -> str:
    """An interval with two figures of its width; the lower end rounded down and the upper up, so that both still hold.

    >>> span_text(53.2, 71.4, ""), span_text(0.121, 0.494, ""), span_text(53.2, None, "")
    ('53–72', '0.12–0.50', 'not before 53')
    """
    if high is None or not isfinite(high):
        decimals = _supported(abs(low))
        return unit_words(f"not before {figure_words(_down(low, decimals), decimals)}", unit)
    decimals = _supported(high - low)
    return unit_words(range_words(_down(low, decimals), -_down(-high, decimals), decimals), unit)


def date_ticks(start: date, end: date, width: float, apart: float) -> list[tuple[date, str]]:
    """First days of months or years between two dates, `apart` px or more from each other on `width` px."""
    days = max((end - start).days, 1)
    months = next((step for step in MONTHS_APART if step * 30.4 / days * width >= apart), MONTHS_APART[-1])
    first, last = start.year * 12 + start.month - 1, end.year * 12 + end.month - 1
    round_ones = range(ceil(first / months) * months, last + 1, months)
    dates = (date(count // 12, count % 12 + 1, 1) for count in round_ones)
    return [(day, str(day.year) if months >= 12 else month_words(day)) for day in dates if start <= day <= end]


def _round_values(low: float, high: float, most: int) -> list[float]:
    """Round values that begin at or below the range and end at or above it: of the steps that part it into `most` or
    fewer the least, or a lesser one where fewer than two values would lie inside.
    """
    power = floor(log10((high - low) / most))
    steps = [step * Fraction(10) ** (power - down) for down in range(3) for step in _STEPS]
    enough = [step for step in steps if float(step) * most >= (high - low) * (1.0 - _ALIKE)]
    for step in steps[len(enough) - 1 :]:
        first, last = floor(low / float(step) + _ALIKE), ceil(high / float(step) - _ALIKE)
        values = [float(step * count) for count in range(first, last + 1)]
        if sum(low <= value <= high for value in values) >= _FEWEST:
            break
    return values


def _decimals(value: float) -> int:
    """Decimals that a round value has."""
    exponent = Decimal(repr(value)).normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _supported(width: float) -> int:
    """Decimals that show the first two figures of a width, none when it is ten or more."""
    return max(0, 1 - floor(log10(width))) if width > 0 else 0


def _down(value: float, decimals: int) -> float:
    """The value rounded down to so many decimals; what is within rounding of a step stays on it."""
    return floor(value * 10.0**decimals + 1e-9) / 10.0**decimals
