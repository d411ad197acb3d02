"""What falls due, in which unit first, and on which day."""

from datetime import date

import pytest

from engine_pages.wear.service import Planned, add_months, due

RULE = {"hours": 60.0, "months": 36}
FITTED, TODAY = date(2025, 2, 20), date(2026, 11, 2)


def test_a_part_with_time_left_is_within() -> None:
    found = due({"hours": 60.0}, {"hours": 22.5})
    assert found.state == "within"
    assert found.first is not None
    assert found.first.remaining == 37.5
    assert found.first.share == 0.375


@pytest.mark.parametrize(
    ("hours", "state"), [(53.9, "within"), (54.0, "due"), (60.0, "due"), (60.1, "overdue"), (200.0, "overdue")]
)
def test_the_last_tenth_is_due_and_past_the_interval_is_overdue(hours: float, state: str) -> None:
    assert due({"hours": 60.0}, {"hours": hours}).state == state


def test_tenths_of_an_hour_added_up_are_not_overdue_by_noise() -> None:
    assert due({"hours": 0.3}, {"hours": 0.1 + 0.2}).state == "due"


def test_what_the_next_event_will_end_is_due_now() -> None:
    event = Planned(ends=date(2027, 4, 18), exposure={"hours": 1.6})
    assert due({"hours": 5.0}, {"hours": 3.3}, planned=event).state == "within"
    assert due({"hours": 5.0}, {"hours": 3.5}, planned=event).state == "due"


def test_an_event_that_says_nothing_of_a_unit_adds_nothing_in_it() -> None:
    assert due({"starts": 60}, {"starts": 50}, planned=Planned(date(2027, 4, 18), {"hours": 99.0})).state == "within"


def test_a_day_before_the_end_of_the_next_event_is_due() -> None:
    rule, since = {"months": 6}, date(2026, 10, 18)
    early, late = Planned(ends=date(2027, 4, 17)), Planned(ends=date(2027, 4, 18))
    assert due(rule, {}, since=since, as_of=TODAY, planned=early).state == "within"
    assert due(rule, {}, since=since, as_of=TODAY, planned=late).state == "due"


def test_months_end_on_their_day() -> None:
    rule = {"months": 6}
    on_the_day = due(rule, {}, since=date(2026, 5, 2), as_of=TODAY)
    day_after = due(rule, {}, since=date(2026, 5, 1), as_of=TODAY)
    assert on_the_day.state == "due"
    assert day_after.state == "overdue"
    assert on_the_day.units[0].due_on == TODAY


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2023, 10, 31), 4, date(2024, 2, 29)),
        (date(2026, 12, 15), 1, date(2027, 1, 15)),
        (date(2026, 1, 15), 36, date(2029, 1, 15)),
        (date(2026, 4, 10), 0.5, date(2026, 4, 25)),
    ],
)
def test_a_month_is_a_calendar_month(day: date, months: float, later: date) -> None:
    assert add_months(day, months) == later


def test_the_unit_that_ends_first_is_named() -> None:
    assert due(RULE, {"hours": 50.0}, since=FITTED, as_of=TODAY).first == due({"hours": 60.0}, {"hours": 50.0}).first
    by_date = due(RULE, {"hours": 10.0}, since=FITTED, as_of=TODAY).first
    assert by_date is not None
    assert by_date.unit == "months"
    assert by_date.due_on == date(2028, 2, 20)


def test_a_unit_that_the_next_event_ends_comes_before_one_that_is_further_used() -> None:
    event = Planned(date(2026, 12, 1), {"starts": 50})
    found = due({"hours": 10.0, "starts": 60}, {"hours": 8.0, "starts": 12}, planned=event)
    assert found.state == "due"
    assert found.first is not None
    assert found.first.unit == "starts"


def test_the_share_of_months_is_that_of_their_days() -> None:
    unit = due({"months": 12}, {}, since=date(2025, 3, 1), as_of=date(2025, 8, 30)).units[0]
    assert unit.share == pytest.approx(182 / 365)
    assert unit.used == pytest.approx(12 * 182 / 365)
    assert unit.remaining == pytest.approx(12 * 183 / 365)


def test_an_unknown_exposure_is_unknown_and_never_zero() -> None:
    found = due({"hours": 60.0}, {"hours": None})
    assert found.state == "unknown"
    assert found.first is None
    assert due({"hours": 60.0, "starts": 60}, {"hours": 1.0}).state == "unknown"
    assert due({"hours": 60.0, "starts": 60}, {"hours": 59.0}).state == "due"


def test_months_without_a_day_to_start_from_are_unknown() -> None:
    assert due({"months": 6}, {}, as_of=TODAY).state == "unknown"
    undated = due({"months": 6}, {}, since=FITTED)
    assert undated.state == "unknown"
    assert undated.units[0].due_on == date(2025, 8, 20)


def test_a_life_known_only_in_part_is_never_within() -> None:
    assert due({"hours": 60.0}, {"hours": 5.0}, at_least=True).state == "unknown"
    assert due({"hours": 60.0}, {"hours": 61.0}, at_least=True).state == "overdue"


@pytest.mark.parametrize("rule", [{}, {"hours": 0.0}, {"months": -1}])
def test_a_rule_without_an_interval_is_refused(rule: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="interval"):
        due(rule, {}, since=FITTED, as_of=TODAY)
