"""What the bench page says of a reading while the part is still in the hand, held against the reader of the records."""

import json
from decimal import Decimal
from typing import Any

import pytest
from browser.conftest import Phone, begin, to_place

from engine_pages.records.quantity import NotUnderstood, Quantity, parse_quantity, parse_reading
from engine_pages.records.units import UNITS, convert, dimension_of, units_of

pytestmark = pytest.mark.browser
NUMBERS = ("60.061", "-0.25", "+3", ".5", "\u22120.25", "0", "00.10")
READABLE = (
    *NUMBERS,
    "0.05..0.08 mm",
    "0.05 mm .. 80 µm",
    "under 0.05",
    "Over 3 thou",
    "<0.05mm",
    "> 0.05 mm",
    "not measurable",
    "Not  Measurable",
    " 60.061 ",
    "60.061\u202fmm",
    '2.3646"',
    *(f"1.5 {spelling}" for unit in UNITS if unit.dimension == "length" for spelling in (unit.name, *unit.also)),
)
NOT_READABLE = (
    *("61,4,2", "sixty", "60.", "6O.061", "60.061 mn", "60.061 60.062", "0.05-0.08", "under", "..0.08", "1e3", "1/8"),
    *("60.061.2", "nan", "60.061 mm loaded", "- 0.2", "<=0.05", "45 Nm", "under 3 km", "0.05..2 °C"),
)


def said(phone: Phone, calls: list[tuple[Any, ...]], name: str) -> list[Any]:
    """What a function of the page answers to each call."""
    found: list[Any] = phone.page.evaluate(
        f"(calls) => calls.map((call) => {name}(...call))", [list(one) for one in calls]
    )
    return found


def _is_read(text: str) -> bool:
    """Whether the reader of the records takes it for a reading of a length."""
    try:
        reading = parse_reading(text)
    except NotUnderstood:
        return False
    ends = [getattr(reading, name) for name in ("low", "high", "bound") if hasattr(reading, name)]
    amounts = [reading] if isinstance(reading, Quantity) else ends
    return all(dimension_of(one.unit) == "length" for one in amounts if one.unit is not None)


def test_what_the_reader_of_the_records_accepts_the_page_accepts_and_nothing_else(
    phone: Phone, folder_page: str
) -> None:
    phone.page.goto(folder_page)
    texts = (*READABLE, *NOT_READABLE)
    complaints = said(phone, [(text, "mm") for text in texts], "unread")
    assert {text: complaint is None for text, complaint in zip(texts, complaints, strict=True)} == {
        text: _is_read(text) for text in texts
    }
    assert [text for text in READABLE if not _is_read(text)] == []
    assert [text for text in NOT_READABLE if _is_read(text)] == []


def test_every_unit_is_worth_on_the_page_what_it_is_worth_in_the_records(phone: Phone, folder_page: str) -> None:
    phone.page.goto(folder_page)
    spelled = [(spelling, unit) for unit in UNITS for spelling in (unit.name, *unit.also)]
    calls = [(f"{number} {spelling}", units_of(unit.dimension)[0]) for spelling, unit in spelled for number in NUMBERS]
    for (text, unit), found in zip(calls, said(phone, calls, "numberIn"), strict=True):
        amount = parse_quantity(text)
        wanted = convert(amount.number, amount.unit or unit, unit)
        assert Decimal(repr(found)) == pytest.approx(wanted, rel=Decimal("1e-12"), abs=Decimal("1e-12")), text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("61,4,2", "Cannot be read: 61.4,2."),
        ("sixty", "Cannot be read: sixty."),
        ("45 Nm", "Nm does not measure what mm does."),
    ],
)
def test_a_reading_that_cannot_be_read_is_said_at_once_and_kept(
    phone: Phone, folder_page: str, typed: str, words: str
) -> None:
    begin(phone.page, folder_page, "Teardown", "2026-11-15")
    to_place(phone.page, "Rotor bearing 1")
    phone.page.get_by_label("Inside diameter, mm").press_sequentially(typed)
    phone.page.get_by_text(words).wait_for()
    phone.page.get_by_role("button", name="Next").click()
    phone.page.get_by_role("heading", name="Rotor bearing 2", exact=True).wait_for()
    phone.page.go_back()
    phone.page.get_by_text(words).wait_for()


