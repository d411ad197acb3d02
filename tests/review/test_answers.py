"""Answers to a review: they count where they are signed, dated, and name a point; what settles nothing is said."""

from datetime import date
from pathlib import Path

import pytest

from engine_pages.history.told_review import ReviewStory

from .shop_for_review import CLEAN, STRIP, clean_shop, open_points

UNSIGNED = {"engines/E1/builds/2026-05-09.yml": CLEAN["engines/E1/builds/2026-05-09.yml"].replace("by: RK", "")}
WHERE = "where: builds/2026-05-09.yml"


def reviewed(tmp_path: Path, answers: str) -> ReviewStory:
    shop = clean_shop(tmp_path / "shop").write({**UNSIGNED, "engines/E1/review.yml": answers})
    return shop.commit("2026-05-18").review()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (f"point: unsigned, {WHERE}, answer: RK built it, by: RK", "unsigned: date: is missing"),
        (f"point: unsigned, {WHERE}, by: RK, date: 2026-05-18", "answer or why: is missing"),
        (f"point: unsinged, {WHERE}, answer: RK, by: RK, date: 2026-05-18", "did you mean unsigned?"),
        ("point: unsigned, where: builds/2026-05-08.yml, answer: RK, by: RK, date: 2026-05-18",
         "nothing at builds/2026-05-08.yml; did you mean builds/2026-05-09.yml?"),
        ("point: no-torque, answer: Known., by: RK, date: 2026-05-18", "nothing of that kind is open any more"),
    ],
)  # fmt: skip
def test_an_answer_that_settles_nothing_is_said_and_its_point_stays_open(tmp_path: Path, line: str, said: str) -> None:
    review = reviewed(tmp_path, f"answers: [{{{line}}}]\n")
    assert said in review.unmatched[0][1]
    assert review.unmatched[0][0].line_text == "engines/E1/review.yml:1"
    assert ("unsigned", "builds/2026-05-09.yml") in open_points(review)
    assert not review.is_ready


def test_an_answer_without_a_place_is_to_every_point_of_its_kind(tmp_path: Path) -> None:
    review = reviewed(tmp_path, "answers: [{point: unsigned, answer: RK built it., by: RK, date: 2026-05-18}]\n")
    assert review.is_ready or set(open_points(review)) == {("figure-changed", "builds/2026-05-09.yml")}
    assert review.unmatched == ()


def test_a_point_that_is_left_out_stays_in_the_crews_review_with_its_reason(tmp_path: Path) -> None:
    line = f"left_out: [{{point: unsigned, {WHERE}, why: It is RK's own engine., by: RK, date: 2026-05-18}}]\n"
    (left_out,) = reviewed(tmp_path, line).in_state("left out")
    assert left_out.point.kind == "unsigned"
    assert left_out.written is not None
    assert left_out.written.text == "It is RK's own engine."


SILENT = CLEAN[STRIP].replace("60.023", "60.021")
CHANGED_AT = "point: figure-changed, where: teardowns/2026-05-02/teardown.yml, answer: Known., by: RK"
ANSWERS = "engines/E1/review.yml"


def test_an_answer_covers_nothing_that_was_changed_after_it(tmp_path: Path) -> None:
    line = f"answers:\n- {{{CHANGED_AT}, date: 2026-05-12}}\n"
    shop = clean_shop(tmp_path / "shop").write({STRIP: SILENT, ANSWERS: line}).commit("2026-05-12")
    assert shop.review().is_ready
    shop.write({STRIP: SILENT.replace("60.021", "60.019")}).commit("2026-05-22")
    review = shop.review()
    assert ("figure-changed", "teardowns/2026-05-02/teardown.yml") in open_points(review)
    (said,) = [what for _, what in review.unmatched]
    assert "written on 2026-05-12, before what came at teardowns/2026-05-02/teardown.yml on 2026-05-22" in said
    shop.write({ANSWERS: line + f"- {{{CHANGED_AT}, date: 2026-05-23}}\n"}).commit("2026-05-23")
    review = shop.review()
    assert review.is_ready
    assert [one.written.day for one in review.in_state("answered") if one.written] == [date(2026, 5, 23)]


@pytest.mark.parametrize(
    ("day", "said"), [("2020-05-12", "written on 2020-05-12, before"), ("2035-05-12", "still to come: today is")]
)
def test_an_answer_of_a_day_on_which_nobody_could_have_written_it_settles_nothing(
    tmp_path: Path, day: str, said: str
) -> None:
    review = reviewed(tmp_path, f"answers: [{{point: unsigned, {WHERE}, answer: RK built it., by: RK, date: {day}}}]\n")
    assert ("unsigned", "builds/2026-05-09.yml") in open_points(review)
    assert said in review.unmatched[0][1]
