"""What the commands do where their output cannot be written, as a shell calls them."""

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest
from bench.handed import git, shop_in

DEMO = Path(__file__).parents[2] / "records"
RUN = "from engine_pages.cli import main; main(prog_name='engine-pages')"
COMMAND = [sys.executable, "-c", RUN]
# A full disk on any POSIX system: no file may grow.
NO_ROOM = [sys.executable, "-c", f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0)); {RUN}"]
PRINTING = [["figures", "K-07"], ["check"]]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop with more doubts than a pipe holds (64 KiB), and more figures."""
    names = [f"pump-{one}{other}" for one in "abcdefghij" for other in "abcdefghij"]
    files = {
        "families/single.yml": "family: single\narchitecture: piston\nexposure: hours\nkinds: {pump: }\npositions:\n"
        + "".join(f"  {name}: pump\n" for name in names),
        "engines/K-07/engine.yml": "engine: K-07\nfamily: single\n",
        "engines/K-07/builds/2026-01-01.yml": "engine: K-07\ndate: 2026-01-01\npositions:\n"
        + "".join(f"  {name}: {{part: {name}}}\n" for name in names),
        "engines/K-07/log.yml": "- {date: 2026-02-01, kind: run}\n" * 900,
    }
    for path, text in files.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("command", [*PRINTING, ["season", "K-07"], ["compare", "--fluid", "oil"]])
def test_output_that_cannot_be_written_is_named_in_one_line(tmp_path: Path, command: list[str]) -> None:
    with (tmp_path / "out").open("w", encoding="utf-8") as out:
        asked = [*NO_ROOM, *command, "--records", str(DEMO)]
        done = subprocess.run(asked, stdout=out, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr == f"Error: the output could not be written: {os.strerror(errno.EFBIG)}\n"


@pytest.mark.parametrize("command", PRINTING)
def test_who_closes_the_pipe_has_read_enough(shop: Path, command: list[str]) -> None:
    asked = [*COMMAND, *command, "--records", str(shop)]
    with subprocess.Popen(asked, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        assert running.stdout.readline() != ""
        running.stdout.close()
        said = running.stderr.read()
    assert said == ""


@pytest.mark.parametrize(
    ("command", "undone"),
    [
        (["figures", "K-07"], "nothing was reckoned"),
        (["season", "K-07"], "nothing was reckoned"),
        (["compare", "--fluid", "oil"], "nothing was reckoned"),
        (["sheet", "teardown", "K-07"], "no sheet was written"),
        (["site", "--to", "out"], "nothing was published"),
    ],
)
def test_a_command_that_stops_on_errors_says_what_it_did_not_do(shop: Path, command: list[str], undone: str) -> None:
    (shop / "engines/K-07/log.yml").write_text("- {date: 2026-02-01, kind: run, hours: two}\n", encoding="utf-8")
    asked = [*COMMAND, *command, "--records", str(shop)]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.splitlines()[-1] == f"Error: 1 error in the records; {undone}"


def test_publish_names_what_lies_in_the_folder_and_not_in_the_commit(tmp_path: Path) -> None:
    shop = shop_in(tmp_path / "shop")
    engine, build = shop / "engines/E2/engine.yml", shop / "engines/E2/builds/2026-01-01.yml"
    build.parent.mkdir(parents=True)
    engine.write_text("engine: E2\nfamily: single\n", encoding="utf-8")
    build.write_text("engine: E2\ndate: 2026-01-01\npositions: {rotor-1: {part: R-2}}\n", encoding="utf-8")
    git(shop, "add", str(build))
    git(shop, "commit", "-qm", "the build alone")
    asked = [*COMMAND, "publish", "--to", str(tmp_path / "public"), "--records", str(shop)]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "engine E2 has no engine.yml" in done.stderr
    assert "1 error in the records; nothing was published" in done.stderr
    note = "changed since, and not in the commit: engines/E2/engine.yml; engine-pages file commits them"
    assert done.stderr.splitlines()[-1].endswith(note)
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "all of it")
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
