"""Does it last the season: parts, fits and dues of an engine, the plan's events and the pools in, the season told out.

Limits of wear have chances; intervals after which a part is replaced count as certain. For a question of what if, parts
may be taken as renewed: they start from their kind's new range with their intervals run anew.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import accumulate, chain

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from ..records.sheet import GOES_OUT
from ..wear.exposure import Exposure
from ..wear.mixture import Array
from ..wear.season import combined, joint_chances
from ..wear.service import MONTHS
from .pool import Pool
from .pools import Pools
from .season_dues import HARDLY, FallsDue, falls_due
from .season_stakes import Figures, Pooled, figures_of
from .season_words import advice_of, sets_of
from .story import DueStory, FitStory, PartStory
from .told_season import (
    DIGITS,
    NextReading,
    Outlived,
    PlannedEvent,
    SeasonEvent,
    SeasonStory,
    worst_first,
)

MOST_READINGS = 3  # to take next
WORTH_A_READING = 0.005  # of the doubt p (1 − p), which is a quarter at most
AS_GOOD_AS_CERTAIN = 10.0**-DIGITS  # so little is missing from certainty that a product does not show it


class Question(Struct, frozen=True):
    """What is asked: the events from a day on, the chance that is wanted, the family's unit, and what is renewed.

    `undated` events have no day of their own. `reached`: the exposure that nine of ten parts of a kind reach, by kind,
    where enough of it failed to tell.
    """

    events: tuple[PlannedEvent, ...]
    today: date
    keep: float | None
    unit: str
    renewed: frozenset[str] = frozenset()
    undated: bool = False
    reached: Mapping[str, float] = field(default_factory=dict)


def season_story(
    question: Question,
    parts: Sequence[PartStory],
    fits: Sequence[FitStory],
    dues: Sequence[DueStory],
    pools: Pools,
) -> SeasonStory | None:
    """The season of one engine; None without an event to come."""
    if not question.events:
        return None
    runs = list(accumulate((event.exposure for event in question.events), Exposure.__add__))
    amounts = [run.amount(question.unit) for run in runs]
    found = figures_of(parts, fits, pools, amounts, question.renewed)
    silent = next((event.name for event in question.events if event.exposure.is_bound(question.unit)), None)
    fall = [falls_due(due, question.events, runs, question.today, renewed=due.part in question.renewed) for due in dues]
    events = tuple(_events(question, runs, fall, _chances(found, pools) if silent is None else None))
    told = SeasonStory(
        events=events,
        keep=question.keep,
        unit=question.unit,
        lasts=_lasts(events, question.keep),
        stands=tuple(worst_first(found.stands, -1)),
        left_out=tuple(found.left_out),
        measure_next=_measure_next(found) if silent is None else (),
        renewed=tuple(sorted(question.renewed)),
        apart=bool(parts) and not any(part.fitted_now for part in parts),
        sets=sets_of(parts),
        silent=silent,
        undated=question.undated and any(MONTHS in due.every for due in dues),
        outlived=tuple(_outlived(question, parts, amounts[-1])) if silent is None else (),
    )
    if told.lasts == len(events) and not told.is_sure:
        told = replace(told, lasts=None)  # what stands against the whole plan is not in the figure
    return replace(told, advice=advice_of(told))


def _outlived(question: Question, parts: Sequence[PartStory], run: float) -> Iterator[Outlived]:
    """Kinds of which one in ten fails before the life that their parts will have at the end of the plan."""
    for kind, reached in question.reached.items():
        mine = [p for p in parts if p.kind == kind and (p.decision not in GOES_OUT or p.id in question.renewed)]
        lives = [0.0 if one.id in question.renewed else one.since_new.amount(question.unit) for one in mine]
        if mine and max(lives) + run > reached:
            yield Outlived(mine[0].kind_name, reached, max(lives) + run)


def _chances(found: Figures, pools: Pools) -> tuple[Array, Array, Array] | None:
    """The chance after each event and its outer range."""
    if not found.stands:
        return None
    joint = [_together(pools.get(key), pooled) for key, pooled in found.pooled.items()]
    chances = combined([*joint, *found.alone], [np.array(one.chances) for one in found.stands])
    return chances.together, chances.outer_low, chances.outer_high


def _together(pool: Pool, pooled: Sequence[Pooled]) -> Array:
    """The chance of all of one pool's stakes; those that are as good as certain change nothing."""
    doubtful = [one for one in pooled if one.chances.min() < 1.0 - AS_GOOD_AS_CERTAIN]
    if len(doubtful) < 2:  # one line shares with nobody
        return doubtful[0].chances if doubtful else np.ones(len(pooled[0].chances))
    assert pool.fit is not None  # it gave the lines
    members = [one.member for one in doubtful]
    parts = {part.id: part for part in (*pool.tied(members), *members)}
    asked = [one.stake for one in doubtful]
    return joint_chances(pool.fit.fit.summary, list(parts.values()), asked, pool.common)


def _events(
    question: Question, runs: Sequence[Exposure], fall: Sequence[FallsDue], chances: tuple[Array, Array, Array] | None
) -> Iterator[SeasonEvent]:
    for n, (event, run) in enumerate(zip(question.events, runs, strict=True)):
        over = [one.due for one in fall if one.over[n]]
        stops = tuple(due for due in over if due.what == "replace")
        due = tuple(due for due in over if due.what != "replace")
        first = [one.due for one in fall if one.due.what == "replace" and one.unsure[n] and not any(one.unsure[:n])]
        together, low, high = (None, None, None) if chances is None else (float(one[n]) for one in chances)
        if stops and together is not None:
            together = low = high = 0.0
        yield SeasonEvent(
            event=event,
            run=None if run.is_bound(question.unit) else run.amount(question.unit),
            chance=together,
            outer_low=low,
            outer_high=high,
            due=due,
            stops=stops,
            overdue=tuple(one for one in due if n == 0 and one.state == "overdue"),
            unsure=tuple(first),
        )


def _lasts(events: Sequence[SeasonEvent], keep: float | None) -> int | None:
    """How many events may be run one after the other with at least the chance that is wanted."""
    chances = [event.chance for event in events if event.chance is not None]
    if keep is None or len(chances) < len(events):
        return None
    return next((n for n, chance in enumerate(chances) if not chance >= keep), len(events))


def _measure_next(found: Figures) -> tuple[NextReading, ...]:
    """The readings that would settle most of the doubt: each weighed by the chance that no other part stops it."""
    ends = [one.chances[-1] for one in found.stands]

    def weight(reading: NextReading, settled: float) -> float:
        others = list(chain(ends))
        if reading.chance in others:
            others.remove(reading.chance)
        return settled * float(np.prod(others)) if others else settled

    worth = [(weight(*one), *one) for one in found.readings if one[1] > WORTH_A_READING]
    if not any(weighed > HARDLY for weighed, _, _ in worth):  # something else stops it whatever is read
        worth = [(settled, reading, settled) for _, reading, settled in worth]
    worth.sort(key=lambda one: (-round(one[0], DIGITS), one[1].slot_name, one[1].dimension))
    return tuple(reading for _, reading, _ in worth[:MOST_READINGS])
