"""Clearances of two parts: the readings of the outer and the inner part come in, their difference goes out.

What both readings share (one gauge's zero on one sheet, one material's expansion) cancels. With stations there is no
one clearance but a range, and each end meets its own limit.
"""

from collections.abc import Mapping

from msgspec import Struct

from engine_pages.wear.limits import ONE_SIDED_95, Limit, Verdict, verdict
from engine_pages.wear.measured import Measured, minus
from engine_pages.wear.stations import judged

PartReading = Measured | Mapping[str, Measured]


class Clearances(Struct, frozen=True):
    """Outer less inner where it is largest and where it is smallest, with the stations (outer, inner) of each."""

    largest: Measured
    smallest: Measured
    largest_at: tuple[str | None, str | None]
    smallest_at: tuple[str | None, str | None]


def clearance(outer: Measured, inner: Measured) -> Measured:
    """Outer less inner, in their unit; below zero it is an interference.

    >>> clearance(Measured(50.25), Measured(50.0)).value
    0.25
    """
    return minus(outer, inner)


def clearances(outer: PartReading, inner: PartReading) -> Clearances:
    """Largest outer less smallest inner, and smallest outer less largest inner; a part read once has no stations.

    ValueError where a part has no reading.

    >>> both = clearances({"top": Measured(50.25), "low": Measured(50.125)}, Measured(50.0))
    >>> both.largest.value, both.largest_at, both.smallest.value
    (0.25, ('top', None), 0.125)
    """
    widest, outer_largest = _end(outer, largest=True)
    narrowest, outer_smallest = _end(outer, largest=False)
    thickest, inner_largest = _end(inner, largest=True)
    thinnest, inner_smallest = _end(inner, largest=False)
    return Clearances(
        largest=clearance(outer_largest, inner_smallest),
        smallest=clearance(outer_smallest, inner_largest),
        largest_at=(widest, thinnest),
        smallest_at=(narrowest, thickest),
    )


def clearances_verdict(found: Clearances, limit: Limit, k: float = ONE_SIDED_95) -> Verdict:
    """The largest against the max, the smallest against the min; the worse of the two counts.

    >>> both = clearances({"top": Measured(50.25), "low": Measured(50.125)}, Measured(50.0))
    >>> clearances_verdict(both, Limit(min=0.15, max=0.30))
    'beyond'
    """
    verdicts: list[Verdict] = []
    if limit.max is not None:
        verdicts.append(verdict(found.largest.value, found.largest.u, Limit(max=limit.max), k))
    if limit.min is not None:
        verdicts.append(verdict(found.smallest.value, found.smallest.u, Limit(min=limit.min), k))
    order: tuple[Verdict, ...] = ("within", "undecided", "beyond")
    return max(verdicts, key=order.index)


def _end(reading: PartReading, largest: bool) -> tuple[str | None, Measured]:
    """Station and value at one end of a part's readings."""
    if isinstance(reading, Measured):
        return None, reading
    return judged(reading, "largest" if largest else "smallest")
