"""What the kind says of a part's rate stands beside it, and nothing where there is nothing to say."""

import dataclasses
import doctest

import pytest
from msgspec.structs import replace

from engine_pages.history.story import DimensionStory, Wear
from engine_pages.pages import kind_words as module
from engine_pages.pages.kind_words import kind_words
from engine_pages.pages.part_answer import part_answer
from engine_pages.pages.shown_units import shown
from engine_pages.wear.among_like import Rank, Selection
from engine_pages.wear.bends import Bend
from engine_pages.wear.trend import Interval

from .parts_for_tests import bearing, bore


def with_wear(**changed: object) -> DimensionStory:
    told = bore()
    return replace(told, wear=replace(Wear(line=told.line, parts=6, of=6), **changed))  # type: ignore[arg-type]


def plain(text: str) -> str:
    return text.replace("\xa0", " ").replace("\u2060", "")


def test_the_examples_run_as_printed() -> None:
    assert doctest.testmod(module).failed == 0


def test_a_part_among_its_like_has_its_place() -> None:
    assert kind_words(with_wear(rank=Rank(1, 6, 1))) == "Its rate is the fastest of 6."
    assert kind_words(with_wear(rank=Rank(1, 1, 1))) == ""


def test_a_part_that_has_no_rate_though_its_kind_has_one_is_told_why() -> None:
    told = replace(
        with_wear(line=None, bend=Bend(0.001, "falls", 9), since=3.1),
        line=None,
        rate=None,
        to_limit=None,
        state="within",
    )
    claim, _ = part_answer(replace(bearing(), state="within", dimensions=(told,), due=()), ("mm", None))
    assert plain(claim).endswith(
        "how fast it wears: cannot tell, as its kind runs in: readings count from 3.1 h on alone."
    )


def test_no_share_is_given_of_fewer_than_twenty() -> None:
    assert "%" not in kind_words(with_wear(rank=Rank(4, 19, 1)))
    assert "faster than 79 % of them" in kind_words(with_wear(rank=Rank(5, 20, 1)))


def test_how_many_of_the_kind_were_measured_is_said_where_it_is_not_all() -> None:
    assert kind_words(with_wear(parts=4, of=12)) == "4 of 12 of its kind were measured."


def test_a_rate_that_falls_with_use_is_said_and_from_where_the_line_holds() -> None:
    words = plain(kind_words(with_wear(bend=Bend(0.002, "falls", 12), since=2.45)))
    assert words == "A constant rate does not fit: it falls with use. The line rests on readings from 2.5 h on."
    early = replace(with_wear(bend=Bend(0.002, "falls", 12), since=2.45, line=None), line=None)
    assert kind_words(early).endswith("Nothing is carried on from its first hours.")


def test_few_readings_lean_on_the_others() -> None:
    line = bore().line
    assert line is not None
    few = replace(with_wear(), line=dataclasses.replace(line, n=1), parts_in_fit=6)
    assert plain(kind_words(few)) == "With 1 reading of its own it leans on 5 like parts."
    none = replace(with_wear(), line=dataclasses.replace(line, n=0), parts_in_fit=6)
    assert kind_words(none) == "It was not measured on this baseline: the line is that of its kind."


@pytest.mark.parametrize(("unit", "rate"), [("mm", "0.90 (0.70–1.10) µm/h"), ("in", "0.035 (0.028–0.043) thou/h")])
def test_an_answer_that_rests_on_suspicious_sheets_says_so_in_the_unit_shown(unit: str, rate: str) -> None:
    every, without = Interval(0.0012, 0.001, 0.0014), Interval(0.0009, 0.0007, 0.0011)
    found = Selection(every, without, None, None, 0.7, 0.95, changes=True)
    words = plain(kind_words(shown(with_wear(selection=found), unit)))
    assert words == f"Without the sheets of incidents and failures the answer is another: {rate}."
