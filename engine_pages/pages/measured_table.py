"""The table of what was measured on a sheet: the last value, this one, the change, the allowance used, the verdict.

In: a sheet's rows, worst first. Out: `MeasuredTable`, whose rows fold into small sheets on a phone.
"""

from collections.abc import Sequence

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.history.status import said_state
from engine_pages.history.story import DimensionStory, EngineStory, MeasuredRow, ReadingStory, SheetStory
from engine_pages.pages.bars import ROW, dimension_bar
from engine_pages.pages.desk import Here, source_words
from engine_pages.pages.dimension_words import limit_words, reading_decimals, reading_words
from engine_pages.pages.marks import state_word
from engine_pages.pages.pieces import Heading, Link
from engine_pages.pages.shown_units import beside, shown
from engine_pages.pages.trail_words import corrections_of, row_corrected
from engine_pages.pages.words import HARD_BLANK, count_words, figure_words, signed_words, small, supported_decimals


class MeasuredLine(Struct, frozen=True):
    """One reading.

    `under` are small lines: dimension and gauge, the limit, then whether it was corrected. `also` is `now` in the other
    unit, `change_u` how well the change is known.
    """

    name: Link
    under: tuple[str, ...]
    last: str
    now: str
    also: str
    change: str
    change_u: str
    bar: Markup
    state: Markup
    decided_label: str
    decided: str
    source: str


class MeasuredTable(Struct, frozen=True):
    """All readings of a sheet, worst first; `note` says in what they are given and how they were judged."""

    heading: Heading
    unit: str
    rows: tuple[MeasuredLine, ...]
    note: str


def measured_table(here: Here, engine: EngineStory, sheet: SheetStory) -> MeasuredTable | None:
    """The measured table of a sheet; None where nothing was measured."""
    if not sheet.measured:
        return None
    shown_rows = [replace(row, dimension=shown(row.dimension, engine.units[0])) for row in sheet.measured]
    units = {row.dimension.unit for row in shown_rows}
    unit = units.pop() if len(units) == 1 else ""
    rows = tuple(_line(here, engine, sheet, row, unit) for row in shown_rows)
    count = readings_words([row.reading for row in sheet.measured])
    heading = Heading("measured", "What was measured", f"worst first, {count}")
    return MeasuredTable(heading, unit, rows, _note(sheet, unit))


def _line(here: Here, engine: EngineStory, sheet: SheetStory, row: MeasuredRow, unit: str) -> MeasuredLine:
    dimension, reading, before = row.dimension, _same(row, row.reading), row.before and _same(row, row.before)
    own_unit = "" if unit else f"{HARD_BLANK}{dimension.unit}"
    gauge = f", {reading.instrument}" if reading.instrument else ""
    station = f", {reading.station}" if reading.station else ""
    value = reading.value_20c if reading.value_20c is not None else reading.value
    also = beside(value, dimension.unit, reading_decimals(reading), engine.units[1]) if value is not None else None
    change, change_u = change_words(reading)
    corrected = row_corrected(row, corrections_of(engine, sheet))
    # Where nothing can be decided (a clearance, a build sheet) the column says no more than the line.
    expected = row.part is not None and sheet.ref.kind == "teardown"
    decided = row.decision or ("nothing" if expected else "")
    return MeasuredLine(
        name=Link(row.slot_name, here.part(row.part)),
        under=(
            f"{small(dimension.name)}{station}{gauge}" if row.part is not None else "clearance",
            f"{limit_words(dimension.limit, dimension.decimals)}{own_unit if dimension.limit else ''}",
            *((corrected,) if corrected else ()),
        ),
        last=f"{reading_words(before)}{own_unit}" if before else "",
        now=f"{reading_words(reading)}{own_unit}",
        also=also or "",
        change=f"{change}{own_unit}" if change else "",
        change_u=f"{change_u}{own_unit}" if change_u else "",
        bar=dimension_bar(_then(row), row.state, ROW),
        state=state_word(row.state, said_state(row.state, has_limit=row.reading.verdict != "no limit")),
        decided_label="decided" if decided else "written at",
        decided=decided,
        source=source_words(reading.source, sheet.ref.path),
    )


def _same(row: MeasuredRow, reading: ReadingStory) -> ReadingStory:
    """The reading as its dimension shows it, which may be in another unit than the row's own copy."""
    for one in row.dimension.readings:
        if one.sheet == reading.sheet and one.source == reading.source and one.station == reading.station:
            return one
    return reading


def _then(row: MeasuredRow) -> DimensionStory:
    """The dimension as it stood on the sheet's day: its bar shows no later reading and no forecast."""
    readings = [one for one in row.dimension.readings if one.day <= row.reading.day]
    return replace(row.dimension, readings=tuple(readings), allowance=row.allowance, forecast=None)


def change_words(reading: ReadingStory) -> tuple[str, str]:
    """How far the reading has moved since the one before, as read, and its U: `+0.003`, `± 0.004`."""
    if reading.change is None:
        return "", ""
    decimals = reading_decimals(reading)
    if reading.change_u is None:
        return signed_words(reading.change, decimals), ""
    decimals = max(decimals, min(supported_decimals(reading.change_u), decimals + 1)) if reading.change_u else decimals
    reach = f"±\u00a0{figure_words(reading.change_u, decimals)}"
    return signed_words(reading.change, decimals), reach


def readings_words(readings: Sequence[ReadingStory]) -> str:
    """How many figures were read, how many are worked out of them, what could not be: `10 readings, 2 worked out`."""
    read, worked_out = sum(one.was_read for one in readings), sum(one.worked_out for one in readings)
    words = [count_words(read, "reading")]
    words += [f"{worked_out} worked out"] if worked_out else []
    words += [f"{rest} not measurable"] if (rest := len(readings) - read - worked_out) else []
    return ", ".join(words)


def assumed_words(readings: Sequence[ReadingStory]) -> list[str]:
    """Whose uncertainty is assumed: of a gauge that nobody named, of one of which the shop says too little."""
    assumed = [one for one in readings if one.gauge_assumed]
    read = [one for one in assumed if one.was_read]
    words = []
    if any(one.instrument is None for one in read):
        words.append("Where no gauge is named, its uncertainty is assumed.")
    if any(one.instrument is not None for one in read):
        words.append(
            "Where the shop gives a gauge no repeat and zero, its uncertainty is assumed from its resolution and the "
            "last digit read."
        )
    if assumed and not read:
        words.append("The uncertainty of a gauge behind what is worked out is assumed.")
    return words


def _note(sheet: SheetStory, unit: str) -> str:
    corrected = any(row.reading.corrected for row in sheet.measured)
    ranges = any(row.reading.kind == "range" for row in sheet.measured)
    words = (
        [f"Figures in {unit}{', brought to 20 °C where the temperature is written' if corrected else ''}."]
        if unit
        else []
    )
    words.append("Verdict: inside or outside by more than the gauge’s uncertainty, else undecided (ISO 14253-1).")
    if ranges:
        words.append("Two dots: a range, one leaf goes in and the next does not.")
    words += assumed_words([row.reading for row in sheet.measured])
    words.append("Lines are of this sheet’s file, named at the foot.")
    return " ".join(words)
