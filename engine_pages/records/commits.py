"""Who made each commit, when, with what words, and which files it changed: a repository in, plain facts out.

One pass over the history, whatever it holds. Of a merge the changes are told against its first parent; with the first
parent's own files that gives the merge's files exactly, and so its changes against every other parent too.

Names, addresses and messages are the crew's: nothing here goes to another edition.
"""

import os
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Final, Literal

from msgspec import Struct

from .git import Repo, iso_date, read_blobs, run_git

# Author and commit date agree to the second when a commit is made at the bench, with a network or without. A rebase, an
# amended or a picked commit keeps the author's date: within a week that is tidying up after a meeting. Beyond it, the
# record came to the others long after the day that it bears, or the date was set by hand.
LATE_DAYS: Final = 7.0
AHEAD_DAYS: Final = 1.0  # more than any time zone written wrongly: a clock that was not set

_FORMAT: Final = "%x00".join(("%H", "%P", "%an", "%ae", "%ad", "%cn", "%ce", "%cd", "%B"))
_PLAIN_FILE: Final = "100"  # how git's mode of a plain file begins; a link or another repository is no record
_SECONDS_A_DAY: Final = 86_400.0

ANYWHERE: Final = (".",)

Seal = Literal["none", "good", "unknown signer", "expired", "bad", "not checked"]
"""What a commit's signature is worth: `unknown signer` is intact, by a key that nobody here vouches for; `expired` is
intact, by a key or with a term that has run out since; `not checked` wants a key or a program that is not here."""

_SEALS: Final[dict[str, Seal]] = {
    "G": "good", "U": "unknown signer", "X": "expired", "Y": "expired", "B": "bad", "R": "bad", "E": "not checked",
    "N": "none",
}  # fmt: skip
# By these names, whatever the repository's configuration calls them: it must not start a program of its own.
_CHECKERS: Final = {
    "gpg.program": "gpg",
    "gpg.openpgp.program": "gpg",
    "gpg.x509.program": "gpgsm",
    "gpg.ssh.program": "ssh-keygen",
}


class CommitFacts(Struct, frozen=True):
    """One commit. Dates are ISO 8601 with the writer's own offset; `nth` counts from the newest, 0.

    parents: as this clone has them. cut: it has parents that this clone does not hold. signed: it bears a signature,
    of which only `seals_of` says whether it is good.
    """

    id: str
    parents: tuple[str, ...]
    author: str
    email: str
    authored: str
    committer: str
    committed: str
    message: str
    signed: bool
    cut: bool
    nth: int

    @property
    def subject(self) -> str:
        """The first line of the message."""
        return next(iter(self.message.strip().splitlines()), "")

    @property
    def gap(self) -> float:
        """Days from the author's date to the commit's."""
        return days_between(self.authored, self.committed)

    @property
    def late(self) -> bool:
        """Whether the author's date lies so long before the commit that it proves nothing about the day."""
        return self.gap > LATE_DAYS

    @property
    def ahead(self) -> bool:
        """Whether the author's date lies after the commit's: a clock was wrong."""
        return self.gap < -AHEAD_DAYS


class FileChange(Struct, frozen=True):
    """A file's content before and after a commit, as blob ids; empty where there was no plain file."""

    path: str
    old: str
    new: str


def days_between(one: str, other: str) -> float:
    """Days from one ISO 8601 moment to another; negative where the second is the earlier.

    >>> days_between("2026-03-01T12:00:00+00:00", "2026-03-02T00:00:00+00:00")
    0.5
    """
    return (datetime.fromisoformat(other) - datetime.fromisoformat(one)).total_seconds() / _SECONDS_A_DAY


def read_commits(
    repo: Repo, head: str, within: Sequence[str] = ANYWHERE
) -> list[tuple[CommitFacts, tuple[FileChange, ...]]]:
    """Every commit up to `head` with what it changed in the shop's folder, oldest first, no child before its parents.

    within: files and folders of the shop; what was changed elsewhere does not count. Raises GitFailed.
    """
    ids = run_git(repo.root, "rev-list", "--date-order", head)
    listing = run_git(
        repo.root,
        *("diff-tree", "--stdin", "--root", "-r", "-z", "--raw", "--no-abbrev", "--no-renames", "--always"),
        *("--diff-merges=first-parent", "--no-ext-diff", "--no-textconv", "--relative", "--date=raw"),
        *(f"--format={_FORMAT}", "--", *within),
        stdin=ids,
        settings={"i18n.logOutputEncoding": "UTF-8"},
    )
    objects = read_blobs(repo.root, ids.decode("ascii").split())
    return [*_told(listing.split(b"\0")[:-1], objects)][::-1]


