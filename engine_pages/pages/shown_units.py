"""The units that a shop reads: lengths in the system it works in, and the other system small beside them.

In: a dimension's story in its own unit, and what shop.yml wants shown first and beside. Out: the same story in the unit
to be shown, and the words that stand beside a figure. Only lengths are turned; a record's own writing never is.
"""

import math
from decimal import Decimal
from typing import Final

from msgspec.structs import replace

from engine_pages.history.story import DimensionStory, ReadingStory, Wear
from engine_pages.pages.words import figure_words, unit_words
from engine_pages.records.units import convert
from engine_pages.wear.limits import Limit

_METRIC: Final = ("mm", "µm")
_INCH: Final = ("in", "thou")
_OTHER: Final = {"mm": "in", "µm": "thou", "in": "mm", "thou": "µm"}
SPOKEN_IN_THOU: Final = 0.05  # in: builders speak of a clearance in thou, of a bore in inches (common practice)


def factor(unit: str, target: str) -> float:
    """What a number in `unit` is multiplied by to stand in `target`; UnitError where they do not convert.

    >>> factor("in", "mm")
    25.4
    """
    return float(convert(Decimal(1), unit, target))


def decimals_in(unit: str, target: str, decimals: int) -> int:
    """Decimals after a change of unit that tell about as much as before.

    >>> decimals_in("mm", "in", 3), decimals_in("mm", "thou", 3), decimals_in("in", "mm", 4)
    (4, 1, 3)
    """
    return max(0, decimals - round(math.log10(factor(unit, target))))


def shown(dimension: DimensionStory, first: str) -> DimensionStory:
    """The dimension in the system of `first` (mm, µm, in, thou); itself where it is so already, or is no length."""
    target = _target(dimension.unit, first)
    return dimension if target is None else _in_unit(dimension, target)


def length_in(unit: str, first: str, value: float, decimals: int) -> tuple[str, float, int]:
    """The unit, the value and the decimals in which the system of `first` shows a figure.

    >>> length_in("mm", "in", 0.254, 3)
    ('in', 0.01, 4)
    """
    target = _target(unit, first)
    if target is None:
        return unit, value, decimals
    return target, value * factor(unit, target), decimals_in(unit, target, decimals)


def beside(value: float, unit: str, decimals: int, also: str | None) -> str | None:
    """The figure in the other system, as it stands small beside the first; None where there is nothing to say.

    >>> beside(60.087, "mm", 3, "in").replace("\\xa0", " "), beside(0.083, "mm", 3, "in").replace("\\xa0", " ")
    ('2.3656 in', '3.3 thou')
    """
    target = _target(unit, also) if also else None
    if target is None:
        return None
    if target == "in" and abs(value) * factor(unit, "in") < SPOKEN_IN_THOU:
        target = "thou"
    return unit_words(figure_words(value * factor(unit, target), decimals_in(unit, target, decimals)), target)


def _target(unit: str, wanted: str) -> str | None:
    """The unit of the wanted system that takes the place of this one; None where it is no length, or of it already."""
    if unit not in _OTHER or (unit in _METRIC) == (wanted in _METRIC):
        return None
    return _OTHER[unit]


def _in_unit(dimension: DimensionStory, target: str) -> DimensionStory:
    times = factor(dimension.unit, target)
    limit = dimension.limit
    return replace(
        dimension,
        unit=target,
        decimals=decimals_in(dimension.unit, target, dimension.decimals),
        limit=None if limit is None else Limit(_times(limit.min, times), _times(limit.max, times)),
        new=None if dimension.new is None else (dimension.new[0] * times, dimension.new[1] * times),
        readings=tuple(_reading(reading, dimension.unit, target, times) for reading in dimension.readings),
        baseline=_times(dimension.baseline, times),
        line=None if dimension.line is None else dimension.line.scaled(times),
        rate=None if dimension.rate is None else dimension.rate.times(times),
        wear=_wear(dimension.wear, times),
        line_points=tuple(
            (x, value * times, low * times, high * times) for x, value, low, high in dimension.line_points
        ),
    )


def _wear(wear: Wear, times: float) -> Wear:
    """What the kind says, its rates in the other unit too."""
    found = wear.selection
    if found is None:
        return wear
    without = None if found.rate_without is None else found.rate_without.times(times)
    return replace(wear, selection=replace(found, rate=found.rate.times(times), rate_without=without))


def _times(value: float | None, times: float) -> float | None:
    return None if value is None else value * times


def _reading(reading: ReadingStory, unit: str, target: str, times: float) -> ReadingStory:
    return replace(
        reading,
        value=_times(reading.value, times),
        value_20c=_times(reading.value_20c, times),
        u=_times(reading.u, times),
        low=_times(reading.low, times),
        high=_times(reading.high, times),
        decimals=decimals_in(unit, target, reading.decimals),
        change=_times(reading.change, times),
        change_u=_times(reading.change_u, times),
    )
