"""Take in what the bench page hands over: a zip in, the sheet and its photos in their place and committed, out.

A draft that does not check yet, or whose sheet is there already with other figures, is kept in `inbox/` for the
builder: never refused, never published, never lost. The same zip again is answered by its content; a draft that still
waits in the inbox is judged anew then, as it lies, and put in its place once nothing keeps it out. What was removed
since is not brought back by its zip, since it may have been removed for good reason: the answer says how to do that.
"""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from ..records.git import GitFailed, repository_of
from ..records.load import photo_folder
from ..records.source import Problem
from ..records.tree import Folder, NoFile, NoTree
from ..records.yaml_text import read_document
from .draft_photos import ToPlace, to_place
from .filing import FilingError
from .handed_over import HandedOver, ZipRefusedError, read_handed_over
from .inbox import INBOX, MARK, PROBLEMS, Draft, draft_in, draft_of
from .judging import Judged, judged
from .on_disk import BusyError, ChangedError, Exchange, alone, put_and_commit
from .settling import LeantOn, in_shop, leant_on, put_in_place, why_text
from .taken_before import (
    Before,
    as_it_was,
    how_removed,
    is_such_a_sheet,
    last_commit,
    moved_to,
    taken_before,
    was_removed,
)

# What `take` raises.
TROUBLE: Final = (ZipRefusedError, FilingError, BusyError, ChangedError, GitFailed, NoFile, NoTree, OSError)

Outcome = Literal["taken in", "kept in the inbox", "already there", "removed since"]


class Taken(Struct, frozen=True):
    """What became of a zip: where its sheet lies, in which commit (None: the shop is no repository), its receipt and
    its engine, what was found, how it differs from the sheet that was there already, and what else is to be known."""

    outcome: Outcome
    path: str
    commit: str | None
    receipt: str
    engine: str
    problems: tuple[Problem, ...] = ()
    difference: str = ""
    note: str = ""

    @property
    def in_place(self) -> bool:
        """Whether the sheet lies among the engine's records: neither in the inbox, nor removed."""
        return self.outcome in ("taken in", "already there") and not self.path.startswith(f"{INBOX}/")


def take(shop: Path, data: bytes, today: date) -> Taken:
    """Take in one zip. Raises what TROUBLE names, and nothing was written then."""
    handed = read_handed_over(data)
    with alone(shop) as aside:
        tree = Folder(shop)
        _refuse_the_wrong_engine(shop, tree, handed)
        new = draft_of(handed)
        waits = draft_in(tree, new.folder)  # judged as it lies, with what was mended in it
        ready = to_place(shop, tree, waits, ()) if waits is not None else ToPlace(new, _lying_still(tree, new))
        before = taken_before(shop, f"{MARK}{handed.checksum}", (handed.sheet_path, new.sheet))
        if before is not None and waits is None and _was_cut_off(shop, tree, new, before):
            ready = replace(ready, draft=replace(new, files={new.sheet_path: tree.read(new.sheet_path)}))
        elif before is not None and waits is None and not _came_after(shop, tree, handed, before):
            return _known_again(shop, tree, handed, before)
        draft = ready.draft
        there, leant = in_shop(shop, tree, draft), leant_on(shop, tree, draft)
        if draft.sheet_path in there and there.items() <= draft.files.items():
            return _placed(shop, aside, tree, ready, leant, handed, (), again=True)  # a hand was killed before
        found = judged(tree, draft, there, today, along=leant.records)
        if found.stays_out:
            return _kept(shop, aside, tree, handed, found)
        return _placed(shop, aside, tree, ready, leant, handed, found.problems)


def _lying_still(tree: Folder, draft: Draft) -> dict[str, bytes]:
    """What lies in the inbox of a draft whose sheet does not: a hand that put it there was killed."""
    listed = set(tree.paths())
    wanted = {draft.lies(path): content for path, content in draft.files.items()}
    return {path: content for path, content in wanted.items() if path in listed and tree.read(path) == content}


def _refuse_the_wrong_engine(shop: Path, tree: Folder, handed: HandedOver) -> None:
    """An engine that is not there, or a sheet that says another than its folder, is no draft to be mended: it may be
    the wrong phone's."""
    if f"engines/{handed.engine}/engine.yml" not in tree.paths():
        raise ZipRefusedError(f"there is no engine {handed.engine} in {shop}")
    document, _ = read_document(handed.sheet_path, handed.sheet)
    written = document.data.get("engine") if isinstance(document.data, dict) else None
    if isinstance(written, str) and written != handed.engine:
        raise ZipRefusedError(f"the sheet is of engine {written!r}, and its folder is that of {handed.engine}")


