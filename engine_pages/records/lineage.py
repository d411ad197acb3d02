"""Which file of which commit is which record: commits and parsed versions in, one strand of versions a record out.

A record keeps its name through moves: it is known again by its `sheet` number and by where it lies, also where a move
takes two commits, where a branch recorded it too, and where it was gone and came back. A number is its engine's own:
from one engine to another a file moves within one commit or not at all.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from functools import partial

from .commit_graph import CommitGraph
from .commits import CommitFacts, FileChange
from .exchanged_photos import PhotoChange, beside_sheets, photos_in
from .left_out import Side, note_left_out
from .load import record_kind
from .moved_files import folder_of, moved_files
from .parsed import Version
from .strands import Held, Number, State, Step, Strand, Turn

OtherFiles = Mapping[str, Sequence[FileChange]]  # by commit
Renames = Mapping[str, Mapping[str, str]]  # commit → new path → old path
_SHEETS = ("build", "inspection", "teardown")


class Lineage:
    """Walks the commits once, oldest first, and knows at each which file is which record."""

    def __init__(self, versions: Mapping[str, Version], graph: CommitGraph, renames: Renames) -> None:
        self.strands: list[Strand] = []
        self._versions, self._graph, self._renames = versions, graph, renames
        self.photos: dict[str, list[PhotoChange]] = {}
        self._states: dict[str, State] = {}
        self._same_as: dict[int, int] = {}
        self._twins: defaultdict[int, list[int]] = defaultdict(list)
        self._of_number: dict[Number, int] = {}
        self._of_path: dict[str, int] = {}
        self._touched: defaultdict[str, set[int]] = defaultdict(set)

    def walk(self, commits: Sequence[tuple[CommitFacts, Sequence[FileChange]]], others: OtherFiles) -> State:
        """Fills `strands` and, by commit, `photos`; gives the state at the last commit. `others`: no record files."""
        children = Counter(parent for commit, _ in commits for parent in commit.parents)
        ids = [commit.id for commit, _ in commits]
        state: State = {}
        for commit, changes in commits:
            parents = [one for one in commit.parents if one in self._states]
            states = [self._states[one] for one in parents]
            sides = self._sides(commit, states, ids) if len(states) > 1 else []
            updates = self._updates(commit, changes, states)
            beside = [*beside_sheets(others.get(commit.id, ()))]
            before = {sheet: states[0].get(sheet) for _, sheet in beside} if states else {}
            state = self._taken(parents[0], children) if parents else {}
            _apply(updates, state)
            if beside:
                self.photos[commit.id] = [*photos_in(beside, before, state)]
            for parent in parents:
                children[parent] -= 1
                if not children[parent]:
                    del self._states[parent]
            self._states[commit.id] = state
            if sides:
                found = partial(self._found, state)
                self._touched[commit.id].update(note_left_out(commit, sides, self.strands, found, self._versions))
        return state

    def known(self, record: int) -> int:
        """The record that a strand belongs to: itself, but for a second file that turned out to be another's move."""
        while record in self._same_as:
            record = self._same_as[record]
        return record

    def _taken(self, parent: str, children: Counter[str]) -> State:
        """The first parent's state to go on with: itself where nobody else will ask for it."""
        return self._states[parent] if children[parent] == 1 else dict(self._states[parent])

    def _sides(self, merge: CommitFacts, states: list[State], ids: list[str]) -> list[Side]:
        """Of each side of a merge, the records that its own commits touched, as that side holds them."""
        found = []
        parents = [one for one in merge.parents if one in self._states]
        for parent, state, places in zip(parents, states, self._graph.sides(merge.id), strict=True):
            commits = frozenset(ids[at] for at in places)
            touched = {self.known(record) for one in commits for record in self._touched.get(one, ())}
            holdings = ((record, self._found(state, record)) for record in sorted(touched))
            found += [Side(record, parent, held, commits) for record, held in holdings if held is not None]
        return found

    def _updates(
        self, commit: CommitFacts, changes: Sequence[FileChange], states: list[State]
    ) -> dict[str, Held | None]:
        """What the commit makes of each path; a merge's agreement with any parent is that parent's doing."""
        updates: dict[str, Held | None] = {}
        gone: dict[str, Held] = {}
        come: dict[str, str] = {}
        for path, new in ((change.path, change.new) for change in changes):
            agreeing = [state.get(path) for state in states[1:] if _blob(state.get(path)) == new]
            was = next((state[path] for state in states if _blob(state.get(path))), None)
            if agreeing:
                updates[path] = agreeing[0]
            elif was is not None and new and not self._another_number(path, was.readable, new):
                updates[path] = self._amended(commit, was.record, path, states, new)
            else:
                if was is not None:
                    gone[path] = was
                if new:
                    come[path] = new
        if gone or come:
            self._moves(commit, gone, come, states, updates)
        return updates

    def _moves(
        self, commit: CommitFacts, gone: dict[str, Held], come: dict[str, str], states: list[State],
        updates: dict[str, Held | None],
    ) -> None:  # fmt: skip
        """Settles what went and what came."""
        went = {path: self._number(path, held.readable) for path, held in gone.items()}
        came = {path: self._number(path, blob) for path, blob in come.items()}
        updates |= dict.fromkeys(gone)
        for old, new in moved_files(went, came, self._renames.get(commit.id, {})):
            record = self.known(gone.pop(old).record)
            if old != new:
                self.strands[record].turns.append(Turn("moved", commit, new, old))
            updates[new] = self._amended(commit, record, new, states, come.pop(new))
        for path, held in sorted(gone.items()):
            left = self._left(commit, path, held, states[0])
            updates[path] = left if updates[path] is None else updates[path]
        for path, blob in sorted(come.items()):
            updates[path] = self._arrived(commit, path, blob, states)

    def _amended(self, commit: CommitFacts, record: int, path: str, states: list[State], blob: str) -> Held:
        """One more version of a record. One that cannot be read changes nothing; the next is held against the last.

        What a branch recorded that knew nothing of the record is held against what was recorded first.
        """
        record = self.known(record)
        strand = self.strands[record]
        there = [held for held in (self._found(state, record) for state in states) if held is not None]
        there = [held for held in there if held.blob] or there
        befores = [held.readable for held in there] or [strand.first]
        olds = tuple(dict.fromkeys(before for before in befores if before))
        self._note(commit, record, path)
        if self._versions[blob].trouble:
            strand.turns.append(Turn("unreadable", commit, path, why=self._versions[blob].trouble))
            return Held(blob, record, olds[0] if olds else "")
        strand.blobs.pop(blob, None)  # what a revert brings back is the newest once more
        strand.blobs[blob] = None
        if olds and blob not in olds:
            strand.steps.append(Step(commit, path, olds, blob))
        self._renumber(record, self._numbered(path, blob))
        return Held(blob, record, blob)

    def _left(self, commit: CommitFacts, path: str, held: Held, state: State) -> Held | None:
        """What went and came nowhere: removed, or moved in two commits, the new file first."""
        record = self.known(held.record)
        strand = self.strands[record]
        self._note(commit, record, path)
        for twin in self._twins.pop(record, ()):
            where = next((one for one in self.strands[twin].paths if _blob(state.get(one))), None)
            if where is not None and self.known(state[where].record) == twin:
                strand.turns.append(Turn("moved", commit, where, path))
                self._join(twin, record)
                return None
        strand.turns.append(Turn("removed", commit, path))
        return Held("", record, held.readable)

    def _arrived(self, commit: CommitFacts, path: str, blob: str, states: list[State]) -> Held:
        """What came and went nowhere: a new record, one that was gone, or one that another branch recorded too."""
        number = self._numbered(path, blob)
        record = self._of_number.get(number) if number else None
        if record is None and path in self._of_path:
            before = self.known(self._of_path[path])
            record = before if not (number and self.strands[before].number) else None
        holdings = [self._found(state, record) for state in states] if record is not None else []
        if record is None or any(held is not None and held.blob for held in holdings):
            return self._new(commit, path, blob, record if number else None, states)
        if any(holdings):
            self.strands[record].turns.append(Turn("restored", commit, path))
        return self._amended(commit, record, path, states, blob)

    def _new(self, commit: CommitFacts, path: str, blob: str, beside: int | None, states: list[State]) -> Held:
        """A record's first version. `beside`: the record of the same number, where that still stands."""
        record = len(self.strands)
        strand = Strand(commit, commit, {path: None})
        self.strands.append(strand)
        self._note(commit, record, path)
        trouble = self._versions[blob].trouble
        if trouble:
            strand.turns.append(Turn("unreadable", commit, path, why=trouble))
        else:
            strand.blobs[blob], strand.first = None, blob
        if beside is not None:
            other = next(held for held in (self._found(state, beside) for state in states) if held is not None)
            olds = (other.readable,) if other.readable and not trouble else ()
            strand.beside = Step(commit, path, olds, blob)
            self._twins[beside].append(record)
        elif not trouble:
            self._renumber(record, self._numbered(path, blob))
        return Held(blob, record, "" if trouble else blob)

    def _join(self, twin: int, record: int) -> None:
        """A second file of one number turns out to be the record itself, moved in two commits."""
        one, other = self.strands[record], self.strands[twin]
        if other.beside is not None and other.beside.olds:
            one.steps.append(other.beside)
        one.steps += other.steps
        one.turns += other.turns
        one.paths |= other.paths
        one.blobs |= other.blobs
        one.closed |= other.closed
        self._same_as[twin] = record

    def _found(self, state: State, record: int) -> Held | None:
        """What a state holds of a record, wherever it lies there; what stands before what is gone."""
        there = [state[path] for path in self.strands[record].paths if path in state]
        own = [held for held in there if self.known(held.record) == record]
        return next((held for held in own if held.blob), own[0] if own else None)

    def _note(self, commit: CommitFacts, record: int, path: str) -> None:
        strand = self.strands[record]
        strand.last = commit
        strand.paths[path] = None
        self._touched[commit.id].add(record)
        self._of_path[path] = record

    def _renumber(self, record: int, number: Number | None) -> None:
        strand = self.strands[record]
        if strand.number and strand.number != number:
            self._of_number.pop(strand.number, None)
        strand.number = number
        if number:
            self._of_number[number] = record

    def _numbered(self, path: str, blob: str) -> Number | None:
        number = self._number(path, blob)
        return (folder_of(path), number) if number else None

    def _number(self, path: str, blob: str) -> str | None:
        """The number that a sheet bears: it stays the same sheet when its date is corrected."""
        if not blob or record_kind(path) not in _SHEETS:
            return None
        data = self._versions[blob].data
        number = data.get("sheet") if isinstance(data, dict) else None
        return number if isinstance(number, str) and number else None

    def _another_number(self, path: str, before: str, after: str) -> bool:
        one, other = self._number(path, before), self._number(path, after)
        return bool(one and other and one != other)


def _blob(held: Held | None) -> str:
    return held.blob if held is not None else ""


def _apply(updates: Mapping[str, Held | None], state: State) -> None:
    for path, held in updates.items():
        if held is None:
            state.pop(path, None)
        else:
            state[path] = held
