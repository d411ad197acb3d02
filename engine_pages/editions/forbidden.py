"""Words that never leave the crew, wherever they stand: in free text they are blanked.

In: the checked shop, the shared engine, and what its records ever said to the crew alone. Out: `Forbidden`.
"""

from collections.abc import Container, Iterator, Mapping
from functools import cached_property
from typing import Final

from msgspec import Struct, field

from ..records.checks.checked import Checked
from ..records.checks.names import names_of
from ..records.names import NOBODY, Names, hidden
from ..records.sheet import Photo, Sheet
from ..records.tree import Commit
from .sealed import NOTHING_SEALED, Sealed

BLANK: Final = "▒▒▒"  # stands where a word was taken out
NOT_SHOWN: Final = "not shown"  # stands where a text of a field that must have one was taken out whole


class Forbidden(Struct, frozen=True, dict=True):
    """What a reader of one engine must not read. `words` are blanked in any text, and of the shop's `names` those that
    are not for readers of `engine`; `sealed` was once crew only.
    """

    words: frozenset[str]
    sealed: Sealed = NOTHING_SEALED
    numbers: Mapping[str, str | None] = field(default_factory=dict)  # of sheets, by path
    names: Names = field(default_factory=lambda: hidden(()))
    engine: str = ""
    asked: set[str] = field(default_factory=set)  # words that were looked up among the names
    once: Mapping[str, frozenset[str]] = field(default_factory=dict)  # names that were written once, as in `Sealed`
    photos: frozenset[tuple[str, str]] = frozenset()  # by record and file those whose content was crew only once

    @cached_property
    def _hidden(self) -> Names:
        return Names({**self.once, **dict.fromkeys(self.words, NOBODY)})

    def blanked(self, text: str) -> str:
        """The text without what must not be read.

        >>> Forbidden(frozenset({"K-05", "Ann Ox"})).blanked("the seal of K-05, said ann ox; K-051 was not there")
        'the seal of ▒▒▒, said ▒▒▒; K-051 was not there'
        """
        known = self._blanked.get(text)
        if known is None:
            known = self._blanked[text] = NOT_SHOWN if self.sealed.holds(text) else self._without_names(text)
        return known

    @cached_property
    def _blanked(self) -> dict[str, str]:
        """What became of each text that was looked at: most stand in many places of a story."""
        return {}

    def _without_names(self, text: str) -> str:
        pieces, at = [], 0
        for start, end in self.names.foreign_in(text, self.engine, self._hidden, self.asked):
            pieces += [text[at:start], BLANK]
            at = end
        return "".join([*pieces, text[at:]]) if pieces else text

    def is_crew_only(self, path: str, photo: Photo) -> bool:
        """Whether a photo of a sheet is, or ever was, for the crew alone."""
        if photo.crew_only or (path, photo.file) in self.photos:
            return True
        return self.sealed.holds_photo(path, self.numbers.get(path), photo.file)


def forbidden_for(checked: Checked, engine: str, sealed: Sealed = NOTHING_SEALED) -> Forbidden:
    """What a reader of one engine must not read: other engines, serials that never stood in it, people, owners."""
    numbers = {sheet.path: sheet.it.sheet for sheet in checked.sheets() if sheet.engine == engine}
    files = (name for sheet in checked.sheets() if sheet.engine == engine for name in photo_files(sheet.it))
    names = names_of(checked)
    once = {name: may for name, may in sealed.names.items() if not names.spell(name)}
    known = frozenset(_known_again(checked, engine, sealed.blobs))
    return Forbidden(frozenset(files), sealed, numbers, names, engine, once=once, photos=known)


def _known_again(checked: Checked, engine: str, blobs: Container[str]) -> Iterator[tuple[str, str]]:
    """(record, file) of an engine's pictures whose content was crew only once, under whatever name."""
    tree, records = checked.shop.tree, checked.shop.engines[engine]
    if not isinstance(tree, Commit):
        return
    paths = [(sheet.path, f"{sheet.photo_folder}/", file) for sheet in records.sheets
             for file in photo_files(sheet.it)]  # fmt: skip
    if records.file is not None and records.file.it.picture is not None:
        paths.append((records.file.path, f"engines/{engine}/", records.file.it.picture))
    there = frozenset(tree.paths())
    for record, folder, file in paths:
        if folder + file in there and tree.blob(folder + file) in blobs:
            yield record, file


def photo_files(sheet: Sheet) -> Iterator[str]:
    """The names that a camera, or somebody, gave to a sheet's photos."""
    lines = [line.photos for line in (sheet.positions or {}).values() if line is not None]
    yield from (photo.file for photos in (sheet.photos, *lines) for photo in photos or ())
