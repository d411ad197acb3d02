"""What to do before the season is over, in a sentence or two: events with their chances in, advice out."""

from collections.abc import Sequence

from .told_season import SeasonEvent, Stands

CANNOT_TELL = "Cannot tell whether it lasts: nothing with a limit shows a rate of wear yet."


def advice_of(events: Sequence[SeasonEvent], keep: float | None, lasts: int | None, stands: Sequence[Stands]) -> str:
    """The last event that may be run with the chance that is wanted, and what ends it there."""
    if any(event.chance is None for event in events):
        stops = next((event for event in events if event.stops), None)
        return CANNOT_TELL if stops is None else f"{CANNOT_TELL} {_certain(stops)}"
    last = events[-1]
    if keep is None or lasts is None:
        return f"The chance of staying inside every limit to the end of {last.event.name} is {_percent(last.chance)}."
    if lasts == len(events):
        return f"It may run the whole plan: after {last.event.name} the chance is {_percent(last.chance)}."
    short = events[lasts]
    why = _certain(short) if short.stops else _first(stands, lasts)
    chance = f"after {short.event.name} the chance is {_percent(short.chance)}, and {_percent(keep)} is wanted"
    if lasts == 0:
        return f"Open it before {short.event.name}: {chance}. {why}"
    return f"Open it after {events[lasts - 1].event.name}: {chance}. {why}"


def _first(stands: Sequence[Stands], event: int) -> str:
    """What is least likely to be inside its limit after an event."""
    worst = min(stands, key=lambda one: one.chances[event])
    name = f"{worst.name[0].lower()}{worst.name[1:]}, {worst.dimension.lower()}"
    return f"Least sure is {name}: {_percent(worst.chances[event])}."


def _certain(event: SeasonEvent) -> str:
    due = event.stops[0]
    name = (due.slot_name or due.name).lower()
    more = f" and {len(event.stops) - 1} more" if len(event.stops) > 1 else ""
    return f"By its interval {name}{more} is to be replaced before the end of {event.event.name}."


def _percent(chance: float | None) -> str:
    """A chance as it may be said: never quite none, never quite certain."""
    if chance is None:
        return "not known"
    if chance >= 0.995:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{chance:.0%}".replace("%", " %")
