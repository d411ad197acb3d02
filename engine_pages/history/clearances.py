"""Fits: clearances of two parts that stand together now, worked out from both readings or measured directly.

A pair's readings begin anew when either part changes or is machined. On a sheet where one side was read, the other
side's last reading serves as long as neither part has run since.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from ..records.family import Family, Fit
from ..records.fitting import Fitted
from ..records.load import SheetRecord
from ..records.moments import Moment
from ..records.resolve import fit_side, fit_unit
from ..records.slots import row_of, title_of
from ..wear.exposure import Exposure
from ..wear.fits import Clearances, PartReading, clearances
from ..wear.limits import Limit
from ..wear.measured import Measured
from .book import Book, sheet_ref
from .dimensions import Outlook, limit_in, range_in
from .gathering import Point
from .readings import Read, Readable, read
from .series import ZERO_EXPOSURE, Baseline, Dated, Frame, dimension_story
from .story import WORKED_OUT, FitStory


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a fit as it stands now: the part, its dimension, the station where one is meant."""

    stay: Fitted
    dimension: str
    station: str | None


def fits_of(
    book: Book, family: Family, engine: str, inside: dict[str, Fitted], outlook: Outlook
) -> tuple[FitStory, ...]:
    """Every fit of the family whose two parts are known. `inside` maps slots to the stays that count as present."""
    out = []
    for fit_id, fit in (family.fits or {}).items():
        outer, inner = (_side(text, family, inside) for text in (fit.outer, fit.inner))
        if outer is not None and inner is not None:
            out.append(_fit_story(book, family, engine, fit_id, fit, (outer, inner), outlook))
    return tuple(out)


def _side(text: str, family: Family, inside: dict[str, Fitted]) -> Side | None:
    named = fit_side(family, text)
    if named is None or named[0] not in inside:
        return None
    return Side(inside[named[0]], named[1], named[2])


def _fit_story(
    book: Book, family: Family, engine: str, fit_id: str, fit: Fit, sides: tuple[Side, Side], outlook: Outlook
) -> FitStory:
    outer, inner = sides
    unit = fit_unit(family, fit_id) or "mm"
    limit = limit_in(fit.limit, unit)
    began = max(_pair_began(book, side) for side in sides)
    rows = _rows(book, family, engine, fit_id, sides, unit, limit, began)
    name = fit.name or title_of(fit_id)
    record = book.checked.shop.families.get(family.family)
    frame = Frame(
        id=fit_id,
        name=name,
        unit=unit,
        decimals=max((row.read.decimals for row in rows), default=3),
        limit=limit,
        limit_source=fit.source,
        limit_where=record.place("fits", fit_id) if record else None,
        new=range_in(fit.new, unit),
        wears="up" if limit is not None and limit.min is None else "either",
        confidence=outlook.confidence,
        keep=outlook.keep,
        exposure_unit=family.exposure,
        now=_pair_exposure(book, engine, began, outlook.until).amount(family.exposure),
        plan=outlook.plan,
        known_start=False,  # a pair of used parts does not start at the clearance of a new one
    )
    dimension = dimension_story(frame, rows, Baseline(0, 0.0, None))
    row = fit.row if fit.row is not None else outer.stay.slot.row or row_of(fit_id)
    return FitStory(fit_id, name, (outer.stay.part.id, inner.stay.part.id), row, dimension, dimension.state)


def _pair_began(book: Book, side: Side) -> Moment:
    """When this side became what it is: fitted here (and put back after each strip since), or machined since."""
    resets = book.resets.get(side.stay.part.id, {}).get(side.dimension, [])
    return max([_came_here(book, side.stay), *(reset.moment for reset in resets)])


def _came_here(book: Book, stay: Fitted) -> Moment:
    """The start of the run of stays in this one place: a strip and a rebuild do not part a pair."""
    began = stay.began
    for earlier in reversed(book.lives.of(stay.part.id).stays):
        if earlier.began >= began:
            continue
        if earlier.engine != stay.engine or earlier.slot.id != stay.slot.id:
            break
        began = earlier.began
    return began


def _pair_exposure(book: Book, engine: str, began: Moment, until: Moment) -> Exposure:
    return book.ledgers[engine].ledger.between(began, until)


def _rows(
    book: Book, family: Family, engine: str, fit_id: str, sides: tuple[Side, Side], unit: str, limit: Limit | None,
    began: Moment,
) -> list[Dated]:  # fmt: skip
    out = []
    for sheet in sorted(book.checked.shop.engines[engine].sheets, key=book.moment):
        moment = book.moment(sheet)
        ended = [side.stay.ended for side in sides if side.stay.ended is not None]
        if moment < began or any(moment > end for end in ended):
            continue
        found = _measured_directly(book, sheet, fit_id, unit) or _worked_out(book, family, sheet, sides, limit)
        if found is None:
            continue
        reading, both = found
        exposure = _pair_exposure(book, engine, began, moment)
        out.append(
            Dated(
                reading,
                sheet_ref(sheet),
                sides[0].stay.slot.id,
                exposure.amount(family.exposure),
                exposure.hours,
                0,
                limit,
                both,
            )
        )
    return out


def _measured_directly(book: Book, sheet: SheetRecord, fit_id: str, unit: str) -> tuple[Read, Clearances | None] | None:
    resolved = book.checked.resolved[sheet.path]
    for taken in resolved.fits.get(fit_id, {}).values():
        of = Readable(f"fit.{fit_id}", unit, None, None, None, False)
        return read(book.checked.shop, sheet, taken, of), None
    return None


def _worked_out(
    book: Book, family: Family, sheet: SheetRecord, sides: tuple[Side, Side], limit: Limit | None
) -> tuple[Read, Clearances | None] | None:
    points = [_point_at(book, family, side, sheet) for side in sides]
    outer, inner = points
    if outer is None or inner is None or not any(point and point.sheet is sheet for point in points):
        return None
    values = [_value(point, side.station) for point, side in zip(points, sides, strict=True) if point]
    if len(values) < 2 or values[0] is None or values[1] is None:
        return None
    both = clearances(values[0], values[1])
    end = both.smallest if limit is not None and limit.max is None else both.largest
    base = outer.read if outer.sheet is sheet else inner.read
    reading = Read(
        "gauge", WORKED_OUT, end, end, None, None, None, base.assumed, base.temperature, base.corrected, 1,
        max(outer.read.decimals, inner.read.decimals), base.source,
    )  # fmt: skip
    return reading, both


def _point_at(book: Book, family: Family, side: Side, sheet: SheetRecord) -> Point | None:
    """The side's reading on this sheet, else its last one if the part has not run since."""
    moment = book.moment(sheet)
    points = list(_before(book, side, moment))
    if not points:
        return None
    last = points[-1]
    since = book.lives.exposure(side.stay.part.id, moment).amount(family.exposure)
    then = book.lives.exposure(side.stay.part.id, last.moment).amount(family.exposure)
    return last if since - then <= ZERO_EXPOSURE else None


def _before(book: Book, side: Side, moment: Moment) -> Iterator[Point]:
    resets = book.resets.get(side.stay.part.id, {}).get(side.dimension, [])
    opened = max((reset.moment for reset in resets if reset.moment <= moment), default=None)
    for point in book.points.get(side.stay.part.id, {}).get(side.dimension, []):
        if point.moment <= moment and (opened is None or point.moment >= opened):
            yield point


def _value(point: Point, station: str | None) -> PartReading | None:
    if station is not None:
        return point.stations.get(station)
    if len(point.stations) > 1:
        return dict(point.stations)
    value: Measured | None = point.read.at_20
    return value
