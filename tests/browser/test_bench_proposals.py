"""What the bench page proposes of an engine that lies apart, what it warns of, and how it names things."""

import io
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from browser.conftest import Phone, begin, handed, to_place
from PIL import Image
from written_shop import Written

from engine_pages.bench.handed_over import read_handed_over
from engine_pages.history.tell import tell_one
from engine_pages.pages.bench_shelf import bench_pages
from engine_pages.records.checks.all import read_checked

pytestmark = pytest.mark.browser
TODAY = date(2026, 3, 2)
FILES = {
    "families/single.yml": """
family: single
architecture: rotary
exposure: hours
positions: {rotor-1: rotor, rotor-2: rotor, seals-1: {kind: seal, names: [a, b]}}
kinds: {rotor: {dimensions: {width: {unit: mm}}}, seal: {serial: yes}}
""",
    "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
    "engines/E1/builds/2026-01-10.yml": """engine: E1
date: 2026-01-10
positions: {rotor-1: {part: R-1}, rotor-2: {part: R-2}, seals-1: {part: {a: S-1, b: S-2}}}
""",
    "engines/E1/teardowns/2026-03-01/teardown.yml": """engine: E1
date: 2026-03-01
positions: {rotor-1: {decision: reuse}, rotor-2: {decision: undecided}, seals-1: {decision: replace, because: worn}}
""",
}


@pytest.fixture
def own_page(tmp_path: Path) -> str:
    """The bench page of an engine that was taken apart yesterday, opened from disk."""
    checked = read_checked(Written({path: text.encode() for path, text in FILES.items()}), TODAY)
    assert [str(one) for one in checked.problems if one.level == "error"] == []
    for path, made in bench_pages(checked, [tell_one(checked, "E1")[0]]).items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_bytes(made())
    return f"file://{tmp_path}/bench/E1/index.html"


def test_a_build_puts_back_only_what_the_strip_decided_to_put_back(phone: Phone, own_page: str) -> None:
    begin(phone.page, own_page, "Build", "2026-03-02")
    to_place(phone.page, "Seals 1")
    phone.page.get_by_text("S-1, out since 2026-03-01: replace. If something else goes in").wait_for()
    phone.page.get_by_role("button", name="Places").click()
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_label("Width, mm").fill("79.91")
    phone.page.get_by_role("button", name="Places").click()
    sheet = read_handed_over(handed(phone.page)).sheet.decode()
    assert (
        sheet == "engine: E1\ndate: 2026-03-02\npositions:\n  rotor-1:\n    part: R-1\n    measured: {width: 79.91}\n"
    )


def test_what_cannot_be_read_is_named_with_its_way_before_the_sheet_is_handed_over(
    phone: Phone, folder_page: str
) -> None:
    page = phone.page
    begin(page, folder_page, "Inspection", "2026-11-24")
    to_place(page, "Rotor bearing 1")
    page.get_by_label("Inside diameter, mm").fill("sixty")
    page.get_by_role("button", name="Places").click()
    assert page.get_by_role("link", name="Rotor bearing 1 measured, cannot be read").is_visible()
    page.get_by_role("link", name="Tests").click()
    page.get_by_label("Compression, Rotor 1, 2").fill("8o6")
    page.get_by_role("button", name="Places").click()
    page.get_by_role("link", name="The sheet").click()
    page.get_by_label("Counter, h").fill("41 h 6")
    page.get_by_role("button", name="Places").click()
    page.get_by_role("button", name="Hand over").click()
    listed = page.locator(".warning li")
    listed.nth(3).wait_for()
    assert [words.split(": Cannot")[0] for words in listed.all_inner_texts()] == [
        "Counter",
        "Rotor bearing 1, Inside diameter",
        "Compression, Rotor 1",
        "Compression, Rotor 1: Read every face, or leave all of them blank.",
    ]
    page.get_by_role("link", name="Rotor bearing 1, Inside diameter").click()
    page.get_by_label("Inside diameter, mm").fill("60.061")
    page.get_by_role("button", name="Places").click()
    page.get_by_role("button", name="Hand over").click()
    page.get_by_role("link", name="Counter").wait_for()
    assert listed.count() == 3


