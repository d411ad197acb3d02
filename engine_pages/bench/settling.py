"""A draft that waits in the inbox is judged as it lies: put in its place where nothing keeps it out, else told why.

In: the shop's folder and the draft's. Out: where its sheet lies now, and in which commit. Sheet and photos go to their
place and out of the inbox in one commit, which keeps the mark of what was handed over, so that the same zip is known.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from ..records.git import repository_of
from ..records.load import load_shop
from ..records.source import Problem
from ..records.tree import Folder, Tree
from .as_it_would_be import AsItWouldBe
from .draft_photos import ToPlace, to_place
from .filing import FilingError, lines_of, of_given_photos
from .handed_over import receipt_of
from .inbox import INBOX, MARK, PROBLEMS, SHEET, Draft, draft_in, folder_receipt, waiting
from .judging import Judged, judged, what_is_there
from .on_disk import ChangedError, Exchange, alone, put_and_commit
from .taken_along import along_with
from .taken_before import deleted_only_in_folder, lines_that_begin


class Settled(Struct, frozen=True):
    """Where the sheet of a draft lies now, in which commit (None: the shop is no repository), each photo's name on the
    camera with its path, photos that no line names, and what is doubted."""

    path: str
    commit: str | None
    photos: tuple[tuple[str, str], ...]
    not_named: tuple[str, ...]
    doubts: tuple[Problem, ...]


class LeantOn(Struct, frozen=True):
    """What a sheet cannot be read without: records that no commit holds yet, as they were read, and photos that lie in
    their place already, put there by one's own hand or by one that was killed."""

    records: Mapping[str, bytes]
    photos: tuple[str, ...]


def drafts_meant(shop: Path, path: Path) -> tuple[str, ...]:
    """The drafts' folders in the inbox that a path means: the folder itself, its sheet, or all for the inbox; none for
    any other path."""
    try:
        inside = path.resolve().relative_to(shop.resolve()).as_posix().removesuffix(f"/{SHEET}")
    except ValueError:
        return ()
    if inside == INBOX:
        return waiting(Folder(shop).paths())
    steps = inside.split("/")
    return (inside,) if len(steps) == 2 and steps[0] == INBOX and (shop / inside / SHEET).is_file() else ()


def settle(
    shop: Path, folder: str, today: date, message: str | None = None, beside: Sequence[Path] = ()
) -> Settled:  # fmt: skip
    """Put a draft in its place, with the photos that it names of those `beside`; `message`: what the commit says.

    Raises FilingError with what keeps it out; BusyError, GitFailed, OSError, NoTree.
    """
    with alone(shop) as aside:
        tree = Folder(shop)
        lying = draft_in(tree, folder)
        if lying is None:
            wanted = "E-01-teardown-2026-03-01-abcdefgh: engine, kind, day, and eight signs"
            raise FilingError(f"{folder}: the folder's name does not say where the draft belongs; it is as {wanted}")
        ready = to_place(shop, tree, lying, beside)
        draft, leant = ready.draft, leant_on(shop, tree, ready.draft)
        found = judged(tree, draft, in_shop(shop, tree, draft), today, along=leant.records)
        try:
            if not found.stays_out:
                said = f"{message or draft.message()}\n{_mark(shop, draft)}"
                commit = put_in_place(shop, aside, tree, ready, leant, said)
                return Settled(draft.sheet_path, commit, ready.photos, ready.not_named, found.problems)
            _write_why(shop, aside, tree, found)
        except ChangedError as trouble:
            raise FilingError(f"{trouble}; run it again") from trouble
        if ready.given.camera or ready.given.folders:
            found = replace(found, problems=tuple(of_given_photos(ready.given, one) for one in found.problems))
        raise FilingError("\n".join([*found.words, f"{folder} waits still; mend it there, and run this again"]))


def _mark(shop: Path, draft: Draft) -> str:
    """The mark of the zip that the draft came in, known by its receipt; empty where no commit bears it."""
    found = (one for one in lines_that_begin(shop, MARK) if _receipt(one.removeprefix(MARK)) == draft.receipt)
    return next((f"\n{one}\n" for one in found), "")


