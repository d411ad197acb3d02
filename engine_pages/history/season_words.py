"""A season in words: what to do before it is over, and the whole answer as text for a terminal."""

from collections.abc import Iterator, Sequence

from .story import DueStory, PartStory
from .told_season import CHANGED_HANDS, LeftOut, NextReading, SeasonEvent, SeasonStory, Why, worst_first

CANNOT_TELL = "Cannot tell whether it lasts"
OPEN_IT = "Open it"  # so begins the advice for one that lasts some of the plan
UNITS = {"hours": "h"}
MOST_NAMED = 3  # places or sets in one sentence of advice
WHY: dict[Why, str] = {
    "never measured": "never measured",
    "no rate yet": "no rate of wear yet",
    "start unknown": "renewed, and the family gives no new range to start from",
    "runs in": "renewed, and its kind wears at another rate in its first hours",
    "fit changed": "clearances of parts renewed or going out, not to be worked out",
    "going out": "decided to go out",
}
INDEPENDENT = (
    "Kinds of part, and the dimensions of one part, are taken as independent of each other; the outer range holds "
    "however they depend."
)

Sets = Sequence[tuple[str, tuple[str, ...]]]


def advice_of(season: SeasonStory) -> str:
    """The last event that may be run with the chance that is wanted, what ends it there, and what is not known."""
    said = [*_verdict(season)]
    # that an event does not say how far it goes is said by then: of an interval it would be the same again
    unsure = [due for due in season.unsure if season.silent is None or due.because is not None]
    open_dues = in_sets([_place(due) for due in unsure], season.sets)
    if open_dues:
        said.append(f"Not known whether an interval of replacement is over: {_few(open_dues)}.")
    changed = [name for name, _ in grouped(season.out(*CHANGED_HANDS), season.sets)]
    if changed:
        said.append(f"Not in the figure, and may stop it: {_few(list(dict.fromkeys(changed)))}.")
    return " ".join(said)


def _verdict(season: SeasonStory) -> Iterator[str]:
    events, last = season.events, season.events[-1]
    end = f"after {last.event.name} the chance is {percent(last.chance)}."
    if any(event.chance is None for event in events):
        silent = f"no {season.unit} are written for {season.silent}"
        yield f"{CANNOT_TELL}: {silent if season.silent else 'nothing with a limit shows a rate of wear yet'}."
        yield from (_certain(event, season.sets) for event in [one for one in events if one.stops][:1])
        return
    keep = season.keep
    short = next((n for n, one in enumerate(events) if keep is not None and not _reaches(one, keep)), None)
    if keep is None:
        yield f"The chance of staying inside every limit to the end of {last.event.name} is {percent(last.chance)}."
    elif short is not None:
        yield from _short(season, short, keep)
    elif season.is_sure:
        yield f"It may run the whole plan: {end}"
    else:
        yield f"By what is in the figure it lasts the plan: {end}"


def _reaches(event: SeasonEvent, keep: float) -> bool:
    return event.chance is not None and event.chance >= keep


def _short(season: SeasonStory, n: int, keep: float) -> Iterator[str]:
    """What to do before the event that is too much, and why. An engine that is apart needs no opening."""
    event = season.events[n]
    worst = worst_first(season.stands, n)[0]
    chance = f"after {event.event.name} the chance is {percent(event.chance)}, and {percent(keep)} is wanted."
    if n > 0:
        yield f"{OPEN_IT} after {season.events[n - 1].event.name}: {chance}"
    elif season.apart:
        names = in_sets([_place(due) for due in event.stops], season.sets) or [worst.name]
        what = "Replace" if event.stops else "Put right" if worst.part is None else "Replace or rework"
        yield f"{what} {_few(names, ' and ')} before it goes together: as it is, {chance}"
    else:
        yield f"{OPEN_IT} before {event.event.name}: {chance}"
    if event.stops:
        yield _certain(event, season.sets)
    else:
        what = f"{worst.name}, {worst.dimension.lower()}" if worst.dimension else worst.name
        yield f"Least sure until then is {_in_sentence(what)}: {percent(worst.chances[n])}."


def _certain(event: SeasonEvent, sets: Sets) -> str:
    """The intervals that end by an event."""
    names = in_sets([_place(due) for due in event.stops], sets)
    return f"By interval, to be replaced before the end of {event.event.name}: {_few(names)}."


def _place(due: DueStory) -> str:
    return due.slot_name or due.name


def _few(names: Sequence[str], between: str = "; ") -> str:
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f"{between.join(_in_sentence(name) for name in names[:MOST_NAMED])}{more}"


def _in_sentence(name: str) -> str:
    return f"{name[0].lower()}{name[1:]}"


def percent(chance: float | None) -> str:
    """A chance as it may be said: never quite none, never quite certain."""
    if chance is None:
        return "not known"
    if chance >= 0.995:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{chance:.0%}".replace("%", " %")


