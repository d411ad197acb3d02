"""The inbox: the place of a draft that waits there to be settled, and which drafts wait."""

from collections.abc import Iterable, Mapping
from typing import Final

from .handed_over import HandedOver

INBOX: Final = "inbox"
PROBLEMS: Final = "problems.txt"  # what kept a draft in the inbox, beside it
SHEET: Final = "sheet.yml"  # a draft's sheet in its folder of the inbox


def folder_of(handed: HandedOver) -> str:
    """The folder of its own that a draft has in the inbox: the same for the same content."""
    return f"{INBOX}/{handed.engine}-{handed.kind}-{handed.name}-{handed.receipt.replace('-', '')}"


def draft_of(handed: HandedOver) -> Mapping[str, bytes]:
    """The sheet and the photos, each by its path in the inbox."""
    folder = folder_of(handed)
    photos = {path: content for path, content in handed.files.items() if path != handed.sheet_path}
    return {f"{folder}/{path.rpartition('/')[2]}": content for path, content in photos.items()} | {
        f"{folder}/{SHEET}": handed.sheet
    }


def waiting(paths: Iterable[str]) -> tuple[str, ...]:
    """The folders of the drafts that wait in a shop with these files.

    >>> waiting(["inbox/E1-build-2026-03-01-mzxw6ytb/sheet.yml", "inbox/note.txt", "shop.yml"])
    ('inbox/E1-build-2026-03-01-mzxw6ytb',)
    """
    return tuple(sorted(path.removesuffix(f"/{SHEET}") for path in paths if _is_draft(path)))


def _is_draft(path: str) -> bool:
    steps = path.split("/")
    return len(steps) == 3 and steps[0] == INBOX and steps[2] == SHEET
