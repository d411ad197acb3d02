"""The trail of every record: a repository in; who recorded it and when, and every amendment since, out.

An amendment is one field whose text was added, changed or removed after the record's first commit. It is told of the
commit in which it was written, once, whatever merges, picked commits and rebases did since. Nothing is guessed: a
history that is cut, a version that cannot be read, and text that a merge left out are said.

Git's author and dates are what the author's computer was told. The trail is a record, and no proof, unless signed.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from .amendments import Field, Kind, field_changes, merged_changes
from .commit_graph import CommitGraph
from .commits import ANYWHERE, CommitFacts, FileChange, read_commits, renames_in
from .drafts import drafts_in
from .exchanged_photos import exchanged_photos, place_of_photo
from .git import Repo
from .left_out import left_out_of
from .lineage import Lineage
from .load import record_kind
from .parsed import Kept, Version, parsed_versions
from .strands import Step, Strand, Turn
from .yaml_text import Plain

Commits = Sequence[tuple[CommitFacts, Sequence[FileChange]]]
_WITH_BARE_PLACES: Final = "build"  # the kind of sheet on which a place with nothing after it was fitted


class Amendment(Struct, frozen=True):
    """One field of one record, and the commit that amended it.

    record: the path that the record had then. field, kind, old, new, block, others, correction: as in `FieldChange`.
    again: other commits that brought the same amendment to another branch. left_out: the merge that did not keep it.
    """

    record: str
    field: Field
    kind: Kind
    old: str | None
    new: str | None
    block: Field
    others: tuple[str | None, ...]
    correction: tuple[str, ...]
    commit: CommitFacts
    again: tuple[str, ...] = ()
    left_out: CommitFacts | None = None

    @property
    def withheld(self) -> bool:
        """Whether a reader is not given its texts: all that is left is that it was made, and when."""
        return self.old is None and self.new is None


@dataclass(frozen=True, slots=True)
class RecordTrail:
    """One record through its commits, amendments and turns oldest first.

    path: where it lies, or lay last; paths: everywhere it ever lay. number, date: as its last readable version has
    them. recorded and last: its first and last commit, None where no commit holds it yet. here: whether it is in the
    newest commit. changed: whether the file differs from that commit. contents: every readable version; first: the one
    that it was recorded with, None where that cannot be read.
    """

    path: str
    kind: str
    number: str | None
    date: str | None
    recorded: CommitFacts | None
    last: CommitFacts | None
    here: bool
    changed: bool
    paths: tuple[str, ...] = ()
    amendments: tuple[Amendment, ...] = ()
    turns: tuple[Turn, ...] = ()
    contents: tuple[Plain, ...] = field(default=(), repr=False, compare=False)
    first: Plain = field(default=None, repr=False, compare=False)

    @property
    def before_cut(self) -> bool:
        """Whether it may be older than `recorded`, where the clone's history begins."""
        return self.recorded is not None and self.recorded.cut


class Trail(Struct, frozen=True):
    """Every record's trail, by path. head: the newest commit, or None before the first. shallow: the clone is cut."""

    records: tuple[RecordTrail, ...]
    head: str | None
    shallow: bool


def read_trail(
    repo: Repo, revision: str | None = None, *, kept: Kept | None = None, within: Sequence[str] = ANYWHERE
) -> Trail:
    """The trail up to a revision; without one up to what is checked out, with the files that differ from it.

    kept: keeps parsed versions from run to run. within: files and folders that count; what lay elsewhere begins where
    it came to one of them. Raises GitFailed.
    """
    head = repo.commit(revision or "HEAD")
    changed = (
        {path for path in drafts_in(repo) if record_kind(path) and _is_in(path, within)} if revision is None else set()
    )
    if head is None:
        return Trail(tuple(_not_recorded(changed)), None, shallow=False)
    everything = read_commits(repo, head, within)
    commits = [(commit, [one for one in all_ if record_kind(one.path)]) for commit, all_ in everything]
    others = {commit.id: [one for one in all_ if not record_kind(one.path)] for commit, all_ in everything}
    blobs = {blob: one.path for _, changes in commits for one in changes for blob in (one.old, one.new) if blob}
    versions = parsed_versions(repo.root, blobs, kept, shop=commits[0][0].id)
    graph = CommitGraph([(commit.id, commit.parents) for commit, _ in commits])
    lineage = Lineage(versions, graph, renames_in(repo, [*_with_moves(commits)], within))
    state = lineage.walk(commits, others)
    exchanged = exchanged_photos([commit for commit, _ in commits], lineage.photos, lineage.known)
    present = {lineage.known(held.record): (path, held.readable) for path, held in state.items() if held.blob}
    records = [
        _told(strand, present.get(number), changed, versions, graph, head, exchanged.get(number, ()))
        for number, strand in enumerate(lineage.strands)
        if lineage.known(number) == number
    ]
    records += _not_recorded(changed - {path for path, _ in present.values()})
    records.sort(key=lambda one: (one.path, not one.here, one.last is not None and -one.last.nth))
    return Trail(tuple(records), head, repo.is_shallow())


