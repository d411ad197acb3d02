"""Checks of sheets: their days, their numbers, what they opened."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from ..load import EngineRecords, LogEntry, SheetRecord
from ..moments import Moment
from ..quantity import in_unit
from ..sheet import Sheet
from ..slots import slots_of
from ..source import Problem, Source, doubt, error, nearest
from .checked import Checked

SHOP_TEMPERATURES = (Decimal(-20), Decimal(50))  # °C; common practice, wide
ABSOLUTE_ZERO = Decimal("-273.15")  # °C (SI Brochure)


def check_dates(checked: Checked) -> Iterator[Problem]:
    """A sheet or a log line tells of what has happened: a day to come is most likely a slip in the year."""
    for place, day in _days(checked):
        if day > checked.today:
            yield doubt(place, f"{day} is still to come: today is {checked.today}")


def check_first_builds(checked: Checked) -> Iterator[Problem]:
    """What lies before an engine's first build sheet happened to parts that nobody wrote down."""
    for records in checked.engines():
        order = checked.orders[records.id]
        builds = [sheet for sheet in records.sheets if sheet.kind == "build"]
        if not builds or checked.is_unread(f"engines/{records.id}/builds/"):
            continue
        first = min(builds, key=order.of_sheet)
        for place, moment in _moments(checked, records):
            if moment < order.of_sheet(first):
                yield doubt(place, f"this lies before the engine's first build sheet, {first.path}")


def check_days(checked: Checked) -> Iterator[Problem]:
    """A teardown, a build and runs on one day can have come in any order, unless each has its time."""
    for records in checked.engines():
        runs: dict[date, list[LogEntry]] = defaultdict(list)
        for entry in records.log:
            if entry.line.kind == "run":
                runs[entry.line.date.day].append(entry)
        for day, sheets in _by_day(records.sheets).items():
            strips = [sheet for sheet in sheets if sheet.kind == "teardown"]
            builds = [sheet for sheet in sheets if sheet.kind == "build"]
            written = [*(s.date for s in (*strips, *builds)), *(entry.line.date for entry in runs.get(day, ()))]
            if strips and builds and runs.get(day) and any(when.clock is None for when in written):
                message = f"a teardown ({strips[0].path}), this build and runs on one day; write times, {day} 09:40"
                yield doubt(builds[0].record.place("date"), message)


def check_numbers(checked: Checked) -> Iterator[Problem]:
    """A sheet's own number is its own: it stays the same sheet when its date is corrected."""
    first = dict(checked.beyond.numbers)
    sheets = [sheet for sheet in checked.sheets() if sheet.it.sheet is not None]
    for sheet in sheets:
        number, place = sheet.it.sheet or "", (sheet.day, sheet.path)
        first[number] = min(place, first.get(number, place))
    for sheet in sheets:
        path = first[sheet.it.sheet or ""][1]
        if path != sheet.path:
            yield doubt(sheet.record.place("sheet"), f"sheet {sheet.it.sheet} is the number of {path} too")


def check_filled(checked: Checked) -> Iterator[Problem]:
    """A teardown sheet on which nothing is filled in takes the engine apart all the same."""
    for sheet in checked.sheets():
        if sheet.kind == "teardown" and not _is_filled(sheet.it):
            message = "nothing is filled in on this sheet; it counts as a strip all the same"
            yield doubt(sheet.record.place("date"), message)


def _is_filled(sheet: Sheet) -> bool:
    """Whether anybody wrote on a sheet; its own number and the serials that stand there say nothing new."""
    lines = [line for line in (sheet.positions or {}).values() if line is not None]
    if any(getattr(line, name) for line in lines for name in type(line).model_fields if name != "part"):
        return True
    if any(run.circumstances or run.readings for run in (sheet.tests or {}).values()):
        return True
    others = set(type(sheet).model_fields) - {"engine", "date", "sheet", "positions", "tests"}
    return any(getattr(sheet, name) for name in others)


def check_temperatures(checked: Checked) -> Iterator[Problem]:
    """Parts and gauges are measured at a temperature that somebody stands in; else it was read in other degrees."""
    low, high = SHOP_TEMPERATURES
    for sheet in checked.sheets():
        amount = sheet.it.temperature
        if amount is None:
            continue
        degrees = in_unit(amount, "°C", "°C")
        place = sheet.record.place("temperature")
        if degrees < ABSOLUTE_ZERO:
            yield error(place, f"{amount.written} lies below absolute zero, {ABSOLUTE_ZERO} °C")
        elif not low <= degrees <= high:
            hint = "; was it °F? write the unit" if amount.unit is None else ""
            yield doubt(place, f"{amount.written} is no temperature to measure at, {low} to {high} °C{hint}")


def check_opened(checked: Checked) -> Iterator[Problem]:
    """What a teardown opened are positions of the family: everything else is taken to have stayed shut."""
    for sheet in checked.sheets():
        family = checked.whole_family_of(sheet.engine)
        for index, key in enumerate(sheet.it.opened or ()):
            if family is not None and not slots_of(family).named(key):
                message = f"position {key!r} stands nowhere in the family; {nearest(key, slots_of(family).keys)}"
                yield error(sheet.record.place("opened", index), message)


def _days(checked: Checked) -> Iterator[tuple[Source, date]]:
    for records in checked.engines():
        yield from ((sheet.record.place("date"), sheet.day) for sheet in records.sheets)
        for entry in records.log:
            yield entry.document.place(entry.index, "date"), entry.line.date.day


def _moments(checked: Checked, records: EngineRecords) -> Iterator[tuple[Source, Moment]]:
    order = checked.orders[records.id]
    yield from ((sheet.record.place("date"), order.of_sheet(sheet)) for sheet in records.sheets)
    for entry in records.log:
        yield entry.document.place(entry.index, "date"), order.of_log(entry.line.date, entry.index)


def _by_day(sheets: list[SheetRecord]) -> dict[date, list[SheetRecord]]:
    days: dict[date, list[SheetRecord]] = defaultdict(list)
    for sheet in sheets:
        days[sheet.day].append(sheet)
    return days
