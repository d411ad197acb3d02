"""The way through the bench page: where the builder was, what comes next, and plain words for what is there."""

import pytest
from browser.conftest import Phone, begin, to_place, until

pytestmark = pytest.mark.browser


def test_the_list_of_places_stays_where_the_builder_left_it(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", "2026-11-24")
    phone.page.get_by_role("link", name="Oil pump").scroll_into_view_if_needed()
    phone.page.evaluate("scrollTo(0, 700)")
    phone.page.get_by_role("link", name="Oil pump").click()
    phone.page.get_by_role("heading", name="Oil pump", exact=True).wait_for()
    until(phone.page, "scrollY === 0")
    phone.page.get_by_role("button", name="Places").click()
    phone.page.get_by_role("link", name="Oil pump").wait_for()
    until(phone.page, "scrollY > 500")


def test_the_next_place_not_looked_at_is_one_touch_away(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", "2026-11-24")
    to_place(phone.page, "Rotor 1")
    phone.page.get_by_role("group", name="Decision", exact=True).get_by_role("button", name="reuse").click()
    phone.page.get_by_role("button", name="Places").click()
    phone.page.get_by_role("button", name="Next blank").click()
    phone.page.get_by_role("heading", name="Rotor 2", exact=True).wait_for()


def test_what_was_fitted_by_the_record_is_said_in_plain_words(phone: Phone, folder_page: str) -> None:
    begin(phone.page, folder_page, "Teardown", "2026-11-24")
    to_place(phone.page, "Rotor bearing 1")
    words = phone.page.get_by_text("Fitted here by the record: ").inner_text()
    serial = words.split(": ")[1].split(".")[0]
    assert words.endswith("If something else came out, write its serial.")
    phone.page.get_by_role("button", name=f"{serial} came out").click()
    assert phone.page.get_by_label("Serial").input_value() == serial
