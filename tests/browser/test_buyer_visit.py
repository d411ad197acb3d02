"""A buyer goes from the summary to a reading, its gauge, its photo and its correction, and back, by touch."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from .conftest import PHONE, Visit
from .test_owner_visit import serious, visits

pytestmark = pytest.mark.browser


@pytest.fixture
def buyer(browser: Browser, public_tree: Path, public_address: str, links: dict[str, str]) -> Iterator[Visit]:
    yield from visits(browser, public_tree, public_address, links["buyer"])


def headed(page: Page, words: str) -> None:
    expect(page.locator("h1").first).to_contain_text(words)


def test_the_summary_is_the_first_page_and_says_what_is_open(buyer: Visit) -> None:
    page = buyer.open("")
    expect(page.locator(".answer").first).to_contain_text("points of the record")
    expect(page.locator("h2", has_text="Known gaps")).to_be_visible()
    expect(page.locator("h2", has_text="How it was written")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert serious(page) == []


def test_to_a_reading_its_gauge_and_its_photo_and_back_in_three_steps_each(buyer: Visit) -> None:
    page = buyer.open("")
    page.locator("table.engine-map td a", has_text="RB-1041").first.tap()  # one
    headed(page, "RB-1041")
    expect(page.locator("body")).to_contain_text("bore-50-100")
    page.locator(".ep a", has_text="T-0412").first.tap()  # two
    headed(page, "T-0412")
    page.locator("a[data-large]").first.tap()  # three
    expect(page.locator("dialog.photo-viewer")).to_be_visible()
    page.keyboard.press("Escape")
    page.go_back()
    headed(page, "RB-1041")
    page.go_back()
    headed(page, "K-07")


def test_to_a_correction_with_both_figures_and_back(buyer: Visit) -> None:
    page = buyer.open("")
    page.locator("table a", has_text="inside diameter").first.tap()  # one
    headed(page, "T-0371")
    table = page.locator("section", has=page.locator("h2", has_text="Corrected since"))
    expect(table).to_contain_text("60.085")
    expect(table).to_contain_text("two digits swapped")
    assert "Rikke" not in page.locator("body").inner_text()
    page.go_back()
    headed(page, "K-07")


def test_the_whole_history_is_one_step_away(buyer: Visit) -> None:
    page = buyer.open("")
    page.locator(".ep a", has_text="Its whole history").first.tap()
    headed(page, "K-07")
    expect(page.locator("h2", has_text="What stops it first")).to_be_visible()
