"""An owner opens the link on a phone; a buyer and who scans the plate do likewise."""

import gzip
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from speed.first_page import Host, first_page

from .conftest import PHONE, Visit

pytestmark = pytest.mark.browser

PART = "parts/RB-1041.html"
STRIP = "engines/K-07/teardowns/2026-10-17.html"
MOST_BYTES, MOST_REQUESTS = 300_000, 10  # of the first page without photos, packed as a host packs them
MOST_BYTES_A_PAGE = 53_500  # of an owner's site without photos, all of it over its pages: here it is 52.4 kB
MOST_PACKED_A_PAGE = 9_300  # the same as a host sends it: here 9.1 kB


@pytest.fixture
def owner(browser: Browser, public_tree: Path, public_address: str, links: dict[str, str]) -> Iterator[Visit]:
    yield from visits(browser, public_tree, public_address, links["owner"])


def visits(browser: Browser, tree: Path, address: str, token: str) -> Iterator[Visit]:
    """A visit on a phone. Nothing was asked for outside the share but its theme, and nothing complained of."""
    context = browser.new_context(viewport=PHONE, is_mobile=True, has_touch=True)
    visit = Visit(context, f"{address}/s/{token}")
    yield visit
    theme = next(path.name for path in tree.glob("theme-*"))
    inside = (f"{address}/s/{token}/", f"{address}/{theme}/", "data:", "blob:")
    assert [url for url in visit.asked if not url.startswith(inside)] == []
    assert visit.said == []
    context.close()


def serious(page: Page) -> list[str]:
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    return [f"{one['id']}: {one['nodes'][0]['target']}" for one in found if one["impact"] in ("serious", "critical")]


def test_the_first_screen_says_what_stops_it_first(owner: Visit) -> None:
    page = owner.open("")
    answer = page.locator(".answer").first
    expect(answer).to_contain_text("Rotor bearing 1 stops it first")
    box = answer.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= PHONE["height"]
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert serious(page) == []


def test_on_a_dark_machine_a_page_is_dark_before_the_theme_s_script_is_there(
    browser: Browser, public_address: str, links: dict[str, str]
) -> None:
    context = browser.new_context(viewport=PHONE, color_scheme="dark")
    page = context.new_page()
    page.route("**/bundle*.js", lambda route: route.abort())
    page.goto(f"{public_address}/s/{links['owner']}/{PART}")
    assert page.evaluate("document.body.dataset.mdColorScheme") == "slate"
    context.close()


def test_a_part_has_its_page_and_leads_back(owner: Visit) -> None:
    page = owner.open("")
    page.locator("table.engine-map td a", has_text="RB-1041").first.tap()
    expect(page.locator("h1").first).to_contain_text("RB-1041")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert serious(page) == []
    page.go_back()
    expect(page.locator("h1").first).to_contain_text("K-07")


def test_photos_open_go_on_and_close_by_touch(owner: Visit) -> None:
    page = owner.open(STRIP)
    page.locator("a[data-large]").first.tap()
    viewer = page.locator("dialog.photo-viewer")
    expect(viewer).to_be_visible()
    picture = viewer.locator("img").first
    expect(picture).to_have_js_property("complete", True)
    assert picture.evaluate("one => one.naturalWidth") > PHONE["width"]
    first = picture.get_attribute("src")
    viewer.get_by_role("button", name=re.compile("next", re.IGNORECASE)).tap()
    expect(picture).not_to_have_attribute("src", first or "")
    assert serious(page) == []
    viewer.get_by_role("button", name=re.compile("close", re.IGNORECASE)).tap()
    expect(viewer).to_be_hidden()


def test_on_paper_the_frame_and_the_search_are_gone(owner: Visit) -> None:
    page = owner.open(PART)
    page.emulate_media(media="print")
    for frame in (".md-header", ".md-sidebar--primary", ".md-search", ".md-footer"):
        assert page.locator(f"{frame}:visible").count() == 0, frame
    expect(page.locator(".ep svg.chart.wide").first).to_be_visible()
    expect(page.locator(".ep svg.chart.narrow").first).to_be_hidden()


def test_search_finds_a_word_of_a_finding_and_leads_to_it(owner: Visit) -> None:
    page = owner.open("")
    page.wait_for_load_state("networkidle")  # the index is there and its worker runs
    page.locator("label[for='__search']").first.tap()
    page.locator("input.md-search__input").press_sequentially("RB-1041")
    first = page.locator(".md-search-result__link[href*='RB-1041']").first
    expect(first).to_be_visible(timeout=30_000)
    first.tap()
    expect(page.locator("h1").first).to_contain_text("RB-1041")


def test_the_buyers_site_opens_and_knows_no_plan(
    browser: Browser, public_tree: Path, public_address: str, links: dict[str, str]
) -> None:
    for visit in visits(browser, public_tree, public_address, links["buyer"]):
        page = visit.open("")
        expect(page.locator(".answer").first).to_contain_text("Rotor bearing 1 stops it first")
        assert "The plan asks for" not in page.locator("body").inner_text()
        assert serious(page) == []
        visit.open(STRIP)
        page.locator("a[data-large]").first.tap()
        expect(page.locator("dialog.photo-viewer")).to_be_visible()


def test_the_plate_says_which_engine_it_is_and_what_is_due(
    browser: Browser, public_tree: Path, public_address: str, links: dict[str, str]
) -> None:
    for visit in visits(browser, public_tree, public_address, links["tag"]):
        page = visit.open("")
        expect(page.locator("h1").first).to_contain_text("K-07")
        assert not re.search(r"\.yml|Intervals", page.locator("body").inner_text())  # for who reads a plate
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        assert serious(page) == []


def test_the_first_page_is_light(browser: Browser, public_tree: Path, links: dict[str, str]) -> None:
    # What it takes in time: python tests/speed/first_page.py
    with Host(public_tree).open() as host:
        found = first_page(browser, host, f"s/{links['owner']}/")
    assert found.size <= MOST_BYTES, found.asked
    assert len(found.asked) <= MOST_REQUESTS, found.asked


def test_a_whole_site_is_not_heavier_than_its_pages_need(public_tree: Path, links: dict[str, str]) -> None:
    site = public_tree / "s" / links["owner"]
    files = [path for path in site.rglob("*") if path.is_file() and path.suffix != ".jpg"]
    pages = sum(path.suffix == ".html" for path in files)
    assert sum(path.stat().st_size for path in files) <= MOST_BYTES_A_PAGE * pages
    assert sum(len(gzip.compress(path.read_bytes())) for path in files) <= MOST_PACKED_A_PAGE * pages


def test_the_frame_of_a_page_is_told_without_empty_lines(public_tree: Path, links: dict[str, str]) -> None:
    text = (public_tree / "s" / links["owner"] / "methods.html").read_text(encoding="utf-8")
    assert not re.search(r"\n\s*\n", re.sub(r"(?s)<(pre|script|style)\b.*?</\1>", "as typed", text))
