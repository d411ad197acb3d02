"""Take in what the bench page hands over: a zip in, the sheet and its photos in their place and committed, out.

A draft that does not check yet, or whose sheet is there already with other figures, is kept in `inbox/` for the
builder: never refused, never published, never lost. The same zip again is answered by its content; a draft that still
waits in the inbox is judged anew then, and taken in once nothing keeps it out. What was taken in and removed since is
not brought back by its zip, since it may have been removed for good reason: the answer says how to bring it back.
"""

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final, Literal

from ..records.git import GitFailed
from ..records.load import photo_folder
from ..records.source import Problem, Source, error
from ..records.tree import Folder, NoFile, NoTree
from ..records.yaml_text import read_document
from .as_it_would_be import problems_with
from .handed_over import HandedOver, ZipRefusedError, read_handed_over
from .inbox import INBOX, PROBLEMS, SHEET, draft_of, folder_of
from .on_disk import BusyError, ChangedError, Exchange, alone, put_and_commit
from .taken_before import Before, deleted_only_in_folder, how_removed, last_commit, taken_before, was_removed

MARK: Final = "Handed-over: sha256:"  # in the commit's message, by which the same zip is known again

TROUBLE: Final = (ZipRefusedError, BusyError, ChangedError, GitFailed, NoFile, NoTree, OSError)  # what `take` raises

Outcome = Literal["taken in", "kept in the inbox", "already there", "removed since"]


@dataclass(frozen=True, slots=True)
class Taken:
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
        waits = f"{folder_of(handed)}/{SHEET}"
        before = taken_before(shop, f"{MARK}{handed.checksum}", (handed.sheet_path, waits))
        if before is not None and not _is_to_be_judged(shop, tree, before, waits):
            return _known_again(shop, tree, handed, before)
        there = _there(shop, tree, handed)
        if handed.sheet_path in there and there.items() <= handed.files.items():
            return _placed(shop, aside, handed, (), again=True)  # an earlier hand was killed before it committed
        problems = (*_in_the_way(handed, there), *problems_with(tree, handed.files, today))
        if handed.sheet_path in there or any(problem.level == "error" for problem in problems):
            return _kept(shop, aside, tree, handed, problems, _difference(tree, handed, there.get(handed.sheet_path)))
        note = f"the draft that waited in {folder_of(handed)} can go" if waits in tree.paths() else ""
        return _placed(shop, aside, handed, problems, note=note)


def _refuse_the_wrong_engine(shop: Path, tree: Folder, handed: HandedOver) -> None:
    """An engine that is not there, or a sheet that says another than its folder, is no draft to be mended: it may be
    the wrong phone's."""
    if f"engines/{handed.engine}/engine.yml" not in tree.paths():
        raise ZipRefusedError(f"there is no engine {handed.engine} in {shop}")
    document, _ = read_document(handed.sheet_path, handed.sheet)
    written = document.data.get("engine") if isinstance(document.data, dict) else None
    if isinstance(written, str) and written != handed.engine:
        raise ZipRefusedError(f"the sheet is of engine {written!r}, and its folder is that of {handed.engine}")


def _is_to_be_judged(shop: Path, tree: Folder, before: Before, waits: str) -> bool:
    """Whether what lies there has to be looked at again: a draft that waits, or what came where a sheet was removed."""
    return before.path in tree.paths() and (before.path == waits or was_removed(shop, before))


def _known_again(shop: Path, tree: Folder, handed: HandedOver, before: Before) -> Taken:
    """The same content, taken in by an earlier commit, whatever the builder has changed in it since."""
    listed = tree.paths()
    if before.path in listed:
        return Taken("already there", before.path, before.commit, handed.receipt, handed.engine)
    if handed.sheet_path in listed:
        note = f"it waited in {folder_of(handed)}, and was settled since"
        return Taken("already there", handed.sheet_path, before.commit, handed.receipt, handed.engine, note=note)
    places = [handed.sheet_path, photo_folder(handed.kind, handed.sheet_path)]
    if before.path != handed.sheet_path:
        places = [folder_of(handed)]
    elif handed.kind == "teardown":
        places = places[1:]  # the sheet lies in it
    elif len(handed.files) == 1:
        places = places[:1]
    note = how_removed(shop, before.path, places)
    return Taken("removed since", before.path, before.commit, handed.receipt, handed.engine, note=note)


