"""What was for the crew alone in any version of a record stays so: an earlier commit's marks count as today's.

In: the history of a shop, or two where an older commit is shown than the one that is checked out. Out: what of it is
sealed for readers of one engine. What was written in a file that has moved, or is gone, is sealed for all engines:
nobody can say whose record it became.
"""

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Final

from ..records.checks.names import OURSELVES, together
from ..records.kept_history import KeptHistory
from ..records.load import photo_folder, place_of_sheet
from ..records.names import NOBODY
from .given_fields import SIGNED
from .kept_back import INITIALS, NAME, OWN, PHOTO, TEXT, Piece
from .sealed import Sealed, place_in_engine

SHARES: Final = "shares.yml"


class Past:
    """What any version of a shop's records kept for the crew."""

    def __init__(self, *histories: KeptHistory) -> None:
        self._crew: dict[str, set[Piece]] = {}
        self._gone: set[str] = set()
        self._photos: dict[str, set[str]] = {}
        for history in histories:
            self._gone |= history.gone
            for path, pieces in history.crew.items():
                self._crew.setdefault(path, set()).update(pieces)
            for path, blobs in history.photos.items():
                self._photos.setdefault(path, set()).update(blobs)

    def of_engine(self, engine: str) -> list[Piece]:
        """Texts and photos of an engine's own files, in one order."""
        own = (piece for path in self._of_engine.get(engine, ()) for piece in self._crew[path])
        return sorted({*(piece for piece in own if piece[0] in (TEXT, PHOTO)), *self._of_links.get(engine, ())})

    @cached_property
    def _of_links(self) -> Mapping[str, list[Piece]]:
        """By engine what was noted of links to it."""
        found: dict[str, list[Piece]] = {}
        for piece in self._crew.get(SHARES, ()):
            for engine in piece[2:]:
                found.setdefault(engine, []).append(piece)
        return found

    def sealed(self, engine: str) -> Sealed:
        """What is sealed for readers of an engine."""
        pieces = [*self.of_engine(engine), *self.of_all]
        texts = frozenset(piece[1] for piece in pieces if piece[0] == TEXT)
        photos = frozenset((piece[1], piece[2]) for piece in pieces if piece[0] == PHOTO)
        return Sealed(texts, photos, self.blobs, self.names)

    @cached_property
    def blobs(self) -> frozenset[str]:
        """Git's names for all that ever stood where a photo was crew only: it is the same photo wherever it lies."""
        places = {_photo_path(path, piece[2]) for path, pieces in self._crew.items() for piece in pieces
                  if piece[0] == PHOTO}  # fmt: skip
        return frozenset(blob for place in places for blob in self._photos.get(place, ()))

    @cached_property
    def names(self) -> Mapping[str, frozenset[str]]:
        """The names of every version, with the engines whose readers may know them: engines, people, owners, and who
        signed with more than the shop's initials."""
        pieces = {piece for found in self._crew.values() for piece in found}
        known = {word.casefold() for kind, word, *_ in pieces if kind == INITIALS} | OURSELVES
        own = ((piece[2], frozenset((piece[1],))) for piece in pieces if piece[0] == OWN)
        people = ((piece[1], NOBODY) for piece in pieces if piece[0] in (NAME, SIGNED))
        return together((name, may) for name, may in sorted((*own, *people), key=str) if name.casefold() not in known)

    @cached_property
    def _of_engine(self) -> Mapping[str, list[str]]:
        """By engine the files that stand in its folder, and always stood there."""
        found: dict[str, list[str]] = {}
        for path in self._crew:
            if path.startswith("engines/") and path not in self._gone:
                found.setdefault(path.split("/")[1], []).append(path)
        return found

    @cached_property
    def of_all(self) -> list[Piece]:
        """Texts and photos of the shop's own file, of parts, and of what is no more where it was."""
        found: set[Piece] = set()
        for path, pieces in self._crew.items():
            if path in self._gone or not path.startswith("engines/"):
                found.update(piece for piece in pieces if piece[0] in (TEXT, PHOTO) and not _is_of_a_link(path, piece))
            if path in self._gone:
                found.update(_wherever_it_went(pieces))
        return sorted(found)


def _is_of_a_link(path: str, piece: Piece) -> bool:
    return path == SHARES and len(piece) > len((TEXT, "its text"))


def _photo_path(sheet: str, file: str) -> str:
    """Where a sheet's photo lies; of a file in no sheet's place, beside it."""
    place = place_of_sheet(sheet)
    return f"{photo_folder(place[1], sheet) if place is not None else sheet.rpartition('/')[0]}/{file}"


def _wherever_it_went(pieces: Iterable[Piece]) -> Iterable[Piece]:
    """Photos by their sheets' places in the engine: its folder may have got another name."""
    yield from ((PHOTO, place_in_engine(piece[1]), piece[2]) for piece in pieces if piece[0] == PHOTO)
