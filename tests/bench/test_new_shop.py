"""A new shop works at once; its workflows publish what is shared and nothing else."""

import json
import re
import shlex
import subprocess
import sys
from datetime import date
from importlib.metadata import version
from pathlib import Path

import pytest
import yaml
from bench.handed import git, named
from click.testing import CliRunner

from engine_pages.bench.new_shop import PLACES, NotEmptyError, start
from engine_pages.cli import main
from engine_pages.demo.commits import demo_commits, import_stream
from engine_pages.records.checks.all import read_checked
from engine_pages.records.schemas import KINDS, file_name
from engine_pages.records.tree import Folder

DEMO = Path(__file__).parents[2] / "records"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    start(tmp_path / "shop")
    return named(tmp_path / "shop")


def run(*words: str) -> int:
    return CliRunner().invoke(main, list(words)).exit_code


def test_an_empty_shop_checks_and_takes_its_first_engine(shop: Path) -> None:
    assert run("check", "--records", str(shop)) == 0
    (shop / "engines/E-01").mkdir(parents=True)
    (shop / "engines/E-01/engine.yml").write_text("engine: E-01\nfamily: two-rotor\n", encoding="utf-8")
    assert run("sheet", "build", "E-01", "--records", str(shop), "--date", "2026-03-01") == 0
    checked = read_checked(Folder(shop), date(2026, 3, 2))
    assert [str(one) for one in checked.problems if one.level == "error"] == []


@pytest.mark.parametrize("architecture", ["rotary", "piston"])
def test_there_is_a_family_of_each_architecture_and_it_holds_no_limit(shop: Path, architecture: str) -> None:
    checked = read_checked(Folder(shop), date(2026, 3, 2))
    (family,) = (one.it for one in checked.families() if one.it.architecture == architecture)
    dimensions = [one for kind in family.kinds.values() for one in (kind.dimensions or {}).values()]
    assert dimensions
    assert all(one.limit is None and one.new is None for one in dimensions)
    assert [str(one) for one in checked.problems if one.level == "error"] == []


@pytest.mark.parametrize("architecture", ["rotary", "piston"])
def test_every_dimension_names_a_gauge_that_the_shop_has(shop: Path, architecture: str) -> None:
    checked = read_checked(Folder(shop), date(2026, 3, 2))
    assert checked.shop.file is not None
    (family,) = (one.it for one in checked.families() if one.it.architecture == architecture)
    named = {one.instrument for kind in family.kinds.values() for one in (kind.dimensions or {}).values()}
    assert named <= set(checked.shop.file.it.instruments or {})
    assert [str(one) for one in checked.problems] == []


