"""Every reading of a part, dimension by dimension, the newest first, each with its sheet and line.

In: a part's story. Out: `Readings`, tables under one heading.
"""

from msgspec import Struct

from engine_pages.history.story import DimensionStory, PartStory, ReadingStory
from engine_pages.pages.desk import Here, sheet_words, source_words
from engine_pages.pages.dimension_words import limit_words, reading_decimals, reading_words
from engine_pages.pages.measured_table import assumed_words, change_words, readings_words
from engine_pages.pages.pieces import Column, Entry, Heading, Table
from engine_pages.pages.shown_units import beside, shown
from engine_pages.pages.words import (
    dated,
    day_words,
    ended,
    figure_words,
    needed_decimals,
    range_words,
    unit_words,
)


class Readings(Struct, frozen=True):
    """The tables of a part's readings; each table's own heading stands below this one."""

    heading: Heading
    tables: tuple[Table, ...]


def readings_section(here: Here, part: PartStory, units: tuple[str, str | None]) -> Readings | None:
    """All readings of a part; None where there are none."""
    dimensions = [shown(one, units[0]) for one in part.dimensions if one.readings]
    if not dimensions:
        return None
    count = readings_words([reading for one in dimensions for reading in one.readings])
    tables = tuple(_table(here, one, units[1]) for one in dimensions)
    return Readings(Heading("readings", "Readings", f"{count}, the newest first"), tables)


def _table(here: Here, dimension: DimensionStory, also: str | None) -> Table:
    corrected = any(one.corrected for one in dimension.readings)
    columns = (
        Column("date, sheet"),
        Column("hours", "num"),
        Column(f"{dimension.unit} at 20 °C" if corrected else dimension.unit, "num"),
        Column(f"change, {dimension.unit}", "num"),
        Column("gauge", optional=True),
    )
    rows = tuple(_row(here, dimension, one, also) for one in reversed(dimension.readings))
    heading = Heading(f"readings-{_anchor(dimension.id)}", dimension.name)
    return Table(heading, columns, rows, note=" ".join(_note(dimension)))


def _anchor(id: str) -> str:
    return "".join(letter if letter.isalnum() else "-" for letter in id)


def _row(here: Here, dimension: DimensionStory, reading: ReadingStory, also: str | None) -> tuple[Entry, ...]:
    sheet = reading.sheet
    hours = figure_words(reading.part_hours, 1) if reading.part_hours is not None else ""
    value = reading.value_20c if reading.value_20c is not None else reading.value
    other = beside(value, dimension.unit, reading_decimals(reading), also) if value is not None else None
    where = reading.station or ""
    verdict = "" if reading.verdict == "no limit" else reading.verdict
    written = f"written {reading.written}" if reading.corrected or reading.repeats > 1 else ""
    gauge = reading.instrument or ("no gauge named" if reading.kind == "gauge" else "")
    source = source_words(reading.source, sheet.path)
    return (
        Entry(day_words(sheet.day), (sheet_words(sheet), source), href=here.sheet(sheet)),
        Entry(hours),
        Entry(reading_words(reading), tuple(words for words in (other, where, verdict) if words), strong=True),
        _change(dimension, reading),
        Entry(gauge, tuple(words for words in (written, reading.correction and "corrected") if words)),
    )


def _change(dimension: DimensionStory, reading: ReadingStory) -> Entry:
    if reading.baseline != dimension.baseline_number:
        return Entry("", ("earlier baseline",))
    change, reach = change_words(reading)
    return Entry(change, (reach,) if reach else ())


def _note(dimension: DimensionStory) -> list[str]:
    """The limit with its source, what is new, and how the readings were made."""
    words = []
    if dimension.limit is not None:
        limit = unit_words(limit_words(dimension.limit, dimension.decimals), dimension.unit)
        where = f", {source_words(dimension.limit_where)}" if dimension.limit_where is not None else ""
        words.append(f"Limit {limit}: {dimension.limit_source or 'no source is written'}{where}.")
    if dimension.new is not None:
        digits = max(dimension.decimals, *(needed_decimals(end) for end in dimension.new))
        new = range_words(*dimension.new, digits)
        words.append(f"New: {unit_words(new, dimension.unit)}.")
    if dimension.baseline_why:
        words.append(ended(f"This baseline: {dated(dimension.baseline_why)}"))
    if any(one.repeats > 1 for one in dimension.readings):
        words.append("Several readings are given by their mean.")
    return [*words, *assumed_words(dimension.readings)]
