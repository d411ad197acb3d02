"""The page of a change: the verdict first, every interval that counted, and the figures behind its chart."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from engine_pages.history.tell import tell_shop
from engine_pages.pages.cache import Cache
from engine_pages.pages.charts.change_dots import ChangeDots, DotsRow, draw_change_dots
from engine_pages.pages.charts.interval_rows import IntervalRow, IntervalRows, draw_interval_rows
from engine_pages.pages.charts.labels import letters_box
from engine_pages.pages.charts.life_rows import LifeRow, LifeRows, draw_life_rows
from engine_pages.pages.charts.rates_dots import RateRow, RatesDots, draw_rates_dots
from engine_pages.pages.charts.shapes import XY, Box
from engine_pages.pages.charts.sheet import Sheet
from engine_pages.pages.site import Site, build_pages
from engine_pages.records.checks.all import read_checked

from ..history.shop_for_tests import TODAY, texts
from ..history.test_change_questions import with_shaft
from ..history.test_changes import shop, twice_in_the_first_interval
from .test_site import Reader, no_photos, page_of


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    story = tell_shop(read_checked(texts(shop(0.5)), TODAY))
    return build_pages(story, None, "crew", no_photos, Cache(tmp_path_factory.mktemp("cache")))


def read(site: Site, path: str) -> str:
    return str(Reader(page_of(site, path).html).text).replace("\xa0", " ").replace("\u2060", "")


def test_the_verdict_stands_first_and_all_that_was_compared_under_it(site: Site) -> None:
    text = read(site, "changes/oil-1.md")
    assert (
        text.index("Wear is lower on thin than on thick.") < text.index("Did it help") < text.index("What was compared")
    )
    for words in ("from thick", "to thin", "5 on thick, 20 readings", "A dot at 1 is as much wear on thin as on thick"):
        assert words in text, words


def test_every_section_says_how_to_read_it(site: Site) -> None:
    text = read(site, "changes/oil-1.md")
    for words in (
        "the open dot is the rate on thick, the full one on thin",
        "lower or higher is said of a kind where it holds for all of them together",
        "Its parts share its season, so it counts once",
        "After a finding that looked bad the next one looks better by itself",
        "no reason is written",
    ):
        assert words in text, words


def test_rates_stand_before_and_after_with_their_unit(site: Site) -> None:
    text = read(site, "changes/oil-1.md")
    assert "inside, µm/h" in text
    assert "then 0." in text


def test_an_interval_leads_to_the_sheets_that_it_lies_between(site: Site) -> None:
    html = page_of(site, "changes/oil-1.md").html
    assert "engines/E1/builds/2020-01-20" in html
    assert "engines/E1/inspections/2020-04-20" in html


def test_what_was_left_out_stands_with_its_sheets_parts_and_why(tmp_path: Path) -> None:
    story = tell_shop(read_checked(texts(twice_in_the_first_interval("premix")), TODAY))
    whole = build_pages(story, None, "crew", no_photos, Cache(tmp_path))
    text = read(whole, "changes/oil-1.md")
    assert "What was left out 4 readings" in text
    for words in ("more than one recipe: premix", "B-1, B-2 and 2 more"):
        assert words in text, words


def test_the_page_of_fluids_leads_to_it(site: Site) -> None:
    html = page_of(site, "engines/E1/fluids.md").html
    assert "../../changes/oil-1.html" in html or "changes/oil-1" in html


def test_a_site_of_one_engine_holds_no_change_since_it_is_of_several(tmp_path: Path) -> None:
    story = tell_shop(read_checked(texts(shop(0.5)), TODAY))
    other = replace(story.engines[0], id="E2")
    two = replace(story, engines=(*story.engines, other))
    alone = build_pages(two, "E1", "crew", no_photos, Cache(tmp_path))
    assert not [page for page in alone.pages if page.path.startswith("changes/")]


@pytest.mark.parametrize("width", [700, 358])
def test_an_interval_without_a_bound_is_drawn_and_said(width: int) -> None:
    rows = (
        IntervalRow("all", 0.8, 0.6, 1.1, strong=True),
        IntervalRow("shaft", 0.4, None, None),
        IntervalRow("x", None, None, None),
    )
    svg = draw_interval_rows(IntervalRows("wear after ÷ before", rows, 1.0, "no change"), width)
    assert "no bound" in svg
    assert "not known" in svg
    assert f'viewBox="0 0 {width}' in svg


def test_a_chart_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a figure"):
        draw_interval_rows(IntervalRows("", (IntervalRow("x", None, None, None),)), 700)


DOTS = (
    DotsRow("all together", (1.0, 0.8, 1.2), (0.5, 0.4, 0.6), strong=True),
    DotsRow("Shaft, journal", (0.9, -90.0, 90.0), (1.1, 0.9, 1.3)),
)


@pytest.mark.parametrize("width", [700, 358])
def test_rates_before_and_after_are_drawn_in_pairs_and_said(width: int) -> None:
    svg = draw_change_dots(ChangeDots("wear as multiple of the usual", DOTS), width)
    assert "all together: 1.00 (0.80 to 1.20) before, 0.50 (0.40 to 0.60) after" in svg
    assert f'viewBox="0 0 {width}' in svg


def test_an_end_far_off_the_chart_does_not_squeeze_the_rest() -> None:
    svg = draw_change_dots(ChangeDots("wear", DOTS), 700)
    assert ">50<" not in svg
    assert ">1" in svg


def test_a_chart_of_no_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a kind"):
        draw_change_dots(ChangeDots("wear", ()), 700)


LONG = "Rotor bearing, inside diameter"
NARROW = {
    "ratios": lambda: draw_interval_rows(
        IntervalRows("wear on thin ÷ on thick", (IntervalRow(LONG, 0.4, 0.1, 0.8), IntervalRow("x", 1.0, 0.9, 1.1))),
        358,
    ),
    "pairs": lambda: draw_change_dots(
        ChangeDots("wear", (DotsRow(LONG, (2.0, 1.0, 3.0), (1.0, 0.5, 1.5)), *DOTS)), 358
    ),
    "rates": lambda: draw_rates_dots(
        RatesDots("wear, µm/h", (RateRow(LONG, "E1 b 1", 1.0, -0.5, 2.5),), (1.0, 0.5, 1.5)), 358
    ),
    "lives": lambda: draw_life_rows(LifeRows("hours", (LifeRow(LONG, "running", 0.0, 30.0, 40.0, False),)), 358),
}


@pytest.mark.parametrize("chart", NARROW)
def test_on_a_phone_no_line_of_the_axis_runs_through_a_name_and_none_is_cut(
    chart: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    uprights: list[Box] = []
    names: list[Box] = []
    line, text = Sheet.line, Sheet.text

    def drawn(self: Sheet, points: Sequence[XY], *rest: Any, **more: Any) -> None:
        (x, top), (other, bottom) = points[0], points[-1]
        if x == other and bottom - top > 12.0:
            uprights.append(Box(x, top, x, bottom))
        line(self, points, *rest, **more)

    def written(self: Sheet, at: XY, words: str, *rest: Any, **more: Any) -> None:
        if words == LONG:
            names.append(letters_box(at, words))
        text(self, at, words, *rest, **more)

    monkeypatch.setattr(Sheet, "line", drawn)
    monkeypatch.setattr(Sheet, "text", written)
    NARROW[chart]()
    assert len(names) == 1
    assert len(uprights) >= 3
    assert not [one for one in uprights if one.top < names[0].bottom and names[0].top < one.bottom]


def test_readings_stand_under_what_was_run_and_with_the_parts_left_out(site: Site, tmp_path: Path) -> None:
    assert "10.0 h4 readings" in read(site, "changes/oil-1.md")
    assert 'class="num optional"' not in page_of(site, "changes/oil-1.md").html
    story = tell_shop(read_checked(texts(twice_in_the_first_interval("premix")), TODAY))
    whole = build_pages(story, None, "crew", no_photos, Cache(tmp_path))
    assert "4 readings of B-1, B-2 and 2 more" in read(whole, "changes/oil-1.md")


def test_a_change_back_is_told_on_the_page_of_the_change(tmp_path: Path) -> None:
    story = tell_shop(read_checked(texts(with_shaft("thick thick thin thin thick thick")), TODAY))
    whole = build_pages(story, None, "crew", no_photos, Cache(tmp_path))
    assert [page.path for page in whole.pages if page.path.startswith("changes/")] == ["changes/oil-1.md"]
    text = read(whole, "changes/oil-1.md")
    assert "An engine went back to thick: that is no question of its own, it compares the same wear." in text
    assert "E1, 12 Jan 2021, back to thick:" in text
    assert "thick to thin, and back." in read(whole, "engines/E1/fluids.md")
