"""Did a change help: the shop's recipes and the rows of its pools in, each change with its answer out.

Every change of a fluid from one name to another is one question, over all engines that made it. What the parts wore
between two readings counts on a side where the fluid was the one or the other throughout; each part is its own control.
Whether wear was lower is for `wear.change` to say. Run-in is what the kind's bend shows as such on the fluid before,
where the change itself bends nothing: readings before the exposure from which that line holds.
"""

import re
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from operator import itemgetter

from ..records.load import SheetRecord
from ..records.log import LogLine
from ..records.moments import Moment
from ..records.sheet import FAILED, GOES_OUT
from ..records.slots import kind_name
from ..wear.bends import fit_where_straight
from ..wear.change import ChangeAnswer, weigh_change
from ..wear.intervals import ChangeSide, Increment, SheetReading
from ..wear.measured import Measured
from .book import Book
from .lives import LAST
from .meanwhile import meanwhile_of
from .pools import Candidate, Member, Pool, Pools, common_of
from .recipes import Filled, Recipe, Run, Stretch, recipe_of
from .series import Dated, starts_of
from .told_changes import ChangeMade, ChangeStory, IntervalUsed, KindAnswer, WearLeftOut

HARDLY = 1e-9
# A reason that speaks of what was found makes the change a selection: the next finding would look better by itself.
SPEAKS_OF_FINDINGS = re.compile(r"\b(worn|wear\w*|look\w*|metal|scor\w*|damag\w*|fail\w*|pitt\w*|bad|burn\w*)\b", re.I)


@dataclass(frozen=True, slots=True)
class Worn:
    """What one dimension of one part wore between two readings: in which runs, on which fluids."""

    pool: Pool
    part: str
    dimension: str
    rows: tuple[Dated, Dated]
    runs: tuple[Run, ...]
    usual: float
    start: float

    @property
    def began_at(self) -> float:
        """The exposure since the baseline at the first of the two readings."""
        return self.rows[0].exposure - self.start

    @property
    def names(self) -> Mapping[str, frozenset[str]]:
        """Every fluid with the names under which it was in."""
        out: dict[str, set[str]] = {}
        for run in self.runs:
            for fluid, name in run.recipe:
                out.setdefault(fluid, set()).add(name)
        return {fluid: frozenset(names) for fluid, names in out.items()}

    def increment(self, side: ChangeSide, *, mixed: bool, run_in: bool) -> Increment:
        """As `wear.change` takes it."""
        amounts: dict[Hashable, float] = {}
        for run in self.runs:
            amounts[run.stretch] = amounts.get(run.stretch, 0.0) + run.amount
        first, last = (SheetReading(row.sheet.path, row.read.at_20) for row in self.rows if row.read.at_20 is not None)
        part = (self.part, self.dimension)
        return Increment(part, side, amounts, first, last, self.usual, run_in=run_in, mixed_recipe=mixed)


def changes_of(book: Book, pools: Pools, confidence: float) -> tuple[ChangeStory, ...]:
    """Every change of a fluid in the shop, by fluid and name."""
    recipes = {
        records.id: recipe_of(book, records, family.exposure)
        for records in book.checked.engines()
        if (family := book.checked.shop.family_of(records.id)) is not None
    }
    made: dict[tuple[str, str, str], list[tuple[Recipe, Filled]]] = {}
    for recipe in recipes.values():
        for one, before in recipe.changes():
            made.setdefault((one.fluid, before, one.name), []).append((recipe, one))
    worn, flat = _worn_in(book, pools, recipes) if made else ([], ())
    return tuple(
        _change(book, key, [_made(book, *one) for one in those], worn, flat, confidence)
        for key, those in sorted(made.items())
    )


def _worn_in(book: Book, pools: Pools, recipes: Mapping[str, Recipe]) -> tuple[list[Worn], tuple[str, ...]]:
    """All increments of the shop, and the kinds that show no wear to compare."""
    worn: list[Worn] = []
    flat: list[str] = []
    for key, pool in pools.all().items():
        if key[1] == "fit" or "." in key[2]:  # a clearance and a difference of readings are worn by their parts
            continue
        usual = pool.usual_rate
        if usual is None:
            flat += [f"{_kind(book, key)}, {key[2].replace('_', ' ')}"] if pool.measured else []
            continue
        for candidate in pool.measured:
            worn += _of_candidate(book, pool, candidate, usual, recipes)
    return worn, tuple(flat)


