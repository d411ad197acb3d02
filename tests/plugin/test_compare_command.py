"""The command `compare`, as it is typed: did a change of fluid help."""

import json
from pathlib import Path

from click.testing import CliRunner, Result

from engine_pages.cli import main

DEMO = Path(__file__).parents[2] / "records"


def compare(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["compare", *arguments, "--records", str(DEMO)])


def test_the_demos_change_of_oil_cannot_honestly_be_judged() -> None:
    done = compare("--fluid", "oil", "--from", "mineral-10w60", "--to", "ester-15w50")
    assert done.exit_code == 0
    assert done.output.startswith("oil: mineral-10w60 to ester-15w50\n")
    assert "Cannot tell whether wear changed: the change was made because the last rate looked bad." in done.output


def test_the_answer_names_sheets_rates_and_what_was_left_out() -> None:
    said = compare("--fluid", "oil").output
    assert "K-07  T-0371 to T-0385  on mineral-10w60  6.5 h from 2025-02-08 to 2025-06-15" in said
    assert "All kinds: " in said
    assert "times the usual rate" in said
    assert "K-05  T-0389 to T-0413  more than one recipe (premix): 17 readings of ES-09, " in said
    assert "Meanwhile other parts fitted: " in said


def test_of_one_kind_its_own_figures_are_given() -> None:
    (found,) = json.loads(compare("--fluid", "oil", "--kind", "rotor-bearing", "--json").output)
    assert [one["kind"] for one in found["kinds"]] == ["rotor-bearing"]
    ratio = found["figures"]["ratio"]
    assert ratio["low"] < ratio["value"] < ratio["high"]
    assert found["verdict"] == "cannot tell"


def test_a_fluid_that_nobody_changed_is_answered_with_what_was() -> None:
    done = compare("--fluid", "fuel")
    assert done.exit_code == 1
    assert done.output.startswith("Error: no change of fuel is written; ")


def test_figures_name_the_sheets_of_what_counts_and_of_what_does_not() -> None:
    (found,) = json.loads(compare("--fluid", "oil", "--json").output)
    named = [path for one in (*found["intervals"], *found["intervals_left_out"]) for path in one["sheets"]]
    assert named
    assert all(path.startswith("engines/") and path.endswith(".yml") for path in named if path is not None)