def _was_cut_off(shop: Path, tree: Folder, new: Draft, before: Before) -> bool:
    """Whether a draft that waited lies in its place by now and in no commit: a hand was killed that settled it."""
    if before.path != new.sheet or before.path in tree.paths() or new.sheet_path not in tree.paths():
        return False
    repository = repository_of(shop)
    return repository is not None and new.sheet_path not in repository.in_commit()


def _came_after(shop: Path, tree: Folder, handed: HandedOver, before: Before) -> bool:
    """Whether what lies there is another, that came where a sheet was removed."""
    there = before.path in tree.paths() and was_removed(shop, before)
    return there and _moved(shop, tree, handed, before) is None


def _moved(shop: Path, tree: Folder, handed: HandedOver, before: Before) -> str | None:
    """Where a sheet that was taken in lies since it was moved, as to its right day; None where it was not."""
    path = moved_to(shop, before)
    return path if path in tree.paths() and path is not None and is_such_a_sheet(path, handed.sheet_path) else None


def _known_again(shop: Path, tree: Folder, handed: HandedOver, before: Before) -> Taken:
    """The same content, taken in by an earlier commit, whatever the builder has changed in it since."""
    listed, sheet = tree.paths(), handed.sheet_path
    waited = draft_of(handed).folder
    settled = f"it waited in {waited}, and was settled since"
    moved = _moved(shop, tree, handed, before)
    if moved is not None:
        note = f"it was moved there from {sheet}" if before.path == sheet else settled
        return Taken("already there", moved, last_commit(shop, moved), handed.receipt, handed.engine, note=note)
    if before.path in listed:
        return Taken("already there", before.path, before.commit, handed.receipt, handed.engine)
    if sheet in listed and as_it_was(shop, before.commit, sheet) != tree.read(sheet):
        return Taken("already there", sheet, before.commit, handed.receipt, handed.engine, note=settled)
    places = [sheet, photo_folder(handed.kind, sheet)]
    if before.path != sheet:
        places = [waited]
    elif handed.kind == "teardown":
        places = places[1:]  # the sheet lies in it
    elif len(handed.files) == 1:
        places = places[:1]
    note = how_removed(shop, before.path, places)
    return Taken("removed since", before.path, before.commit, handed.receipt, handed.engine, note=note)


def _placed(
    shop: Path, aside: Path, tree: Folder, ready: ToPlace, leant: LeantOn, handed: HandedOver,
    problems: Sequence[Problem], *, again: bool = False,
) -> Taken:  # fmt: skip
    draft = ready.draft
    done = put_in_place(shop, aside, tree, ready, leant, _message(draft, handed))
    commit = done or last_commit(shop, draft.sheet_path)
    outcome: Outcome = "already there" if again else "taken in"
    return Taken(outcome, draft.sheet_path, commit, handed.receipt, handed.engine, tuple(problems))


def _kept(shop: Path, aside: Path, tree: Folder, handed: HandedOver, found: Judged) -> Taken:
    """The draft in a folder of its own in the inbox, with what is to be settled beside it.

    What the builder has changed in a draft that waits there already stays; what is to be settled is written anew.
    """
    listed, draft = frozenset(tree.paths()), draft_of(handed)
    wanted = {draft.lies(path): content for path, content in draft.files.items()}
    files = {path: one for path, one in wanted.items() if path not in listed or tree.read(path) == one}
    beside, why = f"{draft.folder}/{PROBLEMS}", why_text(found)
    changed = {beside: Exchange(tree.read(beside), why)} if beside in listed else {}
    new = files if changed else {**files, beside: why}
    done = put_and_commit(shop, aside, new, draft.sheet, _message(draft, handed, ", to be settled"), changed)
    outcome: Outcome = "already there" if draft.sheet in listed else "kept in the inbox"
    commit = done or last_commit(shop, draft.sheet)
    note = f"once that is settled there: engine-pages file {draft.folder}"
    return Taken(outcome, draft.sheet, commit, handed.receipt, handed.engine, found.in_inbox, found.difference, note)


def _message(draft: Draft, handed: HandedOver, more: str = "") -> str:
    return f"{draft.message(more)}\n\n{MARK}{handed.checksum}\n"


def taken_text(taken: Taken, zip_name: str) -> str:
    """What became of a zip, for the person who took it in; the receipt last, since that is typed in on the phone."""
    where = f"{taken.path}, commit {taken.commit}" if taken.commit else f"{taken.path}, in no commit"
    lines = [f"{zip_name}: {taken.outcome}: {where}", *(f"  {problem}" for problem in taken.problems)]
    lines += [text for text in (taken.difference, taken.note) if text]
    return "\n".join([*lines, f"receipt: {taken.receipt}"])
