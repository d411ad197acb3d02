"""A blank sheet is a valid one, says what the bench wants to know beside each line, and never overwrites."""

import re
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


@pytest.mark.parametrize("engine", ["K-05", "K-07", "Q-12"])
def test_a_blank_teardown_is_doubted_until_something_is_filled_in(shop: Path, engine: str) -> None:
    sheet(shop, "teardown", engine)
    own = f"engines/{engine}/{PATHS['teardown']}"
    path = shop / own
    found = [p for p in read_checked(Folder(shop), date(2026, 11, 25)).problems if "nothing is filled in" in p.message]
    assert [(p.level, p.source.path, p.source.line) for p in found] == [("doubt", own, 2)]
    assert found[0].message == "nothing is filled in on this sheet; it counts as a strip all the same"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("    decision:", "    decision: reuse", 1), encoding="utf-8")
    problems = read_checked(Folder(shop), date(2026, 11, 25)).problems
    assert not [p for p in problems if "nothing is filled in" in p.message]


FAMILY = """\
family: single
architecture: rotary
exposure: hours
positions: {seals: seal-set, bearing-1: bearing}
kinds:
  bearing: {serial: yes, dimensions: {bore: {unit: mm, limit: {max: 60.10}, instrument: mic, source: own}}}
  seal: {serial: yes, dimensions: {width: {unit: mm, limit: {min: 3.8}, instrument: mic, source: own}}}
""".replace("seal-set", "{kind: seal, names: [a1, b1]}")


@pytest.fixture
def new_engine(tmp_path: Path) -> Path:
    """An engine of which no sheet is written: nobody knows what stands where."""
    for path, text in {
        "shop.yml": "instruments: {mic: {resolution: 0.001 mm}}\n",
        "families/single.yml": FAMILY,
        "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
    }.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    return tmp_path


def test_a_set_asks_for_the_serial_of_each_member(new_engine: Path) -> None:
    assert sheet(new_engine, "build", "E1").exit_code == 0
    path = new_engine / "engines/E1" / PATHS["build"]
    text = path.read_text(encoding="utf-8")
    text = re.sub(r"\n( +)#", r"\n\1", text)  # what was fitted is no comment any more
    lines = [line.split("#")[0].rstrip() for line in text.splitlines()]
    at = lines.index("  seals:")
    assert lines[at + 1 : at + 4] == ["    part:", "      a1:", "      b1:"]
    filled = text.replace("      a1: ", "      a1: AS-1 ", 1).replace("      b1: ", "      b1: AS-2 ", 1)
    path.write_text(filled, encoding="utf-8")
    found = read_checked(Folder(new_engine), date(2026, 11, 25))
    assert [str(p) for p in found.problems if p.level == "error"] == []
    assert {"AS-1", "AS-2"} <= set(found.fitting.parts)


@pytest.mark.parametrize("sign", ["#", "# ?"])  # by hand; by an editor, that takes a blank behind the sign too
def test_a_place_whose_sign_is_taken_away_stands_in_line_with_the_others(new_engine: Path, sign: str) -> None:
    fitted = "engine: E1\ndate: 2026-01-01\npositions: {bearing-1: {part: B-1}}\n"
    (new_engine / "engines/E1/builds").mkdir()
    (new_engine / "engines/E1/builds/2026-01-01.yml").write_text(fitted, encoding="utf-8")
    sheet(new_engine, "build", "E1")
    path = new_engine / "engines/E1" / PATHS["build"]
    text = path.read_text(encoding="utf-8")
    assert "\n  bearing-1:" in text
    path.write_text(re.sub(rf"(?m)^( +){sign}", r"\1", text), encoding="utf-8")
    found = read_checked(Folder(new_engine), date(2026, 11, 25))
    assert [str(p) for p in found.problems if p.level == "error"] == []
    assert {"seals/a1", "bearing-1"} <= set(found.resolved[f"engines/E1/{PATHS['build']}"].lines)


def test_a_line_that_was_put_aside_shows_how_a_gauge_is_named(new_engine: Path) -> None:
    sheet(new_engine, "teardown", "E1")
    path = new_engine / "engines/E1" / PATHS["teardown"]
    line = "#instruments: {bearing.bore: mic} # where it was not the usual one; the shop has mic"
    text = path.read_text(encoding="utf-8")
    assert f"\n{line}\n" in text
    path.write_text(text.replace(line, line[1:]), encoding="utf-8")
    found = read_checked(Folder(new_engine), date(2026, 11, 25))
    assert [str(p) for p in found.problems if p.level == "error"] == []


def test_limits_stand_there_also_where_nothing_was_ever_fitted(new_engine: Path) -> None:
    sheet(new_engine, "build", "E1")
    text = (new_engine / "engines/E1" / PATHS["build"]).read_text(encoding="utf-8")
    assert "# mm, max 60.10, mic" in text
    assert "# mm, min 3.8, mic" in text


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
    [
        (["T-9", "T-10"], "T-11"),
        (["T-0099"], "T-0100"),
        (["T-0412", "T-0413-kvbn", "T-0413-wxzc"], "T-0414"),  # begun on two phones
        (["2026/7"], "2026/8"),
        (["first"], None),
        ([], None),
    ],
)
def test_the_next_number_follows_the_highest(labels: list[str], number: str | None) -> None:
    assert next_number(labels) == number
