"""Does it last: the plan's events with their chances, what counts as certain, what is left out, what to do."""

from datetime import date

import pytest

from engine_pages.history.season_asked import Asked, SeasonError
from engine_pages.history.season_words import season_text

from .season_for_tests import FAMILY, LONG, asked, plan, season, shop
from .shop_for_tests import engine, told


def test_without_a_plan_there_is_no_season() -> None:
    files = shop("events: []\n")
    assert engine(told(files, date(2026, 7, 1))).season is None


def test_events_add_up_and_the_chance_only_falls() -> None:
    found = season(shop(plan(5, 5, 5)))
    assert [event.run for event in found.events] == [5.0, 10.0, 15.0]
    chances = [event.chance for event in found.events]
    assert chances == sorted(chances, reverse=True)
    for event in found.events:
        assert event.chance is not None
        assert event.outer_low is not None
        assert event.outer_high is not None
        assert event.outer_low <= event.chance <= event.outer_high


def test_a_short_plan_may_be_run_whole() -> None:
    found = season(shop(plan(2, 2)))
    assert found.lasts == 2
    assert found.advice.startswith("It may run the whole plan: after Round 2 the chance is ")


def test_a_long_one_is_opened_before_the_chance_is_too_small() -> None:
    # 0.9 µm an hour, 0.037 mm left: a little over 40 h; the seal's 40 h are over after 20 more.
    found = season({**shop(plan(10, 9, 10, 10)), "families/single.yml": FAMILY.replace("hours: 40", "hours: 400")})
    assert found.lasts is not None
    assert 2 <= found.lasts < 4
    after = found.events[found.lasts - 1].event.name
    assert found.advice.startswith(
        f"Open it after {after}: after {found.events[found.lasts].event.name} the chance is "
    )
    assert "Least sure until then is bearing" in found.advice


def test_an_interval_that_ends_counts_as_certain() -> None:
    found = season(shop(plan(10, 9, 2)))
    assert [event.chance == 0.0 for event in found.events] == [False, False, True]
    assert [due.part for due in found.events[2].stops] == ["S-1"]
    assert found.lasts == 2
    assert "By interval, to be replaced before the end of Round 3: seal." in found.advice


def test_a_service_is_named_with_the_event_before_whose_end_it_falls() -> None:
    found = season(shop(plan(10, 3.5, 2)))
    assert [[due.name for due in event.due] for event in found.events] == [[], ["Oil"], []]


def test_what_was_never_measured_is_out_of_the_figure_and_named() -> None:
    found = season(shop(plan(5)))
    assert [(one.part, one.name, one.id) for one in found.out("never measured")] == [("P-1", "Pump", "tip")]
    assert {one.name for one in found.stands} == {"Bearing 1", "Bearing 2"}


def test_what_is_to_go_out_stops_nothing() -> None:
    found = season(shop(plan(5), second=60.104, decision="replace"))
    assert [one.name for one in found.out("going out")] == ["Bearing 2"]
    assert found.events[0].chance is not None
    assert found.events[0].chance > 0.9


def test_where_no_chance_is_wanted_none_is_judged() -> None:
    found = season(shop(plan(5, keep="")))
    assert (found.lasts, found.keep) == (None, None)
    assert found.advice.startswith("The chance of staying inside every limit to the end of Round 1 is ")


def test_where_nothing_shows_a_rate_it_cannot_tell() -> None:
    files = {
        "families/single.yml": FAMILY.replace(", instrument: mic", ""),
        "engines/E1/builds/2026-01-01.yml": "engine: E1\ndate: 2026-01-01\npositions: {bearing-1: {part: B-1}}\n",
        "engines/E1/plan.yml": plan(2),
    }
    found = season(files)
    assert found.events[0].chance is None
    assert found.advice.startswith("Cannot tell whether it lasts")


def test_the_reading_that_settles_most_is_named_first() -> None:
    found = season({**shop(plan(10, 10, 15)), "families/single.yml": FAMILY.replace("hours: 40", "hours: 400")})
    assert found.measure_next
    assert found.measure_next[0].slot_name in ("Bearing 1", "Bearing 2")
    assert all(0.0 < one.settled <= 0.25 for one in found.measure_next)


def test_an_event_that_asks_for_nothing_changes_nothing() -> None:
    first = season(shop(plan(0.0))).events[0]
    assert first.chance == pytest.approx(1.0, abs=1e-3)


def test_asked_nothing_new_it_answers_as_the_page_does() -> None:
    assert asked(LONG, Asked()) == season(LONG)


def test_renewing_the_weakest_part_buys_something() -> None:
    before = season(LONG)
    worst = before.stands[0]
    after = asked(LONG, Asked(renewed=frozenset({worst.part or ""})))
    assert after.renewed == (worst.part,)
    assert (after.events[-1].chance or 0.0) > (before.events[-1].chance or 0.0)


def test_a_part_is_renewed_by_its_place_too() -> None:
    by_place = asked(LONG, Asked(renewed=frozenset({"bearing-1"})))
    assert by_place == asked(LONG, Asked(renewed=frozenset({"B-1"})))
    assert by_place.renewed == ("B-1",)


def test_the_interval_of_a_renewed_part_runs_anew() -> None:
    files = shop(plan(10, 10, 10))
    assert season(files).events[2].stops
    assert not asked(files, Asked(renewed=frozenset({"S-1"}))).events[2].stops


def test_a_new_part_that_runs_through_its_interval_stops_it_again() -> None:
    files = shop(plan(10, 10, 10, 15))
    assert [due.part for due in asked(files, Asked(renewed=frozenset({"S-1"}))).events[3].stops] == ["S-1"]


def test_another_season_has_as_many_events_as_asked() -> None:
    found = asked(LONG, Asked(events=5, each=2.0))
    assert [event.run for event in found.events] == [2.0, 4.0, 6.0, 8.0, 10.0]
    assert [event.run for event in asked(LONG, Asked(events=2)).events] == [10.0, 20.0]  # the plan's mean event


def test_a_question_without_an_answer_says_what_is_missing() -> None:
    none = {**LONG, "engines/E1/plan.yml": "events: []\n"}
    with pytest.raises(SeasonError, match=r"E1 has no event to come: write engines/E1/plan\.yml"):
        asked(none, Asked())
    with pytest.raises(SeasonError, match="no plan to take an event's exposure from; give --hours-each"):
        asked(none, Asked(events=3))
    with pytest.raises(SeasonError, match="B-11 is no part and no place of E1; did you mean B-1"):
        asked(LONG, Asked(renewed=frozenset({"B-11"})))


def test_the_answer_as_text_has_a_line_for_each_event() -> None:
    text = season_text("E1", asked(LONG, Asked(events=3, each=2.0, renewed=frozenset({"B-1"})))).splitlines()
    assert text[0] == "E1: 3 events, 6.0 h, with B-1 renewed"
    assert [line.split("  ")[0] for line in text[2:6]] == ["event", "Event 1", "Event 2", "Event 3"]
    assert any(line == "Not in the figure, never measured: Pump: tip." for line in text)


def test_a_plan_that_does_not_say_how_far_it_goes_cannot_be_judged() -> None:
    files = shop("events: [{date: 2027-01-01, name: Round 1, starts: 4}, {date: 2027-02-01, hours: 2}]\nkeep: 0.9\n")
    found = season(files)
    assert found.advice == "Cannot tell whether it lasts: no hours are written for Round 1."
    assert [event.chance for event in found.events] == [None, None]
    assert found.lasts is None
    assert asked(files, Asked(each=2.0)).events[0].chance is not None  # asked with its hours it can
