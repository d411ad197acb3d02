"""Did a change help: which intervals count, on which side, what is left out, and when the verdict is withheld."""

from datetime import date

import numpy as np
import pytest

from engine_pages.history.change_asked import AskedChange, ChangeError, ask_changes
from engine_pages.history.change_words import change_text, verdict_words
from engine_pages.history.story import ChangeStory
from engine_pages.records.checks.all import read_checked

from .shop_for_tests import TODAY, texts, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {b-1: bearing, b-2: bearing, b-3: bearing, b-4: bearing}
    kinds:
      bearing:
        serial: yes
        service: {replace: {hours: 400}}
        dimensions: {inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.205}, instrument: mic}}
"""
SHOP = "instruments: {mic: {resolution: 0.001 mm, repeat: 0.0003 mm, zero: 0.0003 mm}}\n"


def shop(after: float, why: str = "", more: str = "", intervals: int = 5) -> dict[str, str]:
    """Four bearings read every 10 h, at first 1 µm an hour on `thick`, later `after` µm an hour on `thin`."""
    draw = np.random.default_rng(4)
    bores = np.array([60.050, 60.051, 60.049, 60.052])
    files = {"shop.yml": SHOP, "families/single.yml": FAMILY}
    log = "- {date: 2020-01-01, kind: service, fluids: {oil: thick}}\n"
    for n in range(2 * intervals + 1):
        day, ran = date(2020 + n // 4, 1 + 3 * (n % 4), 20), date(2020 + n // 4, 1 + 3 * (n % 4), 25)
        lines = ", ".join(f"b-{k}: {{part: B-{k}, measured: {{inside: {one:.4f}}}}}" for k, one in enumerate(bores, 1))
        folder = "builds" if n == 0 else "inspections"
        files[f"engines/E1/{folder}/{day}.yml"] = f"engine: E1\ndate: {day}\npositions: {{{lines}}}\n"
        if n == intervals:
            log += f"- {{date: {day.replace(day=21)}, kind: change, fluids: {{oil: thin}}{why}}}\n{more}"
        log += f"- {{date: {ran}, kind: run, hours: 10}}\n"
        bores += 10.0 * (0.001 if n < intervals else 0.001 * after) * draw.normal(1.0, 0.05, 4)
    files["engines/E1/log.yml"] = log
    return files


def the_change(files: dict[str, str]) -> ChangeStory:
    (found,) = told(files).changes
    return found


def test_less_wear_after_a_change_is_found() -> None:
    found = the_change(shop(0.5))
    assert (found.fluid, found.before, found.after) == ("oil", "thick", "thin")
    assert found.answer.verdict == "lower"
    assert found.answer.fit is not None
    assert found.answer.fit.ratio.value == pytest.approx(0.5, abs=0.08)
    assert verdict_words(found).startswith("Wear is lower after the change.")


def test_where_nothing_changed_it_cannot_tell() -> None:
    assert the_change(shop(1.0)).answer.verdict == "cannot tell"


def test_each_interval_stands_on_its_side_with_what_was_run_in_it() -> None:
    found = the_change(shop(0.5))
    assert [one.side for one in found.intervals] == ["before"] * 5 + ["after"] * 5
    assert {one.run for one in found.intervals} == {10.0}
    assert {one.increments for one in found.intervals} == {4}


def test_two_intervals_a_side_are_too_few() -> None:
    found = the_change(shop(0.5, intervals=2))
    assert (found.answer.verdict, found.answer.why) == ("cannot tell", "fewer than three intervals a side")


@pytest.mark.parametrize(
    ("why", "more", "words"),
    [
        (', why: "after what the bearings looked like"', "", "the reason written speaks of what was found"),
        ("", "- {date: 2021-04-10, kind: incident, what: low_oil_pressure}\n", "low-oil-pressure on 2021-04-10"),
    ],
)
def test_a_change_made_because_something_looked_bad_is_not_judged(why: str, more: str, words: str) -> None:
    files = shop(0.5, why)
    if more:  # before the change, in its place in the log
        head, tail = files["engines/E1/log.yml"].split("- {date: 2021-04-21", 1)
        files["engines/E1/log.yml"] = f"{head}{more}- {{date: 2021-04-21{tail}"
    found = the_change(files)
    assert found.looked_bad == (words,)
    assert (found.answer.verdict, found.answer.why) == (
        "cannot tell",
        "the change was made because the last rate looked bad",
    )
    assert found.answer.fit is not None  # the figures stand, the verdict does not


def test_a_reason_that_speaks_of_something_else_is_no_selection() -> None:
    found = the_change(shop(0.5, ', why: "cheaper by the drum"'))
    assert (found.looked_bad, found.answer.verdict, found.made[0].why) == ((), "lower", "cheaper by the drum")


def test_an_interval_on_two_recipes_is_out_and_listed() -> None:
    files = shop(0.5)
    lines = files["engines/E1/log.yml"].splitlines(keepends=True)
    lines.insert(3, "- {date: 2020-04-22, kind: change, fluids: {coolant: blue}}\n")
    lines.insert(4, "- {date: 2020-04-23, kind: run, hours: 2}\n")
    lines.insert(5, "- {date: 2020-04-24, kind: change, fluids: {coolant: green}}\n")
    files["engines/E1/log.yml"] = "".join(lines)
    found = next(one for one in told(files).changes if one.fluid == "oil")
    assert {one.why for one in found.left_out} == {"more than one recipe"}
    assert len(found.left_out) == 4


def test_what_else_changed_is_named() -> None:
    files = shop(0.5, more="- {date: 2021-04-22, kind: change, fluids: {filter: fine}}\n")
    found = next(one for one in told(files).changes if one.fluid == "oil")
    assert found.meanwhile == ("filter: not written before, fine after",)


def test_a_fluid_written_again_by_the_same_name_is_no_change() -> None:
    files = shop(1.0)
    files["engines/E1/log.yml"] = files["engines/E1/log.yml"].replace("oil: thin", "oil: thick")
    assert told(files).changes == ()


def test_a_question_names_what_is_written_when_there_is_no_such_change() -> None:
    checked = read_checked(texts(shop(0.5)), TODAY)
    with pytest.raises(ChangeError, match="no change of oill is written; did you mean oil"):
        ask_changes(checked, AskedChange("oill"))
    with pytest.raises(ChangeError, match="no oil was changed to thinn; did you mean thin"):
        ask_changes(checked, AskedChange("oil", after="thinn"))
    with pytest.raises(ChangeError, match="no piston counts on both sides of the change"):
        ask_changes(checked, AskedChange("oil", kind="piston"))


def test_the_answer_as_text_says_what_was_compared() -> None:
    (found,) = ask_changes(read_checked(texts(shop(0.5)), TODAY), AskedChange("oil", kind="bearing"))
    text = change_text(found)
    assert text.startswith("oil: thick to thin\n")
    assert "Bearing, inside: 0." in text
    assert "5 intervals with 20 readings before, 5 with 20 after" in text
