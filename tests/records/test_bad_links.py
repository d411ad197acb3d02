"""Lines of shares.yml that would open another's engine, or nothing, and are said to."""

from datetime import date
from pathlib import Path

import pytest

from engine_pages.records.checks.all import read_checked
from engine_pages.records.source import Problem
from engine_pages.records.tree import Folder

TOKEN = "b" * 30 + "22"
FILES = {
    "families/f.yml": "family: f\narchitecture: rotary\nexposure: hours\npositions: {rotor-1: rotor}\n"
    "kinds: {rotor: {}}\n",
    "engines/E1/engine.yml": "engine: E1\nfamily: f\n",
    "engines/E2/engine.yml": "engine: E2\nfamily: f\n",
}


def problems(folder: Path, *lines: str) -> list[Problem]:
    for path, text in (FILES | {"shares.yml": "\n".join(("shares:", *lines, ""))}).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    return [one for one in read_checked(Folder(folder), date(2026, 11, 25)).problems if one.source.path == "shares.yml"]


def test_a_link_with_a_token_of_its_own_is_no_problem(tmp_path: Path) -> None:
    assert problems(tmp_path, f"  - {{engine: E1, edition: owner, token: {TOKEN}}}") == []


def test_one_token_on_two_lines_is_an_error_and_is_not_printed(tmp_path: Path) -> None:
    lines = [f"  - {{engine: {engine}, edition: owner, token: {TOKEN}}}" for engine in ("E1", "E2")]
    (one,) = problems(tmp_path, *lines)
    assert (one.level, one.source.line, one.source.column) == ("error", 3, 41)
    assert "line 2 already" in one.message
    assert TOKEN not in one.message


@pytest.mark.parametrize(
    ("line", "column", "words"),
    [
        ("{engine: E1, edition: owner, token: quiet-lake}", 41, "32 of the signs"),
        ("{engine: E1, edition: owner, note: mine}", 5, "without a token opens nothing"),
        (f"{{engine: E1, edition: crew, token: {TOKEN}}}", 27, "never shared"),
    ],
)
def test_a_line_that_opens_nothing_is_a_doubt(tmp_path: Path, line: str, column: int, words: str) -> None:
    (one,) = problems(tmp_path, f"  - {line}")
    assert (one.level, one.source.line, one.source.column) == ("doubt", 2, column)
    assert words in one.message
