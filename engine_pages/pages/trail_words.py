"""When a sheet was recorded and what was corrected since, as pages say it.

In: an engine's trail. Out: words, and a table of corrections. A correction hides nothing: both figures stay in git.
"""

from collections import Counter
from collections.abc import Iterable

from markupsafe import Markup, escape

from engine_pages.history.story import Correction, EngineStory, MeasuredRow, Recorded, SheetStory, TurnStory
from engine_pages.pages.desk import CREW, Here, sheet_words, source_words
from engine_pages.pages.pieces import Column, Entry, Heading, Line, Lines, Link, Table
from engine_pages.pages.words import count_words, dated, day_words, quoted_words
from engine_pages.records.strands import PHOTO_EXCHANGED

CORRECTED = "corrected"  # where a sheet's page tells what was corrected of it
NOTHING = "nothing"
BOTH_STAY = "What was there stays in the history."
BOTH_PICTURES = "Both pictures stay in the history."
NO_PROOF = "Dates are those that git was told. A record shows when it was written, not that it is true."
DRAFT = "Draft: {} not committed. What is published for others is the last commit, without it."


def recorded_words(recorded: Recorded) -> str:
    """`recorded 2 days after`, and what speaks against the date."""
    if recorded.after is None:
        words = f"recorded {day_words(recorded.day)}"
    elif recorded.after == 0:
        words = "recorded the same day"
    else:
        when = "after" if recorded.after > 0 else "before its date"
        words = f"recorded {count_words(abs(recorded.after), 'day')} {when}"
    words = f"{words}, or before" if recorded.before else words
    return ", ".join(part for part in (words, dated(recorded.odd or ""), recorded.seal or "") if part)


def corrections_table(
    here: Here, engine: EngineStory, corrections: Iterable[Correction], heading: Heading
) -> Table | None:
    """What was, what is, when it was changed, and why in the builder's words; None where nothing was corrected."""
    rows = tuple(_row(here, engine, one) for one in corrections)
    if not rows:
        return None
    columns = (Column("what and why"), Column("was", "said"), Column("is", "said"), Column("changed", "fig"))
    return Table(heading, columns, rows, lean=False, note=BOTH_STAY)


def _row(here: Here, engine: EngineStory, one: Correction) -> tuple[Entry, ...]:
    record = sheet_words(one.sheet) if one.sheet is not None else one.record
    crew = here.desk.edition == CREW
    where = source_words(one.source, f"engines/{engine.id}/") if crew else ""
    why = why_words(one) or "no reason written"
    by = (f"{one.by}: {one.message}",) if crew and one.by else ()
    named = (record, where) if where and one.sheet is None else (record,)
    return (
        Entry(one.place, (*named, why, *by), href=here.sheet(one.sheet)),
        Entry(one.was if one.was is not None else NOTHING),
        Entry(one.now if one.now is not None else NOTHING, strong=True),
        Entry(day_words(one.day), (one.commit,)),
    )


def why_words(one: Correction | TurnStory) -> str:
    """The builder's reason, with its day where it was written later; empty where none is written."""
    later = f", written {day_words(one.why_day)}" if one.why_day is not None else ""
    return f"{quoted_words(' '.join(one.why))}{later}" if one.why else ""


def correction_lines(
    here: Here, engine: EngineStory, corrections: Iterable[Correction], heading: Heading
) -> Lines | None:
    """What was added or worded anew, a line each: such texts are too long for a table."""
    lines = tuple(_line(here, engine, one) for one in corrections)
    return Lines(heading, lines) if lines else None


def _line(here: Here, engine: EngineStory, one: Correction) -> Line:
    record = sheet_words(one.sheet) if one.sheet is not None else one.record
    was = f" It was: {quoted_words(one.was)}." if one.was else ""
    text = f"{quoted_words(one.now)}.{was}" if one.now else f"taken out.{was}"
    by = f", {one.by}" if here.desk.edition == CREW and one.by else ""
    source = source_words(one.source, f"engines/{engine.id}/") if here.desk.edition == CREW else ""
    why = f"{why_words(one)} " if one.why else ""
    quiet = f"{why}{day_words(one.day)}, {one.commit}{by}"
    return Line(f"{one.place}:", text, quiet=quiet, source=source, link=Link(record, here.sheet(one.sheet)))


def corrections_of(engine: EngineStory, sheet: SheetStory) -> list[Correction]:
    """What was corrected of one sheet since it was recorded, the newest first."""
    corrections = engine.trail.corrections if engine.trail is not None else ()
    return [one for one in corrections if one.path == sheet.ref.path]


