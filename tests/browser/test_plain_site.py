"""The plain site from a disk: no generator made it, no server gives it out."""

import os
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import Browser, Page, expect

from engine_pages.cli import main

from .conftest import DESKTOP, PHONE, RECORDS, Visit, serve

pytestmark = pytest.mark.browser

ENGINE = "engines/K-07/index.html"
STRIP = "engines/K-07/teardowns/2026-10-17.html"


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's plain site, written as the command writes it."""
    out = tmp_path_factory.mktemp("plain") / "with a blank"
    done = CliRunner().invoke(main, ["export", "--records", str(RECORDS), "--to", str(out)])
    assert done.exit_code == 0, done.output
    return out


@pytest.fixture
def disk(browser: Browser, plain: Path, size: str, scheme: str) -> Iterator[Visit]:
    """A visit to the folder itself."""
    context = browser.new_context(
        viewport=PHONE if size == "phone" else DESKTOP,
        color_scheme="dark" if scheme == "dark" else "light",
        has_touch=size == "phone",
        is_mobile=size == "phone",
    )
    yield Visit(context, plain.as_uri())
    context.close()


def searched(page: Page, words: str) -> None:
    field = page.get_by_role("searchbox", name="Search")
    field.focus()
    field.press_sequentially(words)
    expect(page.locator(".plain-found li").first).to_be_visible()


def test_search_finds_a_part_by_the_keyboard_alone(disk: Visit) -> None:
    page = disk.open(STRIP)
    searched(page, "rb-1041")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"/parts/RB-1041\.html$"))
    expect(page.locator("h1").first).to_contain_text("RB-1041")
    assert disk.said == []
    assert disk.elsewhere == []


def test_search_finds_a_word_of_a_page_and_leads_to_its_section(disk: Visit) -> None:
    page = disk.open("index.html")
    searched(page, "overlay flakes")
    expect(page.get_by_role("status")).to_contain_text("found")
    way = page.locator(".plain-found a[href*='#']").first.get_attribute("href") or ""
    page.goto(f"{disk.address}/{way}")
    assert page.locator(f"[id='{way.partition('#')[2]}']").count() == 1


def test_escape_leaves_the_search(disk: Visit) -> None:
    page = disk.open(ENGINE)
    searched(page, "bearing")
    page.keyboard.press("Escape")
    expect(page.locator(".plain-found")).to_be_hidden()
    expect(page.get_by_role("searchbox")).to_be_focused()


def test_every_page_stands_alone_without_an_error_or_a_way_elsewhere(disk: Visit) -> None:
    for path in ("index.html", ENGINE, STRIP, "methods.html", "engines/K-07/dossier.html"):
        page = disk.open(path)
        page.wait_for_load_state("networkidle")
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), path
        broken = "[...document.images].filter(one => one.complete && !one.naturalWidth).length"
        assert page.evaluate(broken) == 0, path
    assert disk.said == []
    assert disk.elsewhere == []


def test_the_list_of_pages_opens_on_a_phone_and_stands_on_a_desktop(disk: Visit, size: str) -> None:
    page = disk.open(ENGINE)
    overview = page.get_by_role("navigation", name="Pages").get_by_role("link", name="Overview")
    if size == "phone":
        expect(overview).to_be_hidden()
        page.get_by_text("All pages").click()
    expect(overview).to_be_visible()
    expect(overview).to_have_attribute("aria-current", "page")
    page.get_by_role("navigation", name="Pages").get_by_role("link", name="Engines").click()
    expect(page).to_have_url(f"{disk.address}/index.html")


@pytest.mark.parametrize("path", ["index.html", ENGINE])
def test_axe_finds_no_serious_violation(disk: Visit, path: str) -> None:
    page = disk.open(path)
    searched(page, "bearing")
    found = Axe().run(page, options={"resultTypes": ["violations"]})
    serious = [
        f"{v['id']}: {v['help']} ({v['nodes'][0]['target']})"
        for v in found.response["violations"]
        if v["impact"] in ("serious", "critical")
    ]
    assert serious == []


def test_a_server_gives_it_out_as_well(browser: Browser, plain: Path) -> None:
    server = serve(plain)
    visit = Visit(browser.new_context(viewport=DESKTOP), f"http://127.0.0.1:{server.server_address[1]}")
    page = visit.open(ENGINE)
    searched(page, "rb-1041")
    asked = {url.removeprefix(visit.address).partition("?")[0] for url in visit.asked}
    assert "/engine-pages/styles/plain.css" in asked
    assert visit.said == []
    page.context.close()
    server.shutdown()
    server.server_close()


def test_on_paper_the_page_stands_without_its_frame(disk: Visit) -> None:
    page = disk.open(ENGINE)
    page.emulate_media(media="print")
    for part in (".plain-head", ".plain-nav", ".plain-label"):
        expect(page.locator(part)).to_be_hidden()
    expect(page.locator("h1").first).to_be_visible()


def test_no_page_may_load_from_another_host_and_no_link_is_dead(plain: Path) -> None:
    for path in plain.rglob("*.html"):
        text = unescape(path.read_text(encoding="utf-8"))
        head = text.split("</head>")[0]
        assert "default-src 'none'" in head, path
        assert '<meta name="referrer" content="no-referrer">' in head, path
        assert "noindex" in head, path
        for target in re.findall(r'(?:href|src|data-index)="([^"#?]+)', text):
            assert target == "data:," or (path.parent / target).exists(), f"{path.relative_to(plain)}: {target}"


def test_the_same_records_give_the_same_bytes_and_an_earlier_writing_gives_way(plain: Path, tmp_path: Path) -> None:
    for _ in range(2):
        done = CliRunner().invoke(main, ["export", "--records", str(RECORDS), "--to", str(tmp_path / "again")])
        assert done.exit_code == 0, done.output
    there = {path.relative_to(plain): path.read_bytes() for path in plain.rglob("*") if path.is_file()}
    again = tmp_path / "again"
    assert {path.relative_to(again): path.read_bytes() for path in again.rglob("*") if path.is_file()} == there
    assert os.listdir(tmp_path) == ["again"]
