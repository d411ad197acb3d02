"""What is typed at the bench is kept: beside photos, through a hand-over, in two windows, without room, on any day."""

import io
import shutil
import struct
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from bench.handed import under_git
from browser.conftest import RECORDS, Phone, begin, handed, kept, to_place, until, until_kept
from PIL import Image
from playwright.sync_api import Page, Route

from engine_pages.bench.handed_over import read_handed_over
from engine_pages.commands.bench_server import FROM_PAGE, BenchServer
from engine_pages.history.tell import tell_one
from engine_pages.pages.bench_shelf import bench_pages
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

pytestmark = pytest.mark.browser
TODAY = date(2026, 11, 25)
DAY = "2026-11-24"


def jpeg(notes: Image.Exif | None = None, size: tuple[int, int] = (800, 600)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (120, 60, 30)).save(out, "JPEG", exif=notes or Image.Exif())
    return out.getvalue()


def photo(data: bytes, name: str = "IMG_1.jpg", kind: str = "image/jpeg") -> dict[str, Any]:
    return {"name": name, "mimeType": kind, "buffer": data}


def choose(page: Page, *files: dict[str, Any]) -> None:
    page.get_by_label("Take or choose photos").set_input_files(list(files))


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


# ---------- the shop's name ----------


def test_a_draft_stays_in_sight_when_the_shop_gets_another_name(phone: Phone, folder_page: str, tmp_path: Path) -> None:
    begin(phone.page, folder_page, "Teardown", DAY)
    to_place(phone.page, "Rotor bearing 1")
    phone.page.get_by_label("Finding").fill("worn through")
    until_kept(phone.page, "worn through")

    renamed = tmp_path / "renamed"
    shutil.copytree(RECORDS, renamed, ignore=shutil.ignore_patterns("site"))
    before = (renamed / "shop.yml").read_text().splitlines()
    (old,) = (line.removeprefix("name: ") for line in before if line.startswith("name: "))
    (renamed / "shop.yml").write_text(
        "\n".join("name: Other Works" if line == f"name: {old}" else line for line in before)
    )
    checked = read_checked(Folder(renamed), TODAY)
    for path, made in bench_pages(checked, [tell_one(checked, "K-07")[0]]).items():
        (tmp_path / Path(path).name).write_bytes(made())
    phone.page.goto((tmp_path / "index.html").as_uri())

    assert "Other Works" in phone.page.locator("header p").inner_text()
    draft = phone.page.get_by_role("link", name="Teardown")
    assert old in draft.inner_text()
    draft.click()
    to_place(phone.page, "Rotor bearing 1")
    assert phone.page.get_by_label("Finding").input_value() == "worn through"


# ---------- photos, and typing beside them ----------


