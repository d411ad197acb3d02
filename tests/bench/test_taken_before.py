"""The same zip again, and a zip whose place is taken: nothing is replaced, and every answer is true of the folder."""

import shutil
from datetime import date
from pathlib import Path

import pytest
from bench.handed import FAMILY, FILES, SHEET, STRIP, git, photo, shop_in, teardown, under_git, zipped

from engine_pages.bench.settling import settle
from engine_pages.bench.taking import take, taken_text
from engine_pages.records.tree import NoTree

TODAY = date(2026, 3, 2)
PATH = f"{STRIP}/teardown.yml"
ZIP = zipped(teardown())
OTHER = zipped(teardown(SHEET.replace("79.9610", "79.9580")))
WRONG = zipped(teardown(SHEET.replace("79.9610", "79,961")))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


@pytest.fixture
def no_git(tmp_path: Path) -> Path:
    for path, text in FILES.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("how", ["deleted", "staged and deleted", "deletion staged"])
def test_a_sheet_that_was_deleted_in_the_folder_alone_is_not_replaced(shop: Path, how: str) -> None:
    for path, content in teardown().items():
        (shop / path).parent.mkdir(parents=True, exist_ok=True)
        (shop / path).write_bytes(content)
    git(shop, "add", "-A")
    if how != "staged and deleted":
        git(shop, "commit", "-qm", "by hand")
    git(shop, "rm", "-rqf", STRIP) if how == "deletion staged" else shutil.rmtree(shop / STRIP)
    taken = take(shop, OTHER, TODAY)
    assert (taken.outcome, taken.in_place) == ("kept in the inbox", False)
    assert "is in git, though deleted in the folder" in taken.difference
    assert "-    measured: {width: 79.9610}" in taken.difference
    assert "79.9580" in (shop / taken.path).read_text(encoding="utf-8")
    assert not (shop / PATH).exists()


def test_another_photo_of_the_same_name_keeps_the_draft_in_the_inbox(shop: Path) -> None:
    (shop / STRIP).mkdir(parents=True)
    (shop / STRIP / "rotor-1-face.jpg").write_bytes(photo(shade=10))
    taken = take(shop, ZIP, TODAY)
    assert taken.outcome == "kept in the inbox"
    assert "another photo has this name already" in str(taken.problems[0])
    assert (shop / STRIP / "rotor-1-face.jpg").read_bytes() == photo(shade=10)
    assert ((shop / taken.path).parent / "rotor-1-face.jpg").read_bytes() == photo()


def test_what_was_taken_in_on_another_branch_or_undone_is_taken_in_here(shop: Path) -> None:
    git(shop, "checkout", "-qb", "a-try")
    take(shop, ZIP, TODAY)
    git(shop, "checkout", "-q", "-")
    assert take(shop, ZIP, TODAY).outcome == "taken in"
    git(shop, "reset", "-q", "--hard", "HEAD~1")
    assert take(shop, ZIP, TODAY).outcome == "taken in"
    assert (shop / PATH).exists()


def test_a_sheet_that_was_removed_since_is_said_to_be_and_its_command_brings_it_back(shop: Path) -> None:
    take(shop, ZIP, TODAY)
    git(shop, "rm", "-rq", STRIP)
    git(shop, "commit", "-qm", "a mistake")
    again = take(shop, ZIP, TODAY)
    assert (again.outcome, again.path, again.in_place) == ("removed since", PATH, False)
    assert f"removed by commit {git(shop, 'rev-parse', '--short', 'HEAD').strip()} of " in again.note
    assert again.note in taken_text(again, "E1.zip")
    command = again.note.partition("git ")[2].split()
    git(shop, *command)
    assert {path: (shop / path).read_bytes() for path in teardown()} == teardown()
    assert take(shop, ZIP, TODAY).outcome == "already there"


def to_day(shop: Path, day: str, was: str = "2026-03-01") -> str:
    """A sheet moved to its right day, and its date corrected; its path there."""
    git(shop, "mv", f"engines/E1/teardowns/{was}", f"engines/E1/teardowns/{day}")
    path = f"engines/E1/teardowns/{day}/teardown.yml"
    (shop / path).write_text((shop / path).read_text(encoding="utf-8").replace(was, day), encoding="utf-8")
    return path


@pytest.mark.parametrize("how", ["committed", "staged", "moved twice", "another came to its old place"])
def test_a_sheet_that_was_moved_to_its_right_day_is_already_there(shop: Path, how: str) -> None:
    take(shop, ZIP, TODAY)
    path = to_day(shop, "2026-02-28")
    if how != "staged":
        git(shop, "commit", "-qam", "the right day")
    if how == "moved twice":
        path = to_day(shop, "2026-02-27", "2026-02-28")
        git(shop, "commit", "-qam", "the right day after all")
    if how == "another came to its old place":
        assert take(shop, OTHER, TODAY).outcome == "taken in"
    again = take(shop, ZIP, TODAY)
    assert (again.outcome, again.path, again.in_place) == ("already there", path, True)
    assert again.note == f"it was moved there from {PATH}"


