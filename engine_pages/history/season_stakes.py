"""What a season rests on: parts, fits, pools and the exposures after each event in, the lines at stake and what is out.

A part's dimension or a fit is at stake where it has a limit and a line of its own. A part taken as renewed starts from
its kind's new range, and its clearances are worked out anew from the lines of both sides.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct, field

from ..records.sheet import GOES_OUT
from ..wear.limits import Limit
from ..wear.mixture import Array
from ..wear.next_reading import doubt_settled
from ..wear.pool.line import PartLine, chance_between
from ..wear.pool.numbers import PoolPart
from ..wear.season import Stake
from .pool import Pool
from .pools import Pools
from .story import DimensionStory, FitStory, PartStory
from .told_season import LeftOut, NextReading, Stands, Why

Of = tuple[str | None, str, str]  # the part, its place (or the fit's name), the dimension's name
Runs = Sequence[float]  # exposures from now to the end of each event, in the family's unit


class Pooled(Struct, frozen=True):
    """A stake in its pool, the member that it stands on, and its own chances."""

    stake: Stake
    member: PoolPart
    chances: Array


class Figures(Struct):
    """The stakes of each pool, the chances of what is of no pool, what is told of both; and what is left out."""

    pooled: dict[tuple[str, ...], list[Pooled]] = field(default_factory=dict)
    alone: list[Array] = field(default_factory=list)
    stands: list[Stands] = field(default_factory=list)
    readings: list[tuple[NextReading, float]] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)


class Fresh(Struct, frozen=True):
    """A renewed part's dimension: the member that it would be, and its line."""

    pool: Pool
    member: PoolPart
    line: PartLine


def figures_of(
    parts: Sequence[PartStory], fits: Sequence[FitStory], pools: Pools, runs: Runs, renewed: frozenset[str]
) -> Figures:
    """Everything with a limit: at stake, or left out with a reason."""
    out = Figures()
    gone = frozenset(part.id for part in parts if part.decision in GOES_OUT) - renewed
    for part in parts:
        if part.id in gone:
            out.left_out.append(LeftOut("going out", part.id, part.slot_name, "", ""))
            continue
        for one in part.dimensions:
            if part.id in renewed:
                _renewed(out, pools, part, one, runs)
            else:
                _as_it_is(out, pools, (part.id, part.slot_name, one.name), one, runs)
    by_id = {part.id: part for part in parts}
    for fit in fits:
        if (gone | renewed).isdisjoint(fit.parts):
            _as_it_is(out, pools, (None, fit.title, ""), fit.dimension, runs)
        elif fit.dimension.limit is not None:
            _changed(out, pools, fit, fit.dimension.limit, by_id, runs, (gone, renewed))
    return out


def never_measured(parts: Sequence[PartStory], fits: Sequence[FitStory]) -> tuple[LeftOut, ...]:
    """Every limit of which nothing was read, but for parts that are decided to go out."""
    gone = frozenset(part.id for part in parts if part.decision in GOES_OUT)
    staying = [part for part in parts if part.id not in gone]
    rows: list[tuple[Of, DimensionStory]] = []
    rows += [((part.id, part.slot_name, one.name), one) for part in staying for one in part.dimensions]
    rows += [((None, fit.title, ""), fit.dimension) for fit in fits if gone.isdisjoint(fit.parts)]
    unread = [(of, one) for of, one in rows if one.limit is not None and one.state == "not measured"]
    return tuple(LeftOut("never measured", *of, one.id) for of, one in unread)


def _as_it_is(out: Figures, pools: Pools, of: Of, one: DimensionStory, runs: Runs) -> None:
    """A dimension or fit on its own line."""
    if one.limit is None:
        return
    line, now = one.wear.line, one.now or 0.0
    if of[0] is not None and line is not None:
        _weigh_reading(out, one, one.limit, line, (of[0], *of[1:]), (now, now + runs[-1]))
    if line is None or line.n == 0 or one.wear.pool is None:  # a line of its kind alone is no figure of this part
        if one.state == "not measured":
            out.left_out.append(LeftOut("never measured", *of, one.id))
        elif one.wears != "none":
            out.left_out.append(LeftOut("no rate yet", *of, one.id))
        return
    pool = pools.get(one.wear.pool)
    _stake(out, pool, pool.part(one.wear), line, of, one, tuple(now + run for run in runs))


