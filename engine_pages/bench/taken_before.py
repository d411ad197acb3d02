"""What git knows of an earlier taking: the commit that bears its mark, what it wrote, and what became of that.

In: the shop's folder, a mark and paths. Out: plain values. Asked is the history of the commit that is checked out
alone, and what it holds of this folder: what was taken in on another branch, into another shop of the repository, or
undone, is not there. A shop without git knows of no earlier taking.
"""

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from msgspec import Struct

from ..records.git import repository_of, run_git
from ..records.load import place_of_sheet


class Before(Struct, frozen=True):
    """The newest commit that bears a mark, and the path that it wrote."""

    commit: str
    path: str


def taken_before(shop: Path, mark: str, paths: Sequence[str]) -> Before | None:
    """The newest commit with this mark in its message, and which of these paths it wrote; the first where that cannot
    be told, as of a commit that was made over since. None: there is no such commit. Raises GitFailed."""
    if not _has_commits(shop):
        return None
    what = ("--format=%h", "--name-status", "--relative", "--no-renames", "--diff-merges=first-parent")
    found = ("--fixed-strings", f"--grep={mark}", "--full-history", "HEAD", "--", ".")  # of this shop, not of another
    said = os.fsdecode(run_git(shop, "log", "-1", *what, *found)).splitlines()
    if not said:
        return None
    wrote = [path for line in said[1:] for did, _, path in [line.partition("\t")] if path and did != "D"]
    first = paths[0].removesuffix(".yml").removesuffix("/teardown")
    others = [path for path in wrote if path.startswith(f"{first}-") and place_of_sheet(path)]  # of that day
    alike = [path for path in wrote if is_such_a_sheet(path, paths[0])]  # of a draft that was settled under another day
    known = [path for path in paths if path in wrote] + others + (alike if len(alike) == 1 else [])
    return Before(said[0], [*known, paths[0]][0])


def is_such_a_sheet(path: str, sheet: str) -> bool:
    """Whether a sheet of the same engine and kind stands there, of whatever day."""
    there, wanted = place_of_sheet(path), place_of_sheet(sheet)
    return there is not None and wanted is not None and there[:2] == wanted[:2]


def moved_to(shop: Path, before: Before) -> str | None:
    """Where what this commit wrote was moved since, as when its day was put right; None where it was not. GitFailed."""
    path, since = before.path, before.commit
    asked = ("--name-status", "-r", "-z", "-M", "--diff-filter=R", "--relative")
    while True:
        log = ("log", "--format=%H", "--diff-filter=D", "--no-renames", f"{since}..HEAD", "--", path)
        removed = run_git(shop, *log).decode("ascii").split()
        where = ("diff-tree", "--no-commit-id", *asked, removed[-1]) if removed else ("diff-index", *asked, "HEAD")
        said = iter(os.fsdecode(run_git(shop, *where)).split("\0")[:-1])
        new = next((new for _, old, new in zip(said, said, said, strict=True) if old == path), None)
        if new is None or not removed:
            return new or (path if path != before.path else None)
        path, since = new, removed[-1]


def last_commit(shop: Path, path: str) -> str | None:
    """The last commit that touched a path; None where none did. Raises GitFailed."""
    if not _has_commits(shop):
        return None
    return run_git(shop, "log", "-1", "--format=%h", "HEAD", "--", path).decode("ascii").strip() or None


def lines_that_begin(shop: Path, begins: str) -> list[str]:
    """Lines of commits' messages that begin so, the newest first. Raises GitFailed."""
    if not _has_commits(shop):
        return []
    said = run_git(shop, "log", "--format=%B", "--fixed-strings", f"--grep={begins}", "HEAD")
    return [line for line in said.decode("utf-8", "replace").splitlines() if line.startswith(begins)]


def as_it_was(shop: Path, commit: str, path: str) -> bytes | None:
    """A file's content at a commit; None where it was not there. Raises GitFailed."""
    if not run_git(shop, "ls-tree", "--name-only", commit, "--", path).strip():
        return None
    return run_git(shop, "cat-file", "blob", f"{commit}:./{path}")


def deleted_only_in_folder(shop: Path, paths: Iterable[str]) -> dict[str, bytes]:
    """Of paths that do not lie in the folder, those that git has still in hand, staged or committed, with their
    content. Raises GitFailed."""
    repository = repository_of(shop)
    if repository is None:
        return {}
    staged, committed = repository.tracked(), repository.in_commit()
    found = [path for path in paths if path in staged or path in committed]
    return {path: run_git(shop, "cat-file", "blob", f"{'' if path in staged else 'HEAD'}:./{path}") for path in found}


def was_removed(shop: Path, before: Before) -> bool:
    """Whether a later commit took away what this one wrote; what lies there by that name came after."""
    log = ("log", "-1", "--format=%h", "--diff-filter=D", "--no-renames", f"{before.commit}..HEAD", "--", before.path)
    return bool(run_git(shop, *log).strip())


def how_removed(shop: Path, path: str, places: Sequence[str]) -> str:
    """How a path that was committed went from the folder, and the command that brings its places back."""
    repository = repository_of(shop)
    if repository is not None and path in repository.in_commit():
        return f"deleted in the folder, in no commit yet; {_bring_back('HEAD', places)}"
    log = ("log", "-1", "--format=%h %cs", "--diff-filter=D", "--no-renames", "HEAD", "--", path)
    commit, _, day = run_git(shop, *log).decode("ascii").strip().partition(" ")
    if not commit:
        return "it is no more in the folder"
    return f"removed by commit {commit} of {day}; {_bring_back(f'{commit}~1', places)}"


def _bring_back(revision: str, places: Sequence[str]) -> str:
    return f"if that was a mistake: git checkout {revision} -- {' '.join(places)}"


def _has_commits(shop: Path) -> bool:
    repository = repository_of(shop)
    return repository is not None and repository.head() is not None
