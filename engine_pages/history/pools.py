"""Like parts of the whole shop, fitted together: rows and pairs of all engines in, the wear of each of them out.

Parts of one family and kind are like each other, dimension by dimension, wherever they ran; apart by their places where
the family says so. Journals that are numbered, and fits of one name in several rows, are like each other. Every
baseline of a part is a member of its own: ground, a journal starts anew. Each pool is fitted once, when it is first
asked for.
"""

import re
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from ..records.family import Family
from ..records.fitting import PartEntry
from ..records.moments import Moment
from ..records.slots import title_of
from ..wear.among_like import MANY_TIMES, Rank, Selection, rank_of, selection_of, times_the_spread
from ..wear.bends import BentFit, fit_where_straight
from ..wear.limits import Limit
from ..wear.measured import Measured, minus
from ..wear.pool.fit import PoolFit, Starts, fit_pool
from ..wear.pool.line import PartLine
from ..wear.pool.numbers import PoolPart
from ..wear.pool.priors import Frame as Known
from ..wear.pool.summary import JointSummary
from ..wear.service import MONTHS
from .amounts import amount_in
from .book import Book
from .gathering import Subject, subjects_of
from .pairs import Pair, new_pair, pairs_of, readings_of_pair
from .rows import Row, Span, limit_of, new_in, row_of
from .series import Baseline, Dated, Frame, starts_of
from .sight import WHOLE_SHOP, Sight
from .story import NO_WEAR, Jump, Wear

SUSPICIOUS = ("incident", "failure")  # sheets with these reasons were written because something looked bad
STANDS_OUT = 2.0  # times the spread of a kind with the part itself in it
FEWEST_OTHERS = 2  # parts that show what their kind does, beside the one that is looked at
KEEP = 0.9  # the chance that is wanted where the plan names none

Member = tuple[Hashable, int]  # a part or a pair, and the number of its baseline


@dataclass(frozen=True, slots=True)
class Candidate:
    """One part or pair as a member of its pool: its readings on all baselines, and the target of each."""

    id: Hashable
    dated: Sequence[Dated]
    baseline: Baseline
    targets: Sequence[float]
    start_known: bool  # whether its first baseline began new

    def members(self, *, without: frozenset[str] = frozenset()) -> Iterator[tuple[Member, PoolPart]]:
        """A member a baseline; without the readings of some sheets, named by their paths."""
        starts = starts_of(self.dated, self.baseline)
        for number in range(self.baseline.number + 1):
            readings = tuple(
                (row.exposure - starts[number], row.read.at_20)
                for row in self.dated
                if row.baseline == number and not row.in_doubt and row.read.at_20 is not None
                if row.sheet.path not in without
            )
            if readings or number == self.baseline.number:
                own = not self.start_known and number == 0
                yield (self.id, number), PoolPart(repr((self.id, number)), readings, self.targets[number], own)

    @property
    def part(self) -> Hashable:
        """The part that it is of; a pair is itself."""
        return self.id[0] if isinstance(self.id, tuple) and len(self.id) == len(("part", "dimension")) else self.id

    @property
    def is_measured(self) -> bool:
        return any(row.read.at_20 is not None and not row.in_doubt for row in self.dated)


