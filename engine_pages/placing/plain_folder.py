"""Files by their paths into a folder: whole or not at all, and never over anything but an earlier building of ours."""

from collections.abc import Callable, Mapping
from pathlib import Path

from .place import check_outside, in_its_place


def write_folder(files: Mapping[str, Callable[[], bytes]], to: Path, records: Path) -> int:
    """Write the files; how many. PlaceError where they cannot go there, OSError where they cannot be written."""
    check_outside(to.resolve(), records.resolve())
    with in_its_place(to.resolve()) as new:
        for path, made in files.items():
            (new / path).parent.mkdir(parents=True, exist_ok=True)
            (new / path).write_bytes(made())
    return len(files)
