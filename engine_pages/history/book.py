"""The shop's book: everything that has to be worked out once for all engines before one of them can be told.

Checked records come in; out come ledgers, lives, and every reading of every part in order of time.
"""

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from ..records.checks.checked import Checked
from ..records.family import Family
from ..records.fitting import Fitted
from ..records.load import SheetRecord
from ..records.moments import Moment
from ..records.quantity import Quantity
from ..records.resolve import Resolved
from ..records.sheet import Work
from ..records.slots import slots_of
from ..records.source import Source
from ..wear.exposure import Exposure
from .amounts import amount_in
from .found import found_on
from .gathering import Point, points_of
from .ledgers import EngineLedger, ledger_of
from .lives import Lives
from .story import FitStory, FoundStory, SheetRef


class Reset(Struct, frozen=True):
    """Machining of one dimension: it opens a new baseline. `size` from standard, in the dimension's unit.

    `exposure` is the part's by then; `nth` is its sheet's place in the order of all sheets, `rank` its own before or
    after that sheet's readings.
    """

    moment: Moment
    exposure: Exposure
    nth: int
    rank: int
    size: float | None
    why: str
    source: Source


class Mention(Struct, frozen=True, order=True):
    """A sheet's line that speaks of a part."""

    moment: Moment
    path: str
    slot: str


class Book(Struct):
    """The shop's records, worked out as far as all engines share it."""

    checked: Checked
    ledgers: dict[str, EngineLedger]
    lives: Lives
    points: dict[str, dict[str, list[Point]]] = field(default_factory=dict)
    resets: dict[str, dict[str, list[Reset]]] = field(default_factory=dict)
    mentions: dict[str, list[Mention]] = field(default_factory=dict)
    found: dict[str, tuple[FoundStory, ...]] = field(default_factory=dict)
    nth: dict[str, int] = field(default_factory=dict)
    in_slot: dict[tuple[str, str], list[Fitted]] = field(default_factory=dict)
    pairs: dict[str, dict[tuple[object, ...], FitStory]] = field(default_factory=dict)  # by engine, as they are told

    def machinings(self, part: str, dimension: str, until: Moment | None = None) -> list[Reset]:
        """What was machined of one dimension, in order of time, until a moment."""
        resets = self.resets.get(part, {}).get(dimension, [])
        return resets if until is None else [reset for reset in resets if reset.moment <= until]

    def baseline_on(self, part: str, dimension: str, sheet: SheetRecord) -> int:
        """The number of the baseline that a sheet's readings of a dimension belong to: how often it was machined."""
        place = (self.nth[sheet.path], READING_RANK)
        return sum((reset.nth, reset.rank) < place for reset in self.machinings(part, dimension))

    def moment(self, sheet: SheetRecord) -> Moment:
        return self.checked.orders[sheet.engine].of_sheet(sheet)

    def standing(self, engine: str, moment: Moment) -> dict[str, Fitted]:
        """What stood in each slot of an engine at a moment; what a sheet of that moment took out still counts."""
        slots = [slot for of, slot in self.in_slot if of == engine]
        stays = ((slot, self.stay_at(engine, slot, moment)) for slot in slots)
        return {slot: stay for slot, stay in stays if stay is not None}

    def stay_at(self, engine: str, slot: str, moment: Moment) -> Fitted | None:
        """The part's stay in a slot at a moment."""
        for stay in reversed(self.in_slot.get((engine, slot), [])):
            if stay.began <= moment and (stay.ended is None or moment <= stay.ended):
                return stay
        return None


READING_RANK = 1  # on a build sheet work comes before the readings, on a teardown sheet after
RANK_OF_WORK = {"build": 0, "inspection": 2, "teardown": 2}


def open_book(checked: Checked) -> Book:
    """Work out ledgers, lives and readings once."""
    shop = checked.shop
    units = {e.id: family.exposure for e in shop.engines.values() if (family := shop.family_of(e.id)) is not None}
    ledgers = {e.id: ledger_of(e, checked.orders[e.id], units.get(e.id, "hours")) for e in shop.engines.values()}
    families = {name: record.it.exposure for name, record in shop.families.items()}
    book = Book(checked, ledgers, Lives(checked.fitting, ledgers, families))
    present = frozenset(shop.tree.paths())
    for stay in checked.fitting.stays:
        book.in_slot.setdefault((stay.engine, stay.slot.id), []).append(stay)
    in_order = _in_order(book)
    book.nth.update((path, nth) for nth, path in enumerate(in_order))
    for path in in_order:
        resolved = checked.resolved[path]
        family = shop.family_of(resolved.sheet.engine)
        if family is not None:
            _take_points(book, family, path, resolved)
            book.found[path] = found_on(
                checked.fitting, book.lives, family, resolved, book.moment(resolved.sheet), present
            )
            for index, work in enumerate(resolved.sheet.it.work or ()):
                _take_work(book, family, resolved.sheet, index, work)
    return book


