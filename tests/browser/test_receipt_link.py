"""A receipt behind the bench page's address, as a phone's camera brings it, ends its draft and no other."""

import io
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from threading import Thread

import pytest
import zxingcpp
from bench.handed import under_git
from browser.conftest import RECORDS, Phone, begin, handed, kept, serve, to_place, until, until_kept
from PIL import Image
from playwright.sync_api import Browser, Page

from engine_pages.bench.handed_over import read_handed_over
from engine_pages.commands.bench_server import FROM_PAGE, BenchServer
from engine_pages.history.tell import tell_one
from engine_pages.pages.bench_shelf import bench_pages
from engine_pages.pages.link_code import code_svg
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

pytestmark = pytest.mark.browser
TODAY = date(2026, 11, 25)
DAY = "2026-11-24"
PICTURE = Image.new("RGB", (40, 30), (120, 60, 30))
GONE = "Thrown away: the shop has it."


@pytest.fixture(params=["from disk", "from a host", "from this machine's bench"])
def address(request: pytest.FixtureRequest, folder: Path, tmp_path: Path) -> Iterator[str]:
    """K-07's bench page in each of the three ways to it."""
    if request.param == "from disk":
        yield f"file://{folder}/bench/K-07/index.html"
        return
    server = serve(folder) if request.param == "from a host" else bench(tmp_path)
    below = f"{server.token}/" if isinstance(server, BenchServer) else ""
    yield f"http://127.0.0.1:{server.server_address[1]}/{below}bench/K-07/index.html"
    server.shutdown()
    server.server_close()


def bench(tmp_path: Path) -> BenchServer:
    """The server that `engine-pages bench` starts, with the demo's shop."""
    shop, site = tmp_path / "shop", tmp_path / "site"
    shutil.copytree(RECORDS, shop, ignore=shutil.ignore_patterns(".demo", "site"))
    checked = read_checked(Folder(under_git(shop)), TODAY)
    for path, made in bench_pages(checked, [tell_one(checked, "K-07")[0]], FROM_PAGE).items():
        (site / path).parent.mkdir(parents=True, exist_ok=True)
        (site / path).write_bytes(made())
    server = BenchServer(shop, site, 0, lambda _: None, lambda: None)
    Thread(target=server.serve_forever, daemon=True).start()
    return server


