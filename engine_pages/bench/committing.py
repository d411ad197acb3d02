"""Our own paths committed in the shop's repository, and nothing else that is staged there.

In: the shop's folder, paths, a message. Out: the commit's id, or GitFailed in words for the person at the bench.
"""

import os
import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from ..records.git import GitFailed, repository_of, run_git, why_no_repository

# What git keeps among its own files while it waits for somebody to go on, and how that is ended.
_UNDER_WAY: Final = {
    "rebase-merge": ("a rebase", "git rebase --continue, or git rebase --abort"),
    "rebase-apply/applying": ("a git am", "git am --continue, or git am --abort"),  # before the folder that it lies in
    "rebase-apply": ("a rebase", "git rebase --continue, or git rebase --abort"),
    "MERGE_HEAD": ("a merge", "git commit once every conflict is settled, or git merge --abort"),
    "CHERRY_PICK_HEAD": ("a cherry-pick", "git cherry-pick --continue, or git cherry-pick --abort"),
    "REVERT_HEAD": ("a revert", "git revert --continue, or git revert --abort"),
}
# Git would refuse line ends that it would write otherwise at the next checkout; what was typed comes in as it is.
_AS_TYPED: Final = {"core.safecrlf": "false"}
_LOCKED: Final = re.compile(r"Unable to create '(.+\.lock)': File exists")


def refuse_where_no_commit_stays(shop: Path) -> None:
    """GitFailed where a commit could not be made, or would be on no branch and so be lost with the next checkout.

    A folder that is in no repository passes; one whose repository git does not read is refused.
    """
    if repository_of(shop) is None:
        _refuse_unread_repository(shop)
        return
    asked = [word for name in _UNDER_WAY for word in ("--git-path", name)]
    places = os.fsdecode(run_git(shop, "rev-parse", *asked)).splitlines()
    for place, (what, ended_by) in zip(places, _UNDER_WAY.values(), strict=True):
        if (shop / place).exists():
            raise GitFailed(f"{what} is under way in {shop}; end it first ({ended_by}); nothing was written")
    try:
        run_git(shop, "symbolic-ref", "--quiet", "HEAD")
    except GitFailed:
        raise GitFailed(
            f"no branch is checked out in {shop}, and a commit on none would be lost; check one out first "
            "(git switch main, or the name that yours has); nothing was written"
        ) from None


def _refuse_unread_repository(shop: Path) -> None:
    """GitFailed where git's own files lie in the folder or above it, on the same disk, and git reads none there."""
    here = shop.resolve()
    above = next((one for one in (here, *here.parents) if (one / ".git").exists()), None)
    if above is not None and above.stat().st_dev == here.stat().st_dev:
        why = why_no_repository(shop)
        raise GitFailed(f"nothing could be committed in {shop}, though there is {above / '.git'}: {why}; "
                        "nothing was written")  # fmt: skip


def unknown_to_git(shop: Path, paths: Iterable[str]) -> tuple[str, ...]:
    """Of these paths, those that are neither committed nor staged; none where the shop is no repository."""
    repository = repository_of(shop)
    return tuple(sorted(set(paths) - repository.tracked())) if repository is not None else ()


def held_or_staged(shop: Path, gone: Iterable[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Of paths that go: those that the last commit holds, whose going is to be committed, and those staged alone."""
    repository = repository_of(shop)
    if repository is None:
        return (), ()
    committed, paths = repository.in_commit(), set(gone)
    return tuple(sorted(paths & committed)), tuple(sorted(paths & repository.tracked() - committed))


def in_utf8(message: str) -> bytes:
    """A message as it is committed. GitFailed where it came from a terminal in another encoding."""
    try:
        return message.encode("utf-8")
    except UnicodeEncodeError:
        raise GitFailed(
            "what the commit is to say is no UTF-8 text; set the terminal to UTF-8 and type it again; "
            "nothing was written"
        ) from None


def unstage(shop: Path, paths: Sequence[str]) -> None:
    """Let git forget paths that no commit holds: after one that failed, or where they have gone from the folder."""
    if paths:
        with suppress(GitFailed):  # what kept git from a commit may keep it from this too, and is the one to be told
            run_git(shop, "update-index", "--force-remove", "--", *paths)


def commit(shop: Path, paths: Sequence[str], unknown: Sequence[str], message: bytes) -> str | None:
    """Commit these paths and nothing else that is staged; the commit's id, None where they hold nothing new.

    Only what is `unknown` to git is staged first: of the rest `commit --only` takes what lies in the folder, and where
    that fails, what was staged of them stays as it was. Raises GitFailed; what was unknown may be staged then.
    """
    if unknown:
        _write(shop, "add", "--force", "--", *unknown)
    if not _changed(shop, paths):
        return None
    _refuse_nameless(shop)
    try:
        _write(shop, "commit", "--quiet", "--only", "--no-verify", "-F", "-", "--", *paths, stdin=message)
    except GitFailed as trouble:
        raise GitFailed(f"{trouble}{_of_signing(shop, str(trouble))}") from trouble
    return run_git(shop, "rev-parse", "--short", "HEAD").decode("ascii").strip()


def _changed(shop: Path, paths: Sequence[str]) -> bool:
    """Whether a commit of these paths would hold anything: the status calls a file changed that differs in line ends
    alone, which git writes as they were."""
    repository = repository_of(shop)
    if repository is None or repository.head() is None:
        return bool(run_git(shop, "status", "--porcelain", "-z", "--untracked-files=no", "--", *paths))
    return bool(run_git(shop, "diff", "--name-only", "--no-ext-diff", "-z", "HEAD", "--", *paths))


def _write(shop: Path, *arguments: str, stdin: bytes = b"") -> None:
    """Run git where it writes. GitFailed, with what to do about a lock that a git which was cut off has left."""
    try:
        run_git(shop, *arguments, stdin=stdin, settings=_AS_TYPED)
    except GitFailed as trouble:
        lock = _LOCKED.search(str(trouble))
        if lock is None:
            raise
        raise GitFailed(
            f"another git is at work in this repository, or was cut off, as by a power cut; where none runs any more, "
            f"remove {lock[1]} and run this again"
        ) from trouble


def _refuse_nameless(shop: Path) -> None:
    """Say what to do where git knows nobody to commit as; its own words leave out the half."""
    try:
        for who in ("GIT_AUTHOR_IDENT", "GIT_COMMITTER_IDENT"):
            run_git(shop, "var", who)
    except GitFailed as trouble:
        raise GitFailed(
            "git has no name for whoever commits here; tell it once, in the shop's folder, and run this again:\n"
            '  git config user.name "Your Name"\n  git config user.email you@your.shop'
        ) from trouble


def _of_signing(shop: Path, said: str) -> str:
    """What to do where commits are to be signed and git could not; nothing where that is not it."""
    if "failed to write commit object" not in said:  # all that git's last line says of it
        return ""
    with suppress(GitFailed):  # the setting is not there
        if run_git(shop, "config", "--type=bool", "commit.gpgSign").strip() == b"true":
            return (
                "; commits are signed here (commit.gpgSign), and git could not sign: see that `git commit -S` works, "
                "or end signing with `git config commit.gpgSign false`, and run this again"
            )
    return ""