def _there(shop: Path, tree: Folder, handed: HandedOver) -> dict[str, bytes]:
    """What the shop holds where the zip's files belong: in the folder or, deleted there alone, in git."""
    listed = frozenset(tree.paths())
    in_folder = {path: tree.read(path) for path in handed.files if path in listed}
    return in_folder | deleted_only_in_folder(shop, [path for path in handed.files if path not in listed])


def _in_the_way(handed: HandedOver, there: Mapping[str, bytes]) -> list[Problem]:
    """Photos that are there by the name of one that was handed over, and are others."""
    photos = [path for path in sorted(there) if path != handed.sheet_path and there[path] != handed.files[path]]
    message = "another photo has this name already; give one of them another, in its sheet too"
    return [error(Source(path, 1, 1), message) for path in photos]


def _placed(
    shop: Path, aside: Path, handed: HandedOver, problems: Sequence[Problem], *, again: bool = False, note: str = ""
) -> Taken:
    done = put_and_commit(shop, aside, handed.files, handed.sheet_path, _message(handed))
    commit = done or last_commit(shop, handed.sheet_path)
    outcome: Outcome = "already there" if again else "taken in"
    return Taken(outcome, handed.sheet_path, commit, handed.receipt, handed.engine, tuple(problems), note=note)


def _kept(
    shop: Path, aside: Path, tree: Folder, handed: HandedOver, problems: Sequence[Problem], difference: str
) -> Taken:
    """The draft in a folder of its own in the inbox, with what is to be settled beside it.

    What the builder has changed in a draft that waits there already stays; what is to be settled is written anew.
    """
    listed = frozenset(tree.paths())
    files = {path: one for path, one in draft_of(handed).items() if path not in listed or tree.read(path) == one}
    sheet, beside = f"{folder_of(handed)}/{SHEET}", f"{folder_of(handed)}/{PROBLEMS}"
    why = ("\n".join([*([difference] if difference else []), *map(str, problems)]) + "\n").encode()
    changed = {beside: Exchange(tree.read(beside), why)} if beside in listed else {}
    new = files if changed else {**files, beside: why}
    done = put_and_commit(shop, aside, new, sheet, _message(handed, ", to be settled"), changed)
    outcome: Outcome = "already there" if sheet in listed else "kept in the inbox"
    commit = done or last_commit(shop, sheet)
    return Taken(outcome, sheet, commit, handed.receipt, handed.engine, tuple(problems), difference)


def _message(handed: HandedOver, more: str = "") -> str:
    return f"{handed.engine}: {handed.kind} of {handed.name}{more}\n\n{MARK}{handed.checksum}\n"


def _difference(tree: Folder, handed: HandedOver, old: bytes | None) -> str:
    """Line by line, what the sheet that was handed over has otherwise than the one that is there; empty where there is
    none."""
    if old is None:
        return ""
    path = handed.sheet_path
    where = "is there already" if path in tree.paths() else "is in git, though deleted in the folder"
    there, new = (text.decode("utf-8", "replace").splitlines() for text in (old, handed.sheet))
    lines = list(difflib.unified_diff(there, new, path, "handed over", lineterm="", n=1)) or ["its photos differ"]
    return "\n".join([f"{path} {where}; merge what is right, then remove this folder", *lines])


def taken_text(taken: Taken, zip_name: str) -> str:
    """What became of a zip, for the person who took it in; the receipt last, since that is typed in on the phone."""
    where = f"{taken.path}, commit {taken.commit}" if taken.commit else f"{taken.path}, in no commit"
    lines = [f"{zip_name}: {taken.outcome}: {where}", *(f"  {problem}" for problem in taken.problems)]
    lines += [text for text in (taken.note, taken.difference) if text]
    return "\n".join([*lines, f"receipt: {taken.receipt}"])
