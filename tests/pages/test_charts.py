"""Charts: the same bytes every time, fit to live in any page, read out in words, and letters that keep apart."""

import re
import subprocess
import sys
from collections.abc import Callable
from datetime import date, timedelta
from functools import cache, partial
from itertools import combinations
from math import hypot
from pathlib import Path
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

from engine_pages.pages.charts.labels import letters_box
from engine_pages.pages.charts.life_strip import LifeStrip, Span, draw_life_strip
from engine_pages.pages.charts.paints import printed
from engine_pages.pages.charts.season import Season, SeasonEvent, draw_season
from engine_pages.pages.charts.shapes import Anchor, Box
from engine_pages.pages.charts.small_multiples import draw_small_multiples
from engine_pages.pages.charts.timeline import FluidLane, Timeline, draw_timeline
from engine_pages.pages.charts.wear_chart import LimitLine, Mark, Point, WearChart, draw_wear_chart
from engine_pages.pages.charts.wear_data import LinePoint

SVG = "{http://www.w3.org/2000/svg}"
WIDTHS = (700, 358)


def line(start: float, rate: float, end: float) -> tuple[LinePoint, ...]:
    """A fitted line that widens with exposure, sampled at 31 places."""
    xs = [end * step / 30 for step in range(31)]
    samples = [(x, start + rate * x, hypot(0.003, 0.0002 * x)) for x in xs]
    return tuple((x, y, y - half, y + half) for x, y, half in samples)


def reading(x: float, y: float, label: str = "", u: float = 0.002) -> Point:
    return Point(x, y, y - u, y + u, "gauge", label or f"{y:.3f}")


GOOD = WearChart(
    title="inside diameter",
    unit="mm at 20 °C",
    exposure_unit="h",
    readings=(reading(0.0, 60.051), reading(8.6, 60.058), reading(21.0, 60.070), reading(40.1, 60.087)),
    line=line(60.051, 0.0009, 80.0),
    last_x=40.1,
    limits=(LimitLine(60.105, "limit 60.105"),),
    new_range=(60.040, 60.060),
    marks=(
        Mark(8.6, "A", "move"),
        Mark(21.0, "B", "fluid"),
        Mark(30.6, "C", "incident"),
        Mark(31.0, "D", "machined"),
    ),
    crossing=(53.3, 71.0),
    now_x=42.2,
    plan_x=56.8,
    exposure_name="hours since new",
)
BARE = replace(GOOD, line=(), limits=(), new_range=None, marks=(), crossing=None, plan_x=None)
CLOSE = (reading(10.0, 79.960), reading(10.1, 79.959), reading(10.2, 79.957), reading(30.0, 79.941))
AWKWARD = {
    "as it should be": GOOD,
    "readings at nearly the same exposure": replace(
        GOOD,
        readings=CLOSE,
        line=line(79.97, -0.001, 60),
        limits=(LimitLine(79.9, "least 79.900"),),
        new_range=(79.96, 80.0),
    ),
    "a limit far off": replace(GOOD, limits=(LimitLine(60.9, "limit 60.900"),), crossing=None),
    "one reading": replace(GOOD, readings=(reading(33.0, 60.06),), line=(), last_x=33.0, crossing=None),
    "one reading and nothing else": replace(BARE, readings=(Point(0.0, 60.06, label="60.060"),), now_x=0.0),
    "no line": replace(GOOD, line=(), crossing=None),
    "no limit": replace(GOOD, limits=(), crossing=None),
    "no readings": replace(GOOD, readings=(), line=(), crossing=None),
    "nothing at all": replace(BARE, readings=(), now_x=0.0),
    "exposure of 0.1": replace(BARE, readings=(reading(0.05, 5.0), reading(0.1, 4.99)), last_x=0.1, now_x=0.1),
    "exposure of 100000": replace(
        GOOD,
        readings=(reading(99_000, 36.06), reading(100_000, 36.05)),
        line=(),
        last_x=1e5,
        exposure_unit="km",
        limits=(LimitLine(35.9, "least 35.900"),),
        new_range=(36.0, 36.2),
        marks=(),
        crossing=(180_000, 210_000),
        now_x=1e5,
        plan_x=12e4,
    ),
    "no upper bound": replace(GOOD, crossing=(49.0, None)),
    "met long after the plan": replace(GOOD, crossing=(300.0, 900.0)),
    "two limits": replace(GOOD, limits=(LimitLine(60.105, "most 60.105"), LimitLine(60.03, "least 60.030"))),
    "now and plan together": replace(GOOD, now_x=42.0, plan_x=42.3),
    "every kind of reading": replace(
        GOOD,
        readings=(
            Point(5.0, 60.055, 60.05, 60.06, "range", "60.050..60.060"),
            Point(20.0, 60.07, None, None, "under", "under 60.070"),
            Point(40.0, 60.08, None, None, "over", "over 60.080"),
        ),
    ),
    "many of everything": replace(
        GOOD,
        readings=tuple(reading(2 + 2.1 * k, 60.05 + 0.001 * k) for k in range(19)),
        marks=tuple(Mark(2.0 + 2.5 * k, chr(65 + k), "fluid") for k in range(15)),
    ),
}

