"""What falls due within a season: dues and events in, what is due or over by each event, and what is not known, out.

Replacements count as certain limits, and nobody replaces a part within the plan: once its interval is over it stays so.
Services and inspections are taken as done before the event by whose end they fall due, and come round again from there.
"""

from collections.abc import Mapping, Sequence
from datetime import date

from msgspec import Struct

from ..wear.exposure import NOTHING, Exposure
from ..wear.service import MONTHS, add_months
from .dues import MOST_MONTHS
from .story import DueStory
from .told_season import PlannedEvent

HARDLY = 1e-9  # an interval is over beyond rounding


class FallsDue(Struct, frozen=True):
    """One due by event (a truth each): over by its end, and not known whether it is."""

    due: DueStory
    over: tuple[bool, ...]
    unsure: tuple[bool, ...]


class Cycle(Struct, frozen=True):
    """One round of an interval: what is left of it in each unit since it began, and the day that ends its months."""

    left: Mapping[str, float]
    began: Exposure
    day: date | None

    def is_over(self, run: Exposure, day: date) -> bool:
        """Whether it ends before a run and a day do."""
        ran = run - self.began
        counted = (ran.amount(unit) > left + HARDLY for unit, left in self.left.items() if unit != MONTHS)
        return (self.day is not None and self.day <= day) or any(counted)


def falls_due(
    due: DueStory, events: Sequence[PlannedEvent], runs: Sequence[Exposure], today: date, *, renewed: bool
) -> FallsDue:
    """When a due falls due, event by event; of a renewed part, reckoned from today."""
    cycle = _anew(due, NOTHING, today) if renewed else Cycle(due.left, NOTHING, due.due_on)
    over, unsure, asked = [], [], not due.every and not renewed  # what an incident asks for is due whatever is run
    before = NOTHING
    for event, run in zip(events, runs, strict=True):
        over.append(asked or cycle.is_over(run, event.day))
        unsure.append(not over[-1] and ((due.because is not None and not renewed) or _is_bound(due, run)))
        if over[-1] and due.what != "replace":
            cycle, asked = _anew(due, before, event.day), False
        before = run
    return FallsDue(due, tuple(over), tuple(unsure))


def _is_bound(due: DueStory, run: Exposure) -> bool:
    """Whether what is run is a lower bound in a unit that the rule counts in."""
    return any(run.is_bound(unit) for unit in due.every if unit != MONTHS)


def _anew(due: DueStory, began: Exposure, day: date) -> Cycle:
    """A whole round; none after an incident, whose demand is met."""
    months = due.every.get(MONTHS)
    far = months is None or day.year + MOST_MONTHS // 12 > date.max.year  # a year that is mistyped
    return Cycle(due.every, began, None if months is None or far else add_months(day, months))
