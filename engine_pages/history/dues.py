"""What is due: services of the engine, replacements and inspections of parts, and what an incident asked for."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from ..records.family import Family, Service
from ..records.fitting import Fitted
from ..records.load import EngineRecords, LogEntry
from ..records.moments import Moment
from ..records.quantity import Quantity
from ..records.slots import title_of
from ..records.source import Source
from ..wear.exposure import NOTHING, Exposure
from ..wear.service import Due, Planned, due
from .book import Book
from .story import DueStory, State

STATE_OF: Mapping[str, State] = {"within": "within", "unknown": "within", "due": "due", "overdue": "overdue"}


@dataclass(frozen=True, slots=True)
class Now:
    """The moment that dues are reckoned at, and the next planned event."""

    as_of: date
    until: Moment
    planned: Planned | None


def services_of(book: Book, family: Family, records: EngineRecords, now: Now) -> tuple[DueStory, ...]:
    """The family's services, each since it was last done by the log, else since the first line of the records."""
    out = []
    ledger = book.ledgers[records.id]
    first = min((line[0] for line in ledger.lines), default=None)
    for name, rule in (family.services or {}).items():
        done = [(m, e) for m, e, _ in ledger.lines if name in (e.line.did or ()) and m <= now.until]
        last = done[-1] if done else None
        began = last[0] if last else (first[0], first[1], first[2] - 1) if first else None
        since = ledger.ledger.between(began, now.until) if began else NOTHING
        day = last[1].line.date.day if last else (date.fromordinal(first[0]) if first else None)
        found = _due(rule, since, day, now)
        because = None if last else "never written as done"
        out.append(
            _story(title_of(name), "service", rule, found, None, None, since, day if last else None, because, _at(last))
        )
    return tuple(out)


def _at(last: tuple[Moment, LogEntry] | None) -> Source | None:
    return last[1].source if last else None


def part_dues(book: Book, family: Family, stay: Fitted, now: Now) -> tuple[DueStory, ...]:
    """What the kind's service rules ask of one part that stands in an engine."""
    kind = family.kinds.get(stay.part.kind)
    if kind is None or kind.service is None:
        return ()
    return (*_intervals(book, stay, kind.service, now), *_after_incidents(book, stay, kind.service, now))


def _intervals(book: Book, stay: Fitted, service: Service, now: Now) -> Iterator[DueStory]:
    part = stay.part.id
    life = book.lives.of(part)
    where = (stay.slot.name, part)
    if service.replace:
        since = book.lives.exposure(part, now.until)
        first = life.stays[0].fitted
        day = first.day if first is not None and not life.unknown_before else None
        found = _due(service.replace, since, day, now)
        yield _story(f"{stay.slot.name}, replace", "replace", service.replace, found, *where, since, None, None, None)
    if service.inspect:
        looked = _last_looked_at(book, stay, now.until)
        since = _exposure_since(book, stay, looked or stay.began, now.until)
        day = date.fromordinal((looked or stay.began)[0])
        found = _due(service.inspect, since, day, now)
        yield _story(f"{stay.slot.name}, inspect", "inspect", service.inspect, found, *where, since, day, None, None)


def _after_incidents(book: Book, stay: Fitted, service: Service, now: Now) -> Iterator[DueStory]:
    """An incident's demand stands until a sheet after it looks at the part; a replacement, until the part is out."""
    ledger = book.ledgers[stay.engine]
    for moment, entry, _ in ledger.lines:
        demand = (service.after or {}).get(entry.line.what or "") if entry.line.kind == "incident" else None
        if demand is None or moment <= stay.began or moment > now.until:
            continue
        looked = _last_looked_at(book, stay, now.until)
        if demand == "inspect" and looked is not None and looked > moment:
            continue
        since = ledger.ledger.between(moment, now.until)
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
            because=f"{what} on {entry.line.date.day.isoformat()}",
            source=entry.source,
        )


def _last_looked_at(book: Book, stay: Fitted, until: Moment) -> Moment | None:
    """The last inspection or teardown sheet that has a line for this part, in this engine or another."""
    looked = [
        mention.moment
        for mention in book.mentions.get(stay.part.id, [])
        if mention.moment <= until and book.checked.resolved[mention.path].sheet.kind != "build"
    ]
    return max(looked, default=None)


def _exposure_since(book: Book, stay: Fitted, moment: Moment, until: Moment) -> Exposure:
    return book.lives.exposure(stay.part.id, until) - book.lives.exposure(stay.part.id, moment)


def _due(rule: Mapping[str, Quantity], since: Exposure, day: date | None, now: Now) -> Due:
    intervals = {unit: float(amount.number) for unit, amount in rule.items()}
    used = {unit: since.amount(unit) for unit in rule if unit != "months"}
    return due(intervals, used, since=day, as_of=now.as_of, planned=now.planned, at_least=since.at_least)


def _story(
    name: str, what: str, rule: Mapping[str, Quantity], found: Due, slot: str | None, part: str | None,
    since: Exposure, last: date | None, because: str | None, source: Source | None,
) -> DueStory:  # fmt: skip
    return DueStory(
        name=name,
        what=what,  # type: ignore[arg-type]
        rule=_rule_words(rule),
        part=part,
        slot_name=slot,
        since={u.unit: u.used for u in found.units if u.used is not None},
        left={u.unit: u.remaining for u in found.units if u.remaining is not None},
        due_on=next((u.due_on for u in found.units if u.due_on is not None), None),
        share=found.first.share if found.first else None,
        state=STATE_OF[found.state],
        last=last,
        because=because or ("life before unknown" if since.at_least else None),
        source=source,
    )


def _rule_words(rule: Mapping[str, Quantity]) -> str:
    """`every 5 h, 6 months`, as a builder says it."""
    units = {"hours": "h", "km": "km", "starts": "starts", "runs": "runs", "months": "months"}
    return "every " + ", ".join(f"{amount.number.normalize():f} {units[unit]}" for unit, amount in rule.items())
