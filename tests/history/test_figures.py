"""The figures of an engine as JSON: the names that stay, the numbers behind them, the same bytes every time."""

import json
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from engine_pages.history.figures import figures_json

from .shop_for_tests import engine, texts, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {rotor-bearing-2: rotor-bearing, eccentric-shaft: shaft, seal: seal}
    kinds:
      rotor-bearing:
        dimensions:
          inside_diameter:
            unit: mm
            wears: up
            new: [60.040, 60.060]
            limit: {max: 60.105}
            instrument: bore
            source: line 12
        service: {inspect: {hours: 20}}
      shaft:
        dimensions:
          rotor_journal_2:
            {unit: mm, wears: down, new: [59.985, 60.000], limit: {min: 59.965}, instrument: mic, source: line 3}
      seal: {dimensions: {height: {unit: mm, wears: down, limit: {min: 7.5}, source: line 4}}}
    services: {oil: {hours: 5, months: 6}}
    fits:
      rotor-bearing-clearance-2:
        outer: rotor-bearing-2.inside_diameter
        inner: eccentric-shaft.rotor_journal_2
        limit: {min: 0.04, max: 0.1}
        source: line 5
    tests: {compression: {unit: kPa, at: 250 rpm, limit: {min: 680}, source: line 6}}
"""
FILES = {
    "shop.yml": """
        confidence: 0.90
        instruments:
          bore: {repeat: 0.0015 mm, zero: 0.001 mm}
          mic: {repeat: 0.0015 mm, zero: 0.001 mm}
    """,
    "families/single.yml": FAMILY,
    "parts/RB-1042.yml": "serial: RB-1042\nkind: rotor-bearing\norigin: new\n",
    "engines/E1/builds/2026-01-10.yml": """
        engine: E1
        date: 2026-01-10
        positions:
          rotor-bearing-2: {part: RB-1042, measured: {inside_diameter: 60.051}}
          eccentric-shaft: {part: CS-88, origin: new, measured: {rotor_journal_2: 59.992}}
          seal: {part: A-1, origin: new}
    """,
    "engines/E1/teardowns/2026-10-12/teardown.yml": """
        engine: E1
        date: 2026-10-12
        positions:
          rotor-bearing-2:
            part: RB-1042
            measured: {inside_diameter: [60.061, 60.062, 60.060]}
            decision: reuse
          eccentric-shaft: {part: CS-88, measured: {rotor_journal_2: 59.990}, decision: reuse}
          seal: {part: A-1, decision: reuse}
        tests: {compression: {rpm: 250, rotor-bearing-2: [812, 806, 815]}}
    """,
    "engines/E1/log.yml": """
        - {date: 2026-02-01, kind: run, hours: 20, starts: 30, km: 400}
        - {date: 2026-03-01, kind: service, did: [oil]}
        - {date: 2026-04-01, kind: run, hours: 2.1, starts: 3}
    """,
    "engines/E1/plan.yml": "events: [{date: 2027-04-18, name: Round 1, hours: 1.6, starts: 6}]\nkeep: 0.90\n",
}

# The names of the object as they are printed for users; more may stand beside them, none of these goes.
CONTRACT: dict[str, Any] = {
    "engine": str, "as_of": str, "edition": str, "commit": None, "confidence": float,
    "exposure": {"hours": float, "starts": float, "km": float, "runs": float},
    "parts": [{
        "part": str, "kind": str, "position": str, "state": str, "decision": str,
        "exposure": {"since_new": {"hours": float}, "since_fitted": None, "prior": str},
        "dimensions": [{
            "dimension": str, "unit": str, "limit": {"max": float}, "baseline": float,
            "readings": [{
                "date": str, "exposure": float, "value": float, "value_20c": float, "u": float, "verdict": str,
                "source": str,
            }],
            "allowance_used": float, "n": int, "parts_in_fit": int,
            "rate": {"per": str, "value": float, "low": float, "high": float},
            "to_limit": {"from": float, "median": float, "low": float, "high": float},
            "chance_of_lasting_plan": float,
        }],
    }],
    "fits": [{
        "fit": str, "parts": [str], "unit": str, "limit": {"min": float, "max": float}, "readings": [{"date": str}],
        "allowance_used": float, "n": int, "parts_in_fit": int, "rate": {"per": str}, "to_limit": {"from": float},
        "chance_of_lasting_plan": float,
    }],
    "tests": [{"test": str}],
    "services": [{"service": str, "since": {"hours": float}, "due_in": {"hours": float}, "due_on": str, "state": str}],
    "season": {
        "events": [{"date": str, "name": str, "chance": float, "outer_low": float, "outer_high": float}],
        "first_to_stop": [str], "not_measured": [str], "advice": str,
    },
    "problems": [],
}  # fmt: skip


def figures(day: date | None = date(2026, 11, 2)) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(figures_json(engine(told(FILES, day))))
    return found


def missing(wanted: Any, found: Any, where: str = "") -> list[str]:
    """The names that are not there, or hold another kind of value."""
    if isinstance(wanted, dict):
        if not isinstance(found, dict):
            return [f"{where} is no object"]
        out = [f"{where}.{name} is missing" for name in wanted if name not in found]
        for name in wanted:
            if name in found:
                out += missing(wanted[name], found[name], f"{where}.{name}")
        return out
    if isinstance(wanted, list):
        if not isinstance(found, list) or (wanted and not found):
            return [f"{where} is no list, or empty"]
        return missing(wanted[0], found[0], f"{where}[0]") if wanted else []
    if wanted is None or (wanted is float and isinstance(found, int)) or isinstance(found, wanted):
        return []
    return [f"{where} is {found!r}"]


def test_every_name_of_the_contract_is_there() -> None:
    assert missing(CONTRACT, figures()) == []


def test_the_guard_sees_a_name_that_went() -> None:
    found = figures()
    del found["parts"][0]["dimensions"][0]["rate"]["low"]
    assert missing(CONTRACT, found) == [".parts[0].dimensions[0].rate.low is missing"]


def test_the_numbers_are_those_of_the_records() -> None:
    found = figures()
    bearing = found["parts"][0]
    inside = bearing["dimensions"][0]
    assert (bearing["part"], bearing["state"], bearing["decision"]) == ("RB-1042", "within", "reuse")
    assert bearing["exposure"]["since_new"]["hours"] == 22.1
    assert (inside["limit"], inside["baseline"], inside["n"]) == ({"max": 60.105}, 60.051, 2)
    assert inside["allowance_used"] == pytest.approx(0.010 / 0.054)
    # two readings and what is believed of the kind: the rate of the readings, a hair towards the other
    assert inside["rate"]["value"] == pytest.approx(0.010 / 22.1, rel=0.02)
    assert inside["rate"]["low"] < 0.010 / 22.1 < inside["rate"]["high"]
    assert inside["to_limit"]["from"] == 22.1
    assert inside["to_limit"]["median"] == pytest.approx(22.1 * 0.054 / 0.010, rel=0.02)
    assert inside["readings"][1]["source"] == "engines/E1/teardowns/2026-10-12/teardown.yml:6"
    assert inside["readings"][1]["exposure"] == 22.1
    assert found["exposure"] == {
        "hours": 22.1, "km": 400.0, "starts": 33.0, "runs": 2.0, "over_revs": 0.0, "above_redline": 0.0,
    }  # fmt: skip


def test_a_service_has_the_familys_name_and_its_day() -> None:
    oil = next(one for one in figures()["services"] if one["service"] == "oil")
    assert (oil["since"]["hours"], oil["due_in"]["hours"], oil["due_on"]) == (2.1, 2.9, "2026-09-01")
    assert oil["state"] == "overdue"


def test_the_season_names_what_stops_first_and_what_was_never_measured() -> None:
    season = figures()["season"]
    assert season["first_to_stop"][0] in ("RB-1042 inside_diameter", "rotor-bearing-clearance-2", "RB-1042 inspect")
    assert "rotor-bearing-clearance-2" in season["first_to_stop"]
    assert season["not_measured"] == ["A-1 height"]
    first = season["events"][0]
    assert 0.0 <= first["outer_low"] <= first["chance"] <= first["outer_high"] <= 1.0
    assert first["name"] in season["advice"]


def test_where_nothing_can_be_said_there_is_null_and_never_a_word_that_is_no_json() -> None:
    found = figures()
    seal = next(part for part in found["parts"] if part["part"] == "A-1")["dimensions"][0]
    assert {seal[name] for name in ("baseline", "allowance_used", "rate", "to_limit", "chance_of_lasting_plan")} == {
        None
    }

    def refuse(word: str) -> None:
        raise AssertionError(word)

    json.loads(figures_json(engine(told(FILES))), parse_constant=refuse)


def test_the_day_that_was_asked_for_is_told() -> None:
    assert figures()["as_of"] == "2026-11-02"
    early = figures(date(2026, 3, 1))
    assert early["as_of"] == "2026-03-01"
    assert early["exposure"]["hours"] == 20.0
    assert early["tests"] == []
    assert [len(d["readings"]) for d in early["parts"][0]["dimensions"]] == [1]
    assert early["parts"][0]["decision"] is None


def test_the_same_records_give_the_same_bytes() -> None:
    assert figures_json(engine(told(FILES))) == figures_json(engine(told(dict(reversed(FILES.items())))))


TELL = """
import sys
from datetime import date
from pathlib import Path
from engine_pages.history.figures import figures_json
from engine_pages.history.tell import tell_shop
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

story = tell_shop(read_checked(Folder(Path(sys.argv[1])), date(2030, 1, 1)))
sys.stdout.buffer.write(figures_json(story.engines[0]).encode())
"""


def test_no_order_of_hashing_shows_in_the_bytes(tmp_path: Path) -> None:
    for path, text in texts(FILES).files.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    found = {
        subprocess.run(
            [sys.executable, "-c", TELL, str(tmp_path)], check=True, capture_output=True, env={"PYTHONHASHSEED": seed}
        ).stdout
        for seed in ("1", "2")
    }
    assert found == {figures_json(engine(told(FILES))).encode()}
