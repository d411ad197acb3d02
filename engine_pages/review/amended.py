"""What was amended of a record, with the reason: which amendments weigh with a buyer, and which nobody explained.

A reason is a `correction:` of the same commit, or a later one at that place, on its sheet or on its log line. A later
one that came with a change of its own speaks of that change alone.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from ..history.trail_asked import SHEETS
from ..history.trail_days import told_day
from ..history.trail_words import field_words
from ..records.amendments import CORRECTION, Field
from ..records.trail import Amendment, RecordTrail

WEIGHTY: Final = (*SHEETS, "log", "part", "engine", "family")  # records that figures are made of
_FIGURES: Final = {
    **dict.fromkeys(
        SHEETS,
        frozenset(
            ("date", "engine", "sheet", "reason", "by", "counter", "temperature", "positions", "rest", "opened", "fits",
             "work", "tests", "torque", "fluids")
        ),
    ),
    "part": frozenset(("serial", "kind", "prior", "origin", "size")),
    "engine": frozenset(("engine", "family", "stamped")),
    "family": frozenset(("kinds", "fits", "tests")),
    "log": frozenset(
        ("date", "kind", "what", "hours", "minutes", "km", "starts", "runs", "over_revs", "above_redline", "peak_rpm",
         "oil_pressure_min", "water_max", "counter", "counter_was", "did", "fluids")
    ),
}  # fmt: skip
_WORDS: Final = frozenset(("crew_note", "photos", "caption", "view", "name", "source", "cost", "invoice"))
_NO_LESS: Final = frozenset(("finding", CORRECTION))  # words that say what was seen: changed or taken out they weigh
_NO_END: Final = frozenset(("note", "why"))  # words that may be put better, and that nobody takes out without a reason
_TOLD_WITH_WORDS: Final = (*SHEETS, "log", "part")


class Amended(Struct, frozen=True):
    """An amendment and its reason. `why_day`: the day on which that was written, where it came later."""

    it: Amendment
    why: tuple[str, ...]
    why_day: date | None = None


def amended(record: RecordTrail) -> tuple[Amended, ...]:
    """Every amendment of a record, oldest first; of a log, what came or went as a whole line is one."""
    all_ = [*_whole_lines(record)] if record.kind == "log" else list(record.amendments)
    later = [one for one, is_later in reasons_of(record) if is_later]
    return tuple(_with_reason(one, later) for one in all_)


def reasons_of(record: RecordTrail) -> Iterator[tuple[Amendment, bool]]:
    """Every correction that was written, oldest first, and whether it speaks of what was changed before it."""
    all_ = [*_whole_lines(record)] if record.kind == "log" else list(record.amendments)
    yield from ((one, _is_later_reason(one, all_, record.kind)) for one in all_ if _is_reason(one))


def quiet(record: RecordTrail) -> list[Amended]:
    """What was changed or taken out and weighs, and nobody wrote why."""
    return [one for one in amended(record) if matters(record.kind, one.it) and not one.why]


def matters(kind: str, one: Amendment) -> bool:
    """Whether an amendment is of a figure, an identity, a date or a finding that a buyer would ask about."""
    if one.kind == "added" or not one.field:
        return False
    last = one.field[-1]
    if kind in _TOLD_WITH_WORDS and not _WORDS.intersection(one.field):
        if last in _NO_LESS:
            return True
        if last in _NO_END:
            return one.kind == "removed"
    return is_figure(kind, one.field)


def is_figure(kind: str, field: Field) -> bool:
    """Whether a field bears a figure, a decision, an identity or a date; a whole line of a log does."""
    if _WORDS.intersection(field) or _NO_LESS.intersection(field[-1:]) or _NO_END.intersection(field[-1:]):
        return False
    own = field[1:] if kind == "log" else field
    return not own or own[0] in _FIGURES.get(kind, frozenset())


def _is_later_reason(one: Amendment, all_: Sequence[Amendment], kind: str) -> bool:
    """Whether a correction was written for what was amended before: it came with no change that it explains itself."""
    if not _is_reason(one):
        return False
    beside = (other for other in all_ if other.commit is one.commit and _is_at(other.field, one.field[:-1]))
    return not any(other is not one and (matters(kind, other) or is_figure(kind, other.field)) for other in beside)


def _is_reason(one: Amendment) -> bool:
    return one.field[-1:] == (CORRECTION,) and one.kind == "added" and one.left_out is None and one.new is not None


def _with_reason(one: Amendment, later: Sequence[Amendment]) -> Amended:
    of_itself = one.field[-1:] == (CORRECTION,) and one.kind != "added"  # a reason that was changed explains nothing
    if one.correction and not of_itself:
        return Amended(one, one.correction)
    after = [c for c in later if c.commit.nth < one.commit.nth and _is_at(one.field, c.field[:-1])]
    if not after:
        return Amended(one, ())
    return Amended(one, tuple(c.new for c in after if c.new is not None), told_day(after[-1].commit))


def _is_at(field: Field, place: Field) -> bool:
    return field[: len(place)] == place


def _whole_lines(record: RecordTrail) -> Iterator[Amendment]:
    """A log's amendments: the fields of a line that came or went are one, told by what the line says."""
    for (kind, block, _, whole), group in groupby(record.amendments, key=_line_of):
        fields = list(group)
        if not whole:
            yield from fields
            continue
        texts = (
            f"{field_words(one.field[1:])} {one.new if one.new is not None else one.old}"
            for one in fields
            if not one.withheld and one.field[-1] != "date"
        )
        text = ", ".join(texts)
        old, new = (None, text) if kind == "added" else (text, None)
        yield replace(fields[0], field=block, old=old, new=new)


def _line_of(one: Amendment) -> tuple[str, Field, str, bool]:
    """What a log's line is told together by; a line that did not come or go whole is told field by field."""
    return one.kind, one.block, one.commit.id, len(one.block) == 1
