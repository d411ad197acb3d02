"""The tables of an engine's pages of lists.

In: an engine's story. Out: tables and lists for the template; None where there is nothing to set in one. Every row
names its file and line, the file short where all rows are of one.
"""

from collections.abc import Iterable
from datetime import date

from engine_pages.history.change_words import chance_words, verdict_words
from engine_pages.history.gaps import hours_without_a_run
from engine_pages.history.story import ChangeStory, EngineStory, Gap, IncidentStory, LimitRow, LogStory
from engine_pages.pages.addresses import change_path
from engine_pages.pages.desk import Here, sheet_words, source_words
from engine_pages.pages.engine_lines import gap_place, ordered_gaps
from engine_pages.pages.pieces import Column, Entry, Heading, Line, Lines, Link, Table
from engine_pages.pages.sheet_sections import grade_words
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import (
    HARD_BLANK,
    capital,
    count_words,
    dated,
    day_words,
    ended,
    figure_words,
    key_words,
    small,
    span_words,
)

WORTH_TELLING = 2  # a grade from which a finding without words of its own is listed
GAP_TITLES = {
    "differs": "Builder and limits differ",
    "not measured": "Not measured",
    "no limit": "No limit written",
    "unknown life": "Life before unknown",
    "no decision": "No decision written",
    "no gauge": "No gauge named",
    "no serial": "No serial",
    "log": "Run log",
    "other": "Other",
    "doubt": "Doubts in the records",
}


def log_table(engine: EngineStory) -> Table | None:
    """The run log, the newest line first."""
    counted = hours_without_a_run(engine.log, engine.total.hours)
    if not engine.log and not any(counted):
        return None
    columns = (
        Column("date"),
        Column("what"),
        Column("hours", "num"),
        Column("in all", "num"),
        Column("line", "source"),
    )
    rows: list[tuple[Entry, ...]] = []
    for line, hours in zip(engine.log, counted, strict=False):  # the last amount comes after the last line
        if hours:
            rows.append(_counted_row(line.day, hours, (line.total_hours or 0.0) - line.exposure.hours))
        rows.append(_log_row(engine, line))
    if counted[-1]:
        rows.append(_counted_row(engine.as_of, counted[-1], engine.total.hours))
    heading = Heading("log", "Run log", f"{count_words(len(engine.log), 'line')}, the newest first")
    return Table(heading, columns, tuple(reversed(rows)))


def hours_off_the_log(engine: EngineStory) -> float:
    """Hours in the engine's sum that the counter alone shows."""
    return sum(hours_without_a_run(engine.log, engine.total.hours))


def _counted_row(day: date, hours: float, total: float) -> tuple[Entry, ...]:
    """Hours that no run accounts for, known by a day."""
    return (
        Entry(f"by {day_words(day)}"),
        Entry("By the counter alone", ("no run of the log accounts for these hours",)),
        Entry(figure_words(hours, 1), strong=True),
        Entry(figure_words(total, 1)),
        Entry(""),
    )


def _log_row(engine: EngineStory, line: LogStory) -> tuple[Entry, ...]:
    what = key_words(line.what) if line.what else line.kind
    kind = f"{line.kind}, {what}" if line.what and line.kind != "run" else what
    said = [amount_words(line.exposure.amount(unit), unit) for unit in ("km", "starts") if line.exposure.amount(unit)]
    said += [f"{name} {value.replace(' ', HARD_BLANK) if value[:1].isdigit() else value}" for name, value in line.words]
    said += [f"{key_words(name)}: {value}" for name, value in line.fluids]
    small_lines = tuple(words for words in (", ".join(said), line.note or "") if words)
    hours = (
        figure_words(line.exposure.hours, 1)
        if line.exposure.hours
        else ("not written" if line.exposure.at_least or line.kind == "run" else "")
    )
    return (
        Entry(day_words(line.day), (line.clock,) if line.clock else ()),
        Entry(capital(kind), small_lines),
        Entry(hours, strong=True),
        Entry(figure_words(line.total_hours, 1) if line.total_hours is not None else ""),
        Entry(source_words(line.source, f"engines/{engine.id}/")),
    )


def change_lines(here: Here, engine: EngineStory) -> Lines | None:
    """Whether the changes of this engine helped, each with the way to its page."""
    made = [(n, one) for n, one in here.desk.changes() if any(each.engine == engine.id for each in one.made)]
    lines = tuple(
        Line(
            f"{capital(one.fluid.replace('_', ' '))}:",
            _change_words(one),
            link=Link("what was compared", here.to(change_path(one.fluid, number))),
        )
        for number, one in made
    )
    return Lines(Heading("helped", "Did a change help"), lines) if lines else None


def _change_words(change: ChangeStory) -> str:
    back = ", and back" if change.back else ""
    said = " ".join(words for words in (verdict_words(change), chance_words(change)) if words)
    return f"{change.before} to {change.after}{back}. {dated(said)}"


def fluid_table(engine: EngineStory) -> Table | None:
    """What was in it from when to when, fluid by fluid, the newest first."""
    if not engine.fluids:
        return None
    columns = (
        Column("fluid"),
        Column("what"),
        Column("dates"),
        Column("hours on it", "num"),
        Column("line", "source", optional=True),
    )
    rows = tuple(
        (
            Entry(key_words(span.fluid)),
            Entry(span.name, strong=span.ended is None),
            Entry(span_words(span.began, span.ended), (f"from {amount_words(span.at_hours, 'hours')} on",)),
            Entry(figure_words(span.hours, 1)),
            Entry(source_words(span.source, f"engines/{engine.id}/")),
        )
        for fluid in dict.fromkeys(one.fluid for one in engine.fluids)
        for span in reversed([one for one in engine.fluids if one.fluid == fluid])
    )
    return Table(Heading("fluids", "Fluids and changes", "in force now: bold"), columns, rows)


