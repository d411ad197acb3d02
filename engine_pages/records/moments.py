"""The order of what happened on one day: builds, runs, inspections and teardowns of one engine.

Without times, a run counts before a teardown or an inspection of its day and after a build; a teardown comes before a
build. A written time counts for what it stands on, and what has none is put beside it by the same rules. Days are days
of the shop's own calendar: time zones play no part.
"""

from collections import defaultdict
from datetime import date, time

from .fields import When
from .load import EngineRecords, SheetRecord

Moment = tuple[int, int, int]  # day number, minute of the day, order within the minute

DAY_BEGINS = -1  # minute of the day for a build with nothing before it
NOON = 720  # minute for a run without a time
DAY_ENDS = 1440  # minute for what comes after the day's runs
# order within a minute: a build, the log's lines by their number, an inspection, a teardown, a build after a teardown
BUILD, INSPECTION, TEARDOWN, BUILD_AGAIN = -1, 10**6, 10**6 + 1, 10**6 + 2
STRIPPED_FIRST = -2  # a teardown without a time, on the day of a build with one


class DayOrder:
    """Moments for the sheets and log lines of one engine."""

    def __init__(self, records: EngineRecords) -> None:
        self._sheets: dict[date, list[SheetRecord]] = defaultdict(list)
        for sheet in records.sheets:
            self._sheets[sheet.day].append(sheet)

    def of_log(self, when: When, index: int) -> Moment:
        """The moment of a log line; lines of one day keep their order."""
        minute = _minute(when.clock) if when.clock else self._run_minute(when.day)
        return when.day.toordinal(), minute, index

    def of_sheet(self, sheet: SheetRecord) -> Moment:
        """The moment of a sheet."""
        minute, order = self._of_sheet(sheet)
        return sheet.day.toordinal(), minute, order

    def _of_sheet(self, sheet: SheetRecord) -> tuple[int, int]:
        clock = sheet.date.clock
        if sheet.kind == "inspection":
            return _minute(clock) if clock else DAY_ENDS, INSPECTION
        if sheet.kind == "teardown":
            return self._of_teardown(sheet.day, clock)
        strips = [self._of_teardown(s.day, s.date.clock) for s in self._of_kind(sheet.day, "teardown")]
        minute = _minute(clock) if clock else max((at for at, _ in strips), default=DAY_BEGINS)
        return minute, BUILD_AGAIN if (minute, TEARDOWN) in strips else BUILD

    def _of_teardown(self, day: date, clock: time | None) -> tuple[int, int]:
        if clock is not None:
            return _minute(clock), TEARDOWN
        builds = [_minute(s.date.clock) for s in self._of_kind(day, "build") if s.date.clock]
        return (min(builds), STRIPPED_FIRST) if builds else (DAY_ENDS, TEARDOWN)

    def _run_minute(self, day: date) -> int:
        """A run without a time: before what looked at the engine, and behind a build that comes before that."""
        looks = [self._of_sheet(s) for s in self._sheets.get(day, ()) if s.kind != "build"]
        latest = min((at - 1 if order == STRIPPED_FIRST else at for at, order in looks), default=DAY_ENDS)
        builds = [self._of_sheet(s)[0] for s in self._of_kind(day, "build")]
        earliest = max((minute for minute in builds if minute < latest), default=DAY_BEGINS)
        return min(latest, max(earliest, NOON))

    def _of_kind(self, day: date, kind: str) -> list[SheetRecord]:
        return [sheet for sheet in self._sheets.get(day, ()) if sheet.kind == kind]


def _minute(clock: time) -> int:
    return clock.hour * 60 + clock.minute
