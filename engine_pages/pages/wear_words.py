"""Wear in words: exposures, how fast a part wears, and what is left until it meets its limit.

In: exposures, rates with their intervals, what is left from now on. Out: plain text. Nothing is judged here: what is
None is "cannot tell", and an interval that holds zero is no wear measurable yet.
"""

import math
from typing import Final

from engine_pages.history.shortlist import surely_left
from engine_pages.pages.words import (
    CANNOT_TELL,
    count_words,
    figure_words,
    range_words,
    unit_words,
)
from engine_pages.wear.exposure import Exposure
from engine_pages.wear.trend import Interval

DASH: Final = "–\u2060"  # in a sentence no line breaks after it, where a figure would fall apart
NO_WEAR: Final = "no wear measurable yet"
NO_UPPER_BOUND: Final = "no upper bound"

SAYS_NO_MORE: Final = 10.0  # an interval this many times as long as its lower end says no more than that end

# Exposure units: how an amount is written (one, several), its decimals, and how a rate is given per so much of it.
_AMOUNTS: Final = {
    "hours": ("h", "h", 1),
    "km": ("km", "km", 0),
    "starts": ("start", "starts", 0),
    "runs": ("run", "runs", 0),
    "months": ("month", "months", 0),
    "over_revs": ("over-rev", "over-revs", 0),
    "above_redline": ("s above the redline", "s above the redline", 0),
}
_PER: Final = {"hours": ("h", 1.0), "km": ("1000 km", 1000.0), "starts": ("start", 1.0), "runs": ("run", 1.0)}
# Wear is written a thousand times smaller than size: 0.00031 mm/h is read as 0.31 µm/h.
_SMALLER: Final = {"mm": ("µm", 1000.0), "in": ("thou", 1000.0)}


def amount_words(amount: float, unit: str) -> str:
    """An exposure: hours to a tenth, everything else whole: `41.6 h`, `1 start`, `140 km`.

    >>> [amount_words(2.04, "hours"), amount_words(1, "starts"), amount_words(6.2, "months")]
    ['2.0\\xa0h', '1\\xa0start', '6\\xa0months']
    """
    one, several, decimals = _AMOUNTS[unit]
    figure = figure_words(amount, decimals)
    return unit_words(figure, one if figure == "1" else several)


def exposure_words(exposure: Exposure, unit: str) -> str:
    """One figure of an exposure; a life that is partly unknown is `at least` so much."""
    words = amount_words(exposure.amount(unit), unit)
    return f"at least {words}" if exposure.at_least else words


def interval_words(interval: Interval, unit: str) -> str:
    """A value with its interval, in the digits that its width supports, two of them: `0.31 (0.12–0.49) µm/h`.

    >>> interval_words(Interval(0.31, 0.12, 0.49), "µm/h").replace("\\xa0", " ").replace("\\u2060", "")
    '0.31 (0.12–0.49) µm/h'
    """
    width = interval.high - interval.low
    decimals = max(0, 1 - math.floor(math.log10(width))) if width > 0.0 else 3
    figure = figure_words(interval.value, decimals)
    ends = range_words(interval.low, interval.high, decimals).replace("–", DASH)
    return unit_words(f"{figure} ({ends})", unit)


def rate_words(rate: Interval | None, unit: str, exposure_unit: str, readings: int) -> str:
    """How fast it wears, in a unit that is read easily: `0.31 (0.12–0.49) µm/h, 3 readings`.

    `rate` is in `unit` per one hour, km, start or run. A part that shrinks wears as fast as one that grows: the figure
    is a size without a sign. An interval that holds zero is no wear measurable yet; no rate at all is "cannot tell".

    >>> words = rate_words(Interval(-0.00031, -0.00049, -0.00012), "mm", "hours", 3)
    >>> words.replace("\\xa0", " ").replace("\\u2060", "")
    '0.31 (0.12–0.49) µm/h, 3 readings'
    >>> rate_words(Interval(0.0001, -0.0002, 0.0004), "mm", "hours", 2).replace("\\xa0", " ")
    'no wear measurable yet, 2 readings'
    """
    behind = count_words(readings, "reading")
    if rate is None:
        return f"{CANNOT_TELL}, {behind}"
    if rate.holds(0.0):
        return f"{NO_WEAR}, {behind}"
    return f"{speed_words(rate, unit, exposure_unit)}, {behind}"


def speed_words(rate: Interval, unit: str, exposure_unit: str) -> str:
    """The rate alone, without its readings: `0.31 (0.12–0.49) µm/h`; a size without a sign."""
    shown, times = _SMALLER.get(unit, (unit, 1.0))
    per, amount = _PER[exposure_unit]
    ends = sorted(abs(end) * times * amount for end in (rate.low, rate.high))
    return interval_words(Interval(abs(rate.value) * times * amount, *ends), f"{shown}/{per}")


def signed_speed_words(rate: Interval, unit: str, exposure_unit: str) -> str:
    """A rate that may run either way, with its signs: `0.04 (−0.26–0.34) µm/h`; wear counts upward."""
    shown, times = _SMALLER.get(unit, (unit, 1.0))
    per, amount = _PER[exposure_unit]
    ends = (end * times * amount for end in (rate.value, rate.low, rate.high))
    return interval_words(Interval(*ends), f"{shown}/{per}")


def speed_unit(unit: str, exposure_unit: str) -> tuple[str, float]:
    """The unit in which a rate is read, and what one in `unit` per one of exposure is multiplied by to stand in it.

    >>> speed_unit("mm", "hours")
    ('µm/h', 1000.0)
    """
    shown, times = _SMALLER.get(unit, (unit, 1.0))
    per, amount = _PER[exposure_unit]
    return f"{shown}/{per}", times * amount


def reach_words(low: float | None, middle: float | None, high: float | None, unit: str) -> str:
    """When a limit is met, from now on, by the ends of the interval: the lower rounded down, the upper rounded up.

    >>> for ends in ((11.3, 17.0, 28.4), (30.2, None, None), (2.21, 3.4, 5.06), (-1.0, 2.0, 6.0), (None, None, None)):
    ...     print(reach_words(*ends, "hours").replace("\\xa0", " ").replace("\\u2060", ""))
    in about 11–29 h
    not before 30 h
    in about 2.2–5.1 h
    any time from now, in 6.0 h at the latest
    cannot tell
    """
    word = _AMOUNTS[unit][1]
    if high is not None and high <= 0.0:
        return "met already"
    if low is not None and low > 0.0:
        if high is None or high > SAYS_NO_MORE * low:
            return unit_words(f"not before {figure_words(*surely_left(low))}", word)
        first, last = _both_ends(low, high)
        ends = first if first == last else f"{first}{DASH}{last}"
        return f"in about {unit_words(ends, word)}"
    if high is not None:
        return f"any time from now, in {unit_words(_both_ends(high, high)[1], word)} at the latest"
    return CANNOT_TELL if middle is None or low is None else f"any time from now, {NO_UPPER_BOUND}"


def _both_ends(low: float, high: float) -> tuple[str, str]:
    """The ends in one number of decimals: whole where both are ten or more, else to a tenth."""
    if high >= 10.0:
        return figure_words(math.floor(low), 0), figure_words(math.ceil(high), 0)
    return figure_words(math.floor(low * 10.0) / 10.0, 1), figure_words(math.ceil(high * 10.0) / 10.0, 1)
