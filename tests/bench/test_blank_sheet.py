"""A blank sheet is a valid one, says what the bench wants to know beside each line, and never overwrites."""

import shutil
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from engine_pages.bench.blank_sheet import next_number
from engine_pages.cli import main
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

DEMO = Path(__file__).parents[2] / "records"
DAY = "2026-11-20"
PATHS = {
    "build": f"builds/{DAY}.yml",
    "inspection": f"inspections/{DAY}.yml",
    "teardown": f"teardowns/{DAY}/teardown.yml",
}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shutil.copytree(DEMO, tmp_path / "shop")
    return tmp_path / "shop"


def sheet(shop: Path, *arguments: str) -> Result:
    return CliRunner().invoke(main, ["sheet", *arguments, "--date", DAY, "--records", str(shop)])


@pytest.mark.parametrize("engine", ["K-05", "K-07", "Q-12"])
@pytest.mark.parametrize("kind", ["teardown", "inspection", "build"])
def test_a_blank_sheet_of_the_demo_has_no_error_and_measures_nothing(shop: Path, kind: str, engine: str) -> None:
    done = sheet(shop, kind, engine)
    assert done.exit_code == 0, done.output
    path = shop / "engines" / engine / PATHS[kind]
    assert done.output == f"The blank sheet is {path}\n"
    found = read_checked(Folder(shop), date(2026, 11, 25))
    own = f"engines/{engine}/{PATHS[kind]}"
    assert [str(p) for p in found.problems if p.source.path == own and p.level == "error"] == []
    lines = found.resolved[own].lines.values()
    assert lines
    assert not any(line.measured or line.observed for line in lines)


def test_every_place_of_the_family_is_there_with_its_serial_last_value_limit_and_gauge(shop: Path) -> None:
    sheet(shop, "teardown", "K-07")
    text = (shop / "engines/K-07" / PATHS["teardown"]).read_text(encoding="utf-8")
    lines = {
        line.split("#")[0].strip(): line.partition("#")[2].strip() for line in text.splitlines() if "RB-" not in line
    }
    assert text.startswith(f"engine: K-07\ndate: {DAY}\nsheet: T-0414\n")
    assert "    part: RB-1042\n" in text
    assert "mm, max 60.105, bore-50-100; last 60.085, 60.086, 60.087, T-0412" in text
    assert lines["overlay:"].startswith("0 run in only; 1 light scratches, overlay whole; 2 ")
    assert lines["decision:"] == "reuse, rework, replace, retire, undecided"
    assert "      a1: AS-321\n" in text


def test_a_half_filled_sheet_is_read_as_what_was_filled(shop: Path) -> None:
    sheet(shop, "inspection", "K-07")
    path = shop / "engines/K-07" / PATHS["inspection"]
    text = path.read_text(encoding="utf-8")
    before, line, after = text.partition("      inside_diameter: ")
    path.write_text(f"{before}{line} 60.0930 {after}", encoding="utf-8")
    found = read_checked(Folder(shop), date(2026, 11, 25))
    measured = found.resolved[f"engines/K-07/{PATHS['inspection']}"].lines["rotor-bearing-1"].measured
    assert list(measured) == ["inside_diameter"]
    assert [p for p in found.problems if p.level == "error"] == []


def test_a_build_proposes_what_is_fitted_now(shop: Path) -> None:
    sheet(shop, "build", "Q-12")
    text = (shop / "engines/Q-12" / PATHS["build"]).read_text(encoding="utf-8")
    assert "  crankshaft:" in text
    assert "    part: CK-31\n" in text
    assert "decision:" not in text
    assert "'as before' puts back every place not named" in text


def test_a_sheet_that_is_there_is_never_overwritten(shop: Path) -> None:
    sheet(shop, "teardown", "K-07")
    path = shop / "engines/K-07" / PATHS["teardown"]
    mine = path.read_text(encoding="utf-8") + "# mine\n"
    path.write_text(mine, encoding="utf-8")
    done = sheet(shop, "teardown", "K-07")
    assert (done.exit_code, path.read_text(encoding="utf-8")) == (1, mine)
    assert "is there already; for a second sheet of that day say --again" in done.output


def test_a_second_sheet_of_a_day_stands_beside_the_first(shop: Path) -> None:
    sheet(shop, "inspection", "K-07")
    assert sheet(shop, "inspection", "K-07", "--again").exit_code == 0
    assert (shop / f"engines/K-07/inspections/{DAY}-2.yml").is_file()


def test_an_engine_that_is_not_there_is_answered_with_the_nearest(shop: Path) -> None:
    assert "there is no engine K-08; did you mean K-0" in sheet(shop, "build", "K-08").output


@pytest.mark.parametrize(
    ("labels", "number"),
    [(["T-9", "T-10"], "T-11"), (["T-0099"], "T-0100"), (["2026/7"], "2026/8"), (["first"], None), ([], None)],
)
def test_the_next_number_follows_the_highest(labels: list[str], number: str | None) -> None:
    assert next_number(labels) == number
