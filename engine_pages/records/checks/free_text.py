"""Free text that names what its readers must not read: another engine, a part that never was in this one, a person.

What stands there is blanked where the engine's history is shared; here it is a doubt, so that the crew words it anew.
"""

import re
from collections.abc import Iterable, Iterator
from typing import Final

from ..load import EngineRecords, SheetRecord
from ..sheet import Photo, PositionLine
from ..source import Problem, Source, doubt
from .checked import Checked

OURSELVES: Final = frozenset(("the shop", "shop", "ours", "us", "self", "me"))  # an owner who is nobody else
FEWEST_LETTERS: Final = 2  # of a name that is looked for in free text: one letter is every other word


def check_free_text(checked: Checked) -> Iterator[Problem]:
    """A history that is shared speaks of its own engine alone."""
    for records in checked.engines():
        pattern = any_of(foreign_names(checked, records.id))
        if pattern is None:
            continue
        for source, text in _texts(records):
            if (found := pattern.search(text)) is not None:
                yield doubt(source, f"names {found[0]}, which is not this engine's; it is blanked where this is shared")


def any_of(names: Iterable[str]) -> re.Pattern[str] | None:
    """A pattern that finds any of these names as whole words; None where there are none.

    >>> bool(any_of(["K-05"]).search("as on k-05.")), bool(any_of(["K-05"]).search("K-051"))
    (True, False)
    """
    words = sorted({re.escape(name) for name in names if len(name) >= FEWEST_LETTERS}, key=lambda one: (-len(one), one))
    return re.compile(rf"(?<![\w-])(?:{'|'.join(words)})(?![\w-])", re.IGNORECASE) if words else None


def foreign_names(checked: Checked, engine: str) -> Iterator[str]:
    """Other engines, serials that never stood in this one, people and owners."""
    shop = checked.shop
    own = {stay.part.id for stay in checked.fitting.stays if stay.engine == engine}
    for records in shop.engines.values():
        if records.id != engine:
            yield records.id
            if records.file is not None:
                yield from (name for name in (records.file.it.name, records.file.it.stamped) if name)
        for owner in (records.file.it.owners or ()) if records.file is not None else ():
            yield from (text for text in (owner.name, owner.contact) if text and text.casefold() not in OURSELVES)
    yield from (part.id for part in checked.fitting.parts.values() if part.named and part.id not in own)
    yield from (serial for serial in shop.parts if serial not in own)
    people = shop.file.it.people if shop.file is not None else None
    yield from (name for initials, name in (people or {}).items() if name != initials)


def _texts(records: EngineRecords) -> Iterator[tuple[Source, str]]:
    """The engine's words that others may read, each with its place."""
    for sheet in records.sheets:
        yield from _texts_of_sheet(sheet)
    for entry in records.log:
        for key, text in (("note", entry.line.note), ("why", entry.line.why)):
            if text:
                yield entry.document.place(entry.index, key), text


def _texts_of_sheet(sheet: SheetRecord) -> Iterator[tuple[Source, str]]:
    it, place = sheet.it, sheet.record.place
    yield from ((place("note"), text) for text in (it.note,) if text)
    yield from ((place("correction"), text) for text in it.correction or ())
    yield from _texts_of_photos(it.photos, place("photos"))
    for key, line in (it.positions or {}).items():
        yield from _texts_of_line(line or PositionLine(), place("positions", key))
    for index, work in enumerate(it.work or ()):
        yield place("work", index, "did"), work.did


def _texts_of_line(line: PositionLine, place: Source) -> Iterator[tuple[Source, str]]:
    yield from ((place, text) for text in (line.finding, line.why, *(line.correction or ())) if text)
    yield from _texts_of_photos(line.photos, place)


def _texts_of_photos(photos: Iterable[Photo] | None, place: Source) -> Iterator[tuple[Source, str]]:
    for photo in photos or ():
        if not photo.crew_only:
            yield from ((place, text) for text in (photo.caption, photo.view) if text)
