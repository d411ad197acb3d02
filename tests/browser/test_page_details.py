"""A phone of 390 px with what a shop may well write: a serial of sixty characters, a note without a blank, a sheet
without a number."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from engine_pages.plugins.build import build_site
from playwright.sync_api import Browser, Page

from .conftest import PHONE, RECORDS, serve

pytestmark = pytest.mark.browser

SERIAL = "RB1041" + "X" * 27 + "-" + "7" * 26
STRIP = "engines/K-07/teardowns/2026-10-17"
PAGES = (
    "index.html",
    "engines/K-07/index.html",
    "engines/K-07/log.html",
    "engines/K-07/service.html",
    "engines/K-07/gaps.html",
    "engines/K-07/builds/2026-10-31.html",
    f"{STRIP}.html",
    f"parts/{SERIAL}.html",
    "engines/Q-12/inspections/2026-10-31.html",
    "engines/K-07/tests.html",
    "changes/oil-1.html",
    "kinds/twin-rotor/rotor-bearing.html",
    "methods.html",
)
# what stands right of the column: nothing may, however long its word
OVERFLOWING = """() => {
  const column = document.querySelector('.ep').getBoundingClientRect().right + 1;
  return [...document.querySelectorAll('.ep :is(h1, h2, p, li, td, dd, small, a, b)')]
    .filter(one => !one.closest('.box, svg, thead') && one.getBoundingClientRect().right > column)
    .map(one => one.textContent.slice(0, 60));
}"""
NARROWEST_NAME = "() => Math.min(...[...document.querySelectorAll('.bar-list .name')].map(one => one.clientWidth))"
BROKEN_DAYS = """() => [...document.querySelectorAll('.ep .day')]
  .filter(one => one.getClientRects().length > 1).map(one => one.textContent)"""


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's records with the long serial, a long word in the log, and the last strip without its number."""
    folder = tmp_path_factory.mktemp("long") / "records"
    shutil.copytree(RECORDS, folder)
    for path in sorted(folder.rglob("*.yml")):
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("RB-1041", SERIAL), encoding="utf-8")
    (folder / "parts/RB-1041.yml").rename(folder / f"parts/{SERIAL}.yml")
    for name, old, new in (
        ("engines/K-07/log.yml", "note: limiter once", f"note: {'limiteronce' * 6}"),
        (f"{STRIP}/teardown.yml", "sheet: T-0412\n", ""),
    ):
        text = (folder / name).read_text(encoding="utf-8")
        assert old in text
        (folder / name).write_text(text.replace(old, new), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def phone(records: Path, browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Page, str]]:
    out = tmp_path_factory.mktemp("long-site")
    build_site(records, out)
    server = serve(out)
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    yield context.new_page(), f"http://127.0.0.1:{server.server_address[1]}"
    context.close()
    server.shutdown()
    server.server_close()


@pytest.mark.parametrize("path", PAGES)
def test_no_word_is_too_long_for_a_phone_and_no_day_breaks(phone: tuple[Page, str], path: str) -> None:
    page, address = phone
    page.goto(f"{address}/{path}", wait_until="load")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert page.evaluate(OVERFLOWING) == []
    assert page.evaluate(BROKEN_DAYS) == []


def test_why_it_is_near_its_limit_leaves_room_for_its_name(phone: tuple[Page, str]) -> None:
    page, address = phone
    page.goto(f"{address}/parts/{SERIAL}.html", wait_until="load")
    assert "near because" in (page.locator(".bar-list").first.text_content() or "")
    assert page.evaluate(NARROWEST_NAME) >= 100  # px, a third of the column


def test_a_strip_without_a_number_is_headed_by_a_day_on_one_line(phone: tuple[Page, str]) -> None:
    page, address = phone
    page.goto(f"{address}/{STRIP}.html", wait_until="load")
    heading = page.locator("h1").first
    assert "17\xa0Oct\xa02026" in (heading.text_content() or "")


def test_photos_of_a_strip_stand_two_in_a_row_on_the_narrowest_phone(phone: tuple[Page, str]) -> None:
    page, address = phone
    page.set_viewport_size({"width": 360, "height": 640})
    page.goto(f"{address}/{STRIP}.html", wait_until="load")
    figures = page.locator(".photo-row.by-two figure")
    rows = [round(box["y"]) for box in (figures.nth(n).bounding_box() for n in range(4)) if box is not None]
    assert (rows[0], rows[2]) == (rows[1], rows[3])
    assert rows[0] < rows[2]
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.set_viewport_size(PHONE)
