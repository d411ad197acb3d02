"""The command `season`, as it is typed: the plan's season, another one, parts renewed, as text and as figures."""

import json
from pathlib import Path

from click.testing import CliRunner, Result

from engine_pages.cli import main

DEMO = Path(__file__).parents[2] / "records"


def season(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["season", *arguments, "--records", str(DEMO)])


def test_the_plans_season_is_a_table_and_an_advice() -> None:
    done = season("K-07")
    assert done.exit_code == 0
    lines = done.output.splitlines()
    assert lines[0].startswith("K-07: 7 events, 14.6 h")
    assert any(line.startswith("Open it after Round ") for line in lines)


def test_figures_say_the_same_as_json() -> None:
    asked = ("--renewed", "RB-1041", "--events", "3", "--hours-each", "2.0", "--json")
    figures = json.loads(season("K-07", *asked).output)
    assert (figures["engine"], figures["renewed"]) == ("K-07", ["RB-1041"])
    assert [event["adds"]["hours"] for event in figures["events"]] == [2.0, 2.0, 2.0]
    for event in figures["events"]:
        assert 0.0 <= event["outer_low"] <= event["chance"] <= event["outer_high"] <= 1.0


def test_hours_that_are_no_number_are_refused() -> None:
    done = season("K-07", "--hours-each", "nan")
    assert (done.exit_code, done.output) == (1, "Error: an event cannot ask for nan; give a number from zero up\n")


def test_a_name_that_stands_nowhere_is_answered_with_all_that_are_as_near() -> None:
    assert "there is no engine K-08; did you mean K-0" in season("K-08").output
    done = season("K-07", "--renewed", "RB-104")
    assert (done.exit_code, done.output) == (
        1,
        "Error: RB-104 is no part and no place of K-07; did you mean RB-1041 or RB-1042?\n",
    )
