"""What is taken in or filed is committed where it stays, or not written at all; what else is staged is left alone."""

from datetime import date
from pathlib import Path

import pytest
from bench.handed import SHEET, STRIP, git, named, photo, shop_in, teardown, zipped

from engine_pages.bench.filing import file_in
from engine_pages.bench.log_line import add_line
from engine_pages.bench.taking import take
from engine_pages.editions.links import LinkError
from engine_pages.editions.registry import make_link
from engine_pages.records.git import GitFailed, run_git

TODAY = date(2026, 3, 2)
BAD = zipped(teardown(SHEET.replace("79.9610", "79,9610")))
BUILD = "engines/E1/builds/2026-01-01.yml"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shop = shop_in(tmp_path / "shop")
    git(shop, "branch", "-m", "main")
    return shop


def everything(shop: Path) -> dict[str, bytes]:
    """Every file of the shop but git's own."""
    files = (path for path in shop.rglob("*") if path.is_file() and ".git" not in path.parts)
    return {str(path.relative_to(shop)): path.read_bytes() for path in files}


def saved(shop: Path, path: str, text: str) -> None:
    (shop / path).write_text(text, encoding="utf-8")


def two_sides(shop: Path) -> None:
    """A side branch that changes the engine and its build, and main that changes the build too."""
    git(shop, "switch", "-qc", "side")
    saved(shop, "engines/E1/engine.yml", "engine: E1\nfamily: single\nname: from the side\n")
    saved(shop, BUILD, "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: {part: R-2}}\n")
    git(shop, "commit", "-qam", "the side")
    git(shop, "switch", "-q", "main")
    saved(shop, BUILD, "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: {part: R-3}}\n")
    git(shop, "commit", "-qam", "the main one")


def refused(shop: Path, words: str) -> None:
    """Neither a zip nor a filed record gets in, and nothing has changed."""
    before, staged, head = everything(shop), git(shop, "status", "--porcelain"), git(shop, "rev-parse", "HEAD")
    with pytest.raises(GitFailed, match=words):
        take(shop, zipped(teardown()), TODAY)
    with pytest.raises(GitFailed, match=words):
        file_in(shop, [shop / "shop.yml"], TODAY)
    assert (everything(shop), git(shop, "status", "--porcelain"), git(shop, "rev-parse", "HEAD")) == (
        before, staged, head
    )  # fmt: skip


def test_where_no_branch_is_checked_out_nothing_is_taken_in(shop: Path) -> None:
    git(shop, "switch", "-q", "--detach")
    saved(shop, "shop.yml", "name: Barn\n")
    refused(shop, "no branch is checked out .* nothing was written")
    git(shop, "switch", "-q", "main")
    assert take(shop, zipped(teardown()), TODAY).outcome == "taken in"


@pytest.mark.parametrize("what", ["merge", "rebase", "cherry-pick"])
def test_while_git_waits_for_a_conflict_to_be_settled_nothing_is_taken_in(shop: Path, what: str) -> None:
    two_sides(shop)
    with pytest.raises(Exception, match="returned non-zero exit status"):
        git(shop, what, "side")
    refused(shop, f"a {what} is under way .* end it first")


def test_while_patches_are_applied_the_advice_is_one_that_git_takes(shop: Path) -> None:
    two_sides(shop)
    (shop.parent / "side.patch").write_text(git(shop, "format-patch", "-1", "--stdout", "side"), encoding="utf-8")
    with pytest.raises(Exception, match="returned non-zero exit status"):
        git(shop, "am", str(shop.parent / "side.patch"))
    refused(shop, r"a git am is under way .* end it first \(git am --continue, or git am --abort\)")
    git(shop, "am", "--abort")
    assert take(shop, zipped(teardown()), TODAY).commit is not None


def test_a_log_line_needs_no_commit_and_is_written_where_no_branch_is_checked_out(shop: Path) -> None:
    git(shop, "switch", "-q", "--detach")
    assert add_line(shop, "E1", date(2026, 2, 1), {"kind": "run", "hours": "2"}).number == 1


def test_the_first_commit_of_a_shop_needs_no_commit_before_it(shop: Path) -> None:
    git(shop, "update-ref", "-d", "HEAD")
    assert take(shop, zipped(teardown()), TODAY).commit is not None
    assert (shop / STRIP / "teardown.yml").is_file()


def test_what_a_merge_has_staged_stays_staged_though_filing_is_refused(shop: Path) -> None:
    two_sides(shop)
    with pytest.raises(Exception, match="returned non-zero exit status"):
        git(shop, "merge", "side")
    saved(shop, BUILD, "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: {part: R-4}}\n")
    for path in (BUILD, "engines/E1/engine.yml"):
        with pytest.raises(GitFailed, match="a merge is under way"):
            file_in(shop, [shop / path], TODAY)
    git(shop, "add", BUILD)
    git(shop, "commit", "-qm", "merged")
    assert "from the side" in git(shop, "show", "HEAD:engines/E1/engine.yml")
    assert git(shop, "status", "--porcelain") == ""


