"""The lives of parts: hours follow the serial, through engines, strips and what nobody wrote."""

from datetime import date

import pytest

from .shop_for_tests import doubts, engine, part, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing-1: bearing, bearing-2: bearing, seals: {kind: seal, names: [a1, a2]}, engine: whole-engine}
    kinds:
      bearing: {serial: yes, observe: [scoring]}
      seal: {observe: [chipping]}
      whole-engine: {whole: yes, serial: yes, observe: [filter_metal]}
"""
NEW_BEARING = "serial: B-7\nkind: bearing\norigin: new\n"


def sheet(engine: str, day: str, body: str) -> str:
    return f"engine: {engine}\ndate: {day}\n{body}\n"


def two_engines() -> dict[str, str]:
    """B-7 runs 2 h in E1, 3 h in E12, and 4 h in E1 again; while it is away, E1 runs 50 h without it."""
    return {
        "families/single.yml": FAMILY,
        "parts/B-7.yml": NEW_BEARING,
        "parts/B-8.yml": "serial: B-8\nkind: bearing\norigin: new\n",
        "engines/E1/builds/2026-01-01.yml": sheet("E1", "2026-01-01", "positions: {bearing-1: {part: B-7}}"),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet(
            "E1", "2026-03-01", "positions: {bearing-1: {part: B-7, decision: reuse}}"
        ),
        "engines/E1/builds/2026-03-02.yml": sheet("E1", "2026-03-02", "positions: {bearing-1: {part: B-8}}"),
        "engines/E12/builds/2026-03-05.yml": sheet("E12", "2026-03-05", "positions: {bearing-2: {part: B-7}}"),
        "engines/E12/teardowns/2026-05-01/teardown.yml": sheet(
            "E12", "2026-05-01", "positions: {bearing-2: {part: B-7, decision: reuse}}"
        ),
        "engines/E1/teardowns/2026-05-02/teardown.yml": sheet(
            "E1", "2026-05-02", "positions: {bearing-1: {part: B-8, decision: replace, because: set}}"
        ),
        "engines/E1/builds/2026-05-03.yml": sheet("E1", "2026-05-03", "positions: {bearing-1: {part: B-7}}"),
        "engines/E1/log.yml": (
            "- {date: 2026-02-01, kind: run, hours: 2}\n"
            "- {date: 2026-04-01, kind: run, hours: 50}\n"
            "- {date: 2026-06-01, kind: run, hours: 4}\n"
        ),
        "engines/E12/log.yml": "- {date: 2026-04-02, kind: run, hours: 3, starts: 2}\n",
    }


def test_what_was_read_at_a_strip_knows_nothing_of_a_run_elsewhere_on_the_same_day() -> None:
    files = {
        "families/single.yml": FAMILY.replace(
            "bearing: {serial: yes, ", "bearing: {serial: yes, dimensions: {bore: {unit: mm, wears: up}}, "
        ),
        "parts/B-7.yml": NEW_BEARING,
        "engines/E1/builds/2026-01-01.yml": sheet("E1", "2026-01-01", "positions: {bearing-1: {part: B-7}}"),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet(
            "E1",
            "2026-03-01",
            "positions: {bearing-1: {part: B-7, measured: {bore: 60.05}, finding: dull, decision: reuse}}\n"
            "work: [{part: B-7, did: lapped, dimensions: [bore]}]",
        ),
        "engines/E12/builds/2026-03-01.yml": sheet("E12", "2026-03-01", "positions: {bearing-2: {part: B-7}}"),
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 2}\n",
        "engines/E12/log.yml": "- {date: 2026-03-01, kind: run, hours: 3}\n",
    }
    bearing = part(told(files), "B-7")
    bore = next(one for one in bearing.dimensions if one.id == "bore")
    assert (bore.readings[0].exposure, bore.readings[0].part_hours) == (2.0, 2.0)
    assert (bore.baseline_number, bore.now) == (1, 3.0)  # lapped at 2 h, and 3 h run since
    assert [found.part_hours for _, found in bearing.found] == [0.0, 2.0, 2.0]  # built, stripped, built elsewhere
    assert bearing.since_new.hours == 5.0


def test_a_past_day_does_not_know_what_a_counter_said_later() -> None:
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": sheet("E1", "2026-01-01", "counter: 10.0 h\npositions: {bearing-1: }"),
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run}\n",
        "engines/E1/inspections/2026-05-01.yml": sheet(
            "E1", "2026-05-01", "counter: 14.0 h\npositions: {bearing-1: {finding: dull}}"
        ),
    }
    then, now = (engine(told(files, day)).total for day in (date(2026, 4, 1), date(2026, 6, 1)))
    assert (then.hours, then.at_least) == (0.0, True)
    assert (now.hours, now.at_least) == (4.0, False)


def test_a_past_day_does_not_know_that_a_part_was_put_back_later() -> None:
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": sheet("E1", "2026-01-01", "positions: {bearing-1: {part: B-7}}"),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet(
            "E1", "2026-03-01", "positions: {bearing-1: {part: B-7, decision: reuse}}"
        ),
        "engines/E1/log.yml": "- {date: 2026-05-01, kind: run, hours: 3}\n",
    }
    assert [stay.removed is None for stay in part(told(files, date(2026, 4, 1)), "B-7").stays] == [False]
    assert [stay.removed is None for stay in part(told(files, date(2026, 6, 1)), "B-7").stays] == [False, True]
    assert doubts(told(files, date(2026, 6, 1))) != []


def test_a_part_that_moves_twice_keeps_its_hours() -> None:
    bearing = part(told(two_engines()), "B-7")
    assert bearing.since_new.hours == 9.0
    assert bearing.since_fitted is not None
    assert bearing.since_fitted.hours == 4.0
    assert [(stay.engine, stay.slot, stay.exposure.hours) for stay in bearing.stays] == [
        ("E1", "bearing-1", 2.0),
        ("E12", "bearing-2", 3.0),
        ("E1", "bearing-1", 4.0),
    ]


def test_engines_whose_names_begin_alike_are_not_mixed() -> None:
    story = told(two_engines())
    assert engine(story, "E1").total.hours == 56.0
    assert engine(story, "E12").total.hours == 3.0
    assert [sheet.ref.engine for sheet in engine(story, "E1").sheets] == ["E1"] * 5
    assert [one.id for one in engine(story, "E12").former_parts] == ["B-7"]


def test_a_part_is_told_as_the_engine_has_it_that_it_is_in() -> None:
    bearing = part(told(two_engines()), "B-7")
    assert (bearing.engine, bearing.slot, bearing.fitted_now) == ("E1", "bearing-1", True)


def test_the_story_of_an_earlier_day_knows_nothing_that_came_later() -> None:
    bearing = part(told(two_engines(), date(2026, 4, 10)), "B-7")
    assert (bearing.engine, bearing.since_new.hours) == ("E12", 5.0)
    assert bearing.fitted_now
    assert (bearing.stays[-1].ended, bearing.stays[-1].removed) == (None, None)
    assert bearing.decision is not None  # of March: it went back in since, and still holds
    assert len(engine(told(two_engines(), date(2026, 4, 10)), "E1").sheets) == 3


def test_a_prior_life_counts() -> None:
    files = two_engines() | {
        "parts/B-7.yml": "serial: B-7\nkind: bearing\norigin: used\nprior: {hours: 12, starts: 9}\n"
    }
    bearing = part(told(files), "B-7")
    assert (bearing.since_new.hours, bearing.since_new.starts, bearing.prior) == (21.0, 11.0, "known")
    assert not bearing.since_new.at_least


@pytest.mark.parametrize("said", ["prior: unknown", "origin: used", "origin: unknown"])
def test_an_unknown_prior_life_makes_every_sum_at_least(said: str) -> None:
    files = two_engines() | {"parts/B-7.yml": f"serial: B-7\nkind: bearing\n{said}\n"}
    bearing = part(told(files), "B-7")
    assert (bearing.since_new.hours, bearing.since_new.at_least, bearing.prior) == (9.0, True, "unknown")
    assert bearing.since_fitted is not None
    assert not bearing.since_fitted.at_least  # when it went in is known


def test_a_part_with_no_word_of_its_origin_is_taken_as_new_and_said_to_be() -> None:
    files = {path: text for path, text in two_engines().items() if not path.startswith("parts/B-7")}
    story = told(files)
    assert part(story, "B-7").taken_as_new
    assert any("no origin is written; taken as new" in gap.what for gap in engine(story).gaps)


def test_a_leap_day_is_a_day_like_any_other() -> None:
    files = {
        "families/single.yml": FAMILY,
        "parts/B-7.yml": NEW_BEARING,
        "engines/E1/builds/2028-02-29.yml": sheet("E1", "2028-02-29", "positions: {bearing-1: {part: B-7}}"),
        "engines/E1/log.yml": "- {date: 2028-02-29, kind: run, hours: 1}\n- {date: 2028-03-01, kind: run, hours: 2}\n",
    }
    assert part(told(files), "B-7").since_new.hours == 3.0
    assert part(told(files, date(2028, 2, 29)), "B-7").since_new.hours == 1.0
    assert part(told(files), "B-7").stays[0].began == date(2028, 2, 29)


ONE_DAY = {
    "families/single.yml": FAMILY,
    "parts/B-7.yml": NEW_BEARING,
    "engines/E1/builds/2026-01-01.yml": sheet("E1", "2026-01-01", "positions: {bearing-1: {part: B-7}}"),
}


def hours_on_sheet(build: str, strip: str, run: str) -> tuple[float, float | None]:
    """B-7's hours, and the engine's hours on its teardown sheet, with a run of 1 h between or on the same days."""
    files = {
        "families/single.yml": FAMILY,
        "parts/B-7.yml": NEW_BEARING,
        f"engines/E1/builds/{build[:10]}.yml": sheet("E1", build, "positions: {bearing-1: {part: B-7}}"),
        f"engines/E1/teardowns/{strip[:10]}/teardown.yml": sheet(
            "E1", strip, "positions: {bearing-1: {part: B-7, decision: replace, because: set}}"
        ),
        "engines/E1/log.yml": f"- {{date: {run}, kind: run, hours: 1}}\n",
    }
    story = told(files)
    return part(story, "B-7").since_new.hours, engine(story).sheets[-1].engine_hours


def test_a_run_on_the_day_of_a_sheet_counts_after_a_build_and_before_a_teardown() -> None:
    assert hours_on_sheet("2026-01-01", "2026-03-01", "2026-01-01") == (1.0, 1.0)
    assert hours_on_sheet("2026-01-01", "2026-03-01", "2026-03-01") == (1.0, 1.0)


def test_written_times_count_before_the_rule_of_the_day() -> None:
    assert hours_on_sheet("2026-01-01", "2026-03-01 09:00", "2026-03-01 16:30") == (0.0, 0.0)
    assert hours_on_sheet("2026-01-01 16:00", "2026-03-01", "2026-01-01 09:00") == (0.0, 1.0)


def test_time_zones_play_no_part(monkeypatch: pytest.MonkeyPatch) -> None:
    found = set()
    for zone in ("UTC", "Pacific/Kiritimati", "Pacific/Pago_Pago"):
        monkeypatch.setenv("TZ", zone)
        found.add(hours_on_sheet("2026-01-01 23:55", "2026-03-01 00:05", "2026-02-01 00:00"))
    assert found == {(1.0, 1.0)}


def test_a_strip_and_a_rebuild_in_the_same_place_keep_the_part_without_a_serial() -> None:
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": sheet("E1", "2026-01-01", "positions: {seals: }"),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet(
            "E1", "2026-03-01", "positions: {seals: {decision: reuse}, seals/a2: {decision: replace}}"
        ),
        "engines/E1/builds/2026-03-02.yml": sheet("E1", "2026-03-02", "positions: {seals/a2: }\nrest: as before"),
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 2}\n- {date: 2026-04-01, kind: run, hours: 3}\n",
    }
    one = engine(told(files))
    assert {seal.slot: (seal.id, seal.since_new.hours) for seal in one.parts if seal.kind == "seal"} == {
        "seals/a1": ("E1.seals.a1.1", 5.0),
        "seals/a2": ("E1.seals.a2.2", 3.0),
    }


def test_what_is_assembled_as_a_whole_begins_anew_at_every_build_and_is_never_fitted() -> None:
    files = two_engines()
    one = engine(told(files))
    whole = next(each for each in one.parts if each.kind == "whole-engine")
    assert (whole.id, whole.since_new.hours, whole.decision) == ("E1.engine.3", 4.0, None)
    assert all(stay.slot != "engine" for sheet in one.sheets for stay in sheet.fitted)
    said = [gap.what for gap in one.gaps]
    assert not [words for words in said if words.startswith("Engine") and ("serial" in words or "decision" in words)]
    assert not [name for sheet in one.sheets for name in sheet.not_looked_at if name == "Engine"]


def test_a_part_that_is_found_in_an_engine_has_run_there_for_as_long_as_the_log_tells_at_least() -> None:
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 10}\n",
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet(
            "E1", "2026-03-01", "positions: {bearing-1: {part: B-9, decision: reuse}}"
        ),
    }
    story = told(files)
    bearing = part(story, "B-9")
    assert (bearing.since_new.hours, bearing.since_new.at_least, bearing.prior) == (10.0, True, "unknown")
    assert any(gap.what.startswith("no build sheet is written") for gap in engine(story).gaps)


def test_runs_after_a_strip_without_a_build_sheet_count_with_a_doubt() -> None:
    files = ONE_DAY | {
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet(
            "E1", "2026-03-01", "positions: {bearing-1: {part: B-7, decision: reuse}}"
        ),
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 2}\n- {date: 2026-04-01, kind: run, hours: 3}\n",
    }
    story = told(files)
    assert part(story, "B-7").since_new.hours == 5.0
    assert part(story, "B-7").stays[-1].put_back_unwritten
    assert any("with no build sheet between" in doubt for doubt in doubts(story))


def test_a_part_on_the_shelf_is_told_too() -> None:
    shelf = part(told(ONE_DAY | {"parts/B-99.yml": "serial: B-99\nkind: bearing\norigin: new\n"}), "B-99")
    assert (shelf.engine, shelf.since_new.hours, shelf.state) == (None, 0.0, "not measured")


def moved_on_one_day() -> dict[str, str]:
    """B-7 runs 9 h in E1 and 1 h more on the day on which E1 is stripped and E2 built with it."""
    family = FAMILY.replace(
        "bearing: {serial: yes, ", "bearing: {serial: yes, dimensions: {bore: {unit: mm, wears: up}}, "
    )
    return {
        "families/single.yml": family,
        "parts/B-7.yml": NEW_BEARING,
        "engines/E1/builds/2026-01-01.yml": sheet("E1", "2026-01-01", "positions: {bearing-1: {part: B-7}}"),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet(
            "E1", "2026-03-01", "positions: {bearing-1: {part: B-7, measured: {bore: 60.05}, decision: reuse}}"
        ),
        "engines/E2/builds/2026-03-01.yml": sheet(
            "E2", "2026-03-01", "positions: {bearing-2: {part: B-7, measured: {bore: 60.06}}}"
        ),
        "engines/E1/log.yml": (
            "- {date: 2026-02-01, kind: run, hours: 9}\n- {date: 2026-03-01, kind: run, hours: 1}\n"
        ),
        "engines/E2/log.yml": "- {date: 2026-03-05, kind: run, hours: 3}\n",
    }


def test_a_part_moved_on_one_day_has_that_days_run_behind_it_in_the_second_engine() -> None:
    bearing = part(told(moved_on_one_day()), "B-7")
    bore = next(one for one in bearing.dimensions if one.id == "bore")
    assert [(one.value, one.exposure) for one in bore.readings] == [(60.05, 10.0), (60.06, 10.0)]
    assert [(found.part_hours, ref.engine) for ref, found in bearing.found] == [(0.0, "E1"), (10.0, "E1"), (10.0, "E2")]
    assert bearing.since_new.hours == 13.0


def test_what_was_lapped_at_a_strip_was_lapped_before_the_build_elsewhere_on_that_day() -> None:
    files = moved_on_one_day()
    files["engines/E1/teardowns/2026-03-01/teardown.yml"] += "work: [{part: B-7, did: lapped, dimensions: [bore]}]\n"
    bore = next(one for one in part(told(files), "B-7").dimensions if one.id == "bore")
    assert [one.baseline for one in bore.readings] == [0, 1]


@pytest.mark.parametrize("known", ["km: 1000", "starts: 5"])
def test_a_prior_without_the_familys_exposure_is_at_least_and_never_zero(known: str) -> None:
    files = two_engines() | {"parts/B-7.yml": f"serial: B-7\nkind: bearing\norigin: used\nprior: {{{known}}}\n"}
    bearing = part(told(files), "B-7")
    assert (bearing.since_new.hours, bearing.since_new.at_least, bearing.prior) == (9.0, True, "unknown")


def test_units_that_a_prior_does_not_say_are_lower_bounds() -> None:
    files = ONE_DAY | {
        "parts/B-7.yml": "serial: B-7\nkind: bearing\norigin: used\nprior: {hours: 12}\n",
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 2, starts: 3}\n",
    }
    since_new = part(told(files), "B-7").since_new
    assert (since_new.hours, since_new.is_bound("hours")) == (14.0, False)
    assert (since_new.starts, since_new.is_bound("starts")) == (3.0, True)


def test_a_rule_in_a_unit_that_a_prior_does_not_say_cannot_be_decided() -> None:
    files = ONE_DAY | {
        "families/single.yml": FAMILY.replace(
            "bearing: {serial: yes, ", "bearing: {serial: yes, service: {replace: {starts: 50}}, "
        ),
        "parts/B-7.yml": "serial: B-7\nkind: bearing\norigin: used\nprior: {hours: 12}\n",
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 2, starts: 3}\n",
    }
    bearing = part(told(files), "B-7")
    assert (bearing.state, bearing.state_why) == ("undecided", "replace, life before unknown")
