"""When a service or a replacement falls due: the rule's intervals and what has been used of them in, what is left out.

Intervals stand in hours, km, starts, runs or calendar months, and whichever ends first counts. Reckoned as certain: the
intervals are the shop's own, the exposure is what its log says.
"""

import calendar
import math
from collections.abc import Collection, Mapping
from datetime import date, timedelta
from typing import Literal

from msgspec import Struct, field

ServiceState = Literal["within", "unknown", "due", "overdue"]
_WORSE_LAST: tuple[ServiceState, ...] = ("within", "unknown", "due", "overdue")

MONTHS = "months"
NEARLY_USED = 0.9  # due within the last tenth of an interval: the shop's own warning, not a standard's
SAME_EXPOSURE = 1e-9  # shares closer than this are equal: tenths of an hour, added up, leave such noise


class Planned(Struct, frozen=True):
    """The next planned event: what it will add in each unit, and the day on which it ends."""

    ends: date
    exposure: Mapping[str, float] = field(default_factory=dict)


class UnitDue(Struct, frozen=True):
    """One interval of a rule, in its own unit; None where not known. Months also fall due on a day."""

    unit: str
    interval: float
    used: float | None
    share: float | None
    remaining: float | None
    due_on: date | None
    state: ServiceState


class Due(Struct, frozen=True):
    """The worst state of a rule's intervals, the interval that ends first (None where nothing is known), and each."""

    state: ServiceState
    first: UnitDue | None
    units: tuple[UnitDue, ...]


def due(
    rule: Mapping[str, float],
    used: Mapping[str, float | None],
    *,
    since: date | None = None,
    as_of: date | None = None,
    planned: Planned | None = None,
    at_least: bool | Collection[str] = False,
) -> Due:
    """What is left of each interval of a rule, and its state.

    `used` gives the exposure since the last service in the rule's units; months run from `since` to `as_of`, whole
    calendar months with the day held back to the end of a shorter month. Overdue past the interval; due within its last
    tenth, or where it ends by the end of the next planned event; unknown where the exposure is. `at_least` says that an
    unknown life came before (or names the units of which something is not known): then nothing is within, but what is
    counted in months, which run from a day. An interval that is not above zero is a ValueError.

    >>> oil = due({"hours": 5.0, "months": 6}, {"hours": 2.0}, since=date(2026, 8, 31), as_of=date(2026, 11, 2))
    >>> oil.state, oil.first.unit, oil.first.remaining, oil.units[1].due_on.isoformat()
    ('within', 'hours', 3.0, '2027-02-28')
    """
    if not rule:
        raise ValueError("a rule has at least one interval")
    bounds = tuple(rule) if at_least is True else at_least or ()
    units = tuple(
        _months_due(interval, since, as_of, planned)
        if unit == MONTHS
        else _exposure_due(unit, interval, used.get(unit), planned, unit in bounds)
        for unit, interval in rule.items()
    )
    known = [unit for unit in units if unit.share is not None]
    return Due(
        state=max((unit.state for unit in units), key=_WORSE_LAST.index),
        first=max(known, key=lambda unit: (_WORSE_LAST.index(unit.state), unit.share), default=None),
        units=units,
    )


def add_months(day: date, months: float) -> date:
    """The same day so many calendar months later, held back to the end of a shorter month.

    A part of a month counts as that share of the days of the month that follows, whole days only.

    >>> add_months(date(2024, 2, 29), 12).isoformat(), add_months(date(2026, 8, 31), 6).isoformat()
    ('2025-02-28', '2027-02-28')
    """
    whole = math.floor(months)
    year, month = divmod(day.year * 12 + day.month - 1 + whole, 12)
    month += 1
    later = date(year, month, min(day.day, calendar.monthrange(year, month)[1]))
    return later + timedelta(days=math.floor((months - whole) * calendar.monthrange(year, month)[1]))


def _exposure_due(unit: str, interval: float, used: float | None, planned: Planned | None, at_least: bool) -> UnitDue:
    """An interval in hours, km, starts or runs."""
    _check_interval(unit, interval)
    if used is None:
        return UnitDue(unit, interval, None, None, None, None, "unknown")
    after = used + (planned.exposure.get(unit, 0.0) if planned else 0.0)
    state = _state(used / interval, after / interval >= 1.0 - SAME_EXPOSURE, at_least)
    return UnitDue(unit, interval, used, used / interval, interval - used, None, state)


def _months_due(interval: float, since: date | None, as_of: date | None, planned: Planned | None) -> UnitDue:
    """An interval in calendar months; the share is that of its days."""
    _check_interval(MONTHS, interval)
    if since is None:
        return UnitDue(MONTHS, interval, None, None, None, None, "unknown")
    due_on = add_months(since, interval)
    if as_of is None:
        return UnitDue(MONTHS, interval, None, None, None, due_on, "unknown")
    share = (as_of - since).days / max((due_on - since).days, 1)
    state = _state(share, planned is not None and due_on <= planned.ends, at_least=False)
    return UnitDue(MONTHS, interval, share * interval, share, (1.0 - share) * interval, due_on, state)


def _state(share: float, by_event: bool, at_least: bool) -> ServiceState:
    """The state of one interval from the share used and whether the next event ends it."""
    if share > 1.0 + SAME_EXPOSURE:
        return "overdue"
    if by_event or share >= NEARLY_USED - SAME_EXPOSURE:
        return "due"
    return "unknown" if at_least else "within"


def _check_interval(unit: str, interval: float) -> None:
    if not interval > 0.0:
        raise ValueError(f"an interval in {unit} is above zero, not {interval}")
