"""Whether a reading can be one of its part at all: far outside the new range it is a slip until looked at again."""

from ..wear.limits import Limit

# Outside the new range by more than this many of its widths, or on the side of wear by five times the way to the limit:
# a misplaced decimal, a turn, inches.
MANY_TIMES = 10.0


def far_off(value: float, new: tuple[float, float] | None, limit: Limit | None, wears: str) -> bool:
    """A value many times outside its new range, all in one unit. Without a new range nothing is far off.

    >>> far_off(2.364, (60.04, 60.06), Limit(max=60.105), "up"), far_off(60.2, (60.04, 60.06), Limit(max=60.105), "up")
    (True, False)
    """
    if new is None:
        return False
    low, high = new
    under, over = _reaches(new, limit, wears)
    return value < low - under or value > high + over


def _reaches(new: tuple[float, float], limit: Limit | None, wears: str) -> tuple[float, float]:
    """How far below and above the new range a reading may lie. Where wear does not lead, the range alone counts."""
    width = new[1] - new[0]
    wide = MANY_TIMES * max(width, _to_limit(new, limit))
    narrow = MANY_TIMES * width if width > 0 else wide
    if wears == "up":
        return narrow, wide
    return (wide, narrow) if wears == "down" else (wide, wide)


def _to_limit(new: tuple[float, float], limit: Limit | None) -> float:
    """Half the way from new to the limit that lies further."""
    low, high = new
    ends = [] if limit is None else [end for end in (limit.min, limit.max) if end is not None]
    return max((max(low - end, end - high, 0.0) for end in ends), default=0.0) / 2
