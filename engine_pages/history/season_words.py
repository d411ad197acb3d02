"""A season in words: what to do before it is over, and the whole answer as text for a terminal."""

from collections.abc import Sequence

from .told_season import SeasonEvent, SeasonStory, Stands

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


def season_text(engine: str, season: SeasonStory) -> str:
    """The season as a table and a few lines."""
    unit = UNITS.get(season.unit, season.unit)
    renewed = f", with {', '.join(season.renewed)} renewed" if season.renewed else ""
    head = f"{engine}: {len(season.events)} events, {season.events[-1].run:.1f} {unit}{renewed}"
    rows = [("event", "run by then", "chance", "outer range", "due before its end")]
    rows += [_row(event, unit) for event in season.events]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    table = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    return "\n".join([head, "", *table, "", season.advice, *_notes(season)])


UNITS = {"hours": "h"}


def _row(event: SeasonEvent, unit: str) -> tuple[str, str, str, str, str]:
    ends = "" if event.outer_low is None else f"{_percent(event.outer_low)} to {_percent(event.outer_high)}"
    due = [due.name for due in event.due] + [f"over: {due.name}" for due in event.stops]
    return event.event.name, f"{event.run:.1f} {unit}", _percent(event.chance), ends, "; ".join(due)


def _notes(season: SeasonStory) -> list[str]:
    """What to measure next, and who is not in the figure."""
    said = []
    if season.measure_next:
        named = [f"{one.slot_name.lower()} ({one.part}), {one.dimension.lower()}" for one in season.measure_next]
        said.append(f"Measure next: {'; '.join(named)}.")
    for words, names in (
        ("Never measured", season.not_measured),
        ("No rate of wear yet", season.no_rate),
        ("Decided to go out", season.going_out),
    ):
        if names:
            said.append(f"{words}, and not in the figure: {', '.join(names)}.")
    said.append("Kinds of part are taken as independent of each other; the outer range holds however they depend.")
    return said