@dataclass(frozen=True, eq=False)
class Pool:
    """Candidates of one kind and dimension, what is known of it beside readings, and its fit."""

    key: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    known: Known
    suspicious: frozenset[str]
    standard: float  # the middle of a new one's range

    @cached_property
    def parts(self) -> dict[Member, PoolPart]:
        """Every member with its readings."""
        return dict(member for candidate in self.candidates for member in candidate.members())

    @cached_property
    def fit(self) -> BentFit | None:
        """The joint fit, from the later readings alone where a constant rate does not fit; None with no reading."""
        parts = list(self.parts.values())
        return fit_where_straight(parts, self.known, self.starts, common_of(parts))

    @property
    def starts(self) -> Starts:
        """A new range of no width is where every part starts; any other is where most do."""
        return "exact" if self.known.new_width == 0.0 else "spread"

    @cached_property
    def digest(self) -> str | None:
        """The name of the joint summary by its content."""
        return self.fit.fit.summary.digest if self.fit is not None else None

    @cached_property
    def measured(self) -> tuple[Candidate, ...]:
        """The parts or pairs that anybody read."""
        return tuple(candidate for candidate in self.candidates if candidate.is_measured)

    @cached_property
    def _without(self) -> PoolFit | None:
        """The fit without suspicious sheets; None where there are none of these, or nothing else."""
        paths = {row.sheet.path for candidate in self.candidates for row in candidate.dated}
        if not paths & self.suspicious:
            return None
        parts = [part for c in self.candidates for _, part in c.members(without=self.suspicious)]
        return fit_pool(parts, self.known, self.starts, common_of(parts))

    @cached_property
    def _paces(self) -> dict[Hashable, float]:
        """How fast each part that was read wears on its present baseline, without its sign."""
        out = {}
        for candidate in self.measured:
            line = self.line((candidate.id, candidate.baseline.number))
            if line is not None and line.n > 0:
                out[candidate.id] = abs(line.slope)
        return out

    def line(self, member: Member) -> PartLine | None:
        """A member's line, where the pool gives it one."""
        part = self.parts.get(member)
        return self.fit.fit.lines.get(part.id) if part is not None and self.fit is not None else None

    @property
    def runs_in(self) -> bool:
        """Whether lines hold from some exposure on only: of a new part's first hours they say nothing."""
        return self.fit is not None and self.fit.since > 0.0

    @cached_property
    def kind_line(self) -> PartLine | None:
        """The line of its kind, of standard size; None where nothing says where its kind starts."""
        return self._unread(self.new_part(self.standard))

    def new_part(self, target: float) -> PoolPart:
        """A part of the kind that is still to be fitted, of the size whose new range has this middle."""
        return PoolPart(f"new at {target!r}", (), target)

    def new_line(self, target: float) -> PartLine | None:
        """Its line from its first hour on; None where its kind runs in, or nothing says where it starts."""
        return None if self.runs_in else self._unread(self.new_part(target))

    def _unread(self, part: PoolPart) -> PartLine | None:
        if self.fit is None:
            return None
        return self.fit.fit.summary.lines([part], common_of(self.parts.values())).get(part.id)

    def part(self, wear: Wear) -> PoolPart:
        """A member as it was fitted."""
        assert self.fit is not None
        return next(part for part in self.fit.parts if part.id == wear.member)

    def wear_of(self, id: Hashable, number: int, frame: Frame) -> Wear:
        """What the pool says of one part or pair on one of its baselines."""
        if frame.wears == "none" or self.fit is None:
            return NO_WEAR
        line = self.line((id, number))
        return Wear(
            line=line,
            pool=self.key,
            member=self.parts[id, number].id if (id, number) in self.parts else "",
            parts=len({candidate.part for candidate in self.measured}),
            of=len({candidate.part for candidate in self.candidates}),
            summary=self.digest,
            bend=self.fit.bend,
            since=self.fit.since,
            rank=self._rank(id) if line is not None and line.n > 0 else None,
            selection=self._selection((id, number), line, frame),
            jumps=tuple(self._jumps(id, number)),
        )

    def _rank(self, id: Hashable) -> Rank | None:
        """Its place among the rates of the others, 1 the fastest; alone it has none."""
        others = [pace for other, pace in self._paces.items() if other != id]
        return rank_of(self._paces[id], others) if others and id in self._paces else None

    def _selection(self, member: Member, line: PartLine | None, frame: Frame) -> Selection | None:
        """The answer without suspicious sheets, where it is another."""
        if line is None or line.n == 0 or self._without is None:
            return None
        end = frame.now + frame.plan - self._start(member)
        without = self._without.lines.get(self.parts[member].id)
        found = selection_of(line, without, frame.limit, end, frame.keep or KEEP, frame.confidence)
        return found if found.changes else None

    def _jumps(self, id: Hashable, number: int) -> Iterator[Jump]:
        """Readings that moved since the one before by many times what the kind does, judged without the part itself."""
        candidate = self._candidate(id)
        if candidate is None:
            return
        rows = [row for row in candidate.dated if row.baseline == number and not row.in_doubt and row.read.at_20]
        kind: JointSummary | None = None
        for before, row in pairwise(rows):
            assert before.read.at_20 is not None
            assert row.read.at_20 is not None
            change, run = minus(row.read.at_20, before.read.at_20), row.exposure - before.exposure
            if abs(change.value) <= MANY_TIMES * change.u or not self._stands_out(change, run):
                continue  # its gauge alone explains it, or its kind with itself in it
            kind = kind or self._kind_without(candidate)
            if kind is None:
                return
            times = times_the_spread(change.value, change.u, run, kind)
            if abs(times) > MANY_TIMES:
                yield Jump(row.sheet.path, before.sheet.day, times)

    def _stands_out(self, change: Measured, run: float) -> bool:
        """Whether a change is worth a fit without its part: a jump widens the spread that it is measured by here."""
        summary = self.fit.fit.summary if self.fit is not None else None
        if summary is None or not summary.known.has_rate:
            return False
        return abs(times_the_spread(change.value, change.u, run, summary)) > STANDS_OUT

    def _kind_without(self, candidate: Candidate) -> JointSummary | None:
        """The kind as the other parts show it; None where fewer than two of them show a rate."""
        others = [one for one in self.measured if one.part != candidate.part]
        parts = [part for one in others for _, part in one.members()]
        if len({one.part for one in others}) < FEWEST_OTHERS:
            return None
        fit = fit_pool(parts, self.known, self.starts, common_of(parts))
        return fit.summary if fit is not None and fit.summary.known.has_rate else None

    def _candidate(self, id: Hashable) -> Candidate | None:
        return next((one for one in self.candidates if one.id == id), None)

    def _start(self, member: Member) -> float:
        candidate = self._candidate(member[0])
        return (candidate.baseline.start or 0.0) if candidate is not None else 0.0