def test_a_folder_that_is_not_empty_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(NotEmptyError, match="is not empty"):
        start(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


@pytest.mark.parametrize(("moved", "words"), [(0, "remove it and"), (2, "remove it, and what it put beside that, and")])
def test_what_a_start_that_was_killed_has_left_is_named_with_what_to_do(tmp_path: Path, moved: int, words: str) -> None:
    killed = "\n".join([
        "import os, sys", "from pathlib import Path", "from engine_pages.bench import new_shop",
        "rename, done = os.rename, iter(range(99))",
        f"os.rename = lambda *given: os._exit(9) if next(done) == {moved} else rename(*given)",
        "new_shop.start(Path(sys.argv[1]))",
    ])  # fmt: skip
    ask = [sys.executable, "-c", killed, str(tmp_path / "shop")]
    assert subprocess.run(ask, check=False, cwd=Path(__file__).parents[2]).returncode == 9
    with pytest.raises(NotEmptyError, match=rf"A start that was cut off has left \.new-\S+ there: {words} start again"):
        start(tmp_path / "shop")


def test_the_hook_stops_a_commit_with_an_error_and_lets_a_staged_photo_pass(shop: Path, tmp_path: Path) -> None:
    programs = tmp_path / "bin"
    programs.mkdir()
    command = programs / "engine-pages"
    command.write_text(f"#!/bin/sh\nexec {sys.executable} -c 'from engine_pages.cli import main; main()' \"$@\"\n")
    command.chmod(0o755)
    path = {"PATH": f"{programs}:/usr/bin:/bin", "PYTHONPATH": str(Path(__file__).parents[2]), "HOME": str(tmp_path)}

    def commit() -> subprocess.CompletedProcess[str]:
        words = ["git", "-C", str(shop), "commit", "-qm", "first"]
        return subprocess.run(words, env=path, capture_output=True, text=True, check=False)

    sound = (shop / "shop.yml").read_text(encoding="utf-8")
    (shop / "shop.yml").write_text(f"nmae: Shed\n{sound}", encoding="utf-8")
    git(shop, "add", "-A")
    stopped = commit()
    assert stopped.returncode != 0
    assert "shop.yml:1:1: error: unknown key 'nmae'" in stopped.stdout + stopped.stderr
    (shop / "shop.yml").write_text(sound, encoding="utf-8")
    (shop / "engines/E-01").mkdir(parents=True)
    (shop / "engines/E-01/engine.yml").write_text("engine: E-01\nfamily: two-rotor\npicture: e.jpg\n", encoding="utf-8")
    (shop / "engines/E-01/e.jpg").write_bytes((DEMO / "engines/K-07/k-07.jpg").read_bytes())
    git(shop, "add", "-A")
    passed = commit()
    assert passed.returncode == 0, passed.stdout + passed.stderr
    assert "in no commit and not staged" not in passed.stdout + passed.stderr


@pytest.mark.parametrize("words", [[], ["--demo"]])
def test_a_new_shop_says_how_its_starter_files_are_committed(tmp_path: Path, words: list[str]) -> None:
    shop = tmp_path / "our shop"
    said = CliRunner().invoke(main, ["start", str(shop), *words]).output
    named(shop)
    (command,) = re.findall(r"starter files are staged, to be committed: git (.*)$", said, re.MULTILINE)
    git(shop, "-c", "core.hooksPath=none", *shlex.split(command)[2:])
    assert git(shop, "status", "--porcelain") == ""


def test_filing_in_a_new_shop_says_that_its_starter_files_wait_until_they_are_committed(shop: Path) -> None:
    (shop / "engines/E-01").mkdir(parents=True)
    (shop / "engines/E-01/engine.yml").write_text("engine: E-01\nfamily: two-rotor\n", encoding="utf-8")
    assert run("sheet", "build", "E-01", "--records", str(shop), "--date", "2026-03-01") == 0
    filing = ["file", str(shop / "engines/E-01/builds/2026-03-01.yml"), "--records", str(shop)]
    said = CliRunner().invoke(main, filing).output
    (command,) = re.findall(r"starter files are staged still, and in no commit: git (.*)$", said, re.MULTILINE)
    git(shop, "-c", "core.hooksPath=none", *shlex.split(command)[2:])
    assert git(shop, "status", "--porcelain") == ""
    assert "starter files" not in CliRunner().invoke(main, filing).output


def test_photos_are_binary_and_never_packed_as_differences(shop: Path) -> None:
    asked = git(shop, "check-attr", "text", "diff", "delta", "--", "engines/E/x.jpg")
    assert re.findall(r": (\w+)$", asked, re.MULTILINE) == ["unset", "unset", "unset"]


def test_text_has_the_same_line_ends_on_every_computer(shop: Path) -> None:
    asked = git(shop, "check-attr", "eol", "--", "engines/E/log.yml", "inbox/E/problems.txt")
    assert re.findall(r": (\w+)$", asked, re.MULTILINE) == ["lf", "lf"]


COMMANDS = ["pip install -r requirements.txt", "engine-pages check", "engine-pages publish --records . --to public"]


def test_the_first_workflow_fetches_all_checks_and_uploads_the_public_tree_alone(shop: Path) -> None:
    flow = yaml.safe_load((shop / ".github/workflows/history.yml").read_text(encoding="utf-8"))
    steps = flow["jobs"]["publish"]["steps"]
    assert [step["run"] for step in steps if "run" in step] == COMMANDS
    (checkout,) = (step for step in steps if step.get("uses", "").startswith("actions/checkout"))
    assert checkout["with"] == {"fetch-depth": 0}
    paths = [step["with"]["path"] for step in steps if "path" in step.get("with", {})]
    assert paths == ["public"]
    assert flow["permissions"] == {"contents": "read", "pages": "write", "id-token": "write"}


def test_the_second_workflow_fetches_all_checks_and_uploads_the_public_tree_alone(shop: Path) -> None:
    flow = yaml.safe_load((shop / ".gitlab-ci.yml").read_text(encoding="utf-8"))
    assert flow["variables"] == {"GIT_DEPTH": "0"}
    assert set(flow) == {"image", "variables", "pages"}
    assert flow["pages"]["script"] == COMMANDS
    assert flow["pages"]["artifacts"] == {"paths": ["public"]}


def test_the_workflow_runs_no_program_that_a_public_index_has_under_a_bare_name(shop: Path) -> None:
    lines = (shop / "requirements.txt").read_text(encoding="utf-8").splitlines()
    wanted = [line for line in lines if line and not line.startswith("#")]
    assert wanted == [f"./wheels/engine_pages-{version('engine-pages')}-py3-none-any.whl"]
    (shop / "wheels").mkdir()
    (shop / wanted[0]).write_bytes(b"")
    assert git(shop, "status", "--porcelain", "--untracked-files=all", "wheels").startswith("?? ")  # not ignored


def test_links_end_on_their_day_since_publishing_runs_each_night(shop: Path) -> None:
    flow = yaml.load((shop / ".github/workflows/history.yml").read_text(encoding="utf-8"), yaml.BaseLoader)
    (night,) = flow["on"]["schedule"]
    assert re.fullmatch(r"\d+ \d+ \* \* \*", night["cron"])
    assert "pipeline schedule for each night" in (shop / ".gitlab-ci.yml").read_text(encoding="utf-8")


def test_the_editor_is_told_the_schema_of_every_kind_of_record(shop: Path) -> None:
    tied = json.loads((shop / ".vscode/settings.json").read_text(encoding="utf-8"))["yaml.schemas"]
    assert sorted(tied) == sorted(f"./schemas/{file_name(kind)}" for kind in KINDS)
    assert all((shop / path).is_file() for path in tied)
    assert set(PLACES) == set(KINDS)
    for path in ("shop.yml", "families/two-rotor.yml"):
        first = (shop / path).read_text(encoding="utf-8").splitlines()[0]
        assert (shop / path).parent.joinpath(first.removeprefix("# yaml-language-server: $schema=")).resolve().is_file()


def test_the_demos_shop_has_its_records_and_their_history(tmp_path: Path) -> None:
    start(tmp_path / "demo", demo=True)
    assert git(tmp_path / "demo", "rev-list", "--count", "HEAD").strip() == "82"
    checked = read_checked(Folder(tmp_path / "demo"), date(2026, 11, 25))
    assert [str(one) for one in checked.problems if one.level == "error"] == []
    for path in ("engines/K-07/log.yml", "engines/K-07/teardowns/2024-11-09/teardown.yml", "shop.yml"):
        assert (tmp_path / "demo" / path).read_bytes() == (DEMO / path).read_bytes()


def test_git_passes_over_codes_and_the_public_tree_in_the_demo_as_in_any_shop(tmp_path: Path) -> None:
    for folder, demo in ((tmp_path / "demo", True), (tmp_path / "shop", False)):
        start(folder, demo=demo)
        built = ["codes/K-07-owner.svg", "public/index.html", "site/index.html"]
        assert git(folder, "check-ignore", *built).split() == built
    assert (tmp_path / "demo/.gitignore").read_bytes() == (tmp_path / "shop/.gitignore").read_bytes()


def test_a_correction_of_the_demo_is_a_commit_that_changed_the_figure(tmp_path: Path) -> None:
    start(tmp_path / "demo", demo=True)
    sheet = "engines/K-07/teardowns/2024-11-09/teardown.yml"
    changes = git(tmp_path / "demo", "log", "--format=%as %an", "-p", "-1", "--skip=0", "--", sheet)
    assert "-    measured: {inside_diameter: [60.085, 60.058, 60.059]}" in changes
    assert "+    measured: {inside_diameter: [60.058, 60.058, 60.059]}" in changes
    assert changes.startswith("2024-11-16 Rikke Kalverd")


def test_the_demos_history_is_the_same_each_time() -> None:
    assert import_stream(demo_commits(DEMO), "main") == import_stream(demo_commits(DEMO), "main")
