"""What a shop's folder looks like at a moment, told cheaply: whether anything in it changed since a site was built.

In: the folder and the day. Out: a value that compares equal as long as no file came, went or was written, no commit was
made and the day is the same. Nothing is read but names, sizes and times.
"""

from collections.abc import Hashable
from datetime import date
from pathlib import Path

from ..records.git import repository_of
from ..records.tree import Folder


def as_it_lies(shop: Path, today: date) -> Hashable:
    """The commit that is checked out, the day, and every file's size and time of writing. Raises NoTree."""
    repo = repository_of(shop)
    files = tuple((path, *_written(shop / path)) for path in Folder(shop).paths())
    return repo.head() if repo is not None else None, today, files


def _written(file: Path) -> tuple[int, int]:
    try:
        found = file.lstat()
    except FileNotFoundError:  # it went since it was listed
        return 0, 0
    return found.st_size, found.st_mtime_ns
