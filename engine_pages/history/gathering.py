"""All readings of every part, dimension by dimension: stations judged, differences worked out, in order of time.

A family's dimension gives one row of figures, or with `judge: each` one a station; its out of round, taper and named
differences each give one more.
"""

from collections.abc import Iterator, Mapping
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ..records.family import Dimension, Family, Form, Kind
from ..records.load import SheetRecord, Shop
from ..records.moments import Moment
from ..records.resolve import SlotLine
from ..records.slots import title_of
from ..wear.exposure import Exposure
from ..wear.measured import Measured, mean
from ..wear.stations import Difference, difference, out_of_round, taper
from .readings import Read, read, readable
from .story import WORKED_OUT


class Subject(Struct, frozen=True):
    """What a row of figures is about: a dimension, one of its stations, or a difference between them."""

    id: str
    name: str
    dimension_id: str
    dimension: Dimension
    form: Form | None
    station: str | None = None

    @property
    def wears(self) -> str:
        """Differences of form grow with wear, unless their only limit is a least one; a dimension says for itself."""
        if self.form is not None:
            limit = self.form.limit
            return "down" if limit is not None and limit.max is None and limit.min is not None else "up"
        return self.dimension.wears or _by_limit(self.dimension)


def _by_limit(dimension: Dimension) -> Literal["up", "down", "either", "none"]:
    """Where the family does not say which way it wears, the one limit that it gives does."""
    limit = dimension.limit
    if limit is None:
        return "none"
    if limit.max is not None and limit.min is None:
        return "up"
    return "down" if limit.max is None else "either"


class Point(Struct, frozen=True):
    """One reading of a subject on one sheet, with what its part had been through by then.

    `stations` holds the values that were judged, for fits.
    """

    sheet: SheetRecord
    moment: Moment
    slot: str
    read: Read
    stations: Mapping[str, Measured]
    exposure: Exposure


def subjects_of(kind: Kind) -> Iterator[Subject]:
    """Every row of figures that a kind of part can have, in the family's order."""
    for dimension_id, dimension in (kind.dimensions or {}).items():
        name = dimension.name or title_of(dimension_id)
        if dimension.judge == "each" and dimension.stations:
            for station in dimension.stations:
                yield Subject(
                    f"{dimension_id}@{station}",
                    f"{name}, {title_of(station).lower()}",
                    dimension_id,
                    dimension,
                    None,
                    station,
                )
        else:
            yield Subject(dimension_id, name, dimension_id, dimension, None)
        for form_id, form in _forms(dimension):
            form_name = form.name or title_of(form_id)
            yield Subject(f"{dimension_id}.{form_id}", f"{name}, {form_name.lower()}", dimension_id, dimension, form)


def _forms(dimension: Dimension) -> Iterator[tuple[str, Form]]:
    hyphened = any("-" in station for station in dimension.stations or ())
    for form_id in ("out_of_round", "taper"):
        form: Form | None = getattr(dimension, form_id)
        if form is not None or hyphened:
            yield form_id, form or Form()
    yield from (dimension.differences or {}).items()


def points_of(
    shop: Shop, family: Family, sheet: SheetRecord, moment: Moment, line: SlotLine, exposure: Exposure
) -> dict[str, Point]:
    """The points that one sheet's line gives, by subject id; `exposure` is the part's by then.

    A dimension that is judged station by station has one more under its own name, for the fits that it belongs to.
    """
    kind = family.kinds.get(line.slot.kind)
    if kind is None:
        return {}
    reads = {name: _reads(shop, sheet, line, kind, name) for name in line.measured}
    out: dict[str, Point] = {}
    for subject in subjects_of(kind):
        of_dimension = reads.get(subject.dimension_id)
        if not of_dimension:
            continue
        found = _point(subject, of_dimension)
        if found is not None:
            out[subject.id] = Point(sheet, moment, line.slot.id, *found, exposure)
        if subject.station is not None:
            first = next(iter(of_dimension.values()))
            out[subject.dimension_id] = Point(sheet, moment, line.slot.id, first, _at_20(of_dimension), exposure)
    return out


Reads = Mapping[str | None, Read]


def _reads(shop: Shop, sheet: SheetRecord, line: SlotLine, kind: Kind, name: str) -> Reads:
    """The readings of one dimension by station (None: no stations), without those whose unit is at fault."""
    dimension = (kind.dimensions or {}).get(name)
    if dimension is None:
        return {}
    of = readable(line.slot.kind, kind, name, dimension)
    found = {station: read(shop, sheet, taken, of) for station, taken in line.measured[name].items()}
    return {station: one for station, one in found.items() if one is not None}


def _at_20(reads: Reads) -> dict[str, Measured]:
    return {station or "": r.at_20 for station, r in reads.items() if r.at_20 is not None}


def _point(subject: Subject, reads: Reads) -> tuple[Read, Mapping[str, Measured]] | None:
    stations = _at_20(reads)
    if subject.form is not None:
        return _difference(subject, reads, stations)
    if subject.station is not None:
        return (replace(reads[subject.station], station=subject.station), {}) if subject.station in reads else None
    return _judged(subject, reads, stations)


def _judged(subject: Subject, reads: Reads, stations: Mapping[str, Measured]) -> tuple[Read, Mapping[str, Measured]]:
    """The reading that meets the limit. Of bounds the worst counts: what they hide may be as bad."""
    figures = {station: r.figure for station, r in reads.items() if r.figure is not None}
    if not figures:
        return next(iter(reads.values())), {}
    judge = subject.dimension.judge
    if judge == "mean" and len(figures) == len(stations) > 1:
        return _mean(reads, stations), stations
    smallest = judge == "smallest" or (judge != "largest" and subject.wears == "down")
    station = (min if smallest else max)(figures, key=lambda name: figures[name])
    return replace(reads[station], station=station), stations


def _mean(reads: Reads, stations: Mapping[str, Measured]) -> Read:
    used = [r for r in reads.values() if r.raw is not None]
    raw = mean([r.raw for r in used if r.raw is not None])
    written = ", ".join(r.written for r in used)
    assumed = any(r.assumed for r in used)
    return replace(
        used[0],
        kind="gauge",
        raw=raw,
        at_20=mean(list(stations.values())),
        ends=None,
        judged_ends=None,
        written=written,
        assumed=assumed,
        station=None,
    )


def _difference(
    subject: Subject, reads: Reads, stations: Mapping[str, Measured]
) -> tuple[Read, Mapping[str, Measured]] | None:
    found = _form_value(subject, stations)
    if found is None:
        return None
    at = found.minuend if found.subtrahend is None else f"{found.minuend} − {found.subtrahend}"
    worked_out = replace(
        reads[found.minuend or None],
        kind="gauge",
        raw=found.value,
        at_20=found.value,
        ends=None,
        judged_ends=None,
        written=WORKED_OUT,
        assumed=any(r.assumed for r in reads.values()),
        station=at,
    )
    return worked_out, {}


def _form_value(subject: Subject, stations: Mapping[str, Measured]) -> Difference | None:
    name = subject.id.rsplit(".", 1)[1]
    if name == "out_of_round":
        return out_of_round(stations)
    if name == "taper":
        return taper(stations)
    parts = getattr(subject.form, "difference")  # noqa: B009 - only a named difference gets here, and its model has it
    if len(parts) == 2:
        return difference(parts[0], [parts[1]], stations)
    return difference(parts[0], parts[2], stations, parts[1])
