"""The smaller sections of an engine's page: last tests, last strip, all sheets, known gaps, its other pages.

In: an engine's story. Out: sections for the template; None where there is nothing of the kind.
"""

from engine_pages.history.story import EngineStory, FoundStory, Gap, SheetStory, TestStory
from engine_pages.pages.chamber_tables import as_read_words, test_decimals, why_words
from engine_pages.pages.desk import CREW, Here, last_strip_of, sheet_words, source_words
from engine_pages.pages.dimension_words import limit_words
from engine_pages.pages.measured_table import readings_words
from engine_pages.pages.photo_figures import photo_figure
from engine_pages.pages.pieces import (
    Column,
    Entry,
    Heading,
    Line,
    Lines,
    Link,
    PhotoFigure,
    Photos,
    PhotoSection,
    Table,
)
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import capital, count_words, dated, day_words, figure_words, range_words, unit_words

LAST_PHOTOS = 4
MOST_GAPS = 6
SHEET_WORDS = {"build": "build", "inspection": "inspection", "teardown": "teardown"}
GAP_ORDER = (
    "differs",
    "not measured",
    "no limit",
    "unknown life",
    "no decision",
    "no gauge",
    "no serial",
    "log",
    "other",
    "doubt",
)


def test_lines(here: Here, engine: EngineStory) -> Lines | None:
    """The last of each test, with its extremes and its verdict."""
    last: dict[str, TestStory] = {}
    for test in engine.tests:
        known = last.get(test.test)
        if known is None or test.sheet.day >= known.sheet.day:
            last[test.test] = test
    if not last:
        return None
    lines = tuple(_test_line(here, test) for test in last.values())
    more = Link("Compression and leak-down over time", here.listing(engine.id, "tests"))
    return Lines(Heading("tests", "Tested without taking apart"), lines, more=more)


def _test_line(here: Here, test: TestStory) -> Line:
    values = [one.corrected for row in test.rows for one in row[2] if one.corrected is not None]
    at = f" at {figure_words(test.at_rpm, 0)}\u00a0rpm" if test.at_rpm is not None else ""
    at = f" as read ({test.not_corrected})" if test.not_corrected is not None else at
    decimals = test_decimals(test)
    span = ", ".join(as_read_words(row[2], test.unit, test.read_in) for row in test.rows) or "no reading"
    if values:
        ends = range_words(min(values), max(values), decimals)
        span = unit_words(figure_words(values[0], decimals) if min(values) == max(values) else ends, test.unit)
    allowed = f", allowed {unit_words(limit_words(test.limit, decimals), test.unit)}" if test.limit is not None else ""
    return Line(
        f"{test.name}:",
        f"{span}{at}{allowed}: {why_words(test) or test.state}.",
        quiet=day_words(test.sheet.day),
        link=Link(sheet_words(test.sheet), here.sheet(test.sheet)),
    )


def last_strip(here: Here, engine: EngineStory) -> PhotoSection | None:
    """Photos of the last teardown, the worst grades first, and the way to its sheet."""
    sheet = next((one for one in engine.sheets if one.ref == last_strip_of(engine)), None)
    if sheet is None:
        return None
    shown = sorted((found for found in sheet.found if found.photos), key=lambda found: -_worst_grade(found))
    figures = tuple(_strip_figure(here, sheet, found) for found in shown[:LAST_PHOTOS])
    photos = len(sheet.all_photos)
    hours = f", {amount_words(sheet.engine_hours, 'hours')}" if sheet.engine_hours is not None else ""
    reason = f", {sheet.reason}" if sheet.reason else ""
    note = f"{readings_words([row.reading for row in sheet.measured])}, {count_words(photos, 'photo')}."
    return PhotoSection(
        Heading("strip", "Last strip", f"{day_words(sheet.ref.day)}{hours}{reason}"),
        (("", Photos(figures)),) if figures else (),
        capital(note),
        Link(f"Sheet {sheet_words(sheet.ref)}", here.sheet(sheet.ref)),
    )


def _worst_grade(found: FoundStory) -> int:
    return max((grade.grade for grade in found.grades), default=-1)


