"""The page of a change: the verdict first, every interval that counted, and the figures behind its chart."""

from dataclasses import replace
from pathlib import Path

import pytest

from engine_pages.history.tell import tell_shop
from engine_pages.pages.cache import Cache
from engine_pages.pages.charts.change_dots import ChangeDots, DotsRow, draw_change_dots
from engine_pages.pages.charts.interval_rows import IntervalRow, IntervalRows, draw_interval_rows
from engine_pages.pages.site import Site, build_pages
from engine_pages.records.checks.all import read_checked

from ..history.shop_for_tests import TODAY, texts
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
    assert text.index("Wear is lower on thin than on thick.") < text.index("Did it help") < text.index("What was compared")
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