TURNS = {  # what befell a file: by itself, and in a sentence about one and about several
    "removed": ("Taken out", "was taken out", "were taken out"),
    "restored": ("Put back", "was put back", "were put back"),
    "moved": ("Moved", "was moved", "were moved"),
    "unreadable": ("Not readable from then on, until the next change", "could not be read", "could not be read"),
    "left out": ("Left out by a merge", "was left out by a merge", "were left out by a merge"),
}
EXCHANGED = ("Photo exchanged", "photo was exchanged", "photos were exchanged")


def turn_words(turns: Iterable[TurnStory]) -> str:
    """How many records were taken out, put back, moved: `2 records were taken out, 1 photo was exchanged`."""
    many: Counter[str] = Counter(one.what for one in turns)
    words = [
        f"{count_words(many[what], 'record')} {one if many[what] == 1 else several}"
        for what, (_, one, several) in TURNS.items()
        if many[what]
    ]
    photos = many[PHOTO_EXCHANGED]
    return ", ".join([*words, count_words(photos, *EXCHANGED[1:])] if photos else words)


def turn_lines(here: Here, turns: Iterable[TurnStory]) -> Lines | None:
    """What befell whole records, a line each; None where nothing did."""
    lines = tuple(_turn_line(here, one) for one in turns if one.what != PHOTO_EXCHANGED)
    return Lines(Heading("records", "Records taken out, put back, moved", str(len(lines))), lines) if lines else None


def _turn_line(here: Here, one: TurnStory) -> Line:
    record = sheet_words(one.sheet) if one.sheet is not None else one.record
    was = f"from {one.was}" if one.what == "moved" and one.was else ""
    by = f", {one.by}: {one.message}" if here.desk.edition == CREW and one.by else ""
    quiet = f"{day_words(one.day)}, {one.commit}{by}"
    return Line(f"{TURNS[one.what][0]}:", was, quiet=quiet, link=Link(record, here.sheet(one.sheet)))


def photo_lines(here: Here, turns: Iterable[TurnStory]) -> Lines | None:
    """Photos that are another picture than was recorded, a line each; None where none is."""
    lines = tuple(_photo_line(here, one) for one in turns if one.what == PHOTO_EXCHANGED)
    heading = Heading("exchanged", "Photos exchanged under their names", str(len(lines)))
    return Lines(heading, lines, note=BOTH_PICTURES) if lines else None


def _photo_line(here: Here, one: TurnStory) -> Line:
    """Of a photo that the reader is not given: that one was exchanged, and when."""
    if not one.photo:
        return Line(f"{EXCHANGED[0]}:", quiet=day_words(one.day))
    record = sheet_words(one.sheet) if one.sheet is not None else one.record
    why = why_words(one) or ("its caption was written anew" if one.captioned else "no reason written")
    by = f", {one.by}: {one.message}" if here.desk.edition == CREW and one.by else ""
    quiet = f"{why}, {day_words(one.day)}, {one.commit}{by}"
    return Line(f"{EXCHANGED[0]}:", one.photo, quiet=quiet, link=Link(record, here.sheet(one.sheet)))


def sheet_corrections(here: Here, engine: EngineStory, sheet: SheetStory) -> Table | None:
    """What was corrected of one sheet, in a table; None where nothing was."""
    own = corrections_of(engine, sheet)
    heading = Heading(CORRECTED, "Corrected since", f"{count_words(len(own), 'correction')}, the newest first")
    return corrections_table(here, engine, own, heading)


def corrected_link(words: str) -> Markup:
    """Words that lead to what was corrected, on the same page."""
    return Markup('<a href="#{}">{}</a>').format(CORRECTED, words)


def row_corrected(row: MeasuredRow, corrections: Iterable[Correction]) -> Markup | None:
    """When a reading was last corrected, leading to how; None of one that stands as it was recorded.

    What is worked out of a reading was corrected with it.
    """
    field = ("positions", row.slot, "measured", row.dimension.id.split(".")[0].split("@")[0])
    days = [
        one.day
        for one in corrections
        if one.matters and (one.source == row.reading.source or one.field[: len(field)] == field)
    ]
    return corrected_link(f"corrected {day_words(max(days))}") if days else None


def drafts(changed: int) -> tuple[Markup, ...]:
    """What stands at the head of a page of records that are in no commit; nothing where all are."""
    return (Markup(escape(draft_words(changed))),) if changed else ()


def draft_words(changed: int) -> str:
    """What a page of uncommitted records says at its head."""
    return DRAFT.format(f"{count_words(changed, 'record')} {'is' if changed == 1 else 'are'}")
