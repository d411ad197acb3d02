"""What was written down long after its day: sheets, entries added to them, lines of a log.

In: a record's trail. Out: each such writing with its days and its reason, if one was written.
"""

from collections.abc import Iterator
from typing import Final

from msgspec import Struct

from ..history.trail_asked import SHEETS
from ..history.trail_days import days_after, days_late
from ..records.amendments import CORRECTION, Field
from ..records.commits import CommitFacts
from ..records.list_items import paired_items
from ..records.trail import RecordTrail
from .amended import amended, is_figure

LATE_AFTER: Final = 14  # days from the work to its record: two weekends at the bench; common practice is the same week


class Late(Struct, frozen=True):
    """One writing. `field`: of an entry or a log line; empty of a whole sheet. explained: whether it says from what."""

    commit: CommitFacts
    days: int
    field: Field = ()
    explained: bool = False


def late_sheet(record: RecordTrail) -> Late | None:
    """A sheet whose first commit came late; None where it did not, and where a cut history cannot say."""
    days = days_late(record)
    if not record.here or record.recorded is None or days is None or days <= LATE_AFTER or record.before_cut:
        return None
    return Late(record.recorded, days)


def late_entries(record: RecordTrail) -> tuple[Late, ...]:
    """Figures and decisions that were added late to a sheet, and late lines of a log."""
    found = _lines(record) if record.kind == "log" else _added(record) if record.kind in SHEETS else ()
    return tuple(one for one in found if one.days > LATE_AFTER) if record.here else ()


def _added(record: RecordTrail) -> Iterator[Late]:
    for one in amended(record):
        stands = one.it.kind == "added" and one.it.left_out is None
        days = days_after(record.date, one.it.commit)
        if stands and days is not None and is_figure(record.kind, one.it.field):
            yield Late(one.it.commit, days, one.it.field, bool(one.why))


def _lines(record: RecordTrail) -> Iterator[Late]:
    """Lines of a log by the day that each bears: those that it began with, and those that came."""
    if isinstance(record.first, list) and record.recorded is not None and not record.before_cut:
        for name, _, line in paired_items("", [], record.first):
            days = days_after(_day_of(name), record.recorded)
            if days is not None:
                yield Late(record.recorded, days, (name,), isinstance(line, dict) and bool(line.get(CORRECTION)))
    for one in amended(record):
        days = days_after(_day_of(one.it.field[0]), one.it.commit) if len(one.it.field) == 1 else None
        if one.it.kind == "added" and one.it.left_out is None and days is not None:
            yield Late(one.it.commit, days, one.it.field, bool(one.why))


def _day_of(name: str) -> str:
    """A line of a log is named by its day first."""
    return name[:10]