def _is_in(path: str, within: Sequence[str]) -> bool:
    return within == ANYWHERE or any(path == one or path.startswith(f"{one.rstrip('/')}/") for one in within)


def _with_moves(commits: Commits) -> Iterator[str]:
    """Commits in which something went and something came, which may be the same."""
    for commit, changes in commits:
        if commit.parents and any(not one.new for one in changes) and any(not one.old for one in changes):
            yield commit.id


def _not_recorded(paths: Iterable[str]) -> Iterator[RecordTrail]:
    for path in sorted(paths):
        yield RecordTrail(path, record_kind(path) or "", None, None, None, None, here=False, changed=True)


def _told(
    strand: Strand, there: tuple[str, str] | None, changed: set[str], versions: Mapping[str, Version],
    graph: CommitGraph, head: str, photos: Iterable[tuple[str, Turn]],
) -> RecordTrail:  # fmt: skip
    """`there`: where the newest commit has it, and its last readable version there, if any."""
    path, newest = there or (strand.turns[-1].path if strand.turns else next(reversed(strand.paths)), "")
    newest = newest or next(reversed(strand.blobs), "")
    number, day = (_text_of(versions[newest].data, key) if newest else None for key in ("sheet", "date"))
    steps = sorted(strand.steps, key=lambda step: -step.commit.nth)
    left_out = left_out_of(strand, head, graph)
    amendments = _once([one for step in steps for one in _amendments(step, versions, left_out)], graph)
    contents = tuple(versions[blob].data for blob in strand.blobs)
    turns = _turns_once([*strand.turns, *_named_photos(photos, contents)], graph)
    return RecordTrail(
        path, record_kind(path) or "", number, day, strand.recorded, strand.last, there is not None, path in changed,
        tuple(strand.paths), tuple(amendments), tuple(turns), contents,
        versions[strand.first].data if strand.first else None,
    )  # fmt: skip


def _named_photos(exchanged: Iterable[tuple[str, Turn]], contents: Sequence[Plain]) -> Iterator[Turn]:
    """The exchanges of what the record names as a photo: other files beside it are no part of it."""
    for name, turn in exchanged:
        field = place_of_photo(contents, name)
        if field is not None:
            yield replace(turn, field=field)


def _text_of(data: Plain, key: str) -> str | None:
    text = data.get(key) if isinstance(data, dict) else None
    return text if isinstance(text, str) else None


def _amendments(
    step: Step, versions: Mapping[str, Version], left_out: Callable[[Step, Field], CommitFacts | None]
) -> Iterator[Amendment]:
    bare = record_kind(step.path) == _WITH_BARE_PLACES
    olds, new = [versions[old].data for old in step.olds], versions[step.new].data
    changes = (
        field_changes(olds[0], new, bare_places=bare) if len(olds) == 1 else merged_changes(olds, new, bare_places=bare)
    )
    for one in changes:
        yield Amendment(
            step.path, one.field, one.kind, one.old, one.new, one.block, one.others, one.correction, step.commit,
            left_out=left_out(step, one.field),
        )  # fmt: skip


def _once(amendments: Sequence[Amendment], graph: CommitGraph) -> list[Amendment]:
    """A commit that was picked or rebased into another branch, and merged with it later, amends once.

    It bears the same author and the same author's date, and neither is of the other's past: what was taken back and
    picked once more was written twice.
    """
    found: list[Amendment] = []
    known: dict[tuple[object, ...], list[int]] = {}
    for one in amendments:
        of_it = known.setdefault((one.field, one.kind, one.old, one.new, *_written_by(one.commit)), [])
        same = next((at for at in of_it if _apart(found[at].commit, one.commit, graph)), None)
        if same is None:
            of_it.append(len(found))
            found.append(one)
        else:
            first = found[same]
            left_out = first.left_out if one.left_out is not None else None
            found[same] = replace(first, again=(*first.again, one.commit.id), left_out=left_out)
    return found


def _turns_once(turns: Sequence[Turn], graph: CommitGraph) -> list[Turn]:
    found: list[Turn] = []
    for one in sorted(turns, key=lambda turn: -turn.commit.nth):
        alike = (turn for turn in found if (turn.what, turn.path, turn.was) == (one.what, one.path, one.was))
        same = (turn for turn in alike if _written_by(turn.commit) == _written_by(one.commit))
        if not any(_apart(turn.commit, one.commit, graph) for turn in same):
            found.append(one)
    return found


def _written_by(commit: CommitFacts) -> tuple[str, str, str]:
    return commit.author, commit.email, commit.authored


def _apart(one: CommitFacts, other: CommitFacts, graph: CommitGraph) -> bool:
    """Whether two commits stand on branches of their own; `one` is the earlier in the list."""
    return one.id != other.id and not graph.is_before(one.id, other.id)
