"""What the bench writes reads back as what was typed, whatever signs it holds."""

from datetime import date
from pathlib import Path

import pytest
import yaml
from bench.handed import BUILD, shop_in
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from engine_pages.bench.quoted import plain_or_quoted
from engine_pages.cli import main
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

SERIALS = ["12 #3", "#4", "R: 1", "- 4", "*x", "[x]", "R-1 ", '"q"', "~", "a\tb", "!x", "R-1\x85", "007"]


@pytest.mark.parametrize("serial", SERIALS)
def test_a_blank_sheet_names_the_very_part_that_stands_there(tmp_path: Path, serial: str) -> None:
    shop = shop_in(tmp_path)
    escaped = serial.replace('"', '\\"').replace("\t", "\\t").replace("\x85", "\\x85")
    (shop / "engines/E1/builds/2026-01-01.yml").write_text(BUILD.replace("R-1", f'"{escaped}"'), encoding="utf-8")
    done = CliRunner().invoke(main, ["sheet", "teardown", "E1", "--date", "2026-03-01", "--records", str(shop)])
    assert done.exit_code == 0, done.output
    checked = read_checked(Folder(shop), date(2026, 3, 2))
    assert [str(one) for one in checked.problems if one.level == "error"] == []
    (line,) = checked.resolved["engines/E1/teardowns/2026-03-01/teardown.yml"].lines.values()
    assert line.part == serial


def test_a_sheets_number_is_counted_on_with_the_signs_that_it_has(tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    (shop / "engines/E1/builds/2026-01-01.yml").write_text(f'sheet: "T #7"\n{BUILD}', encoding="utf-8")
    CliRunner().invoke(main, ["sheet", "build", "E1", "--date", "2026-03-01", "--records", str(shop)])
    text = (shop / "engines/E1/builds/2026-03-01.yml").read_text(encoding="utf-8")
    assert yaml.load(text, yaml.BaseLoader)["sheet"] == "T #8"


@given(words=st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_reads_back_as_it_was_typed(words: str) -> None:
    # against PyYAML, which reads YAML 1.1
    written = plain_or_quoted(words)
    assert yaml.load(f"- {{note: {written}}}\n- note: {written}\n", yaml.CBaseLoader) == [{"note": words}] * 2
    assert len(written.splitlines()) <= 1 or not set(written) & set("\n\r\x85\u2028\u2029")
