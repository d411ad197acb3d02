"""What publishing wants of git's history, carried on from commit to commit: last touches, and what was once crew only.

In: what was known at a commit before, as plain JSON, and the commit now. Out: the same at this commit. Where one commit
after the other was made on top of what is known, only these are read; else, as after a merge, everything.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from msgspec import Struct, field

from .git import GitFailed, Repo, Touch, read_blobs, run_git

Piece = tuple[str, ...]
Crew = Callable[[str, bytes], Iterable[Piece]]  # (path, content) → what it keeps for the crew


class KeptHistory(Struct):
    """History up to `head`: commits that touched the shop, the first first, each (id, author date, commit date).

    `touched`: by path the number of the commit that gave it its content, or took it away. `crew`: by path what any
    version of it kept for the crew. `gone`: paths of records that a commit ever took away, or that are not there.
    `photos`: by path git's names for all that an engine's photo, or what else is no record of it, ever was.
    """

    head: str = ""
    commits: list[tuple[str, str, str]] = field(default_factory=list)
    touched: dict[str, int] = field(default_factory=dict)
    crew: dict[str, list[Piece]] = field(default_factory=dict)
    gone: frozenset[str] = frozenset()
    photos: dict[str, list[str]] = field(default_factory=dict)

    def touches(self, paths: Iterable[str]) -> dict[str, Touch]:
        """The last touches of some paths, all of which have one."""
        last = len(self.commits) - 1
        return {path: Touch(*self.commits[nth], last - nth) for path in paths for nth in (self.touched[path],)}

    def to_json(self) -> bytes:
        told: dict[str, Any] = {"head": self.head, "commits": self.commits, "touched": self.touched, "crew": self.crew}
        told |= {"gone": sorted(self.gone), "photos": self.photos}
        return json.dumps(told, separators=(",", ":")).encode("ascii")


def from_json(written: bytes) -> KeptHistory:
    """What `to_json` wrote."""
    told: dict[str, Any] = json.loads(written)
    crew = {path: [tuple(piece) for piece in kept] for path, kept in told["crew"].items()}
    commits = [(a, b, c) for a, b, c in told["commits"]]
    return KeptHistory(told["head"], commits, told["touched"], crew, frozenset(told["gone"]), told["photos"])


CUT: Final = "this clone's history is cut: fetch it whole (git fetch --unshallow)"
PARTIAL: Final = "this clone leaves earlier versions out: what was once crew only is not known; clone it whole"


def history_at(
    repo: Repo, commit: str, before: KeptHistory | None, is_record: Callable[[str], bool], crew: Crew
) -> KeptHistory:
    """The history up to a commit; `is_record`: of which paths every version is looked into.

    GitFailed, also for a clone that does not hold all of it: nobody could say what was once crew only.
    """
    if repo.is_shallow():
        raise GitFailed(CUT)
    if before is not None and before.head == commit:
        return before
    if before is None or repo.commit(before.head) is None or not _lies_under(repo, before.head, commit):
        return _whole(repo, commit, is_record, crew)
    changes = list(repo.changes(commit, before.head))
    return _carried_on(repo, commit, before, changes, is_record, crew)


def _lies_under(repo: Repo, before: str, commit: str) -> bool:
    """Whether commits from one to the other stand on top of each other, with no merge between."""
    listing = run_git(repo.root, "rev-list", "--parents", "--topo-order", f"{before}..{commit}").decode("ascii")
    expected = commit
    for line in listing.splitlines():
        one, *parents = line.split(" ")
        if one != expected or len(parents) != 1:
            return False
        expected = parents[0]
    return expected == before


def _whole(repo: Repo, commit: str, is_record: Callable[[str], bool], crew: Crew) -> KeptHistory:
    changes = list(repo.changes(commit))
    touches = repo.last_touches(commit)
    commits = _first_first(changes)
    number = {id: n for n, (id, _, _) in enumerate(commits)}
    kept = KeptHistory(commit, commits)
    kept.touched = {path: number[touch.commit] for path, touch in touches.items()}
    kept.crew = dict(_crew_of(repo, changes, is_record, crew, {}))
    kept.photos = _photos(changes, {})
    kept.gone = _taken_away(changes, is_record) | (kept.crew.keys() - repo.blobs(commit).keys())
    return kept


def _carried_on(
    repo: Repo, commit: str, before: KeptHistory, changes: Sequence[tuple[str, str, Touch]],
    is_record: Callable[[str], bool], crew: Crew,
) -> KeptHistory:  # fmt: skip
    new = _first_first(changes)
    number = {id: len(before.commits) + n for n, (id, _, _) in enumerate(new)}
    touched = dict(before.touched)
    for path, _, touch in reversed(changes):
        touched[path] = number[touch.commit]
    kept = before.crew | dict(_crew_of(repo, changes, is_record, crew, before.crew))
    gone = before.gone | _taken_away(changes, is_record)
    photos = _photos(changes, before.photos)
    return KeptHistory(commit, [*before.commits, *new], touched, kept, gone, photos)


def _photos(changes: Iterable[tuple[str, str, Touch]], before: Mapping[str, list[str]]) -> dict[str, list[str]]:
    found = dict(before)
    for path, blob, _ in changes:
        if blob and path.startswith("engines/") and not path.endswith(".yml"):
            found[path] = sorted({*found.get(path, ()), blob})
    return found


def _taken_away(changes: Iterable[tuple[str, str, Touch]], is_record: Callable[[str], bool]) -> frozenset[str]:
    return frozenset(path for path, blob, _ in changes if not blob and is_record(path))


def _first_first(changes: Iterable[tuple[str, str, Touch]]) -> list[tuple[str, str, str]]:
    """The commits of changes, the first first."""
    commits = {(touch.nth, touch.commit, touch.authored, touch.committed) for _, _, touch in changes}
    return [(id, authored, committed) for _, id, authored, committed in sorted(commits, reverse=True)]


def _crew_of(
    repo: Repo, changes: Iterable[tuple[str, str, Touch]], is_record: Callable[[str], bool], crew: Crew,
    before: Mapping[str, list[Piece]],
) -> Iterator[tuple[str, list[Piece]]]:  # fmt: skip
    """What these versions kept for the crew, with what was known of their paths."""
    blobs: dict[str, dict[str, None]] = {}
    for path, blob, _ in changes:
        if blob and is_record(path):
            blobs.setdefault(path, {})[blob] = None
    contents = _contents(repo, {blob for ids in blobs.values() for blob in ids})
    for path, ids in blobs.items():
        found = dict.fromkeys(before.get(path, ()))
        for blob in ids:
            found.update(dict.fromkeys(crew(path, contents[blob])))
        if found:
            yield path, sorted(found)


def _contents(repo: Repo, blobs: set[str]) -> Mapping[str, bytes]:
    """The bytes of all these blobs. GitFailed where the clone leaves out any."""
    try:
        contents = read_blobs(repo.root, blobs) if blobs else {}
    except GitFailed as trouble:  # git before 2.45 tries to fetch, which it may not
        raise GitFailed(PARTIAL if "promisor" in str(trouble) else str(trouble)) from trouble
    if blobs - contents.keys():
        raise GitFailed(PARTIAL)
    return contents
