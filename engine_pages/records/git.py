"""Thin facts from git about a shop's folder: commits, dates, what is in a commit, staged or changed.

In: a folder. Out: plain values; paths are relative to that folder, with forward slashes, wherever in its repository it
lies. No git on the machine and no repository are states with words of their own, not failures. Nothing is written,
fetched or checked out, no message, name or address is read, and what a repository's own configuration would start
(file system monitor, hooks, filters, signature checks, pagers) is switched off. Needs git 2.31 or newer.
"""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import Final

from msgspec import Struct

# A hook's or another repository's view of git must not lead us elsewhere: the list of `git rev-parse --local-env-vars`.
_NOT_INHERITED: Final = (
    "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    "GIT_COMMON_DIR",
    "GIT_CONFIG",
    "GIT_CONFIG_COUNT",
    "GIT_CONFIG_PARAMETERS",
    "GIT_DIR",
    "GIT_GRAFT_FILE",
    "GIT_IMPLICIT_WORK_TREE",
    "GIT_INDEX_FILE",
    "GIT_INTERNAL_SUPER_PREFIX",
    "GIT_OBJECT_DIRECTORY",
    "GIT_PREFIX",
    "GIT_REPLACE_REF_BASE",
    "GIT_SHALLOW_FILE",
    "GIT_WORK_TREE",
)
_SETTINGS: Final = (
    "core.fsmonitor=false",  # would start a program at every look at the working tree
    "core.hooksPath=/dev/null",
    "core.quotepath=false",
    "core.untrackedCache=false",
    "log.showSignature=false",  # would start gpg.program
    "protocol.allow=never",  # nothing is fetched, not even what a partial clone left out
    "submodule.recurse=false",
)
_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_COMMIT_ID: Final = re.compile(rb"(?:[0-9a-f]{40}|[0-9a-f]{64})\n")  # SHA-1 or SHA-256; `^main` answers otherwise
_COMMIT_LINE: Final = "%H%x00%ad%x00%cd"  # id, author date, commit date; raw dates, so that no git version words them

_IGNORED: Final = "!!"  # of `git status`
_UNWATCHED: Final = re.compile(rb"(?:\A|\0)[a-zS] ([^\0]*)")  # to `git ls-files -v`: assumed unchanged, or skipped


class GitFailed(Exception):  # noqa: N818 - it tells what git said, and is caught where that is a state of the shop
    """git is missing, or answered with an error: the message holds its own words."""


class Touch(Struct, frozen=True):
    """The commit that gave a path its present content, or took it away.

    `authored` and `committed` are ISO 8601 with the writer's own offset; `nth` counts commits from the newest, 0, so
    that of two touches the later one has the smaller number, whatever the clocks said.
    """

    commit: str
    authored: str
    committed: str
    nth: int


def run_git(root: Path, *arguments: str, stdin: bytes = b"", settings: Mapping[str, str] | None = None) -> bytes:
    """What git prints when it is run in a folder, never through a shell. Raises GitFailed.

    `settings` come on top of ours and, being passed in the environment, may have any name.
    """
    command = ["git", "--no-pager", "--literal-pathspecs", "-C", os.fspath(root)]
    for setting in _SETTINGS:
        command += ["-c", setting]
    try:
        done = subprocess.run(
            [*command, *arguments], input=stdin, capture_output=True, check=False, env=_environment(settings or {})
        )
    except FileNotFoundError:
        raise GitFailed("git is not installed, or not on the path") from None
    except (OSError, ValueError) as trouble:  # not executable, too long a command, a null byte in a name
        raise GitFailed(f"git could not be started: {trouble}") from trouble
    if done.returncode != 0:
        said = _said(done.stderr) or _said(done.stdout) or [f"git {arguments[0]} failed"]
        raise GitFailed(next((line for line in said if line.startswith("fatal: ")), said[-1]).removeprefix("fatal: "))
    return done.stdout


def _said(output: bytes) -> list[str]:
    """The lines of what git says, but for warnings: they are not why it failed."""
    lines = output.decode("utf-8", "replace").strip().splitlines()
    return [line for line in lines if not line.startswith("warning: ")]


