"""The bench page with its network off: typed on a phone, kept through a restart, handed over, taken in."""

import io
import json
import shutil
import zipfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from bench.handed import under_git
from browser.conftest import Phone, begin, handed, serve, to_place, until, until_kept
from PIL import Image

from engine_pages.bench.handed_over import read_handed_over
from engine_pages.bench.taking import take
from engine_pages.history.figures import figures_of
from engine_pages.history.tell import tell_one
from engine_pages.pages.bench_page import bench_files
from engine_pages.pages.bench_shelf import bench_pages
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

pytestmark = pytest.mark.browser
DEMO = Path(__file__).parents[2] / "records"
TODAY = date(2026, 11, 25)
MOST_BYTES = 60_000  # of the page without its engine's data


@pytest.fixture(scope="module", params=["from disk", "from localhost"])
def address(request: pytest.FixtureRequest, folder: Path) -> Iterator[str]:
    """Where K-07's page is opened from; the server is stopped by the test that takes the network away."""
    if request.param == "from disk":
        yield f"file://{folder}/bench/K-07/index.html"
        return
    server = serve(folder)
    yield f"http://127.0.0.1:{server.server_address[1]}/bench/K-07/index.html"
    server.shutdown()
    server.server_close()


def camera(count: int) -> list[dict[str, Any]]:
    """12-megapixel photos, stored on their side, with a place and a moment in their notes."""
    files = []
    for number in range(count):
        picture = Image.effect_noise((1000, 750), 60).resize((4000, 3000)).convert("RGB")
        picture.paste((200, 20 * number, 40), (0, 0, 2000, 1500))  # the corner that has to stand at the top right
        notes = Image.Exif()
        notes[0x0112] = 6
        notes.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=80, exif=notes)
        files.append({"name": f"IMG_{number}.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()})
    return files


def shop(tmp_path: Path) -> Path:
    """The demo's shop under git."""
    place = tmp_path / "shop"
    shutil.copytree(DEMO, place, ignore=shutil.ignore_patterns(".demo", "site"))
    return under_git(place)


def test_a_whole_teardown_is_typed_with_ten_photos_through_a_restart_and_taken_in(
    phone: Phone, address: str, tmp_path: Path
) -> None:
    begin(phone.page, address, "Teardown", "2026-11-24")
    if address.startswith("http"):
        until(phone.page, "navigator.serviceWorker.controller !== null")
        phone.context.set_offline(True)
    to_place(phone.page, "Rotor bearing 1")
    phone.page.get_by_label("Inside diameter, mm").fill("60.0940")
    phone.page.get_by_role("button", name="Inside diameter: another reading").click()
    phone.page.get_by_label("Inside diameter, reading 2, mm").fill("60.095")
    phone.page.get_by_role("group", name="Overlay").get_by_role("button", name="2").click()
    phone.page.get_by_label("View").first.fill("loaded side")
    phone.page.get_by_label("Take or choose photos").set_input_files(camera(10))
    phone.page.locator(".photos li").nth(9).wait_for(timeout=60_000)
    phone.page.get_by_role("group", name="Decision").get_by_role("button", name="reuse").click()
    phone.page.get_by_label("Finding").fill("Through in two patches: 10 %, no more")
    until_kept(phone.page, "Through in two patches: 10 %, no more")
    phone.off()

    phone.on()
    if address.startswith("http"):
        phone.context.set_offline(True)
    phone.page.goto(address)
    phone.page.get_by_role("link", name="Teardown").click()
    for place in [one for one in _positions("K-07") if one["id"] != "rotor-bearing-1"]:
        to_place(phone.page, place["name"])
        for dimension in place["dimensions"]:
            for field, value in _fields(place, dimension):
                phone.page.locator(f'input[name="{field}"]').first.fill(value)
        if not place["whole"]:
            phone.page.get_by_role("group", name="Decision", exact=True).get_by_role("button", name="reuse").click()
        phone.page.get_by_role("button", name="Places").click()
    data = handed(phone.page)

    found = read_handed_over(data)
    assert sum(path.endswith(".jpg") for path in found.files) == 10
    assert b"inside_diameter: [60.0940, 60.095]" in found.sheet
    place = shop(tmp_path)
    taken = take(place, data, TODAY)
    assert (taken.outcome, taken.path) == ("taken in", "engines/K-07/teardowns/2026-11-24/teardown.yml")
    assert [str(one) for one in taken.problems if one.level == "error"] == []
    told = tell_one(read_checked(Folder(place), TODAY), "K-07")[0]
    assert told.sheets[-1].ref.day == date(2026, 11, 24)
    (bearing,) = (part for part in told.parts if part.slot == "rotor-bearing-1")
    assert bearing.dimensions[0].last is not None
    assert bearing.dimensions[0].last.written == "60.0940, 60.095"

    phone.page.get_by_label("Receipt").fill("aaaa-aaaa")
    phone.page.get_by_role("button", name="Throw the draft away").click()
    phone.page.get_by_text("This is not the receipt").wait_for()
    phone.page.get_by_label("Receipt").fill(taken.receipt.upper().replace("-", " "))
    phone.page.get_by_role("button", name="Throw the draft away").click()
    phone.page.get_by_text("No sheet is on this device").wait_for()


def _positions(engine: str) -> list[dict[str, Any]]:
    checked = read_checked(Folder(DEMO), TODAY)
    page = bench_pages(checked, [tell_one(checked, engine)[0]])[f"bench/{engine}/index.html"]().decode()
    form: dict[str, Any] = json.loads(page.split('id="form">')[1].split("</script>")[0])
    positions: list[dict[str, Any]] = form["positions"]
    return positions


def _fields(place: dict[str, Any], dimension: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Each field's name, and a plausible figure: the last one, or the middle of the new range."""
    for of in dimension["of"]:
        for station in dimension["stations"] or [""]:
            last = of["last"].get(station) or of["last"].get("")
            value = last["value"] if last else None
            if value is None and of["new"]:
                value = sum(of["new"]) / 2
            if value is not None:
                steps = ["positions", place["id"], "measured", dimension["id"], of["member"], station]
                yield ".".join(step for step in steps if step), f"{value:.4f}"


def test_photos_are_upright_small_and_without_the_cameras_notes(phone: Phone, address: str) -> None:
    begin(phone.page, address, "Teardown", "2026-11-23")
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_label("Take or choose photos").set_input_files(camera(1))
    phone.page.locator(".photos li").wait_for(timeout=30_000)
    phone.page.get_by_role("button", name="Places").click()
    data = handed(phone.page)
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        assert opened.testzip() is None
        (name,) = (one for one in opened.namelist() if one.endswith(".jpg"))
        with Image.open(io.BytesIO(opened.read(name))) as kept:
            assert (kept.size, len(kept.getexif())) == ((1920, 2560), 0)
            assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "dpi", "icc_profile"}
            red, green, blue = kept.convert("RGB").getpixel((1800, 100))
            assert red > 150 > 80 > green
            assert blue < 100


def test_every_keystroke_is_kept(phone: Phone, address: str) -> None:
    begin(phone.page, address, "Inspection", "2026-11-22")
    to_place(phone.page, "Rotor bearing 2")
    phone.page.get_by_label("Inside diameter, mm").press_sequentially("60.07", delay=5)
    until(phone.page, "bench.drafts().then((all) => all[0].sheet.positions !== undefined)")
    phone.page.reload()
    phone.page.get_by_role("heading", name="Rotor bearing 2", exact=True).wait_for()
    assert phone.page.get_by_label("Inside diameter, mm").input_value() == "60.07"


def test_a_part_strip_says_what_was_opened_and_a_clearance_stands_under_fits(phone: Phone, folder: Path) -> None:
    begin(phone.page, f"file://{folder}/bench/K-07/index.html", "Teardown", "2026-11-18")
    phone.page.get_by_role("link", name="The sheet").click()
    phone.page.get_by_label("Only the places that are filled in were opened").check()
    phone.page.get_by_label("Note", exact=True).fill("Two things:\nfront cover only # and a hash")
    phone.page.get_by_role("button", name="Places").click()
    to_place(phone.page, "Oil pump")
    phone.page.get_by_role("group", name="Decision", exact=True).get_by_role("button", name="reuse").click()
    phone.page.get_by_role("button", name="Places").click()
    phone.page.get_by_role("link", name="Clearances").click()
    phone.page.get_by_label("Rotor bearing clearance").first.fill("0.05..0.06")
    phone.page.get_by_role("button", name="Places").click()
    sheet = read_handed_over(handed(phone.page)).sheet.decode()
    assert "opened: [oil-pump]" in sheet
    assert "rotor-bearing-clearance-1: 0.05..0.06" in sheet
    assert "note: |-\n  Two things:\n  front cover only # and a hash\n" in sheet


def test_grades_of_a_set_taken_apart_say_nothing_that_nobody_said(phone: Phone, folder: Path) -> None:
    begin(phone.page, f"file://{folder}/bench/K-07/index.html", "Teardown", "2026-11-17")
    to_place(phone.page, "Apex seals 1")
    phone.page.get_by_role("button", name="Each by itself").first.click()
    phone.page.get_by_role("group", name="Chipping, a2").locator("button").nth(1).click()
    phone.page.get_by_role("button", name="Places").click()
    sheet = read_handed_over(handed(phone.page)).sheet.decode()
    assert "observed: {chipping: {a2: 1}}" in sheet


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("61.9", "Far outside the new range 60.040–60.060"),
        ("6.0061", "a point one place to the right would fit"),
        ("2.3650", "inches typed for millimetres would fit"),
        ("60.110", "Beyond the limit, 60.105 at the most"),
        ("60.050", "Less worn than last time"),
    ],
)
def test_what_is_odd_is_said_at_once_and_stops_nothing(phone: Phone, folder: Path, typed: str, words: str) -> None:
    begin(phone.page, f"file://{folder}/bench/K-07/index.html", "Teardown", "2026-11-21")
    to_place(phone.page, "Rotor bearing 1")
    phone.page.get_by_label("Inside diameter, mm").fill(typed)
    phone.page.get_by_text(words).wait_for()
    phone.page.get_by_role("button", name="Next").click()
    phone.page.get_by_role("heading", name="Rotor bearing 2", exact=True).wait_for()


