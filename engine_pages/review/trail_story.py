"""An engine's trail as pages tell it: when each sheet was recorded, what was corrected since, what git cannot say."""

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec.structs import replace

from ..history.story import Correction, EngineStory, Recorded, SheetRef, TrailStory, TurnStory
from ..history.trail_asked import EngineTrail
from ..history.trail_days import days_late, told_day
from ..history.trail_words import SEAL_WORDS, field_words
from ..records.amendments import CORRECTION
from ..records.strands import Turn
from ..records.trail import RecordTrail
from .amended import Amended, amended, matters
from .exchanged import Exchanged, exchanged, place_words
from .late import late_entries
from .sheet_points import from_engine
from .trail_points import Place

SHORT: Final = 7  # signs of a commit's id
UNSIGNED: Final = "none"
OF_THE_SHOP: Final = frozenset(("shop", "shares"))  # gauges and links: no engine's own history
NO_GIT: Final = "There is no git here: nobody can say when a figure was written, or whether it was changed."
NO_COMMIT: Final = "Nothing is committed yet: git knows of no record."
CUT: Final = "This clone's history is cut: what was recorded or changed before its oldest commit does not show."


def trail_story(story: EngineStory, trail: EngineTrail | None, place: Place) -> TrailStory:
    """The trail of an engine whose story is told."""
    if trail is None:
        return TrailStory(cautions=(NO_GIT,))
    sheets = {sheet.ref.path: sheet.ref for sheet in story.sheets}
    by_path = {record.path: record for record in trail.sheets}
    recorded = {path: _recorded(by_path[path], trail) for path in sheets if path in by_path}
    own = [record for record in trail.records if record.kind not in OF_THE_SHOP]
    corrections = [
        _correction(story, record, one, sheets.get(record.path), place) for record in own for one in _told(record)
    ]
    late = [(record.kind == "log", one.days) for record in own for one in late_entries(record)]
    turns = [
        _turn(story, turn, sheets.get(record.path)) for record in own for turn in record.turns if not turn.is_photo
    ]
    turns += [_photo(story, one, record, sheets.get(record.path)) for record in own for one in exchanged(record)]
    return TrailStory(
        sheets={path: one for path, one in recorded.items() if one is not None},
        corrections=tuple(sorted(corrections, key=lambda one: one.day, reverse=True)),
        entries_late=tuple(sorted(days for of_log, days in late if not of_log)),
        lines_late=tuple(sorted(days for of_log, days in late if of_log)),
        turns=tuple(sorted(turns, key=lambda one: one.day, reverse=True)),
        cautions=tuple(_cautions(trail)),
        changed=tuple(record.path for record in trail.records if record.changed),
    )


def _cautions(trail: EngineTrail) -> Iterator[str]:
    if trail.head is None:
        yield NO_COMMIT
    if trail.shallow:
        yield CUT


def _recorded(record: RecordTrail, trail: EngineTrail) -> Recorded | None:
    first = record.recorded
    if first is None:
        return None
    odd = None
    if first.late:
        odd = f"dated {first.authored[:10]}, and committed on {first.committed[:10]}"
    elif first.ahead:
        odd = f"dated {first.authored[:10]}, after its commit of {first.committed[:10]}"
    seal = trail.seals[first.id]
    return Recorded(
        day=told_day(first),
        after=days_late(record),
        by=first.author,
        commit=first.id[:SHORT],
        seal=SEAL_WORDS[seal] if seal != UNSIGNED else None,
        odd=odd,
        before=record.before_cut,
    )


def _told(record: RecordTrail) -> Iterator[Amended]:
    """Amendments of a record. A log grows line by line, and a reason stands with what it explains: neither is told.

    Lines that came late are, those of one commit together.
    """
    late = {(one.commit.id, one.field) for one in late_entries(record)} if record.kind == "log" else set()
    lines: dict[str, list[Amended]] = {}
    for one in amended(record):
        it = one.it
        if it.withheld or it.left_out is not None:
            continue
        if record.kind == "log" and it.kind == "added" and len(it.field) == 1:
            if (it.commit.id, it.field) in late:
                lines.setdefault(it.commit.id, []).append(one)
        elif it.kind != "added" or it.field[-1:] != (CORRECTION,):
            yield one
    for together in lines.values():
        yield together[0] if len(together) == 1 else _as_one(together)


def _as_one(lines: Sequence[Amended]) -> Amended:
    """Lines of a log that one commit brought late, by their names; the reasons of them all."""
    names = ", ".join(one.it.field[0] for one in lines)
    why = tuple(dict.fromkeys(text for one in lines for text in one.why))
    return Amended(replace(lines[0].it, field=(f"{len(lines)} lines",), new=names), why)


def _correction(
    story: EngineStory, record: RecordTrail, told: Amended, sheet: SheetRef | None, place: Place
) -> Correction:
    one = told.it
    return Correction(
        path=record.path,
        record=sheet.label if sheet is not None else from_engine(story, record.path),
        sheet=sheet,
        field=one.field,
        place=field_words(one.field),
        kind=one.kind,
        was=one.old,
        now=one.new,
        day=told_day(one.commit),
        commit=one.commit.id[:SHORT],
        by=one.commit.author,
        message=one.commit.subject,
        why=told.why,
        why_day=told.why_day,
        matters=matters(record.kind, one),
        source=place(record.path, one.field),
    )


def _turn(story: EngineStory, turn: Turn, sheet: SheetRef | None) -> TurnStory:
    return TurnStory(
        path=turn.path,
        record=sheet.label if sheet is not None else from_engine(story, turn.path),
        sheet=sheet,
        what=turn.what,
        was=from_engine(story, turn.was),
        day=told_day(turn.commit),
        commit=turn.commit.id[:SHORT],
        by=turn.commit.author,
        message=turn.commit.subject,
    )


def _photo(story: EngineStory, one: Exchanged, record: RecordTrail, sheet: SheetRef | None) -> TurnStory:
    """A photo that was exchanged; of one that the reader is not given its day and nothing else."""
    told = _turn(story, one.turn, sheet)
    if one.turn.withheld:
        return replace(told, record="", sheet=None, commit="", by=None, message=None)
    name = one.turn.field[-1] if one.turn.path != record.path else ""
    photo = ", ".join(part for part in (place_words(one.turn.field), name) if part)
    named = told.record if sheet is not None else from_engine(story, record.path)
    return replace(told, record=named, photo=photo, why=one.why, why_day=one.why_day, captioned=one.captioned)
