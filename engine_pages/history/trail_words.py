"""An engine's trail in words for a terminal: sheet by sheet, when it was recorded, and every amendment on a line."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final

from ..records.amendments import CORRECTION, Field
from ..records.commits import CommitFacts, Seal
from ..records.source import printable
from ..records.strands import Turn
from ..records.trail import Amendment, RecordTrail
from ..records.tree import shown
from .trail_asked import SHEETS, EngineTrail
from .trail_days import days_after, told_day

NO_PROOF: Final = "Names and dates are those that each computer told git; a good signature alone proves whose they are."
_SHORT: Final = 10  # signs of a commit's id, as git itself shows one in a large repository
SEAL_WORDS: Final[dict[Seal, str]] = {
    "none": "not signed",
    "good": "signed",
    "unknown signer": "signed by a key that nobody here vouches for",
    "expired": "signed by a key that has run out",
    "bad": "the signature is bad",
    "not checked": "signed, which cannot be checked here",
}
_BETWEEN: Final = " › "
_INDENT: Final = "    "


def trail_text(asked: EngineTrail) -> str:
    """The whole trail; ends without a newline."""
    head = f", up to commit {asked.head[:_SHORT]}" if asked.head else ""
    lines = [f"{printable(asked.engine)}: who recorded what, and every amendment since{head}", NO_PROOF]
    lines += _cautions(asked)
    quiet = [record for record in asked.leans_on if _is_quiet(record)]
    named = (
        ("Sheets", asked.sheets),
        ("Its other records", asked.others),
        ("What its figures lean on", tuple(record for record in asked.leans_on if record not in quiet)),
    )
    for title, records in named:
        if records:
            lines += ["", title]
            lines += [line for record in records for line in _record_lines(record, asked)]
    if quiet:
        lines += ["", "What its figures lean on, as first recorded", f"  {', '.join(shown(one.path) for one in quiet)}"]
    return "\n".join(lines)


def _is_quiet(record: RecordTrail) -> bool:
    """Whether nothing befell a record since its first commit, and nothing is odd about that."""
    first = record.recorded
    odd = record.changed or record.before_cut or (first is not None and (first.late or first.ahead))
    return first is not None and not (odd or record.amendments or record.turns)


def _cautions(asked: EngineTrail) -> Iterator[str]:
    if asked.head is None:
        yield "Nothing is committed yet: git knows of no record."
    if asked.shallow:
        yield (
            "This clone's history is cut: what was recorded or amended before its oldest commit does not show. "
            "git fetch --unshallow brings the rest."
        )
    changed = [shown(record.path) for record in asked.records if record.changed]
    if changed:
        yield f"Not committed, and so in no trail yet: {', '.join(changed)}"


def _record_lines(record: RecordTrail, asked: EngineTrail) -> Iterator[str]:
    yield f"  {shown(record.path)}{_named(record)}"
    if record.recorded is None:
        yield f"{_INDENT}not committed yet"
        return
    yield f"{_INDENT}{_day(record.recorded)}  {_recorded(record, record.recorded, asked)}"
    told: list[tuple[int, list[str]]] = [(-turn.commit.nth, [_turn_line(turn)]) for turn in record.turns]
    for commit, amendments in groupby(record.amendments, key=lambda one: one.commit):
        told.append((-commit.nth, [*_amendment_lines(list(amendments), record.kind, asked)]))
    for _, lines in sorted(told, key=lambda one: one[0]):
        yield from (f"{_INDENT}{line}" for line in lines)
    if record.changed:
        yield f"{_INDENT}and changed since the last commit"


def _named(record: RecordTrail) -> str:
    number = f", sheet {printable(record.number)}" if record.number else ""
    return number + ("" if record.here or record.recorded is None else ", no longer there")


def _recorded(record: RecordTrail, commit: CommitFacts, asked: EngineTrail) -> str:
    if record.before_cut:  # the commit at which a clone begins seems to have written everything
        return "it was there by this day; when it was recorded, and by whom, this clone does not tell"
    return f"recorded{_after_work(record, commit)} by {_who(commit, asked)}: {printable(commit.subject)}"


def _after_work(record: RecordTrail, commit: CommitFacts) -> str:
    """How long after the day on the sheet it was committed."""
    days = days_after(record.date, commit) if record.kind in SHEETS else None
    if days is None:
        return ""
    if days == 0:
        return " the same day"
    return f" {_days(abs(days))} {'after the work' if days > 0 else 'before the date on it'}"


def _days(number: int) -> str:
    return f"{number} day{'' if number == 1 else 's'}"


def _who(commit: CommitFacts, asked: EngineTrail) -> str:
    words = [printable(commit.author) or "nobody named", SEAL_WORDS[asked.seals[commit.id]]]
    if commit.late:
        words.append(f"dated {_days(round(commit.gap))} before its commit of {commit.committed[:10]}")
    elif commit.ahead:
        words.append(f"dated {_days(round(-commit.gap))} after its commit of {commit.committed[:10]}")
    return ", ".join(words)


def _amendment_lines(amendments: Sequence[Amendment], kind: str, asked: EngineTrail) -> Iterator[str]:
    """The amendments of one commit: what came or went whole on one line, each other field on its own."""
    commit = amendments[0].commit
    by = f"{_who(commit, asked)}: {printable(commit.subject)}"
    shown_corrections = {text for one in amendments for text in one.correction}
    lines_of_log = [one for one in amendments if _is_new_line(one, kind)]
    if lines_of_log:
        names = dict.fromkeys(printable(one.block[0]) for one in lines_of_log)
        yield f"{_day(commit)}  {len(names)} line{'' if len(names) == 1 else 's'} added ({', '.join(names)}), {by}"
    others = [one for one in amendments if not _is_new_line(one, kind) and not _is_told(one, shown_corrections)]
    for _, whole in groupby(others, key=lambda one: (one.kind, one.block, one.left_out)):
        fields = list(whole)
        yield f"{_day(commit)}  {_what(fields)}, {by}"
        yield from (f"  {line}" for line in _besides(fields[0]))


def _is_new_line(one: Amendment, kind: str) -> bool:
    """Whether it is of a line that was added to a log: a log grows by being written."""
    return kind == "log" and one.kind == "added" and len(one.block) == 1 and one.field != one.block


def _is_told(one: Amendment, corrections: set[str]) -> bool:
    """Whether it is a correction that stands with what it corrects."""
    return one.field[-1:] == (CORRECTION,) and one.kind == "added" and one.new in corrections


def _what(fields: Sequence[Amendment]) -> str:
    first = fields[0]
    if len(fields) == 1 and first.field == first.block:
        return f"{field_words(first.field)}: {_change(first)}"
    inner = ", ".join(
        f"{field_words(one.field[len(one.block) :])} {printable(one.new if one.new is not None else one.old or '')}"
        for one in fields
    )
    return f"{field_words(first.block)} {first.kind}: {inner}"


def _change(one: Amendment) -> str:
    old, new = (printable(text) if text else "nothing" for text in (one.old, one.new))
    if one.kind == "changed":
        return f"{old} → {new}"
    if one.new == "" or one.old == "":
        return f"{one.kind}, with nothing after it"
    return f"added {new}" if one.kind == "added" else f"removed, it was {old}"


def _besides(one: Amendment) -> Iterator[str]:
    yield from (f"correction: {printable(text)}" for text in one.correction)
    if one.others:
        texts = ", ".join("nothing" if text is None else printable(text) for text in one.others)
        yield f"settled in a merge; the other side had {texts}"
    if one.left_out is not None:
        yield f"left out by {_merge(one.left_out)}: it does not stand"
    if one.again:
        yield f"the same change again in {', '.join(id_[:_SHORT] for id_ in one.again)}"


def _merge(commit: CommitFacts) -> str:
    return f"the merge {commit.id[:_SHORT]} of {_day(commit)}, {printable(commit.author)}"


def _turn_line(turn: Turn) -> str:
    words = {
        "moved": f"moved from {shown(turn.was)} to {shown(turn.path)}",
        "removed": "removed",
        "restored": "put back",
        "unreadable": f"cannot be read in this version ({printable(turn.why)}); what changed shows with the next",
        "left out": "left out by the merge: it does not stand",
        "photo exchanged": f"photo exchanged: {shown(turn.path)} is another picture under the same name",
    }
    return f"{_day(turn.commit)}  {words[turn.what]}, {printable(turn.commit.author)}: {printable(turn.commit.subject)}"


def field_words(field: Field) -> str:
    """A field's path as a person reads it; where a file's whole content became of another form it has none.

    >>> field_words(("positions", "rotor-bearing-2", "measured", "inside_diameter"))
    'rotor-bearing-2 › inside diameter'
    """
    steps = [step for step in field if step not in ("positions", "measured", "observed")] or list(field)
    return "the whole" if not steps else _BETWEEN.join(printable(step).replace("_", " ") for step in steps)


def _day(commit: CommitFacts) -> str:
    """The day that counts; where the author's own proves nothing, that stands beside it."""
    return told_day(commit).isoformat()
