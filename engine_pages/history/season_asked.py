"""What if: another season, or the same with parts renewed. An engine and a question in, the season told out."""

from dataclasses import dataclass, replace
from datetime import date

from ..records.checks.checked import Checked
from ..records.source import nearest
from ..wear.exposure import Exposure, total
from .season import Question, season_story
from .story import EngineStory
from .tell import tell_one
from .told_season import PlannedEvent, SeasonStory


class SeasonError(Exception):
    """The question cannot be answered; the message says what is missing."""


@dataclass(frozen=True, slots=True)
class Asked:
    """How many events, how much exposure each in the family's unit, and parts renewed, by serial or by place.

    What is None is as planned: the plan's events, its exposures, or its mean exposure for events that it does not have.
    """

    events: int | None = None
    each: float | None = None
    renewed: frozenset[str] = frozenset()


def ask_season(checked: Checked, engine: str, asked: Asked, day: date | None = None) -> SeasonStory:
    """The season of one engine as asked. SeasonError where there is no event, or no such part in the engine."""
    story, pools = tell_one(checked, engine, day)
    events = _events(story, asked)
    question = Question(events, story.keep, story.exposure_unit, _parts_named(story, asked.renewed))
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


def _parts_named(story: EngineStory, named: frozenset[str]) -> frozenset[str]:
    """The parts meant, by their own names or by the places where they stand."""
    by_place = {part.slot: part.id for part in story.parts}
    known = {part.id for part in story.parts}
    out = set()
    for name in sorted(named):
        part = name if name in known else by_place.get(name)
        if part is None:
            raise SeasonError(f"{name} is no part and no place of {story.id}; {nearest(name, [*known, *by_place])}")
        out.add(part)
    return frozenset(out)
