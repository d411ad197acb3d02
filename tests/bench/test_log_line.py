"""A line goes into the log in date order, kept as typed; what a person wrote stays byte for byte."""

from datetime import date
from pathlib import Path

import pytest
from bench.handed import git, under_git
from click.testing import CliRunner, Result

from engine_pages.bench.log_line import LogLineError, add_line
from engine_pages.cli import main
from engine_pages.records.load import load_shop
from engine_pages.records.tree import Folder

FAMILY = """family: single
architecture: rotary
exposure: hours
positions: {rotor-1: rotor}
kinds: {rotor: {}}
services: {oil: {hours: 5}}
"""
LOG = """# the first season, typed at the track
- {date: 2026-02-01, kind: run,   what: race, minutes: 35}   # wet
- {date: 2026-03-01, kind: run, hours: 1.30}
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
        "engines/E1/log.yml": LOG,
        "engines/E1/builds/2026-01-01.yml": "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: {part: R-1}}\n",
    }  # fmt: skip
    for path, text in files.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    return tmp_path


def log(shop: Path, *arguments: str) -> Result:
    return CliRunner().invoke(main, ["log", "E1", "--records", str(shop), *arguments])


def text(shop: Path) -> str:
    return (shop / "engines/E1/log.yml").read_text(encoding="utf-8")


def test_a_line_goes_behind_the_last_of_its_day_and_nothing_else_changes(shop: Path) -> None:
    done = log(shop, "--date", "2026-02-15", "--what", "practice", "--minutes", "20", "--starts", "2")
    assert done.exit_code == 0, done.output
    line = "- {date: 2026-02-15, kind: run, what: practice, minutes: 20, starts: 2}"
    head, tail = LOG.split("- {date: 2026-03-01")
    assert text(shop) == f"{head}{line}\n- {{date: 2026-03-01{tail}"
    assert done.output == f"{shop / 'engines/E1/log.yml'}:3: {line}\n"


def test_the_log_is_committed_as_a_sheet_is(shop: Path) -> None:
    under_git(shop)
    log(shop, "--date", "2026-04-01", "--hours", "1.250")
    path = str(shop / "engines/E1/log.yml")
    done = CliRunner().invoke(main, ["file", path, "--records", str(shop)])
    assert done.exit_code == 0, done.output
    assert git(shop, "show", "--name-only", "--format=%s").split() == ["E1", "log", "engines/E1/log.yml"]
    assert git(shop, "status", "--porcelain") == ""


def test_the_latest_line_stands_last(shop: Path) -> None:
    log(shop, "--date", "2026-04-01", "--hours", "1.250")
    assert text(shop) == f"{LOG}- {{date: 2026-04-01, kind: run, hours: 1.250}}\n"  # its digits as typed


def test_a_service_with_its_fluids_and_words_that_want_quotes(shop: Path) -> None:
    done = log(
        shop, "--date", "2026-04-01", "--kind", "service", "--did", "oil", "--fluid", "oil=ester-15w50",
        "--fluid", "premix=1:80 two-stroke", "--note", 'hot, "long" wait: #2',
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    assert text(shop).splitlines()[-1] == (
        "- {date: 2026-04-01, kind: service, did: [oil], "
        'fluids: {oil: ester-15w50, premix: "1:80 two-stroke"}, note: "hot, \\"long\\" wait: #2"}'
    )


def test_a_log_that_is_not_there_yet_begins(shop: Path) -> None:
    (shop / "engines/E1/log.yml").unlink()
    assert log(shop, "--date", "2026-02-01", "--hours", "2").exit_code == 0
    assert text(shop) == "- {date: 2026-02-01, kind: run, hours: 2}\n"


@pytest.mark.parametrize("ending", ["\n", "\r\n", ""])
def test_the_ends_of_lines_stay_as_they_are(shop: Path, ending: str) -> None:
    old = LOG.rstrip("\n").replace("\n", ending or "\n") + ending
    (shop / "engines/E1/log.yml").write_bytes(old.encode())
    assert log(shop, "--date", "2026-04-01", "--hours", "2").exit_code == 0
    new = (shop / "engines/E1/log.yml").read_bytes().decode()
    assert new == old + ("" if ending else "\n") + "- {date: 2026-04-01, kind: run, hours: 2}" + (ending or "\n")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--what", "rally", "--hours", "2"), "did you mean"),
        (("--hours", "1,5"), "error:"),
        (("--fluid", "oil"), "a fluid is FLUID=NAME: --fluid oil=ester-15w50"),
        (("--date", "2026-2-3", "--hours", "2"), "2026-2-3 is no date; write 2026-11-02"),
    ],
)
def test_what_would_be_an_error_is_refused_and_nothing_is_written(
    shop: Path, arguments: tuple[str, ...], words: str
) -> None:
    done = log(shop, *arguments)
    assert done.exit_code == 1
    assert words in done.output or "nothing was written" in done.output
    assert text(shop) == LOG


@pytest.mark.parametrize("arguments", [(), ("--kind", "service"), ("--date", "2026-04-01")])
def test_a_line_that_says_nothing_is_not_written(shop: Path, arguments: tuple[str, ...]) -> None:
    done = log(shop, *arguments)
    assert (done.exit_code, text(shop)) == (1, LOG)
    assert "nothing was written. A run: engine-pages log E1 --what race --minutes 35 --starts 2" in done.output


def test_an_engine_that_is_not_there_is_refused(shop: Path) -> None:
    with pytest.raises(LogLineError, match="there is no engine E2"):
        add_line(shop, "E2", date(2026, 2, 1), {"kind": "run"})


def test_a_line_that_raises_a_doubt_is_written_and_the_doubt_said(shop: Path) -> None:
    done = log(shop, "--date", "2026-04-01", "--kind", "service", "--did", "oill")
    assert done.exit_code == 0
    assert "did: [oill]" in text(shop)
    assert "doubt: " in done.output


def test_a_full_disk_leaves_the_log_as_it_was(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_room(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", no_room)
    done = log(shop, "--date", "2026-04-01", "--hours", "2")
    assert (done.exit_code, text(shop)) == (1, LOG)
    assert [path.name for path in (shop / "engines/E1").iterdir() if path.name.startswith(".")] == []


LINE = "- {date: 2026-02-15, kind: run, hours: 2}"
LOGS = {
    "a sign in an earlier note that ends a line for YAML": (
        '- {date: 2026-02-01, kind: run, note: "a\u2028b\x85c"}\n- {date: 2026-03-01, kind: run}\n',
        f'- {{date: 2026-02-01, kind: run, note: "a\u2028b\x85c"}}\n{LINE}\n- {{date: 2026-03-01, kind: run}}\n',
    ),
    "a byte-order mark, and the line first": (
        "\ufeff- {date: 2026-03-01, kind: run}\n",
        f"\ufeff{LINE}\n- {{date: 2026-03-01, kind: run}}\n",
    ),
    "an empty list with a comment": ("# 2026\n[]   # none yet\n", f"# 2026\n# none yet\n{LINE}\n"),
    "an empty list alone": ("[]\n", f"{LINE}\n"),
    "comments alone, with the line ends of Windows": ("# 2026\r\n# wet\r\n", f"# 2026\r\n# wet\r\n{LINE}\r\n"),
    "entries that stand further in": (
        "  - {date: 2026-02-01, kind: run}\n  - {date: 2026-03-01, kind: run}\n",
        f"  - {{date: 2026-02-01, kind: run}}\n  {LINE}\n  - {{date: 2026-03-01, kind: run}}\n",
    ),
    "a dash on a line of its own": (
        "-\n  date: 2026-02-01\n  kind: run\n-\n  # wet\n  date: 2026-03-01\n  kind: run\n",
        f"-\n  date: 2026-02-01\n  kind: run\n{LINE}\n-\n  # wet\n  date: 2026-03-01\n  kind: run\n",
    ),
}


@pytest.mark.parametrize("name", LOGS)
def test_a_line_stands_in_its_place_however_the_log_is_written(shop: Path, name: str) -> None:
    old, new = LOGS[name]
    (shop / "engines/E1/log.yml").write_bytes(old.encode())
    done = log(shop, "--date", "2026-02-15", "--hours", "2")
    assert done.exit_code == 0, done.output
    assert (shop / "engines/E1/log.yml").read_bytes().decode() == new


@pytest.mark.parametrize("note", ["two\nlines", "a\rb", "a\x85b", "a\u2028b", "a\tb"])
def test_a_note_of_several_lines_is_one_line_of_the_log_and_reads_back(shop: Path, note: str) -> None:
    assert log(shop, "--date", "2026-04-01", "--hours", "2", "--note", note).exit_code == 0
    assert text(shop).startswith(LOG)
    assert len(text(shop).splitlines()) == len(LOG.splitlines()) + 1
    assert load_shop(Folder(shop)).engines["E1"].log[-1].line.note == note


def test_a_list_in_brackets_is_refused_in_words_and_stays(shop: Path) -> None:
    old = "[{date: 2026-02-01, kind: run}]\n"
    (shop / "engines/E1/log.yml").write_text(old, encoding="utf-8")
    done = log(shop, "--date", "2026-04-01", "--hours", "2")
    assert (done.exit_code, text(shop)) == (1, old)
    assert "is one list in brackets; write its entries as lines of their own" in done.output


def test_what_the_terminal_sends_in_another_encoding_is_refused_in_words(shop: Path) -> None:
    done = log(shop, "--date", "2026-04-01", "--hours", "2", "--note", "M\udcfcller")
    assert (done.exit_code, text(shop)) == (1, LOG)
    assert "no UTF-8 text" in done.output


def test_a_service_is_no_doubt_where_the_family_writes_none(shop: Path) -> None:
    family = shop / "families/single.yml"
    family.write_text(FAMILY.replace("services: {oil: {hours: 5}}\n", ""), encoding="utf-8")
    done = log(shop, "--date", "2026-04-01", "--kind", "service", "--did", "oil")
    assert (done.exit_code, done.stderr) == (0, "")
    assert "did: [oil]" in text(shop)