def sets_of(parts: Sequence[PartStory]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The names of the places in each set, by the set's own."""
    sets: dict[str, list[str]] = {}
    for part in parts:
        member = part.slot.partition("/")[2]
        if member:
            sets.setdefault(part.slot_name.removesuffix(f", {member}"), []).append(part.slot_name)
    return tuple((name, tuple(members)) for name, members in sets.items())


def in_sets(names: Sequence[str], sets: Sets) -> list[str]:
    """Places with those of a set together, each once, in the order of the first.

    >>> in_sets(["Seals 1, a1", "Pump", "Seals 1, a2", "Seals 2, a1"], [("Seals 1", ("Seals 1, a1", "Seals 1, a2"))])
    ['Seals 1, all 2', 'Pump', 'Seals 2, a1']
    """
    of = {member: (name, members) for name, members in sets for member in members}
    out: dict[str, None] = {}
    for name in names:
        of_set, members = of.get(name, (name, (name,)))
        here = [one.removeprefix(f"{of_set}, ") for one in members if one in names]
        if len(here) == 1:
            out[name] = None
        elif len(here) == len(members):
            out[f"{of_set}, all {len(members)}"] = None
        else:
            out[f"{of_set}, {', '.join(here[:-1])} and {here[-1]}"] = None
    return list(out)


def grouped(left: Sequence[LeftOut], sets: Sets) -> list[tuple[str, str]]:
    """Places with what of them is left out, members of a set with the same together: `Seals 1, all 3` and `bow`."""
    of: dict[str, list[str]] = {}
    for one in left:
        of.setdefault(one.name, []).extend([one.dimension.lower()] if one.dimension else [])
    alike: dict[str, list[str]] = {}
    for name, dimensions in of.items():
        alike.setdefault(", ".join(dimensions), []).append(name)
    return [(name, dimensions) for dimensions, names in alike.items() for name in in_sets(names, sets)]


def left_out_words(season: SeasonStory) -> list[tuple[str, list[tuple[str, str]]]]:
    """Why something is not in the figure, and what: places and their dimensions."""
    told = [(words, grouped(season.out(why), season.sets)) for why, words in WHY.items()]
    return [(words, places) for words, places in told if places]


def notes_of(season: SeasonStory) -> list[str]:
    """What the figure does not say: months without days, lives that ended before."""
    said = []
    if season.undated:
        said.append("Intervals in months are not reckoned: these events have no day.")
    unit = UNITS.get(season.unit, season.unit)
    lives = [
        f"{_in_sentence(one.kind_name)}, nine of ten reach {one.reached:.1f} {unit} and one here will have run "
        f"{one.runs:.1f} {unit}"
        for one in season.outlived
    ]
    if lives:
        said.append(f"Kinds that failed before, at lives that the plan reaches: {'; '.join(lives)}.")
        said.append("The chance is of staying inside limits alone.")
    return said


def season_text(engine: str, season: SeasonStory) -> str:
    """The season as a table and a few lines."""
    unit = UNITS.get(season.unit, season.unit)
    renewed = f", with {', '.join(season.renewed)} renewed" if season.renewed else ""
    count = f"{len(season.events)} event{'' if len(season.events) == 1 else 's'}"
    whole = season.events[-1].run
    asks = f"{season.unit} not known" if whole is None else f"{whole:.1f} {unit}"
    head = f"{engine}: {count}, {asks}{renewed}"
    rows = [("event", "run by then", "chance", "outer range", "due before its end")]
    rows += [_row(event, unit, season.sets) for event in season.events]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    table = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    return "\n".join([head, "", *table, "", season.advice, *_notes(season)])


def _row(event: SeasonEvent, unit: str, sets: Sets) -> tuple[str, str, str, str, str]:
    ends = "" if event.outer_low is None else f"{percent(event.outer_low)} to {percent(event.outer_high)}"
    run = "not known" if event.run is None else f"{event.run:.1f} {unit}"
    due = [*services_by(event, sets), *replacements_by(event, sets)]
    return event.event.name, run, percent(event.chance), ends, "; ".join(due)


def services_by(event: SeasonEvent, sets: Sets) -> list[str]:
    """What is to be done before an event ends, places of a set together: `Oil`, `over: Filter`, `inspect: Rotor 1`."""
    over = [f"over: {name}" for name in _named(event.overdue, sets)]
    return [*over, *_named([due for due in event.due if due not in event.overdue], sets)]


def replacements_by(event: SeasonEvent, sets: Sets) -> list[str]:
    """Which intervals of replacement are over by an event, or may be: `to be replaced: Seals 1, all 3`."""
    stops = [f"to be replaced: {name}" for name in in_sets([_place(due) for due in event.stops], sets)]
    unsure = [f"not known whether to be replaced: {n}" for n in in_sets([_place(d) for d in event.unsure], sets)]
    return [*stops, *unsure]


def _named(dues: Sequence[DueStory], sets: Sets) -> list[str]:
    """Services by name, what is asked of parts by place: `Oil`, `inspect: Rotor 1`."""
    services = [due.name for due in dues if due.slot_name is None]
    places = in_sets([due.slot_name for due in dues if due.slot_name is not None], sets)
    return [*services, *(f"inspect: {name}" for name in places)]


def _notes(season: SeasonStory) -> list[str]:
    """What to measure next, and what is not in the figure."""
    said = notes_of(season)
    if season.measure_next:
        when = "" if season.apart else ", at the next strip"
        said.append(f"Measure next{when}: {'; '.join(_reading(one) for one in season.measure_next)}.")
    for words, places in left_out_words(season):
        told = "; ".join(f"{name}: {dimensions}" if dimensions else name for name, dimensions in places)
        said.append(f"Not in the figure, {words}: {told}.")
    said.append(INDEPENDENT)
    return said


def _reading(one: NextReading) -> str:
    return f"{_in_sentence(one.slot_name)} ({one.part}), {one.dimension.lower()}"
