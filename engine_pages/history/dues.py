"""What is due: services of the engine, replacements and inspections of parts, and what an incident asked for.

A service bears the name that the log's `did` writes; one that bears a fluid's name is done by filling that fluid, too.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from operator import itemgetter
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ..records.family import Family, Service
from ..records.fitting import Fitted
from ..records.load import EngineRecords, LogEntry
from ..records.moments import Moment
from ..records.quantity import Quantity
from ..records.resolve import Resolved
from ..records.slots import title_of
from ..records.source import Source
from ..wear.exposure import NOTHING, Exposure
from ..wear.service import Due, Planned, due
from .amounts import amount_in
from .book import Book
from .engine_words import fillings
from .lives import FIRST, Life
from .story import DueStory, State

STATE_OF: Mapping[str, State] = {"within": "within", "unknown": "undecided", "due": "due", "overdue": "overdue"}

MOST_MONTHS = 1200  # a hundred years; beyond it nothing falls due
RUNS_LACK = "not every run has its {units} written"


class Now(Struct, frozen=True):
    """The moment that dues are reckoned at, and the next planned event."""

    as_of: date
    until: Moment
    planned: Planned | None


def services_of(book: Book, family: Family, records: EngineRecords, now: Now) -> tuple[DueStory, ...]:
    """The family's services, each since it was last done, else since the first build or line."""
    out = []
    ledger = book.ledgers[records.id]
    written = [*(line[0] for line in ledger.lines), *(book.moment(s) for s in records.sheets if s.kind == "build")]
    first = min((moment for moment in written if moment <= now.until), default=None)
    for name, rule in (family.services or {}).items():
        if not _interval(rule):
            continue
        last = max((one for one in _done(book, records, name) if one[0] <= now.until), key=itemgetter(0), default=None)
        since = ledger.ledger.between(last[0] if last else FIRST, now.until) if first else NOTHING
        began = last[0] if last else first
        day = date.fromordinal(began[0]) if began else None
        found = _due(rule, since, day, now)
        because = _at_least(rule, since, None) if last else "never written as done"
        source = last[1] if last else None
        story = _story(title_of(name), "service", rule, found, None, None, day if last else None, because, source)
        # of an engine that never ran there is nothing to say yet
        out.append(replace(story, id=name, state=story.state if first else "not measured"))
    return tuple(out)


def _done(book: Book, records: EngineRecords, service: str) -> Iterator[tuple[Moment, Source]]:
    """When a service was done: the log says so, or the fluid of its name went in."""
    for moment, entry, _ in book.ledgers[records.id].lines:
        if service in (entry.line.did or ()):
            yield moment, entry.source
    yield from ((one.moment, one.source) for one in fillings(book, records) if one.fluid == service)


def part_dues(book: Book, family: Family, stay: Fitted, now: Now) -> tuple[DueStory, ...]:
    """What the kind's service rules ask of one part that stands in an engine, or came out of it last."""
    kind = family.kinds.get(stay.part.kind)
    if kind is None or kind.service is None:
        return ()
    return (*_intervals(book, stay, kind.service, now), *_after_incidents(book, stay, kind.service, now))


def _intervals(book: Book, stay: Fitted, service: Service, now: Now) -> Iterator[DueStory]:
    part = stay.part.id
    life = book.lives.of(part)
    where = (stay.slot.name, part)
    if service.replace and _interval(service.replace):
        since = book.lives.exposure(part, now.until)
        found = _due(service.replace, since, _day_new(life), now)
        because = _at_least(service.replace, since, life)
        yield _story(f"{stay.slot.name}, replace", "replace", service.replace, found, *where, None, because, None)
    if service.inspect and _interval(service.inspect):
        looked = last_looked_at(book, part, now.until)
        since = book.lives.between(part, looked, now.until) if looked else book.lives.exposure(part, now.until)
        day = date.fromordinal(looked[0]) if looked else _day_new(life)
        found = _due(service.inspect, since, day, now)
        because = _at_least(service.inspect, since, life if looked is None else None)
        last = day if looked else None
        yield _story(f"{stay.slot.name}, inspect", "inspect", service.inspect, found, *where, last, because, None)


def _at_least(rule: Mapping[str, Quantity], since: Exposure, life: Life | None) -> str | None:
    """Why an exposure that a rule counts in is a lower bound; `life` None where the life before does not matter."""
    units = [unit for unit in rule if unit != "months"]
    if life is not None and (life.unknown_before or any(life.before.is_bound(unit) for unit in units)):
        return "life before unknown"
    lacking = [unit for unit in units if since.is_bound(unit)]
    return RUNS_LACK.format(units=" and ".join(lacking)) if lacking else None


