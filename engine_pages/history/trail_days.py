"""On which day something was written down, and how long after the work: commits and days in, days out.

Every page, command and point of the review asks here, so that none says otherwise than another.
"""

from datetime import date

from ..records.commits import CommitFacts
from ..records.trail import RecordTrail


def told_day(commit: CommitFacts) -> date:
    """The day of a commit, by the author's calendar; the commit's own where the author's proves nothing.

    An author's date long before its commit may have been set by hand, and one after it comes of a clock that was wrong.
    """
    return date.fromisoformat((commit.committed if commit.late or commit.ahead else commit.authored)[:10])


def days_after(written: str | None, commit: CommitFacts) -> int | None:
    """Days from a day as written to a commit; None where no day is written that a calendar knows."""
    try:
        work = date.fromisoformat((written or "")[:10])
    except ValueError:
        return None  # the check of the records says so
    return (told_day(commit) - work).days


def days_late(record: RecordTrail) -> int | None:
    """Days from the day on a sheet to its first commit; None where either is not known."""
    return days_after(record.date, record.recorded) if record.recorded is not None else None
