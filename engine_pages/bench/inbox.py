"""The inbox: the place of a draft that waits there to be settled, which drafts wait, and where each belongs.

In: what was handed over, or a shop's files. Out: a draft: its folder in the inbox, and its files by their future paths.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Final

from msgspec import Struct

from ..records.load import SHEET_FOLDERS, photo_folder
from ..records.sheet import SheetKind
from ..records.tree import Tree
from .camera import ENDINGS
from .handed_over import HandedOver

INBOX: Final = "inbox"
PROBLEMS: Final = "problems.txt"  # what kept a draft in the inbox, beside it
SHEET: Final = "sheet.yml"  # a draft's sheet in its folder of the inbox
MARK: Final = "Handed-over: sha256:"  # in the commit's message, by which the same zip is known again

_NAME: Final = re.compile(r"(.+)-(build|inspection|teardown)-(\d{4}-\d\d-\d\d(?:-\d+)?)-([a-z2-7]{8})", re.ASCII)


class Draft(Struct, frozen=True):
    """A sheet and its photos, each by the path where it belongs, and the draft's folder in the inbox."""

    folder: str
    engine: str
    kind: SheetKind
    name: str
    sheet_path: str
    files: Mapping[str, bytes]

    @property
    def sheet(self) -> str:
        """Where its sheet lies in the inbox."""
        return f"{self.folder}/{SHEET}"

    @property
    def receipt(self) -> str:
        """The receipt of what was handed over, without its hyphen."""
        return self.folder.rpartition("-")[2]

    def lies(self, path: str) -> str:
        """Where a file that belongs at `path` lies in the inbox; another path as it is."""
        if path == self.sheet_path:
            return self.sheet
        return f"{self.folder}/{path.rpartition('/')[2]}" if path in self.files else path

    def message(self, more: str = "") -> str:
        """The first line of a commit of it."""
        return f"{self.engine}: {self.kind} of {self.name}{more}"


def draft_of(handed: HandedOver) -> Draft:
    """What was handed over, as a draft in a folder of its own: the same for the same content."""
    folder = f"{INBOX}/{handed.engine}-{handed.kind}-{handed.name}-{handed.receipt.replace('-', '')}"
    return Draft(folder, handed.engine, handed.kind, handed.name, handed.sheet_path, handed.files)


def draft_in(tree: Tree, folder: str) -> Draft | None:
    """A draft as it lies in the inbox; None where none lies there, or its folder's name does not say where it belongs.

    What lies beside the sheet and is no photo is none of it.
    """
    said = _NAME.fullmatch(folder.removeprefix(f"{INBOX}/"))
    lying = [path for path in tree.paths() if path.rpartition("/")[0] == folder]
    if said is None or f"{folder}/{SHEET}" not in lying:
        return None
    engine, name = said[1], said[3]
    among, kind = next((among, kind) for among, kind in SHEET_FOLDERS.items() if kind == said[2])
    sheet_path = f"engines/{engine}/{among}/{name}{'/teardown.yml' if kind == 'teardown' else '.yml'}"
    beside = photo_folder(kind, sheet_path)
    photos = [path for path in lying if f".{path.rpartition('.')[2].lower()}" in ENDINGS]
    files = {f"{beside}/{path.rpartition('/')[2]}": tree.read(path) for path in photos}
    return Draft(folder, engine, kind, name, sheet_path, {**files, sheet_path: tree.read(f"{folder}/{SHEET}")})


def folder_receipt(folder: str) -> str | None:
    """The receipt in the name of a draft's folder, whatever day and kind stand there; None for any other folder.

    >>> folder_receipt("inbox/E1-build-2026-03-01-mzxw6ytb"), folder_receipt("engines/E1-build-2026-03-01-mzxw6ytb")
    ('mzxw6ytb', None)
    """
    said = _NAME.fullmatch(folder.removeprefix(f"{INBOX}/"))
    return said[4] if said is not None and folder.startswith(f"{INBOX}/") else None


def waiting(paths: Iterable[str]) -> tuple[str, ...]:
    """The folders of the drafts that wait in a shop with these files.

    >>> waiting(["inbox/E1-build-2026-03-01-mzxw6ytb/sheet.yml", "inbox/note.txt", "shop.yml"])
    ('inbox/E1-build-2026-03-01-mzxw6ytb',)
    """
    return tuple(sorted(path.removesuffix(f"/{SHEET}") for path in paths if _is_draft(path)))


def _is_draft(path: str) -> bool:
    steps = path.split("/")
    return len(steps) == 3 and steps[0] == INBOX and steps[2] == SHEET
