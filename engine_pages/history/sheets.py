"""A build, inspection or teardown sheet as its page shows it."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from msgspec.structs import replace

from ..records.family import Family
from ..records.fitting import Fitted
from ..records.load import SheetRecord
from ..records.quantity import Quantity
from ..records.resolve import Resolved
from ..records.sheet import PositionLine
from ..records.slots import Slot, slots_of
from ..records.source import Source
from ..wear.limits import Allowance
from .book import Book, sheet_ref
from .dues import Now
from .found import photos_of
from .parts import stay_story
from .series import NEAR
from .story import STATES, DimensionStory, FitStory, MeasuredRow, PartStory, ReadingStory, SheetStory, State
from .tests import tests_of


def sheet_story(
    book: Book, family: Family, sheet: SheetRecord, parts: Mapping[str, PartStory], fits: Sequence[FitStory], now: Now,
    present: frozenset[str], commit: tuple[str, str] | None, uncommitted: bool,
) -> SheetStory:  # fmt: skip
    """One sheet: `parts` tells every part that it speaks of, `fits` the clearances of the engine's pairs."""
    resolved = book.checked.resolved[sheet.path]
    it = sheet.it
    moment = book.moment(sheet)
    ledger = book.ledgers[sheet.engine].ledger
    return SheetStory(
        ref=sheet_ref(sheet),
        reason=it.reason,
        by=it.by,
        clock=f"{it.date.clock:%H:%M}" if it.date.clock else None,
        counter=it.counter.written if it.counter else None,
        temperature=it.temperature.written if it.temperature else None,
        engine_hours=ledger.until(moment).hours,
        hours_since_build=_since_build(book, sheet),
        note=it.note,
        crew_note=it.crew_note,
        photos=tuple(photos_of(sheet, it.photos or (), None, "Whole engine", present)),
        found=book.found[sheet.path],
        measured=tuple(_measured(resolved, sheet, book, parts, fits)),
        fitted=tuple(stay_story(book, stay, now) for stay in _fitted(book, family, sheet)),
        tests=tuple(tests_of(family, sheet)),
        torque=tuple((it.torque or {}).items()),
        fluids=tuple(it.fluids.written().items()) if it.fluids else (),
        work=tuple(_work(sheet)),
        corrections=tuple(it.correction or ()),
        not_looked_at=tuple(_not_looked_at(family, resolved)),
        commit=commit[0] if commit else None,
        committed=_day(commit),
        uncommitted=uncommitted,
        source=sheet.record.place("date"),
    )


def _fitted(book: Book, family: Family, sheet: SheetRecord) -> Iterator[Fitted]:
    """What a build sheet put in. What is assembled as a whole is never fitted."""
    for stay in book.checked.fitting.stays:
        if stay.fitted is sheet and not _is_whole(family, stay.slot):
            yield stay


def _is_whole(family: Family, slot: Slot) -> bool:
    kind = family.kinds.get(slot.kind)
    return kind is not None and kind.whole is True


def _day(commit: tuple[str, str] | None) -> date | None:
    return date.fromisoformat(commit[1][:10]) if commit else None


def _since_build(book: Book, sheet: SheetRecord) -> float | None:
    moment = book.moment(sheet)
    builds = [
        s for s in book.checked.shop.engines[sheet.engine].sheets if s.kind == "build" and book.moment(s) < moment
    ]
    if not builds:
        return None
    last = max(book.moment(s) for s in builds)
    return book.ledgers[sheet.engine].ledger.between(last, moment).hours


def _measured(
    resolved: Resolved, sheet: SheetRecord, book: Book, parts: Mapping[str, PartStory], fits: Sequence[FitStory]
) -> Iterator[MeasuredRow]:
    """The sheet's readings, worst first."""
    rows = [*_of_parts(resolved, sheet, book, parts), *_of_fits(sheet, fits)]
    rows.sort(key=lambda row: (STATES.index(row.state), -(row.allowance.used if row.allowance else 0.0)))
    yield from rows


