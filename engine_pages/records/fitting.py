"""What stood where, and when: every part's stays in engines, from the sheets of the whole shop in order of time.

A build fits what it names, and with `rest: as before` what was to go back; a teardown takes the engine apart. A part
without a serial is known by where it was fitted: `K-07.rotor-bearing-2.1`, the first one known there. What is assembled
as a whole (`whole: yes`) is new at every build. A second sheet on a strip speaks of the parts that are out already.
"""

from collections.abc import Iterator

from msgspec import Struct, field

from .engine import PartFile
from .load import EngineRecords, LogEntry, SheetRecord, Shop
from .model import Record
from .moments import DayOrder, Moment
from .resolve import Resolved, SlotLine
from .sheet import GOES_BACK, GOES_OUT
from .slots import Slot, Slots, slots_of
from .source import Problem, Source, doubt, error, with_article

NAMED_AT_MOST = 4  # places in one message


class PartEntry(Struct):
    """A part as the records know it: by its serial, or by the place where it was first seen."""

    id: str
    named: bool
    kind: str
    family: str
    file: Record[PartFile] | None


class Fitted(Struct):
    """A part's stay in one slot of one engine. `removed` None: it is in there still."""

    part: PartEntry
    engine: str
    slot: Slot
    began: Moment
    fitted: SheetRecord | None
    origin: str | None = None
    size: object = None
    ended: Moment | None = None
    removed: SheetRecord | None = None
    decision: str | None = None
    put_back_unwritten: bool = False


class Fitting(Struct):
    """All parts and stays of a shop, and which stay each sheet's line speaks of."""

    parts: dict[str, PartEntry] = field(default_factory=dict)
    stays: list[Fitted] = field(default_factory=list)
    seen: dict[tuple[str, str], Fitted] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


Event = tuple[Moment, str, SheetRecord | LogEntry]


def fit_shop(shop: Shop, resolved: dict[str, Resolved], orders: dict[str, DayOrder]) -> Fitting:
    """Walk every sheet of the shop in order of time. `resolved` by sheet path, `orders` by engine."""
    bench = _Bench(shop, resolved, orders)
    events: list[Event] = []
    for records in shop.engines.values():
        if shop.family_of(records.id) is not None:
            events.extend(_events(records, orders[records.id]))
    for moment, engine, what in sorted(events, key=lambda event: event[:2]):
        bench.take(moment, engine, what)
    for serial, record in shop.parts.items():
        if serial not in bench.out.parts:
            family = record.it.family or _family_with(shop, record.it.kind)
            bench.out.parts[serial] = PartEntry(serial, True, record.it.kind, family, record)
    return bench.out


def _events(records: EngineRecords, order: DayOrder) -> Iterator[Event]:
    for sheet in records.sheets:
        yield order.of_sheet(sheet), records.id, sheet
    for entry in records.log:
        if entry.line.kind == "run":
            yield order.of_log(entry.line.date, entry.index), records.id, entry


def _family_with(shop: Shop, kind: str) -> str:
    return next((name for name, family in shop.families.items() if kind in family.it.kinds), "")


def _removed_by(stay: Fitted, strips: list[str]) -> bool:
    return stay.removed is not None and stay.removed.path in strips


