"""The page of a build, an inspection or a teardown: what was found, measured, fitted and decided on one day.

In: a sheet's story and its engine's. Out: `SheetPage`, the data of its template. One template serves the three kinds of
sheet; what a sheet does not hold is a section that is None.
"""

from collections import Counter

from markupsafe import Markup
from msgspec import Struct

from engine_pages.history.status import NO_LIMIT
from engine_pages.history.story import EngineStory, MeasuredRow, SheetStory
from engine_pages.pages.addresses import sheet_path
from engine_pages.pages.chamber_tables import chamber_tables
from engine_pages.pages.desk import Desk, Here, sheet_words
from engine_pages.pages.heads import engine_foot, print_margin, says, short_commit
from engine_pages.pages.measured_table import MeasuredTable, measured_table, readings_words
from engine_pages.pages.notes import render_note
from engine_pages.pages.pieces import Cell, Heading, Lines, PageHead, PhotoSection, Table
from engine_pages.pages.sheet_sections import (
    decided_lines,
    fitted_table,
    found_lines,
    found_photos,
    rest_lines,
    work_lines,
)
from engine_pages.pages.trail_words import corrected_link, corrections_of, drafts, recorded_words, sheet_corrections
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import HARD_BLANK, capital, count_words, day_words, list_words, small, unit_words
from engine_pages.records.sheet import GOES_OUT

KIND_WORDS = {"build": "Build sheet", "inspection": "Inspection, not taken apart", "teardown": "Teardown sheet"}


class Note(Struct, frozen=True):
    """A sheet's note, as harmless HTML; `crew` is the crew's own, which only the crew's edition holds."""

    heading: Heading
    html: Markup
    crew: Markup | None


class SheetPage(Struct, frozen=True):
    """One sheet. Sections stand in the order of the fields.

    `fitted` is what a build put where; `photos` and `found` what was seen; `measured` every reading against its limit;
    `decided` what was decided, with ruled lines for a pencil where `by_hand` says so; `tests`, `work` (machining) and
    `rest` (torque, fluids, corrections, what was not looked at) follow; `corrected` is what was changed since it was
    recorded.
    """

    head: PageHead
    fitted: Table | None
    photos: PhotoSection | None
    found: Lines | None
    measured: MeasuredTable | None
    decided: Lines | None
    by_hand: bool
    tests: tuple[Table, ...]
    work: Lines | None
    rest: Lines | None
    note: Note | None
    corrected: Table | None


def sheet_page(desk: Desk, engine: EngineStory, sheet: SheetStory) -> SheetPage:
    """The page of one sheet."""
    here = Here(desk, sheet_path(sheet.ref))
    within = sheet.ref.path
    return SheetPage(
        head=_head(here, engine, sheet),
        fitted=fitted_table(here, sheet),
        photos=found_photos(here, sheet),
        found=found_lines(here, sheet, within),
        measured=measured_table(here, engine, sheet),
        decided=decided_lines(sheet, within),
        by_hand=sheet.ref.kind == "teardown",
        tests=chamber_tables(sheet, within),
        work=work_lines(here, sheet, within),
        rest=rest_lines(sheet),
        note=_note(sheet),
        corrected=sheet_corrections(here, engine, sheet),
    )


def _note(sheet: SheetStory) -> Note | None:
    if not sheet.note and not sheet.crew_note:
        return None
    crew = Markup(render_note(sheet.crew_note)) if sheet.crew_note else None
    return Note(Heading("note", "Note"), Markup(render_note(sheet.note or "")), crew)


def _head(here: Here, engine: EngineStory, sheet: SheetStory) -> PageHead:
    claim, rest = _answer(sheet)
    return PageHead(
        id=sheet_words(sheet.ref),
        under=tuple(words for words in (KIND_WORDS[sheet.ref.kind], sheet.reason) if words),
        cells=_cells(here, engine, sheet),
        claim=claim,
        rest=rest,
        more=_more(engine, sheet),
        says=(
            *drafts(int(sheet.uncommitted)),
            *says(engine.problems, [sheet.ref.path], sheet.ref.path, here.listing(engine.id, "gaps", "doubt")),
        ),
        foot=engine_foot(engine, sheet.ref.path),
        print_margin=print_margin(sheet_words(sheet.ref), engine.as_of, sheet.commit),
    )


