"""Which faces of a rotor, or which cylinders, lie low against the others, and what that is consistent with.

A comparison of readings taken in one go, so that cranking speed and warmth fall out. What it points to is common
practice in the trade, not a finding: an apex or corner seal parts two chambers and shows in both, a side seal belongs
to one; a head gasket between two cylinders shows in both, a valve or a ring in one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Around = Literal["ring", "line"]  # faces of a rotor have two neighbours each; cylinders stand in a line
Pattern = Literal["even", "one low", "two neighbours low", "scattered", "cannot tell"]


@dataclass(frozen=True, slots=True)
class LowChambers:
    """The pattern of one set of readings; `low` are the places (from 0) of those that lie low."""

    pattern: Pattern
    low: tuple[int, ...]


def low_chambers(values: Sequence[float], margin: float, around: Around) -> LowChambers:
    """Which of several pressures lie below the highest by more than a margin, both in one unit.

    `margin` is what chambers may lie apart by the family's own sheet. On a ring of three faces any two are neighbours.
    With all but one low nothing stands out against the rest, unless they are two neighbours of three. Fewer than two
    readings, or no margin above zero: cannot tell. Common practice, no published method.

    >>> low_chambers([812.0, 806.0, 640.0], 100.0, "ring")
    LowChambers(pattern='one low', low=(2,))
    >>> low_chambers([650.0, 640.0, 810.0], 100.0, "ring").pattern
    'two neighbours low'
    >>> low_chambers([9.0, 5.0, 9.0, 5.0], 1.0, "line").pattern
    'scattered'
    """
    if len(values) < 2 or not margin > 0.0:
        return LowChambers("cannot tell", ())
    top = max(values)
    low = tuple(n for n, value in enumerate(values) if top - value > margin)
    if not low:
        return LowChambers("even", ())
    if len(low) == 1:
        return LowChambers("one low", low)
    if len(low) == 2 and _are_neighbours(low[0], low[1], len(values), around):
        return LowChambers("two neighbours low", low)
    return LowChambers("scattered", low)


def _are_neighbours(first: int, second: int, count: int, around: Around) -> bool:
    apart = second - first
    return apart == 1 or (around == "ring" and apart == count - 1)


def apart(values: Sequence[float]) -> float | None:
    """How far the readings lie apart, in their unit; None for fewer than two.

    >>> apart([812.0, 806.0, 640.0]), apart([812.0])
    (172.0, None)
    """
    return max(values) - min(values) if len(values) > 1 else None
