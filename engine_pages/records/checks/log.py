"""Checks of the run log: its order, its runs, its services, its incidents."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from ..family import INCIDENTS
from ..load import LogEntry
from ..log import ANY_WHAT, WHAT, LogLine
from ..quantity import Quantity, in_unit
from ..source import Problem, Source, doubt, error, nearest
from .checked import Checked

LONGEST_RUN = 24.0  # hours; a run on one day is shorter, and several have their number written


def check_order(checked: Checked) -> Iterator[Problem]:
    """A log is written as things happen: a line before its time is most likely a slip in the date."""
    for entries in _logs(checked):
        for before, entry in pairwise(entries):
            first, second = before.line.date, entry.line.date
            clocks = first.clock is not None and second.clock is not None
            if second.day < first.day or (second.day == first.day and clocks and second < first):
                message = f"{second} stands behind {first}; a log is in date order"
                yield doubt(_place(entry, "date"), message)


def check_overlaps(checked: Checked) -> Iterator[Problem]:
    """One engine does not run twice at once. A run's time is when it began."""
    for records in checked.engines():
        timed = [entry for entry in records.log if entry.line.kind == "run" and entry.line.date.clock is not None]
        for before, entry in pairwise(sorted(timed, key=lambda one: one.line.date)):
            between = (_began(entry.line) - _began(before.line)) / timedelta(hours=1)
            if between < _hours(before.line):
                over = (_began(before.line).hour * 60 + _began(before.line).minute + _hours(before.line) * 60) % 1440
                until = f"{int(over // 60):02d}:{int(over % 60):02d}"
                message = (
                    f"this run begins at {entry.line.date}, before the run of {before.line.date} is over ({until})"
                )
                yield doubt(_place(entry, "date"), message)


def check_runs(checked: Checked) -> Iterator[Problem]:
    """A run says how long it was, or how much it was of what the family's wear is reckoned against."""
    for records in checked.engines():
        family = checked.shop.family_of(records.id)
        unit = family.exposure if family is not None else "hours"
        for entry in records.log:
            line = entry.line
            counts = unit == "runs" or (unit in ("km", "starts") and getattr(line, unit) is not None)
            if line.kind == "run" and line.hours is None and line.minutes is None and not (counts or entry.broken):
                yield doubt(
                    entry.source, 'a run without hours or minutes: the hours of every part in it are "at least"'
                )


def check_lengths(checked: Checked) -> Iterator[Problem]:
    """No run lasts a day, and a service none: minutes written as hours, or the counter in the place of the hours."""
    for records in checked.engines():
        for entry in records.log:
            hours = _hours(entry.line)
            if entry.line.kind == "run" and hours > LONGEST_RUN and entry.line.runs is None:
                yield doubt(entry.source, f"a run of {hours:g} h; were the minutes meant, or several runs (runs: n)?")
            elif entry.line.kind != "run" and hours > 0:
                message = (
                    f"{hours:g} h on a {entry.line.kind} count for every part; was the counter meant (counter: …)?"
                )
                yield doubt(entry.source, message)


def check_services(checked: Checked) -> Iterator[Problem]:
    """What was done stands among the family's services, or it resets no interval; where none is written yet, there is
    none to be reset."""
    for records in checked.engines():
        family = checked.whole_family_of(records.id)
        known = family.services if family is not None else None
        if not known:
            continue
        for entry in records.log:
            for index, did in enumerate(entry.line.did or ()):
                if did not in known:
                    message = f"{did!r} is none of the family's services; {nearest(did, known)}"
                    yield doubt(_place(entry, "did", index), message)


def check_incidents(checked: Checked) -> Iterator[Problem]:
    """What happened decides which parts are looked at; what is run is a run, and what goes wrong is an incident."""
    for records in checked.engines():
        for entry in records.log:
            line, allowed = entry.line, WHAT.get(entry.line.kind, ANY_WHAT)
            if line.kind == "incident" and line.what is None and not entry.broken:
                message = f"an incident without what: triggers no inspection; {nearest('', INCIDENTS)}"
                yield doubt(entry.source, message)
            elif line.what is not None and line.what not in allowed:
                message = f"{line.what!r} is the what: of no {line.kind}; {nearest(line.what, allowed)}"
                yield error(_place(entry, "what"), message)


def _logs(checked: Checked) -> Iterator[list[LogEntry]]:
    """The lines of each log file; an engine may have several."""
    for records in checked.engines():
        files: dict[str, list[LogEntry]] = {}
        for entry in records.log:
            files.setdefault(entry.document.path, []).append(entry)
        yield from files.values()


def _place(entry: LogEntry, *steps: str | int) -> Source:
    return entry.document.place(entry.index, *steps)


def _began(line: LogLine) -> datetime:
    assert line.date.clock is not None
    return datetime.combine(line.date.day, line.date.clock)


def _hours(line: LogLine) -> float:
    return _in_hours(line.hours, "h") + _in_hours(line.minutes, "min")


def _in_hours(amount: Quantity | None, unit: str) -> float:
    return float(in_unit(amount, "h", unit)) if amount is not None else 0.0
