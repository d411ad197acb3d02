"""Written amounts as numbers in a wanted unit.

Where a record is at fault (a unit that is not known, or measures something else) there is no number: None comes out,
and the fault is told at its own line by whoever reads the records.
"""

from ..records.quantity import NotUnderstood, Quantity, in_unit
from ..records.units import canonical


def amount_in(amount: Quantity | None, unit: str, default: str | None = None) -> float | None:
    """The number in `unit`; where none was written, `default` (left out: `unit` itself) is taken as written.

    >>> from engine_pages.records.quantity import parse_quantity
    >>> amount_in(parse_quantity("35 min"), "h"), amount_in(parse_quantity("35 min"), "mm")
    (0.5833333333333334, None)
    """
    if amount is None or canonical(unit) is None or (default is not None and canonical(default) is None):
        return None
    try:
        return float(in_unit(amount, unit, default or unit))
    except NotUnderstood:
        return None


def hours_in(hours: Quantity | None, minutes: Quantity | None) -> float:
    """Hours and minutes as hours; what is not written adds nothing."""
    return (amount_in(hours, "h") or 0.0) + (amount_in(minutes, "h", "min") or 0.0)
