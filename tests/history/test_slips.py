"""What a builder forgets or mistypes: the history says so, and figures nothing out of it."""

from datetime import date

import pytest

from .shop_for_tests import doubts, engine, part, row, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing: bearing, shaft: shaft, pump: pump}
    kinds:
      bearing:
        serial: yes
        dimensions:
          inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.105}, instrument: mic}
      shaft: {service: {after: {over_rev: inspect}}}
      pump: {}
    services: {oil: {hours: 5, months: 6}}
"""
SHOP = "instruments: {mic: {resolution: 0.001 mm, repeat: 0.001 mm, zero: 0.001 mm}}\n"
BEARING = "bearing: {part: B-1, measured: {inside: 60.050}}"
BUILD = f"engine: E1\ndate: 2026-01-01\npositions: {{{BEARING}, shaft: {{part: S-1}}}}\n"
STRIP = "engine: E1\ndate: 2026-06-01\npositions: {bearing: {part: B-1, decision: reuse}, shaft: {decision: reuse}}\n"
BEGUN = {"shop.yml": SHOP, "families/single.yml": FAMILY, "engines/E1/builds/2026-01-01.yml": BUILD}


def test_a_build_that_forgot_rest_as_before_loses_no_part_and_no_incident() -> None:
    story = told(
        {
            **BEGUN,
            "engines/E1/log.yml": """
                - {date: 2026-02-01, kind: run, hours: 4}
                - {date: 2026-07-01, kind: run, hours: 3}
                - {date: 2026-07-02, kind: incident, what: over_rev}
            """,
            "engines/E1/teardowns/2026-06-01/teardown.yml": STRIP,
            "engines/E1/builds/2026-06-10.yml": "engine: E1\ndate: 2026-06-10\npositions: {shaft: }\n",
            "engines/E1/teardowns/2026-11-01/teardown.yml": (
                "engine: E1\ndate: 2026-11-01\npositions: {bearing: {measured: {inside: 60.061}, decision: reuse}}\n"
            ),
        }
    )
    assert part(story, "B-1").since_new.hours == 7
    assert len(row(story, "B-1", "inside").readings) == 2
    assert any("was 'rest: as before' left out?" in one for one in doubts(story))
    assert any(due.state in ("due", "overdue") for due in part(story, "S-1").due)


def test_what_nobody_decided_is_named_when_the_engine_runs_with_no_build_sheet() -> None:
    story = told(
        {
            **BEGUN,
            "engines/E1/log.yml": """
                - {date: 2026-02-01, kind: run, hours: 4}
                - {date: 2026-07-01, kind: run, hours: 3}
            """,
            "engines/E1/teardowns/2026-06-01/teardown.yml": STRIP.replace(", shaft: {decision: reuse}", ""),
        }
    )
    assert part(story, "B-1").since_new.hours == 7
    assert part(story, "S-1").since_new.hours == 4
    assert any("since nobody decided reuse, and given no hours: shaft" in one for one in doubts(story))


def test_inches_typed_as_millimetres_are_undecided_and_wear_nothing() -> None:
    measured = "engine: E1\ndate: 2026-06-01\npositions: {bearing: {measured: {inside: 2.3644}, decision: reuse}}\n"
    story = told(
        {
            **BEGUN,
            "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 4}\n",
            "engines/E1/teardowns/2026-06-01/teardown.yml": measured,
        }
    )
    inside = row(story, "B-1", "inside")
    assert inside.readings[-1].verdict == "undecided"
    assert inside.state == "undecided"
    assert inside.line is None
    assert inside.allowance is not None
    assert inside.allowance.used == pytest.approx(0.0)
    assert any("was it read in inches?" in one for one in doubts(story))


def test_a_run_dated_after_today_has_not_happened_yet() -> None:
    story = told(
        {
            **BEGUN,
            "engines/E1/log.yml": """
                - {date: 2029-05-01, kind: run, hours: 4}
                - {date: 2030-05-01, kind: run, hours: 3}
            """,
        }
    )
    assert engine(story).total.hours == 4
    assert engine(story).as_of == date(2029, 5, 1)


def test_a_service_never_written_as_done_falls_due_from_the_first_build() -> None:
    oil = next(due for due in engine(told(BEGUN, date(2026, 11, 25))).due if due.id == "oil")
    assert oil.due_on == date(2026, 7, 1)
    assert oil.state == "overdue"
    assert oil.because == "never written as done"


def test_places_that_nobody_wrote_of_are_known_gaps() -> None:
    gaps = [gap.what for gap in engine(told(BEGUN)).gaps]
    assert "nothing is written of pump: what stands there, and how it is, is not known" in gaps


def test_a_day_before_the_first_fluid_is_told_without_it() -> None:
    log = "- {date: 2026-02-01, kind: run, hours: 4}\n- {date: 2026-03-01, kind: change, fluids: {oil: ester-15w50}}\n"
    story = told({**BEGUN, "engines/E1/log.yml": log}, date(2026, 2, 10))
    assert engine(story).fluids == ()


def test_a_figure_of_two_decimals_is_not_known_better_than_its_last_digit() -> None:
    rough = BUILD.replace("60.050", "60.05")
    reading = row(told({**BEGUN, "engines/E1/builds/2026-01-01.yml": rough}), "B-1", "inside").readings[0]
    # a step of 0.01 mm evenly likely over its width: 0.01 / √12 (GUM, JCGM 100:2008, F.2.2.1), beside the gauge's zero
    assert reading.u == pytest.approx((0.01**2 / 12 + 0.001**2) ** 0.5)


def test_hours_by_the_counter_over_a_rebuild_are_the_engines_and_of_no_part_for_certain() -> None:
    built = "engine: E1\ndate: 2026-02-05\ncounter: 10.0 h\npositions: {bearing: {part: B-2}}\nrest: as before\n"
    story = told(
        {
            **BEGUN,
            "engines/E1/builds/2026-01-01.yml": BUILD + "counter: 10.0 h\n",
            "engines/E1/teardowns/2026-02-01/teardown.yml": (
                "engine: E1\ndate: 2026-02-01\npositions: {bearing: {decision: replace}, shaft: {decision: reuse}}\n"
            ),
            "engines/E1/builds/2026-02-05.yml": built.replace("counter: 10.0 h\n", ""),
            "engines/E1/inspections/2026-03-01.yml": (
                "engine: E1\ndate: 2026-03-01\ncounter: 50.0 h\npositions: {bearing: {measured: {inside: 60.051}}}\n"
            ),
        }
    )
    assert engine(story).total.hours == 40
    assert (part(story, "B-1").since_new.hours, part(story, "B-1").since_new.at_least) == (0, True)
    assert (part(story, "B-2").since_new.hours, part(story, "B-2").since_new.at_least) == (0, True)
    assert any("the engine was opened between" in one for one in doubts(story))


def test_a_bare_leak_down_limit_is_in_per_cent_whatever_the_sheet_reads_in() -> None:
    story = told(
        {
            **BEGUN,
            "families/single.yml": FAMILY.replace("pump: pump", "pump: pump, cylinder-1: pump")
            + "    tests: {leak_down: {limit: {max: 12}}}\n",
            "engines/E1/inspections/2026-03-01.yml": (
                "engine: E1\ndate: 2026-03-01\ntests: {leak_down: {unit: psi, supply: 80, cylinder-1: 8}}\n"
            ),
        }
    )
    # 80 psi in and 8 left is a loss of 90 %, by the definition of the test
    test = engine(story).tests[0]
    assert test.rows[0][2][0].corrected == pytest.approx(90)
    assert test.state == "beyond limit"


def test_a_part_shows_its_worst_state_in_the_shortlist_and_a_due_by_the_calendar_stands_first() -> None:
    family = FAMILY.replace("shaft: {service: {after", "shaft: {service: {replace: {months: 12}, after")
    near = BUILD.replace("60.050", "60.1015").replace("part: B-1,", "part: B-1, origin: used,")
    files = {**BEGUN, "families/single.yml": family, "engines/E1/builds/2026-01-01.yml": near}
    shortlist = engine(told(files, date(2026, 12, 20))).shortlist
    assert [(row.part, row.state) for row in shortlist] == [("S-1", "due"), ("B-1", "near limit")]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ({"shop.yml": SHOP.replace("repeat: 0.001 mm", "repeat: -0.001 mm")}, "is not below zero"),
        ({"shop.yml": SHOP.replace("repeat: 0.001 mm", "repeat: 0.001 N")}, "mic measures a length"),
        ({"engines/E1/builds/2026-01-01.yml": BUILD + "temperature: 68\n"}, "was it °F?"),
        ({"engines/E1/builds/2026-01-01.yml": BUILD + "temperature: -300 °C\n"}, "below absolute zero"),
        ({"engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 35}\n"}, "were the minutes meant"),
        ({"engines/E1/log.yml": "- {date: 2026-02-01, kind: service, hours: 41.6}\n"}, "was the counter meant"),
        ({"engines/E1/LOG.YML": "- {date: 2026-02-01, kind: run, hours: 3}\n"}, "no record is read from this place"),
        ({"engines/E1/log.yml~HEAD": "- {date: 2026-02-01, kind: run}\n"}, "no record is read from this place"),
    ],
)
def test_a_figure_that_cannot_be_meant_is_asked_about(written: dict[str, str], said: str) -> None:
    problems = [problem.message for problem in told({**BEGUN, **written}, errors=True).problems]
    assert any(said in message for message in problems), problems


def test_of_two_strips_on_one_day_the_second_is_the_last() -> None:
    again = (
        "engine: E1\ndate: 2026-06-01\npositions: {bearing: {part: B-1, measured: {inside: 60.055}, decision: reuse}}\n"
    )
    story = told(
        {
            **BEGUN,
            "engines/E1/teardowns/2026-06-01/teardown.yml": STRIP,
            "engines/E1/teardowns/2026-06-01-2/teardown.yml": again,
        }
    )
    last = engine(story).last_teardown
    assert last is not None
    assert last.name == "2026-06-01-2"


def test_of_two_builds_of_one_moment_the_second_is_the_last_and_the_engine_is_together_after_it() -> None:
    sheet = "engine: E1\ndate: 2026-06-02\npositions: {bearing: {part: B-1}}\n"
    again = "engine: E1\ndate: 2026-06-02\ntorque: {bolts: 20 Nm}\npositions: {}\n"
    story = told(
        {
            **BEGUN,
            "engines/E1/teardowns/2026-06-01/teardown.yml": STRIP,
            "engines/E1/builds/2026-06-02.yml": sheet,
            "engines/E1/builds/2026-06-02-2.yml": again,
        }
    )
    built = engine(story).built
    assert built is not None
    assert (built.name, engine(story).assembled) == ("2026-06-02-2", True)


def test_an_engine_that_was_stripped_is_apart_though_a_second_sheet_opened_a_few_places() -> None:
    again = "engine: E1\ndate: 2026-06-01\nopened: [bearing]\npositions: {bearing: {part: B-1}}\n"
    story = told(
        {
            **BEGUN,
            "engines/E1/teardowns/2026-06-01/teardown.yml": STRIP,
            "engines/E1/teardowns/2026-06-01-2/teardown.yml": again,
        }
    )
    assert not engine(story).assembled