START = date(2025, 2, 5)
TIMELINE = Timeline(
    START,
    date(2026, 11, 2),
    tuple((START + timedelta(days=30 * k), 1.7 * k) for k in range(1, 20)),
    (
        (date(2025, 2, 20), "build", "build"),
        (date(2025, 11, 3), "teardown", "T-0388"),
        (date(2026, 6, 2), "inspection", "look"),
        (date(2026, 10, 12), "teardown", "T-0412"),
        (date(2026, 10, 14), "build", "build"),
    ),
    ((date(2026, 5, 31), "over-rev"), (date(2026, 6, 1), "low oil pressure")),
    (
        FluidLane("oil", ((START, date(2026, 3, 14), "A"), (date(2026, 3, 14), date(2026, 11, 2), "B"))),
        FluidLane("a fluid with a very long name", ((START, START + timedelta(days=3), "C"),)),
    ),
)
STRIP = LifeStrip(
    (
        Span(date(2024, 4, 20), date(2024, 11, 2), "1", "8.6 h", "other"),
        Span(date(2024, 11, 2), date(2025, 2, 20), "", "", "shelf"),
        Span(date(2025, 2, 20), date(2026, 10, 12), "2", "31.5 h", "this"),
        Span(date(2026, 10, 24), date(2026, 11, 2), "3", "2.1 h", "this"),
    )
)
SEASON = Season(
    tuple(SeasonEvent(f"R{k}", f"{k + 2} Apr", "2.2 h", 1 - 0.03 * k, 0.97 - 0.04 * k, 1 - 0.02 * k) for k in range(8)),
    0.9,
    4,
)
ALONE = {
    "no sheets and no hours": Timeline(START, START, (), ()),
    "a decade": Timeline(
        date(2001, 3, 1), date(2026, 10, 20), ((date(2005, 1, 1), 900.0),), ((date(2001, 3, 1), "build", "B-1"),)
    ),
    "forty sheets": Timeline(
        START,
        date(2026, 11, 2),
        ((START, 1.0),),
        tuple((START + timedelta(days=12 * k), "teardown", f"T-{k:04d}") for k in range(40)),
    ),
}

CHARTS: dict[str, Callable[[int], str]] = {
    **{f"wear, {name}": partial(draw_wear_chart, one) for name, one in AWKWARD.items()},
    **{f"timeline, {name}": partial(draw_timeline, one) for name, one in ALONE.items()},
    "multiples": lambda width: draw_small_multiples([*AWKWARD.values()][:6], width),
    "one multiple": lambda width: draw_small_multiples([GOOD], width),
    "timeline": lambda width: draw_timeline(TIMELINE, width),
    "life": lambda width: draw_life_strip(STRIP, width),
    "a day's life": lambda width: draw_life_strip(LifeStrip((Span(START, START, "1", "0.2 h", "this"),)), width),
    "season": lambda width: draw_season(SEASON, width),
    "one event": lambda width: draw_season(Season(SEASON.events[:1], 0.9, 1), width),
    "sixteen events": lambda width: draw_season(Season(SEASON.events * 2, 0.95), width),
}
every_chart = pytest.mark.parametrize("name", CHARTS)
both_widths = pytest.mark.parametrize("width", WIDTHS)


@cache
def drawn(name: str, width: int) -> str:
    """A chart drawn once for all the tests that only look at it."""
    return CHARTS[name](width)


def letters(svg: ElementTree.Element) -> list[tuple[str, Box, bool]]:
    """Every text of a chart, the box it takes, and whether it was placed among others."""
    found = []
    for text in svg.iter(f"{SVG}text"):
        anchor: Anchor = text.get("text-anchor", "start")  # type: ignore[assignment]  # SVG's own three words
        bold = text.get("font-weight") == "700"
        at = float(text.get("x", "0")), float(text.get("y", "0"))
        found.append(
            (text.text or "", letters_box(at, text.text or "", anchor, bold=bold), text.get("class") == "halo")
        )
    return found