def _strip_figure(here: Here, sheet: SheetStory, found: FoundStory) -> PhotoFigure:
    worst = _worst_grade(found)
    right = f"grade {worst}" if worst >= 0 else ""
    text = found.finding or ""
    return photo_figure(
        here, sheet.ref.engine, sheet.ref, found.photos[0], left=found.slot_name, right=right, text=text
    )


def sheets_table(here: Here, engine: EngineStory) -> Table | None:
    """All sheets, the newest first."""
    if not engine.sheets:
        return None
    columns = (
        Column("date"),
        Column("sheet"),
        Column("hours", "num"),
        Column("readings", "num"),
        Column("reason", optional=True),
    )
    rows = tuple(
        (
            Entry(day_words(sheet.ref.day)),
            Entry(sheet_words(sheet.ref), (SHEET_WORDS[sheet.ref.kind],), href=here.sheet(sheet.ref)),
            Entry(figure_words(sheet.engine_hours, 1) if sheet.engine_hours is not None else ""),
            Entry(str(sum(row.reading.was_read for row in sheet.measured) or "")),
            Entry(sheet.reason or ""),
        )
        for sheet in reversed(engine.sheets)
    )
    return Table(Heading("sheets", "Sheets", count_words(len(rows), "sheet")), columns, rows)


def ordered_gaps(engine: EngineStory) -> list[Gap]:
    """The known gaps, those that a builder can settle first, and doubts of the records last."""
    return sorted(engine.gaps, key=lambda gap: GAP_ORDER.index(gap.kind))


def gap_count(engine: EngineStory) -> str:
    """How many gaps are known, doubts among them: the one count that every page gives."""
    return count_words(len(engine.gaps), "known gap")


def gap_place(here: Here, engine: EngineStory, gap: Gap) -> str:
    """Where a gap would be settled: the crew goes to that line, and an owner or a buyer has no file to go to."""
    return source_words(gap.source, f"engines/{engine.id}/") if here.desk.edition == CREW else ""


def gap_lines(here: Here, engine: EngineStory) -> Lines | None:
    """The first of the known gaps."""
    gaps = ordered_gaps(engine)
    if not gaps:
        return None
    lines = tuple(
        Line(text=f"{capital(dated(gap.what))}.", source=gap_place(here, engine, gap)) for gap in gaps[:MOST_GAPS]
    )
    more = Link(f"All {gap_count(engine)}", here.listing(engine.id, "gaps")) if len(gaps) > MOST_GAPS else None
    return Lines(Heading("gaps", "Not known", gap_count(engine)), lines, more=more)


def also_lines(here: Here, engine: EngineStory) -> Lines:
    """The ways to the engine's other pages, each with what it holds."""
    pages = (
        ("log", "Run log", count_words(len(engine.log), "line")),
        ("fluids", "Fluids and changes", count_words(len(engine.fluids), "fluid")),
        ("service", "Service due", count_words(len(engine.due), "interval")),
        ("tests", "Compression and leak-down", count_words(len({t.sheet.path for t in engine.tests}), "sheet")),
        ("events", "Events and findings", count_words(len(engine.incidents), "incident")),
        ("limits", "Sources and limits", count_words(sum(bool(row.limit) for row in engine.limits), "limit")),
        ("gaps", "Known gaps", gap_count(engine)),
        ("corrections", "Corrections", _correction_count(engine)),
        ("review", "Before a sale", _open_count(engine)),
    )
    ways = ((here.listing(engine.id, name), title, quiet) for name, title, quiet in pages)
    lines = tuple(Line(quiet=quiet, link=Link(title, way)) for way, title, quiet in ways if way is not None)
    return Lines(Heading("also", "Also of this engine"), lines)


def _correction_count(engine: EngineStory) -> str:
    if engine.trail is None:
        return "not known"
    return count_words(len(engine.trail.corrections) + len(engine.trail.turns), "change")


def _open_count(engine: EngineStory) -> str:
    return f"{count_words(len(engine.review.in_state('open')), 'point')} open" if engine.review is not None else ""