def _of_candidate(
    book: Book, pool: Pool, candidate: Candidate, usual: float, recipes: Mapping[str, Recipe]
) -> Iterator[Worn]:
    part, dimension = _names(candidate)
    starts = starts_of(candidate.dated, candidate.baseline)
    rows = [row for row in candidate.dated if not row.in_doubt and row.read.at_20 is not None]
    for before, row in pairwise(rows):
        if before.baseline != row.baseline or row.exposure - before.exposure <= HARDLY:
            continue
        runs = tuple(_runs(book, part, (_moment(book, before), _moment(book, row)), recipes))
        if runs:
            yield Worn(pool, part, dimension, (before, row), runs, usual, starts[before.baseline])


def _runs(book: Book, part: str, span: tuple[Moment, Moment], recipes: Mapping[str, Recipe]) -> Iterator[Run]:
    """The runs of a part between two moments, in whatever engines it was."""
    for stay in book.lives.of(part).stays:
        began, ended = max(span[0], stay.began), min(span[1], stay.ended or LAST)
        recipe = recipes.get(stay.engine)
        yield from (run for run in recipe.runs if began < run.moment <= ended) if recipe else ()


def _change(
    book: Book, key: tuple[str, str, str], made: Sequence[ChangeMade], worn: Sequence[Worn], flat: tuple[str, ...],
    confidence: float,
) -> ChangeStory:  # fmt: skip
    fluid, before, after = key
    sides = [(one, side, mixed) for one in worn if (side := _side(one, key)) is not None for mixed in (_mixed(one),)]
    since = _run_in(key, worn)
    increments = {
        id(one): one.increment(side, mixed=mixed, run_in=one.began_at < since.get(one.pool.key, 0.0) - HARDLY)
        for one, side, mixed in sides
    }
    selected = any(one.looked_bad for one in made)
    answer = weigh_change(list(increments.values()), confidence, selected)
    used = {id(one) for one in answer.used}
    counted = [(one, side) for one, side, _ in sides if id(increments[id(one)]) in used]
    return ChangeStory(
        fluid=fluid,
        before=before,
        after=after,
        unit=_unit(book, worn),
        made=tuple(made),
        answer=answer,
        kinds=tuple(_kinds(book, sides, increments, confidence, selected=selected)),
        intervals=tuple(_intervals(counted)),
        left_out=tuple(_left_out(sides, increments, answer)),
        meanwhile=meanwhile_of(book, fluid, [(one.runs, side, one.names) for one, side in counted]),
        unknown_rate=flat,
    )


def _side(worn: Worn, key: tuple[str, str, str]) -> ChangeSide | None:
    """On which side of a change an increment lies; None where it has nothing to do with either."""
    fluid, before, after = key
    names = worn.names.get(fluid, frozenset())
    if names == {before}:
        return "before"
    return "after" if after in names and names <= {before, after} else None


def _run_in(key: tuple[str, str, str], worn: Sequence[Worn]) -> dict[tuple[str, ...], float]:
    """Of each pool that bends, the exposure up to which it ran in, by what was read on the fluid before alone."""
    out = {}
    for pool in dict.fromkeys(one.pool for one in worn):
        if pool.fit is None or pool.fit.since == 0.0:
            continue
        readings: dict[Member, dict[float, Measured]] = {}
        for one in worn:
            if one.pool is pool and _side(one, key) == "before" and not _mixed(one):
                of = readings.setdefault(((one.part, one.dimension), one.rows[0].baseline), {})
                of |= {row.exposure - one.start: row.read.at_20 for row in one.rows if row.read.at_20 is not None}
        parts = [
            replace(pool.parts[member], readings=tuple(sorted(of.items(), key=itemgetter(0))))
            for member, of in readings.items()
        ]
        alone = fit_where_straight(parts, pool.known, pool.starts, common_of(parts))
        out[pool.key] = alone.since if alone is not None else 0.0
    return out


def _mixed(worn: Worn) -> bool:
    return any(len(names) > 1 for names in worn.names.values())


def _kinds(
    book: Book, sides: Sequence[tuple[Worn, ChangeSide, bool]], increments: Mapping[int, Increment], confidence: float,
    *, selected: bool,
) -> Iterator[KindAnswer]:  # fmt: skip
    """The answer of each kind and dimension by itself, where it counts on both sides."""
    keys = dict.fromkeys(one.pool.key for one, _, _ in sides)
    for key in sorted(keys):
        mine = [one for one, _, _ in sides if one.pool.key == key]
        answer = weigh_change([increments[id(one)] for one in mine], confidence, selected)
        if answer.used:
            family = book.checked.shop.families[key[0]].it
            unit = next(d.unit for name, d in (family.kinds[key[1]].dimensions or {}).items() if name == _own(mine[0]))
            yield KindAnswer(key[1], _kind(book, key), key[2].replace("_", " "), unit, mine[0].usual, answer)