def test_a_receipt_of_an_earlier_state_does_not_throw_a_draft_away(phone: Phone, folder: Path) -> None:
    begin(phone.page, f"file://{folder}/bench/K-07/index.html", "Teardown", "2026-11-20")
    receipt = read_handed_over(handed(phone.page)).receipt
    phone.page.get_by_role("button", name="Places").click()
    phone.page.get_by_text("Handed over; not yet known to be taken in").wait_for()
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_label("Finding").first.fill("a line more")
    phone.page.get_by_role("button", name="Places").click()
    phone.page.get_by_text("Changed since it was handed over").wait_for()
    phone.page.get_by_role("button", name="Hand over").click()
    phone.page.get_by_label("Receipt").fill(receipt)
    phone.page.get_by_role("button", name="Throw the draft away").click()
    phone.page.get_by_text("This receipt is of an earlier state").wait_for()


def test_no_serious_violation_is_found(phone: Phone, folder: Path) -> None:
    begin(phone.page, f"file://{folder}/bench/K-07/index.html", "Teardown", "2026-11-19")
    screens = ["", "head", "p/rotor-bearing-1", "p/apex-seals-1", "tests", "over"]
    draft = phone.page.evaluate("bench.drafts().then((all) => all[0].id)")
    for screen in screens:
        phone.page.evaluate("([id, screen]) => { location.hash = `#/d/${id}/${screen}`; }", [draft, screen])
        phone.page.wait_for_timeout(150)
        found = Axe().run(phone.page).response["violations"]
        assert [one["id"] for one in found if one["impact"] in ("serious", "critical")] == [], screen


