"""Points of the trail: what was recorded late, changed or taken out after it was recorded, or is in no commit.

A correction that was written beside the figure settles the change: it stays in the list of corrections, and is no open
point. Dates are those that git was told; a record shows when it was written down, not that it is true.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Final

from ..history.told_review import Point
from ..history.trail_asked import SHEETS, EngineTrail
from ..history.trail_days import told_day
from ..history.trail_words import field_words
from ..records.amendments import Field
from ..records.commits import CommitFacts
from ..records.source import Source
from ..records.strands import Turn
from ..records.trail import Amendment, RecordTrail
from .amended import WEIGHTY, quiet
from .exchanged import exchanged, place_words
from .late import Late, late_entries, late_sheet

SHORT: Final = 7  # signs of a commit's id
NAMED: Final = 3  # changes in a sentence
SHEETS_OF_A_BULK: Final = 3  # sheets in one commit from which on they are one point
ANSWER_ALONE: Final = "answer why it was changed: such a file has no line correction:"
PHOTOS: Final = "photos"  # where a photo was exchanged, in every edition: its sheet may be one that names it no more
Place = Callable[[str, Field], Source]


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
    yield from _late(trail)
    for record in trail.records:
        yield from _changed(record, place)
    yield from _taken_out(trail)
    yield from _exchanged(trail, place)


def _late(trail: EngineTrail) -> Iterator[Point]:
    """What came long after the work: the sheets of one commit together, for they have one answer; else file by file."""
    by_commit: dict[str, list[tuple[RecordTrail, Late]]] = {}
    for record in trail.sheets:
        whole = late_sheet(record)
        if whole is not None:
            by_commit.setdefault(whole.commit.id, []).append((record, whole))
    single: dict[str, Late] = {}
    for commit, sheets in by_commit.items():
        if len(sheets) < SHEETS_OF_A_BULK:
            single |= {record.path: late for record, late in sheets}
        else:
            days, day = _span([late for _, late in sheets]), told_day(sheets[0][1].commit)
            what = f"{len(sheets)} sheets were recorded in one commit, {days} after the work"
            yield Point("recorded-late", commit[:SHORT], what, _top(sheets[0][0]), since=day)
    for record in (*trail.sheets, *trail.others):
        yield from _late_file(record, single.get(record.path))


def _late_file(record: RecordTrail, whole: Late | None) -> Iterator[Point]:
    """What of one file came late, and bears no reason."""
    entries = [one for one in late_entries(record) if not one.explained]
    if whole is None and not entries:
        return
    told = [f"recorded {_span([whole])} after the work"] if whole is not None else []
    if entries:
        names = ", ".join(field_words(one.field) for one in entries[:NAMED])
        more = f" and {len(entries) - NAMED} more" if len(entries) > NAMED else ""
        told += [f"{names}{more} written {_span(entries)} after {'the day' if record.kind == 'log' else 'the work'}"]
    newest = max(told_day(one.commit) for one in (*entries, *((whole,) if whole is not None else ())))
    where = _from_engine(record.path)
    yield Point("recorded-late", where, f"{record.number or where}: {'; '.join(told)}", _top(record), since=newest)


def _span(late: Sequence[Late]) -> str:
    """`206 to 269 days`; it is late, so never one day."""
    least, most = min(one.days for one in late), max(one.days for one in late)
    return f"{most} days" if least == most else f"{least} to {most} days"


def _changed(record: RecordTrail, place: Place) -> Iterator[Point]:
    """What was changed or taken out without a word why; of one record one point."""
    silent = [one.it for one in quiet(record)]
    if silent and record.kind in WEIGHTY:
        more = f" and {len(silent) - NAMED} more" if len(silent) > NAMED else ""
        named = record.number or _from_engine(record.path)
        what = f"{named}: {'; '.join(change_words(one) for one in silent[:NAMED])}{more}, and no correction is written"
        settle = None if record.kind in (*SHEETS, "log") else ANSWER_ALONE
        newest = max(told_day(one.commit) for one in silent)
        where = _from_engine(record.path)
        yield Point("figure-changed", where, what, place(record.path, silent[0].field), settle, newest)


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


def _exchanged(trail: EngineTrail, place: Place) -> Iterator[Point]:
    """Photos that became other pictures, and nobody wrote why: one point, which every edition finds at one place, also
    where a photo itself is not given."""
    found = [(record, one.turn) for record in trail.sheets for one in exchanged(record) if not one.explained]
    if not found:
        return
    words = [*dict.fromkeys(_photo_words(record, turn) for record, turn in found)]
    more = f" and {len(words) - NAMED} more" if len(words) > NAMED else ""
    given = next(((record, turn) for record, turn in found if not turn.withheld), None)
    source = place(given[0].path, given[1].field) if given is not None else None
    what = f"{'; '.join(words[:NAMED])}{more}, and nothing says why"
    yield Point("photo-exchanged", PHOTOS, what, source, since=max(told_day(turn.commit) for _, turn in found))


def _photo_words(record: RecordTrail, turn: Turn) -> str:
    exchanged_on = f"was exchanged on {told_day(turn.commit)}"
    if turn.withheld:
        return f"a photo {exchanged_on}"
    return f"{record.number or _from_engine(record.path)}: a photo of {place_words(turn.field)} {exchanged_on}"


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
