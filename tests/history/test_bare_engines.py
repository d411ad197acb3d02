"""Engines of which hardly anything is written: each is told with what there is, and none breaks the rest."""

import json
import re
from datetime import date
from itertools import cycle

import pytest

from engine_pages.history.figures import figures_json

from .shop_for_tests import engine, part, sheet, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing: bearing, shaft: shaft, engine: whole-engine}
    kinds:
      bearing:
        dimensions: {inside: {unit: mm, wears: up, new: [60.04, 60.06], limit: {max: 60.1}}}
        service: {replace: {hours: 60, km: 900}, inspect: {starts: 20, months: 6}, after: {over_rev: inspect}}
      shaft: {dimensions: {journal: {unit: mm, wears: down, limit: {min: 59.9}}}}
      whole-engine: {whole: yes, dimensions: {end_play: {unit: mm, limit: {max: 0.1}}}}
    services: {oil: {hours: 5, months: 6}}
    fits: {running: {outer: bearing.inside, inner: shaft.journal, limit: {max: 0.2}}}
"""


def figures(files: dict[str, str], day: date | None = None) -> dict[str, object]:
    found: dict[str, object] = json.loads(figures_json(engine(told({"families/single.yml": FAMILY} | files, day))))
    return found


def test_an_engine_with_nothing_but_its_name() -> None:
    found = figures({"engines/E1/engine.yml": "engine: E1\nfamily: single\n"})
    assert (found["state"], found["parts"], found["as_of"]) == ("not measured", [], "1970-01-01")


def test_an_engine_with_a_plan_alone() -> None:
    found = figures({"engines/E1/plan.yml": "events: [{date: 2027-04-18}]\n"})
    assert found["season"]


def test_an_engine_with_a_log_alone() -> None:
    one = engine(
        told({"families/single.yml": FAMILY, "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 9}\n"})
    )
    assert (one.total.hours, one.built, one.since_build, one.assembled) == (9.0, None, None, False)
    assert one.state == "overdue"  # the oil


def test_an_engine_whose_first_sheet_is_a_teardown() -> None:
    files = {
        "engines/E1/teardowns/2026-03-01/teardown.yml": (
            sheet(
                "2026-03-01",
                "bearing: {measured: {inside: 60.05}, decision: reuse}, shaft: {part: S-1}, "
                "engine: {measured: {end_play: 0.05}}",
            )
        ),
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 9}\n",
    }
    story = told({"families/single.yml": FAMILY} | files)
    bearing = part(story, "E1.bearing.1")
    assert (bearing.since_new.hours, bearing.since_new.at_least) == (9.0, True)
    assert bearing.dimensions[0].baseline_from == "new range"
    assert figures(files)["parts"]


def test_an_engine_of_an_earlier_day_than_all_its_records() -> None:
    files = {
        "engines/E1/builds/2026-03-01.yml": sheet("2026-03-01", "bearing: {part: B-1}"),
        "engines/E1/log.yml": "- {date: 2026-04-01, kind: run, hours: 9}\n",
    }
    found = figures(files, date(2026, 1, 1))
    assert (found["parts"], found["exposure"]) == (
        [],
        {"hours": 0.0, "km": 0.0, "starts": 0.0, "runs": 0.0, "over_revs": 0.0, "above_redline": 0.0},
    )


@pytest.mark.parametrize("unit", ["hours", "km", "starts", "runs"])
def test_a_family_that_reckons_in_what_no_line_says(unit: str) -> None:
    files = {
        "families/single.yml": FAMILY.replace("exposure: hours", f"exposure: {unit}"),
        "engines/E1/builds/2026-03-01.yml": sheet(
            "2026-03-01",
            "bearing: {part: B-1, measured: {inside: 60.05}}, shaft: {part: S-1, measured: {journal: 59.98}}",
        ),
        "engines/E1/inspections/2026-05-01.yml": sheet("2026-05-01", "bearing: {measured: {inside: 60.06}}"),
        "engines/E1/log.yml": "- {date: 2026-04-01, kind: run}\n- {date: 2026-04-02, kind: incident, what: over_rev}\n",
        "engines/E1/plan.yml": "events: [{date: 2027-04-18, hours: 2, km: 100, starts: 3}]\nkeep: 0.9\n",
    }
    one = engine(told(files))
    inside = one.parts[0].dimensions[0]
    assert one.total.at_least == (unit != "runs")
    assert (inside.rate is None) == (unit != "runs")
    json.loads(figures_json(one))


def test_a_reading_after_runs_of_unknown_km_is_no_reading_of_the_first_day() -> None:
    files = {
        "families/single.yml": FAMILY.replace("exposure: hours", "exposure: km"),
        "engines/E1/builds/2026-03-01.yml": sheet("2026-03-01", "bearing: {part: B-1, origin: new}"),
        "engines/E1/inspections/2026-05-01.yml": sheet("2026-05-01", "bearing: {measured: {inside: 60.08}}"),
        "engines/E1/log.yml": "- {date: 2026-04-01, kind: run, hours: 20}\n",
    }
    inside = engine(told(files)).parts[0].dimensions[0]
    assert (inside.baseline_from, inside.baseline) == ("new range", pytest.approx(60.05))


def test_an_engine_of_a_family_that_is_not_written_is_left_out_and_breaks_nothing() -> None:
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
        "engines/E2/engine.yml": "engine: E2\nfamily: triple\n",
        "engines/E2/builds/2026-03-01.yml": sheet("2026-03-01", "bearing: {part: B-1}", of="E2"),
    }
    assert [one.id for one in told(files, errors=True).engines] == ["E1"]


def test_a_shop_with_nothing_in_it() -> None:
    story = told({})
    assert (story.engines, story.parts, story.name) == ((), (), "Engine records")


# fmt: off
NASTY = (
    "abc", "-5", "5 Nm", "1000000000", "[]", "{}", "''", "9999-12-31", "0", "under 5 mm", "0.1..0.2 mm", "furlong", "%",
)
# fmt: on
WHOLE = {
    "shop.yml": """
        confidence: 0.9
        instruments: {mic: {resolution: 0.001 mm, repeat: 0.001 mm, zero: 0.001 mm, material: steel}}
    """,
    "families/single.yml": FAMILY.replace("new: [60.04, 60.06],", "new: [60.04, 60.06], instrument: mic,"),
    "parts/B-1.yml": "serial: B-1\nkind: bearing\nprior: {hours: 3}\nsize: {inside: 0.25 mm}\n",
    "engines/E1/builds/2026-03-01.yml": sheet(
        "2026-03-01", "bearing: {part: B-1, measured: {inside: 60.05}}", "counter: 5 h\n"
    ),
    "engines/E1/teardowns/2026-06-01/teardown.yml": """
        engine: E1
        date: 2026-06-01
        temperature: 24 °C
        work: [{part: B-1, did: bored, dimensions: [inside], size: 0.5 mm}]
        positions: {bearing: {part: B-1, measured: {inside: 60.06}, decision: reuse}}
        tests: {compression: {rpm: 250, unit: kPa, engine: 700}, leak_down: {supply: 80 psi, engine: 60 psi}}
    """,
    "engines/E1/log.yml": """
        - {date: 2026-04-01, kind: run, hours: 4, km: 80, starts: 3, counter: 9 h}
        - {date: 2026-04-02, kind: incident, what: over_rev}
    """,
    "engines/E1/plan.yml": "events: [{date: 2027-04-18, hours: 2}]\nkeep: 0.9\n",
}


EACH = 6  # wrong values that each value is replaced by; with the next value the next ones


@pytest.mark.parametrize("path", sorted(WHOLE))
def test_no_value_however_wrong_stops_the_telling(path: str) -> None:
    """Every value of every record in turn is a wrong one: what is at fault is named, and the rest is told."""
    text = WHOLE[path]
    words = re.split(r"[\s{}\[\],]+", text)
    values = [word for word in dict.fromkeys(words) if word and not word.endswith(":") and word != "-"]
    wrong = cycle(NASTY)
    for value in values:
        for _ in range(EACH):
            story = told(WHOLE | {path: text.replace(value, next(wrong), 1)}, errors=True)
            for one in story.engines:
                figures_json(one)


@pytest.mark.parametrize(("later", "together"), [("", False), ("- {date: 2026-03-20, kind: run, hours: 1}\n", True)])
def test_an_engine_that_ran_after_its_strip_lies_apart_no_more(later: str, together: bool) -> None:
    places = "bearing: {part: B-1, decision: reuse}, shaft: {part: S-1}"
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-02-01.yml": sheet("2026-02-01", places.replace(", decision: reuse", "")),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet("2026-03-01", places),
        "engines/E1/log.yml": f"- {{date: 2026-02-10, kind: run, hours: 9}}\n{later}",
        "parts/B-1.yml": "serial: B-1\nkind: bearing\norigin: new\n",
        "parts/S-1.yml": "serial: S-1\nkind: shaft\norigin: new\n",
    }
    assert engine(told(files)).assembled is together
