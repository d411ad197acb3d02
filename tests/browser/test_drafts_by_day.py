"""Drafts by their day, kind and number: thrown away, corrected, several of one day; what the page says of them."""

import re
from pathlib import Path

import pytest
from browser.conftest import Phone, begin, handed, to_place

from engine_pages.bench.handed_over import read_handed_over

from .test_drafts import DAY, press

pytestmark = pytest.mark.browser


def test_an_empty_sheet_may_be_thrown_away_and_a_written_one_may_not(phone: Phone, folder_page: str) -> None:
    page = phone.page
    for kind in ("Teardown", "Build"):
        begin(page, folder_page, kind, DAY)
        press(page, "Throw this empty sheet away")
        page.get_by_text("No sheet is on this device").wait_for()
        assert page.get_by_text("Thrown away: nothing was written on it.").is_visible()
    begin(page, folder_page, "Teardown", DAY)
    to_place(page, "Rotor 1")
    page.get_by_label("Finding").fill("x")
    press(page, "Places")
    page.get_by_role("heading", name="Teardown").wait_for()
    assert page.get_by_role("button", name="Throw this empty sheet away").count() == 0


def test_day_and_kind_are_corrected_and_what_was_written_stays(phone: Phone, folder_page: str) -> None:
    page = phone.page
    begin(page, folder_page, "Build", DAY)
    to_place(page, "Rotor 1")
    page.get_by_label("Finding").fill("stays")
    press(page, "Places")
    page.get_by_text("Day and kind of this sheet").click()
    page.get_by_label("Kind").select_option("Inspection")
    page.get_by_label("Day", exact=True).fill("2026-11-20")
    press(page, "Correct it")
    page.get_by_role("heading", name="Inspection, K-07, 20 Nov 2026").wait_for()
    found = read_handed_over(handed(page))
    assert found.sheet_path == "engines/K-07/inspections/2026-11-20.yml"
    text = found.sheet.decode()
    assert "date: 2026-11-20" in text
    assert re.search(r"^sheet: I-\d+", text, re.MULTILINE)
    assert "finding: stays" in text
    assert "part:" not in text  # what the build proposed was nobody's reading


def test_what_another_kind_has_no_field_for_stays_in_sight_and_can_be_taken_back(
    phone: Phone, folder_page: str
) -> None:
    page = phone.page
    begin(page, folder_page, "Teardown", DAY)
    to_place(page, "Rotor 1")
    page.get_by_role("group", name="Decision").get_by_role("button", name="retire").click()
    press(page, "Places")
    page.get_by_text("Day and kind of this sheet").click()
    page.get_by_label("Kind").select_option("Inspection")
    press(page, "Correct it")
    page.get_by_role("heading", name="Inspection, K-07").wait_for()
    to_place(page, "Rotor 2")
    assert page.get_by_role("group", name="Decision").count() == 0
    press(page, "Places")
    to_place(page, "Rotor 1")
    page.get_by_role("group", name="Decision").get_by_role("button", name="retire").click()
    press(page, "Places")
    assert "decision" not in read_handed_over(handed(page)).sheet.decode()


def test_a_day_that_is_corrected_after_the_taking_in_is_warned_of(phone: Phone, folder_page: str) -> None:
    page = phone.page
    begin(page, folder_page, "Teardown", DAY)
    page.get_by_text("Day and kind of this sheet").click()
    assert page.get_by_text("The shop has this sheet").count() == 0
    page.evaluate(
        "bench.drafts().then(([one]) => { one.handed = [{ receipt: 'x', outcome: 'taken in' }]; return keep(one); })"
    )
    page.reload()
    page.get_by_text("Day and kind of this sheet").click()
    page.get_by_text("The shop has this sheet as of 24 Nov 2026: it is moved to another day there.").wait_for()


def test_an_address_that_is_none_stops_no_later_screen(phone: Phone, folder_page: str) -> None:
    page = phone.page
    page.goto(folder_page)
    page.evaluate("location.hash = '#/d/%zz'")
    page.get_by_role("heading", name="This sheet cannot be read").wait_for()
    press(page, "All sheets")
    page.get_by_text("A new sheet").wait_for()


def test_three_sheets_of_a_day_differ_in_number_and_name(phone: Phone, folder_page: str) -> None:
    page = phone.page
    names, numbers, paths = set(), set(), []
    for _ in range(3):
        begin(page, folder_page, "Teardown", DAY)
        press(page, "Hand over")
        with page.expect_download() as waiting:
            press(page, "Save the zip")
        found = read_handed_over(Path(waiting.value.path()).read_bytes())
        names.add(waiting.value.suggested_filename)
        numbers.update(re.findall(r"^sheet: (T-\d+-[a-z]{4})$", found.sheet.decode(), re.MULTILINE))
        paths.append(found.name)
    assert paths == [DAY, f"{DAY}-2", f"{DAY}-3"]
    assert (len(names), len(numbers)) == (3, 3)


def test_a_later_sheet_of_a_day_is_begun_by_its_number(phone: Phone, folder_page: str) -> None:
    phone.page.goto(folder_page)
    phone.page.get_by_label("Sheet of that day").fill("12")
    phone.page.get_by_label("Day", exact=True).fill(DAY)
    press(phone.page, "Inspection")
    phone.page.get_by_role("heading", name="sheet 12").wait_for()
    assert read_handed_over(handed(phone.page)).name == f"{DAY}-12"


# ---------- what is said ----------


def test_a_message_covers_no_field_that_has_the_focus_and_goes_when_the_page_is_touched(
    phone: Phone, folder_page: str
) -> None:
    page = phone.page
    begin(page, folder_page, "Teardown", DAY)
    press(page, "Hand over")
    page.get_by_label("Receipt").fill("aaaa-aaaa")
    press(page, "Throw the draft away")
    page.get_by_text("This is not the receipt").wait_for()
    page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    last = page.get_by_role("button", name="Throw the draft away").bounding_box()
    said = page.locator("#said").bounding_box()
    assert last is not None
    assert said is not None
    assert last["y"] + last["height"] <= said["y"]
    page.locator("h2").click()
    assert page.locator("#said").is_hidden()
