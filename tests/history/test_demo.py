"""The demo shop is told as its records mean it: three engines over three seasons, with what a season brings."""

from collections import Counter
from datetime import date
from pathlib import Path

import pytest

from engine_pages.history.figures import figures_json
from engine_pages.history.story import EngineStory, ShopStory
from engine_pages.history.tell import tell_shop
from engine_pages.records.checks.all import read_checked
from engine_pages.records.checks.checked import Checked
from engine_pages.records.tree import Folder
from engine_pages.wear.limits import Limit

from .shop_for_tests import engine, part, row

DEMO = Path(__file__).parents[2] / "records"
READ_ON = date(2026, 11, 25)


@pytest.fixture(scope="module")
def checked() -> Checked:
    return read_checked(Folder(DEMO), READ_ON)


@pytest.fixture(scope="module")
def shop(checked: Checked) -> ShopStory:
    return tell_shop(checked)


def sheets(one: EngineStory, kind: str) -> int:
    return sum(sheet.ref.kind == kind for sheet in one.sheets)


def test_three_engines_one_of_them_with_pistons(shop: ShopStory) -> None:
    assert {one.id: (one.architecture, one.rows) for one in shop.engines} == {
        "K-05": ("rotary", 2),
        "K-07": ("rotary", 2),
        "Q-12": ("piston", 4),
    }


def test_nine_teardowns_four_of_them_on_one_engine(shop: ShopStory) -> None:
    assert {one.id: sheets(one, "teardown") for one in shop.engines} == {"K-05": 3, "K-07": 4, "Q-12": 2}


def test_more_than_sixty_parts_have_a_serial(shop: ShopStory) -> None:
    assert sum(one.named and bool(one.stays) for one in shop.parts) >= 60


def test_hours_and_states_of_the_engines(shop: ShopStory) -> None:
    found = {one.id: (one.state, round(one.total.hours, 2), one.assembled, one.as_of) for one in shop.engines}
    assert found == {
        "K-05": ("undecided", 39.38, False, date(2026, 10, 31)),
        "K-07": ("near limit", 41.25, True, date(2026, 11, 8)),
        "Q-12": ("due", 40.13, True, date(2026, 10, 31)),
    }


def test_states_of_all_parts(shop: ShopStory) -> None:
    assert Counter(one.state for one in shop.parts) == {
        "within": 130, "near limit": 17, "beyond limit": 3, "undecided": 2, "not measured": 1, "due": 1, "retired": 1,
    }  # fmt: skip


def test_a_rotor_and_its_bearing_went_to_the_other_engine_and_came_back_with_their_hours(shop: ShopStory) -> None:
    bearing = part(shop, "RB-1042")
    assert [(stay.engine, stay.slot) for stay in bearing.stays] == [
        ("K-07", "rotor-bearing-2"),
        ("K-05", "rotor-bearing-2"),
        ("K-07", "rotor-bearing-2"),
        ("K-07", "rotor-bearing-2"),
    ]
    assert bearing.since_new.hours == pytest.approx(sum(stay.exposure.hours for stay in bearing.stays))
    assert {one.id for one in shop.parts if len({stay.engine for stay in one.stays}) > 1} == {
        "R-0190", "R-0231", "RB-1037", "RB-1042",
    }  # fmt: skip


def test_a_crankshaft_was_ground_a_quarter_millimetre_under(shop: ShopStory) -> None:
    journal = row(shop, "CK-31", "rod_journal_1")
    assert (journal.baseline_number, journal.limit) == (1, Limit(min=pytest.approx(44.72)))
    assert part(shop, "CK-31").since_new.hours == pytest.approx(engine(shop, "Q-12").total.hours)


def test_a_bearing_is_undecided_and_the_builder_leaves_it_so(shop: ShopStory) -> None:
    bearing = part(shop, "RB-1036")
    assert (bearing.state, bearing.state_why, bearing.decision) == ("undecided", "inside diameter", "undecided")


def test_a_cracked_rotor_is_retired(shop: ShopStory) -> None:
    assert part(shop, "R-0190").state == "retired"
    assert part(shop, "R-0190").differs is None


def test_two_readings_are_doubted_and_one_limit_has_no_source(shop: ShopStory) -> None:
    assert [str(problem) for problem in shop.problems] == [
        # the housing that a chipped apex seal ran over
        "engines/K-05/teardowns/2025-08-23/teardown.yml:81:58: doubt: width of RH-105 moved by -0.056 mm since "
        "2024-10-26, 8 times the spread of its kind: the right line, or did something happen?",
        "engines/Q-12/teardowns/2025-11-29/teardown.yml:48:26: doubt: bore of CB-12.2 shrank by 0.008 mm since "
        "2024-11-30, against wear and beyond its uncertainty",
        "families/inline-four.yml:291:9: doubt: the limit of valve-spring.load has no source; write source: beside it",
    ]


def test_what_was_not_written_is_a_gap(shop: ShopStory) -> None:
    said = {gap.what for one in shop.engines for gap in one.gaps}
    assert "Oil pump: tip clearance not measured" in said
    assert "Main bearing 2: a serial is expected and none is written" in said
    assert "B-0341: no gauge is named for 39 readings; the uncertainty is assumed" in said


def test_incidents_were_answered(shop: ShopStory) -> None:
    found = {(one.id, i.what): i.answered.label for one in shop.engines for i in one.incidents if i.answered}
    assert found == {("K-05", "overheat"): "T-0389", ("K-07", "over_rev"): "I-0096"}


def test_the_compression_after_the_over_rev_was_beyond_limit(shop: ShopStory) -> None:
    test = next(one for one in engine(shop, "K-07").tests if one.sheet.label == "I-0096")
    assert (test.state, test.faces_marked) == ("beyond limit", True)


def test_a_reading_that_was_corrected_says_so(shop: ShopStory) -> None:
    corrected = [reading for reading in row(shop, "RB-1042", "inside_diameter").readings if reading.correction]
    assert len(corrected) == 1


def test_the_assembled_engine_lacks_nothing_that_a_part_has(shop: ShopStory) -> None:
    for one in shop.engines:
        whole = next(each for each in one.parts if each.slot == "engine")
        assert len(whole.stays) == 1
        assert whole.since_new.hours <= one.total.hours
        assert not [gap for gap in one.gaps if gap.what.startswith("Engine") and gap.kind != "not measured"]


def test_a_day_in_the_past_knows_the_past_alone(checked: Checked) -> None:
    day = date(2025, 6, 16)
    early = engine(tell_shop(checked, day), "K-07")
    assert early.as_of == day
    assert max(sheet.ref.day for sheet in early.sheets) <= day
    assert max(line.day for line in early.log) <= day
    days = [reading.day for each in early.parts for dimension in each.dimensions for reading in dimension.readings]
    assert max(days) <= day
    assert [incident.answered for incident in early.incidents] == [None]
    assert "due" in {each.state for each in early.parts} | {due.state for due in early.due}


def test_the_figures_of_every_engine_are_the_same_bytes_twice(checked: Checked, shop: ShopStory) -> None:
    assert [figures_json(one) for one in tell_shop(checked).engines] == [figures_json(one) for one in shop.engines]
