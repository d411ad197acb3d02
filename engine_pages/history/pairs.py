"""Two parts that stand together: which they are, since when, and every clearance that was read or worked out of them.

A pair's readings begin anew when either part changes or is machined; a strip and a rebuild do not part it. On a sheet
where one side was read, the other side's last reading serves as long as that part has not run since.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from ..records.family import Dimension, Family, Fit
from ..records.fitting import Fitted
from ..records.load import SheetRecord
from ..records.moments import Moment
from ..records.resolve import fit_side, fit_unit
from ..records.units import canonical, convert, dimension_of
from ..wear.exposure import AMOUNTS, Exposure
from ..wear.fits import Clearances, PartReading, clearances, clearances_verdict
from ..wear.limits import Limit
from ..wear.measured import Measured, scaled
from .book import Book, sheet_ref
from .gathering import Point
from .plausible import far_off
from .readings import Read, Readable, read
from .rows import Span, limit_in, new_of, range_in
from .series import K_ONE_SIDED_95, ZERO_EXPOSURE, Dated
from .story import WORKED_OUT, Bound, LaterFigure, SheetRef, Verdict


class Side(Struct, frozen=True):
    """One side of a fit: the part in its place, its dimension on one baseline, the station where one is meant."""

    stay: Fitted
    dimension_id: str
    dimension: Dimension
    station: str | None
    number: int

    @property
    def part(self) -> str:
        return self.stay.part.id


class Pair(Struct, frozen=True):
    """Two sides that stand together: since when, and until when (None: still, or on the bench together)."""

    engine: str
    fit_id: str
    fit: Fit
    outer: Side
    inner: Side
    unit: str
    limit: Limit | None
    began: Moment
    ended: Moment | None

    @property
    def sides(self) -> tuple[Side, Side]:
        return self.outer, self.inner

    @property
    def key(self) -> tuple[object, ...]:
        """What makes it this pair and no other."""
        return (
            *(self.engine, self.fit_id, self.outer.part, self.inner.part),
            *(self.outer.number, self.inner.number, self.began),
        )

    @property
    def wears(self) -> str:
        """A clearance opens where the outer part grows or the inner one shrinks, and neither goes the other way."""
        outer, inner = (side.dimension.wears for side in self.sides)
        if (outer, inner) in (("up", "down"), ("up", "none"), ("none", "down")):
            return "up"
        if (outer, inner) in (("down", "up"), ("down", "none"), ("none", "up")):
            return "down"
        return "up" if self.limit is not None and self.limit.min is None else "either"


def pairs_of(
    book: Book,
    family: Family,
    engine: str,
    inside: Mapping[str, Fitted],
    until: Moment,
    sheet: SheetRecord | None = None,
) -> Iterator[Pair]:
    """Every fit of the family whose two parts are known.

    `inside` maps slots to the stays that count as present. With a sheet, pairs are as that sheet read them, before
    whatever was machined since.
    """
    for fit_id, fit in (family.fits or {}).items():
        outer, inner = (_side(book, family, text, inside, until, sheet) for text in (fit.outer, fit.inner))
        unit = fit_unit(family, fit_id) or "mm"
        if outer is not None and inner is not None and canonical(unit) is not None:
            began, ended = _together(book, outer, inner)
            yield Pair(engine, fit_id, fit, outer, inner, unit, limit_in(fit.limit, unit), began, ended)


def _side(
    book: Book, family: Family, text: str, inside: Mapping[str, Fitted], until: Moment, sheet: SheetRecord | None
) -> Side | None:
    named = fit_side(family, text)
    if named is None or named[0] not in inside:
        return None
    stay, dimension_id = inside[named[0]], named[1]
    kind = family.kinds.get(stay.slot.kind)
    dimension = (kind.dimensions or {}).get(dimension_id) if kind else None
    if dimension is None:
        return None
    if sheet is not None:
        number = book.baseline_on(stay.part.id, dimension_id, sheet)
    else:
        number = len(book.machinings(stay.part.id, dimension_id, until))
    return Side(stay, dimension_id, dimension, named[2], number)


def _together(book: Book, outer: Side, inner: Side) -> tuple[Moment, Moment | None]:
    """When two sides became this pair, by fitting or machining, and when either left it."""
    runs = [_run_of_stays(book, side.stay) for side in (outer, inner)]
    machined = [
        book.machinings(side.part, side.dimension_id)[side.number - 1].moment for side in (outer, inner) if side.number
    ]
    began = max([*(began for began, _ in runs), *machined])
    return began, min((ended for _, ended in runs if ended is not None), default=None)


def _run_of_stays(book: Book, stay: Fitted) -> tuple[Moment, Moment | None]:
    """The stays of a part in one place with nothing between, neither another part here nor this part elsewhere."""
    own, here = book.lives.of(stay.part.id).stays, book.in_slot[stay.engine, stay.slot.id]
    first = last = next(n for n, other in enumerate(own) if other is stay)
    at = next(n for n, other in enumerate(here) if other is stay)
    back = forth = at
    while first > 0 and back > 0 and own[first - 1] is here[back - 1]:
        first, back = first - 1, back - 1
    while last + 1 < len(own) and forth + 1 < len(here) and own[last + 1] is here[forth + 1]:
        last, forth = last + 1, forth + 1
    after = [stays[n].began for stays, n in ((own, last + 1), (here, forth + 1)) if n < len(stays)]
    return own[first].began, min(after, default=None)


def new_pair(book: Book, family: Family, pair: Pair) -> Span | None:
    """The clearance of two new parts: as the family writes it, else from their own ranges.

    Smallest outer less largest inner, to largest outer less smallest inner.
    """
    if pair.fit.new:
        return range_in(pair.fit.new, pair.unit)
    outer, inner = (new_of(book, family, s.stay.part, s.dimension_id, s.number) for s in pair.sides)
    if outer is None or inner is None or {side.dimension.unit for side in pair.sides} != {pair.unit}:
        return None
    return outer[0] - inner[1], outer[1] - inner[0]


def exposure_of_pair(book: Book, pair: Pair, until: Moment) -> Exposure:
    """What the two have run together."""
    return book.ledgers[pair.engine].ledger.between(pair.began, until)


def readings_of_pair(book: Book, family: Family, pair: Pair, until: Moment) -> Iterator[Dated]:
    """Every clearance of the pair until a moment, in order of time."""
    new = new_pair(book, family, pair)
    for sheet in sorted(book.checked.shop.engines[pair.engine].sheets, key=book.moment):
        moment = book.moment(sheet)
        if moment < pair.began or moment > until or (pair.ended is not None and moment >= pair.ended):
            continue
        if any(book.baseline_on(side.part, side.dimension_id, sheet) != side.number for side in pair.sides):
            continue
        found = _measured_directly(book, sheet, pair) or _worked_out(book, sheet, pair)
        if found is not None:
            reading, both = found
            exposure = exposure_of_pair(book, pair, moment)
            amount = exposure.amount(family.exposure)
            slot = pair.outer.stay.slot.id
            slipped = reading.raw is not None and far_off(reading.raw.value, new, pair.limit, pair.wears)
            yield Dated(
                reading, sheet_ref(sheet), slot, amount, exposure.hours, 0, pair.limit, both, in_doubt=slipped
            )  # fmt: skip


def _measured_directly(book: Book, sheet: SheetRecord, pair: Pair) -> tuple[Read, Clearances | None] | None:
    """What a sheet says of the clearance itself; of several stations the largest and the smallest count."""
    of = Readable(
        f"fit.{pair.fit_id}", pair.unit, pair.fit.instrument or pair.outer.dimension.instrument, None, None, False
    )
    written = book.checked.resolved[sheet.path].fits.get(pair.fit_id, {})
    found = {station: read(book.checked.shop, sheet, taken, of) for station, taken in written.items()}
    reads = {station: one for station, one in found.items() if one is not None}
    figures = {station: one.figure for station, one in reads.items() if one.figure is not None}
    if not figures:
        return (next(iter(reads.values())), None) if reads else None
    only_min = pair.limit is not None and pair.limit.max is None
    station = (min if only_min else max)(figures, key=lambda name: figures[name])
    values = {name or "": one.at_20 for name, one in reads.items() if one.at_20 is not None}
    both = clearances(values, Measured(0.0)) if 1 < len(values) == len(figures) else None
    return replace(reads[station], station=station), both


def _worked_out(book: Book, sheet: SheetRecord, pair: Pair) -> tuple[Read, Clearances | None] | None:
    outer, inner = (_point_at(book, side, sheet) for side in pair.sides)
    if outer is None or inner is None or (outer.sheet is not sheet and inner.sheet is not sheet):
        return None
    both = _between(pair, outer, inner)
    if both is None:
        return None
    end, at = _told_end(pair, both)
    here = outer.read if outer.sheet is sheet else inner.read
    reads = outer.read, inner.read
    reading = Read(
        "gauge", WORKED_OUT, end, end, None, None, None, any(r.assumed for r in reads), here.temperature,
        any(r.corrected for r in reads), 1, max(r.decimals for r in reads), here.source,
        station=" − ".join(station for station in at if station) or None,
    )  # fmt: skip
    return reading, both


def _between(pair: Pair, outer: Point, inner: Point) -> Clearances | None:
    """Outer less inner in the fit's unit; None where a side's unit or station does not serve."""
    outer_value, inner_value = (
        _value(point, side, pair.unit) for point, side in zip((outer, inner), pair.sides, strict=True)
    )
    return None if outer_value is None or inner_value is None else clearances(outer_value, inner_value)


def _told_end(pair: Pair, both: Clearances) -> tuple[Measured, tuple[str | None, str | None]]:
    """The end that is told, with its stations: the smallest where nothing but a least is asked, else the largest."""
    only_min = pair.limit is not None and pair.limit.max is None
    return (both.smallest, both.smallest_at) if only_min else (both.largest, both.largest_at)


def later_figure(book: Book, family: Family, pair: Pair, told: SheetRef, until: Moment) -> LaterFigure | None:
    """The newest reading of each side, where one was read after the pair's last figure, the sheet `told`.

    The other side has run on since its own reading, and its wear goes one way: the clearance is at the least or at the
    most so much. None where no side was read since, or the figure is a slip.
    """
    outer, inner = (_newest(book, pair, side, until) for side in pair.sides)
    if outer is None or inner is None or all(book.nth[p.sheet.path] <= book.nth[told.path] for p in (outer, inner)):
        return None
    both = _between(pair, outer, inner)
    if both is None:
        return None
    end, _ = _told_end(pair, both)
    if far_off(end.value, new_pair(book, family, pair), pair.limit, pair.wears):
        return None
    bound = _bound(pair, ran_on_is_outer=outer.moment < inner.moment)
    found: Verdict = "no limit" if pair.limit is None else _judged(both, pair.limit, bound)
    read = (pair.outer.part, outer.sheet.day), (pair.inner.part, inner.sheet.day)
    return LaterFigure(end.value, max(outer.read.decimals, inner.read.decimals), bound, found, read)


def _newest(book: Book, pair: Pair, side: Side, until: Moment) -> Point | None:
    """The side's last reading on this baseline, while the pair stood together or before."""
    last: Point | None = None
    for point in book.points.get(side.part, {}).get(side.dimension_id, []):
        same = book.baseline_on(side.part, side.dimension_id, point.sheet) == side.number
        known = point.moment <= until and (pair.ended is None or point.moment < pair.ended)
        if same and known and point.read.at_20 is not None:
            last = point
    return last