def words(svg: str) -> list[str]:
    return [text for text, _, _ in letters(ElementTree.fromstring(svg))]


@every_chart
@both_widths
def test_a_chart_is_well_formed_named_and_free_of_a_colour_of_its_own(name: str, width: int) -> None:
    text = drawn(name, width)
    svg = ElementTree.fromstring(text)
    assert svg.tag == f"{SVG}svg"
    assert svg.get("role") == "img"
    title, description = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert title.text
    assert description.text
    assert svg.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert not re.search(r"#[0-9a-fA-F]{3,8}\b(?!-)|rgb", re.sub(r'url\(#[^)]*\)|href="#[^"]*"', "", text))
    paints = set(re.findall(r'(?:fill|stroke)="([^"]+)"', text))
    assert all(paint == "none" or re.fullmatch(r"var\(--[a-z-]+\)|url\(#ep-shelf\)", paint) for paint in paints)


@every_chart
@both_widths
def test_a_chart_leaves_nothing_behind_that_could_touch_the_page(name: str, width: int) -> None:
    text = drawn(name, width)
    svg = ElementTree.fromstring(text)
    assert not [element for element in svg.iter() if element.tag.endswith(("style", "metadata", "script"))]
    assert svg.get("width") is None
    assert svg.get("height") is None
    assert "matplotlib" not in text.lower()
    ids = [element.get("id") for element in svg.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) - {"ep-shelf"} <= set(ids)
    assert svg.get("class") == ("chart wide" if width == 700 else "chart narrow")


@every_chart
@both_widths
def test_no_letter_leaves_the_chart(name: str, width: int) -> None:
    svg = ElementTree.fromstring(drawn(name, width))
    _, _, right, bottom = (float(part) for part in svg.get("viewBox", "").split())
    for text, box, _ in letters(svg):
        assert box.left >= -0.5, text
        assert box.right <= right + 0.5, text
        assert box.top >= 0, text
        assert box.bottom <= bottom + 0.5, text


@pytest.mark.parametrize("name", AWKWARD)
@both_widths
def test_placed_labels_keep_apart(name: str, width: int) -> None:
    placed = [
        (text, box) for text, box, among in letters(ElementTree.fromstring(drawn(f"wear, {name}", width))) if among
    ]
    for (one, first), (other, second) in combinations(placed, 2):
        assert first.overlap(second) == 0, f"{one} lies on {other}"


@every_chart
def test_the_same_data_gives_the_same_bytes(name: str) -> None:
    assert CHARTS[name](700) == drawn(name, 700)


def test_another_process_gives_the_same_bytes() -> None:
    program = (
        "from datetime import date\n"
        "from engine_pages.pages.charts.life_strip import *\n"
        "span = Span(date(2024, 1, 2), date(2025, 1, 2), '1', '3.0 h', 'this')\n"
        "print(draw_life_strip(LifeStrip((span,)), 358), end='')"
    )
    drawn = [
        subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": path},
        ).stdout.decode()
        for seed in ("1", "2")
        for path in [str(Path(__file__).parents[2])]
    ]
    here = draw_life_strip(LifeStrip((Span(date(2024, 1, 2), date(2025, 1, 2), "1", "3.0 h", "this"),)), 358)
    assert drawn == [here, here]


def test_several_charts_on_a_page_share_no_id() -> None:
    page = [drawn(name, width) for name in CHARTS for width in WIDTHS]
    ids = [found for text in page for found in re.findall(r' id="([^"]+)"', text)]
    assert len(ids) == len(set(ids))


def test_the_line_is_dashed_beyond_the_last_reading() -> None:
    svg = ElementTree.fromstring(draw_wear_chart(GOOD, 700))
    lines = [path for path in svg.iter(f"{SVG}path") if path.get("stroke") == "var(--steel)"]
    assert [path.get("stroke-dasharray") for path in lines] == [None, "5,4"]


def test_the_crossing_is_a_thick_piece_of_the_limit_with_its_words() -> None:
    text = draw_wear_chart(GOOD, 700)
    svg = ElementTree.fromstring(text)
    limits = [path for path in svg.iter(f"{SVG}path") if path.get("stroke") == "var(--beyond)"]
    assert sorted(float(path.get("stroke-width", "1")) for path in limits) == [2, 6]
    assert "meets it at 53–71\u00a0h" in words(text)