def read_blobs(root: Path, blobs: Iterable[str]) -> dict[str, bytes]:
    """The bytes of blobs by their ids, all read by one process; what the clone does not hold is left out."""
    asked = sorted(set(blobs))
    answer = run_git(root, "cat-file", "--batch", stdin="".join(f"{one}\n" for one in asked).encode())
    found, at = {}, 0
    while at < len(answer):
        end = answer.index(b"\n", at)
        fields = answer[at:end].decode("ascii").split(" ")  # `id blob size`, the bytes behind it; or `id missing`
        at = end + 1
        if fields[-1] != "missing":
            size = int(fields[2])
            found[fields[0]] = answer[at : at + size]
            at += size + 1
    return found


def repository_of(root: Path) -> Repo | None:
    """The repository whose working tree holds a folder, or None; `why_no_repository` says why."""
    try:
        answer = run_git(root, "rev-parse", "--is-inside-work-tree", "--show-prefix")
    except GitFailed:
        return None
    inside, _, prefix = answer.partition(b"\n")
    return Repo(root, os.fsdecode(prefix.removesuffix(b"\n"))) if inside == b"true" else None


def why_no_repository(root: Path) -> str:
    """Why a folder has no repository, in words for the person at the bench; empty where it has one."""
    if not root.is_dir():
        return "there is no such folder"
    try:
        inside = run_git(root, "rev-parse", "--is-inside-work-tree")
    except GitFailed as trouble:
        said = str(trouble)
        if "not a git repository" in said:
            return "the folder is in no git repository"
        if "dubious ownership" in said:
            return "the repository belongs to another user; git reads it once it is named under safe.directory"
        return said
    return "" if inside.strip() == b"true" else "the folder lies inside git's own files"


