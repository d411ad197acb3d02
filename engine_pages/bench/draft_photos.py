"""The photos of a draft that waits in the inbox: those that were added there come in as from the camera.

In: the shop, a draft as it lies, and photos or folders that were given beside it. Out: the draft as it is to be put in
its place. What was handed over with it lies in a commit, and stays as it is; of what was added since, a photo that its
sheet names is shrunk, upright and bare, named by position and view, and the camera's own file stays where it is.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from ..records.git import repository_of
from ..records.load import load_shop
from ..records.tree import Folder
from .as_it_would_be import AsItWouldBe
from .filing import (
    NOTHING_GIVEN,
    Given,
    known_to_git,
    left_by_a_kill,
    lines_of,
    sorted_out,
    taken_in,
    unnamed,
    wanted_of,
)
from .inbox import Draft, folder_receipt
from .taken_before import as_it_was


class ToPlace(Struct, frozen=True):
    """A draft as it is to be put in its place; what of it goes from the inbox, as it was read there; what was given;
    each photo's name on the camera with its path, and the photos that no line names."""

    draft: Draft
    leaves: Mapping[str, bytes]
    given: Given = NOTHING_GIVEN
    photos: tuple[tuple[str, str], ...] = ()
    not_named: tuple[str, ...] = ()


def to_place(shop: Path, tree: Folder, draft: Draft, beside: Iterable[Path]) -> ToPlace:
    """A draft that lies in the inbox, with its photos taken in. Raises FilingError with what is wrong with one."""
    given = sorted_out(shop, tree, [shop / draft.sheet, *beside])
    lines = lines_of(load_shop(AsItWouldBe(tree, draft.files)), [draft.sheet_path])
    there = set(tree.paths())
    lying = {draft.lies(path): content for path, content in draft.files.items()}
    lying |= {line.path: tree.read(line.path) for line in lines if line.path in there}  # as after a kill
    known = known_to_git(shop, tree) | _handed_over(shop, draft, lying)
    lies = {line: at if (at := draft.lies(line.path)) in there else line.path for line in lines}
    wanted = wanted_of(shop, tree, given, lies, known)
    left = unnamed(given, lines, wanted)
    as_they_are = {draft.sheet_path} | {line.path for line in lines if line not in wanted}
    kept = {path: one for path, one in draft.files.items() if path in as_they_are or draft.lies(path) in known}
    photos = taken_in(AsItWouldBe(tree, kept), kept, wanted, left_by_a_kill(shop, tree, lines))
    files = {**kept, **photos.files, **photos.sheets}
    leaves = {draft.lies(path): content for path, content in kept.items()}
    return ToPlace(replace(draft, files=files), leaves, given, photos.names, tuple(one.name for one in left))


def _handed_over(shop: Path, draft: Draft, lying: Mapping[str, bytes]) -> set[str]:
    """What of these files the last commit holds of the draft, also by another name that its folder had before."""
    repository = repository_of(shop)
    held = sorted(repository.in_commit()) if repository is not None else []
    before = [path for path in held if folder_receipt(path.rpartition("/")[0]) == draft.receipt]
    found: set[str] = set()
    for path, content in lying.items():
        same_name = [one for one in before if one.rpartition("/")[2] == path.rpartition("/")[2]]
        if any(as_it_was(shop, "HEAD", one) == content for one in same_name):
            found.add(path)
    return found
