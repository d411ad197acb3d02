"""Facts from git: real repositories, made here, asked the way the pages ask them."""

import os
import subprocess
from pathlib import Path

import pytest

from engine_pages.records.git import GitFailed, Repo, Touch, repository_of, run_git, why_no_repository


class Bench:
    """A repository under a test's own folder: commits with dates that the test gives."""

    def __init__(self, top: Path) -> None:
        self.top = top
        top.mkdir(parents=True, exist_ok=True)
        self.git("init", "-q", "-b", "main")

    def git(self, *arguments: str, at: str = "2026-01-01T12:00:00+0000") -> str:
        person = {f"GIT_{role}_{what}": "bench" for role in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
        dates = {"GIT_AUTHOR_DATE": at, "GIT_COMMITTER_DATE": at}
        done = subprocess.run(
            ["git", "--literal-pathspecs", "-C", str(self.top), *arguments],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, **person, **dates},
        )
        return done.stdout.strip()

    def write(self, path: str, text: str) -> None:
        (self.top / path).parent.mkdir(parents=True, exist_ok=True)
        (self.top / path).write_text(text)

    def commit(self, files: dict[str, str | None], at: str = "2026-01-01T12:00:00+0000") -> str:
        """Commit these files (None removes one) and give the id."""
        for path, text in files.items():
            if text is None:
                self.git("rm", "-q", "--", path)
            else:
                self.write(path, text)
                self.git("add", "--", path)
        self.git("commit", "-q", "-m", "not read", at=at)
        return self.git("rev-parse", "HEAD")


def asked(root: Path) -> Repo:
    repo = repository_of(root)
    assert repo is not None
    return repo


@pytest.fixture(autouse=True)
def no_configuration_of_this_machine(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "repository")


# ── no git, no repository ────────────────────────────────────────────────────────────────────────────────────────────


def test_a_folder_outside_any_repository_is_a_state(tmp_path: Path) -> None:
    assert repository_of(tmp_path) is None
    assert why_no_repository(tmp_path) == "the folder is in no git repository"


def test_a_folder_that_is_not_there_is_a_state(tmp_path: Path) -> None:
    assert repository_of(tmp_path / "nowhere") is None
    assert why_no_repository(tmp_path / "nowhere") == "there is no such folder"


def test_a_machine_without_git_is_a_state(bench: Bench, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path / "empty"))
    assert repository_of(bench.top) is None
    assert why_no_repository(bench.top) == "git is not installed, or not on the path"


def test_gits_own_folder_is_no_shop(bench: Bench) -> None:
    assert repository_of(bench.top / ".git") is None
    assert why_no_repository(bench.top / ".git") == "the folder lies inside git's own files"


def test_a_repository_has_no_reason_to_be_missing(bench: Bench) -> None:
    assert why_no_repository(bench.top) == ""


def test_what_git_says_is_kept_when_it_fails(bench: Bench) -> None:
    with pytest.raises(GitFailed, match="nosuch"):
        run_git(bench.top, "cat-file", "-t", "nosuch")


