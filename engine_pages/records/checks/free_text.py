"""Free text that names what its readers must not read: another engine, a part that never was in this one, a person.

What stands there is blanked where the engine's history is shared; here it is a doubt, so that the crew words it anew. A
first name or a surname by itself is not blanked, since Mark, Rod and Stone are words too; here it is a doubt where it
is written as a name and begins no sentence.
"""

import re
from collections.abc import Iterable, Iterator

from ..load import EngineRecords, SheetRecord
from ..sheet import Photo, PositionLine
from ..source import Problem, Source, doubt
from .checked import Checked
from .names import names_of, words_of_people


def check_free_text(checked: Checked) -> Iterator[Problem]:
    """A history that is shared speaks of its own engine alone."""
    names, of_people = names_of(checked), dict(words_of_people(checked))
    halves = re.compile(rf"(?<=[^.!?:]\s)(?:{'|'.join(map(re.escape, of_people))})(?![\w-])") if of_people else None
    for records in checked.engines():
        for source, text in _texts(records):
            spans = list(names.foreign_in(text, records.id))
            for word in dict.fromkeys(text[start:end] for start, end in spans):
                yield doubt(source, f"names {word}, not for readers of this engine; it is blanked where this is shared")
            found = halves.finditer(text) if halves is not None else ()
            alone = (one for one in found if not any(start <= one.start() < end for start, end in spans))
            for word in dict.fromkeys(one[0] for one in alone):
                yield doubt(source, f"{word} is a word of the name {of_people[word]}, and only whole names are blanked "
                                    "where this is shared; word it without")  # fmt: skip


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
