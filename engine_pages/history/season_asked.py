"""What if: another season, or the same with parts renewed. An engine and a question in, the season told out."""

import math
from datetime import date
from difflib import get_close_matches

from msgspec import Struct
from msgspec.structs import replace

from ..records.checks.checked import Checked
from ..records.slots import row_of
from ..records.source import nearest
from ..wear.exposure import Exposure, total
from .season import Question, season_story
from .story import EngineStory
from .tell import tell_one
from .told_season import PlannedEvent, SeasonStory


class SeasonError(Exception):
    """The question cannot be answered; the message says what is missing."""


class Asked(Struct, frozen=True):
    """How many events, how much exposure each in the family's unit, and parts renewed, by serial or by place.

    What is None is as planned: the plan's events, its exposures, or its mean exposure for events that it does not have.
    """

    events: int | None = None
    each: float | None = None
    renewed: frozenset[str] = frozenset()


def ask_season(checked: Checked, engine: str, asked: Asked, day: date | None = None) -> SeasonStory:
    """The season of one engine as asked. SeasonError where there is no event, or no such part in the engine."""
    if asked.each is not None and not (math.isfinite(asked.each) and asked.each >= 0.0):
        raise SeasonError(f"an event cannot ask for {asked.each:g}; give a number from zero up")
    story, pools = tell_one(checked, engine, day)
    question = Question(
        events=_events(story, asked),
        today=story.as_of,
        keep=story.keep,
        unit=story.exposure_unit,
        renewed=_parts_named(story, asked.renewed, _assemblies(checked, engine)),
        undated=asked.events is not None,
        reached=story.reached,
    )
    found = season_story(question, story.parts, story.fits, story.due, pools)
    if found is None:
        plan = f"engines/{engine}/plan.yml"
        raise SeasonError(f"{engine} has no event to come: write {plan}, or give --events and --hours-each")
    return found


def _events(story: EngineStory, asked: Asked) -> tuple[PlannedEvent, ...]:
    """The events asked for; they have no day of their own, so that intervals in months do not end by them."""
    if asked.events is None:
        return tuple(replace(event, exposure=_each(story, asked, event.exposure)) for event in story.plan)
    if asked.each is None and not story.plan:
        raise SeasonError(f"{story.id} has no plan to take an event's exposure from; give --hours-each")
    mean = _mean(story)
    return tuple(
        PlannedEvent(story.as_of, f"Event {n}", _each(story, asked, mean), None) for n in range(1, asked.events + 1)
    )


def _each(story: EngineStory, asked: Asked, planned: Exposure) -> Exposure:
    return planned if asked.each is None else planned.with_amount(story.exposure_unit, asked.each)


def _mean(story: EngineStory) -> Exposure:
    """The plan's mean event, as one run."""
    if not story.plan:
        return Exposure(runs=1.0, unwritten=frozenset(("hours", "km", "starts")))
    whole, n = total(event.exposure for event in story.plan), len(story.plan)
    mean = (whole.hours / n, whole.km / n, whole.starts / n, whole.runs / n)
    return Exposure(*mean, unwritten=whole.unwritten)


def _assemblies(checked: Checked, engine: str) -> frozenset[str]:
    """The kinds that are no part but the engine as it is put together."""
    family = checked.shop.family_of(engine)
    return frozenset(kind for kind, it in (family.kinds if family else {}).items() if it.whole is True)


def _parts_named(story: EngineStory, named: frozenset[str], whole: frozenset[str]) -> frozenset[str]:
    """The parts meant, by their own names, by the places where they stand, or by a set of places."""
    meant: dict[str, set[str]] = {}
    for part in story.parts:
        for name in (part.id, part.slot, part.slot.split("/")[0]):
            meant.setdefault(name, set()).add(part.id)
    out: set[str] = set()
    for name in sorted(named):
        if name not in meant:
            known = {part.id: part.kind for part in story.parts}
            allowed = sorted(one for one, ids in meant.items() if not any(known[id] in whole for id in ids))
            raise SeasonError(f"{name} is no part and no place of {story.id}; {nearest(name, _of_row(name, allowed))}")
        out |= meant[name]
    return frozenset(out)


def _of_row(name: str, allowed: list[str]) -> list[str]:
    """The names that end in the same number, where one of them is near; else all that are allowed."""
    row = row_of(name)
    same = [one for one in allowed if row is not None and row_of(one) == row]
    return same if get_close_matches(name, same, n=1) else allowed
