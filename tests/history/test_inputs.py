"""As of and commit belong to an engine: the last commit that touched what its figures follow from."""

import os
import subprocess
from datetime import date
from pathlib import Path

import pytest

from engine_pages.history.story import EngineStory, ShopStory
from engine_pages.history.tell import tell_shop
from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Commit, Folder

from .shop_for_tests import TODAY, engine

FILES = {
    "shop.yml": "name: A shop\n",
    "families/single.yml": (
        "family: single\narchitecture: rotary\nexposure: hours\npositions: {bearing: bearing}\n"
        "kinds: {bearing: {dimensions: {inside: {unit: mm}}}}\n"
    ),
    "parts/B-1.yml": "serial: B-1\nkind: bearing\norigin: new\n",
    "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
    "engines/E1/builds/2026-01-01.yml": "engine: E1\ndate: 2026-01-01\npositions: {bearing: {part: B-1}}\n",
    "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 2}\n",
    "engines/E12/engine.yml": "engine: E12\nfamily: single\n",
    "engines/E12/builds/2026-01-01.yml": "engine: E12\ndate: 2026-01-01\npositions: {bearing: {part: B-2}}\n",
    "engines/E12/log.yml": "- {date: 2026-02-01, kind: run, hours: 3}\n",
}


class Shop:
    """A shop under git in a test's own folder."""

    def __init__(self, top: Path) -> None:
        self.top = top
        top.mkdir()
        self.git("init", "-q", "-b", "main")
        self.commits = [self.commit(FILES, "2026-03-01")]

    def git(self, *arguments: str, on: str = "2026-01-01") -> str:
        person = {f"GIT_{role}_{what}": "bench" for role in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
        dates = {f"GIT_{role}_DATE": f"{on}T12:00:00+0000" for role in ("AUTHOR", "COMMITTER")}
        done = subprocess.run(
            ["git", "-C", str(self.top), *arguments],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, **person, **dates},
        )
        return done.stdout.strip()

    def write(self, files: dict[str, str]) -> None:
        for path, text in files.items():
            (self.top / path).parent.mkdir(parents=True, exist_ok=True)
            (self.top / path).write_text(text, encoding="utf-8")

    def commit(self, files: dict[str, str], on: str) -> str:
        self.write(files)
        self.git("add", "-A")
        self.git("commit", "-q", "-m", "not read", on=on)
        return self.git("rev-parse", "HEAD")

    def told(self, day: date | None = None, at: str | None = None) -> ShopStory:
        tree = Commit(self.top, at) if at else Folder(self.top)
        return tell_shop(read_checked(tree, TODAY, repository_of(self.top)), day)

    def told_engine(self, name: str = "E1") -> EngineStory:
        return engine(self.told(), name)


@pytest.fixture
def shop(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Shop:
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
    return Shop(tmp_path / "shop")


def test_the_day_and_the_commit_are_those_of_the_last_commit(shop: Shop) -> None:
    one = shop.told_engine()
    assert (one.as_of, one.commit, one.uncommitted) == (date(2026, 3, 1), shop.commits[0], ())


@pytest.mark.parametrize(
    "path", ["shop.yml", "families/single.yml", "parts/B-1.yml", "engines/E1/log.yml", "engines/E1/engine.yml"]
)
def test_every_input_moves_them(shop: Shop, path: str) -> None:
    last = shop.commit({path: FILES[path] + "# looked over\n"}, "2026-04-01")
    assert (shop.told_engine().as_of, shop.told_engine().commit) == (date(2026, 4, 1), last)


@pytest.mark.parametrize("path", ["engines/E12/log.yml", "notes/a.md", "engines/E12/engine.yml"])
def test_what_is_no_input_does_not(shop: Shop, path: str) -> None:
    shop.commit({path: FILES.get(path, "") + "# looked over\n"}, "2026-04-01")
    assert shop.told_engine().commit == shop.commits[0]


def test_the_log_of_another_engine_is_an_input_once_a_part_has_been_there(shop: Shop) -> None:
    moved = {
        "engines/E1/teardowns/2026-05-01/teardown.yml": (
            "engine: E1\ndate: 2026-05-01\npositions: {bearing: {part: B-1, decision: reuse}}\n"
        ),
        "engines/E12/teardowns/2026-05-01/teardown.yml": (
            "engine: E12\ndate: 2026-05-01\npositions: {bearing: {part: B-2, decision: replace}}\n"
        ),
        "engines/E12/builds/2026-05-02.yml": "engine: E12\ndate: 2026-05-02\npositions: {bearing: {part: B-1}}\n",
    }
    shop.commit(moved, "2026-05-03")
    last = shop.commit({"engines/E12/log.yml": FILES["engines/E12/log.yml"] + "# checked\n"}, "2026-06-01")
    assert shop.told_engine().commit == last


def test_what_was_taken_away_counts_too(shop: Shop) -> None:
    (shop.top / "engines/E1/log.yml").unlink()
    assert shop.told_engine().uncommitted == ("engines/E1/log.yml",)
    last = shop.commit({}, "2026-04-01")
    assert (shop.told_engine().commit, shop.told_engine().total.hours) == (last, 0.0)


def test_an_edit_that_is_not_committed_is_named_and_its_day_counts(shop: Shop) -> None:
    shop.write({"engines/E1/log.yml": FILES["engines/E1/log.yml"] + "- {date: 2026-03-20, kind: run, hours: 1}\n"})
    one = shop.told_engine()
    assert (one.as_of, one.commit, one.uncommitted) == (date(2026, 3, 20), shop.commits[0], ("engines/E1/log.yml",))
    assert shop.told_engine("E12").uncommitted == ()


def test_a_tree_at_a_commit_is_told_as_of_that_commit(shop: Shop) -> None:
    shop.commit(
        {"engines/E1/log.yml": FILES["engines/E1/log.yml"] + "- {date: 2026-04-01, kind: run, hours: 9}\n"},
        "2026-04-02",
    )
    early = engine(shop.told(at=shop.commits[0]))
    assert (early.as_of, early.commit, early.total.hours) == (date(2026, 3, 1), shop.commits[0], 2.0)


def test_a_day_that_is_asked_for_stands_in_the_place_of_its_own(shop: Shop) -> None:
    one = engine(shop.told(date(2026, 1, 15)))
    assert (one.as_of, one.commit, one.total.hours) == (date(2026, 1, 15), shop.commits[0], 0.0)


def test_without_git_the_last_recorded_day_serves(tmp_path: Path) -> None:
    for path, text in FILES.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    one = engine(tell_shop(read_checked(Folder(tmp_path), TODAY)))
    assert (one.as_of, one.commit) == (date(2026, 2, 1), None)


def test_each_sheet_has_its_own_commit(shop: Shop) -> None:
    path = "engines/E1/builds/2026-01-01.yml"
    last = shop.commit({path: FILES[path] + "note: seen again\n"}, "2026-04-01")
    (sheet,) = shop.told_engine().sheets
    assert (sheet.commit, sheet.committed, sheet.uncommitted) == (last, date(2026, 4, 1), False)
