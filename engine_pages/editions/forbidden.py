"""Words that never leave the crew, wherever they stand: in free text they are blanked.

In: the checked shop, the shared engine, and what its records ever said to the crew alone. Out: `Forbidden`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from ..records.checks.checked import Checked
from ..records.checks.names import names_of
from ..records.names import Names, hidden
from ..records.sheet import Photo, Sheet
from .sealed import NOTHING_SEALED, Sealed

BLANK: Final = "▒▒▒"  # stands where a word was taken out
NOT_SHOWN: Final = "not shown"  # stands where a text of a field that must have one was taken out whole


@dataclass(frozen=True)
class Forbidden:
    """What a reader of one engine must not read. `words` are blanked in any text, and of the shop's `names` those that
    are not for readers of `engine`; `sealed` was once crew only.
    """

    words: frozenset[str]
    sealed: Sealed = NOTHING_SEALED
    numbers: Mapping[str, str | None] = field(default_factory=dict)  # of sheets, by path
    names: Names = field(default_factory=lambda: hidden(()))
    engine: str = ""
    asked: set[str] = field(default_factory=set)  # words that were looked up among the names

    @cached_property
    def _hidden(self) -> Names:
        return hidden(self.words)

    def blanked(self, text: str) -> str:
        """The text without what must not be read.

        >>> Forbidden(frozenset({"K-05", "Ann Ox"})).blanked("the seal of K-05, said ann ox; K-051 was not there")
        'the seal of ▒▒▒, said ▒▒▒; K-051 was not there'
        """
        if self.sealed.holds(text):
            return NOT_SHOWN
        pieces, at = [], 0
        for start, end in self.names.foreign_in(text, self.engine, self._hidden, self.asked):
            pieces += [text[at:start], BLANK]
            at = end
        return "".join([*pieces, text[at:]]) if pieces else text

    def is_crew_only(self, path: str, photo: Photo) -> bool:
        """Whether a photo of a sheet is, or ever was, for the crew alone."""
        return bool(photo.crew_only) or self.sealed.holds_photo(path, self.numbers.get(path), photo.file)


def forbidden_for(checked: Checked, engine: str, sealed: Sealed = NOTHING_SEALED) -> Forbidden:
    """What a reader of one engine must not read: other engines, serials that never stood in it, people, owners."""
    numbers = {sheet.path: sheet.it.sheet for sheet in checked.sheets() if sheet.engine == engine}
    photos = (name for sheet in checked.sheets() if sheet.engine == engine for name in _photo_files(sheet.it))
    return Forbidden(frozenset(photos), sealed, numbers, names_of(checked), engine)


def _photo_files(sheet: Sheet) -> Iterator[str]:
    """The names that a camera, or somebody, gave to a sheet's photos."""
    lines = [line.photos for line in (sheet.positions or {}).values() if line is not None]
    yield from (photo.file for photos in (sheet.photos, *lines) for photo in photos or ())
