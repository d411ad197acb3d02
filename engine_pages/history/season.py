"""Does it last the season: parts, fits and dues of an engine, the plan's events and the pools in, the season told out.

Limits of wear have chances; intervals after which a part is replaced count as certain. For a question of what if, parts
may be taken as renewed: they start from their kind's new range with their intervals run anew.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import accumulate, chain

import numpy as np

from ..records.sheet import GOES_OUT
from ..wear.exposure import Exposure
from ..wear.mixture import Array
from ..wear.next_reading import doubt_settled
from ..wear.pool.line import PartLine
from ..wear.pool.numbers import PoolPart
from ..wear.season import Stake, combined, joint_chances
from .pools import Pool, Pools, common_of
from .season_words import advice_of
from .story import DimensionStory, DueStory, FitStory, PartStory
from .told_season import NextReading, PlannedEvent, SeasonEvent, SeasonStory, Stands

MOST_READINGS = 3  # to take next
WORTH_A_READING = 0.005  # of the doubt p (1 − p), which is a quarter at most
AS_GOOD_AS_CERTAIN = 1e-7  # so little is missing from certainty that a product does not show it
HARDLY = 1e-9  # an interval is over beyond rounding


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: the events, the chance that is wanted, the family's unit, and parts to be taken as renewed."""

    events: tuple[PlannedEvent, ...]
    keep: float | None
    unit: str
    renewed: frozenset[str] = frozenset()


@dataclass(slots=True)
class _Figures:
    """The stakes of each pool, with what is told of them; and who is left out."""

    stakes: dict[tuple[str, ...], list[tuple[Stake, PoolPart, Array]]] = field(default_factory=dict)
    stands: list[Stands] = field(default_factory=list)
    readings: list[tuple[NextReading, float]] = field(default_factory=list)
    not_measured: list[str] = field(default_factory=list)
    no_rate: list[str] = field(default_factory=list)
    going_out: list[str] = field(default_factory=list)


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
    found = _figures(question, parts, fits, pools, [run.amount(question.unit) for run in runs])
    silent = next((event for event in question.events if event.exposure.is_bound(question.unit)), None)
    chances = _chances(found, pools) if silent is None else None
    events = tuple(_events(question, runs, dues, chances))
    lasts = _lasts(events, question.keep)
    stands = tuple(sorted(found.stands, key=lambda one: (one.chances[-1], one.name, one.dimension_id)))
    return SeasonStory(
        events=events,
        keep=question.keep,
        unit=question.unit,
        lasts=lasts,
        stands=stands,
        not_measured=tuple(found.not_measured),
        no_rate=tuple(found.no_rate),
        going_out=tuple(found.going_out),
        measure_next=_measure_next(found) if silent is None else (),
        renewed=tuple(sorted(question.renewed)),
        advice=advice_of(events, question.keep, lasts, stands)
        if silent is None
        else f"Cannot tell whether it lasts: no {question.unit} are written for {silent.name}.",
    )


def _figures(
    question: Question, parts: Sequence[PartStory], fits: Sequence[FitStory], pools: Pools, runs: Sequence[float]
) -> _Figures:
    out = _Figures()
    gone = {part.id for part in parts if part.decision in GOES_OUT} - question.renewed
    for part in parts:
        if part.id in gone:
            out.going_out.append(part.slot_name)
            continue
        renewed = part.id in question.renewed
        limited = [one for one in part.dimensions if one.limit is not None]
        if limited and not renewed and all(one.state == "not measured" for one in limited):
            out.not_measured.append(part.slot_name)
        for dimension in limited:
            name = part.slot_name
            _take(out, pools, dimension, (part.id, name), runs, renewed=renewed)
    for fit in fits:
        if fit.dimension.limit is not None and not (gone | question.renewed).intersection(fit.parts):
            _take(out, pools, fit.dimension, (None, fit.name), runs, renewed=False)
    return out


def _take(
    out: _Figures, pools: Pools, dimension: DimensionStory, of: tuple[str | None, str], runs: Sequence[float],
    *, renewed: bool,
) -> None:  # fmt: skip
    """One dimension's stake in the season, or why it has none."""
    wear, limit, (part, name) = dimension.wear, dimension.limit, of
    pool = pools.get(wear.pool) if wear.pool is not None else None
    line = pool.new_line if renewed and pool is not None else wear.line
    if pool is None or line is None or limit is None:
        if dimension.wears != "none" and dimension.state != "not measured":
            out.no_rate.append(f"{name}, {dimension.name.lower()}")
        return
    now = 0.0 if renewed else dimension.now or 0.0
    at = tuple(now + run for run in runs)
    if part is not None and not renewed:
        _weigh_reading(out, dimension, line, (part, name), now, at[-1])
    if line.n == 0 and not renewed:  # never measured: out of the figure
        return
    member = pool.new_part if renewed else pool.part(wear)
    chances = tuple(line.chance_inside(limit, x) for x in at)
    out.stakes.setdefault(pool.key, []).append((Stake(member.id, limit, at), member, np.array(chances)))
    out.stands.append(Stands(part, name, dimension.name, dimension.id, chances))


