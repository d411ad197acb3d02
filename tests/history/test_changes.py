"""Did a change help: which intervals count, on which side, what is left out, and when the verdict is withheld."""

from datetime import date

import numpy as np
import pytest

from engine_pages.history.change_asked import AskedChange, ChangeError, ask_changes
from engine_pages.history.change_words import change_text, verdict_words
from engine_pages.history.story import ChangeStory
from engine_pages.history.told_later import ToldLater
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
    assert verdict_words(found).startswith("Wear is lower on thin than on thick. On thin it is 0.")


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


WITH_SEAL = (
    FAMILY.replace("b-4: bearing}", "b-4: bearing, s: seal}")
    + """
      seal:
        service: {replace: {hours: 400}}
        dimensions: {height: {unit: mm, wears: down, new: [7.99, 8.01], limit: {min: 7.5}, instrument: mic}}
"""
)


def test_a_part_that_went_out_worn_makes_it_a_selection_for_its_own_kind() -> None:
    files = shop(0.5) | {"families/single.yml": WITH_SEAL}
    files["engines/E1/teardowns/2021-04-20-2/teardown.yml"] = (
        "engine: E1\ndate: 2021-04-20\nopened: [s]\npositions: {s: {decision: replace, because: worn}}\n"
    )
    found = the_change(files)
    assert found.looked_bad == ("s went out worn on 2021-04-20",)
    assert found.answer.why == "the change was made because the last rate looked bad"
    assert [(one.kind, one.answer.verdict) for one in found.kinds] == [("bearing", "lower")]


def test_a_reason_that_speaks_of_something_else_is_no_selection() -> None:
    found = the_change(shop(0.5, ', why: "cheaper by the drum"'))
    assert (found.looked_bad, found.answer.verdict, found.made[0].why) == ((), "lower", "cheaper by the drum")


def twice_in_the_first_interval(fluid: str) -> dict[str, str]:
    """The shop, with two names of a fluid in its first interval."""
    files = shop(0.5)
    lines = files["engines/E1/log.yml"].splitlines(keepends=True)
    lines[1:1] = [
        f"- {{date: 2020-01-21, kind: change, fluids: {{{fluid}: blue}}}}\n",
        "- {date: 2020-01-22, kind: run, hours: 0.1}\n",
        f"- {{date: 2020-01-23, kind: change, fluids: {{{fluid}: green}}}}\n",
    ]
    files["engines/E1/log.yml"] = "".join(lines)
    return files


def of_oil(files: dict[str, str]) -> ChangeStory:
    return next(one for one in told(files).changes if one.fluid == "oil")


@pytest.mark.parametrize("fluid", ["premix", "fuel", "filter", "injected"])
def test_an_interval_on_two_recipes_is_out_and_listed(fluid: str) -> None:
    found = of_oil(twice_in_the_first_interval(fluid))
    assert {one.why for one in found.left_out} == {"more than one recipe"}
    assert len(found.left_out) == 4
    (out,) = found.intervals_out
    assert (out.first.name, out.last.name) == ("2020-01-20", "2020-04-20")
    assert (out.why, out.more, out.increments, out.parts) == (
        "more than one recipe",
        fluid,
        4,
        ("B-1", "B-2", "B-3", "B-4"),
    )


def test_coolant_is_no_part_of_a_recipe_unless_it_is_asked_about() -> None:
    changes = told(twice_in_the_first_interval("coolant")).changes
    by_fluid = {one.fluid: one for one in changes}
    assert by_fluid["oil"].left_out == ()
    assert "more than one recipe" in {one.why for one in by_fluid["coolant"].left_out}


def test_what_ran_before_its_oil_was_written_is_on_no_one_recipe() -> None:
    files = shop(0.5)
    first = "- {date: 2020-01-01, kind: service, fluids: {oil: thick}}\n"
    late = "- {date: 2020-02-01, kind: service, fluids: {oil: thick}}\n"
    head, rest = files["engines/E1/log.yml"].split(first)[1].split("\n", 1)
    files["engines/E1/log.yml"] = f"{head}\n{late}- {{date: 2020-02-02, kind: run, hours: 1}}\n{rest}"
    (out,) = of_oil(files).intervals_out
    assert (out.first.name, out.why, out.more) == ("2020-01-20", "more than one recipe", "oil")


