"""A blank sheet claims nothing: what is told of the engine with it and without it is the same, but for the sheet."""

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from engine_pages.bench.new_sheet import write_blank
from engine_pages.cli import main
from engine_pages.history.tell import tell_one
from engine_pages.records.checks.all import read_checked
from engine_pages.records.checks.checked import Checked
from engine_pages.records.sheet import SheetKind
from engine_pages.records.tree import Folder

DAY = date(2026, 11, 20)
PATHS = {
    "build": f"builds/{DAY}.yml",
    "inspection": f"inspections/{DAY}.yml",
    "teardown": f"teardowns/{DAY}/teardown.yml",
}
FAMILY = """\
family: single
architecture: rotary
exposure: hours
positions: {rotor-1: rotor, seals-1: {kind: seal, names: [a, b]}, spring-1: spring, gear-1: gear, engine: whole}
kinds:
  rotor: {serial: yes, dimensions: {bore: {unit: mm, stations: [f, r], limit: {max: 60.10}, source: own}}}
  seal: {serial: yes, dimensions: {width: {unit: mm, limit: {min: 3.8}, source: own}}, observe: [chips]}
  spring: {dimensions: {height: {unit: mm, limit: {min: 4.8}, source: own}}}
  gear: {dimensions: {lash: {unit: mm, limit: {max: 0.2}, source: own}}, observe: [wear]}
  whole: {whole: yes, dimensions: {end_play: {unit: mm, limit: {max: 0.1}, source: own}}}
fits: {seat: {outer: rotor-1.bore, inner: gear-1.lash, unit: mm, limit: {max: 0.1}, source: own}}
tests: {compression: {unit: kPa, at: 250 rpm, limit: {min: 680}, source: own}}
"""
BUILD = """\
engine: E1
date: 2026-01-10
positions:
  rotor-1: {part: R-1, origin: used, measured: {bore: {f: 60.02, r: 60.03}}}
  seals-1/a: {part: S-1}
  seals-1/b: {measured: {width: 3.9}}
  spring-1: {measured: {height: 5.4}}
"""
LOG = "- {date: 2026-02-01, kind: run, hours: 4.0}\n- {date: 2026-11-24, kind: run, hours: 3.0}\n"
TESTED = "engine: E1\ndate: 2026-03-01\ntests: {compression: {rpm: 250, rotor-1: [800, 805, 790]}}\n"
STRIP = """\
engine: E1
date: 2026-06-01
positions:
  rotor-1: {decision: reuse}
  seals-1/a: {decision: replace}
  spring-1: {decision: reuse}
"""
BARE: Mapping[str, str] = {}
ASSEMBLED: Mapping[str, str] = {"builds/2026-01-10.yml": BUILD, "log.yml": LOG, "inspections/2026-03-01.yml": TESTED}
APART: Mapping[str, str] = {**ASSEMBLED, "teardowns/2026-06-01/teardown.yml": STRIP}
SHOPS = {"bare": BARE, "assembled": ASSEMBLED, "apart": APART}


def shop_of(folder: Path, sheets: Mapping[str, str]) -> Path:
    own = {f"engines/E1/{path}": text for path, text in sheets.items()}
    files = {"families/single.yml": FAMILY, "engines/E1/engine.yml": "engine: E1\nfamily: single\n", **own}
    for path, text in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    return folder


def read(shop: Path) -> Checked:
    checked = read_checked(Folder(shop), date(2026, 11, 25))
    assert [str(one) for one in checked.problems if one.level == "error"] == []
    return checked


def blank(shop: Path, kind: SheetKind) -> Path:
    return write_blank(read(shop), shop, kind, "E1", DAY)


def filled(sheet: Path, *lines: tuple[str, str]) -> None:
    """Write something behind the first line that begins so, and take away the sign before it."""
    text = sheet.read_text(encoding="utf-8")
    for begins, says in lines:
        before, found, after = text.partition(f"{begins}:")
        assert found, begins
        text = f"{before}{found} {says} {after}"
    sheet.write_text(text, encoding="utf-8")


def figures(shop: Path) -> dict[str, Any]:
    """Everything that is told of the engine in figures, on the day of the sheet, but for doubts and commits."""
    said = CliRunner().invoke(main, ["figures", "E1", "--as-of", DAY.isoformat(), "--records", str(shop)])
    assert said.exit_code == 0, said.output
    told: dict[str, Any] = json.loads(said.stdout)
    return {key: value for key, value in told.items() if key not in ("problems", "uncommitted", "as_of")}


def parts(shop: Path) -> dict[str, tuple[str, float, bool, int]]:
    """Which part stands in each place, what it has run since new, whether that is all, how often it was measured."""
    told, _ = tell_one(read(shop), "E1", DAY)
    return {
        part.slot: (
            part.id,
            part.since_new.hours,
            part.since_new.at_least,
            sum(len(dimension.readings) for dimension in part.dimensions),
        )
        for part in told.parts
        if part.kind != "whole"
    }


def gaps(shop: Path) -> list[str]:
    told, _ = tell_one(read(shop), "E1", DAY)
    return [gap.what for gap in told.gaps if gap.kind != "doubt"]


@pytest.mark.parametrize("sheets", SHOPS.values(), ids=SHOPS)
def test_a_blank_inspection_changes_nothing_that_is_told(tmp_path: Path, sheets: Mapping[str, str]) -> None:
    shop = shop_of(tmp_path, sheets)
    before, missing = figures(shop), gaps(shop)
    blank(shop, "inspection")
    assert figures(shop) == before
    assert gaps(shop) == missing