def test_a_decimal_comma_is_a_point_in_every_field_of_figures(phone: Phone, folder_page: str) -> None:
    page = phone.page
    begin(page, folder_page, "Inspection", "2026-11-24")
    page.get_by_role("link", name="The sheet").click()
    page.get_by_label("Counter, h").press_sequentially("2,3")
    page.get_by_label("Temperature of parts and gauges, °C").press_sequentially("22,5")
    page.get_by_role("button", name="Places").click()
    page.get_by_role("link", name="Tests").click()
    page.get_by_label("Compression, Rotor 1, 2").press_sequentially("8,06")
    page.get_by_role("button", name="Places").click()
    sheet = read_handed_over(handed(page)).sheet.decode()
    assert "counter: 2.3\ntemperature: 22.5\n" in sheet
    assert "face-2: 8.06" in sheet


def test_a_day_that_has_a_sheet_in_the_record_is_warned_of(phone: Phone, own_page: str) -> None:
    said = "The record has this sheet of that day already."
    begin(phone.page, own_page, "Teardown", "2026-03-01")
    phone.page.get_by_text(said).wait_for()
    begin(phone.page, own_page, "Teardown", "2026-03-02")
    assert phone.page.get_by_text(said).count() == 0


def test_a_place_left_blank_on_a_build_is_not_fitted(phone: Phone, own_page: str) -> None:
    begin(phone.page, own_page, "Build", "2026-03-02")
    assert phone.page.get_by_role("link", name="Seals 1 not fitted").is_visible()
    phone.page.get_by_role("button", name="Hand over").click()
    phone.page.get_by_text("What is blank counts as not fitted.").wait_for()


def test_what_is_for_the_crew_alone_is_marked_so(phone: Phone, own_page: str) -> None:
    page = phone.page
    begin(page, own_page, "Inspection", "2026-03-02")
    page.get_by_role("link", name="The sheet").click()
    page.get_by_label("Note for the crew alone").fill("mind the thread")
    out = io.BytesIO()
    Image.new("RGB", (64, 48)).save(out, "JPEG")
    files: list[Any] = [{"name": "a.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}]
    page.get_by_label("Take or choose photos").set_input_files(files)
    page.get_by_role("group", name="For the crew alone").get_by_role("button").click()
    page.get_by_role("button", name="Places").click()
    sheet = read_handed_over(handed(page)).sheet.decode()
    assert "crew_note: mind the thread\n" in sheet
    assert "crew_only: yes" in sheet


def test_clearances_of_two_rows_have_two_names(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Inspection", "2026-11-24")
    phone.page.get_by_role("link", name="Clearances").click()
    phone.page.get_by_label("Rotor bearing clearance 2, mm").wait_for()
    names = phone.page.locator("#bench .measured > label").all_inner_texts()
    assert len(set(names)) == len(names) > 2


def test_another_gauge_is_named_for_a_dimension(phone: Phone, folder_page: str) -> None:
    page = phone.page
    begin(page, folder_page, "Inspection", "2026-11-24")
    to_place(page, "Rotor bearing 1")
    page.get_by_label("Inside diameter, mm").fill("60.061")
    page.get_by_text("Gauges", exact=True).click()
    gauge = page.get_by_role("group", name="Inside diameter, else bore-50-100").get_by_role("button").nth(1)
    name = gauge.get_attribute("value")
    gauge.click()
    page.get_by_role("button", name="Places").click()
    sheet = read_handed_over(handed(page)).sheet.decode()
    assert f"instruments:\n  rotor-bearing.inside_diameter: {name}\n" in sheet
