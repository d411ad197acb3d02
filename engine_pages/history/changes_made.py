"""Which changes of a fluid were made: fluids over time in, one question for each two names out, and why it was made.

It is cheap: nothing is weighed. A change and the change back are one question, told the way that was gone first: both
compare the same wear.
"""

import re
from collections.abc import Iterator, Sequence
from datetime import date

from msgspec import Struct

from ..records.family import Family
from ..records.load import EngineRecords, SheetRecord
from ..records.log import LogLine
from ..records.moments import Moment
from ..records.sheet import FAILED, GOES_OUT
from ..records.slots import slots_of
from .book import Book
from .lives import FIRST
from .recipes import Filled, changes_in, filled_in
from .told_changes import ChangeMade, KindId

# A reason that speaks of what was found makes the change a selection: the next finding would look better by itself.
SPEAKS_OF_FINDINGS = re.compile(r"\b(worn|wear\w*|look\w*|metal|scor\w*|damag\w*|fail\w*|pitt\w*|bad|burn\w*)\b", re.I)


class Change(Struct, frozen=True):
    """One engine's change: what went in, and in the place of what."""

    engine: str
    filled: Filled
    before: str


class ChangeQuestion(Struct, frozen=True):
    """A fluid under two names, the way it was changed first, with every change there or back, engine by engine."""

    fluid: str
    before: str
    after: str
    made: tuple[Change, ...]

    def is_back(self, one: Change) -> bool:
        """Whether a change went back to the first name."""
        return one.filled.name == self.before

    def goes(self, before: str | None, after: str | None) -> bool:
        """Whether anybody changed from the one name to the other; None is any."""
        return any(before in (None, one.before) and after in (None, one.filled.name) for one in self.made)


def questions_of(book: Book) -> tuple[ChangeQuestion, ...]:
    """Every two names of a fluid between which it was changed, by fluid and name."""
    found: dict[tuple[str, frozenset[str]], list[Change]] = {}
    for records, _ in engines_of(book):
        for filled, before in changes_in(filled_in(book, records)):
            key = filled.fluid, frozenset({before, filled.name})
            found.setdefault(key, []).append(Change(records.id, filled, before))
    out = []
    for (fluid, _), made in found.items():
        first = min(made, key=lambda one: (one.filled.moment, one.engine))
        out.append(ChangeQuestion(fluid, first.before, first.filled.name, tuple(made)))
    return tuple(sorted(out, key=lambda one: (one.fluid, one.before, one.after)))


def engines_of(book: Book) -> Iterator[tuple[EngineRecords, Family]]:
    """Every engine whose family is written."""
    for records in book.checked.engines():
        family = book.checked.shop.family_of(records.id)
        if family is not None:
            yield records, family


def made_of(book: Book, question: ChangeQuestion) -> tuple[ChangeMade, ...]:
    """The changes told, with what makes each a selection."""
    return tuple(_made(book, one, back=question.is_back(one)) for one in question.made)


def _made(book: Book, change: Change, *, back: bool) -> ChangeMade:
    engine, one = change.engine, change.filled
    line = next((line for line in _lines(book, engine) if _says(line, one)), None)
    why = (line.why or line.note) if line is not None else None
    strips = _strips(book, engine, one.moment)
    incidents = tuple(_incidents(book, engine, strips, one.moment))
    went = tuple(_went_out(book, strips[-1])) if strips else ()
    said = ("the reason written speaks of what was found",) if why and SPEAKS_OF_FINDINGS.search(why) else ()
    bad = (*incidents, *dict.fromkeys(words for words, _ in went), *said)
    day, kinds = date.fromordinal(one.moment[0]), frozenset(kind for _, kind in went)
    return ChangeMade(engine, day, why, one.source, bad, bool(incidents or said), kinds, back)


def _lines(book: Book, engine: str) -> Iterator[LogLine]:
    return (entry.line for _, entry, _ in book.ledgers[engine].lines)


def _says(line: LogLine, one: Filled) -> bool:
    """Whether a log line tells of the change: it names the fluid on that day, on which a build sheet may come first."""
    written = line.fluids.written() if line.fluids is not None else {}
    return line.date.day.toordinal() == one.moment[0] and written.get(one.fluid) == one.name


def _strips(book: Book, engine: str, moment: Moment) -> list[SheetRecord]:
    """The teardown sheets of an engine until a moment, in order of time."""
    sheets = [sheet for sheet in book.checked.shop.engines[engine].sheets if book.moment(sheet) <= moment]
    return sorted((sheet for sheet in sheets if sheet.kind == "teardown"), key=lambda sheet: book.nth[sheet.path])


def _incidents(book: Book, engine: str, strips: Sequence[SheetRecord], moment: Moment) -> Iterator[str]:
    """What happened since the sheet before the last one: the last rate is of that time."""
    since = book.moment(strips[-2]) if len(strips) > 1 else FIRST
    for at, entry, _ in book.ledgers[engine].lines:
        if entry.line.kind == "incident" and since < at <= moment:
            yield f"{(entry.line.what or 'incident').replace('_', '-')} on {entry.line.date.day.isoformat()}"


def _went_out(book: Book, sheet: SheetRecord) -> Iterator[tuple[str, KindId]]:
    """What went out worn or damaged on a sheet, and of which kind it was."""
    family = book.checked.shop.family_of(sheet.engine)
    if family is None:
        return
    for place, line in (sheet.it.positions or {}).items():
        if line is not None and line.decision in GOES_OUT and line.because in FAILED:
            for slot in slots_of(family).named(place):
                said = f"{place.replace('-', ' ')} went out {line.because} on {sheet.day.isoformat()}"
                yield said, (family.family, slot.kind)
