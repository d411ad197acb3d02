"""The page of an engine's corrections: what was changed or taken out since it was recorded, and when each sheet was.

In: an engine's story with its trail. Out: `ListPage`.
"""

from collections.abc import Iterator
from math import ceil
from statistics import median

from engine_pages.history.story import EngineStory, Recorded, SheetStory
from engine_pages.pages.addresses import list_path
from engine_pages.pages.desk import CREW, Desk, Here, sheet_words
from engine_pages.pages.list_pages import ListPage, list_head
from engine_pages.pages.pieces import Column, Entry, Heading, Line, Lines, Table
from engine_pages.pages.trail_words import (
    NO_PROOF,
    correction_lines,
    corrections_table,
    draft_words,
    photo_lines,
    recorded_words,
    turn_lines,
    turn_words,
)
from engine_pages.pages.words import capital, count_words, dated, day_words

NAME = "corrections"


def corrections_page(desk: Desk, engine: EngineStory) -> ListPage:
    """The page of one engine's corrections."""
    here = Here(desk, list_path(engine.id, NAME))
    trail = engine.trail
    weighty = [one for one in trail.corrections if one.matters] if trail is not None else []
    others = [one for one in trail.corrections if not one.matters] if trail is not None else []
    claim, rest = _answer(engine, len(weighty), sum(not one.why for one in weighty))
    heading = Heading("figures", "Figures, dates, identities, findings", str(len(weighty)))
    added = correction_lines(here, engine, others, Heading("words", "Words, and what was added", str(len(others))))
    turned = turn_lines(here, trail.turns) if trail is not None else None
    photos = photo_lines(here, trail.turns) if trail is not None else None
    tables = (
        corrections_table(here, engine, weighty, heading),
        _recorded_table(here, engine),
    )
    return ListPage(
        list_head(here, engine, NAME, claim, rest),
        tables=tuple(table for table in tables if table is not None),
        lists=(*(one for one in (turned, photos, added) if one is not None), *_cautions(engine)),
    )


def _answer(engine: EngineStory, entries: int, silent: int) -> tuple[str, str]:
    trail = engine.trail
    if trail is None or not (trail.sheets or trail.turns):
        return "Cannot tell what was corrected.", "No commit of these records is known here."
    rest = f"{capital(count_words(silent, 'of them has', 'of them have'))} no reason written." if silent else ""
    rest = "No reason is written." if silent == entries == 1 else rest
    turned = turn_words(trail.turns)
    claim = f"{capital(count_words(entries, 'entry was', 'entries were'))} corrected after being recorded"
    claim = f"{claim}; {turned}." if turned else f"{claim}."
    return claim, " ".join(part for part in (rest, days_words(engine)) if part)


def days_words(engine: EngineStory) -> str:
    """How long after the work the sheets were recorded, and what was written long after its day."""
    return " ".join(part for part in (_sheets_words(engine), *_later_words(engine)) if part)


def _later_words(engine: EngineStory) -> Iterator[str]:
    trail = engine.trail
    for days, thing, since in (
        (trail.entries_late if trail is not None else (), ("entry of a sheet", "entries of sheets"), "the work"),
        (trail.lines_late if trail is not None else (), ("line of the log", "lines of the log"), ""),
    ):
        if days:
            span = f"{days[0]} to {days[-1]}" if days[0] != days[-1] else f"{days[0]}"
            written = "was written" if len(days) == 1 else "were written"
            since = since or ("its day" if len(days) == 1 else "their days")
            yield f"{capital(count_words(len(days), *thing))} {written} {span} days after {since}."


def _sheets_words(engine: EngineStory) -> str:
    """`Sheets were recorded 0 to 6 days after the work, half of them within 2.`"""
    days = sorted(one.after for one in _recorded(engine) if one.after is not None)
    if not days:
        return ""
    if days[-1] == 0:
        return "Every sheet was recorded on the day of the work." if days[0] == 0 else ""
    if days[0] == days[-1]:
        return f"Every sheet was recorded {count_words(days[0], 'day')} after the work."
    middle = ceil(median(days))
    half = f"half of them within {middle}" if middle > 0 else "half of them on the day"
    return f"Sheets were recorded {days[0]} to {count_words(days[-1], 'day')} after the work, {half}."


def _recorded(engine: EngineStory) -> list[Recorded]:
    return list(engine.trail.sheets.values()) if engine.trail is not None else []


def _recorded_table(here: Here, engine: EngineStory) -> Table | None:
    if engine.trail is None or not engine.sheets:
        return None
    columns = (
        Column("sheet"),
        Column("work", "fig"),
        Column("recorded", "fig"),
        Column("commit", "fig", optional=True),
    )
    rows = tuple(_recorded_row(here, engine, sheet) for sheet in reversed(engine.sheets))
    return Table(
        Heading("recorded", "When it was recorded", count_words(len(rows), "sheet")), columns, rows, note=NO_PROOF
    )


def _recorded_row(here: Here, engine: EngineStory, sheet: SheetStory) -> tuple[Entry, ...]:
    assert engine.trail is not None
    one = engine.trail.sheets.get(sheet.ref.path)
    crew = here.desk.edition == CREW
    by = (one.by,) if one is not None and one.by and crew else ()
    return (
        Entry(sheet_words(sheet.ref), (sheet.ref.kind,), href=here.sheet(sheet.ref)),
        Entry(day_words(sheet.ref.day)),
        Entry(day_words(one.day), (recorded_words(one),)) if one is not None else Entry("not committed"),
        Entry(one.commit, by) if one is not None else Entry(""),
    )


def _cautions(engine: EngineStory) -> tuple[Lines, ...]:
    if engine.trail is None:
        return ()
    lines = [Line(text=dated(one)) for one in engine.trail.cautions]
    if engine.trail.changed:
        lines.append(Line(text=draft_words(len(engine.trail.changed)), quiet=", ".join(engine.trail.changed)))
    return (Lines(Heading("limits-of-it", "What git cannot say here"), tuple(lines)),) if lines else ()