def _in_order(book: Book) -> tuple[str, ...]:
    """The paths of all sheets in order of time, a strip always before the build that fitted its parts elsewhere.

    Moments of one day in two engines do not compare: a build counts as the day's first and a strip as its last.
    """
    before: dict[str, list[str]] = defaultdict(list)
    by_moment = sorted((one.sheet for one in book.checked.resolved.values()), key=lambda one: _order(book, one))
    last: dict[str, str] = {}
    for sheet in by_moment:
        if sheet.engine in last:
            before[sheet.path].append(last[sheet.engine])
        last[sheet.engine] = sheet.path
    for life in book.lives.all():
        for stay, following in pairwise(life.stays):
            if stay.removed is not None and following.fitted is not None and stay.engine != following.engine:
                before[following.fitted.path].append(stay.removed.path)
    out: dict[str, None] = {}
    waiting: set[str] = set()  # a slip can make two sheets wait for each other: then the moments count

    def put(path: str) -> None:
        if path in waiting:
            return
        waiting.add(path)
        for earlier in before[path]:
            put(earlier)
        out[path] = None

    for sheet in by_moment:
        put(sheet.path)
    return tuple(out)


def _order(book: Book, sheet: SheetRecord) -> tuple[Moment, int, str, str]:
    """Sheets in order of time; a second one of a day, `2026-10-12-2`, after the first."""
    return book.moment(sheet), len(sheet.name), sheet.name, sheet.path


def _take_points(book: Book, family: Family, path: str, resolved: Resolved) -> None:
    moment = book.moment(resolved.sheet)
    for slot_id, line in resolved.lines.items():
        stay = book.checked.fitting.seen.get((path, slot_id))
        if stay is None:
            continue
        book.mentions.setdefault(stay.part.id, []).append(Mention(moment, path, slot_id))
        mine = book.points.setdefault(stay.part.id, {})
        exposure = book.lives.exposure_in(stay, moment)
        for subject, point in points_of(book.checked.shop, family, resolved.sheet, moment, line, exposure).items():
            mine.setdefault(subject, []).append(point)


def _take_work(book: Book, family: Family, sheet: SheetRecord, index: int, work: Work) -> None:
    named = work.dimensions or (tuple(work.size) if isinstance(work.size, dict) else ())
    seen, moment = _seen_on(book, sheet), book.moment(sheet)
    for part in _worked_on(book, family, sheet, work):
        entry = book.checked.fitting.parts.get(part)
        if entry is None:  # its serial is at fault, and that is told at its place
            continue
        exposure = book.lives.exposure_in(seen[part], moment) if part in seen else book.lives.exposure(part, moment)
        kind = family.kinds.get(entry.kind)
        resets = book.resets.setdefault(part, defaultdict(list))
        for name in named:
            dimension = (kind.dimensions or {}).get(name) if kind else None
            size = size_of(work.size, name, dimension.unit if dimension else "mm")
            place = sheet.record.place("work", index)
            nth, rank = book.nth[sheet.path], RANK_OF_WORK[sheet.kind]
            reset = Reset(moment, exposure, nth, rank, size, work.did, place)
            if resets[name] and resets[name][-1].nth == reset.nth:  # ground, then polished: one new beginning
                reset = _together(resets[name].pop(), reset)
            resets[name].append(reset)


def _seen_on(book: Book, sheet: SheetRecord) -> dict[str, Fitted]:
    """The stays that a sheet speaks of, by part."""
    stays = (book.checked.fitting.seen.get((sheet.path, slot)) for slot in book.checked.resolved[sheet.path].lines)
    return {stay.part.id: stay for stay in stays if stay is not None}


def _together(first: Reset, second: Reset) -> Reset:
    size = second.size if second.size is not None else first.size
    return replace(first, size=size, why=f"{first.why}, {second.why}")


def _worked_on(book: Book, family: Family, sheet: SheetRecord, work: Work) -> Iterator[str]:
    """The parts that a line of work means: a serial, or what stood in a position, in each place of a set."""
    if work.part is not None:
        yield work.part
        return
    for slot in slots_of(family).named(work.position or ""):
        stay = book.checked.fitting.seen.get((sheet.path, slot.id))
        stay = stay or book.stay_at(sheet.engine, slot.id, book.moment(sheet))
        if stay is not None:
            yield stay.part.id


def size_of(written: object, dimension: str, unit: str, *, alone: bool = True) -> float | None:
    """A size as written (one amount, or one a dimension) for one dimension, in its unit.

    One amount without a name counts where the dimension is `alone` in what it may be of, or named beside it.
    """
    if not isinstance(written, dict):
        return amount_in(written, unit) if isinstance(written, Quantity) and alone else None
    amount = written.get(dimension)
    return amount_in(amount, unit) if isinstance(amount, Quantity) else None


def sheet_ref(sheet: SheetRecord) -> SheetRef:
    """A sheet as other places name it: by its number, else by its kind and day."""
    label = sheet.it.sheet or f"{sheet.kind.capitalize()} {sheet.name}"
    return SheetRef(sheet.kind, sheet.engine, sheet.name, label, sheet.day, sheet.path)