@pytest.mark.parametrize("by", ["file", "hand"])
def test_a_draft_that_was_settled_under_another_day_is_already_there(shop: Path, by: str) -> None:
    draft = (shop / take(shop, WRONG, TODAY).path).parent
    text = (draft / "sheet.yml").read_text(encoding="utf-8")
    (draft / "sheet.yml").write_text(text.replace("79,961", "79.961").replace("03-01", "02-28"), encoding="utf-8")
    path = "engines/E1/teardowns/2026-02-28/teardown.yml"
    if by == "file":
        named = f"inbox/{draft.name.replace('03-01', '02-28')}"
        draft.rename(shop / named)
        assert settle(shop, named, TODAY).path == path
    else:
        (shop / path).parent.mkdir(parents=True)
        (draft / "sheet.yml").rename(shop / path)
        (draft / "rotor-1-face.jpg").rename((shop / path).parent / "rotor-1-face.jpg")
        shutil.rmtree(draft)
        git(shop, "add", "-A")
        git(shop, "commit", "-qm", "settled")
    again = take(shop, WRONG, TODAY)
    assert (again.outcome, again.path, again.in_place) == ("already there", path, True)


def test_a_sheet_in_whose_place_another_came_is_compared_with_that(shop: Path) -> None:
    take(shop, ZIP, TODAY)
    git(shop, "rm", "-rq", STRIP)
    git(shop, "commit", "-qm", "the wrong one")
    assert take(shop, OTHER, TODAY).outcome == "taken in"
    again = take(shop, ZIP, TODAY)
    assert (again.outcome, "79.9580" in again.difference) == ("kept in the inbox", True)


def test_a_sheet_that_was_taken_in_and_deleted_in_the_folder_is_said_to_be(shop: Path) -> None:
    take(shop, ZIP, TODAY)
    shutil.rmtree(shop / STRIP)
    again = take(shop, ZIP, TODAY)
    assert again.outcome == "removed since"
    assert again.note == f"deleted in the folder, in no commit yet; if that was a mistake: git checkout HEAD -- {STRIP}"


def test_a_draft_that_waits_is_named_where_it_lies_with_its_problems(shop: Path) -> None:
    first = take(shop, WRONG, TODAY)
    again = take(shop, WRONG, TODAY)
    assert (again.outcome, again.in_place) == ("already there", False)
    assert (again.path, again.commit, again.problems) == (first.path, first.commit, first.problems)
    assert again.problems


def test_a_draft_that_waits_is_taken_in_by_the_same_zip_once_nothing_keeps_it_out(shop: Path) -> None:
    (shop / "families/single.yml").write_text(FAMILY.replace("width:", "height:"), encoding="utf-8")
    first = take(shop, ZIP, TODAY)
    assert first.outcome == "kept in the inbox"
    (shop / "families/single.yml").write_text(FAMILY, encoding="utf-8")
    again = take(shop, ZIP, TODAY)
    assert (again.outcome, again.path) == ("taken in", PATH)
    assert not (shop / first.path).parent.exists()
    assert git(shop, "status", "--porcelain").split() == []
    assert take(shop, ZIP, TODAY).path == PATH


def test_a_draft_that_the_builder_is_mending_in_the_inbox_stays_as_he_left_it(shop: Path) -> None:
    draft = shop / take(shop, WRONG, TODAY).path
    draft.write_text("engine: E1 # half mended\n", encoding="utf-8")
    assert take(shop, WRONG, TODAY).outcome == "already there"
    assert draft.read_text(encoding="utf-8") == "engine: E1 # half mended\n"
    assert git(shop, "status", "--porcelain").split() == ["M", draft.relative_to(shop).as_posix()]


def test_a_draft_that_was_settled_is_known_where_it_went(shop: Path) -> None:
    folder = (shop / take(shop, WRONG, TODAY).path).parent
    (shop / STRIP).mkdir(parents=True)
    for path, content in teardown().items():
        (shop / path).write_bytes(content)
    shutil.rmtree(folder)
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "settled")
    again = take(shop, WRONG, TODAY)
    assert (again.outcome, again.path, again.in_place) == ("already there", PATH, True)
    assert "was settled since" in again.note


def test_a_draft_that_was_removed_unmerged_is_said_to_be_and_its_command_brings_it_back(shop: Path) -> None:
    take(shop, ZIP, TODAY)
    waits = take(shop, OTHER, TODAY).path
    git(shop, "rm", "-rq", "inbox")
    git(shop, "commit", "-qm", "not wanted")
    again = take(shop, OTHER, TODAY)
    assert (again.outcome, again.path, again.in_place) == ("removed since", waits, False)
    git(shop, *again.note.partition("git ")[2].split())
    assert "79.9580" in (shop / waits).read_text(encoding="utf-8")