def test_a_crossing_with_no_upper_bound_says_not_before() -> None:
    text = draw_wear_chart(replace(GOOD, crossing=(49.0, None)), 700)
    assert "not before 49\u00a0h" in words(text)
    assert "the line meets it not before 49" in text


def test_a_limit_far_off_is_named_at_the_edge_and_readings_keep_their_height() -> None:
    text = draw_wear_chart(AWKWARD["a limit far off"], 700)
    assert "limit 60.900, above this chart" in words(text)
    assert 'stroke="var(--beyond)"' not in text


def test_the_last_reading_keeps_its_figure_where_readings_crowd() -> None:
    for width in WIDTHS:
        for name in ("many of everything", "readings at nearly the same exposure"):
            last = AWKWARD[name].readings[-1].label
            assert last in words(draw_wear_chart(AWKWARD[name], width))


def test_an_axis_of_exposure_names_each_of_its_values_once() -> None:
    for name in ("exposure of 0.1", "exposure of 100000"):
        figures = re.findall(r'text-anchor="middle"[^>]*>([0-9.\u00a0]+)<', draw_wear_chart(AWKWARD[name], 700))
        assert len(figures) > 2
        assert len(figures) == len(set(figures))


def test_readings_far_from_the_beginning_are_not_pressed_into_a_corner() -> None:
    text = draw_wear_chart(
        replace(GOOD, readings=(reading(900.0, 60.05), reading(950.0, 60.06)), now_x=950.0, plan_x=None, crossing=None),
        700,
    )
    assert "0" not in words(text)


def test_no_readings_are_said_in_words() -> None:
    assert "no readings" in words(draw_wear_chart(AWKWARD["no readings"], 358))


def test_a_dollar_or_a_letter_that_no_font_has_is_left_as_written() -> None:
    odd = replace(GOOD, title="bore $x_1$ & <b>", readings=(Point(1.0, 60.05, label="60.05 \u9ed1 \U0001d11e"),))
    text = draw_wear_chart(odd, 700)
    assert "bore $x_1$ & <b>, mm at 20 °C" in words(text)
    assert "60.05 \u9ed1 \U0001d11e" in words(text)


def test_a_line_break_or_a_control_character_does_not_break_a_chart() -> None:
    text = draw_wear_chart(replace(GOOD, limits=(LimitLine(60.105, "limit\n60.105\x07"),)), 700)
    assert "limit 60.105" in words(text)


def test_a_timeline_steps_up_with_the_hours_and_letters_its_fluids() -> None:
    said = words(draw_timeline(TIMELINE, 700))
    assert {"T-0388", "T-0412", "32.3", "over-rev", "A", "B", "oil", "hours", "sheets"} <= set(said)
    assert "C" not in said  # three days are too narrow for a letter; the key beneath has it


def test_a_timeline_without_hours_says_so() -> None:
    assert "no hours written" in words(draw_timeline(ALONE["no sheets and no hours"], 700))


def test_a_life_strip_tells_this_engine_another_and_the_shelf_apart_by_form() -> None:
    text = draw_life_strip(STRIP, 700)
    fills = re.findall(r'<path d="M[^"]+z" fill="([^"]+)"', text)
    assert fills == ["var(--sunk)", "url(#ep-shelf)", "var(--steel)", "var(--steel)"]
    assert {"1", "2", "8.6 h", "31.5 h"} <= set(words(text))


def test_events_below_the_wanted_chance_are_open_dots() -> None:
    svg = ElementTree.fromstring(draw_season(SEASON, 700))
    open_dots = [
        dot
        for dot in svg.iter(f"{SVG}circle")
        if dot.get("stroke") == "var(--warm)" and dot.get("fill") == "var(--paper)"
    ]
    assert len(open_dots) == sum(event.chance < 0.9 for event in SEASON.events)
    assert "open it here" in words(draw_season(SEASON, 700))


def test_an_empty_season_strip_or_set_of_panels_is_refused() -> None:
    with pytest.raises(ValueError, match="needs an event"):
        draw_season(Season((), 0.9), 700)
    with pytest.raises(ValueError, match="needs a span"):
        draw_life_strip(LifeStrip(()), 700)
    with pytest.raises(ValueError, match="no dimension"):
        draw_small_multiples([], 700)


def test_a_printed_chart_knows_no_variables() -> None:
    text = printed(draw_wear_chart(GOOD, 700) + draw_life_strip(STRIP, 700))
    assert "var(" not in text
    assert "url(#ep-" not in text
    assert "#6a6a6a" in text