def photo() -> dict[str, object]:
    out = io.BytesIO()
    PICTURE.save(out, "JPEG")
    return {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


AT_WORK = "Nothing was thrown away: another window has this sheet open, and is at work on it."


def handed_over(page: Page, address: str, day: str = DAY) -> str:
    """A sheet with a photo, written and handed over; its receipt."""
    begin(page, address, "Teardown", day)
    to_place(page, "Rotor 1")
    page.get_by_label("Take or choose photos").set_input_files([photo()])
    page.locator(".photos li").first.wait_for()
    page.get_by_label("Finding").first.fill("a line of its own")
    until_kept(page, "a line of its own")
    page.get_by_role("button", name="Places").click()
    receipt = read_handed_over(handed(page)).receipt
    until(page, "bench.drafts().then((all) => all[0].handed.length === 1)")
    return receipt


def scanned(page: Page, address: str, receipt: str) -> Page:
    """The window that the phone's camera opens."""
    window = page.context.new_page()
    window.goto(f"{address}#receipt={receipt}")
    return window


def drafts(page: Page) -> int:
    count: int = page.evaluate("bench.drafts().then((all) => all.length)")
    return count


def test_a_scanned_receipt_ends_its_draft_and_leaves_the_address(phone: Phone, address: str) -> None:
    other = handed_over(phone.page, address, "2026-11-23")
    receipt = handed_over(phone.page, address)
    assert other != receipt
    phone.page.goto("about:blank")
    window = scanned(phone.page, address, receipt)
    window.get_by_text(f"Teardown, 24 Nov 2026. {GONE}").wait_for()
    assert window.url == f"{address}#/"
    assert kept(window)["day"] == "2026-11-23"
    window.reload()
    window.get_by_text("On this device").wait_for()
    assert drafts(window) == 1


def test_a_receipt_ends_a_draft_that_another_window_has_open_and_tells_it(phone: Phone, address: str) -> None:
    receipt = handed_over(phone.page, address)
    window = scanned(phone.page, address, receipt)
    window.get_by_text(GONE).wait_for()
    phone.page.get_by_text(GONE).wait_for()
    phone.page.get_by_text("No sheet is on this device").wait_for()
    assert drafts(window) == 0


def test_a_receipt_that_comes_to_an_open_page_is_taken_as_well(phone: Phone, folder_page: str) -> None:
    receipt = handed_over(phone.page, folder_page)
    phone.page.evaluate("(code) => { location.hash = `#receipt=${code}`; }", receipt.upper().replace("-", ""))
    phone.page.get_by_text(GONE).wait_for()
    phone.page.get_by_text("No sheet is on this device").wait_for()
    assert phone.page.url == f"{folder_page}#/"


def test_a_receipt_of_no_draft_here_is_said_and_ends_none(phone: Phone, folder_page: str) -> None:
    handed_over(phone.page, folder_page)
    window = scanned(phone.page, folder_page, "aaaa-aaaa")
    window.get_by_text("aaaa-aaaa is the receipt of no sheet here").wait_for()
    assert window.url == f"{folder_page}#/"
    assert drafts(window) == 1


def test_a_receipt_of_a_draft_that_was_changed_since_leads_to_it_and_does_not_end_it(
    phone: Phone, folder_page: str
) -> None:
    receipt = handed_over(phone.page, folder_page)
    phone.page.get_by_role("button", name="Places").click()
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_label("Finding").first.fill("a line more")
    until_kept(phone.page, "a line more")
    phone.page.goto("about:blank")
    window = scanned(phone.page, folder_page, receipt)
    window.get_by_text("This receipt is of an earlier state").wait_for()
    window.get_by_role("heading", name="Hand over").wait_for()
    assert "receipt=" not in window.url
    assert kept(window)["sheet"]["positions"]["rotor-1"]["finding"] == "a line more"


def test_what_another_window_has_not_kept_yet_is_not_lost_by_a_receipt(phone: Phone, folder_page: str) -> None:
    receipt = handed_over(phone.page, folder_page)
    phone.page.get_by_role("button", name="Places").click()
    to_place(phone.page, "Rotor 1")
    phone.page.evaluate("() => { writing = new Promise((done) => { window.goOn = done; }); }")
    phone.page.get_by_label("Finding").first.fill("typed while the camera was out")
    window = scanned(phone.page, folder_page, receipt)
    window.get_by_text(AT_WORK).wait_for()
    phone.page.evaluate("goOn()")
    until_kept(phone.page, "typed while the camera was out")
    phone.page.get_by_label("Finding").first.press_sequentially(", and after")
    until_kept(phone.page, "typed while the camera was out, and after")


HOLD_PHOTOS = """() => {
  const own = window.createImageBitmap;
  const held = new Promise((done) => { window.photosAreReady = done; });
  window.createImageBitmap = async (...asked) => { await held; return own(...asked); };
}"""


def test_a_draft_to_which_another_window_adds_photos_is_not_ended_and_stays_whole(
    phone: Phone, folder_page: str
) -> None:
    receipt = handed_over(phone.page, folder_page)
    phone.page.get_by_role("button", name="Places").click()
    to_place(phone.page, "Rotor 1")
    phone.page.evaluate(HOLD_PHOTOS)
    phone.page.get_by_label("Take or choose photos").set_input_files([photo(), photo()])
    until(phone.page, "[...live.values()].some((one) => one.work)")
    window = scanned(phone.page, folder_page, receipt)
    window.get_by_text(AT_WORK).wait_for()
    phone.page.evaluate("photosAreReady()")
    until(phone.page, "bench.drafts().then((all) => all[0].photos.length === 3)")
    assert phone.page.evaluate("bench.drafts().then((all) => bench.zip(all[0].id)).then((zip) => zip.blob.size > 0)")


def test_leaving_while_photos_are_read_is_asked_about(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", DAY)
    to_place(phone.page, "Rotor 1")
    asks = "() => !dispatchEvent(new Event('beforeunload', { cancelable: true }))"
    until(phone.page, "[...live.values()].every((one) => !one.dirty)")
    assert not phone.page.evaluate(asks)
    phone.page.evaluate(HOLD_PHOTOS)
    phone.page.get_by_label("Take or choose photos").set_input_files([photo()])
    until(phone.page, "[...live.values()].some((one) => one.work)")
    assert phone.page.evaluate(asks)
    phone.page.evaluate("photosAreReady()")
    phone.page.locator(".photos li").first.wait_for()


def test_a_draft_whose_photo_is_gone_keeps_no_receipt_from_another(phone: Phone, folder_page: str) -> None:
    handed_over(phone.page, folder_page, "2026-11-23")
    receipt = handed_over(phone.page, folder_page)
    phone.page.evaluate(
        """bench.drafts().then((all) => {
          const [one] = all.filter((draft) => draft.day === "2026-11-23");
          return Promise.all(one.photos.map((photo) => deletePhoto(one.id, photo.n)));
        })"""
    )
    phone.page.goto("about:blank")
    window = scanned(phone.page, folder_page, receipt)
    window.get_by_text(f"Teardown, 24 Nov 2026. {GONE}").wait_for()
    assert drafts(window) == 1


def test_an_outcome_that_is_no_taking_in_fills_no_receipt_in(phone: Phone, folder_page: str) -> None:
    handed_over(phone.page, folder_page)
    for outcome, filled in (("removed since", False), ("taken in", True)):
        phone.page.evaluate(
            "(said) => bench.drafts().then(([one]) => { one.handed[0].outcome = said; return keep(one, false); })",
            outcome,
        )
        phone.page.reload()
        field = phone.page.get_by_placeholder("abcd-efgh")
        field.wait_for()
        assert bool(field.input_value()) is filled


def test_a_code_drawn_as_svg_is_read_as_a_browser_shows_it(tmp_path: Path, browser: Browser) -> None:
    text = f"https://history.example/s/{'a' * 32}/#receipt=abcd-efgh"
    (tmp_path / "code.svg").write_text(code_svg(text, "E1, receipt abcd-efgh"), encoding="utf-8")
    page = browser.new_page()
    page.goto((tmp_path / "code.svg").as_uri())
    (found,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(page.screenshot())))
    page.close()
    assert found.text == text
