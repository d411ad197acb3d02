"""The kinds of parts of every family, told over the whole shop: book and pools in, `KindStory` out.

Lives and renewals come from the book, rates from the pools of like parts that the engines' own stories were told with.
"""

from collections import Counter
from collections.abc import Iterator, Sequence

from ..records.family import Family
from ..records.fitting import Fitted, PartEntry
from ..records.moments import Moment
from ..records.slots import kind_name, slots_of
from ..wear.among_like import rank_of
from ..wear.trend import Interval
from .book import Book
from .gathering import Subject, subjects_of
from .kind_lives import lives_of, renewals_of
from .pools import Candidate, Pool, Pools, unnumbered
from .recipes import Recipe, recipe_of
from .told_kinds import DimensionRates, KindStory, RateStory

OIL = "oil"  # the fluid by which rates are told apart
POOL_OF_PARTS = 4  # names in the key of a pool of parts: family, kind, dimension, place; that of a fit has three


def kinds_of(book: Book, pools: Pools, until: Moment, confidence: float) -> tuple[KindStory, ...]:
    """Every kind of which a part was ever fitted or filed, family by family, in the family's order."""
    recipes: dict[str, Recipe] = {}
    for records in book.checked.engines():
        family = book.checked.shop.family_of(records.id)
        if family is not None:
            recipes[records.id] = recipe_of(book, records, family.exposure)
    teller = _Teller(book, pools, until, confidence, recipes)
    families = sorted(book.checked.shop.families.items())
    return tuple(story for _, family in families for story in teller.kinds(family.it))


class _Teller:
    """What every kind is told with."""

    def __init__(self, book: Book, pools: Pools, until: Moment, confidence: float, recipes: dict[str, Recipe]) -> None:
        self._book, self._pools, self._until = book, pools, until
        self._confidence, self._recipes = confidence, recipes

    def kinds(self, family: Family) -> Iterator[KindStory]:
        """The kinds of one family that have parts."""
        for kind in family.kinds:
            parts = [
                part
                for part in self._book.checked.fitting.parts.values()
                if (part.family, part.kind) == (family.family, kind) and self._is_known(part)
            ]
            if parts:
                yield self._kind(family, kind, sorted(parts, key=lambda part: part.id))

    def _is_known(self, part: PartEntry) -> bool:
        """Whether a part was fitted by now, or waits with a file of its own."""
        stays = self._book.lives.of(part.id).stays
        return any(stay.began <= self._until for stay in stays) or (part.file is not None and not stays)

    def _kind(self, family: Family, kind: str, parts: Sequence[PartEntry]) -> KindStory:
        whole = family.kinds[kind].whole is True
        book, until, confidence = self._book, self._until, self._confidence
        found = {key: pool for key, pool in self._pools.all().items() if len(key) == POOL_OF_PARTS}
        pools = [(key, pool) for key, pool in found.items() if key[:2] == (family.family, kind)]
        subjects = {subject.id: subject for subject in subjects_of(family.kinds[kind])}
        order = list(dict.fromkeys(unnumbered(subject) for subject in subjects))
        pools.sort(key=lambda item: (order.index(item[0][2]), item[0][3]))
        rates = [self._rates(family, key, pool, subjects) for key, pool in pools]
        return KindStory(
            family=family.family,
            family_name=family.name or family.family,
            kind=kind,
            name=kind_name(family, kind),
            whole=whole,
            parts=tuple(part.id for part in parts),
            measured=len({one.part for _, pool in pools for one in pool.measured}),
            unit=family.exposure,
            confidence=confidence,
            lives=None if whole else lives_of(book, family, parts, until, confidence),
            renewals=None if whole else renewals_of(book, family, kind, until, confidence),
            rates=tuple(one for one in rates if one.measured),
            not_measured=tuple(one.name for one in rates if not one.measured),
        )

    def _rates(self, family: Family, key: tuple[str, ...], pool: Pool, subjects: dict[str, Subject]) -> DimensionRates:
        """The rates of one pool."""
        alike = [subject for subject in subjects.values() if unnumbered(subject.id) == key[2]]
        several, up = len(alike) > 1, -1.0 if alike[0].wears == "down" else 1.0
        told = [
            rate
            for candidate in pool.measured
            if (rate := self._rate(family, pool, candidate, subjects if several else {}, up)) is not None
        ]
        ranked = [_ranked(one, told) for one in sorted(told, key=lambda one: (-one.rate.value, one.part))]
        line = pool.new_line
        place = slots_of(family).by_id.get(key[3]) if key[3] else None
        return DimensionRates(
            id=key[2],
            name=_without_number(alike[0].name) if several else alike[0].name,
            place=place.name if place is not None else "",
            unit=alike[0].dimension.unit,
            measured=len({one.part for one in pool.measured}),
            of=len({one.part for one in pool.candidates}),
            rates=tuple(ranked),
            usual=_upward(line.rate(self._confidence), up) if line is not None else None,
            bend=pool.fit.bend if pool.fit is not None else None,
            since=pool.fit.since if pool.fit is not None else 0.0,
            summary=pool.fit.fit.summary if pool.fit is not None else None,
        )

    def _rate(
        self, family: Family, pool: Pool, candidate: Candidate, subjects: dict[str, Subject], up: float
    ) -> RateStory | None:
        """One part's rate; None where no reading of its present baseline says anything of it."""
        line = pool.line((candidate.id, candidate.baseline.number))
        if line is None or line.n == 0:
            return None
        part = str(candidate.part)
        subject = candidate.id[1] if isinstance(candidate.id, tuple) else ""
        engine, slot_name, oil = self._where(family, part, candidate)
        return RateStory(
            part=part,
            named=self._book.checked.fitting.parts[part].named,
            dimension=subjects[subject].name if subject in subjects else "",
            engine=engine,
            slot_name=slot_name,
            oil=oil,
            rate=_upward(line.rate(self._confidence), up),
            readings=line.n,
            rank=None,
        )

    def _where(self, family: Family, part: str, candidate: Candidate) -> tuple[str, str, str | None]:
        """Engine, place and oil of most of what a part ran since its present baseline began."""
        before = candidate.baseline.start or 0.0
        places: Counter[tuple[str, str]] = Counter()
        oils: Counter[str] = Counter()
        since = self._book.lives.of(part).before.amount(family.exposure)
        for stay in self._book.lives.of(part).stays:
            places[stay.engine, stay.slot.name] += 0
            for run in self._runs_in(stay):
                since += run[0]
                if since > before:
                    places[stay.engine, stay.slot.name] += run[0]  # type: ignore[assignment]
                    if run[1] is not None:
                        oils[run[1]] += run[0]  # type: ignore[assignment]
        (engine, slot_name), _ = places.most_common(1)[0]
        return engine, slot_name, oils.most_common(1)[0][0] if oils else None

    def _runs_in(self, stay: Fitted) -> Iterator[tuple[float, str | None]]:
        """What was run in a stay, and on which oil."""
        ended = self._until if stay.ended is None else min(stay.ended, self._until)
        for run in self._recipes[stay.engine].runs if stay.engine in self._recipes else ():
            if stay.began < run.moment <= ended:
                yield run.amount, dict(run.recipe).get(OIL)


def _ranked(one: RateStory, every: Sequence[RateStory]) -> RateStory: ...


def _upward(rate: Interval, up: float) -> Interval:
    """A rate with wear counted upward."""
    return rate if up > 0.0 else Interval(-rate.value, -rate.high, -rate.low)


def _without_number(name: str) -> str:
    """What numbered dimensions share of their names: `Rod journal` of `Rod journal 2`."""
    return name.rstrip("0123456789").rstrip()