def test_the_page_is_small_without_its_engines_data() -> None:
    bare = {"engine": "E", "positions": [], "fits": []}
    assert len(bench_files(bare)["index.html"]) < MOST_BYTES


def test_a_name_cannot_leave_the_pages_data() -> None:
    page = bench_files({"engine": "</script><script>alert(1)</script>"})["index.html"].decode()
    assert "<script>alert" not in page


@pytest.mark.parametrize("engine", ["K-07", "Q-12", "K-05"])
def test_every_sheet_of_the_demo_through_form_zip_and_taking_in_gives_the_same_figures(
    phone: Phone, folder: Path, tmp_path: Path, engine: str
) -> None:
    place = shop(tmp_path)
    before = figures_of(tell_one(read_checked(Folder(place), TODAY), engine)[0])
    checked = read_checked(Folder(place), TODAY)
    phone.page.goto(f"file://{folder}/bench/{engine}/index.html")
    for sheet in checked.shop.engines[engine].sheets:
        tree = {key: value for key, value in sheet.record.document.data.items() if value is not None}
        nth = sheet.name[11:] or "1"
        draft = {"id": f"x-{sheet.name}", "kind": sheet.kind, "day": sheet.name[:10], "nth": int(nth), "sheet": tree,
                 "photos": [], "changed": 0, "handed": []}  # fmt: skip
        data = phone.page.evaluate(
            "async (draft) => { await bench.open(draft); const made = await bench.zip(draft.id);"
            " return Array.from(new Uint8Array(await made.blob.arrayBuffer())); }",
            draft,
        )
        found = read_handed_over(bytes(data))
        assert found.sheet_path == sheet.path
        (place / sheet.path).write_bytes(found.sheet)
    after = figures_of(tell_one(read_checked(Folder(place), TODAY), engine)[0])
    assert _without_places(after) == _without_places(before)


def _without_places(figures: Any) -> Any:
    """Figures without lines and columns: the sheet is laid out anew."""
    if isinstance(figures, dict):
        return {
            key: _without_places(one)
            for key, one in figures.items()
            if key not in ("line", "column", "source", "where")
        }
    return [_without_places(one) for one in figures] if isinstance(figures, list) else figures
