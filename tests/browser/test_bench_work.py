"""Work done to a part and the torque of fastenings, typed on the bench and read by the project's own reader."""

import shutil
from datetime import date
from pathlib import Path

import pytest
from bench.handed import under_git
from browser.conftest import RECORDS, TODAY, Phone, begin, handed, to_place, until_kept

from engine_pages.bench.handed_over import read_handed_over
from engine_pages.bench.taking import take
from engine_pages.history.story import EngineStory
from engine_pages.history.tell import tell_one
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

pytestmark = pytest.mark.browser


def told_with(data: bytes, tmp_path: Path) -> EngineStory:
    """The engine as the records tell it once the zip is taken in."""
    place = tmp_path / "shop"
    shutil.copytree(RECORDS, place, ignore=shutil.ignore_patterns(".demo", "site"))
    under_git(place)
    taken = take(place, data, TODAY)
    assert (taken.outcome, [str(one) for one in taken.problems if one.level == "error"]) == ("taken in", [])
    return tell_one(read_checked(Folder(place), TODAY), "K-07")[0]


def test_work_on_a_part_opens_a_new_baseline_for_what_was_machined(
    phone: Phone, folder_page: str, tmp_path: Path
) -> None:
    begin(phone.page, folder_page, "Teardown", "2026-11-24")
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_text("Work done to it").click()
    phone.page.get_by_role("group", name="Measured anew").get_by_role("button", name="Corner").click()
    phone.page.get_by_text("Say what was done.").wait_for()
    phone.page.get_by_label("What was done").fill("reamed")
    phone.page.get_by_label("Size now, from standard, mm").fill("0.20 mm")
    phone.page.get_by_role("group", name="Decision").get_by_role("button", name="reuse").click()
    phone.page.get_by_role("button", name="Places").click()
    to_place(phone.page, "Apex seals 1")
    phone.page.get_by_text("Work done to it").click()
    phone.page.get_by_role("group", name="Which one").get_by_role("button", name="a2").click()
    phone.page.get_by_label("What was done").fill("lapped, both faces")
    phone.page.get_by_role("button", name="Places").click()
    data = handed(phone.page)
    assert (
        b"work:\n"
        b"  - {position: rotor-1, dimensions: [corner_bore], did: reamed, size: 0.20 mm}\n"
        b'  - {position: apex-seals-1/a2, did: "lapped, both faces"}\n'
    ) in read_handed_over(data).sheet
    told = told_with(data, tmp_path)
    assert [(part, words) for part, words, _ in told.sheets[-1].work] == [
        ("rotor-1", "reamed, 0.20 mm: corner_bore"),
        ("apex-seals-1/a2", "lapped, both faces"),
    ]
    (rotor,) = (part for part in told.parts if part.slot == "rotor-1")
    (bore,) = (one for one in rotor.dimensions if one.id == "corner_bore")
    assert bore.baseline_why is not None
    assert "reamed" in bore.baseline_why


def test_work_that_was_written_is_shown_again_and_can_be_taken_back(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", "2026-11-24")
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_text("Work done to it").click()
    phone.page.get_by_label("What was done").fill("reamed")
    until_kept(phone.page, "reamed")
    phone.page.reload()
    assert phone.page.get_by_label("What was done").input_value() == "reamed"
    phone.page.get_by_label("What was done").fill("")
    phone.page.get_by_role("button", name="Places").click()
    assert b"work" not in read_handed_over(handed(phone.page)).sheet


def test_the_torque_of_each_fastening_stands_on_the_build_sheet(phone: Phone, folder_page: str, tmp_path: Path) -> None:
    begin(phone.page, folder_page, "Build", "2026-11-24")
    phone.page.get_by_role("link", name="Torque").click()
    phone.page.get_by_text("last 34 Nm").wait_for()
    phone.page.get_by_label("tension bolts").fill("34")
    phone.page.get_by_text("Its unit is missing").wait_for()
    phone.page.get_by_label("tension bolts").fill("34 Nm, second pull")
    phone.page.get_by_label("Another fastening").fill("main caps")
    phone.page.get_by_role("button", name="Add it").click()
    phone.page.get_by_label("main caps").fill("7 lb-ft")
    until_kept(phone.page, "7 lb-ft")
    phone.page.reload()
    assert phone.page.get_by_label("main caps").input_value() == "7 lb-ft"
    phone.page.get_by_role("button", name="Places").click()
    data = handed(phone.page)
    assert b"torque:\n  tension-bolts: 34 Nm, second pull\n  main caps: 7 lb-ft\n" in read_handed_over(data).sheet
    told = told_with(data, tmp_path)
    assert told.sheets[-1].ref.day == date(2026, 11, 24)
    assert told.sheets[-1].torque == (("tension-bolts", "34 Nm, second pull"), ("main caps", "7 lb-ft"))