def _receipt(checksum: str) -> str:
    return receipt_of(checksum).replace("-", "") if re.fullmatch("[0-9a-f]{64}", checksum) else ""


def in_shop(shop: Path, tree: Tree, draft: Draft) -> dict[str, bytes]:
    """What the shop holds where the draft's files belong: in the folder or, deleted there alone, in git."""
    lying = what_is_there(tree, draft)
    return lying | deleted_only_in_folder(shop, [path for path in draft.files if path not in lying])


def leant_on(shop: Path, tree: Tree, draft: Draft) -> LeantOn:
    """What the sheet of a draft leans on."""
    loaded = load_shop(AsItWouldBe(tree, draft.files))
    photos = {line.path for line in lines_of(loaded, [draft.sheet_path])}
    along = along_with(shop, loaded, [draft.sheet_path])
    return LeantOn({path: tree.read(path) for path in along}, tuple(sorted(photos.intersection(tree.paths()))))


def put_in_place(shop: Path, aside: Path, tree: Tree, ready: ToPlace, leant: LeantOn, message: str) -> str | None:
    """Sheet and photos in their place and out of the inbox, if they lie there, in one commit with what the sheet leans
    on; its id."""
    draft = ready.draft
    changed = {path: Exchange(content, content) for path, content in leant.records.items()}
    gone = _goes(shop, tree, draft, ready.leaves)
    return put_and_commit(shop, aside, draft.files, draft.sheet_path, message, changed, leant.photos, gone)


def _goes(shop: Path, tree: Tree, draft: Draft, leaves: Mapping[str, bytes]) -> dict[str, bytes | None]:
    """What goes from the inbox, as it was judged: a line that was typed since keeps the draft there. None: what the
    last commit holds of it though it lies there no more, as after a kill, or in a folder that was renamed since."""
    listed, beside = set(tree.paths()), f"{draft.folder}/{PROBLEMS}"
    lying = {**leaves, **({beside: tree.read(beside)} if beside in listed else {})}
    repository = repository_of(shop)
    held = repository.in_commit() if repository is not None else frozenset[str]()
    went = {path for path in held - listed if folder_receipt(path.rpartition("/")[0]) == draft.receipt}
    # The sheet last: as long as it lies there, the same command goes on from where another was killed.
    order = sorted(lying, key=lambda path: path == draft.sheet)
    return dict.fromkeys(sorted(went)) | {path: lying[path] for path in order}


def why_text(found: Judged) -> bytes:
    """What lies beside a draft that waits."""
    return ("\n".join(found.words) + "\n").encode()


def _write_why(shop: Path, aside: Path, tree: Tree, found: Judged) -> None:
    """What is to be settled, as it is now; the draft itself is as the builder left it."""
    path, why = f"{found.draft.folder}/{PROBLEMS}", why_text(found)
    if path in tree.paths() and tree.read(path) != why:
        changed = {path: Exchange(tree.read(path), why)}
        put_and_commit(shop, aside, {}, "", f"{found.draft.message(', to be settled')}\n", changed)


def why_it_waits(tree: Tree, folder: str, today: date, now: Iterable[Problem]) -> str:
    """In a line, what keeps a draft out, at the line where it is mended; or how it is put in its place. `now`: the
    shop's problems."""
    draft = draft_in(tree, folder)
    if draft is None:
        return f"{folder}: its name does not say where it belongs"
    found = judged(tree, draft, what_is_there(tree, draft), today, now)
    if not found.stays_out:
        return f"{folder}: nothing keeps it out; put it in its place: engine-pages file {folder}"
    errors = [str(one) for one in found.in_inbox if one.level == "error"]
    first = found.difference.partition("\n")[0] or errors[0]
    more = len(errors) - (0 if found.difference else 1)
    return f"{folder}: {first}{f', and {more} more' if more else ''}"
