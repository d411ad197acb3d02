"""Paths told briefly draw what was drawn before."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.path import Path as Drawn

from engine_pages.pages.charts.short_paths import circle, short_path

TENTHS = st.integers(-9999, 9999).map(lambda tenths: tenths / 10)
POINT = st.tuples(TENTHS, TENTHS)
LINES = st.lists(POINT, min_size=2, max_size=12)


def absolute(data: str) -> list[tuple[float, float]]:
    """Every point of a path of lines and curves, by the grammar of SVG 1.1, 8.3.9."""
    found: list[tuple[float, float]] = []
    at = start = (0.0, 0.0)
    for letter, words in re.findall(r"([Mlhvcqz])([^Mlhvcqz]*)", data):
        numbers = [float(one) for one in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", words)]
        if letter == "z":
            at = start
        while numbers:
            if letter == "M":
                at = start = (numbers.pop(0), numbers.pop(0))
                found.append(at)
            elif letter in "hv":
                step = numbers.pop(0)
                at = (at[0] + step, at[1]) if letter == "h" else (at[0], at[1] + step)
                found.append(at)
            else:
                count = {"l": 1, "q": 2, "c": 3}[letter]
                points = [(at[0] + numbers.pop(0), at[1] + numbers.pop(0)) for _ in range(count)]
                found += points
                at = points[-1]
    return found


def written(points: list[tuple[float, float]], letter: str = "L", group: int = 1) -> str:
    (first, *others) = [f"{x:g} {y:g}" for x, y in points]
    return f"M{first}" + "".join(
        letter + " ".join(others[place : place + group]) for place in range(0, len(others), group)
    )


def close(points: list[tuple[float, float]]) -> list[tuple[object, object]]:
    return [(pytest.approx(x, abs=1e-6), pytest.approx(y, abs=1e-6)) for x, y in points]


@given(LINES, st.booleans(), LINES)
def test_a_line_told_briefly_goes_through_the_same_points(
    one: list[tuple[float, float]], closed: bool, other: list[tuple[float, float]]
) -> None:
    told = short_path(written(one) + ("z" if closed else "") + written(other))
    assert absolute(told) == close([*one, *other])


@given(st.lists(POINT, min_size=7, max_size=7), st.sampled_from([("C", 3), ("Q", 2)]))
def test_a_curve_told_briefly_has_the_same_handles(points: list[tuple[float, float]], kind: tuple[str, int]) -> None:
    letter, group = kind
    assert absolute(short_path(written(points, letter, group))) == close(points)


def test_it_is_told_in_four_fifths_of_the_letters() -> None:
    data = written([(43.5 + 7.6 * step, 56.9 + 0.1 * step * step) for step in range(20)])
    assert len(short_path(re.sub(r"\d+\.\d+", lambda one: f"{float(one[0]):.1f}", data))) < 0.8 * len(data)


def test_a_circle_of_curves_against_matplotlibs_unit_circle() -> None:
    points = [(100 + 4.5 * x, 50 + 4.5 * y) for x, y in Drawn.unit_circle().vertices[:-1]]
    rounded = [(round(x, 1), round(y, 1)) for x, y in points]
    assert circle(f"{written(rounded, 'C', 3)}z") in {("100", "50", "4.5"), ("100", "50", "4.51")}  # each end rounded


@pytest.mark.parametrize(
    "data",
    [
        "M0 0L1 0L1 1z",
        written([(0, 0), *[(x, x * x) for x in range(1, 25)]], "C", 3) + "z",
        written([(100 + 9 * x, 50 + 4.5 * y) for x, y in Drawn.unit_circle().vertices[:-1].round(2)], "C", 3) + "z",
    ],
    ids=["triangle", "curves", "ellipse"],
)
def test_what_is_no_circle_stays_a_path(data: str) -> None:
    assert circle(re.sub(r"-?\d+\.\d+", lambda one: f"{float(one[0]):.1f}", data)) is None
