"""Words that never leave the crew, wherever they stand: in free text they are blanked.

In: the checked shop, the shared engine, and what its records ever said to the crew alone. Out: `Forbidden`.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from ..records.checks.checked import Checked
from ..records.sheet import Photo, Sheet
from ..records.source import Problem, Source, doubt
from .once_crew_only import NOTHING_SEALED, Sealed

BLANK: Final = "▒▒▒"  # stands where a word was taken out
NOT_SHOWN: Final = "not shown"  # stands where a text of a field that must have one was taken out whole
FEWEST_LETTERS: Final = 2  # of a name that is looked for in free text: one letter is every other word


@dataclass(frozen=True)
class Forbidden:
    """What a reader of one engine must not read. `words` are blanked in any text, `sealed` was once crew only."""

    words: frozenset[str]
    sealed: Sealed = NOTHING_SEALED
    numbers: Mapping[str, str | None] = field(default_factory=dict)  # of sheets, by path

    @cached_property
    def _pattern(self) -> re.Pattern[str] | None:
        words = sorted((re.escape(word) for word in self.words if len(word) >= FEWEST_LETTERS), key=len, reverse=True)
        return re.compile(rf"(?<![\w-])(?:{'|'.join(words)})(?![\w-])", re.IGNORECASE) if words else None

    def blanked(self, text: str) -> str:
        """The text without what must not be read.

        >>> Forbidden(frozenset({"K-05", "Ann Ox"})).blanked("the seal of K-05, said ann ox; K-051 was not there")
        'the seal of ▒▒▒, said ▒▒▒; K-051 was not there'
        """
        if self.sealed.holds(text):
            return NOT_SHOWN
        return self._pattern.sub(BLANK, text) if self._pattern is not None else text

    def is_crew_only(self, path: str, photo: Photo) -> bool:
        """Whether a photo of a sheet is, or ever was, for the crew alone."""
        return bool(photo.crew_only) or self.sealed.holds_photo(path, self.numbers.get(path), photo.file)


def forbidden_for(checked: Checked, engine: str, sealed: Sealed = NOTHING_SEALED) -> Forbidden:
    """What a reader of one engine must not read: other engines, serials that never stood in it, people, owners."""
    numbers = {sheet.path: sheet.it.sheet for sheet in checked.sheets() if sheet.engine == engine}
    return Forbidden(frozenset(_names(checked, engine)), sealed, numbers)


def _names(checked: Checked, engine: str) -> Iterator[str]:
    shop = checked.shop
    own = {stay.part.id for stay in checked.fitting.stays if stay.engine == engine}
    for records in shop.engines.values():
        if records.id != engine:
            yield records.id
            if records.file is not None:
                yield from (name for name in (records.file.it.name, records.file.it.stamped) if name)
        for owner in (records.file.it.owners or ()) if records.file is not None else ():
            yield from (text for text in (owner.name, owner.contact) if text)
    yield from (part.id for part in checked.fitting.parts.values() if part.named and part.id not in own)
    yield from (serial for serial in shop.parts if serial not in own)
    yield from (photo for sheet in checked.sheets() if sheet.engine == engine for photo in _photo_files(sheet.it))
    people = shop.file.it.people if shop.file is not None else None
    yield from (name for initials, name in (people or {}).items() if name != initials)


def _photo_files(sheet: Sheet) -> Iterator[str]:
    """The names that a camera, or somebody, gave to a sheet's photos."""
    lines = [line.photos for line in (sheet.positions or {}).values() if line is not None]
    yield from (photo.file for photos in (sheet.photos, *lines) for photo in photos or ())


def words_doubted(checked: Checked, texts: Iterable[tuple[Source, str]], engine: str) -> Iterator[Problem]:
    """For the crew: free text of an engine that names what its readers must not read."""
    forbidden = forbidden_for(checked, engine)
    for source, text in texts:
        if forbidden.blanked(text) != text:
            yield doubt(
                source, "names another engine, a part of one, or a person; that word is blanked where it is shared"
            )