def test_a_range_among_repeated_readings_is_said_at_once(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", "2026-11-15")
    to_place(phone.page, "Rotor bearing 1")
    phone.page.get_by_label("Inside diameter, mm").fill("60.05..60.06")
    phone.page.get_by_role("button", name="Inside diameter: another reading").click()
    phone.page.get_by_label("Inside diameter, reading 2, mm").fill("60.061")
    phone.page.get_by_text("not among repeated readings").wait_for()


def test_a_counter_a_temperature_and_a_test_that_cannot_be_read_are_said_at_once(
    phone: Phone, folder_page: str
) -> None:
    begin(phone.page, folder_page, "Inspection", "2026-11-15")
    phone.page.get_by_role("link", name="The sheet").click()
    phone.page.get_by_label("Counter, h").fill("41,6,1")
    phone.page.get_by_text("Cannot be read: 41,6,1. Write a number as 41.6.").wait_for()
    phone.page.get_by_label("Temperature of parts and gauges, °C").fill("75 °F")
    phone.page.get_by_label("Temperature of parts and gauges, °C").fill("21 bar")
    phone.page.get_by_text("bar does not measure what °C does.").wait_for()
    phone.page.get_by_role("button", name="Places").click()
    phone.page.get_by_role("link", name="Tests").click()
    phone.page.get_by_label("Compression, Rotor 1, 2").fill("8o6")
    phone.page.get_by_text("Cannot be read: 8o6.").wait_for()
    phone.page.get_by_label("Compression, Rotor 1, 2").fill("806")
    phone.page.get_by_text("Read every face, or leave all of them blank.").wait_for()
    phone.page.get_by_role("button", name="Places").click()
    phone.page.get_by_role("button", name="Hand over").click()
    assert "Rotor 1: Read every face" in phone.page.locator("div.warning ul").inner_text()
    phone.page.get_by_role("link", name="Rotor 1").click()
    for face, read in ((1, "800"), (3, "810")):
        phone.page.get_by_label(f"Compression, Rotor 1, {face}").fill(read)
    phone.page.get_by_text("Read every face").wait_for(state="detached")


DIMENSION = {"unit": "mm", "wears": "up", "decimals": 3, "usual": None}
OF = {"limit": None, "new": None, "last": {"": {"written": "60.061", "value": 60.061, "u": 0.002, "sheet": "T-1"}}}


@pytest.mark.parametrize(
    ("typed", "dimension", "words"),
    [
        ("60.065", {}, []),
        ("60.050", {}, ["Less worn than last time, 60.061."]),
        ("2.3646", {}, ["Far from the last reading, 60.061; inches typed for millimetres would fit."]),
        ("1525.5", {}, ["Far from the last reading, 60.061; millimetres typed for inches would fit."]),
        ("60061", {}, ["Far from the last reading, 60.061; micrometres typed for millimetres would fit."]),
        ("6.0061", {}, ["Far from the last reading, 60.061; a point one place to the right would fit."]),
        ("2.3646 in", {}, []),
        ("60.081", {"usual": 0.004}, []),
        ("60.161", {"usual": 0.004}, ["Far from the last reading, 60.061; 0.004 is usual between two sheets."]),
        ("60.161", {"usual": 0.05}, []),
    ],
)
def test_without_a_new_range_a_reading_is_held_against_the_last_one(
    phone: Phone, folder_page: str, typed: str, dimension: dict[str, Any], words: list[str]
) -> None:
    phone.page.goto(folder_page)
    assert said(phone, [(typed, DIMENSION | dimension, OF, "", True)], "oddities") == [words]


def test_another_part_is_not_held_against_the_last_one(phone: Phone, folder_page: str) -> None:
    phone.page.goto(folder_page)
    assert said(phone, [("2.3646", DIMENSION, OF, "", False)], "oddities") == [[]]


def test_a_part_that_wears_far_from_new_is_not_taken_for_a_slip(phone: Phone, folder_page: str) -> None:
    """A seal of 7.98 to 8.01 mm with a limit of 7.5: 7.6 is worn, and 0.76 is a point in the wrong place."""
    phone.page.goto(folder_page)
    seal = {**DIMENSION, "wears": "down"}
    of = {"limit": [7.5, None], "new": [7.98, 8.01], "last": {}}
    worn, slipped = said(phone, [("7.6", seal, of, "", True), ("0.76", seal, of, "", True)], "oddities")
    assert worn == []
    assert slipped == ["Far outside the new range 7.980–8.010; a point one place to the right would fit."]


def test_the_usual_change_comes_with_the_form(phone: Phone, folder_page: str) -> None:
    phone.page.goto(folder_page)
    form = json.loads(phone.page.evaluate("document.getElementById('form').textContent"))
    bearing = next(one for one in form["positions"] if one["id"] == "rotor-bearing-1")
    assert 0.001 < bearing["dimensions"][0]["usual"] < 0.02