def test_a_hooks_view_of_git_does_not_lead_elsewhere(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = Bench(tmp_path / "other")
    other.commit({"elsewhere.yml": "x"})
    bench.commit({"shop.yml": "name: bench"})
    # What git sets for a hook that runs in the other repository.
    monkeypatch.setenv("GIT_DIR", str(other.top / ".git"))
    monkeypatch.setenv("GIT_WORK_TREE", str(other.top))
    monkeypatch.setenv("GIT_INDEX_FILE", str(other.top / ".git" / "index"))
    repo = asked(bench.top)
    assert repo.tracked() == {"shop.yml"}


# ── head and revisions ───────────────────────────────────────────────────────────────────────────────────────────────


def test_before_the_first_commit_there_is_no_head_and_nothing_in_it(bench: Bench) -> None:
    bench.write("shop.yml", "name: bench")
    repo = asked(bench.top)
    assert repo.head() is None
    assert repo.in_commit() == frozenset()
    assert repo.last_touches() == {}
    assert repo.last_touch([""]) is None
    assert repo.changed() == {"shop.yml"}


def test_a_revision_names_a_commit_or_nothing(bench: Bench) -> None:
    first = bench.commit({"shop.yml": "1"})
    bench.git("tag", "-a", "-m", "not read", "v1")
    second = bench.commit({"shop.yml": "2"})
    repo = asked(bench.top)
    assert repo.head() == second
    assert repo.commit("HEAD~1") == repo.commit("v1") == repo.commit(first[:10]) == first


@pytest.mark.parametrize(
    "revision", ["", "nosuch", "HEAD~9", "^HEAD", "HEAD..HEAD", "--all", "-h", "HEAD:shop.yml", "a\0b", "x" * 5000]
)
def test_a_revision_that_names_no_commit_is_none(bench: Bench, revision: str) -> None:
    bench.commit({"shop.yml": "1"})
    repo = asked(bench.top)
    assert repo.commit(revision) is None


# ── last touch ───────────────────────────────────────────────────────────────────────────────────────────────────────


def test_each_path_has_the_commit_that_last_touched_it(bench: Bench) -> None:
    first = bench.commit({"a.yml": "1", "b.yml": "1"}, at="2026-03-01T10:00:00+0100")
    second = bench.commit({"b.yml": "2"}, at="2026-03-02T10:00:00+0100")
    repo = asked(bench.top)
    assert repo.last_touches() == {
        "a.yml": Touch(first, "2026-03-01T10:00:00+01:00", "2026-03-01T10:00:00+01:00", 1),
        "b.yml": Touch(second, "2026-03-02T10:00:00+01:00", "2026-03-02T10:00:00+01:00", 0),
    }


def test_a_leap_day_is_a_date_like_any_other(bench: Bench) -> None:
    # 2024 and 2000 are leap years by the Gregorian rule (divisible by 400, or by 4 and not by 100); 2028 will be.
    for year in ("2000", "2024", "2028"):
        commit = bench.commit({"a.yml": year}, at=f"{year}-02-29T23:59:59+0000")
        repo = asked(bench.top)
        assert repo.last_touch(["a.yml"]) == (commit, f"{year}-02-29")


def test_the_date_is_that_of_the_place_where_the_commit_was_made(bench: Bench) -> None:
    # 2024-02-29 14:00 UTC is already 1 March at UTC+13 and still 29 February at UTC−9:30.
    bench.commit({"east.yml": "1"}, at="2024-03-01T03:00:00+1300")
    bench.commit({"west.yml": "1"}, at="2024-02-29T04:30:00-0930")
    repo = asked(bench.top)
    assert repo.last_touches()["east.yml"].committed == "2024-03-01T03:00:00+13:00"
    assert repo.last_touches()["west.yml"].committed == "2024-02-29T04:30:00-09:30"
    east = repo.last_touch(["east.yml"])
    assert east is not None
    assert east[1] == "2024-03-01"


def test_author_and_commit_date_are_kept_apart(bench: Bench) -> None:
    bench.commit({"a.yml": "1"}, at="2026-03-01T10:00:00+0000")
    bench.git("commit", "-q", "--amend", "--no-edit", "--date=2025-01-01T08:00:00+0000", at="2026-03-05T10:00:00+0000")
    repo = asked(bench.top)
    touch = repo.last_touches()["a.yml"]
    assert (touch.authored[:10], touch.committed[:10]) == ("2025-01-01", "2026-03-05")


def test_a_date_that_no_calendar_holds_is_the_epoch(bench: Bench) -> None:
    bench.write("a.yml", "1")
    bench.git("add", "a.yml")
    tree = bench.git("write-tree")
    raw = f"tree {tree}\nauthor b <b> 99999999999999 +0000\ncommitter b <b> 99999999999999 +0000\n\nnot read\n"
    bench.write("raw", raw)
    commit = bench.git("hash-object", "-t", "commit", "--literally", "-w", str(bench.top / "raw"))
    bench.git("update-ref", "HEAD", commit)
    repo = asked(bench.top)
    assert repo.last_touch(["a.yml"]) == (commit, "1970-01-01")


def test_a_folder_is_touched_by_the_last_commit_inside_it(bench: Bench) -> None:
    bench.commit({"engines/E1/engine.yml": "1", "shop.yml": "1"})
    inside = bench.commit({"engines/E1/log.yml": "1"}, at="2026-02-02T00:00:00+0000")
    bench.commit({"engines/E12/engine.yml": "1"}, at="2026-02-03T00:00:00+0000")
    repo = asked(bench.top)
    # Whole names: E12 is not inside E1.
    assert repo.last_touch(["engines/E1"]) == (inside, "2026-02-02")
    assert repo.last_touch(["engines/E1/", "nowhere"]) == (inside, "2026-02-02")
    assert repo.last_touch(["nowhere"]) is None
    assert repo.last_touch([]) is None


@pytest.mark.parametrize("whole", ["", "."])
def test_the_whole_shop_is_touched_by_the_last_commit(bench: Bench, whole: str) -> None:
    bench.commit({"a.yml": "1"})
    last = bench.commit({"b.yml": "1"})
    repo = asked(bench.top)
    assert repo.last_touch([whole]) == (last, "2026-01-01")


def test_taking_a_file_away_touches_its_folder(bench: Bench) -> None:
    bench.commit({"engines/E1/a.jpg": "1", "engines/E1/engine.yml": "1"})
    gone = bench.commit({"engines/E1/a.jpg": None})
    repo = asked(bench.top)
    assert repo.last_touches()["engines/E1/a.jpg"].commit == gone
    assert repo.last_touch(["engines/E1"]) == (gone, "2026-01-01")


def test_a_later_commit_counts_though_its_clock_was_slow(bench: Bench) -> None:
    bench.commit({"a.yml": "1"}, at="2026-05-01T00:00:00+0000")
    later = bench.commit({"a.yml": "2"}, at="2020-01-01T00:00:00+0000")
    repo = asked(bench.top)
    assert repo.last_touch(["a.yml"]) == (later, "2020-01-01")


def test_a_new_commit_is_seen_by_a_repository_already_asked(bench: Bench) -> None:
    bench.commit({"a.yml": "1"})
    repo = asked(bench.top)
    assert repo.last_touch(["a.yml"]) == (repo.head(), "2026-01-01")
    second = bench.commit({"a.yml": "2"}, at="2026-06-06T00:00:00+0000")
    assert repo.last_touch(["a.yml"]) == (second, "2026-06-06")


def test_names_that_git_would_quote_come_back_whole(bench: Bench) -> None:
    names = ['with "quotes".yml', "with blank.yml", "µ–ß.yml", "with\nnewline.yml", ":colon.yml", "*.yml"]
    commit = bench.commit(dict.fromkeys(names, "1"))
    repo = asked(bench.top)
    assert set(repo.last_touches()) == repo.tracked() == repo.in_commit() == set(names)
    assert repo.last_touch([":colon.yml"]) == (commit, "2026-01-01")


# ── merges ───────────────────────────────────────────────────────────────────────────────────────────────────────────


def merged(bench: Bench, resolution: str) -> dict[str, str]:
    """main and side both edit clash.yml; the merge settles it as given, and edits evil.yml, untouched by either."""
    ids = {"base": bench.commit({"clash.yml": "base", "evil.yml": "base", "still.yml": "base"})}
    bench.git("checkout", "-q", "-b", "side")
    ids["side"] = bench.commit({"clash.yml": "side", "side.yml": "1"}, at="2026-01-03T00:00:00+0000")
    bench.git("checkout", "-q", "main")
    ids["main"] = bench.commit({"clash.yml": "main", "main.yml": "1"}, at="2026-01-02T00:00:00+0000")
    bench.git("merge", "-q", "--no-commit", "--no-ff", "-s", "ours", "side")
    bench.git("checkout", "-q", "side", "--", "side.yml")
    ids["merge"] = bench.commit({"clash.yml": resolution, "evil.yml": "merge"}, at="2026-01-04T00:00:00+0000")
    return ids


@pytest.mark.parametrize(
    ("resolution", "credited"), [("both", "merge"), ("side", "side"), ("main", "main")], ids=["both", "side", "main"]
)
def test_a_merge_counts_for_what_was_edited_in_it_and_no_more(bench: Bench, resolution: str, credited: str) -> None:
    ids = merged(bench, resolution)
    repo = asked(bench.top)
    touched = {path: touch.commit for path, touch in repo.last_touches().items()}
    assert touched == {
        "clash.yml": ids[credited],
        "evil.yml": ids["merge"],
        "main.yml": ids["main"],
        "side.yml": ids["side"],
        "still.yml": ids["base"],
    }


@pytest.mark.parametrize("resolution", ["both", "side", "main"])
def test_one_pass_over_merges_against_git_log_for_each_path(bench: Bench, resolution: str) -> None:
    """The reference is git's own answer for one path at a time: `git log -1 -- path`."""
    merged(bench, resolution)
    bench.commit({"side.yml": None, "main.yml": "2"}, at="2026-01-05T00:00:00+0000")
    repo = asked(bench.top)
    for path, touch in repo.last_touches().items():
        assert f"{touch.commit} {touch.committed}" == bench.git(
            "log", "-1", "--format=%H %cd", "--date=format:%Y-%m-%dT%H:%M:%S+00:00", "--", path
        )


# ── subfolders ───────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def inner(bench: Bench) -> Path:
    bench.commit({"outside.yml": "1", "work/shop/shop.yml": "1", "work/shop/engines/E1/engine.yml": "1"})
    return bench.top / "work" / "shop"


def test_a_shop_may_be_a_folder_of_a_larger_repository(bench: Bench, inner: Path) -> None:
    first = bench.git("rev-parse", "HEAD")
    bench.commit({"outside.yml": "2"}, at="2026-07-01T00:00:00+0000")
    repo = asked(inner)
    assert repo.prefix == "work/shop/"
    assert set(repo.last_touches()) == repo.tracked() == repo.in_commit() == {"shop.yml", "engines/E1/engine.yml"}
    assert repo.last_touch(["."]) == (first, "2026-01-01")


def test_what_changed_outside_the_shop_is_not_its_concern(bench: Bench, inner: Path) -> None:
    bench.write("outside.yml", "edited")
    bench.write("new-outside.yml", "1")
    bench.write("work/shop/shop.yml", "edited")
    bench.write("work/shop/engines/E1/log.yml", "1")
    repo = asked(inner)
    assert repo.changed() == {"shop.yml", "engines/E1/log.yml"}


def test_a_folder_that_is_newer_than_the_last_commit_is_all_uncommitted(bench: Bench) -> None:
    bench.commit({"outside.yml": "1"})
    bench.write("shop/shop.yml", "1")
    repo = asked(bench.top / "shop")
    assert repo.in_commit() == repo.tracked() == frozenset()
    assert repo.changed() == {"shop.yml"}
    assert repo.last_touch(["shop.yml"]) is None


# ── index and working tree ───────────────────────────────────────────────────────────────────────────────────────────


def test_staged_edited_deleted_and_unknown_files_are_told_apart(bench: Bench) -> None:
    bench.commit({"same.yml": "1", "edited.yml": "1", "deleted.yml": "1", "restaged.yml": "1", ".gitignore": "site/\n"})
    bench.write("edited.yml", "2")
    (bench.top / "deleted.yml").unlink()
    bench.write("restaged.yml", "2")
    bench.write("staged.jpg", "1")
    bench.git("add", "restaged.yml", "staged.jpg")
    bench.write("unknown/deep/new.jpg", "1")
    bench.write("site/index.html", "ignored")
    repo = asked(bench.top)
    committed = {"same.yml", "edited.yml", "deleted.yml", "restaged.yml", ".gitignore"}
    assert repo.in_commit() == committed
    assert repo.tracked() == committed | {"staged.jpg"}
    assert repo.changed() == {"edited.yml", "deleted.yml", "restaged.yml", "staged.jpg", "unknown/deep/new.jpg"}


def test_a_renamed_file_is_one_gone_and_one_new(bench: Bench) -> None:
    bench.commit({"old.yml": "the same text"})
    bench.git("mv", "old.yml", "new.yml")
    repo = asked(bench.top)
    assert repo.changed() == {"old.yml", "new.yml"}


def test_a_file_that_was_only_touched_has_not_changed(bench: Bench) -> None:
    bench.commit({"a.yml": "1"})
    os.utime(bench.top / "a.yml", (0, 0))
    repo = asked(bench.top)
    assert repo.changed() == frozenset()


def test_asking_writes_nothing(bench: Bench) -> None:
    bench.commit({"a.yml": "1"})
    os.utime(bench.top / "a.yml", (0, 0))
    index = bench.top / ".git" / "index"
    before = index.read_bytes()
    repo = asked(bench.top)
    repo.changed()
    repo.tracked()
    repo.last_touches()
    assert index.read_bytes() == before


def test_an_unfinished_merge_is_read_all_the_same(bench: Bench) -> None:
    bench.commit({"a.yml": "base"})
    bench.git("checkout", "-q", "-b", "side")
    bench.commit({"a.yml": "side"})
    bench.git("checkout", "-q", "main")
    bench.commit({"a.yml": "main"})
    with pytest.raises(subprocess.CalledProcessError):
        bench.git("merge", "-q", "side")
    repo = asked(bench.top)
    assert repo.tracked() == repo.changed() == repo.in_commit() == {"a.yml"}


# ── shallow clones ───────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_clone_with_its_history_cut_off_says_so(bench: Bench, tmp_path: Path) -> None:
    bench.commit({"a.yml": "1"})
    last = bench.commit({"b.yml": "1"})
    bench.git("clone", "-q", "--depth", "1", bench.top.as_uri(), str(tmp_path / "cut"))
    whole, cut = asked(bench.top), asked(tmp_path / "cut")
    assert (whole.is_shallow(), cut.is_shallow()) == (False, True)
    # Why it has to be said: the commit at the cut seems to have touched everything.
    assert {touch.commit for touch in cut.last_touches().values()} == {last}