def _day_new(life: Life) -> date | None:
    """The day from which a part's months count: when it was first fitted, if it was new then."""
    first = life.stays[0].fitted
    aged = life.unknown_before or replace(life.before, unwritten=frozenset()) != NOTHING
    return None if first is None or aged else first.day


def _after_incidents(book: Book, stay: Fitted, service: Service, now: Now) -> Iterator[DueStory]:
    """An incident's demand stands until a sheet after it looks at the part; a replacement, until the part is out.

    A part takes the demand with it where it goes: that nobody looked at it on the bench settles nothing.
    """
    looked = last_looked_at(book, stay.part.id, now.until)
    for demand, moment, entry in _demands(book, stay.part.id, service, now.until):
        if demand == "inspect" and looked is not None and looked > moment:
            continue
        since = book.lives.between(stay.part.id, moment, now.until)
        state: State = "overdue" if since.hours > 0 or since.runs > 0 else "due"
        what = title_of(entry.line.what or "").lower()
        yield DueStory(
            name=f"{stay.slot.name}, {demand}",
            what="inspect" if demand == "inspect" else "replace",
            rule=f"after {what}",
            part=stay.part.id,
            slot_name=stay.slot.name,
            since={"hours": since.hours},
            left={"hours": 0.0},
            due_on=None,
            share=1.0,
            state=state,
            last=None,
            because=f"{what} on {_when(entry)}",
            source=entry.source,
        )


def _when(entry: LogEntry) -> str:
    """The day of an incident, and its time where one is written: one day may hold two."""
    day, clock = entry.line.date.day.isoformat(), entry.line.date.clock
    return f"{day} at {clock:%H:%M}" if clock else day


def _demands(book: Book, part: str, service: Service, until: Moment) -> Iterator[tuple[str, Moment, LogEntry]]:
    """What the incidents of a part's stays ask of it, in whatever engines they were."""
    for stay in book.lives.of(part).stays:
        for moment, entry, _ in book.ledgers[stay.engine].lines:
            demand = (service.after or {}).get(entry.line.what or "") if entry.line.kind == "incident" else None
            inside = stay.began < moment and (stay.ended is None or moment <= stay.ended)
            if demand is not None and inside and moment <= until:
                yield demand, moment, entry


def last_looked_at(book: Book, part: str, until: Moment) -> Moment | None:
    """The last sheet that measured a part, graded it, or says what was found on it; a decision alone is no look."""
    looked = [
        mention.moment
        for mention in book.mentions.get(part, [])
        if mention.moment <= until and _looks(book.checked.resolved[mention.path], mention.slot)
    ]
    return max(looked, default=None)


def _looks(resolved: Resolved, slot: str) -> bool:
    line = resolved.lines[slot]
    if line.measured or line.observed:
        return True
    return any(key in line.keys and (written.finding or written.photos) for key, written in resolved.written)


def _due(rule: Mapping[str, Quantity], since: Exposure, day: date | None, now: Now) -> Due:
    used = {unit: since.amount(unit) for unit in rule if unit != "months"}
    if day is not None and day.year + MOST_MONTHS // 12 > date.max.year:
        day = None  # a year that is mistyped: its own doubt says so
    bounds = [unit for unit in used if since.is_bound(unit)]
    return due(_interval(rule), used, since=day, as_of=now.as_of, planned=now.planned, at_least=bounds)


def _interval(rule: Mapping[str, Quantity]) -> dict[str, float]:
    """The intervals of a rule in hours, km and counts, whatever unit they are written in."""
    unit_of = {"hours": "h", "km": "km"}
    amounts = {unit: amount_in(amount, unit_of.get(unit, "count")) for unit, amount in rule.items()}
    return {
        unit: min(amount, MOST_MONTHS) if unit == "months" else amount
        for unit, amount in amounts.items()
        if amount is not None
    }


def _story(
    name: str, what: Literal["service", "replace", "inspect"], rule: Mapping[str, Quantity], found: Due,
    slot: str | None, part: str | None, last: date | None, because: str | None, source: Source | None,
) -> DueStory:  # fmt: skip
    return DueStory(
        name=name,
        what=what,
        rule=_rule_words(rule),
        part=part,
        slot_name=slot,
        since={u.unit: u.used for u in found.units if u.used is not None},
        left={u.unit: u.remaining for u in found.units if u.remaining is not None},
        due_on=next((u.due_on for u in found.units if u.due_on is not None), None),
        share=found.first.share if found.first else None,
        state=STATE_OF[found.state],
        last=last,
        because=because,
        source=source,
        every=_interval(rule),
    )


def _rule_words(rule: Mapping[str, Quantity]) -> str:
    """`every 5 h, 6 months`, as a builder says it."""
    units = {"hours": "h", "km": "km", "starts": "starts", "runs": "runs", "months": "months"}
    return "every " + ", ".join(f"{amount:.10g} {units[unit]}" for unit, amount in _interval(rule).items())