def _weigh_reading(
    out: _Figures, dimension: DimensionStory, line: PartLine, of: tuple[str, str], now: float, end: float
) -> None:
    limit, last = dimension.limit, dimension.last
    if limit is None:
        return
    u = last.u if last is not None and last.u is not None else 0.0
    settled = doubt_settled(line, limit, now, end, u)
    chance = line.chance_inside(limit, end)
    out.readings.append((NextReading(*of, dimension.name, chance, settled, line.n == 0), settled))


def _chances(found: _Figures, pools: Pools) -> tuple[Array, Array, Array] | None:
    """The chance after each event and its outer range."""
    if not found.stakes:
        return None
    joint = [_together(pools.get(key), stakes) for key, stakes in found.stakes.items()]
    chances = combined(joint, [np.array(one.chances) for one in found.stands])
    return chances.together, chances.outer_low, chances.outer_high


def _together(pool: Pool, stakes: Sequence[tuple[Stake, PoolPart, Array]]) -> Array:
    """The chance of all of one pool's stakes; those that are as good as certain change nothing."""
    doubtful = [one for one in stakes if one[2].min() < 1.0 - AS_GOOD_AS_CERTAIN]
    if len(doubtful) < 2:  # one line shares with nobody
        return doubtful[0][2] if doubtful else np.ones(len(stakes[0][2]))
    assert pool.fit is not None  # it gave the lines
    parts = {part.id: part for part in (*pool.fit.parts, *(part for _, part, _ in doubtful))}
    asked = [stake for stake, _, _ in doubtful]
    return joint_chances(pool.fit.fit.summary, list(parts.values()), asked, common_of(pool.fit.parts))


def _events(
    question: Question, runs: Sequence[Exposure], dues: Sequence[DueStory], chances: tuple[Array, Array, Array] | None
) -> Iterator[SeasonEvent]:
    settled: set[int] = set()
    for n, (event, run) in enumerate(zip(question.events, runs, strict=True)):
        over = [due for due in dues if _is_over(due, run, event, anew=due.part in question.renewed)]
        stops = tuple(due for due in over if due.what == "replace")
        first = tuple(due for due in over if due.what != "replace" and id(due) not in settled)
        settled.update(id(due) for due in first)
        together, low, high = (None, None, None) if chances is None else (float(one[n]) for one in chances)
        if stops and together is not None:
            together = low = high = 0.0
        yield SeasonEvent(event, run.amount(question.unit), together, low, high, first, stops)


def _is_over(due: DueStory, run: Exposure, event: PlannedEvent, *, anew: bool) -> bool:
    """Whether an interval ends before the event does; of a renewed part, reckoned from now."""
    if not anew and due.due_on is not None and due.due_on <= event.day:
        return True
    for unit, left in due.left.items():
        if unit != "months" and run.amount(unit) > left + (due.since.get(unit, 0.0) if anew else 0.0) + HARDLY:
            return True
    return False


def _lasts(events: Sequence[SeasonEvent], keep: float | None) -> int | None:
    """How many events may be run one after the other with at least the chance that is wanted."""
    if keep is None or any(event.chance is None for event in events):
        return None
    return next((n for n, event in enumerate(events) if (event.chance or 0.0) < keep), len(events))


def _measure_next(found: _Figures) -> tuple[NextReading, ...]:
    """The readings that would settle most of the doubt: each weighed by the chance that no other part stops it."""
    ends = [one.chances[-1] for one in found.stands]

    def weight(reading: NextReading, settled: float) -> float:
        others = list(chain(ends))
        if not reading.never_read and reading.chance in others:
            others.remove(reading.chance)
        return settled * float(np.prod(others)) if others else settled

    worth = [(weight(*one), *one) for one in found.readings if one[1] > WORTH_A_READING]
    if not any(weighed > HARDLY for weighed, _, _ in worth):  # something else stops it whatever is read
        worth = [(settled, reading, settled) for _, reading, settled in worth]
    worth.sort(key=lambda one: (-one[0], one[1].slot_name, one[1].dimension))
    return tuple(reading for _, reading, _ in worth[:MOST_READINGS])