class Repo:
    """What git knows of one shop. Each call asks git anew, but for `last_touches`, kept until another commit is head.

    A path that is not UTF-8 comes with surrogate escapes, as the operating system's own names do.
    """

    __slots__ = ("_read_at", "_touches", "prefix", "root")

    def __init__(self, root: Path, prefix: str) -> None:
        """`prefix`: where the shop lies in its repository, empty or ending in a slash."""
        self.root = root
        self.prefix = prefix
        self._read_at: str | None = None
        self._touches: dict[str, Touch] = {}

    def head(self) -> str | None:
        """The id of the commit that is checked out, or None before the first commit."""
        return self.commit("HEAD")

    def commit(self, revision: str) -> str | None:
        """The id of the commit that a revision names (branch, tag, short id), or None where it names none."""
        try:
            found = run_git(self.root, "rev-parse", "--verify", "--quiet", "--end-of-options", revision + "^{commit}")
        except GitFailed:
            return None
        return found.decode("ascii").strip() if _COMMIT_ID.fullmatch(found) else None

    def tree_of(self, commit: str, folder: str) -> str:
        """Git's name for a folder of the shop as it is in a commit: the same files have the same. GitFailed."""
        found = run_git(self.root, "rev-parse", "--verify", "--end-of-options", f"{commit}:{self.prefix}{folder}")
        return found.decode("ascii").strip()

    def is_shallow(self) -> bool:
        """Whether the clone's history was cut: then its oldest commit seems to have touched everything."""
        return run_git(self.root, "rev-parse", "--is-shallow-repository").strip() == b"true"

    def last_touches(self, revision: str = "HEAD") -> Mapping[str, Touch]:
        """For every path that ever was in the shop's folder, the commit that gave it its content at a revision.

        One pass over the history, with merges read against all their parents: of an edit made in a side branch its
        author's commit counts, and a merge counts for what was edited in the merge itself. As `git log -1 -- path`
        does, a change that a merge threw away is passed over. A path that is gone has the commit that removed it.
        """
        head = self.commit(revision)
        if head != self._read_at:
            self._touches = self._read_touches(head) if head else {}
            self._read_at = head
        return self._touches

    def last_touch(self, paths: Iterable[str]) -> tuple[str, str] | None:
        """Id and date (`2026-11-02`, as it was where the commit was made) of the last commit that touched any of
        these files and folders, or None where no commit did. `""` or `"."` is the whole shop."""
        wanted = {path.strip("/") if path != "." else "" for path in paths}
        hits = [touch for path, touch in self.last_touches().items() if _is_under(path, wanted)]
        if not hits:
            return None
        latest = min(hits, key=lambda touch: touch.nth)
        return latest.commit, latest.committed[:10]

    def last_commits(self, count: int) -> tuple[tuple[str, date], ...]:
        """Ids and days of the last commits that were checked out one after the other, the newest first. GitFailed."""
        if self.head() is None:
            return ()
        listing = run_git(
            self.root, "log", "--first-parent", f"-{count}", "--date=raw", "--format=%H%x00%cd%x00", "HEAD", "--"
        )
        fields = [field.strip("\n") for field in _split(listing)]
        return tuple(
            (one, date.fromisoformat(iso_date(day)[:10])) for one, day in zip(fields[::2], fields[1::2], strict=True)
        )

    def tracked(self) -> frozenset[str]:
        """Paths that git has in hand: committed or staged."""
        return _paths(run_git(self.root, "ls-files", "-z", "--cached"))

    def in_commit(self) -> frozenset[str]:
        """Paths in the commit that is checked out."""
        return frozenset(self.blobs(self.head()))

    def changed(self) -> frozenset[str]:
        """Paths that differ from the commit: edited, staged, deleted, or not yet known to git (and not ignored).

        Whether content differs is judged byte for byte: a filter that the repository names, such as for large files
        kept elsewhere, is not started, and its files count as changed once they are touched.
        """
        return frozenset(self._status())

    def changed_and_ignored(self) -> tuple[frozenset[str], frozenset[str]]:
        """`changed`, and the files that git is told to ignore: both by one walk through the folder."""
        found = self._status("--ignored=traditional")
        ignored = frozenset(path for path, letters in found.items() if letters == _IGNORED)
        return frozenset(found) - ignored, ignored

    def _status(self, *options: str) -> dict[str, str]:
        """Git's two letters for each path that is not as the commit has it."""
        listing = run_git(
            self.root,
            "status",
            "--porcelain=v1",
            "-z",
            "--untracked-files=all",
            "--ignore-submodules=all",
            "--no-renames",
            *options,
            "--",
            ".",
            settings=self._without_filters(),
        )
        # Every entry is two letters, a blank, and the path from the repository's top.
        return {path[3:].removeprefix(self.prefix): path[:2] for path in _split(listing)}

    def unwatched(self) -> frozenset[str]:
        """Files that git is told to take for unchanged or not to look at, and that are others than the commit's."""
        listed = run_git(self.root, "ls-files", "-z", "-v", "--", ".")  # a letter, a blank, the path; few of thousands
        unwatched = sorted(os.fsdecode(path) for path in _UNWATCHED.findall(listed))
        there = [path for path in unwatched if (self.root / path).is_file()]
        if not there:
            return frozenset()
        committed = self.blobs(self.head())
        ids = run_git(self.root, "hash-object", "--", *there, settings=self._without_filters()).decode("ascii").split()
        return frozenset(path for path, id in zip(there, ids, strict=True) if committed.get(path) != id)

    def _without_filters(self) -> dict[str, str]:
        """Settings that put every content filter of the configuration out of use."""
        try:
            names = _paths(run_git(self.root, "config", "-z", "--name-only", "--get-regexp", r"^filter\."))
        except GitFailed:  # git config fails where no name matches
            return {}
        drivers = {name.rpartition(".")[0] for name in names}
        off = {"clean": "", "smudge": "", "process": "", "required": "false"}
        return {f"{driver}.{key}": value for driver in sorted(drivers) for key, value in off.items()}

    def blobs(self, commit: str | None) -> dict[str, str]:
        """Path → blob id of a commit's files, those of the shop's folder alone."""
        if commit is None:
            return {}
        try:
            listing = run_git(self.root, "ls-tree", "-r", "-z", "--full-tree", f"{commit}:{self.prefix}")
        except GitFailed:  # the folder was not there yet
            return {}
        entries = (entry.partition("\t") for entry in _split(listing))
        return {path: meta.split(" ")[2] for meta, _, path in entries}

    def _read_touches(self, head: str) -> dict[str, Touch]:
        present = self.blobs(head)
        newest: dict[str, Touch] = {}
        settled: dict[str, Touch] = {}
        for path, blob, touch in self.changes(head):
            newest.setdefault(path, touch)
            if blob == present.get(path, ""):
                settled.setdefault(path, touch)
        # No commit gives what is present only where history is cut or grafted: then the newest that touched it.
        return {path: settled.get(path, touch) for path, touch in sorted(newest.items())}

    def as_read(self, commit: str, touches: dict[str, Touch]) -> Repo:
        """The same, knowing the last touches at a commit already, or those of the paths that are asked for."""
        knowing = Repo(self.root, self.prefix)
        knowing._read_at, knowing._touches = commit, touches
        return knowing

    def changes(self, head: str, since: str | None = None) -> Iterator[tuple[str, str, Touch]]:
        """(path, blob that the change left there or nothing, commit), newest first, no parent before its children.

        `since`: a commit whose own history is left out.
        """
        ids = run_git(self.root, "rev-list", "--date-order", head, *((f"^{since}",) if since is not None else ()))
        listing = run_git(
            self.root,
            *("diff-tree", "--stdin", "--root", "-r", "-c", "-z", "--raw", "--no-abbrev", "--no-renames"),
            *("--no-ext-diff", "--no-textconv", "--relative", "--date=raw", f"--format={_COMMIT_LINE}", "--", "."),
            stdin=ids,
        )
        fields = iter(_split(listing))
        touch, nth = None, -1
        for field in fields:
            if field.startswith("\n:") or field.startswith(":"):
                blob = field.split(" ")[-2]  # what came out: the last of the blob ids, which end before the status
                if touch:
                    yield next(fields), blob if blob.strip("0") else "", touch
            elif field:
                nth += 1
                touch = Touch(field.strip("\n"), iso_date(next(fields)), iso_date(next(fields)), nth)


