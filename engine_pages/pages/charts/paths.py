"""A path in as few letters as it can be told in, the same drawing to a tenth of a px.

In: points in px. Out: SVG path data (SVG 1.1, 8.3) by steps from point to point. A page holds dozens of drawings twice,
wide and narrow.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

UNSEEN: Final = 1.0  # tenths of a px by which a point may lie beside a straight line that is drawn in its place

Tenths = tuple[int, int]


def path_of(points: Iterable[tuple[float, float]], *, closed: bool = False) -> str:
    """The points joined by straight lines, told by steps; one along an axis by its length alone.

    Points in which nothing bends are left out. ValueError for a point that lies nowhere.

    >>> path_of([(43.5, 84.3), (212, 84.3), (220, 90.1), (221, 90.1)], closed=True)
    'M43.5 84.3h168.5l8 5.8h1z'
    """
    kept = _bends([(_tenths(x), _tenths(y)) for x, y in points])
    out, last = "M" + _written(kept[0]), "M"
    for before, here in pairwise(kept):
        letter, steps = _step(here[0] - before[0], here[1] - before[1])
        text = _written(steps)
        out += _apart(text) if letter == last else letter + text
        last = letter
    return out + ("z" if closed else "")


def short(value: float) -> str:
    """A number to a tenth: finer than a tenth of a px nothing is seen.

    >>> short(4.0), short(-0.04), short(12.25), short(0.5)
    ('4', '0', '12.2', '.5')
    """
    return _written((_tenths(value),))


def _tenths(value: float) -> int:
    if not math.isfinite(value):
        raise ValueError(f"{value} is no place on a chart")
    return round(10 * value)


def _bends(points: Sequence[Tenths]) -> list[Tenths]:
    """The points without those that lie on the straight line between the ones that stay (Douglas and Peucker 1973)."""
    kept, waiting = {0, len(points) - 1}, [(0, len(points) - 1)]
    while waiting:
        first, last = waiting.pop()
        off, at = max(((_beside(points[n], points[first], points[last]), n) for n in range(first + 1, last)),
                      default=(0.0, 0))  # fmt: skip
        if off > UNSEEN:
            kept.add(at)
            waiting += [(first, at), (at, last)]
    stay = [points[n] for n in sorted(kept)]
    return [stay[0], *(here for before, here in pairwise(stay) if here != before)]


def _beside(point: Tenths, start: Tenths, end: Tenths) -> float:
    """How far a point lies from a stroke, in tenths of a px."""
    along, up = end[0] - start[0], end[1] - start[1]
    x, y = point[0] - start[0], point[1] - start[1]
    length = along * along + up * up
    share = min(1.0, max(0.0, (x * along + y * up) / length)) if length else 0.0
    return math.hypot(x - share * along, y - share * up)


def _step(across: int, down: int) -> tuple[str, tuple[int, ...]]:
    """A step's letter and its numbers."""
    if down == 0:
        return "h", (across,)
    if across == 0:
        return "v", (down,)
    return "l", (across, down)


def _written(tenths: Sequence[int]) -> str:
    """Numbers with a blank between two only where no sign parts them."""
    texts = [_number(one) for one in tenths]
    return texts[0] + "".join(map(_apart, texts[1:]))


def _apart(text: str) -> str:
    """A number, or several, behind another."""
    return text if text.startswith("-") else f" {text}"


def _number(tenths: int) -> str:
    sign, (whole, part) = "-" if tenths < 0 else "", divmod(abs(tenths), 10)
    return f"{sign}{whole}" if part == 0 else f"{sign}{whole or ''}.{part}"
