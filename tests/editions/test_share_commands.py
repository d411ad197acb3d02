"""What the commands that share and hand over say: of links that are made or stay live, of what a publishing took
away, of what is in no commit."""

import os
import subprocess
from datetime import date, timedelta
from pathlib import Path

import pytest
from bench.handed import shop_in
from click.testing import CliRunner

from engine_pages.cli import main
from engine_pages.editions.registry import end_link, make_link, renew_link

TODAY = date.today()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


def run(*words: str | Path) -> str:
    done = CliRunner().invoke(main, [*map(str, words)])
    assert done.exit_code == 0, done.output
    return done.output


def test_a_sale_names_the_links_that_it_leaves_live_and_what_is_not_written_by_it(shop: Path) -> None:
    make_link(shop, "E1", "owner", TODAY, None, None)
    buyer = make_link(shop, "E1", "buyer", TODAY, None, "Dealer").token
    tag = make_link(shop, "E1", "tag", TODAY, None, None).token
    gone = make_link(shop, "E1", "buyer", TODAY, None, "Who looked first")
    end_link(shop, gone.token, TODAY)
    said = run("sold", "E1", "--to", "New Owner", "--records", shop)
    assert [line.split(",")[0] for line in said.splitlines() if line.startswith("withdrawn")] == ["withdrawn: owner"]
    assert [line for line in said.splitlines() if line.startswith("still live")] == [
        f"still live: buyer (Dealer), {buyer[:6]}…; to end it: engine-pages share --revoke {buyer[:6]}",
        f"still live: tag, {tag[:6]}…",
    ]
    assert "owners: in engines/E1/engine.yml" in said


def test_publishing_names_a_dead_link_once_when_it_is_taken_away_and_a_renewed_one_by_its_new_address(
    shop: Path, tmp_path: Path
) -> None:
    publish = ("publish", "--records", shop, "--to", tmp_path / "public")
    never = make_link(shop, "E1", "buyer", TODAY, None, "Never opened").token
    end_link(shop, never, TODAY)
    plate = make_link(shop, "E1", "tag", TODAY, None, None).token
    dealer = make_link(shop, "E1", "tag", TODAY, None, "Dealer").token
    assert "Never opened" not in run(*publish)
    end_link(shop, dealer, TODAY)
    new = renew_link(shop, plate, TODAY).token
    (shop / "parts").mkdir(exist_ok=True)
    (shop / "parts/Z.yml").write_text("serial: Z\nkind: gear\n", encoding="utf-8")
    said = run(*publish).splitlines()
    assert "1 file changed since that commit, and not in it: parts/Z.yml; commit, then publish again" in said
    assert f"E1, tag (Dealer), {dealer[:6]}…: withdrawn on {TODAY}" in said
    assert f"E1, tag, {new[:6]}…: the same pages, at this address now" in said
    assert [line for line in run(*publish).splitlines() if line.startswith("E1, ")] == []


@pytest.mark.parametrize(
    "words",
    [
        ["bundle", "E1", "--edition", "owner", "--to", "E1.zip"],
        ["lock", "E1", "--edition", "owner", "--to", "E1.html"],
        ["export", "--engine", "E1", "--edition", "owner", "--to", "E1"],
    ],
)
def test_what_is_made_of_the_last_commit_names_what_is_not_in_it(shop: Path, tmp_path: Path, words: list[str]) -> None:
    asked = (*words[:-1], tmp_path / words[-1], "--records", shop)
    assert "not in it" not in run(*asked)
    (shop / "codes.md").write_text("beside the records\n", encoding="utf-8")
    (shop / "parts").mkdir(exist_ok=True)
    for name in ("A", "B", "C", "D"):
        (shop / f"parts/{name}.yml").write_text(f"serial: {name}\nkind: gear\n", encoding="utf-8")
    changed = "4 files changed since the last commit, and not in it: parts/A.yml, parts/B.yml, parts/C.yml and 1 more\n"
    assert changed in run(*asked)


def test_a_link_is_listed_with_its_address_and_its_last_day_and_shown_again_with_its_code(
    shop: Path, tmp_path: Path
) -> None:
    codes = tmp_path / "codes"
    end = TODAY + timedelta(days=30)
    said = run("share", "E1", "--edition", "buyer", "--until", end, "--records", shop, "--codes", codes)
    token = said.split("/")[1]
    assert f"engine-pages share --show {token[:6]}" in said
    assert not codes.exists()
    file = shop / "shop.yml"
    file.write_text(file.read_text(encoding="utf-8") + "site: https://history.example\n", encoding="utf-8")
    address = f"https://history.example/s/{token}/"
    assert f"{address}  live until {end}" in run("share", "--list", "--records", shop)
    assert run("share", "--show", token[:6], "--records", shop, "--codes", codes).splitlines()[0] == address
    assert sorted(path.suffix for path in codes.iterdir()) == [".png", ".svg"]
    end_link(shop, token, TODAY)
    refused = CliRunner().invoke(main, ["share", "--show", token[:6], "--records", str(shop)])
    assert (refused.exit_code, "withdrawn on" in refused.output) == (1, True)


def test_codes_that_open_nothing_any_more_are_named_beside_the_live_ones(shop: Path, tmp_path: Path) -> None:
    codes = tmp_path / "codes"
    file = shop / "shop.yml"
    file.write_text(file.read_text(encoding="utf-8") + "site: https://history.example\n", encoding="utf-8")
    given = ("--records", shop, "--codes", codes)
    old = run("share", "E1", "--edition", "tag", *given).split("/")[4]
    (codes / "a-plate-of-another-make.svg").write_text("<svg/>", encoding="utf-8")
    said = run("share", "--renew", old[:6], *given)
    new = said.split("/")[4]
    assert "the old address opens nothing" in said
    assert said.splitlines()[-1].endswith(f"to be thrown away: E1-tag-{old[:6]} in {codes}")
    both = ", ".join(sorted(f"E1-tag-{token[:6]}" for token in (old, new)))
    assert f"thrown away: {both} in {codes}" in run("share", "--revoke", new[:6], *given)


def test_a_link_is_withdrawn_once(shop: Path) -> None:
    token = make_link(shop, "E1", "owner", TODAY, None, None).token
    end_link(shop, token, TODAY)
    again = CliRunner().invoke(main, ["share", "--revoke", token[:6], "--records", str(shop)])
    assert (again.exit_code, f"withdrawn on {TODAY} already" in again.output) == (1, True)


def test_a_link_whose_last_day_two_commits_vouch_for_is_not_renewed(shop: Path) -> None:
    end = TODAY + timedelta(days=3)
    token = make_link(shop, "E1", "buyer", TODAY, end, None).token
    for days in (5, 6):
        when = f"{TODAY + timedelta(days=days)}T10:00:00+0000"
        dated = {**os.environ, "GIT_COMMITTER_DATE": when, "GIT_AUTHOR_DATE": when}
        command = [
            "git",
            "-c",
            "user.name=B",
            "-c",
            "user.email=b@x.example",
            "commit",
            "-q",
            "--allow-empty",
            "-m",
            "x",
        ]
        subprocess.run(command, cwd=shop, env=dated, check=True)
    refused = CliRunner().invoke(main, ["share", "--renew", token[:6], "--records", str(shop)])
    assert (refused.exit_code, f"ended on {end}" in refused.output) == (1, True)