def event_table(here: Here, engine: EngineStory) -> Table | None:
    """Incidents, the newest first, and the sheet that looked into each."""
    if not engine.incidents:
        return None
    columns = (
        Column("date"),
        Column("incident"),
        Column("hours", "num"),
        Column("looked into"),
        Column("line", "source"),
    )
    rows = tuple(_event_row(here, engine, incident) for incident in reversed(engine.incidents))
    note = "Looked into: the first sheet after it. What it asks of each part stands under Service due."
    return Table(Heading("incidents", "Incidents", "the newest first"), columns, rows, note=note)


def _event_row(here: Here, engine: EngineStory, incident: IncidentStory) -> tuple[Entry, ...]:
    answered = incident.answered
    return (
        Entry(day_words(incident.day)),
        Entry(capital(key_words(incident.what)), (incident.words,) if incident.words else (), strong=True),
        Entry(figure_words(incident.hours, 1) if incident.hours is not None else ""),
        Entry(
            sheet_words(answered) if answered else "not yet",
            (day_words(answered.day),) if answered else (),
            href=here.sheet(answered),
        ),
        Entry(source_words(incident.source, f"engines/{engine.id}/")),
    )


def finding_lines(here: Here, engine: EngineStory) -> Lines | None:
    """Findings of every sheet, the newest first: those with words, and grades that are worth telling."""
    lines = []
    for sheet in reversed(engine.sheets):
        for found in sheet.found:
            grades = [grade for grade in found.grades if grade.grade >= WORTH_TELLING]
            words = ([ended(found.finding)] if found.finding else []) + [
                ended(capital(grade_words(one))) for one in grades
            ]
            if words:
                lines.append(
                    Line(
                        f"{day_words(sheet.ref.day)}, {small(found.slot_name)}:",
                        " ".join(words),
                        source=source_words(found.source, f"engines/{engine.id}/"),
                        link=Link(sheet_words(sheet.ref), here.sheet(sheet.ref)),
                    )
                )
    return Lines(Heading("findings", "Findings", "the newest first"), tuple(lines)) if lines else None


def limit_tables(engine: EngineStory) -> tuple[Table, ...]:
    """Limits kind by kind, each with its own source."""
    if not engine.limits:
        return ()
    columns = (
        Column("dimension"),
        Column("limit", "num"),
        Column("source"),
        Column("line", "source", optional=True),
    )
    rows = tuple(_limit_row(engine, row) for row in engine.limits)
    heading = Heading("limits", "Sources and limits", f"{count_words(len(rows), 'line')} of {engine.family_name}")
    return (Table(heading, columns, rows, note="As written in the family’s file, in the dimension’s own unit."),)


def _limit_row(engine: EngineStory, row: LimitRow) -> tuple[Entry, ...]:
    return (
        Entry(row.kind_name, (small(row.dimension),)),
        Entry(row.limit or "none", _limit_notes(row), strong=bool(row.limit)),
        Entry(row.limit_source or ("no source is written" if row.limit else "")),
        Entry(source_words(row.source, f"families/{engine.family}.yml")),
    )


def _limit_notes(row: LimitRow) -> tuple[str, ...]:
    """What stands small under a limit: its unit, and what is new."""
    new = f"new {row.new}" if row.new else ""
    return tuple(words for words in (row.unit, new) if words)


def grade_lines(engine: EngineStory) -> Lines | None:
    """What the grades 0 to 4 mean, each thing that is looked at on its line."""
    if not engine.grades:
        return None
    lines = tuple(
        Line(f"{capital(key_words(name))}:", ended("; ".join(f"{grade}: {meaning}" for grade, meaning in meanings)))
        for name, meanings in engine.grades
    )
    return Lines(Heading("grades", "Grades"), lines)


def instrument_table(engine: EngineStory) -> Table | None:
    """The shop's gauges and when each was calibrated."""
    if not engine.instruments:
        return None
    rows = tuple(
        (Entry(key), Entry(name), Entry(_calibrated(calibrated))) for key, name, calibrated in engine.instruments
    )
    columns = (Column("gauge"), Column("name"), Column("calibrated"))
    return Table(Heading("gauges", "Gauges"), columns, rows)


def _calibrated(iso: str) -> str:
    """The day as the story gives it (2026-01-15), in words."""
    return day_words(date.fromisoformat(iso)) if iso else "not written"


def gap_groups(here: Here, engine: EngineStory) -> tuple[Lines, ...]:
    """Known gaps by kind, those that a builder can settle first."""
    groups: dict[str, list[Gap]] = {}
    for gap in ordered_gaps(engine):
        groups.setdefault(gap.kind, []).append(gap)
    return tuple(
        Lines(Heading(kind.replace(" ", "-"), GAP_TITLES[kind], str(len(gaps))), tuple(_gap_lines(here, engine, gaps)))
        for kind, gaps in groups.items()
    )


def _gap_lines(here: Here, engine: EngineStory, gaps: Iterable[Gap]) -> Iterable[Line]:
    return (Line(text=ended(capital(dated(gap.what))), source=gap_place(here, engine, gap)) for gap in gaps)
