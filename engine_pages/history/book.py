"""The shop's book: everything that has to be worked out once for all engines before one of them can be told.

Checked records come in; out come ledgers, lives, and every reading of every part in order of time.
"""

from collections import defaultdict
from dataclasses import dataclass, field

from ..records.checks.checked import Checked
from ..records.family import Family
from ..records.fitting import Fitted
from ..records.load import SheetRecord
from ..records.moments import Moment
from ..records.quantity import Quantity, in_unit
from ..records.resolve import Resolved
from ..records.sheet import Work
from ..records.source import Source
from .found import found_on
from .gathering import Point, points_of
from .ledgers import EngineLedger, ledger_of
from .lives import Lives
from .story import FoundStory, SheetRef


@dataclass(frozen=True, slots=True)
class Reset:
    """Machining of one dimension: it opens a new baseline. `size` from standard, in the dimension's unit."""

    moment: Moment
    rank: int
    size: float | None
    why: str
    source: Source


@dataclass(frozen=True, slots=True, order=True)
class Mention:
    """A sheet's line that speaks of a part."""

    moment: Moment
    path: str
    slot: str


@dataclass(slots=True)
class Book:
    """The shop's records, worked out as far as all engines share it."""

    checked: Checked
    ledgers: dict[str, EngineLedger]
    lives: Lives
    points: dict[str, dict[str, list[Point]]] = field(default_factory=dict)
    resets: dict[str, dict[str, list[Reset]]] = field(default_factory=dict)
    mentions: dict[str, list[Mention]] = field(default_factory=dict)
    found: dict[str, tuple[FoundStory, ...]] = field(default_factory=dict)

    def moment(self, sheet: SheetRecord) -> Moment:
        return self.checked.orders[sheet.engine].of_sheet(sheet)

    def stay_at(self, engine: str, slot: str, moment: Moment) -> Fitted | None:
        """The part's stay in a slot at a moment."""
        for stay in self.checked.fitting.stays:
            stood = stay.began <= moment and (stay.ended is None or moment <= stay.ended)
            if stood and stay.engine == engine and stay.slot.id == slot:
                return stay
        return None


READING_RANK = 1  # on a build sheet work comes before the readings, on a teardown sheet after
RANK_OF_WORK = {"build": 0, "inspection": 2, "teardown": 2}


def open_book(checked: Checked) -> Book:
    """Work out ledgers, lives and readings once."""
    shop = checked.shop
    ledgers = {e.id: ledger_of(e, checked.orders[e.id]) for e in shop.engines.values()}
    book = Book(checked, ledgers, Lives(checked.fitting, ledgers))
    present = frozenset(shop.tree.paths())
    for path, resolved in sorted(checked.resolved.items(), key=lambda item: (book.moment(item[1].sheet), item[0])):
        family = shop.family_of(resolved.sheet.engine)
        if family is not None:
            _take_points(book, family, path, resolved)
            book.found[path] = found_on(
                checked.fitting, book.lives, family, resolved, book.moment(resolved.sheet), present
            )
            for index, work in enumerate(resolved.sheet.it.work or ()):
                _take_work(book, family, resolved.sheet, index, work)
    return book


def _take_points(book: Book, family: Family, path: str, resolved: Resolved) -> None:
    moment = book.moment(resolved.sheet)
    for slot_id, line in resolved.lines.items():
        stay = book.checked.fitting.seen.get((path, slot_id))
        if stay is None:
            continue
        book.mentions.setdefault(stay.part.id, []).append(Mention(moment, path, slot_id))
        mine = book.points.setdefault(stay.part.id, {})
        for subject, point in points_of(book.checked.shop, family, resolved.sheet, moment, line).items():
            mine.setdefault(subject, []).append(point)


def _take_work(book: Book, family: Family, sheet: SheetRecord, index: int, work: Work) -> None:
    moment = book.moment(sheet)
    part = work.part
    if part is None and work.position is not None:
        stay = book.checked.fitting.seen.get((sheet.path, work.position))
        stay = stay or book.stay_at(sheet.engine, work.position, moment)
        part = stay.part.id if stay else None
    entry = book.checked.fitting.parts.get(part) if part else None
    if entry is None:
        return
    kind = family.kinds.get(entry.kind)
    resets = book.resets.setdefault(entry.id, defaultdict(list))
    for name in work.dimensions or ():
        dimension = (kind.dimensions or {}).get(name) if kind else None
        unit = dimension.unit if dimension else "mm"
        size = size_of(work.size, name, unit)
        place = sheet.record.place("work", index)
        resets[name].append(Reset(moment, RANK_OF_WORK[sheet.kind], size, work.did, place))


def size_of(written: object, dimension: str, unit: str) -> float | None:
    """A size as written (one amount, or one a dimension) for one dimension, in its unit."""
    amount = written.get(dimension) if isinstance(written, dict) else written
    return float(in_unit(amount, unit, unit)) if isinstance(amount, Quantity) else None


def sheet_ref(sheet: SheetRecord) -> SheetRef:
    """A sheet as other places name it: by its number, else by its kind and day."""
    label = sheet.it.sheet or f"{sheet.kind.capitalize()} {sheet.name}"
    return SheetRef(sheet.kind, sheet.engine, sheet.name, label, sheet.day, sheet.path)
