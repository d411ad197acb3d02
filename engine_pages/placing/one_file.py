"""Whether one file may be written at a place: never among the records, and never over what is somebody else's."""

from collections.abc import Callable
from pathlib import Path

from .place import PlaceError, check_outside


def check_file(to: Path, records: Path, kind: str, is_ours: Callable[[Path], bool]) -> None:
    """Raise PlaceError for a place among the records, or one that holds anything but an empty file or one of ours.

    `kind` names what ours is, in the words of the message; `is_ours` is asked of a plain file. OSError where what
    stands there cannot be read.
    """
    for place in (to.parent.resolve() / to.name, to.resolve()):  # a link is replaced itself, where it leads or not
        check_outside(place, records.resolve())
    if not to.exists() or (to.is_file() and (to.stat().st_size == 0 or is_ours(to))):
        return
    raise PlaceError(f"{to} is there and is no {kind}; name a new file")
