"""Which faces of a rotor, or which cylinders, lie low against the others, and how far they lie apart.

Readings of one go come in, so that cranking speed and warmth fall out of the comparison; a pattern goes out. What a
pattern is consistent with is common practice of the trade and is said elsewhere, never found here.
"""

from collections.abc import Sequence
from typing import Final, Literal

from msgspec import Struct

from engine_pages.wear.limits import Limit

Around = Literal["ring", "line"]  # faces of a rotor have two neighbours each; cylinders stand in a line
Pattern = Literal["even", "one low", "two neighbours low", "several low", "all low", "cannot tell"]

UNDER_LEAST: Final = 0.5
"""Share of the margin by which one under its limit must lie below the highest to stand out. The shop's own choice."""


class Scatter(Struct, frozen=True):
    """How far two tests of one engine in one condition commonly differ: a share of the figure, an amount, or both."""

    share: float = 0.0
    amount: float = 0.0

    def of(self, figure: float) -> float:
        """The scatter at a figure, in its unit."""
        return self.share * abs(figure) + self.amount


COMPRESSION_SCATTER: Final = Scatter(share=0.05)
"""Of cranking compression, with a full battery, warm, one gauge. Common practice, from memory; no published figure."""

LEAK_DOWN_SCATTER: Final = Scatter(amount=2.0)
"""Of a leak-down, in points of percent, with one tester. Common practice, from memory; no published figure."""


def is_near(value: float, limit: Limit, scatter: Scatter) -> bool:
    """Whether between a reading within its limit and the limit less is left than the usual scatter there.

    Common practice, no published method.

    >>> [is_near(value, Limit(min=680.0), COMPRESSION_SCATTER) for value in (690.0, 714.0)]
    [True, False]
    """
    above = limit.min is not None and value - limit.min < scatter.of(limit.min)
    return above or (limit.max is not None and limit.max - value < scatter.of(limit.max))


class LowChambers(Struct, frozen=True):
    """The pattern of one set of readings; `low` are the places (from 0) of those that lie low."""

    pattern: Pattern
    low: tuple[int, ...]


def low_chambers(
    values: Sequence[float | None], margin: float | None, around: Around, least: float | None = None
) -> LowChambers:
    """Which of several readings lie low against the highest; all in one unit, a place that was not read is None.

    Low is what lies more than `margin` below the highest; beside it, what lies under `least` and more than half the
    margin below the highest, which is not under it. All under `least` and none apart: all are low. Of a loss, where
    more is worse, readings and limit come in negative. Cannot tell: fewer than two readings, or no margin above zero
    unless all are under `least`. On a ring the last is the first's neighbour, so that any two of three faces are
    neighbours. Common practice, no published method.

    >>> low_chambers([812.0, 806.0, 640.0], 150.0, "ring")
    LowChambers(pattern='one low', low=(2,))
    >>> low_chambers([778.0, 653.0, 660.0], 150.0, "ring", least=680.0)
    LowChambers(pattern='two neighbours low', low=(1, 2))
    >>> low_chambers([640.0, 655.0, 660.0], 150.0, "ring", least=680.0).pattern
    'all low'
    >>> low_chambers([9.0, 5.0, 9.0, 5.0], 1.0, "line").pattern
    'several low'
    """
    known = [(place, value) for place, value in enumerate(values) if value is not None]
    if len(known) < 2:
        return LowChambers("cannot tell", ())
    top = max(value for _, value in known)
    all_under = least is not None and top < least
    if margin is not None and margin > 0.0:
        far = tuple(place for place, value in known if top - value > margin)
        under = () if all_under else _under(known, top, margin * UNDER_LEAST, least)
        low = tuple(sorted({*far, *under}))
        if low or not all_under:
            return LowChambers(_pattern(low, len(values), around), low)
    elif not all_under:
        return LowChambers("cannot tell", ())
    return LowChambers("all low", tuple(place for place, _ in known))


def _under(known: Sequence[tuple[int, float]], top: float, margin: float, least: float | None) -> tuple[int, ...]:
    """Those under the limit that lie apart from the highest as well."""
    return tuple(place for place, value in known if least is not None and value < least and top - value > margin)


def _pattern(low: Sequence[int], count: int, around: Around) -> Pattern:
    if len(low) < 2:
        return "one low" if low else "even"
    if len(low) == 2 and _are_neighbours(low[0], low[1], count, around):
        return "two neighbours low"
    return "several low"


def _are_neighbours(first: int, second: int, count: int, around: Around) -> bool:
    apart = second - first
    return apart == 1 or (around == "ring" and apart == count - 1)


def apart(values: Sequence[float]) -> float | None:
    """How far the readings lie apart, in their unit; None for fewer than two.

    >>> apart([812.0, 806.0, 640.0]), apart([812.0])
    (172.0, None)
    """
    return max(values) - min(values) if len(values) > 1 else None