def _cells(here: Here, engine: EngineStory, sheet: SheetStory) -> tuple[Cell, ...]:
    since = sheet.hours_since_build
    hours = amount_words(sheet.engine_hours, "hours") if sheet.engine_hours is not None else "unknown"
    beside = [f"counter {_counter_words(sheet.counter)}"] if sheet.counter else []
    beside += [f"since build {amount_words(since, 'hours')}"] if since is not None else []
    recorded = engine.trail.sheets.get(sheet.ref.path) if engine.trail is not None else None
    commit = Cell("commit", short_commit(sheet.commit), "and changes" if sheet.uncommitted else "")
    if recorded is not None and not sheet.uncommitted:
        commit = Cell("commit", short_commit(recorded.commit), recorded_words(recorded))
    return (
        Cell("engine", engine.id, href=here.engine(engine.id)),
        Cell("date", day_words(sheet.ref.day), sheet.clock or ""),
        Cell("by", sheet.by or "not written"),
        Cell("engine hours", hours, ", ".join(beside)),
        Cell("parts and gauges", _degrees(sheet.temperature) if sheet.temperature else "not written"),
        commit,
    )


def _degrees(written: str) -> str:
    """A temperature as it was read, with its unit; a bare figure is in °C."""
    return unit_words(written, "°C") if written[-1:].isdigit() else written.replace(" ", HARD_BLANK)


def _counter_words(written: str) -> str:
    """The counter as it was read, with its unit; a bare figure is in hours."""
    return unit_words(written, "h") if written[-1:].isdigit() else written.replace(" ", HARD_BLANK)


def _answer(sheet: SheetStory) -> tuple[str, str]:
    """The claim, what is beyond and what cannot be decided; then what is near its limit."""
    beyond = [_named(row) for row in sheet.measured if row.state == "beyond limit"]
    beyond += [small(test.name) for test in sheet.tests if test.state == "beyond limit"]
    open_ = [_named(row) for row in sheet.measured if row.state == "undecided"]
    near = [_named(row) for row in sheet.measured if row.state == "near limit"]
    rest = f"{capital(_shortened(near))} {_is(near)} near the limit." if near else ""
    if beyond or open_:
        claims = [f"{_shortened(beyond)} {_is(beyond)} beyond the limit"] if beyond else []
        claims += [f"{_shortened(open_)} cannot be decided"] if open_ else []
        return f"{capital('; '.join(claims))}.", rest
    judged = _within_words(sheet)
    if judged:
        return f"{judged.removesuffix('.')}{_out_words(sheet)}.", rest
    if sheet.fitted and not sheet.tests:
        return f"{capital(count_words(len(sheet.fitted), 'place'))} fitted.", rest
    return "Nothing was measured against a limit.", rest


def _within_words(sheet: SheetStory) -> str:
    """That all is within its limits, and how much of it has none; nothing where no figure was held against a limit."""
    read = [row for row in sheet.measured if row.state != "not measured"]
    tests = [test for test in sheet.tests if test.state != "not measured"]
    no_limit = [row for row in read if row.reading.verdict == "no limit"]
    untold = [test for test in tests if test.why == NO_LIMIT]
    if len(no_limit) == len(read) and len(untold) == len(tests):
        return ""
    open_ = [f"{len(no_limit)} of {count_words(len(read), 'figure')}"] if no_limit else []
    open_ += [small(test.name) for test in untold]
    if open_:
        return f"What has a limit is within it; {NO_LIMIT} for {list_words(open_)}."
    return "Everything measured is within its limits." if read else "Every test is within its limits."


def _out_words(sheet: SheetStory) -> str:
    """What goes out all the same, so that nobody reads a good gauge as a good part."""
    out = sum(found.decision in GOES_OUT for found in sheet.found)
    return f"; {count_words(out, 'place')} {'goes' if out == 1 else 'go'} out all the same" if out else ""


def _named(row: MeasuredRow) -> str:
    if row.dimension.name == row.slot_name:  # a clearance is named once: it is its own dimension
        return small(row.slot_name)
    return f"{small(row.slot_name)} {small(row.dimension.name)}"


def _is(names: list[str]) -> str:
    return "is" if len(names) == 1 else "are"


def _shortened(names: list[str], most: int = 3) -> str:
    """The first few names, and how many more there are."""
    if len(names) <= most:
        return list_words(names)
    return list_words([*names[:most], f"{len(names) - most} more"])


def _more(engine: EngineStory, sheet: SheetStory) -> Markup:
    photos = len(sheet.all_photos)
    counts = [readings_words([row.reading for row in sheet.measured]), count_words(photos, "photo")]
    if sheet.not_looked_at:
        counts.append(f"{count_words(len(sheet.not_looked_at), 'place')} not looked at")
    decided = Counter(found.decision for found in sheet.found if found.decision)
    words = f"{capital(', '.join(counts))}."
    if decided:
        words += f" Decided: {', '.join(f'{number} {decision}' for decision, number in decided.most_common())}."
    since = corrections_of(engine, sheet)
    corrected = corrected_link(f"{count_words(len(since), 'correction')} since.") if since else ""
    return Markup(" ").join([part for part in (words, corrected) if part])
