"""The demo's engine for sale, with the commits that its records were made by: what a buyer would stop at."""

import subprocess
from datetime import date
from pathlib import Path

import pytest

from engine_pages.demo.commits import demo_commits, import_stream
from engine_pages.history.story import ReviewStory
from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Commit
from engine_pages.review.asked import ask_review
from engine_pages.review.review_words import review_figures, review_text

DEMO = Path(__file__).parents[2] / "records"


@pytest.fixture(scope="module")
def review(tmp_path_factory: pytest.TempPathFactory) -> ReviewStory:
    shop = tmp_path_factory.mktemp("demo")
    subprocess.run(["git", "init", "-q", "-b", "main", str(shop)], check=True)
    stream = import_stream(demo_commits(DEMO), "main")
    subprocess.run(["git", "fast-import", "--quiet"], cwd=shop, input=stream, check=True)
    return ask_review(read_checked(Commit(shop, "main"), date(2026, 11, 25), repository_of(shop)), "Q-12")


def test_eight_kinds_of_point_are_open_and_two_points_are_answered(review: ReviewStory) -> None:
    assert {one.point.kind for one in review.in_state("open")} == {
        *("figure-changed", "recorded-late", "unknown-life", "no-limit-source", "no-gauge", "no-temperature"),
        *("not-photographed", "doubt"),
    }
    assert [one.point.where for one in review.in_state("answered")] == ["camshaft", "connecting-rod"]
    assert review.unmatched == ()


def test_every_question_of_a_buyer_has_an_answer(review: ReviewStory) -> None:
    answers = {fact.question: fact.lines for fact in review.facts}
    assert all(answers.values()), answers
    assert answers["Who built it, and when"][0] == "B-0363, 2026-02-28: Rikke Kalverd"
    lives = answers["From which parts, with which life"]
    assert "Piston 3, PN-405: 15.6 h since new, all in this engine" in lives
    assert any(line.startswith("Cylinder head, HD-12: at least 40.1 h") for line in lives)
    assert answers["What it ran on"][0].startswith("oil: ester-10w50, 40.1 h")
    assert any("Leak-down: Cylinder 1 6" in line for line in answers["Compression and leak-down"])


def test_a_clearance_names_the_sheet_and_the_gauge_of_each_of_its_sides(review: ReviewStory) -> None:
    clearances = next(fact.lines for fact in review.facts if fact.question == "Measured clearances")
    both = next(line for line in clearances if line.startswith("Piston to bore 3"))
    piston, bore = "B-0363 of 2026-02-28, mic-75-100, 19 °C", "T-0398 of 2025-11-29, bore-50-100, 17 °C"
    assert both == f"Piston to bore 3 (PN-405 in CB-12.3): 0.066 mm, within, {piston}; {bore}"


def test_what_the_plan_alone_brings_near_a_limit_is_within_today_for_a_buyer(review: ReviewStory) -> None:
    by_plan = "within today, near its limit by the end of the plan"
    lines = [line for fact in review.facts for line in fact.lines]
    assert any(line.startswith("Piston to bore 4") and by_plan in line for line in lines)
    assert any(line.startswith(f"Cylinder 4, Bore: {by_plan}") for line in lines)


def test_figures_at_a_standard_speed_stand_beside_what_was_read_at_which_speed(review: ReviewStory) -> None:
    lines = [line for fact in review.facts for line in fact.lines]
    (compression,) = [line for line in lines if line.startswith("Compression: ")]
    assert "Cylinder 1 1440" in compression
    assert "kPa at 250 rpm (1430, 1405, 1435, 1425 as read at 242 rpm)" in compression


def test_a_point_names_its_place_why_it_matters_and_how_it_is_settled(review: ReviewStory) -> None:
    text = review_text(review)
    assert "Q-12/teardowns/2025-11-29/teardown.yml:62  T-0398: cylinder-4 › bore › top-thrust: 86.038 → 86.032" in text
    assert "- {point: figure-changed, where: teardowns/2025-11-29/teardown.yml, answer: …, by: …, date: …}" in text
    figures = review_figures(review)
    assert figures["ready"] is False
    assert {"point", "where", "what", "source", "why", "settle", "state"} <= set(figures["points"][0])
