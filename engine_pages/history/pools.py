"""Like parts of the whole shop, fitted together: rows and pairs of all engines in, the wear of each of them out.

Parts of one family and kind are like each other, dimension by dimension, wherever they ran; apart by their places where
the family says so. Journals that are numbered, and fits of one name in several rows, are like each other. Every
baseline of a part is a member of its own: ground, a journal starts anew. Each pool is fitted once, when it is first
asked for. Of engines that the book does not hold, `elsewhere` gives what they add to each pool.
"""

import re
from collections.abc import Collection, Hashable, Mapping, Sequence
from dataclasses import replace
from typing import Final, Protocol

from ..records.family import Family
from ..records.fitting import PartEntry
from ..records.moments import Moment
from ..records.slots import title_of
from ..wear.limits import Limit
from ..wear.pool.priors import Frame as Known
from ..wear.pool.sample import MOST_FITTED
from ..wear.service import MONTHS
from .amounts import amount_in
from .book import Book
from .candidates import SUSPICIOUS, Candidate, Light, candidate_of, light_of, those_that_speak
from .gathering import Subject, subjects_of
from .kept_fits import NOTHING_KEPT, Store
from .pairs import Pair, new_pair, pairs_of, readings_of_pair
from .pool import FIT, Pool, Size
from .rows import Row, Span, limit_of, new_in, row_of
from .series import Baseline
from .sight import WHOLE_SHOP, Sight

Key = tuple[str, ...]  # family, kind, dimension and place; family, "fit" and name


class Elsewhere(Protocol):
    """What engines that are not in the book add to each pool."""

    def candidates(self, key: Key, /) -> Sequence[Light]:
        """Parts in the order of their names, each with its dimensions in the family's order; pairs engine by engine."""


class Nowhere:
    """The book holds every engine."""

    def candidates(self, _key: Key, /) -> Sequence[Light]:
        return ()


NOWHERE: Final[Elsewhere] = Nowhere()