def test_a_draft_whose_taking_was_killed_before_its_commit_is_committed_with_what_is_wrong_now(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("engine_pages.bench.on_disk.commit", killed)
        with pytest.raises(KeyboardInterrupt):
            take(shop, WRONG, TODAY)
    (shop / "families/single.yml").write_text(FAMILY.replace("width:", "height:"), encoding="utf-8")
    git(shop, "commit", "-qam", "another name for it")
    again = take(shop, WRONG, TODAY)
    problems = ((shop / again.path).parent / "problems.txt").read_text(encoding="utf-8")
    assert "width" in problems
    assert problems.splitlines() == [str(problem) for problem in again.problems]
    assert git(shop, "status", "--porcelain") == ""


BLOCK = SHEET + "note: |-\n  # read twice\n  housing:\n"


@pytest.mark.parametrize(
    ("there", "told"),
    [
        (BLOCK.replace("# read twice", "# read once"), ["-  # read once", "+  # read twice"]),
        (BLOCK.replace("  housing:", "  rotor:"), ["-  rotor:", "+  housing:"]),
        (f"# by AB\n\n{BLOCK}", ["they differ in comments and blank lines alone"]),
    ],
)
def test_sheets_differ_in_comments_alone_only_where_they_say_the_same(shop: Path, there: str, told: list[str]) -> None:
    take(shop, zipped(teardown(there)), TODAY)
    lines = take(shop, zipped(teardown(BLOCK)), TODAY).difference.splitlines()
    assert [line for line in lines if line in told] == told
    assert ("they differ in comments and blank lines alone" in lines) == (len(told) == 1)


def test_without_git_the_same_zip_is_known_by_what_lies_there(no_git: Path) -> None:
    assert [take(no_git, ZIP, TODAY).outcome for _ in range(2)] == ["taken in", "already there"]
    assert [take(no_git, OTHER, TODAY).outcome for _ in range(2)] == ["kept in the inbox", "already there"]
    (no_git / PATH).write_text(SHEET.replace("79.9610", "79.9160"), encoding="utf-8")
    again = take(no_git, OTHER, TODAY)
    assert (again.outcome, "79.9160" in again.difference) == ("already there", True)
    assert "79.9160" in ((no_git / again.path).parent / "problems.txt").read_text(encoding="utf-8")


def test_a_sheet_that_was_committed_by_hand_is_named_with_its_commit(shop: Path) -> None:
    for path, content in teardown().items():
        (shop / path).parent.mkdir(parents=True, exist_ok=True)
        (shop / path).write_bytes(content)
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "by hand")
    taken = take(shop, ZIP, TODAY)
    assert (taken.outcome, taken.commit) == ("already there", git(shop, "rev-parse", "--short", "HEAD").strip())


def test_a_shop_in_a_folder_of_its_repository_is_asked_by_its_own_paths(tmp_path: Path) -> None:
    for path, text in FILES.items():
        (tmp_path / "records" / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "records" / path).write_text(text, encoding="utf-8")
    under_git(tmp_path)
    shop = tmp_path / "records"
    assert take(shop, WRONG, TODAY).path == take(shop, WRONG, TODAY).path
    assert [take(shop, ZIP, TODAY).outcome for _ in range(2)] == ["taken in", "already there"]
    shutil.rmtree(shop / STRIP)
    assert take(shop, OTHER, TODAY).outcome == "kept in the inbox"
    git(tmp_path, "commit", "-qam", "removed")
    assert "removed by commit" in take(shop, ZIP, TODAY).note


def test_two_shops_of_one_repository_each_take_the_same_zip_in(tmp_path: Path) -> None:
    for path, text in FILES.items():
        for shop in ("a", "b"):
            (tmp_path / shop / path).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / shop / path).write_text(text, encoding="utf-8")
    under_git(tmp_path)
    for outcome in ("taken in", "already there"):
        assert [take(tmp_path / shop, ZIP, TODAY).outcome for shop in ("a", "b")] == [outcome] * 2
    git(tmp_path, "switch", "-qc", "side", "HEAD~2")  # what came in by a branch and a merge is known too
    (tmp_path / "b/note.txt").write_text("a note", encoding="utf-8")
    git(tmp_path, "add", "b/note.txt")
    git(tmp_path, "commit", "-qm", "a note")
    git(tmp_path, "merge", "-q", "--no-edit", "-")
    assert take(tmp_path / "b", ZIP, TODAY).outcome == "already there"


def test_a_folder_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(NoTree, match="there is no such folder"):
        take(tmp_path / "nowhere", ZIP, TODAY)
    assert not (tmp_path / "nowhere").exists()