def _own(worn: Worn) -> str:
    """The dimension as the family writes it, without its station."""
    return worn.dimension.split("@")[0]


def _intervals(counted: Sequence[tuple[Worn, ChangeSide]]) -> Iterator[IntervalUsed]:
    """The engines' intervals that count, in order of time."""
    found: dict[Stretch, tuple[ChangeSide, list[Run], int]] = {}
    for worn, side in counted:
        for stretch in dict.fromkeys(run.stretch for run in worn.runs):
            known = found.setdefault(stretch, (side, [], 0))
            runs = [*known[1], *(run for run in worn.runs if run.stretch == stretch and run not in known[1])]
            found[stretch] = side, runs, known[2] + 1
    for (engine, _), (of, ran, count) in sorted(found.items()):
        days = [date.fromordinal(run.moment[0]) for run in ran]
        yield IntervalUsed(engine, min(days), max(days), of, sum(run.amount for run in ran), count)


def _left_out(
    sides: Sequence[tuple[Worn, ChangeSide, bool]], increments: Mapping[int, Increment], answer: ChangeAnswer
) -> Iterator[WearLeftOut]:
    whys = {id(one.increment): one.why for one in answer.left_out}
    for worn, _, _ in sides:
        why = whys.get(id(increments[id(worn)]))
        if why is not None:
            yield WearLeftOut(worn.part, worn.dimension, worn.rows[0].sheet.day, worn.rows[1].sheet.day, why)


def _made(book: Book, recipe: Recipe, one: Filled) -> ChangeMade:
    """The change in one engine, and what makes it a selection."""
    line = next((line for line in _lines(book, recipe.engine) if _says(line, one)), None)
    why = (line.why or line.note) if line is not None else None
    bad = list(_looked_bad(book, recipe, one.moment))
    if why is not None and SPEAKS_OF_FINDINGS.search(why):
        bad.append("the reason written speaks of what was found")
    return ChangeMade(recipe.engine, date.fromordinal(one.moment[0]), why, one.source, tuple(bad))


def _lines(book: Book, engine: str) -> Iterator[LogLine]:
    return (entry.line for _, entry, _ in book.ledgers[engine].lines)


def _says(line: LogLine, one: Filled) -> bool:
    """Whether a log line tells of the change: it names the fluid on that day, on which a build sheet may come first."""
    written = line.fluids.written() if line.fluids is not None else {}
    return line.date.day.toordinal() == one.moment[0] and written.get(one.fluid) == one.name


def _looked_bad(book: Book, recipe: Recipe, moment: Moment) -> Iterator[str]:
    """Incidents since the sheet before the last one, and parts that went out worn or damaged at the last one."""
    sheets = [sheet for sheet in book.checked.shop.engines[recipe.engine].sheets if book.moment(sheet) <= moment]
    strips = sorted((sheet for sheet in sheets if sheet.kind == "teardown"), key=lambda sheet: book.nth[sheet.path])
    since = book.moment(strips[-2]) if len(strips) > 1 else (0, 0, 0)
    for at, entry, _ in book.ledgers[recipe.engine].lines:
        if entry.line.kind == "incident" and since < at <= moment:
            yield f"{(entry.line.what or 'incident').replace('_', '-')} on {entry.line.date.day.isoformat()}"
    if strips:
        yield from _went_out(strips[-1])


def _went_out(sheet: SheetRecord) -> Iterator[str]:
    for place, line in (sheet.it.positions or {}).items():
        if line is not None and line.decision in GOES_OUT and line.because in FAILED:
            yield f"{place.replace('-', ' ')} went out {line.because} on {sheet.day.isoformat()}"


def _names(candidate: Candidate) -> tuple[str, str]:
    part, dimension = candidate.id if isinstance(candidate.id, tuple) else (candidate.id, "")
    return str(part), str(dimension)


def _moment(book: Book, row: Dated) -> Moment:
    return book.moment(book.checked.resolved[row.sheet.path].sheet)


def _kind(book: Book, key: tuple[str, ...]) -> str:
    return kind_name(book.checked.shop.families[key[0]].it, key[1])


def _unit(book: Book, worn: Iterable[Worn]) -> str:
    """The exposure that the runs are counted in: that of the first family."""
    first = next(iter(worn), None)
    return book.checked.shop.families[first.pool.key[0]].it.exposure if first is not None else "hours"
