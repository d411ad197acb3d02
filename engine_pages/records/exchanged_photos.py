"""Which photos became another picture under the same name: files beside sheets, commit by commit, in; turns out.

No picture is looked at: git names the bytes. A photo is known by its sheet and its name in the sheet's folder, also
where the sheet moved, and where it was gone for a while. It is told of the commit that exchanged it; what a merge
brought is the other side's doing, and what a merge did not keep is no exchange of what stands.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from .amendments import Field
from .commits import CommitFacts, FileChange
from .load import sheet_beside
from .strands import PHOTO_EXCHANGED, Held, State, Turn
from .yaml_text import Plain


class PhotoChange(NamedTuple):
    """A photo as one commit holds it: its record, its name beside the sheet, its bytes before and after, by blob ids.

    `old`: as the commit's first parent has it at this path, empty where that has none, or has another sheet there.
    """

    record: int
    name: str
    path: str
    old: str
    new: str


class _Shown(NamedTuple):
    """What a commit has under a photo's name, and the exchanges on the way to it."""

    blob: str
    turns: tuple[Turn, ...] = ()


_Photo = tuple[int, str]


def beside_sheets(changes: Iterable[FileChange]) -> Iterator[tuple[FileChange, str]]:
    """The files that came or changed in the photo folders of sheets, each with where its sheet stands."""
    for one in changes:
        sheet = sheet_beside(one.path) if one.new else None
        if sheet is not None:
            yield one, sheet


def photos_in(
    beside: Iterable[tuple[FileChange, str]], before: Mapping[str, Held | None], state: State
) -> Iterator[PhotoChange]:
    """What one commit did beside sheets. `before`, `state`: what its first parent, and it, hold where sheets stand."""
    for one, sheet in beside:
        held, was = state.get(sheet), before.get(sheet)
        if held is not None:
            name = one.path.removeprefix(f"{sheet.removesuffix('/teardown.yml').removesuffix('.yml')}/")
            anothers = was is not None and was.record != held.record
            yield PhotoChange(held.record, name, one.path, "" if anothers else one.old, one.new)


def exchanged_photos(
    commits: Sequence[CommitFacts], changes: Mapping[str, Sequence[PhotoChange]], known: Callable[[int], int]
) -> dict[int, list[tuple[str, Turn]]]:
    """By record the names of its photos that were exchanged, each with its turn, as the last commit has them.

    commits: parents first. changes: by commit. known: the record that a strand belongs to.
    """
    blobs: defaultdict[_Photo, set[str]] = defaultdict(set)
    for one in (one for of_commit in changes.values() for one in of_commit):
        blobs[known(one.record), one.name].update(blob for blob in (one.old, one.new) if blob)
    wanted = {photo for photo, found in blobs.items() if len(found) > 1}
    found: dict[int, list[tuple[str, Turn]]] = {}
    if wanted:
        for (record, name), shown in _walked(commits, changes, known, wanted).items():
            found.setdefault(record, []).extend((name, turn) for turn in shown.turns)
    return found


def _walked(
    commits: Sequence[CommitFacts], changes: Mapping[str, Sequence[PhotoChange]], known: Callable[[int], int],
    wanted: set[_Photo],
) -> dict[_Photo, _Shown]:  # fmt: skip
    """The wanted photos as the last commit has them. Only those that ever differed are carried along."""
    children = Counter(parent for commit in commits for parent in commit.parents)
    states: dict[str, dict[_Photo, _Shown]] = {}
    first: dict[_Photo, _Shown] = {}
    state: dict[_Photo, _Shown] = {}
    for commit in commits:
        ids = [one for one in commit.parents if one in states]
        parents = [states[one] for one in ids]
        state = {} if not ids else parents[0] if children[ids[0]] == 1 else dict(parents[0])
        for one in changes.get(commit.id, ()):
            photo = known(one.record), one.name
            if photo in wanted:
                state[photo] = _after(commit, one, _befores(one, photo, parents, first))
                first.setdefault(photo, _Shown(one.new))
        for parent in ids:
            children[parent] -= 1
            if not children[parent]:
                del states[parent]
        states[commit.id] = state
    return state


def _befores(
    one: PhotoChange, photo: _Photo, parents: Sequence[Mapping[_Photo, _Shown]], first: Mapping[_Photo, _Shown]
) -> list[_Shown]:
    """What each parent has under the name. What a branch brought that knew nothing of the photo is held against what
    was there first, as its sheet is."""
    found = [parent[photo] for parent in parents if photo in parent]
    if one.old and not any(shown.blob == one.old for shown in found):  # it lay there before its sheet did
        found.insert(0, _Shown(one.old))
    return found or ([first[photo]] if photo in first else [])


def _after(commit: CommitFacts, one: PhotoChange, befores: Sequence[_Shown]) -> _Shown:
    same = [shown for shown in befores if shown.blob == one.new]
    turns = dict.fromkeys(turn for shown in same or befores for turn in shown.turns)
    if befores and not same:
        turns[Turn(PHOTO_EXCHANGED, commit, one.path)] = None
    return _Shown(one.new, tuple(turns))


def place_of_photo(contents: Sequence[Plain], name: str) -> Field | None:
    """Where a sheet names a photo, by its newest version that does; None where none ever did: it is no photo then."""
    for content in reversed(contents):
        for field, file in _named(content):
            if file == name:
                return field
    return None


def _named(sheet: Plain) -> Iterator[tuple[Field, Any]]:
    if not isinstance(sheet, dict):
        return
    places = sheet.get("positions")
    of_places = places.items() if isinstance(places, dict) else ()
    for steps, line in ((), sheet), *((("positions", str(key)), line) for key, line in of_places):
        photos = line.get("photos") if isinstance(line, dict) else None
        for one in photos if isinstance(photos, list) else ():
            if isinstance(one, dict) and isinstance(one.get("file"), str):
                yield (*steps, "photos", one["file"]), one["file"]