def _of_parts(
    resolved: Resolved, sheet: SheetRecord, book: Book, parts: Mapping[str, PartStory]
) -> Iterator[MeasuredRow]:
    for slot_id, line in resolved.lines.items():
        stay = book.checked.fitting.seen.get((sheet.path, slot_id))
        part = parts.get(stay.part.id) if stay else None
        for dimension in part.dimensions if part else ():
            for index, reading in enumerate(dimension.readings):
                if reading.sheet.path == sheet.path and reading.slot == slot_id:
                    yield _row(slot_id, line.slot.name, part, dimension, index, line.decision)


def _of_fits(sheet: SheetRecord, fits: Sequence[FitStory]) -> Iterator[MeasuredRow]:
    for fit in fits:
        for index, reading in enumerate(fit.dimension.readings):
            if reading.sheet.path == sheet.path:
                yield _row(fit.id, fit.title, None, fit.dimension, index, None)


def _row(
    slot: str, name: str, part: PartStory | None, dimension: DimensionStory, index: int, decision: str | None
) -> MeasuredRow:
    reading = dimension.readings[index]
    earlier = (r for r in reversed(dimension.readings[:index]) if r.baseline == reading.baseline and r.u is not None)
    before = next(earlier, None)
    allowance = _allowance_then(dimension, reading)
    if reading.baseline != dimension.baseline_number:  # judged by the limits of its own time, shown with them
        dimension = replace(dimension, limit=reading.limit, new=None, allowance=None)
    return MeasuredRow(
        slot,
        name,
        part.id if part else None,
        dimension,
        reading,
        before,
        allowance,
        _state_then(reading, allowance),
        decision,
    )


def _allowance_then(dimension: DimensionStory, reading: ReadingStory) -> Allowance | None:
    """The allowance used at that reading: today's share, moved along to where the reading was."""
    if reading.u is None:
        return None
    if reading is dimension.last:
        return dimension.allowance
    limit, start = dimension.limit, dimension.baseline
    if limit is None or start is None or reading.value_20c is None or reading.baseline != dimension.baseline_number:
        return None
    side = dimension.allowance.side if dimension.allowance else ("max" if limit.max is not None else "min")
    level = limit.max if side == "max" else limit.min
    if level is None or level == start:
        return None
    ends = [
        ((v if v is not None else reading.value_20c) - start) / (level - start) for v in (reading.low, reading.high)
    ]
    return Allowance((reading.value_20c - start) / (level - start), min(ends), max(ends), side)


def _state_then(reading: ReadingStory, allowance: Allowance | None) -> State:
    if reading.kind == "not measurable":
        return "not measured"
    if reading.verdict == "beyond":
        return "beyond limit"
    if reading.verdict == "undecided":
        return "undecided"
    return "near limit" if allowance is not None and allowance.used > NEAR else "within"


def _work(sheet: SheetRecord) -> Iterator[tuple[str, str, Source]]:
    for index, work in enumerate(sheet.it.work or ()):
        sizes = work.size if isinstance(work.size, dict) else {"": work.size} if isinstance(work.size, Quantity) else {}
        size = "".join(f", {f'{name} {amount.written}'.strip()}" for name, amount in sizes.items())
        dimensions = f": {', '.join(work.dimensions)}" if work.dimensions else ""
        yield work.part or work.position or "", f"{work.did}{size}{dimensions}", sheet.record.place("work", index)


def _not_looked_at(family: Family, resolved: Resolved) -> Iterator[str]:
    """The places of a teardown that nothing was written of."""
    if resolved.sheet.kind != "teardown" or resolved.sheet.it.opened is not None:
        return
    said = {slot for slot, line in resolved.lines.items() if any(says(resolved, key) for key in line.keys)}
    for slots in slots_of(family).by_position.values():
        if not _is_whole(family, slots[0]) and not any(slot.id in said for slot in slots):
            yield slots[0].name if len(slots) == 1 else slots[0].name.rsplit(",", 1)[0]


def says(resolved: Resolved, key: str) -> bool:
    """Whether anything was found, in figures, words or pictures, on a written line."""
    line = next((line for written, line in resolved.written if written == key), PositionLine())
    return bool(line.measured or line.observed or line.finding or line.photos)