def test_what_is_typed_while_photos_are_being_kept_stays_and_so_do_the_photos(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", DAY)
    to_place(phone.page, "Rotor bearing 1")
    choose(phone.page, *(photo(jpeg(size=(3000, 2000)), f"IMG_{n}.jpg") for n in range(6)))
    press(phone.page, "Next")
    phone.page.get_by_role("heading", name="Rotor bearing 2", exact=True).wait_for()
    for letter in "worn":
        phone.page.get_by_label("Finding").press("End")
        phone.page.get_by_label("Finding").press_sequentially(letter)
        phone.page.wait_for_timeout(60)
    until(phone.page, "bench.drafts().then((all) => all[0].photos.length === 6)")
    phone.page.get_by_label("Finding").press_sequentially(" out")
    press(phone.page, "Back")
    phone.page.locator(".photos li").nth(5).wait_for()
    until_kept(phone.page, "worn out")
    phone.off()

    phone.on()
    phone.page.goto(folder_page)
    phone.page.get_by_role("link", name="Teardown").click()
    found = read_handed_over(handed(phone.page))
    assert sum(path.endswith(".jpg") for path in found.files) == 6
    assert b"finding: worn out" in found.sheet


def test_a_file_that_is_no_picture_stops_no_other(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", DAY)
    to_place(phone.page, "Rotor 1")
    choose(phone.page, photo(jpeg()), photo(b"no picture", "IMG_2.jpg"), photo(jpeg(size=(90, 60)), "IMG_3.jpg"))
    phone.page.get_by_text("IMG_2.jpg is no picture that this browser can read").wait_for()
    assert phone.page.locator(".photos li").count() == 2


def exif(taken: str, endian: str) -> Image.Exif:
    """DateTimeOriginal in the camera's own notes, and the file's DateTime later, as a picture program leaves it."""
    notes = Image.Exif()
    notes.endian = endian
    notes[0x0132] = "2026:11:30 08:00:00"
    notes.get_ifd(0x8769)[0x9003] = taken
    return notes


@pytest.mark.parametrize("endian", ["<", ">"])
def test_a_photo_was_taken_when_its_camera_says(phone: Phone, folder_page: str, endian: str) -> None:
    """Tags of Exif 2.3 (CIPA DC-008-2012), 4.6.5, written by Pillow in either byte order."""
    data = jpeg(exif("2026:11:23 17:05:09", endian))
    assert (b"Exif\0\0II*\0" if endian == "<" else b"Exif\0\0MM\0*") in data
    assert sheet_with(phone, folder_page, photo(data)).count("taken: 2026-11-23 17:05") == 1


@pytest.mark.parametrize(
    "data",
    [pytest.param(jpeg(), id="no notes"), pytest.param(jpeg(exif("0000:00:00 00:00:00", "<")), id="a clock never set")],
)
def test_no_moment_is_made_up_for_a_photo(phone: Phone, folder_page: str, data: bytes) -> None:
    sheet = sheet_with(phone, folder_page, photo(data))
    assert "original: sha256:" in sheet
    assert "taken:" not in sheet


def test_notes_that_end_too_soon_cost_no_photo(phone: Phone, folder_page: str) -> None:
    whole = jpeg(exif("2026:11:23 17:05:09", "<"))
    begins = whole.index(b"Exif\0\0")
    ends = begins - 2 + struct.unpack(">H", whole[begins - 2 : begins])[0]
    cut = whole[: begins - 2] + struct.pack(">H", 16) + whole[begins : begins + 14] + whole[ends:]
    assert "taken:" not in sheet_with(phone, folder_page, photo(cut))


def test_what_is_transparent_becomes_white(phone: Phone, folder_page: str) -> None:
    out = io.BytesIO()
    Image.new("RGBA", (60, 40), (0, 0, 0, 0)).save(out, "PNG")
    begin(phone.page, folder_page, "Teardown", DAY)
    to_place(phone.page, "Rotor 1")
    choose(phone.page, photo(out.getvalue(), "a.png", "image/png"))
    phone.page.locator(".photos li").wait_for()
    press(phone.page, "Places")
    (data,) = (data for path, data in read_handed_over(handed(phone.page)).files.items() if path.endswith(".jpg"))
    with Image.open(io.BytesIO(data)) as made:
        assert min(made.convert("RGB").getpixel((30, 20))) > 250


def test_a_sheet_is_not_thrown_away_under_photos_that_are_still_being_kept(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", DAY)
    to_place(phone.page, "Rotor 1")
    phone.page.evaluate(
        """() => {
          const own = createImageBitmap;
          const held = new Promise((done) => { window.photosAreReady = done; });
          window.createImageBitmap = async (...asked) => { await held; return own(...asked); };
        }"""
    )  # a slow phone, however fast this one is
    choose(phone.page, *(photo(jpeg(size=(4000, 3000)), f"IMG_{n}.jpg") for n in range(4)))
    press(phone.page, "Places")
    press(phone.page, "Throw this empty sheet away")
    phone.page.get_by_text("still being kept").wait_for()
    phone.page.evaluate("window.photosAreReady()")
    until(phone.page, "bench.drafts().then((all) => all.length === 1 && all[0].photos.length === 4)")


def sheet_with(phone: Phone, address: str, one: dict[str, Any]) -> str:
    begin(phone.page, address, "Teardown", DAY)
    to_place(phone.page, "Rotor 1")
    choose(phone.page, one)
    phone.page.locator(".photos li").wait_for()
    press(phone.page, "Places")
    return read_handed_over(handed(phone.page)).sheet.decode()


# ---------- two windows ----------


def test_a_second_window_reads_a_sheet_and_writes_it_once_the_first_has_let_go(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", DAY)
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_label("Finding").fill("from the first")
    until(phone.page, "bench.drafts().then((all) => all[0].sheet.positions !== undefined)")
    other = phone.context.new_page()
    other.goto(phone.page.url)
    other.get_by_text("This sheet is open in another window").wait_for()
    assert other.get_by_label("Finding").input_value() == "from the first"
    assert other.get_by_label("Finding").is_disabled()
    assert other.get_by_role("button", name="Next").is_enabled()

    phone.page.get_by_label("Finding").fill("from the first, more")
    until_kept(phone.page, "from the first, more")
    phone.page.close()
    other.get_by_text("This sheet is open in another window").wait_for(state="detached")
    assert other.get_by_label("Finding").input_value() == "from the first, more"
    other.get_by_label("Finding").fill("from the second")
    until(other, "bench.drafts().then((all) => true)")
    assert kept(other)["sheet"]["positions"]["rotor-1"]["finding"] == "from the second"


def test_a_sheet_that_is_left_may_be_written_in_another_window(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", DAY)
    address = phone.page.url
    press(phone.page, "All sheets")
    phone.page.get_by_text("On this device").wait_for()
    other = phone.context.new_page()
    other.goto(address)
    to_place(other, "Rotor 1")
    other.get_by_label("Finding").fill("written here")


def test_a_browser_without_locks_overwrites_nothing_of_another_window(phone: Phone, folder_page: str) -> None:
    phone.context.add_init_script("Object.defineProperty(navigator, 'locks', { value: undefined });")
    begin(phone.page, folder_page, "Teardown", DAY)
    to_place(phone.page, "Rotor 1")
    other = phone.context.new_page()
    other.goto(phone.page.url)
    other.get_by_label("Finding").fill("from the second")
    until(other, "bench.drafts().then((all) => all[0].sheet.positions !== undefined)")
    phone.page.get_by_label("Finding").fill("from the first")
    phone.page.get_by_text("Not kept: another window has written this sheet").wait_for()
    assert kept(other)["sheet"]["positions"]["rotor-1"]["finding"] == "from the second"
    press(phone.page, "Places")
    assert b"finding: from the first" in read_handed_over(handed(phone.page)).sheet


# ---------- no room ----------

REFUSE = """(() => {
  const put = IDBObjectStore.prototype.put;
  window.full = (name) => { window.refused = name; };
  IDBObjectStore.prototype.put = function (...given) {
    if (window.refused === "all" || window.refused === this.name) {
      this.transaction.abort();
      throw new DOMException("no room is left", "QuotaExceededError");
    }
    return put.apply(this, given);
  };
})();"""


@pytest.fixture
def full(phone: Phone) -> Iterator[Phone]:
    """A phone whose browser can be told to refuse; what it says of that is wanted."""
    phone.context.add_init_script(REFUSE)
    yield phone
    phone.said[:] = [one for one in phone.said if "no room is left" not in one]


def test_what_the_browser_refuses_to_keep_stays_with_its_warning_until_it_is_kept(
    full: Phone, folder_page: str
) -> None:
    page = full.page
    begin(page, folder_page, "Teardown", DAY)
    to_place(page, "Rotor 1")
    page.evaluate("full('all')")
    page.get_by_label("Finding").fill("scored at the seal slot")
    page.get_by_text("Not kept:").wait_for()
    choose(page, photo(jpeg()))
    page.locator(".photos li").wait_for()
    press(page, "Next")
    press(page, "Back")
    page.get_by_role("heading", name="Rotor 1", exact=True).wait_for()
    assert page.get_by_label("Finding").input_value() == "scored at the seal slot"
    assert page.get_by_text("Not kept:").is_visible()
    press(page, "Places")
    found = read_handed_over(handed(page))
    assert b"finding: scored at the seal slot" in found.sheet
    assert len(found.files) == 2

    again = page.get_by_role("button", name="Try again now", exact=True)
    again.evaluate("(button) => { full('none'); button.click(); }")  # at once: the page tries again by itself too
    page.get_by_text("Not kept:").wait_for(state="detached")
    page.reload()
    press(page, "Places")
    assert read_handed_over(handed(page)).files == found.files


def test_words_are_kept_where_there_is_no_room_for_photos(full: Phone, folder_page: str) -> None:
    page = full.page
    begin(page, folder_page, "Teardown", DAY)
    to_place(page, "Rotor 1")
    page.evaluate("full('photos')")
    choose(page, photo(jpeg()))
    page.get_by_text("Not kept:").wait_for()
    page.get_by_label("Finding").fill("scored")
    until(page, "bench.drafts().then((all) => true)")
    on_disk = kept(page)
    assert (on_disk["sheet"]["positions"]["rotor-1"]["finding"], on_disk["photos"]) == ("scored", [])
    assert page.locator(".photos li").count() == 1


def test_a_photo_that_is_removed_while_nothing_is_kept_is_not_taken_from_the_draft_that_is(
    full: Phone, folder_page: str
) -> None:
    page = full.page
    begin(page, folder_page, "Teardown", DAY)
    to_place(page, "Rotor 1")
    choose(page, photo(jpeg()))
    page.locator(".photos li").wait_for()
    until(page, "bench.drafts().then((all) => [...live.values()].every((one) => !one.dirty))")
    page.evaluate("full('all')")
    page.once("dialog", lambda asked: asked.accept())
    press(page, "Remove")
    page.get_by_text("Not kept").wait_for()
    page.evaluate("full('none')")
    page.goto("about:blank")
    page.goto(folder_page)
    page.get_by_role("link", name="Teardown").click()
    assert b"photos" in read_handed_over(handed(page)).sheet


def test_a_browser_that_keeps_nothing_still_makes_the_zip(full: Phone, folder_page: str) -> None:
    full.context.add_init_script("indexedDB.open = () => { throw new DOMException('none here', 'SecurityError'); };")
    begin(full.page, folder_page, "Inspection", DAY)
    full.page.get_by_text("Not kept: none here").wait_for()
    to_place(full.page, "Rotor 1")
    full.page.get_by_label("Finding").fill("typed in a private window")
    press(full.page, "Places")
    assert b"typed in a private window" in read_handed_over(handed(full.page)).sheet


# ---------- handing over ----------


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[str]:
    """K-07's page at the server of a shop that is the demo's."""
    shop = tmp_path / "shop"
    shutil.copytree(RECORDS, shop, ignore=shutil.ignore_patterns(".demo", "site"))
    under_git(shop)
    site = tmp_path / "site"
    checked = read_checked(Folder(shop), TODAY)
    for path, made in bench_pages(checked, [tell_one(checked, "K-07")[0]], FROM_PAGE).items():
        (site / path).parent.mkdir(parents=True, exist_ok=True)
        (site / path).write_bytes(made())
    server = BenchServer(shop, site, 0, lambda _: None, lambda: None)
    Thread(target=server.serve_forever, daemon=True).start()
    yield server.address.replace("index.html", "bench/K-07/index.html")
    server.shutdown()
    server.server_close()


def test_after_handing_over_to_the_computer_the_page_says_one_thing_and_lets_the_draft_go(
    phone: Phone, bench: str
) -> None:
    page = phone.page
    begin(page, bench, "Inspection", DAY)
    to_place(page, "Rotor bearing 1")
    page.get_by_label("Inside diameter, mm").fill("60.0940")
    press(page, "Places")
    press(page, "Hand over")
    press(page, "Hand over to this computer")
    page.get_by_text("engines/K-07/inspections/2026-11-24.yml").wait_for()
    assert page.locator(".state").inner_text() == "Taken in"
    assert page.get_by_text("not yet known").count() == 0
    assert page.locator("button.main:visible").count() == 1
    press(page, "Throw the draft away")
    page.get_by_text("No sheet is on this device").wait_for()
    assert page.get_by_text("Thrown away: the shop has it.").is_visible()


def test_what_is_typed_during_the_hand_over_is_not_handed_over(phone: Phone, bench: str) -> None:
    page = phone.page
    begin(page, bench, "Inspection", DAY)
    to_place(page, "Rotor bearing 1")
    page.get_by_label("Inside diameter, mm").fill("60.0940")
    press(page, "Places")
    held: list[Route] = []
    page.route("**/take", lambda route: held.append(route))
    press(page, "Hand over")
    press(page, "Hand over to this computer")
    until(page, "document.getElementById('said').textContent !== ''")
    while not held:
        page.wait_for_timeout(20)
    press(page, "Places")
    to_place(page, "Rotor 1")
    page.get_by_label("Finding").fill("typed meanwhile")
    held[0].continue_()
    until(page, "bench.drafts().then((all) => all[0].handed.length === 1)")
    press(page, "Places")
    page.get_by_text("Changed since it was handed over").wait_for()
    until(page, "bench.drafts().then((all) => true)")
    on_disk = kept(page)
    assert on_disk["sheet"]["positions"]["rotor-1"]["finding"] == "typed meanwhile"
    assert on_disk["handed"][0]["changed"] < on_disk["changed"]
