"""Pages on paper: A4 and Letter, as the browser prints them."""

import io

import pytest
from playwright.sync_api import Browser
from pypdf import PdfReader

from .conftest import Visit

pytestmark = pytest.mark.browser

# millimetres to points, 72 to the inch (PDF 32000-1, 8.3.2.3)
SIZES = {"A4": (595, 842), "Letter": (612, 792)}


@pytest.fixture(params=list(SIZES))
def paper(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def printed(browser: Browser, address: str, path: str, paper: str) -> PdfReader:
    context = browser.new_context()
    visit = Visit(context, address)
    page = visit.open(path)
    page.wait_for_load_state("networkidle")
    data = page.pdf(format=paper, prefer_css_page_size=False)
    context.close()
    return PdfReader(io.BytesIO(data))


@pytest.mark.parametrize(
    ("path", "fewest", "most"),
    [("engines/K-07/index.html", 2, 6), ("parts/RB-1041.html", 2, 4), ("engines/K-07/teardowns/2026-10-17.html", 3, 9)],
)
def test_a_page_prints_on_as_many_sheets_as_expected(
    browser: Browser, address: str, paper: str, path: str, fewest: int, most: int
) -> None:
    pdf = printed(browser, address, path, paper)
    assert fewest <= len(pdf.pages) <= most
    width, height = SIZES[paper]
    assert abs(float(pdf.pages[0].mediabox.width) - width) < 2
    assert abs(float(pdf.pages[0].mediabox.height) - height) < 2


def test_engine_date_commit_and_page_number_stand_in_the_margin_of_every_page(
    browser: Browser, address: str, paper: str
) -> None:
    pdf = printed(browser, address, "engines/K-07/index.html", paper)
    for number, page in enumerate(pdf.pages, 1):
        text = page.extract_text()
        assert "K-07" in text
        assert "commit" in text
        assert f"{number} of {len(pdf.pages)}" in text or f"page {number}" in text.lower()


def test_a_photo_is_printed_whole_however_it_was_held(browser: Browser, address: str) -> None:
    context = browser.new_context()
    page = Visit(context, address).open("engines/K-07/teardowns/2026-10-17.html")
    page.emulate_media(media="print")
    shown = page.locator(".photo-row img").evaluate_all(
        "all => all.map((one) => [getComputedStyle(one).objectFit, one.getBoundingClientRect().height])"
    )
    assert shown
    assert {fit for fit, _ in shown} == {"contain"}
    assert max(height for _, height in shown) <= 60 / 25.4 * 96 + 1  # 60 mm; 96 px to the inch (CSS Values 4, 6.2)
    # an upright picture of 300 by 400: as wide as its height asks for, nothing cut from top or bottom
    ratio = page.locator(".photo-row img").first.evaluate(
        """(img) => { img.width = 300; img.height = 400; return getComputedStyle(img).aspectRatio; }"""
    )
    assert ratio.startswith("auto")
    context.close()


def test_no_navigation_is_printed(browser: Browser, address: str, paper: str) -> None:
    text = "".join(page.extract_text() for page in printed(browser, address, "parts/RB-1041.html", paper).pages)
    assert "Table of contents" not in text
    assert "Search" not in text
