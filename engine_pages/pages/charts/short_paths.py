"""A path in as few letters as it can be told in, the same drawing to a tenth of a px.

In: path data as matplotlib writes it, absolute and rounded to tenths, a letter for every step. Out: path data by steps
from point to point, or the circle that a path is. A page holds dozens of drawings twice, wide and narrow.
"""

import math
import re
from collections.abc import Iterator
from typing import Final

_STEP: Final = re.compile(r"([MLCQZz])([^MLCQZz]*)")
_NUMBER: Final = re.compile(r"-?\d+(?:\.\d)?")
_ARCS: Final = 8  # curves of which matplotlib makes a circle
_CIRCLE: Final = re.compile(rf"M[^MLCQZz]+(?:C[^MLCQZz]+){{{_ARCS}}}[Zz]")
_OFF: Final = 1.5  # tenths of a px by which a point misses its circle at most, where both are rounded

Point = tuple[int, int]  # tenths of a px


def short_path(data: str) -> str:
    """Path data told by steps from point to point; a straight one along an axis by its length alone.

    >>> short_path("M43.5 84.3L212 84.3L220 90.1L221 90.1z")
    'M43.5 84.3h168.5l8 5.8h1z'
    """
    out, last = [], ""
    at = start = (0, 0)
    for command, points in _steps(data):
        if command in "Zz":
            letter, numbers, at = "z", [], start
        elif command == "M":
            letter, numbers = "M", [*points[0]]
            at = start = points[0]
        else:
            letter, numbers = _by_steps(command.lower(), at, points)
            at = points[-1]
        out.append(_written("" if letter == last != "z" and letter != "M" else letter, numbers))
        last = letter
    return "".join(out)


def circle(data: str) -> tuple[str, str, str] | None:
    """Centre and radius, in px, of a path that is a circle; None for any other."""
    if not _CIRCLE.fullmatch(data):
        return None
    ends = [points[-1] for _, points in _steps(data) if points][1:]
    x, y = (sum(axis) / _ARCS for axis in zip(*ends, strict=True))
    reach = [math.hypot(one - x, other - y) for one, other in ends]
    radius = sum(reach) / _ARCS
    if max(abs(one - radius) for one in reach) > _OFF:
        return None
    return f"{x / 10:.4g}", f"{y / 10:.4g}", f"{radius / 10:.3g}"


def _steps(data: str) -> Iterator[tuple[str, list[Point]]]:
    """Each command with its points."""
    for command, words in _STEP.findall(data):
        numbers = [round(10 * float(one)) for one in _NUMBER.findall(words)]
        yield command, list(zip(numbers[::2], numbers[1::2], strict=True))


def _by_steps(letter: str, at: Point, points: list[Point]) -> tuple[str, list[int]]:
    """A command's letter and numbers, from where the one before ended."""
    steps = [one for x, y in points for one in (x - at[0], y - at[1])]
    if letter == "l" and steps[1] == 0:
        return "h", steps[:1]
    if letter == "l" and steps[0] == 0:
        return "v", steps[1:]
    return letter, steps


def _written(letter: str, numbers: list[int]) -> str:
    """Numbers behind their letter, a blank between two only where no sign parts them."""
    out = letter
    for number in numbers:
        text = (
            f"{number // 10}"
            if number % 10 == 0
            else f"{number / 10:.1f}".replace("0.", ".", 1 if abs(number) < 10 else 0)
        )
        out += text if text.startswith("-") or (out == letter and letter) else f" {text}"
    return out
