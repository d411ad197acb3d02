"""The last readings of one dimension of a part as they were typed, station by station, and the sheet they stand on."""

from collections.abc import Mapping

from msgspec import Struct

from ..records.quantity import Quantity
from ..records.resolve import Resolved
from .amounts import amount_in
from .story import PartStory
from .told_parts import SheetRef


class LastTaken(Struct, frozen=True):
    """One reading, or repeats of it: as written, its value in the dimension's unit (None for what is no plain number),
    its standard uncertainty in that unit where it is known, and the sheet."""

    written: str
    value: float | None
    u: float | None
    sheet: SheetRef


def last_taken(resolved: Mapping[str, Resolved], part: PartStory, dimension: str, unit: str) -> dict[str, LastTaken]:
    """By station (empty: none) what the last sheet says that read this dimension of the part; empty where none does."""
    told = [one for one in part.dimensions if one.id.partition("@")[0] == dimension and one.last is not None]
    last = max((one.last for one in told if one.last is not None), key=lambda one: one.day, default=None)
    if last is None:
        return {}
    line = resolved[last.sheet.path].lines.get(last.slot)
    out = {}
    for station, taken in (line.measured.get(dimension, {}) if line is not None else {}).items():
        values = taken.reading.values
        plain = [amount_in(one, unit) for one in values if isinstance(one, Quantity)]
        known = [one for one in plain if one is not None]
        mean = sum(known) / len(known) if known else None
        written = ", ".join(one.written for one in values)
        out[station or ""] = LastTaken(written, mean, last.u, last.sheet)
    return out