@pytest.mark.parametrize("sheets", SHOPS.values(), ids=SHOPS)
def test_a_blank_teardown_tells_of_no_part_and_of_no_test(tmp_path: Path, sheets: Mapping[str, str]) -> None:
    shop = shop_of(tmp_path, sheets)
    before, tests, missing = parts(shop), figures(shop)["tests"], gaps(shop)
    blank(shop, "teardown")
    assert parts(shop) == before
    assert figures(shop)["tests"] == tests
    assert [gap for gap in gaps(shop) if gap not in missing and "no decision" not in gap] == []


def test_a_half_filled_teardown_tells_of_what_was_filled_in_alone(tmp_path: Path) -> None:
    shop = shop_of(tmp_path, ASSEMBLED)
    before = parts(shop)
    filled(blank(shop, "teardown"), ("        r", "60.04"), ("    rpm", "240"))
    after = parts(shop)
    assert {slot for slot in after if after[slot] != before.get(slot)} == {"rotor-1"}
    assert [test["date"] for test in figures(shop)["tests"]] == ["2026-03-01"]


def test_a_blank_build_of_an_engine_that_nobody_wrote_of_fits_nothing(tmp_path: Path) -> None:
    shop = shop_of(tmp_path, BARE)
    text = blank(shop, "build").read_text(encoding="utf-8")
    assert parts(shop) == {}
    assert read(shop).fitting.parts.keys() == {"E1.engine.1"}  # the assembled engine is new at every build
    assert "\n  #rotor-1:                        # nothing is written of what stands here\n    #part: " in text


def test_a_blank_build_of_an_assembled_engine_leaves_every_part_as_it_is(tmp_path: Path) -> None:
    shop = shop_of(tmp_path, ASSEMBLED)
    before = parts(shop)
    text = blank(shop, "build").read_text(encoding="utf-8")
    assert parts(shop) == before
    assert "\n  rotor-1:                        # at least 4.0 h since new\n    part: R-1\n" in text
    assert "\n  seals-1/a:                      # 4.0 h since new\n    part: S-1\n" in text
    assert "\n  #seals-1/b:                      # 4.0 h since new; in there, without a serial\n" in text
    assert "\n  #gear-1:                         # nothing is written of what stands here\n" in text


def test_a_blank_build_of_an_engine_that_is_apart_puts_back_what_was_to_be_reused(tmp_path: Path) -> None:
    shop = shop_of(tmp_path, APART)
    before = parts(shop)
    text = blank(shop, "build").read_text(encoding="utf-8")
    assert parts(shop) == {slot: told for slot, told in before.items() if slot in ("rotor-1", "spring-1")}
    out = "out since 2026-06-01: replace; out since 2026-06-01: nothing decided"
    assert f"\n  #seals-1:                        # 4.0 h since new; {out}\n    #part:\n      #a: S-1\n" in text


def test_a_reuse_that_an_earlier_strip_decided_puts_nothing_back(tmp_path: Path) -> None:
    later = {
        "builds/2026-07-01.yml": "engine: E1\ndate: 2026-07-01\nrest: as before\n",
        "teardowns/2026-08-01/teardown.yml": "engine: E1\ndate: 2026-08-01\npositions: {rotor-1: {finding: blue}}\n",
    }
    shop = shop_of(tmp_path, {**APART, **later})
    assert "\n  #rotor-1: " in blank(shop, "build").read_text(encoding="utf-8")
    assert parts(shop) == {}


def test_a_half_filled_build_tells_of_what_was_filled_in_alone(tmp_path: Path) -> None:
    shop = shop_of(tmp_path, ASSEMBLED)
    before = parts(shop)
    filled(blank(shop, "build"), ("        f", "60.02"))
    after = parts(shop)
    assert {slot for slot in after if after[slot] != before.get(slot)} == {"rotor-1"}


def test_hours_are_those_of_the_sheets_own_day(tmp_path: Path) -> None:
    shop = shop_of(tmp_path, ASSEMBLED)  # 3 h more were run on the day before today
    text = blank(shop, "teardown").read_text(encoding="utf-8")
    assert "# hours; the log says 4.0 h to this day" in text
    assert "7.0 h" not in text


def test_a_life_that_nobody_knows_is_not_nought(tmp_path: Path) -> None:
    shop = shop_of(tmp_path, {"builds/2026-01-10.yml": BUILD})
    text = blank(shop, "teardown").read_text(encoding="utf-8")
    assert "  rotor-1:                        # life unknown\n" in text
    assert "  spring-1:                       # 0.0 h since new\n" in text


def test_every_station_and_every_clearance_has_its_last_value_beside_it(tmp_path: Path) -> None:
    fits = BUILD + "fits: {seat: {f: 0.04..0.05 mm}}\n"
    geared = fits.replace("  spring-1:", "  gear-1: {part: G-1}\n  spring-1:")
    text = blank(shop_of(tmp_path, {"builds/2026-01-10.yml": geared}), "inspection").read_text(encoding="utf-8")
    assert "        f:                        # last 60.02, Build 2026-01-10\n" in text
    assert "        r:                        # last 60.03, Build 2026-01-10\n" in text
    assert "fits:\n  seat:                           # mm, max 0.10; last 0.04..0.05 mm, Build 2026-01-10\n" in text


def test_a_sheet_begins_with_its_schema_where_the_shop_has_one(tmp_path: Path) -> None:
    shop = shop_of(tmp_path, BARE)
    assert blank(shop, "build").read_text(encoding="utf-8").startswith("engine: E1\n")
    (shop / "schemas").mkdir()
    (shop / "schemas/teardown.schema.json").write_text("{}", encoding="utf-8")
    begins = "# yaml-language-server: $schema=../../../../schemas/teardown.schema.json\nengine: E1\n"
    assert blank(shop, "teardown").read_text(encoding="utf-8").startswith(begins)
    read(shop)
