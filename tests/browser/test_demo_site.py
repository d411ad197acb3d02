"""A visit to the demo's site, on a phone and on a desktop, in light and in dark."""

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from .conftest import Visit

pytestmark = pytest.mark.browser

ENGINE = "engines/K-07/index.html"
PART = "parts/RB-1041.html"
STRIP = "engines/K-07/teardowns/2026-10-17.html"
PAGES = [
    "index.html",
    ENGINE,
    PART,
    STRIP,
    "engines/K-07/log.html",
    "engines/Q-12/index.html",
    "engines/K-05/gaps.html",
]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_asks_nothing_of_another_host_and_reports_no_error(visit: Visit, path: str) -> None:
    page = visit.open(path)
    page.wait_for_load_state("networkidle")
    assert visit.said == []
    assert visit.elsewhere == []


@pytest.mark.parametrize("path", PAGES)
def test_nothing_scrolls_sideways(visit: Visit, path: str) -> None:
    page = visit.open(path)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_the_first_screen_says_where_it_stands_what_stops_it_first_and_what_is_due(visit: Visit, size: str) -> None:
    page = visit.open(ENGINE)
    height = page.viewport_size["height"] if page.viewport_size else 0
    for words in ("since build", "stops it first", "Next due"):
        found = page.locator(".ep :visible", has_text=re.compile(words)).last
        expect(found).to_be_visible()
        box = found.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= height, f"{words} is below the first screen of a {size}"


def test_search_finds_a_part(visit: Visit, size: str) -> None:
    page = visit.open(ENGINE)
    page.wait_for_load_state("networkidle")  # the index is there and its worker runs
    if size == "phone":
        page.locator("label[for='__search']").first.click()
    query = page.locator("input.md-search__input")
    expect(query).to_be_visible()
    query.press_sequentially("RB-1041")
    first = page.locator(".md-search-result__link[href*='RB-1041']").first
    expect(first).to_be_visible(timeout=30_000)
    first.click()
    expect(page.locator("h1").first).to_contain_text("RB-1041")


def test_a_cell_of_the_map_leads_to_its_part(visit: Visit) -> None:
    page = visit.open(ENGINE)
    cell = page.locator("table.engine-map td a", has_text="RB-1041").first
    cell.click()
    expect(page).to_have_url(re.compile(r"parts/RB-1041"))
    expect(page.locator("h1").first).to_contain_text("RB-1041")


def test_the_photo_viewer_opens_and_closes_by_keyboard(visit: Visit) -> None:
    page = visit.open(STRIP)
    link = page.locator("a[data-large]").first
    link.focus()
    page.keyboard.press("Enter")
    viewer = page.locator("dialog.photo-viewer")
    expect(viewer).to_be_visible()
    picture = viewer.locator("img").first
    expect(picture).to_be_visible()
    first = picture.get_attribute("src")
    page.keyboard.press("ArrowRight")
    expect(picture).not_to_have_attribute("src", first or "")
    page.keyboard.press("Escape")
    expect(viewer).to_be_hidden()
    expect(link).to_be_focused()


@pytest.mark.parametrize("path", ["index.html", ENGINE, PART, STRIP])
def test_axe_finds_no_serious_violation(visit: Visit, path: str) -> None:
    page = visit.open(path)
    found = Axe().run(page, context=".ep", options={"resultTypes": ["violations"]})
    serious = [
        f"{v['id']}: {v['help']} ({v['nodes'][0]['target']})"
        for v in found.response["violations"]
        if v["impact"] in ("serious", "critical")
    ]
    assert serious == []


def test_touch_targets_of_the_map_are_large_enough_for_a_thumb(visit: Visit) -> None:
    page = visit.open(ENGINE)
    heights = page.locator("table.engine-map td a").evaluate_all(
        "cells => cells.map(c => c.getBoundingClientRect().height)"
    )
    assert heights
    assert min(heights) >= 44  # WCAG 2.1, success criterion 2.5.5


def test_every_page_names_what_may_be_loaded_and_tells_no_other_host_where_it_came_from(site: Path) -> None:
    for path in site.rglob("*.html"):
        head = path.read_text(encoding="utf-8").split("</head>")[0]
        assert 'http-equiv="Content-Security-Policy"' in head, path
        assert '<meta name="referrer" content="no-referrer">' in head, path
        assert "noindex" in head, path


def test_no_link_of_the_site_is_dead(site: Path) -> None:
    dead = []
    for path in site.rglob("*.html"):
        for target in re.findall(r'(?:href|src)="([^"#?]+)', path.read_text(encoding="utf-8")):
            if not re.match(r"[a-z]+:", target) and not (path.parent / target).exists():
                dead.append(f"{path.relative_to(site)}: {target}")
    assert dead == []