def _renewed(out: Figures, pools: Pools, part: PartStory, one: DimensionStory, runs: Runs) -> None:
    """A dimension of a part that is renewed: on its kind's line from its new range."""
    if one.limit is None or one.wears == "none":
        return
    of: Of = (part.id, part.slot_name, one.name)
    fresh = _fresh(pools, one)
    if isinstance(fresh, Fresh):
        _stake(out, fresh.pool, fresh.member, fresh.line, of, one, tuple(runs))
    else:
        out.left_out.append(LeftOut(fresh, *of, one.id))


def _fresh(pools: Pools, one: DimensionStory) -> Fresh | Why:
    """What a new part of this size would be; else why that cannot be told."""
    if one.new is None:
        return "start unknown"
    pool, target = pools.get(one.wear.pool) if one.wear.pool is not None else None, (one.new[0] + one.new[1]) / 2.0
    if pool is not None and pool.runs_in:
        return "runs in"
    line = pool.new_line(target) if pool is not None else None
    return Fresh(pool, pool.new_part(target), line) if pool is not None and line is not None else "no rate yet"


def _changed(
    out: Figures, pools: Pools, fit: FitStory, limit: Limit, parts: dict[str, PartStory], runs: Runs,
    changed: tuple[frozenset[str], frozenset[str]],
) -> None:  # fmt: skip
    """A fit of which a side is renewed or goes out: from the lines of both, where one figure stands for each."""
    gone, renewed = changed
    sides = []
    if fit.between is not None and gone.isdisjoint(fit.parts):
        both = zip(fit.parts, fit.between, strict=True)
        sides = [_side(pools, parts[part], id, renewed=part in renewed) for part, id in both]
    outer, inner = sides or (None, None)
    if outer is None or inner is None:
        why: Why = "never measured" if fit.dimension.state == "not measured" else "fit changed"
        out.left_out.append(LeftOut(why, None, fit.title, "", fit.id))
        return
    chances = tuple(chance_between(outer[0], outer[1] + x, inner[0], inner[1] + x, limit) for x in runs)
    out.alone.append(np.array(chances))
    out.stands.append(Stands(None, fit.title, "", fit.id, chances))


def _side(pools: Pools, part: PartStory, id: str, *, renewed: bool) -> tuple[PartLine, float] | None:
    """The line of one side of a fit and its exposure now; None where it has none of its own."""
    one = next((one for one in part.dimensions if one.id == id), None)
    if one is None:
        return None
    if renewed:
        fresh = _fresh(pools, one)
        return (fresh.line, 0.0) if isinstance(fresh, Fresh) else None
    return (one.wear.line, one.now or 0.0) if one.wear.line is not None and one.wear.line.n > 0 else None


def _stake(
    out: Figures, pool: Pool, member: PoolPart, line: PartLine, of: Of, one: DimensionStory, at: tuple[float, ...]
) -> None:
    assert one.limit is not None  # what has none is not asked
    chances = tuple(line.chance_inside(one.limit, x) for x in at)
    pooled = Pooled(Stake(member.id, one.limit, at), member, np.array(chances))
    out.pooled.setdefault(pool.key, []).append(pooled)
    out.stands.append(Stands(of[0], of[1], of[2], one.id, chances))


def _weigh_reading(
    out: Figures, one: DimensionStory, limit: Limit, line: PartLine, of: tuple[str, str, str],
    span: tuple[float, float],
) -> None:  # fmt: skip
    """What a reading would settle, taken now, of the doubt at the plan's end."""
    u = one.last.u if one.last is not None and one.last.u is not None else 0.0
    settled, chance = doubt_settled(line, limit, *span, u), line.chance_inside(limit, span[1])
    out.readings.append((NextReading(*of, chance, settled, one.state == "not measured"), settled))