def _told(fields: list[bytes], objects: dict[str, bytes]) -> Iterator[tuple[CommitFacts, tuple[FileChange, ...]]]:
    at, nth = 0, 0
    width = _FORMAT.count("%x00") + 1
    while at < len(fields):
        head = [field.decode("utf-8", "replace") for field in fields[at : at + width]]
        at += width
        changes = []
        while at < len(fields) and fields[at].lstrip(b"\n").startswith(b":"):
            changes.append(_change(fields[at], fields[at + 1]))
            at += 2
        yield _facts(head, objects.get(head[0].strip(), b""), nth), tuple(changes)
        nth += 1


def _change(meta: bytes, path: bytes) -> FileChange:
    old_mode, new_mode, old, new, _ = meta.decode("ascii").strip("\n:").split(" ")
    before, after = (
        blob if mode.startswith(_PLAIN_FILE) and blob.strip("0") else ""
        for mode, blob in ((old_mode, old), (new_mode, new))
    )
    return FileChange(os.fsdecode(path), before, after)


def _facts(head: list[str], written: bytes, nth: int) -> CommitFacts:
    """The facts, with what git's own words leave out: a signature, and parents beyond the cut of a clone."""
    id_, parents, author, email, authored, committer, _, committed, message = head
    lines = written.split(b"\n\n", 1)[0].split(b"\n")
    signed = any(line.startswith((b"gpgsig ", b"gpgsig-sha256 ")) for line in lines)
    cut = not parents and any(line.startswith(b"parent ") for line in lines)
    return CommitFacts(
        id_.strip(), tuple(parents.split()), author, email, iso_date(authored), committer, iso_date(committed),
        message.strip("\n"), signed, cut, nth,
    )  # fmt: skip


def seals_of(repo: Repo, commits: list[CommitFacts]) -> dict[str, Seal]:
    """What the signature of each commit is worth, as `git verify-commit` finds it. Raises GitFailed.

    Only those that bear one are looked at: each costs the start of a program.
    """
    seals: dict[str, Seal] = dict.fromkeys((one.id for one in commits), "none")
    asked = [one.id for one in commits if one.signed]
    if not asked:
        return seals
    answer = run_git(
        repo.root, "log", "--no-walk=unsorted", "--stdin", "--format=%H %G?",
        stdin="".join(f"{one}\n" for one in asked).encode(), settings=_CHECKERS,
    )  # fmt: skip
    for line in answer.decode("ascii", "replace").splitlines():
        id_, _, mark = line.partition(" ")
        seals[id_] = _SEALS.get(mark, "not checked")
    # Where the program is not on the machine git says "no signature", which is not so.
    return {one: "not checked" if seal == "none" and one in asked else seal for one, seal in seals.items()}


def renames_in(repo: Repo, commits: list[str], within: Sequence[str] = ANYWHERE) -> dict[str, dict[str, str]]:
    """Of each commit, against its first parent: new path → old path of files that git finds mostly the same."""
    if not commits:
        return {}
    listing = run_git(
        repo.root,
        *("diff-tree", "--stdin", "-r", "-z", "--raw", "--no-abbrev", "-M", "-l0", "--diff-filter=R"),
        *("--diff-merges=first-parent", "--no-ext-diff", "--no-textconv", "--relative", "--format=%H", "--"),
        *within,
        stdin="".join(f"{one}\n" for one in commits).encode(),
    )
    found: dict[str, dict[str, str]] = {}
    commit, fields = "", iter(listing.split(b"\0")[:-1])
    for field in fields:
        if field.lstrip(b"\n").startswith(b":"):
            old, new = os.fsdecode(next(fields)), os.fsdecode(next(fields))
            found.setdefault(commit, {})[new] = old
        elif field:
            commit = field.decode("ascii").strip()
    return found
