"""Paths told briefly draw what they were asked for, to a tenth of a px."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine_pages.pages.charts.paths import UNSEEN, path_of, short

Point = tuple[float, float]
TENTHS = st.integers(-9999, 9999).map(lambda tenths: tenths / 10)
POINTS = st.lists(st.tuples(TENTHS, TENTHS), min_size=1, max_size=25)


def absolute(data: str) -> list[Point]:
    """Every point of a path of lines, by the grammar of SVG 1.1, 8.3.9."""
    found: list[Point] = []
    at = start = (0.0, 0.0)
    for letter, words in re.findall(r"([Mlhvz])([^Mlhvz]*)", data):
        numbers = [float(one) for one in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", words)]
        if letter == "z":
            at = start
        while numbers:
            across = numbers.pop(0) if letter in "Mlh" else 0.0
            down = numbers.pop(0) if letter in "Mlv" else 0.0
            at = (across, down) if letter == "M" else (at[0] + across, at[1] + down)
            start = at if letter == "M" else start
            found.append(at)
    return found


def beside(point: Point, start: Point, end: Point) -> float:
    """Distance of a point from a stroke."""
    along, up = end[0] - start[0], end[1] - start[1]
    length = along**2 + up**2
    share = ((point[0] - start[0]) * along + (point[1] - start[1]) * up) / length if length else 0.0
    share = min(max(share, 0.0), 1.0)
    return math.hypot(point[0] - start[0] - share * along, point[1] - start[1] - share * up)


@given(POINTS, st.booleans())
def test_no_point_asked_for_lies_off_the_path_and_no_other_is_in_it(points: list[Point], closed: bool) -> None:
    told = path_of(points, closed=closed)
    drawn = [(round(x, 1), round(y, 1)) for x, y in absolute(told)]
    assert told.endswith("z") == closed
    assert set(drawn) <= set(points)
    assert (drawn[0], drawn[-1]) == (points[0], points[-1])
    legs = list(zip(drawn, drawn[1:] or drawn, strict=False))
    assert all(min(beside(point, *leg) for leg in legs) <= UNSEEN / 10 + 1e-9 for point in points)


def test_a_curve_sampled_finely_costs_its_bends_and_not_its_samples() -> None:
    curve = [(x, 100 + 40 * math.sin(x / 60)) for x in range(0, 400, 2)]
    assert len(absolute(path_of(curve))) < 50
    assert path_of([(x, 20) for x in range(100)]) == "M0 20h99"


def test_what_lies_between_tenths_is_rounded_and_never_seen() -> None:
    assert path_of([(0.04, -0.04), (10.26, 5)]) == "M0 0l10.3 5"
    assert (short(1.0), short(-0.3), short(0.05)) == ("1", "-.3", "0")


@pytest.mark.parametrize("nowhere", [math.nan, math.inf, -math.inf])
def test_a_point_that_lies_nowhere_is_refused(nowhere: float) -> None:
    with pytest.raises(ValueError, match="no place on a chart"):
        path_of([(0, 0), (1, nowhere)])