class Pools:
    """The pools of a shop, as known by a moment and as far as they are seen."""

    def __init__(
        self, book: Book, until: Moment, sight: Sight = WHOLE_SHOP, elsewhere: Elsewhere = NOWHERE,
        store: Store = NOTHING_KEPT,
    ) -> None:  # fmt: skip
        self._book = book
        self._until = until
        self._sight = sight
        self._elsewhere = elsewhere
        self._store = store
        self._pools: dict[Key, Pool] = {}
        self._pairs: dict[str, dict[str, dict[tuple[object, ...], Pair]]] = {}
        sheets = (resolved.sheet for resolved in book.checked.resolved.values())
        self._suspicious: Mapping[str, bool] = {sheet.path: sheet.it.reason in SUSPICIOUS for sheet in sheets}

    def of_part(self, family: Family, part: PartEntry, subject: Subject) -> Pool:
        """The pool of a part's dimension."""
        key = self.key_of(family, part, subject)
        if key not in self._pools:
            first = next(one for one in subjects_of(family.kinds[part.kind]) if unnumbered(one.id) == key[2])
            known = _known(new_in(first), limit_of(first), first.wears, _life(family, part.kind))
            self._pools[key] = self._pool(key, self.own_parts(family, key), known, _middle(new_in(first)))
        return self._pools[key]

    def key_of(self, family: Family, part: PartEntry, subject: Subject) -> Key:
        """The name of a part's pool."""
        place = self._place(part) if family.kinds[part.kind].apart else ""
        return family.family, part.kind, unnumbered(subject.id), place

    def of_pair(self, family: Family, pair: Pair) -> Pool:
        """The pool of a fit: every pair of its name that ever stood together."""
        key = (family.family, FIT, fit_name(family, pair.fit_id))
        if key not in self._pools:
            known = _known(new_pair(self._book, family, pair), pair.limit, pair.wears, None)
            self._pools[key] = self._pool(key, self.own_pairs(family, key[2]), known, None)
        return self._pools[key]

    def get(self, key: Key) -> Pool:
        """A pool that was asked for before."""
        return self._pools[key]

    def all(self) -> dict[Key, Pool]:
        """Every pool that was asked for, by family, kind, dimension and place."""
        return dict(sorted(self._pools.items()))

    def learn(self, pools: Mapping[Key, Pool]) -> None:
        """Take pools that another hand made of the same book."""
        self._pools |= pools

    def own_pairs(self, family: Family, name: str) -> list[Candidate]:
        """The book's own pairs of a fit, engine by engine."""
        return [
            candidate_of(
                one.key,
                tuple(readings_of_pair(self._book, family, one, self._until)),
                Baseline(0, 0.0, None),
                (_middle(new_pair(self._book, family, one)),),
                False,  # a pair of used parts does not start at the clearance of a new one
                frozenset((one.engine,)),
                self._suspicious,
            )
            for one in self._pairs_of(family).get(name, {}).values()
        ]

    def own_parts(self, family: Family, key: Key) -> list[Candidate]:
        """The book's own parts of a pool, in the order of their names."""
        _, kind, dimension, place = key
        subjects = [one for one in subjects_of(family.kinds[kind]) if unnumbered(one.id) == dimension]
        found = []
        for part in sorted(self._book.checked.fitting.parts.values(), key=lambda one: one.id):
            if (part.family, part.kind) != (family.family, kind) or (place and self._place(part) != place):
                continue
            life = self._book.lives.of(part.id)
            engines = frozenset(stay.engine for stay in life.stays)
            for subject in subjects:
                row, known_new = row_of(self._book, family, part, subject, self._until), not life.unknown_before
                id = (part.id, subject.id)
                found.append(
                    candidate_of(id, row.dated, row.baseline, _targets(row), known_new, engines, self._suspicious)
                )
        return found

    def _pool(self, key: Key, own: Sequence[Candidate], known: Known, standard: float | None) -> Pool:
        """A pool of the book's own candidates and the others', in the order in which one book of all would have them.

        `standard`: the middle of a new one's range; None is that of the first.
        """
        parts = {one.part for one in own}
        others = [one for one in self._elsewhere.candidates(key) if one.part not in parts]
        lights = (
            sorted((*map(light_of, own), *others), key=lambda one: one.order) if others else list(map(light_of, own))
        )
        seen = self._sight.seen(lights, lambda one: one.engines, lambda one: bool(one.drawn))
        behind = self._of(key, lights, parts, known, standard) if len(seen) < len(lights) else None
        return replace(self._of(key, seen, parts, known, standard), behind=behind)

    def _of(
        self, key: Key, lights: Sequence[Light], own: Collection[Hashable], known: Known, standard: float | None
    ) -> Pool:
        size = Size(
            parts=len({one.part for one in lights}),
            measured=len({one.part for one in lights if one.drawn}),
            most=MOST_FITTED if sum(len(one.drawn) for one in lights) > MOST_FITTED else None,
            is_suspicious=any(one.is_suspicious for one in lights),
        )
        candidates = tuple(those_that_speak(lights, own, size.most))
        if standard is None:
            standard = candidates[0].stretches[0].target if candidates else 0.0
        return Pool(key, candidates, known, standard, size, self._store)

    def _pairs_of(self, family: Family) -> dict[str, dict[tuple[object, ...], Pair]]:
        """Every pair of a family's engines by the name of its fit."""
        if family.family not in self._pairs:
            found: dict[str, dict[tuple[object, ...], Pair]] = {}
            for records in self._book.checked.engines():
                if self._book.checked.shop.family_of(records.id) is not family:
                    continue
                for sheet in records.sheets:
                    standing = self._book.standing(records.id, self._book.moment(sheet))
                    for after in (sheet, None):  # as the sheet read it, and after whatever was machined since
                        for pair in pairs_of(self._book, family, records.id, standing, self._until, after):
                            found.setdefault(fit_name(family, pair.fit_id), {})[pair.key] = pair
            self._pairs[family.family] = found
        return self._pairs[family.family]

    def _place(self, part: PartEntry) -> str:
        """Where a part stands, or stood last."""
        stays = self._book.lives.of(part.id).stays
        return stays[-1].slot.id if stays else ""


def unnumbered(subject_id: str) -> str:
    """What the numbered dimensions of one kind share: `rod_journal` of `rod_journal_2`, and of its form or station.

    >>> unnumbered("rod_journal_2.taper"), unnumbered("bore@low-pin")
    ('rod_journal.taper', 'bore@low-pin')
    """
    return re.sub(r"_\d+(?=$|[.@])", "", subject_id)


def fit_name(family: Family, fit_id: str) -> str:
    """What fits of several rows share: the name that is written, else their id without its row."""
    fit = (family.fits or {})[fit_id]
    return fit.name or title_of(fit_id.rstrip("0123456789"))


def _targets(row: Row) -> tuple[float, ...]:
    return tuple(_middle(new, size) for new, size in zip(row.news, row.sizes, strict=True))


def _middle(new: Span | None, size: float = 0.0) -> float:
    """The middle of a new range; without one, how far the size lies from standard."""
    return size if new is None else (new[0] + new[1]) / 2.0


def _known(new: Span | None, limit: Limit | None, wears: str, life: float | None) -> Known:
    """What is known of a pool beside its readings: the width of the new range, the way from its middle to the limit."""
    if new is None:
        return Known(service_life=life)
    middle = _middle(new)
    ends = {"up": [limit.max], "down": [limit.min]}.get(wears, [limit.min, limit.max]) if limit is not None else []
    ways = [abs(end - middle) for end in ends if end is not None]
    return Known(new[1] - new[0], min(ways, default=None), life)


def _life(family: Family, kind: str) -> float | None:
    """The exposure after which the kind is replaced by rule, in the family's unit."""
    written = family.kinds.get(kind)
    rule = written.service.replace if written and written.service and written.service.replace else {}
    unit = {"hours": "h", "km": "km"}.get(family.exposure, "count")
    return amount_in(rule.get(family.exposure), unit) if family.exposure != MONTHS else None
