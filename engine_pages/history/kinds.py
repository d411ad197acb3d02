"""The kinds of parts of every family, told over the whole shop: book and pools in, `KindStory` out.

Lives and renewals come from the book, rates from the pools of like parts that the engines' own stories were told with.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from ..records.family import Family
from ..records.fitting import Fitted, PartEntry
from ..records.moments import Moment
from ..records.slots import kind_name, slots_of
from ..wear.among_like import rank_of
from ..wear.pool.line import PartLine
from .book import Book
from .candidates import Candidate
from .gathering import Subject, subjects_of
from .kind_lives import lives_of
from .kind_renewals import renewals_of
from .pool import Pool
from .pools import Pools, unnumbered
from .recipes import Recipe, recipe_of
from .told_kinds import DimensionRates, KindStory, RateStory
from .worn import usual_rate

OIL = "oil"  # the fluid by which rates are told apart
POOL_OF_PARTS = 4  # names in the key of a pool of parts: family, kind, dimension, place; that of a fit has three


class Shop(Struct, frozen=True):
    """What every kind is told with."""

    book: Book
    pools: Pools
    until: Moment
    confidence: float
    recipes: Mapping[str, Recipe]


def kinds_of(book: Book, pools: Pools, until: Moment, confidence: float) -> tuple[KindStory, ...]:
    """Every kind of which a part was ever fitted or filed, family by family, in the family's order.

    Call it when the engines are told: `pools` holds the pools that were asked for by then.
    """
    recipes: dict[str, Recipe] = {}
    for records in book.checked.engines():
        family = book.checked.shop.family_of(records.id)
        if family is not None:
            recipes[records.id] = recipe_of(book, records, family.exposure)
    shop = Shop(book, pools, until, confidence, recipes)
    families = [record.it for _, record in sorted(book.checked.shop.families.items())]
    return tuple(story for family in families for story in _kinds(shop, family))


def _kinds(shop: Shop, family: Family) -> Iterator[KindStory]:
    for kind in family.kinds:
        entries = shop.book.checked.fitting.parts.values()
        like = (part for part in entries if (part.family, part.kind) == (family.family, kind))
        parts = sorted((part for part in like if _is_known(shop, part)), key=lambda part: part.id)
        if parts:
            yield _kind(shop, family, kind, parts)


def _is_known(shop: Shop, part: PartEntry) -> bool:
    """Whether a part was fitted by now, or waits with a file of its own."""
    stays = shop.book.lives.of(part.id).stays
    return any(stay.began <= shop.until for stay in stays) or (part.file is not None and not stays)


def _kind(shop: Shop, family: Family, kind: str, parts: Sequence[PartEntry]) -> KindStory:
    whole = family.kinds[kind].whole is True
    pools = _pools(shop, family, kind)
    rates = [_rates(shop, family, key, pool) for key, pool in pools]
    return KindStory(
        family=family.family,
        family_name=family.name or family.family,
        kind=kind,
        name=kind_name(family, kind),
        whole=whole,
        parts=tuple(part.id for part in parts),
        measured=len({one.part for _, pool in pools for one in pool.measured}),
        unit=family.exposure,
        confidence=shop.confidence,
        lives=None if whole else lives_of(shop.book, family, parts, shop.until, shop.confidence),
        renewals=None if whole else renewals_of(shop.book, family, kind, shop.until, shop.confidence),
        rates=tuple(one for one in rates if one.measured),
        not_measured=tuple(one.name for one in rates if not one.measured),
    )


def _pools(shop: Shop, family: Family, kind: str) -> list[tuple[tuple[str, ...], Pool]]:
    """The kind's pools with their keys, in the order of the family's dimensions."""
    order = [unnumbered(subject.id) for subject in subjects_of(family.kinds[kind])]
    mine = [
        (key, pool)
        for key, pool in shop.pools.all().items()
        if len(key) == POOL_OF_PARTS and key[:2] == (family.family, kind)
    ]
    return sorted(mine, key=lambda item: (order.index(item[0][2]), item[0][3]))


def _rates(shop: Shop, family: Family, key: tuple[str, ...], pool: Pool) -> DimensionRates:
    """The rates of one pool."""
    alike = [subject for subject in subjects_of(family.kinds[key[1]]) if unnumbered(subject.id) == key[2]]
    up = -1.0 if alike[0].wears == "down" else 1.0  # wear is counted upward
    lines = {one.id: line for one in pool.measured if (line := _own_line(pool, one)) is not None}
    read = sorted(
        (one for one in pool.measured if one.id in lines), key=lambda one: (-abs(lines[one.id].slope), one.id)
    )
    told = [_rate(shop, family, one, lines[one.id], alike, up) for one in read]
    paces = [abs(lines[one.id].slope) for one in read]
    ranks = [rank_of(pace, [*paces[:n], *paces[n + 1 :]]) if len(paces) > 1 else None for n, pace in enumerate(paces)]
    new, place = pool.kind_line, slots_of(family).by_id.get(key[3])
    return DimensionRates(
        id=key[2],
        name=_without_number(alike[0].name) if len(alike) > 1 else alike[0].name,
        place=place.name if place is not None else "",
        unit=alike[0].dimension.unit,
        measured=len({one.part for one in pool.measured}),
        of=pool.size.parts,
        rates=tuple(replace(one, rank=rank) for one, rank in zip(told, ranks, strict=True)),
        usual=new.rate(shop.confidence).times(up) if new is not None else None,
        wear_shows=usual_rate(pool) is not None,
        bend=pool.fit.bend if pool.fit is not None else None,
        since=pool.fit.since if pool.fit is not None else 0.0,
        summary=pool.fit.fit.summary if pool.fit is not None else None,
    )


def _own_line(pool: Pool, candidate: Candidate) -> PartLine | None:
    """The line of a part's present baseline; None where no reading of it counts, and the line is its kind's."""
    line = pool.line((candidate.id, candidate.baseline.number))
    return line if line is not None and line.n > 0 else None


def _rate(
    shop: Shop, family: Family, candidate: Candidate, line: PartLine, alike: Sequence[Subject], up: float
) -> RateStory:
    part, subject = _part_and_subject(candidate)
    engine, slot_name, oils = _where(shop, part, family, candidate.baseline.start or 0.0)
    return RateStory(
        part=part,
        named=shop.book.checked.fitting.parts[part].named,
        dimension=next((one.name for one in alike if one.id == subject), "") if len(alike) > 1 else "",
        engine=engine,
        slot_name=slot_name,
        oils=oils,
        rate=line.rate(shop.confidence).times(up),
        readings=line.n,
        rank=None,
    )


def _part_and_subject(candidate: Candidate) -> tuple[str, str]:
    """The names of which a candidate of a pool of parts is made."""
    assert isinstance(candidate.id, tuple)
    part, subject = candidate.id
    return str(part), str(subject)


def _where(shop: Shop, part: str, family: Family, start: float) -> tuple[str, str, tuple[tuple[str, float], ...]]:
    """Engine and place of most of what a part ran since its exposure was `start`, else its last; what on which oil."""
    life = shop.book.lives.of(part)
    places: dict[tuple[str, str], float] = defaultdict(float)
    oils: dict[str, float] = defaultdict(float)
    ran = life.before.amount(family.exposure)
    for stay in life.stays:
        for amount, oil in _runs_in(shop, stay):
            ran += amount
            if ran > start:
                places[stay.engine, stay.slot.name] += amount
                oils[oil] += amount
    last = life.stays[-1]
    engine, slot_name = max(places, key=lambda place: places[place], default=(last.engine, last.slot.name))
    return engine, slot_name, tuple(sorted(oils.items(), key=lambda one: (-one[1], one[0])))


def _runs_in(shop: Shop, stay: Fitted) -> Iterator[tuple[float, str]]:
    """What was run in a stay, and on which oil; no name where none is written."""
    ended = shop.until if stay.ended is None else min(stay.ended, shop.until)
    for run in shop.recipes[stay.engine].runs if stay.engine in shop.recipes else ():
        if stay.began < run.moment <= ended:
            yield run.amount, dict(run.recipe).get(OIL, "")


def _without_number(name: str) -> str:
    """What numbered dimensions share of their names: `Rod journal` of `Rod journal 2`."""
    return name.rstrip("0123456789").rstrip()
