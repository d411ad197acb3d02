"""The season to come: planned events after a day, what they add together, the chance that is wanted."""

from datetime import date

from msgspec import Struct

from ..records.engine import PlanEvent
from ..records.load import EngineRecords
from ..wear.exposure import NOTHING, Exposure, total
from ..wear.service import Planned
from .amounts import amount_in, hours_in
from .told_season import PlannedEvent


class Season(Struct, frozen=True):
    """Events still to come, their sum, the next of them, and `keep`."""

    events: tuple[PlannedEvent, ...]
    exposure: Exposure
    planned: Planned | None
    keep: float | None

    def amount(self, unit: str) -> float:
        """What the whole plan adds; none where an event does not say: a part of the plan is no plan."""
        return 0.0 if self.exposure.is_bound(unit) else self.exposure.amount(unit)


def season_of(records: EngineRecords, as_of: date) -> Season:
    """What the plan still holds after a day. No plan: nothing to come."""
    if records.plan is None:
        return Season((), NOTHING, None, None)
    plan = records.plan
    events = tuple(
        PlannedEvent(
            event.date.day,
            event.name or f"Event of {event.date.day.isoformat()}",
            _exposure(event),
            plan.place("events", index),
        )
        for index, event in enumerate(plan.it.events or ())
        if event.date.day > as_of
    )
    events = tuple(sorted(events, key=lambda event: event.day))
    first = events[0] if events else None
    planned = (
        Planned(first.day, {u: first.exposure.amount(u) for u in ("hours", "km", "starts", "runs")}) if first else None
    )
    keep = float(plan.it.keep) if plan.it.keep is not None else None
    return Season(events, total(event.exposure for event in events), planned, keep)


def _exposure(event: PlanEvent) -> Exposure:
    """What an event adds; what nobody wrote of it is not none."""
    written = {"hours": event.hours or event.minutes, "km": event.km, "starts": event.starts}
    return Exposure(
        hours=hours_in(event.hours, event.minutes),
        km=amount_in(event.km, "km") or 0.0,
        starts=float(event.starts or 0),
        runs=float(event.runs if event.runs is not None else 1),
        unwritten=frozenset(unit for unit, amount in written.items() if amount is None),
    )
