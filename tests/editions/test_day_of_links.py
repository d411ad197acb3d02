"""Links live and end by a day that no single wrong clock can move."""

from datetime import date
from pathlib import Path

import pytest
from bench.handed import git
from click.testing import CliRunner

from engine_pages.cli import main
from engine_pages.editions.day_of_links import DayOfLinks, day_of_links
from engine_pages.records.git import repository_of

TODAY = date(2026, 11, 25)
LINK = "a" * 32


def reckoned(folder: Path, *days: str) -> DayOfLinks:
    """The day in a shop with a commit on each of these days, one after the other."""
    git(folder, "init", "-q", "--initial-branch", "main")
    for day in days:
        env = ["-c", "user.name=A", "-c", "user.email=a@x.example"]
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("GIT_COMMITTER_DATE", f"{day}T10:00:00+0000")
            git(folder, *env, "commit", "-q", "--allow-empty", "-m", day)
    return day_of_links(repository_of(folder), TODAY)


def test_one_commit_from_a_clock_set_ahead_does_not_move_the_day_and_is_named(tmp_path: Path) -> None:
    found = reckoned(tmp_path, "2026-11-01", "2026-11-20", "2036-01-01")
    assert (found.day, found.ahead) == (TODAY, (git(tmp_path, "rev-parse", "HEAD").strip(), date(2036, 1, 1)))


def test_not_even_where_it_is_one_of_two(tmp_path: Path) -> None:
    assert reckoned(tmp_path, "2026-11-01", "2036-01-01").day == TODAY


def test_two_of_the_last_three_commits_vouch_for_a_day_that_the_clock_has_not_reached(tmp_path: Path) -> None:
    assert reckoned(tmp_path, "2026-11-20", "2027-01-02", "2027-01-03").day == date(2027, 1, 2)


def test_two_later_commits_from_a_right_clock_put_a_wrong_day_right(tmp_path: Path) -> None:
    found = reckoned(tmp_path, "2036-01-01", "2036-01-01", "2026-11-24", "2026-11-25")
    assert found.day == TODAY


def test_a_commit_from_where_the_sun_rises_earlier_is_not_named(tmp_path: Path) -> None:
    assert reckoned(tmp_path, "2026-11-26").ahead is None


def test_before_the_first_commit_and_without_a_repository_it_is_the_clock_s(tmp_path: Path) -> None:
    assert day_of_links(None, TODAY) == reckoned(tmp_path) == DayOfLinks(TODAY, None)


def test_the_list_of_links_reckons_as_publishing_does_and_names_the_commit(tmp_path: Path) -> None:
    (tmp_path / "shop.yml").write_text("name: A shop\n")
    (tmp_path / "shares.yml").write_text(
        f"shares:\n- {{engine: E1, edition: owner, token: {LINK}, made: 2026-11-01, until: 2090-12-31}}\n"
    )
    reckoned(tmp_path, "2026-11-01", "2026-11-20", "2091-01-01")
    said = CliRunner().invoke(main, ["share", "--list", "--records", str(tmp_path)]).output
    assert f"s/{LINK}/  live until 2090-12-31" in said
    assert "is dated 2091-01-01, ahead of this machine's clock; links are reckoned by" in said
    reckoned(tmp_path, "2091-01-02")
    assert f"s/{LINK}/  ended on 2090-12-31" in CliRunner().invoke(
        main, ["share", "--list", "--records", str(tmp_path)]
    ).output  # fmt: skip
