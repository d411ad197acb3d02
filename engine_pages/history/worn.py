"""What parts wore between two readings, and on what: the rows of the pools in, increments with their runs out.

Two readings are needed for an increment: nothing is reckoned from the range of new parts.
"""

from collections.abc import Hashable, Iterable, Iterator, Mapping
from functools import cached_property
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from ..records.moments import Moment
from ..records.slots import kind_name
from ..wear.intervals import ChangeSide, Increment, SheetReading
from ..wear.limits import ONE_SIDED_95
from ..wear.pool.line import PartLine
from .book import Book
from .candidates import Candidate
from .gathering import subjects_of
from .lives import LAST
from .pool import Pool
from .pools import Pools
from .recipes import RECIPE, Recipe, Run, Sheets
from .series import Dated, starts_of

HARDLY = 1e-9
FEWEST_FOR_A_RATE = 2  # readings of a part itself
CONFIDENCE = 0.9  # of a part's own rate, two-sided: as ONE_SIDED_95 of the mean


class Worn(Struct, frozen=True, eq=False, dict=True):
    """What one dimension of one part wore between two readings: in which runs, on which fluids."""

    pool: Pool
    part: str
    dimension: str
    rows: tuple[Dated, Dated]
    usual: float
    start: float
    runs: tuple[Run, ...] = ()

    @property
    def began_at(self) -> float:
        """The exposure since the baseline at the first of the two readings."""
        return self.rows[0].exposure - self.start

    @cached_property
    def names(self) -> Mapping[str, frozenset[str]]:
        """Every fluid with the names under which it was in."""
        out: dict[str, set[str]] = {}
        for run in self.runs:
            for fluid, name in run.recipe:
                out.setdefault(fluid, set()).add(name)
        return {fluid: frozenset(names) for fluid, names in out.items()}

    def several(self, fluid: str) -> tuple[str, ...]:
        """The fluids of the recipe of which it ran on several; that which is asked about also where one is unknown."""
        found = {one for one, names in self.names.items() if len(names) > 1 and one in RECIPE | {fluid}}
        unknown = any(all(one != fluid for one, _ in run.recipe) for run in self.runs)
        return tuple(sorted(found | {fluid} if unknown else found))

    def increment(self, side: ChangeSide, sheets: Sheets, *, mixed: bool, run_in: bool) -> Increment:
        """As `wear.change` takes it, in the intervals between these sheets."""
        amounts: dict[Hashable, float] = {}
        for run in self.runs:
            interval = sheets.interval(run)
            amounts[interval] = amounts.get(interval, 0.0) + run.amount
        first, last = (SheetReading(row.sheet.path, row.read.at_20) for row in self.rows if row.read.at_20 is not None)
        part = (self.part, self.dimension)
        return Increment(part, side, amounts, first, last, self.usual, run_in=run_in, mixed_recipe=mixed)


def pools_of(book: Book, pools: Pools, kind: str | None) -> tuple[Pool, ...]:
    """The pools of every dimension of every part, or of one kind; not of differences of readings: their parts wear."""
    found: dict[tuple[str, ...], Pool] = {}
    for part in book.checked.fitting.parts.values():
        record = book.checked.shop.families.get(part.family)
        if record is not None and kind in (None, part.kind):
            for subject in subjects_of(record.it.kinds[part.kind]):
                if subject.form is None:
                    pool = pools.of_part(record.it, part, subject)
                    found[pool.key] = pool
    return tuple(pool for _, pool in sorted(found.items()))


def read_in(pools: Iterable[Pool]) -> tuple[list[Worn], list[Pool]]:
    """What was read of the parts of these pools, two readings at a time, and the pools that show no wear to compare."""
    read: list[Worn] = []
    flat: list[Pool] = []
    for pool in pools:
        usual = usual_rate(pool) if pool.measured else None
        if usual is not None:
            read += [one for candidate in pool.measured for one in _of_candidate(pool, candidate, usual)]
        elif pool.measured:
            flat.append(pool)
    return read, flat


def usual_rate(pool: Pool) -> float | None:
    """A kind's mean rate, value's unit per exposure; None where wear does not show in it.

    It shows where the mean's interval leaves out zero. Of two or three parts that interval is wide however plain the
    wear of each, since little is known of how parts differ: so it shows too where most of the parts that were read
    twice leave out zero by themselves, all to one side.
    """
    if pool.fit is None or not pool.fit.fit.summary.known.has_rate:
        return None
    of = pool.fit.fit.summary
    w, rates, spread = of.weights, of.mean[:, 1], of.covariance[:, 1, 1]
    mean = float(w @ rates)
    sd = float(w @ (spread + (rates - mean) ** 2)) ** 0.5
    return mean if abs(mean) > ONE_SIDED_95 * sd or _most_wear(pool.fit.fit.lines.values(), mean) else None


def _most_wear(lines: Iterable[PartLine], mean: float) -> bool:
    """Whether most parts with readings of their own for a rate wear the way that their mean does."""
    rates = [line.rate(CONFIDENCE) for line in lines if line.n >= FEWEST_FOR_A_RATE]
    plain = [rate for rate in rates if not rate.holds(0.0)]
    return 2 * len(plain) > len(rates) and all(rate.value * mean > 0.0 for rate in plain)


def _of_candidate(pool: Pool, candidate: Candidate, usual: float) -> Iterator[Worn]:
    part, dimension = _names(candidate)
    starts = starts_of(candidate.dated, candidate.baseline)
    rows = [row for row in candidate.dated if not row.in_doubt and row.read.at_20 is not None]
    for before, row in pairwise(rows):
        if before.baseline == row.baseline and row.exposure - before.exposure > HARDLY:
            yield Worn(pool, part, dimension, (before, row), usual, starts[before.baseline])


def _names(candidate: Candidate) -> tuple[str, str]:
    part, dimension = candidate.id if isinstance(candidate.id, tuple) else (candidate.id, "")
    return str(part), str(dimension)


def with_runs(book: Book, read: Iterable[Worn], recipes: Mapping[str, Recipe]) -> Iterator[Worn]:
    """Each with the runs between its readings; without one it says nothing of any recipe."""
    for one in read:
        first, last = (moment_of(book, row) for row in one.rows)
        runs = tuple(_runs(book, one.part, (first, last), recipes))
        if runs:
            yield replace(one, runs=runs)


def _runs(book: Book, part: str, span: tuple[Moment, Moment], recipes: Mapping[str, Recipe]) -> Iterator[Run]:
    """The runs of a part between two moments, in whatever engines it was."""
    for stay in book.lives.of(part).stays:
        began, ended = max(span[0], stay.began), min(span[1], stay.ended or LAST)
        recipe = recipes.get(stay.engine)
        yield from (run for run in recipe.runs if began < run.moment <= ended) if recipe else ()


def sheets_of(book: Book, worn: Iterable[Worn]) -> Sheets:
    """The sheets that increments begin and end with."""
    rows = {row.sheet.path: row for one in worn for row in one.rows}
    return Sheets((moment_of(book, row), row.sheet) for row in rows.values())


def moment_of(book: Book, row: Dated) -> Moment:
    """When a reading was written."""
    return book.moment(book.checked.resolved[row.sheet.path].sheet)


def named(book: Book, pool: Pool) -> tuple[str, str]:
    """A pool's kind and dimension, as they are read."""
    return kind_name(book.checked.shop.families[pool.key[0]].it, pool.key[1]), pool.key[2].replace("_", " ")
