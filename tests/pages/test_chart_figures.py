"""The figures behind a chart stand folded under it, for who cannot see it."""

from datetime import date

from msgspec.structs import replace

from engine_pages.pages.chart_figures import timeline_figures, wear_figures
from engine_pages.pages.charts.timeline import FluidLane, Timeline
from engine_pages.pages.charts.wear_chart import LimitLine, Point, WearChart

CHART = WearChart(
    title="Inside diameter", unit="mm", exposure_unit="h",
    readings=(Point(0.0, 60.051, 60.049, 60.053, label="60.051"), Point(22.1, 60.061, 60.059, 60.063, label="60.061")),
    line=((0.0, 60.051, 60.0495, 60.0525), (22.0, 60.061, 60.0593, 60.0627), (40.0, 60.0692, 60.0645, 60.0739)),
    last_x=22.1, limits=(LimitLine(60.105, "limit 60.105"),), new_range=None, marks=(), crossing=None, now_x=22.1,
    plan_x=39.5,
)  # fmt: skip


def plain(rows: tuple[tuple[str, ...], ...]) -> list[tuple[str, ...]]:
    return [tuple(cell.replace("\xa0", " ") for cell in row) for row in rows]


def test_readings_the_line_and_the_limit_are_in_the_table_with_their_units() -> None:
    found = wear_figures((CHART,))
    assert plain(found.rows) == [
        ("reading", "0.0 h", "60.051 mm", "60.0490", "60.0530"),
        ("reading", "22.1 h", "60.061 mm", "60.0590", "60.0630"),
        ("line at its start", "0.0 h", "60.0510 mm", "60.0495", "60.0525"),
        ("line now", "22.1 h", "60.0610 mm", "60.0593", "60.0628"),
        ("line at the plan’s end", "39.5 h", "60.0690 mm", "60.0644", "60.0736"),
        ("limit 60.105", "", "", "", ""),
    ]
    assert len(found.columns) == 5


def test_the_line_now_is_that_of_now_and_not_of_the_nearest_sample() -> None:
    # A line straight by construction: 60 mm and 0.1 mm an hour.
    straight = tuple((x, 60 + 0.1 * x, 59 + 0.1 * x, 61 + 0.1 * x) for x in (0.0, 12.0, 24.0))
    found = wear_figures((replace(CHART, line=straight, now_x=17.0, plan_x=30.0),))
    rows = {row[0]: row[1:] for row in plain(found.rows)}
    assert rows["line now"] == ("17.0 h", "61.7000 mm", "60.7000", "62.7000")
    assert "line at the plan’s end" not in rows  # the line is not known there


def test_of_several_small_charts_each_row_names_its_dimension() -> None:
    found = wear_figures((CHART, CHART))
    assert found.columns[0] == "dimension"
    assert {row[0] for row in found.rows} == {"Inside diameter"}
    assert {len(row) for row in found.rows} == {len(found.columns)}


def test_everything_on_a_timeline_is_in_its_table_in_order() -> None:
    data = Timeline(
        date(2026, 1, 1), date(2026, 6, 1), hours=((date(2026, 3, 1), 2.5),),
        sheets=((date(2026, 1, 1), "build", "B-1"), (date(2026, 5, 1), "teardown", "T-1")),
        incidents=((date(2026, 4, 1), "over-rev"),),
        fluids=(FluidLane("oil", ((date(2026, 1, 1), date(2026, 6, 1), "A"),)),),
    )  # fmt: skip
    assert [row[1] for row in timeline_figures(data).rows] == ["B-1", "oil: A", "2.5 h in all", "over-rev", "T-1"]