def test_a_sheet_on_which_nothing_that_counts_was_read_parts_no_interval() -> None:
    files = shop(0.5)
    cover = "      cover:\n        dimensions: {step: {unit: mm, wears: up, new: [0.0, 0.001], limit: {max: 0.5}}}\n"
    files["families/single.yml"] = FAMILY.replace("b-4: bearing}", "b-4: bearing, c: cover}") + cover
    for day, step in (("2020-01-20", 0.0005), ("2020-01-22", 0.02), ("2020-04-20", 2.0)):
        path = f"engines/E1/inspections/{day}-2.yml" if day != "2020-01-22" else f"engines/E1/inspections/{day}.yml"
        files[path] = f"engine: E1\ndate: {day}\npositions: {{c: {{measured: {{step: {step}}}}}}}\n"
    log = files["engines/E1/log.yml"]
    files["engines/E1/log.yml"] = log.replace(
        "- {date: 2020-01-25", "- {date: 2020-01-21, kind: run, hours: 0.1}\n- {date: 2020-01-25", 1
    )
    found = of_oil(files)
    first = found.intervals[0]
    assert (first.first and first.first.name, first.last and first.last.name) == ("2020-01-20", "2020-04-20")
    assert {one.dimension for one in found.left_out} == {"step"}
    assert (len(found.intervals), found.answer.before.intervals) == (10, 5)


def test_what_else_changed_is_named() -> None:
    files = shop(0.5, more="- {date: 2021-04-22, kind: change, fluids: {filter: fine}}\n")
    found = next(one for one in told(files).changes if one.fluid == "oil")
    assert found.meanwhile == ("filter: not written on thick, fine on thin",)


def test_what_the_engine_ran_for_and_what_was_new_in_it_is_named() -> None:
    files = shop(0.5)
    log = files["engines/E1/log.yml"]
    head, tail = log.split("- {date: 2021-04-21", 1)
    files["engines/E1/log.yml"] = f"{head}- {{date: 2021-04-21{tail.replace('kind: run', 'kind: run, what: race')}"
    assert "runs: not named 100 % on thick, race 100 % on thin" in the_change(files).meanwhile


def test_a_part_that_took_the_place_of_another_is_named() -> None:
    files = shop(0.5)
    files["engines/E1/builds/2021-04-21.yml"] = (
        "engine: E1\ndate: 2021-04-21\nrest: as before\npositions: {b-4: {part: B-9, measured: {inside: 60.05}}}\n"
    )
    for path, text in files.items():
        if "/inspections/" in path and path > "engines/E1/inspections/2021-04-21":
            files[path] = text.replace("part: B-4", "part: B-9")
    found = the_change(files)
    assert "other parts fitted: none on thick, 1 × bearing on thin" in found.meanwhile
    assert "B-4" in {one.part for one in found.left_out}  # on one side only


def test_nothing_is_reckoned_before_somebody_looks() -> None:
    asked: list[int] = []
    changes = ToldLater(lambda: asked.append(1) or ())  # type: ignore[func-returns-value]
    assert asked == []
    assert (len(changes), list(changes), changes == ()) == (0, [], True)
    assert asked == [1]


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
    with pytest.raises(ChangeError, match="no piston counts on both sides of a change"):
        ask_changes(checked, AskedChange("oil", kind="piston"))


def test_the_answer_as_text_says_what_was_compared() -> None:
    (found,) = ask_changes(read_checked(texts(shop(0.5)), TODAY), AskedChange("oil", kind="bearing"))
    text = change_text(found)
    assert text.startswith("oil: thick to thin, bearing alone\n")
    assert "Bearing, inside: 0." in text
    assert "5 intervals with 20 readings on thick, 5 with 20 on thin" in text
    assert "  E1  Build 2020-01-20 to Inspection 2020-04-20  on thick  10.0 h" in text
    assert "Wear on thick, then on thin, within parts:" in text
    assert " then 0." in text
    assert " µm/h: 0." in text
