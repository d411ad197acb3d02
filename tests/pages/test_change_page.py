"""The page of a change: the verdict first, every interval that counted, and the figures behind its chart."""

from dataclasses import replace
from pathlib import Path

import pytest

from engine_pages.history.tell import tell_shop
from engine_pages.pages.cache import Cache
from engine_pages.pages.charts.interval_rows import IntervalRow, IntervalRows, draw_interval_rows
from engine_pages.pages.site import Site, build_pages
from engine_pages.records.checks.all import read_checked

from ..history.shop_for_tests import TODAY, texts
from ..history.test_changes import shop
from .test_site import Reader, no_photos, page_of


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    story = tell_shop(read_checked(texts(shop(0.5)), TODAY))
    return build_pages(story, None, "crew", no_photos, Cache(tmp_path_factory.mktemp("cache")))


def read(site: Site, path: str) -> str:
    return str(Reader(page_of(site, path).html).text).replace("\xa0", " ").replace("\u2060", "")


def test_the_verdict_stands_first_and_all_that_was_compared_under_it(site: Site) -> None:
    text = read(site, "changes/oil-1.md")
    assert text.index("Wear is lower after the change.") < text.index("Did it help") < text.index("What was compared")
    for words in ("from thick", "to thin", "5 20 readings", "A dot at 1 is as much wear after as before"):
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
