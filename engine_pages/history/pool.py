"""A pool: like parts fitted together, and what the fit says of each of them."""

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from ..wear.among_like import MANY_TIMES, Rank, Selection, rank_of, selection_of, times_the_spread
from ..wear.bends import BentFit
from ..wear.measured import Measured, minus
from ..wear.pool.fit import PoolFit, Starts
from ..wear.pool.line import PartLine
from ..wear.pool.numbers import PoolPart
from ..wear.pool.priors import Frame as Known
from ..wear.pool.sample import GroupLines, sample_of
from ..wear.pool.summary import JointSummary
from .candidates import Candidate, Member
from .kept_fits import NOTHING_KEPT, KindFit, Store, plain_fit, straight_fit
from .series import Frame
from .story import NO_WEAR, Jump, Wear

STANDS_OUT = 2.0  # times the spread of a kind with the part itself in it
FEWEST_OTHERS = 2  # parts that show what their kind does, beside the one that is looked at
FIT: Final = "fit"  # stands in a pool's name where that of a part's has its kind
KEEP = 0.9  # the chance that is wanted where the plan names none


class Size(Struct, frozen=True):
    """How many parts or pairs a pool has, and how many were measured; and how many members speak for it: None is all.

    `is_suspicious`: whether any sheet was written out of worry.
    """

    parts: int
    measured: int
    most: int | None
    is_suspicious: bool


@dataclass(frozen=True, eq=False)  # no struct: these go to another process with every field
class Pool:
    """Candidates of one kind and dimension, what is known of it beside readings, and its fit.

    Of a large pool the candidates are those that speak for it, and the reader's own: its `size` counts them all.
    `behind`: the whole kind, where the reader sees no more of it than their own. No figure of it is told; it only
    settles which readings moved far more than the kind does.
    """

    key: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    known: Known
    standard: float  # the middle of a new one's range
    size: Size
    store: Store = NOTHING_KEPT
    behind: "Pool | None" = None

    def __getstate__(self) -> dict[str, Any]:
        """For another process: the fit, without the candidates that it was made from, which are most of a pool.

        Whoever asks for these there fails.
        """
        told = ("key", "known", "standard", "size", "_kind", "_by_id")
        return {name: getattr(self, name) for name in told}

    @cached_property
    def parts(self) -> dict[Member, PoolPart]:
        """Every member with its readings."""
        return dict(member for candidate in self.candidates for member in candidate.members())

    @cached_property
    def _kind(self) -> KindFit | None:
        return straight_fit(list(self.parts.values()), self._speakers, self.known, self.starts, self.store)

    @property
    def fit(self) -> BentFit | None:
        """The joint fit, from the later readings alone where a constant rate does not fit; None with no reading."""
        return self._kind.bent if self._kind is not None else None

    @property
    def common(self) -> tuple[Hashable, ...]:
        """The sources that readings share over the whole pool, in the order of the fit."""
        return self._kind.common if self._kind is not None else ()

    def tied(self, members: Iterable[PoolPart]) -> Iterator[PoolPart]:
        """The pool's parts as they were fitted; of a large pool those that share a gauge's zero with any of these."""
        assert self.fit is not None  # it gave the lines
        lines = self.fit.fit.lines
        if not isinstance(lines, GroupLines):
            yield from self.fit.parts
            return
        for member in members:
            if member.id in self._by_id:
                yield from lines.group(member.id)

    @cached_property
    def _by_id(self) -> dict[str, PoolPart]:
        """Members as they were fitted."""
        return {part.id: part for part in self.fit.parts} if self.fit is not None else {}

    @cached_property
    def _candidates(self) -> dict[Hashable, Candidate]:
        return {one.id: one for one in self.candidates}

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
        if not self.size.is_suspicious:
            return None
        parts = [part for c in self.candidates for _, part in c.members(only_calm=True)]
        return plain_fit(parts, self._speakers, self.known, self.starts, self.store)

    @cached_property
    def _speakers(self) -> frozenset[str] | None:
        """Of a large pool the members that speak for it; None where all do."""
        if self.size.most is None:
            return None
        return frozenset(part.id for part in sample_of(list(self.parts.values()), self.size.most) if part.readings)

    @cached_property
    def _paces(self) -> dict[Hashable, float]:
        """How fast each part that was fitted wears on its present baseline, without its sign."""
        slopes = self._kind.slopes if self._kind is not None else {}
        now = ((one.id, self.parts.get((one.id, one.baseline.number))) for one in self.measured)
        return {id: abs(slopes[part.id]) for id, part in now if part is not None and part.id in slopes}

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
        return self.fit.fit.summary.lines([part], self.common).get(part.id)

    def part(self, wear: Wear) -> PoolPart:
        """A member as it was fitted."""
        return self._by_id[wear.member]

    def wear_of(self, id: Hashable, number: int, frame: Frame) -> Wear:
        """What the pool says of one part or pair on one of its baselines."""
        if frame.wears == "none" or self.fit is None:
            return NO_WEAR
        line = self.line((id, number))
        return Wear(
            line=line,
            pool=self.key,
            member=self.parts[id, number].id if (id, number) in self.parts else "",
            parts=self.size.measured,
            of=self.size.parts,
            summary=self.digest,
            bend=self.fit.bend,
            since=self.fit.since,
            rank=self._rank(id, line) if line is not None and line.n > 0 else None,
            selection=self._selection((id, number), line, frame),
            jumps=self.jumps(id, number),
        )

    def _rank(self, id: Hashable, line: PartLine) -> Rank | None:
        """Its place among the rates of the others, 1 the fastest; alone it has none. Of a large pool, of a sample."""
        others = [pace for other, pace in self._paces.items() if other != id]
        return rank_of(self._paces.get(id, abs(line.slope)), others) if others else None

    def _selection(self, member: Member, line: PartLine | None, frame: Frame) -> Selection | None:
        """The answer without suspicious sheets, where it is another."""
        if line is None or line.n == 0 or self._without is None:
            return None
        end = frame.now + frame.plan - self._start(member)
        without = self._without.lines.get(self.parts[member].id)
        found = selection_of(line, without, frame.limit, end, frame.keep or KEEP, frame.confidence)
        return found if found.changes else None

    def jumps(self, id: Hashable, number: int) -> tuple[Jump, ...]:
        """Readings of a member that moved far more than its kind; how many times is told to who sees the kind."""
        if self.behind is None:
            return tuple(self._jumps(id, number))
        return tuple(replace(one, times=None) for one in self.behind.jumps(id, number))

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
        fit = plain_fit(parts, self._speakers, self.known, self.starts, self.store)
        return fit.summary if fit is not None and fit.summary.known.has_rate else None

    def _candidate(self, id: Hashable) -> Candidate | None:
        return self._candidates.get(id)

    def _start(self, member: Member) -> float:
        candidate = self._candidate(member[0])
        return (candidate.baseline.start or 0.0) if candidate is not None else 0.0