class _Bench:
    """The state of the walk: what is in which slot, and what was last there."""

    def __init__(self, shop: Shop, resolved: dict[str, Resolved], orders: dict[str, DayOrder]) -> None:
        self.shop = shop
        self.resolved = resolved
        self.orders = orders
        self.out = Fitting()
        self.inside: dict[tuple[str, str], Fitted] = {}
        self.where: dict[str, Fitted] = {}
        self.last_out: dict[tuple[str, str], Fitted] = {}
        self.apart: dict[str, list[str]] = {}  # engines taken apart, by the sheets at which paths, with no build since
        self.retired: dict[str, SheetRecord] = {}
        self._unnamed: dict[tuple[str, str], int] = {}

    def take(self, moment: Moment, engine: str, what: SheetRecord | LogEntry) -> None:
        if isinstance(what, LogEntry):
            if engine in self.apart:
                self._ran_without_build(moment, engine, what)
            return
        resolved = self.resolved[what.path]
        family = self.shop.family_of(engine)
        assert family is not None
        slots = slots_of(family)
        if what.kind == "build":
            self._build(moment, what, resolved, slots)
        else:
            self._look(moment, what, resolved)
            if what.kind == "teardown":
                self._strip(moment, what, resolved, slots)

    # ---- build ----

    def _build(self, moment: Moment, sheet: SheetRecord, resolved: Resolved, slots: Slots) -> None:
        for slot_id, line in resolved.lines.items():
            self._fit(moment, sheet, line.slot, self._part_for_build(sheet, line), line)
            self.out.seen[sheet.path, slot_id] = self.inside[sheet.engine, slot_id]
        for slot in slots.by_id.values():
            if slot.id in resolved.lines:
                continue
            if self._is_whole(sheet.engine, slot):  # never fitted by hand: what is assembled is new at every build
                self._fit(moment, sheet, slot, self._new_unnamed(sheet.engine, slot), None)
            elif sheet.it.rest is not None:
                self._as_before(moment, sheet, slot)
        self.apart.pop(sheet.engine, None)

    def _part_for_build(self, sheet: SheetRecord, line: SlotLine) -> PartEntry:
        if line.part is not None:
            return self._named(sheet, line.slot, line.part, self._part_place(sheet, line.slot))
        before = self.last_out.get((sheet.engine, line.slot.id))
        goes_back = before is not None and before.decision in GOES_BACK and before.part.id not in self.where
        if before is not None and goes_back and not self._is_whole(sheet.engine, line.slot):
            return before.part
        return self._new_unnamed(sheet.engine, line.slot)

    def _fit(self, moment: Moment, sheet: SheetRecord, slot: Slot, part: PartEntry, line: SlotLine | None) -> None:
        self._take_from_elsewhere(moment, sheet, slot, part)
        occupant = self.inside.get((sheet.engine, slot.id))
        if occupant is not None:
            self._close(occupant, moment, sheet, None)
        self._doubt_retired(part, sheet, slot, "fitted")
        stay = Fitted(part, sheet.engine, slot, moment, sheet)
        if line is not None:
            stay.origin, stay.size = line.origin, line.size
        self._open(stay)

    def _doubt_retired(self, part: PartEntry, sheet: SheetRecord, slot: Slot, how: str) -> None:
        on = self.retired.pop(part.id, None)
        if on is not None:
            message = f"{part.id} was retired on {on.day} ({on.path}) and is {how} again"
            self.out.problems.append(doubt(self._part_place(sheet, slot), message))

    def _take_from_elsewhere(self, moment: Moment, sheet: SheetRecord, slot: Slot, part: PartEntry) -> None:
        other = self.where.get(part.id)
        if other is None or (other.engine == sheet.engine and other.slot.id == slot.id):
            return
        strip = self._strip_that_day(other, sheet)
        if strip is not None:  # taken out on the day it went in here; the strip's own line is read in its turn
            self._close(other, self.orders[other.engine].of_sheet(strip), strip, None)
            self.out.seen[strip.path, other.slot.id] = other
            return
        refilled = other.slot.id in self.resolved[sheet.path].lines
        if other.engine == sheet.engine and other.fitted is not sheet and refilled:  # parts that change places
            self._close(other, moment, sheet, None)
            return
        since = f"since {other.fitted.day} ({other.fitted.path})" if other.fitted else "already"
        message = f"{part.id} is fitted in two places: it is in {other.engine}, {other.slot.id}, {since}"
        self.out.problems.append(error(self._part_place(sheet, slot), message))
        self._close(other, moment, sheet, None)

    def _strip_that_day(self, other: Fitted, sheet: SheetRecord) -> SheetRecord | None:
        """The teardown that took a part out of another engine on the day of a build; not where the clock forbids it."""
        for strip in self.shop.engines[other.engine].sheets:
            if strip.kind != "teardown" or strip.day != sheet.day or strip.engine == sheet.engine:
                continue
            out, into = strip.date.clock, sheet.date.clock
            too_late = out is not None and into is not None and into < out
            is_out = other.slot.id in self._opened(strip)
            if is_out and not too_late and self.orders[strip.engine].of_sheet(strip) >= other.began:
                return strip
        return None

    def _part_place(self, sheet: SheetRecord, slot: Slot) -> Source:
        line = self.resolved[sheet.path].lines.get(slot.id)
        if line is not None and line.part_source is not None:
            return line.part_source
        if line is not None:
            return sheet.record.document.key_place("positions", line.keys[0])
        return sheet.record.place("rest")

    def _as_before(self, moment: Moment, sheet: SheetRecord, slot: Slot) -> None:
        before = self.last_out.get((sheet.engine, slot.id))
        if before is None or (sheet.engine, slot.id) in self.inside or before.part.id in self.retired:
            return
        strip = before.removed
        if strip is None or strip.kind != "teardown" or strip.engine != sheet.engine:
            return
        if before.decision not in GOES_BACK and before.decision is not None:
            return
        elsewhere = self.where.get(before.part.id)
        if elsewhere is not None:
            message = f"{slot.id} is left empty: {before.part.id} is in {elsewhere.engine}, {elsewhere.slot.id}"
            self.out.problems.append(doubt(sheet.record.place("rest"), message))
            return
        self._fit(moment, sheet, slot, before.part, None)

    # ---- looking and stripping ----

    def _look(self, moment: Moment, sheet: SheetRecord, resolved: Resolved) -> None:
        """Settle which part each line of an inspection or a teardown speaks of."""
        for slot_id, line in resolved.lines.items():
            if (sheet.path, slot_id) in self.out.seen:  # taken into another engine the same day
                continue
            stay = self.inside.get((sheet.engine, slot_id)) or self._on_the_bench(sheet, slot_id)
            if stay is None:
                stay = self._found(moment, sheet, line)
            elif line.part is not None and line.part != stay.part.id:
                stay = self._other_than_fitted(sheet, line, stay)
            self.out.seen[sheet.path, slot_id] = stay

    def _on_the_bench(self, sheet: SheetRecord, slot_id: str) -> Fitted | None:
        """The stay that an earlier sheet of the same strip ended: a second look at a part that is out already."""
        before = self.last_out.get((sheet.engine, slot_id))
        return before if before is not None and _removed_by(before, self.apart.get(sheet.engine, [])) else None

    def _found(self, moment: Moment, sheet: SheetRecord, line: SlotLine) -> Fitted:
        """A part in a slot that no build sheet filled: what went out of it last, else one whose life is unknown."""
        before = self._forgotten(sheet, line)
        if before is not None:
            built = [self.orders[sheet.engine].of_sheet(one) for one in self.shop.engines[sheet.engine].sheets]
            since = max((one for one in built if one < moment), default=before.ended or moment)
            stay = Fitted(before.part, sheet.engine, line.slot, since, None, put_back_unwritten=True)
            self._open(stay)
            return stay
        if line.part is None:
            part = self._new_unnamed(sheet.engine, line.slot)
        else:
            part = self._named(sheet, line.slot, line.part, self._part_place(sheet, line.slot))
            self._doubt_retired(part, sheet, line.slot, "in an engine")
            self._check_found(sheet, line.slot, part)
        stay = Fitted(part, sheet.engine, line.slot, moment, None)
        self._open(stay)
        return stay

    def _forgotten(self, sheet: SheetRecord, line: SlotLine) -> Fitted | None:
        """The part that the last build most likely forgot to put back: it was not to go out, and is nowhere else."""
        before = self.last_out.get((sheet.engine, line.slot.id))
        if before is None or before.part.id in self.where or before.part.id in self.retired:
            return None
        if line.part not in (None, before.part.id) or before.decision not in (*GOES_BACK, None):
            return None
        place = self._part_place(sheet, line.slot)
        taken = f"{before.part.id} is taken as put back; was 'rest: as before' left out?"
        self.out.problems.append(doubt(place, f"the last build fitted nothing in {line.slot.id}: {taken}"))
        return before

    def _check_found(self, sheet: SheetRecord, slot: Slot, part: PartEntry) -> None:
        """A part that is known from elsewhere does not turn up in a slot that no sheet put it into."""
        last = next((stay for stay in reversed(self.out.stays) if stay.part is part), None)
        if last is None or (last.ended is not None and (last.engine, last.slot.id) == (sheet.engine, slot.id)):
            return
        until = f"it was in {last.engine}, {last.slot.id}, until {last.removed.day}" if last.removed else ""
        message = until or f"it is in {last.engine}, {last.slot.id}"
        place = self._part_place(sheet, slot)
        self.out.problems.append(error(place, f"{part.id} is taken out where it never was: {message}"))
        if last.ended is None:
            self._close(last, self.orders[sheet.engine].of_sheet(sheet), sheet, None)

    def _other_than_fitted(self, sheet: SheetRecord, line: SlotLine, stay: Fitted) -> Fitted:
        assert line.part is not None
        place = self._part_place(sheet, line.slot)
        if not stay.part.named and line.part not in self.out.parts:
            named = self._named(sheet, line.slot, line.part, place)  # its serial is read for the first time
            self._rename(stay.part, named)
            return stay
        known = stay.part.id if stay.part.named else "a part without a serial"
        fitted = f" by {stay.fitted.path}" if stay.fitted else ""
        message = f"{line.part} is taken out where it never was: {known} was fitted in {line.slot.id}{fitted}"
        self.out.problems.append(error(place, message))
        return stay

    def _rename(self, old: PartEntry, new: PartEntry) -> None:
        for stay in self.out.stays:
            if stay.part is old:
                stay.part = new
        if old.id in self.where:
            self.where[new.id] = self.where.pop(old.id)
        if old.id in self.retired:
            self.retired[new.id] = self.retired.pop(old.id)
        del self.out.parts[old.id]

    def _strip(self, moment: Moment, sheet: SheetRecord, resolved: Resolved, slots: Slots) -> None:
        opened = self._opened(sheet)
        taken_out = False
        for slot_id in slots.by_id:
            line = resolved.lines.get(slot_id)
            decision = line.decision if line else None
            seen = self.out.seen.get((sheet.path, slot_id))
            stay = self.inside.get((sheet.engine, slot_id))
            if slot_id in opened and stay is not None:
                self._close(stay, moment, sheet, decision)
                taken_out = True
            elif seen is not None and seen.ended is not None and decision is not None:  # out already; decided now
                seen.decision = decision
            if decision == "retire" and seen is not None:
                self.retired[seen.part.id] = sheet
        if taken_out or sheet.it.opened is None:
            self.apart.setdefault(sheet.engine, []).append(sheet.path)

    def _opened(self, sheet: SheetRecord) -> set[str]:
        """The slots that a teardown takes apart: all, unless it says which."""
        family = self.shop.family_of(sheet.engine)
        if family is None:
            return set()
        slots = slots_of(family)
        if sheet.it.opened is None:
            return set(slots.by_id)
        return {slot.id for key in sheet.it.opened for slot in slots.named(key)}

    def _ran_without_build(self, moment: Moment, engine: str, entry: LogEntry) -> None:
        strips = self.apart.pop(engine)
        back, lost = 0, []
        for (owner, slot_id), before in list(self.last_out.items()):
            if owner != engine or not _removed_by(before, strips) or (engine, slot_id) in self.inside:
                continue
            whole = self._is_whole(engine, before.slot)
            if (before.decision in GOES_BACK or whole) and before.part.id not in self.where:
                began = before.ended or moment
                self._open(Fitted(before.part, engine, before.slot, began, None, put_back_unwritten=True))
                back += not whole
            elif before.decision not in GOES_OUT and before.part.id not in self.where:
                lost.append(slot_id)
        message = f"the engine ran after a teardown ({strips[-1]}) with no build sheet between"
        taken = f"; parts taken as put back where they were, since they were to be reused: {back}" if back else ""
        short = ", ".join(lost[:NAMED_AT_MOST]) + (" …" if len(lost) > NAMED_AT_MOST else "")
        out = f"; taken as left out, since nobody decided reuse, and given no hours: {short}" if lost else ""
        self.out.problems.append(doubt(entry.source, message + taken + out))

    # ---- stays and parts ----

    def _open(self, stay: Fitted) -> None:
        self.out.stays.append(stay)
        self.inside[stay.engine, stay.slot.id] = stay
        self.where[stay.part.id] = stay

    def _close(self, stay: Fitted, moment: Moment, sheet: SheetRecord, decision: str | None) -> None:
        stay.ended, stay.removed, stay.decision = moment, sheet, decision
        self.inside.pop((stay.engine, stay.slot.id), None)
        self.where.pop(stay.part.id, None)
        self.last_out[stay.engine, stay.slot.id] = stay

    def _named(self, sheet: SheetRecord, slot: Slot, serial: str, place: Source) -> PartEntry:
        part = self.out.parts.get(serial)
        if part is None:
            file = self.shop.parts.get(serial)
            kind = file.it.kind if file else slot.kind
            family = (file.it.family if file else None) or self._family(sheet.engine)
            part = PartEntry(serial, True, kind, family, file)
            self.out.parts[serial] = part
        if part.kind != slot.kind:
            where = f" ({part.file.path})" if part.file else ""
            message = f"{serial} is {with_article(part.kind)}{where}; {slot.id} takes {with_article(slot.kind)}"
            self.out.problems.append(error(place, message))
        return part

    def _new_unnamed(self, engine: str, slot: Slot) -> PartEntry:
        key = (engine, slot.id)
        self._unnamed[key] = self._unnamed.get(key, 0) + 1
        name = f"{engine}.{slot.id.replace('/', '.')}.{self._unnamed[key]}"
        while name in self.out.parts or name in self.shop.parts:  # an id may hold points of its own
            name += "-"
        part = PartEntry(name, False, slot.kind, self._family(engine), None)
        self.out.parts[name] = part
        return part

    def _is_whole(self, engine: str, slot: Slot) -> bool:
        family = self.shop.family_of(engine)
        kind = family.kinds.get(slot.kind) if family else None
        return kind is not None and kind.whole is True

    def _family(self, engine: str) -> str:
        family = self.shop.family_of(engine)
        return family.family if family else ""