def _bound(pair: Pair, *, ran_on_is_outer: bool) -> Bound:
    """Which way the clearance has gone since the side that ran on was read."""
    opens, closes = ("up", "down") if ran_on_is_outer else ("down", "up")
    wears = (pair.outer if ran_on_is_outer else pair.inner).dimension.wears
    return "at the least" if wears == opens else "at the most" if wears == closes else "about"


def _judged(both: Clearances, limit: Limit, bound: Bound) -> Verdict:
    """The verdict as read; beyond for certain only where the wear since can but have taken it farther."""
    found = clearances_verdict(both, limit, K_ONE_SIDED_95)
    if found != "beyond":
        return found
    above = limit.max is not None and both.largest.value > limit.max
    return "beyond" if bound == ("at the least" if above else "at the most") else "undecided"


def _point_at(book: Book, side: Side, sheet: SheetRecord) -> Point | None:
    """The side's reading on this sheet, else its last one on this baseline if the part has not run since."""
    nth = book.nth[sheet.path]
    last: Point | None = None
    for point in book.points.get(side.part, {}).get(side.dimension_id, []):
        same = book.baseline_on(side.part, side.dimension_id, point.sheet) == side.number
        if same and book.nth[point.sheet.path] <= nth and point.read.at_20 is not None:
            last = point
    if last is None or last.sheet is sheet:
        return last
    since = book.lives.between(side.part, last.moment, book.moment(sheet))
    return last if all(getattr(since, name) <= ZERO_EXPOSURE for name in AMOUNTS) else None


def _value(point: Point, side: Side, unit: str) -> PartReading | None:
    """What stands for one side, in the fit's unit: its one station, all of them, or its one value."""
    own = side.dimension.unit
    if canonical(own) is None or dimension_of(own) != dimension_of(unit):
        return None
    factor = float(convert(Decimal(1), own, unit))
    if side.station is not None:
        value = point.stations.get(side.station)
        return None if value is None else _brought(value, factor)
    if len(point.stations) > 1:
        return {station: _brought(value, factor) for station, value in point.stations.items()}
    return None if point.read.at_20 is None else _brought(point.read.at_20, factor)


def _brought(value: Measured, factor: float) -> Measured:
    return value if factor == 1.0 else scaled(value, factor)