def _environment(settings: Mapping[str, str]) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name not in _NOT_INHERITED}
    kept |= {
        "LC_ALL": "C",
        "GIT_NO_LAZY_FETCH": "1",
        "GIT_NO_REPLACE_OBJECTS": "1",  # a replaced commit is not what was published
        "GIT_OPTIONAL_LOCKS": "0",  # the index is not rewritten, and no one who works there is held up
        "GIT_PAGER": "cat",
        "GIT_TERMINAL_PROMPT": "0",
        "GIT_CONFIG_COUNT": str(len(settings)),
    }
    for number, (name, value) in enumerate(settings.items()):
        kept |= {f"GIT_CONFIG_KEY_{number}": name, f"GIT_CONFIG_VALUE_{number}": value}
    return kept


def _split(listing: bytes) -> list[str]:
    return os.fsdecode(listing).split("\0")[:-1]


def _paths(listing: bytes) -> frozenset[str]:
    return frozenset(_split(listing))


def _is_under(path: str, wanted: set[str]) -> bool:
    """Whether a path is one of those wanted, or lies in a folder that is; whole names only, E1 holds nothing of E12."""
    steps = path.split("/")
    return any("/".join(steps[:length]) in wanted for length in range(len(steps) + 1))


def iso_date(raw: str) -> str:
    """git's raw date, seconds and offset (`1709164800 +0100`), as ISO 8601; what no calendar holds is the epoch."""
    try:
        seconds, offset = raw.strip("\n").split(" ")
        minutes = int(offset[-4:-2]) * 60 + int(offset[-2:])
        zone = timezone(timedelta(minutes=-minutes if offset.startswith("-") else minutes))
        return (_EPOCH + timedelta(seconds=int(seconds))).astimezone(zone).isoformat()
    except (ValueError, OverflowError):
        return _EPOCH.isoformat()
