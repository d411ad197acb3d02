"""Points of the trail: what was recorded late, changed or taken out after it was recorded, or is in no commit.

A correction that was written beside the figure settles the change: it stays in the list of corrections, and is no open
point. Dates are those that git was told; a record shows when it was written down, not that it is true.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Final

from ..history.told_review import Point
from ..history.trail_asked import SHEETS, EngineTrail
from ..history.trail_days import days_late, told_day
from ..history.trail_words import field_words
from ..records.amendments import Field
from ..records.commits import CommitFacts
from ..records.source import Source
from ..records.trail import Amendment, RecordTrail

LATE_AFTER: Final = 14  # days from the work to its record: two weekends at the bench; common practice is the same week
SHORT: Final = 7  # signs of a commit's id
NAMED: Final = 3  # changes in a sentence
SHEETS_OF_A_BULK: Final = 3  # sheets in one commit from which on they are one point
WEIGHTY: Final = (*SHEETS, "log", "part", "engine", "family")  # records that figures are made of
Place = Callable[[str, Field], Source]

_FIGURES: Final = {
    **dict.fromkeys(SHEETS, frozenset(("date", "engine", "counter", "temperature", "positions", "fits", "tests"))),
    "part": frozenset(("serial", "kind", "prior", "origin", "size")),
    "engine": frozenset(("engine", "family", "stamped")),
    "family": frozenset(("kinds", "fits", "tests")),
}
_WORDS: Final = frozenset(
    ("note", "crew_note", "finding", "why", "photos", "correction", "caption", "view", "did", "name", "source")
)
_OF_A_RUN: Final = frozenset(
    ("date", "kind", "what", "hours", "minutes", "km", "starts", "runs", "over_revs", "peak_rpm", "counter",
     "counter_was")
)  # fmt: skip


def trail_points(trail: EngineTrail | None, place: Place) -> Iterator[Point]:
    """Every point of an engine's trail; None where there is no git to ask."""
    if trail is None or trail.head is None:
        yield Point("no-trail", "git", "no commit holds this engine's records", None)
        return
    if trail.shallow:
        what = "this clone's history is cut: what was changed before its oldest commit does not show"
        yield Point("no-trail", "git", what, None, "git fetch --unshallow")
    for record in trail.records:
        if record.changed:
            yield Point("not-committed", record.path, f"{record.path} differs from the last commit", _top(record))
    yield from _late(trail.sheets)
    for record in trail.records:
        yield from _changed(record, place)
    yield from _taken_out(trail)


def _late(sheets: Sequence[RecordTrail]) -> Iterator[Point]:
    """Sheets that came long after the work; those of one commit together, for they have one answer."""
    by_commit: dict[str, list[tuple[int, RecordTrail]]] = {}
    for record in sheets:
        days = days_late(record)
        if record.here and record.recorded is not None and days is not None and days > LATE_AFTER:
            by_commit.setdefault(record.recorded.id, []).append((days, record))
    for commit, late in by_commit.items():
        if len(late) < SHEETS_OF_A_BULK:
            for days, record in late:
                what = f"{record.number or _from_engine(record.path)}: recorded {days} days after the work"
                yield Point("recorded-late", _from_engine(record.path), what, _top(record))
        else:
            least, most = min(days for days, _ in late), max(days for days, _ in late)
            what = f"{len(late)} sheets were recorded in one commit, {least} to {most} days after the work"
            yield Point("recorded-late", commit[:SHORT], what, _top(late[0][1]))


def matters(kind: str, amendment: Amendment) -> bool:
    """Whether an amendment is of a figure, an identity or a date that a buyer would ask about."""
    field = amendment.field
    if amendment.kind == "added" or not field:
        return False
    if kind == "log":
        return len(field) > 1 and field[1] in _OF_A_RUN
    return field[0] in _FIGURES.get(kind, frozenset()) and not _WORDS.intersection(field)


def _changed(record: RecordTrail, place: Place) -> Iterator[Point]:
    """What was changed or taken out without a word why; of one record one point."""
    quiet = [one for one in record.amendments if matters(record.kind, one) and not one.correction]
    if quiet and record.kind in WEIGHTY:
        more = f" and {len(quiet) - NAMED} more" if len(quiet) > NAMED else ""
        named = record.number or _from_engine(record.path)
        what = f"{named}: {'; '.join(change_words(one) for one in quiet[:NAMED])}{more}, and no correction is written"
        yield Point("figure-changed", _from_engine(record.path), what, place(record.path, quiet[0].field))


def _taken_out(trail: EngineTrail) -> Iterator[Point]:
    """Records that were this engine's, and are no longer there or lie in another engine's folder."""
    by_path: dict[str, list[tuple[RecordTrail, CommitFacts]]] = {}
    for record in trail.records:
        where = _left(record, f"engines/{trail.engine}/")
        if where is not None and record.kind in WEIGHTY:
            by_path.setdefault(where[0], []).append((record, where[1]))
    for path, gone in by_path.items():
        named = " and ".join(record.number or _from_engine(path) for record, _ in gone)
        newest = max(told_day(commit) for _, commit in gone)
        recorded = min(told_day(record.recorded) for record, _ in gone if record.recorded is not None)
        what = f"{named}: recorded on {recorded}, and taken out on {newest}"
        yield Point("record-gone", _from_engine(path), what, Source(path, 1, 1), since=newest)


def _left(record: RecordTrail, folder: str) -> tuple[str, CommitFacts] | None:
    """Where a record lay before it left the engine, and by which commit; None where it did not."""
    if record.recorded is None or record.last is None:
        return None
    if not record.here:
        out = [turn.commit for turn in record.turns if turn.what in ("removed", "left out")]
        return record.path, (out[-1] if out else record.last)
    if record.path.startswith(folder) or not any(path.startswith(folder) for path in record.paths):
        return None
    moved = [turn for turn in record.turns if turn.what == "moved" and turn.was.startswith(folder)]
    return (moved[-1].was, moved[-1].commit) if moved else None


def change_words(one: Amendment) -> str:
    """`rotor-bearing-1 › inside diameter: 60.071 → 60.061 on 2026-10-13`; without its texts `changed on 2026-10-13`."""
    if one.withheld:
        return f"{field_words(one.field)}: {one.kind} on {told_day(one.commit)}"
    old, new = one.old if one.old is not None else "nothing", one.new if one.new is not None else "nothing"
    return f"{field_words(one.field)}: {old} → {new} on {told_day(one.commit)}"


def _from_engine(path: str) -> str:
    return path.split("/", 2)[2] if path.startswith("engines/") else path


def _top(record: RecordTrail) -> Source:
    return Source(record.path, 1, 1)
