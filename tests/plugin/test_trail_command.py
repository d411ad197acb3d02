"""The command `trail`, as it is typed: an engine's records in words and as figures, and what git cannot tell."""

import json
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from kept_history import SHEET, KeptHistory, sheet, without_own_configuration

from engine_pages.cli import main

PATH = SHEET.format("2026-03-01")
LOG = "- {date: 2026-03-14, kind: run, what: race, minutes: 35}\n"


@pytest.fixture
def history(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> KeptHistory:
    without_own_configuration(monkeypatch, tmp_path)
    return KeptHistory(tmp_path / "shop")


def trail(shop: Path, engine: str = "K-07", *options: str) -> Result:
    return CliRunner().invoke(main, ["trail", engine, "--records", str(shop), *options])


def lines(history: KeptHistory) -> list[str]:
    done = trail(history.top)
    assert done.exit_code == 0, done.output
    return done.output.splitlines()


def test_a_sheet_is_told_from_its_recording_to_its_last_amendment(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061")}, "Strip", at="2026-03-03T12:00:00+01:00")
    corrected = sheet("60.016").replace(
        "    finding", "    correction: Digits swapped, the card says 60.016.\n    finding"
    )
    head = history.commit({PATH: corrected}, "Put right\n\nAt length.", by="TM", at="2026-03-09T12:00:00+01:00")
    assert lines(history) == [
        f"K-07: who recorded what, and every amendment since, up to commit {head[:10]}",
        "Names and dates are those that each computer told git; a good signature alone proves whose they are.",
        "",
        "Sheets",
        f"  {PATH}, sheet T-0412",
        "    2026-03-03  recorded 2 days after the work by Rikke Kalverd, not signed: Strip",
        "    2026-03-09  rotor-bearing-2 › inside diameter: 60.061 → 60.016, Tomas Mellingen, not signed: Put right",
        "      correction: Digits swapped, the card says 60.016.",
    ]


def test_sheets_stand_in_order_of_the_work_and_not_of_their_commits(history: KeptHistory) -> None:
    later, earlier = SHEET.format("2026-05-01"), "engines/K-07/builds/2026-01-10.yml"
    history.commit({later: sheet(date="2026-05-01")})
    history.commit({earlier: "engine: K-07\ndate: 2026-01-10\npositions: {rotor-bearing-2: }\n"})
    told = [line.strip() for line in lines(history) if line.startswith("  engines/")]
    assert told == [earlier, f"{later}, sheet T-0412"]


def test_what_came_whole_is_one_line_and_log_lines_are_counted(history: KeptHistory) -> None:
    log = "engines/K-07/log.yml"
    history.commit({PATH: sheet(), log: LOG})
    more = "  rotor-bearing-1:\n    part: RB-1041\n    decision: reuse\n"
    history.commit(
        {PATH: sheet(more=more), log: LOG.replace("35", "53") + LOG.replace("14", "15") + LOG.replace("14", "16")},
        "More",
    )
    told = [line.strip() for line in lines(history) if line.endswith("More")]
    assert told == [
        "2026-03-01  rotor-bearing-1 added: part RB-1041, decision reuse, Rikke Kalverd, not signed: More",
        "2026-03-01  2 lines added (2026-03-15 race, 2026-03-16 race), Rikke Kalverd, not signed: More",
        "2026-03-01  2026-03-14 race › minutes: 35 → 53, Rikke Kalverd, not signed: More",
    ]


def test_who_moved_a_limit_that_the_engine_is_judged_by_is_told_with_it(history: KeptHistory) -> None:
    family, part = "families/twin-rotor.yml", "parts/RB-1042.yml"
    engine = {"engines/K-07/engine.yml": "engine: K-07\nfamily: twin-rotor\n", PATH: sheet()}
    others = {"families/inline-four.yml": "family: inline-four\n", "parts/RB-9.yml": "serial: RB-9\nkind: b\n"}
    text = "kinds: {rotor-bearing: {dimensions: {inside_diameter: {limit: {max: 60.105}}}}}\n"
    history.commit({**engine, **others, family: text, part: "serial: RB-1042\nkind: b\n", "shop.yml": "name: A\n"})
    history.commit({family: text.replace("105", "150")}, "New sheet", by="TM")
    told = lines(history)
    at = told.index("What its figures lean on")
    assert told[at + 1 : at + 4] == [
        f"  {family}",
        "    2026-03-01  recorded by Rikke Kalverd, not signed: As measured",
        "    2026-03-01  kinds › rotor-bearing › dimensions › inside diameter › limit › max: 60.105 → 60.150, "
        "Tomas Mellingen, not signed: New sheet",
    ]
    assert told[at + 4 :] == ["", "What its figures lean on, as first recorded", f"  {part}, shop.yml"]


def test_a_date_long_before_its_commit_is_said(history: KeptHistory) -> None:
    history.commit({PATH: sheet()}, at="2026-03-01T12:00:00+01:00", committed="2026-04-10T12:00:00+02:00")
    (line,) = [line for line in lines(history) if "recorded" in line and line.startswith("    ")]
    assert line.strip() == (
        "2026-04-10  recorded 40 days after the work by Rikke Kalverd, not signed, "
        "dated 40 days before its commit of 2026-04-10: As measured"
    )


def test_moves_merges_and_what_they_left_out_are_said(history: KeptHistory) -> None:
    history.commit({PATH: sheet("1")})
    history.git("checkout", "-q", "-b", "side")
    history.commit({PATH: sheet("2")}, "Read again", by="TM", at="2026-03-02T12:00:00+01:00")
    history.git("checkout", "-q", "main")
    history.commit({PATH: sheet("3")}, at="2026-03-03T12:00:00+01:00")
    merge = history.merge("side", "-s", "ours", by="RK")
    history.commit({PATH: None, SHEET.format("2026-03-04"): sheet("3", date="2026-03-04")}, "Its day")
    told = lines(history)
    at = next(nth for nth, line in enumerate(told) if "1 → 2" in line)
    assert told[at + 1].strip() == (
        f"left out by the merge {merge[:10]} of 2026-03-20, Rikke Kalverd: it does not stand"
    )
    assert f"    2026-03-01  moved from {PATH} to {SHEET.format('2026-03-04')}, Rikke Kalverd: Its day" in told


def test_a_name_that_would_steer_a_terminal_is_written_out(history: KeptHistory) -> None:
    history.commit({PATH: sheet()}, "\x1b[31mred")
    assert any(line.endswith(r": \x1b[31mred") for line in lines(history))


# ── as figures ───────────────────────────────────────────────────────────────────────────────────────────────────────


def test_figures_say_the_same_as_json(history: KeptHistory) -> None:
    first = history.commit({PATH: sheet("60.061")}, at="2026-03-03T12:00:00+01:00")
    second = history.commit({PATH: sheet("60.016")}, "Put right", by="TM", at="2026-03-09T12:00:00+01:00")
    done = trail(history.top, "K-07", "--json")
    assert done.output == trail(history.top, "K-07", "--json").output
    figures = json.loads(done.output)
    assert (figures["engine"], figures["commit"], figures["shallow"]) == ("K-07", second, False)
    assert list(figures["commits"]) == [first, second]
    assert figures["commits"][second]["author"] == "Tomas Mellingen"
    assert figures["commits"][second]["authored"] == "2026-03-09T12:00:00+01:00"
    assert figures["commits"][second]["signature"] == "none"
    (record,) = figures["sheets"]
    assert (record["path"], record["sheet"], record["recorded"], record["last"]) == (PATH, "T-0412", first, second)
    assert record["amendments"] == [
        {
            "record": PATH,
            "field": ["positions", "rotor-bearing-2", "measured", "inside_diameter"],
            "kind": "changed",
            "old": "60.061",
            "new": "60.016",
            "block": ["positions", "rotor-bearing-2", "measured", "inside_diameter"],
            "other_parents": [],
            "correction": [],
            "commit": second,
            "again": [],
            "left_out": None,
        }
    ]


def test_the_trail_at_a_commit_ends_there(history: KeptHistory) -> None:
    first = history.commit({PATH: sheet("60.061")})
    history.commit({PATH: sheet("60.016")})
    assert "→" not in trail(history.top, "K-07", "--at", first[:12]).output
    done = trail(history.top, "K-07", "--at", "nosuch")
    assert (done.exit_code, "no such revision" in done.output) == (1, True)


# ── what git cannot tell ─────────────────────────────────────────────────────────────────────────────────────────────


def test_without_a_repository_there_is_no_trail(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    without_own_configuration(monkeypatch, tmp_path)
    done = trail(tmp_path)
    assert (done.exit_code, done.output) == (1, "Error: there is no trail: the folder is in no git repository\n")


def test_without_git_there_is_no_trail(history: KeptHistory, monkeypatch: pytest.MonkeyPatch) -> None:
    history.commit({PATH: sheet()})
    monkeypatch.setenv("PATH", str(history.top / "nothing"))
    done = trail(history.top)
    assert (done.exit_code, done.output) == (1, "Error: there is no trail: git is not installed, or not on the path\n")


def test_an_engine_that_stands_nowhere_is_answered_with_the_nearest(history: KeptHistory) -> None:
    history.commit({PATH: sheet()})
    done = trail(history.top, "K-7")
    assert (done.exit_code, done.output) == (
        1, "Error: there is no trail of an engine K-7; did you mean K-07?\n",
    )  # fmt: skip


def test_what_is_not_committed_is_said(history: KeptHistory) -> None:
    (history.top / PATH).parent.mkdir(parents=True)
    (history.top / PATH).write_text(sheet(), encoding="utf-8")
    told = lines(history)
    assert "Nothing is committed yet: git knows of no record." in told
    assert f"Not committed, and so in no trail yet: {PATH}" in told
    history.commit({PATH: sheet()})
    (history.top / PATH).write_text(sheet("1"), encoding="utf-8")
    told = lines(history)
    assert f"Not committed, and so in no trail yet: {PATH}" in told
    assert told[-1] == "    and changed since the last commit"


def test_a_cut_clone_says_so(history: KeptHistory, tmp_path: Path) -> None:
    history.commit({PATH: sheet("1")})
    history.commit({PATH: sheet("2")})
    command = ["git", "clone", "-q", "--depth", "1", history.top.as_uri(), str(tmp_path / "clone")]
    subprocess.run(command, check=True, capture_output=True)
    told = trail(tmp_path / "clone").output
    assert "This clone's history is cut" in told
    assert "it was there by this day; when it was recorded, and by whom, this clone does not tell" in told
    assert "Rikke Kalverd" not in told


ODD = (
    "",
    "just text\n",
    "- a\n- b\n",
    "engine: [E, {a: 1}, []]\nsheet: [1]\ndate: {a: 1}\n",
    "a: &x 1\nb: *x\n",
    "photos: [{file: a}, {file: a}, {}, [x, {y: 1}], z]\n",
    "photos: {file: a}\n",
    "correction: {a: 1}\nby: X\n",
    "correction: [a, b, {c: 1}]\nby: Y\n",
    "? [a]\n: b\n",
    "sheet: ''\ndate: 2026-99-99\n",
    "measured: {value: {value: 1}}\n",
    "measured: 1\n",
    "measured: {value: [1, {a: 2}]}\n",
    "positions: {a: '', b: }\n",
    "positions: x\n",
    "a: [[1], [2, {b: 1}]]\n",
)


def test_whatever_a_file_once_held_is_told_without_a_traceback(history: KeptHistory) -> None:
    build, log = "engines/K-07/builds/2026-03-01.yml", "engines/K-07/log.yml"
    for text in (*ODD, *ODD[::-2], *ODD[::3]):
        history.commit({PATH: text, build: text, log: text})
    told = lines(history)
    assert any("cannot be read in this version (line 1: anchor &x" in line for line in told)
    assert trail(history.top, "K-07", "--json").exit_code == 0