class Pools:
    """The pools of a shop, as known by a moment and as far as they are seen."""

    def __init__(self, book: Book, until: Moment, sight: Sight = WHOLE_SHOP) -> None:
        self._book = book
        self._until = until
        self._sight = sight
        self._pools: dict[tuple[str, ...], Pool] = {}
        self._pairs: dict[str, dict[str, dict[tuple[object, ...], Pair]]] = {}
        sheets = (resolved.sheet for resolved in book.checked.resolved.values())
        self._suspicious = frozenset(sheet.path for sheet in sheets if sheet.it.reason in SUSPICIOUS)

    def of_part(self, family: Family, part: PartEntry, subject: Subject) -> Pool:
        """The pool of a part's dimension."""
        kind = family.kinds[part.kind]
        place = self._place(part) if kind.apart else ""
        key = (family.family, part.kind, unnumbered(subject.id), place)
        if key not in self._pools:
            like = [
                other
                for other in self._book.checked.fitting.parts.values()
                if (other.family, other.kind) == (part.family, part.kind)
                if not place or self._place(other) == place
            ]
            self._pools[key] = self._of_rows(family, like, key)
        return self._pools[key]

    def of_pair(self, family: Family, pair: Pair) -> Pool:
        """The pool of a fit: every pair of its name that ever stood together."""
        name = fit_name(family, pair.fit_id)
        key = (family.family, "fit", name)
        if key not in self._pools:
            pairs = list(self._pairs_of(family).get(name, {}).values())
            candidates = self._seen(
                Candidate(
                    one.key,
                    tuple(readings_of_pair(self._book, family, one, self._until)),
                    Baseline(0, 0.0, None),
                    (_middle(new_pair(self._book, family, one)),),
                    start_known=False,  # a pair of used parts does not start at the clearance of a new one
                )
                for one in pairs
            )
            known = _known(new_pair(self._book, family, pair), pair.limit, pair.wears, None)
            self._pools[key] = Pool(
                key, candidates, known, self._suspicious, candidates[0].targets[0] if candidates else 0.0
            )
        return self._pools[key]

    def get(self, key: tuple[str, ...]) -> Pool:
        """A pool that was asked for before."""
        return self._pools[key]

    def all(self) -> dict[tuple[str, ...], Pool]:
        """Every pool that was asked for, by family, kind, dimension and place."""
        return dict(sorted(self._pools.items()))

    def _of_rows(self, family: Family, like: Iterable[PartEntry], key: tuple[str, ...]) -> Pool:
        subjects = [one for one in subjects_of(family.kinds[key[1]]) if unnumbered(one.id) == key[2]]
        candidates = []
        for part in sorted(like, key=lambda one: one.id):
            known_new = not self._book.lives.of(part.id).unknown_before
            for subject in subjects:
                row = row_of(self._book, family, part, subject, self._until)
                id = (part.id, subject.id)
                candidates.append(Candidate(id, row.dated, row.baseline, _targets(row), known_new))
        first = subjects[0]
        known = _known(new_in(first), limit_of(first), first.wears, _life(family, key[1]))
        middle = _middle(new_in(first))
        return Pool(key, self._seen(candidates), known, self._suspicious, middle)

    def _seen(self, candidates: Iterable[Candidate]) -> tuple[Candidate, ...]:
        return tuple(self._sight.seen(candidates, self._engines_of, lambda one: one.is_measured))

    def _engines_of(self, candidate: Candidate) -> frozenset[str]:
        """The engines that a part was in; a pair has its own."""
        if isinstance(candidate.part, str):
            return frozenset(stay.engine for stay in self._book.lives.of(candidate.part).stays)
        return frozenset((candidate.id[0],)) if isinstance(candidate.id, tuple) else frozenset()

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


def common_of(parts: Iterable[PoolPart]) -> tuple[Hashable, ...]:
    """What readings share over the whole pool: the expansions by which they are brought to 20 °C."""
    sources = {source for part in parts for _, value in part.readings for source in value.shared}
    return tuple(sorted(one for one in sources if isinstance(one, tuple) and one[0] == "expansion"))


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
