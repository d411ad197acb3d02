"""History that is carried on from a commit to the next says what history that is read whole says."""

import subprocess
from pathlib import Path

from engine_pages.records.git import Repo, repository_of
from engine_pages.records.kept_history import KeptHistory, from_json, history_at


def git(folder: Path, *arguments: str) -> str:
    who = ["-c", "user.name=Bench", "-c", "user.email=bench@shop.example"]
    return subprocess.run(
        ["git", *who, *arguments], cwd=folder, check=True, capture_output=True, text=True
    ).stdout.strip()


def commit(folder: Path, **files: str | None) -> str:
    for name, text in files.items():
        path = folder / "engines" / f"{name}.yml"
        path.parent.mkdir(exist_ok=True)
        if text is None:
            path.unlink()
        else:
            path.write_text(text, encoding="utf-8")
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "records", "--date", "2026-03-07T10:00:00+0100")
    return git(folder, "rev-parse", "HEAD")


def shop(tmp_path: Path) -> tuple[Path, Repo]:
    git(tmp_path, "init", "-q", "-b", "main")
    commit(tmp_path, a="secret: one", b="x: 1")
    repo = repository_of(tmp_path)
    assert repo is not None
    return tmp_path, repo


def secrets(path: str, content: bytes) -> list[tuple[str, str]]:
    return [(path, line[8:].decode()) for line in content.splitlines() if line.startswith(b"secret: ")]


def at(repo: Repo, before: KeptHistory | None) -> KeptHistory:
    head = repo.head()
    assert head is not None
    return history_at(repo, head, before, lambda path: path.endswith(".yml"), secrets)


def assert_as_read_whole(repo: Repo, kept: KeptHistory) -> None:
    head = repo.head()
    assert head is not None
    assert kept == at(repo, None) == from_json(kept.to_json())
    told = repo.last_touches(head)
    found = kept.touches(told)
    assert {path: touch.commit for path, touch in found.items()} == {path: touch.commit for path, touch in told.items()}
    for one in told:
        for other in told:
            assert (found[one].nth < found[other].nth) == (told[one].nth < told[other].nth)


def test_commits_on_top_are_read_alone(tmp_path: Path) -> None:
    folder, repo = shop(tmp_path)
    before = at(repo, None)
    commit(folder, b="x: 2", c="secret: two")
    commit(folder, c="secret: three", a=None)
    commit(folder, c="x: 3")
    kept = at(repo, before)
    assert kept.crew["engines/a.yml"] == [("engines/a.yml", "one")]
    assert kept.crew["engines/c.yml"] == [("engines/c.yml", "three"), ("engines/c.yml", "two")]
    assert_as_read_whole(repo, kept)


def test_a_merge_is_read_whole(tmp_path: Path) -> None:
    folder, repo = shop(tmp_path)
    first = git(folder, "rev-parse", "HEAD")
    before = at(repo, None)
    git(folder, "checkout", "-q", "-b", "side")
    commit(folder, b="x: 2")
    git(folder, "checkout", "-q", "main")
    commit(folder, c="secret: two")
    git(folder, "merge", "-q", "--no-edit", "side")
    assert git(folder, "rev-parse", "HEAD") != first
    assert_as_read_whole(repo, at(repo, before))


def test_history_that_was_rewritten_is_read_whole(tmp_path: Path) -> None:
    folder, repo = shop(tmp_path)
    first = git(folder, "rev-parse", "HEAD")
    commit(folder, c="secret: two")
    before = at(repo, None)
    git(folder, "reset", "-q", "--hard", first)
    commit(folder, b="x: 7")
    kept = at(repo, before)
    assert "engines/c.yml" not in kept.crew
    assert_as_read_whole(repo, kept)


def test_what_was_kept_of_commits_that_are_gone_is_read_anew(tmp_path: Path) -> None:
    folder, repo = shop(tmp_path)
    kept = at(repo, None)
    gone = KeptHistory("0123456789" * 4, kept.commits, kept.touched, {"engines/z.yml": [("z", "old")]})
    assert at(repo, gone) == kept
    (folder / "engines" / "a.yml").write_text("secret: two", encoding="utf-8")
    git(folder, "commit", "-q", "--amend", "-am", "another")
    git(folder, "reflog", "expire", "--expire=now", "--all")
    git(folder, "gc", "-q", "--prune=now")
    assert at(repo, kept) == at(repo, None)