def test_a_commit_that_fails_leaves_what_was_staged_as_it_was(shop: Path) -> None:
    git(shop, "config", "commit.gpgSign", "true")
    git(shop, "config", "gpg.program", "no-such-program")
    saved(shop, "shop.yml", "name: Barn\n")
    saved(shop, "families/new.yml", (shop / "families/single.yml").read_text(encoding="utf-8").replace("single", "new"))
    git(shop, "add", "shop.yml", "families/new.yml")
    saved(shop, "shop.yml", "name: Yard\n")
    saved(shop, "engines/E1/log.yml", "- {date: 2026-02-01, kind: run, hours: 2}\n")
    before = git(shop, "status", "--porcelain")
    assert before == "A  families/new.yml\nMM shop.yml\n?? engines/E1/log.yml\n"
    paths = [shop / path for path in ("shop.yml", "families/new.yml", "engines/E1/log.yml")]
    with pytest.raises(GitFailed, match="could not sign"):
        file_in(shop, paths, TODAY)
    assert git(shop, "status", "--porcelain") == before
    assert git(shop, "show", ":shop.yml") == "name: Barn\n"
    git(shop, "config", "commit.gpgSign", "false")
    file_in(shop, paths, TODAY)
    assert git(shop, "show", "HEAD:shop.yml") == "name: Yard\n"
    assert git(shop, "status", "--porcelain") == ""


def test_where_the_repository_is_another_users_nothing_is_taken_in(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = everything(shop)
    with monkeypatch.context() as patched:
        patched.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")  # git's own tests make such a repository of any
        patched.setenv("GIT_CONFIG_GLOBAL", "/dev/null")
        patched.setenv("GIT_CONFIG_NOSYSTEM", "1")
        with pytest.raises(GitFailed, match="belongs to another user; git reads it once it is named under safe"):
            take(shop, zipped(teardown()), TODAY)
    assert everything(shop) == before
    assert take(shop, zipped(teardown()), TODAY).commit is not None


def test_where_git_cannot_read_its_own_files_nothing_is_taken_in(shop: Path) -> None:
    (shop / ".git/HEAD").write_bytes(b"")  # as a power cut may leave it
    before = everything(shop)
    with pytest.raises(GitFailed, match="nothing could be committed"):
        take(shop, zipped(teardown()), TODAY)
    assert everything(shop) == before


@pytest.mark.parametrize("lock", ["index.lock", "refs/heads/main.lock"])
def test_a_lock_that_a_power_cut_has_left_is_named_with_what_to_do(shop: Path, lock: str) -> None:
    (shop / ".git" / lock).write_bytes(b"")
    before = everything(shop)
    with pytest.raises(GitFailed, match=rf"where none runs any more, remove \S+/{lock} and run this again"):
        take(shop, zipped(teardown()), TODAY)
    assert everything(shop) == before
    (shop / ".git" / lock).unlink()
    assert take(shop, zipped(teardown()), TODAY).outcome == "taken in"


@pytest.mark.parametrize("ends", ["true", "input"])
def test_where_git_is_strict_about_line_ends_sheets_come_in_all_the_same(shop: Path, ends: str) -> None:
    git(shop, "config", "core.autocrlf", ends)
    git(shop, "config", "core.safecrlf", "true")
    sheet = SHEET.replace("\n", "\r\n") if ends == "input" else SHEET
    assert take(shop, zipped(teardown(sheet)), TODAY).commit is not None
    saved(shop, "engines/E1/log.yml", "- {date: 2026-02-01, kind: run, hours: 2}\n")
    assert file_in(shop, [shop / "engines/E1/log.yml"], TODAY).commit is not None
    saved(shop, "engines/E1/log.yml", "- {date: 2026-02-01, kind: run, hours: 3}\n")
    assert file_in(shop, [shop / "engines/E1/log.yml"], TODAY).commit is not None
    assert (shop / STRIP / "teardown.yml").read_bytes().decode() == sheet


@pytest.fixture
def crlf(shop: Path, tmp_path: Path) -> Path:
    """A clone whose text files have Windows line ends, with a draft that waits."""
    take(shop, BAD, TODAY)
    git(tmp_path, "clone", "-q", "-c", "core.autocrlf=true", str(shop), "clone")
    return named(tmp_path / "clone")


def test_a_draft_that_waits_in_a_clone_with_windows_line_ends_is_known_again(crlf: Path) -> None:
    head = git(crlf, "rev-parse", "HEAD")
    assert take(crlf, BAD, TODAY).outcome == "already there"
    assert git(crlf, "rev-parse", "HEAD") == head


def test_a_record_that_was_saved_with_other_line_ends_alone_is_nothing_new(crlf: Path) -> None:
    (crlf / BUILD).write_bytes((crlf / BUILD).read_bytes().replace(b"\r\n", b"\n"))
    assert file_in(crlf, [crlf / BUILD], TODAY).commit is None
    (crlf / BUILD).write_bytes((crlf / BUILD).read_bytes().replace(b"R-1", b"R-2"))
    assert file_in(crlf, [crlf / BUILD], TODAY).commit is not None


def test_what_git_says_of_a_failure_is_told_though_it_says_it_on_its_other_output(shop: Path) -> None:
    with pytest.raises(GitFailed, match="nothing to commit, working tree clean"):
        run_git(shop, "commit", "-m", "nothing")


def test_words_for_the_commit_in_another_encoding_are_refused_before_anything_is_written(shop: Path) -> None:
    (shop / STRIP).mkdir(parents=True)
    (shop.parent / "IMG_1.JPG").write_bytes(photo())
    saved(shop, f"{STRIP}/teardown.yml", SHEET.replace("rotor-1-face.jpg", "IMG_1.JPG"))
    before = everything(shop)
    paths = [shop / STRIP / "teardown.yml", shop.parent / "IMG_1.JPG"]
    with pytest.raises(GitFailed, match="is no UTF-8 text"):
        file_in(shop, paths, TODAY, "M\udcfcller's engine")
    with pytest.raises(LinkError, match="is no UTF-8 text"):
        make_link(shop, "E1", "owner", TODAY, None, "for M\udcfcller")
    assert everything(shop) == before
    assert git(shop, "rev-list", "--count", "HEAD").strip() == "1"
