"""Cylinder and chamber pressures: leak-down as a share, compression brought to the standard cranking speed.

Readings, speeds and a family's own curve come in; numbers go out. There is no general formula for the influence of
cranking speed, so nothing is corrected without a curve, nor outside it. Leak-downs taken through different orifices do
not compare.
"""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise


def leak_down_percent(supply: float, held: float) -> float:
    """The loss in percent, 100 · (supply − held) / supply; both pressures above atmosphere, in one unit.

    Below zero where two gauges disagree. ValueError where the supply is not above zero.

    >>> leak_down_percent(supply=80.0, held=72.0)
    10.0
    """
    if not supply > 0.0:
        raise ValueError("a supply pressure is above zero")
    return 100.0 * (supply - held) / supply


def speed_factor(curve: Sequence[tuple[float, float]], speed: float) -> float | None:
    """Reading at this cranking speed ÷ reading at the standard speed, straight between the curve's points.

    Exact at the points, None outside them. ValueError for an empty curve, speeds that do not increase strictly, or a
    factor that is not above zero.

    >>> speed_factor([(200.0, 0.5), (250.0, 1.0), (300.0, 1.25)], 275.0)
    1.125
    """
    if not curve:
        raise ValueError("a curve has at least one point")
    if any(later <= earlier for (earlier, _), (later, _) in pairwise(curve)):
        raise ValueError("a curve's speeds increase strictly")
    if any(not factor > 0.0 for _, factor in curve):
        raise ValueError("a curve's factors are above zero")
    if not curve[0][0] <= speed <= curve[-1][0]:
        return None
    right = bisect_left(curve, speed, key=lambda point: point[0])
    upper_speed, upper = curve[right]
    if upper_speed == speed:
        return upper
    lower_speed, lower = curve[right - 1]
    return lower + (upper - lower) * (speed - lower_speed) / (upper_speed - lower_speed)


def at_standard_speed(reading: float, speed: float, curve: Sequence[tuple[float, float]]) -> float | None:
    """The compression as it would read at the standard cranking speed: reading ÷ factor, in the reading's unit.

    None outside the curve: nothing is corrected there. Errors as for `speed_factor`.

    >>> at_standard_speed(810.0, 275.0, [(200.0, 0.5), (250.0, 1.0), (300.0, 1.25)])
    720.0
    """
    factor = speed_factor(curve, speed)
    return None if factor is None else reading / factor
