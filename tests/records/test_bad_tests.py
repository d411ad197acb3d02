"""What a family and a sheet may not say of compression, leak-down and other tests, and what is doubted of them.

Each row changes one thing in a small shop that has no problems, and names the place and the words of the message.
"""

from datetime import date
from pathlib import Path

import pytest

from engine_pages.records.checks.all import read_checked
from engine_pages.records.source import Problem
from engine_pages.records.tree import Folder

F, E, L, S = (
    "families/single.yml",
    "engines/E1/engine.yml",
    "engines/E1/log.yml",
    "engines/E1/inspections/2026-03-01.yml",
)
GOOD = {
    F: """\
family: single
architecture: rotary
exposure: hours
positions: {rotor-1: rotor, rotor-2: rotor}
kinds:
  rotor: {service: {replace: {hours: 60, months: 36}}}
tests:
  compression:
    unit: kPa
    at: 250 rpm
    limit: {min: 680}
    spread: {chambers: 150, rows: 100}
    curve: [[200, 0.93], [250, 1.0], [300, 1.05]]
    source: Line 60
""",
    E: "engine: E1\nfamily: single\n",
    L: "- {date: 2026-02-01, kind: run, hours: 2.4}\n- {date: 2026-02-02, kind: run, minutes: 35}\n",
    "engines/E1/builds/2026-01-01.yml": "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: , rotor-2: }\n",
    S: """\
engine: E1
date: 2026-03-01
tests:
  compression: {rpm: 262, unit: kPa, rotor-1: [812, 806, 815], faces: marked}
  leak_down: {supply: 100 psi, rotor-1: 92 psi}
""",
}

# fmt: off
ERRORS = (
    ("a curve that is not 1 at its speed", F, "[250, 1.0]", "[250, 0.7]", "13:12",
     "at 250 rpm the curve gives 0.700, and 1 is wanted at the standard speed; write the point [250, 1.0]"),
    ("a curve between whose points is no 1", F, "[250, 1.0], [300, 1.05]", "[300, 1.05]", "13:12", "gives 0.990"),
    ("a curve of another speed", F, "at: 250 rpm", "at: 500 rpm", "10:9",
     "500 rpm lies outside the curve, 200 to 300 rpm; at is the speed where its factor is 1"),
    ("a curve of one point", F, "[[200, 0.93], [250, 1.0], [300, 1.05]]", "[[300, 1.0]]", "10:9", "300 to 300 rpm"),
    ("a curve of no speed", F, "    at: 250 rpm\n", "", "12:5", "where the factor is 1, at: 250 rpm"),
    ("a spread below zero", F, "rows: 100}", "rows: -5}", "12:35", "-5: a spread is above 0"),
    ("a spread of zero", F, "chambers: 150", "chambers: 0", "12:24", "0: a spread is above 0"),
    ("a leak-down of no supply", S, "supply: 100 psi", "supply: 0 psi", "5:23", "0 psi where more than 0 is wanted"),
    ("a word beside a test mistyped", S, "{rpm: 262", "{rmp: 262", "4:17", "'rmp' is no word | did you mean rpm?"),
    ("a word beside a test with a text", S, "faces: marked", "facs: marked", "4:70", "marked | did you mean faces?"),
    ("a place far from any", S, "rotor-1: 92 psi", "xyz: 92 psi", "5:32", "allowed: rpm, unit, | rotor-1, rotor-2"),
    ("hours in words", L, "hours: 2.4", "hours: two", "1:40", "two: a number comes first, 2.5 or 2.5 h"),
    ("minutes in words", L, "minutes: 35", "minutes: abc", "2:42", "abc: a number comes first, 35 or 35 min"),
    ("an interval in words", F, "{hours: 60,", "{hours: sixty,", "6:38", "sixty: a number comes first, 60 or 60 h"),
    ("months in words", F, "months: 36}", "months: six}", "6:50", "six: a number comes first, 60"),
)

DOUBTS = (
    ("more left than was fed", S, "rotor-1: 92 psi", "rotor-1: 110 psi", "5:41", "110 psi is left of 100 psi"),
    ("more left in another unit", S, "rotor-1: 92 psi", "rotor-1: 9.2 bar", "5:41", "9.2 bar is left of 100 psi"),
    ("less than nothing left", S, "rotor-1: 92 psi", "rotor-1: -2 psi", "5:41", "-2 psi is left"),
    ("a loss of more than all", S, "rotor-1: 92 psi", "rotor-1: 150 %", "5:41", "150 %: a loss lies between"),
    ("a loss below nothing", S, "rotor-1: 92 psi", "rotor-1: -3", "5:41", "-3: a loss lies between"),
    ("a compression below zero", S, "806, 815]", "-806, 815]", "4:53", "-806 is below 0"),
    ("a compression of no engine", S, "806, 815]", "8060, 815]", "4:53", "8060 kPa: no engine cranks to 5000 kPa"),
    ("a compression in the wrong unit", S, "[812, 806, 815]", "812 bar", "4:47", "812 bar: no engine cranks"),
)
# fmt: on
ROWS = [(*row[1:], "error") for row in ERRORS] + [(*row[1:], "doubt") for row in DOUBTS]


def problems(root: Path, changes: dict[str, str] | None = None) -> tuple[Problem, ...]:
    for path, text in {**GOOD, **(changes or {})}.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    return read_checked(Folder(root), date(2026, 11, 5)).problems


def test_the_good_shop_has_no_problems(tmp_path: Path) -> None:
    assert problems(tmp_path) == ()


@pytest.mark.parametrize(
    ("path", "old", "new", "at", "words", "level"), ROWS, ids=[row[0] for row in (*ERRORS, *DOUBTS)]
)
def test_what_a_test_may_not_say_is_found_where_it_stands(
    tmp_path: Path, path: str, old: str, new: str, at: str, words: str, level: str
) -> None:
    assert GOOD[path].count(old) == 1
    found = problems(tmp_path, {path: GOOD[path].replace(old, new)})
    here = [one.message for one in found if (str(one.source), one.level) == (f"{path}:{at}", level)]
    assert any(all(word in said for word in words.split(" | ")) for said in here), "\n".join(map(str, found))


def test_a_factor_read_off_a_graph_to_two_decimals_is_near_enough_to_1(tmp_path: Path) -> None:
    assert problems(tmp_path, {F: GOOD[F].replace("[250, 1.0], ", "[260, 1.01], ").replace("0.93", "0.95")}) == ()


def test_a_shop_with_no_family_file_is_told_which_to_write(tmp_path: Path) -> None:
    (tmp_path / "engines/E1").mkdir(parents=True)
    (tmp_path / E).write_text(GOOD[E], encoding="utf-8")
    (found,) = read_checked(Folder(tmp_path), date(2026, 11, 5)).problems
    assert str(found) == (f"{E}:2:9: error: family 'single': no family file is there yet; write families/single.yml")
