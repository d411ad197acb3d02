"""Did a change help: the shop's recipes and the rows of its pools in, each change with its answer out.

Every change of a fluid from one name to another is one question, over all engines that made it. What the parts wore
between two readings counts on a side where the fluid was the one or the other throughout, and the rest of the recipe
one; each part is its own control. Whether wear was lower is for `wear.change` to say.

Two readings are needed for an increment: nothing is reckoned from the range of new parts. Run-in is what the kind's
bend shows as such on the fluid before, where the change itself bends nothing: what begins at an exposure before that
from which the kind's line holds. A kind that shows no bend has no run-in.
"""

import re
from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from itertools import pairwise
from operator import itemgetter

from ..records.family import Family
from ..records.load import EngineRecords, SheetRecord
from ..records.log import LogLine
from ..records.moments import Moment
from ..records.sheet import FAILED, GOES_OUT
from ..records.slots import kind_name, slots_of
from ..wear.bends import fit_where_straight
from ..wear.change import ChangeAnswer, weigh_change
from ..wear.intervals import ChangeSide, Increment, SheetReading, WhyOut, sorted_out
from ..wear.measured import Measured
from .book import Book
from .lives import FIRST, LAST
from .meanwhile import meanwhile_of
from .pools import Candidate, Member, Pool, Pools, common_of
from .recipes import RECIPE, Filled, Interval, Recipe, Run, Sheets, changes_in, filled_in, recipe_of, renewed, what_for
from .series import Dated, starts_of
from .told_changes import ChangeMade, ChangeStory, IntervalOut, IntervalUsed, KindAnswer, KindId, WearLeftOut

HARDLY = 1e-9
# A reason that speaks of what was found makes the change a selection: the next finding would look better by itself.
SPEAKS_OF_FINDINGS = re.compile(r"\b(worn|wear\w*|look\w*|metal|scor\w*|damag\w*|fail\w*|pitt\w*|bad|burn\w*)\b", re.I)


@dataclass(frozen=True, eq=False)
class Worn:
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


Sided = tuple[Worn, ChangeSide]


@dataclass(frozen=True)
class Weighed:
    """An answer with what counts in it, what does not and why, and the sheets that its intervals lie between."""

    answer: ChangeAnswer
    counted: Sequence[Sided]
    out: Sequence[tuple[Worn, str]]
    sheets: Sheets


def changes_of(book: Book, pools: Pools, confidence: float) -> tuple[ChangeStory, ...]:
    """Every change of a fluid in the shop, by fluid and name."""
    made: dict[tuple[str, str, str], list[tuple[str, Filled]]] = {}
    for records, _ in _engines(book):
        for one, before in changes_in(filled_in(book, records)):
            made.setdefault((one.fluid, before, one.name), []).append((records.id, one))
    read, flat = _read_in(book, pools) if made else ([], ())
    known: dict[frozenset[str], tuple[dict[str, Recipe], list[Worn]]] = {}
    out = []
    for key, those in sorted(made.items()):
        parting = RECIPE | {key[0]}
        if parting not in known:
            recipes = {one.id: recipe_of(book, one, family.exposure, parting) for one, family in _engines(book)}
            known[parting] = recipes, list(_with_runs(book, read, recipes))
        out.append(_change(book, key, [_made(book, *one) for one in those], *known[parting], flat, confidence))
    return tuple(out)


def _engines(book: Book) -> Iterator[tuple[EngineRecords, Family]]:
    """Every engine whose family is written."""
    for records in book.checked.engines():
        family = book.checked.shop.family_of(records.id)
        if family is not None:
            yield records, family


def _read_in(book: Book, pools: Pools) -> tuple[list[Worn], tuple[str, ...]]:
    """What was read of the shop's parts, two readings at a time, and the kinds that show no wear to compare."""
    read: list[Worn] = []
    flat: list[str] = []
    for key, pool in pools.all().items():
        if key[1] == "fit" or "." in key[2]:  # a clearance and a difference of readings are worn by their parts
            continue
        usual = pool.usual_rate
        if usual is None:
            flat += [f"{_kind(book, key)}, {key[2].replace('_', ' ')}"] if pool.measured else []
            continue
        for candidate in pool.measured:
            read += _of_candidate(pool, candidate, usual)
    return read, tuple(flat)


def _of_candidate(pool: Pool, candidate: Candidate, usual: float) -> Iterator[Worn]:
    part, dimension = _names(candidate)
    starts = starts_of(candidate.dated, candidate.baseline)
    rows = [row for row in candidate.dated if not row.in_doubt and row.read.at_20 is not None]
    for before, row in pairwise(rows):
        if before.baseline == row.baseline and row.exposure - before.exposure > HARDLY:
            yield Worn(pool, part, dimension, (before, row), usual, starts[before.baseline])


def _with_runs(book: Book, read: Iterable[Worn], recipes: Mapping[str, Recipe]) -> Iterator[Worn]:
    """Each with the runs between its readings; without one it says nothing of any recipe."""
    for one in read:
        first, last = (_moment(book, row) for row in one.rows)
        runs = tuple(_runs(book, one.part, (first, last), recipes))
        if runs:
            yield replace(one, runs=runs)


def _runs(book: Book, part: str, span: tuple[Moment, Moment], recipes: Mapping[str, Recipe]) -> Iterator[Run]:
    """The runs of a part between two moments, in whatever engines it was."""
    for stay in book.lives.of(part).stays:
        began, ended = max(span[0], stay.began), min(span[1], stay.ended or LAST)
        recipe = recipes.get(stay.engine)
        yield from (run for run in recipe.runs if began < run.moment <= ended) if recipe else ()


def _change(
    book: Book, key: tuple[str, str, str], made: Sequence[ChangeMade], recipes: Mapping[str, Recipe],
    worn: Sequence[Worn], flat: tuple[str, ...], confidence: float,
) -> ChangeStory:  # fmt: skip
    fluid, before, after = key
    sides = [(one, side) for one in worn if (side := _side(one, key)) is not None]
    since = _run_in(key, worn)
    whys = [_why_out(one, fluid, since) for one, _ in sides]
    weighed = _weigh(book, sides, whys, confidence, selected=any(one.looked_bad for one in made))
    beside = [(one.runs, side, one.names) for one, side in weighed.counted or sides]
    return ChangeStory(
        fluid=fluid,
        before=before,
        after=after,
        unit=_unit(book, worn),
        made=tuple(made),
        answer=weighed.answer,
        kinds=tuple(_kinds(book, list(zip(sides, whys, strict=True)), confidence, made)),
        intervals=tuple(_intervals(weighed)),
        left_out=tuple(
            WearLeftOut(one.part, one.dimension, one.rows[0].sheet.day, one.rows[1].sheet.day, why)
            for one, why in weighed.out
        ),
        intervals_out=tuple(_intervals_out(book, weighed.out, fluid)),
        meanwhile=(*meanwhile_of(book, fluid, beside), *what_for(beside), *renewed(book, recipes, beside)),
        unknown_rate=flat,
    )


def _why_out(worn: Worn, fluid: str, since: Mapping[tuple[str, ...], float]) -> WhyOut | None:
    if worn.began_at < since.get(worn.pool.key, 0.0) - HARDLY:
        return "run-in"
    return "more than one recipe" if worn.several(fluid) else None


def _weigh(
    book: Book, sides: Sequence[Sided], whys: Sequence[WhyOut | None], confidence: float, *, selected: bool
) -> Weighed:
    """The answer of increments of which some are out already, in the intervals between the sheets that count in it.

    A sheet on which only something was read that does not count parts no interval.
    """
    every = _sheets_of(book, [one for one, _ in sides])
    first = [
        one.increment(side, every, mixed=why == "more than one recipe", run_in=why == "run-in")
        for (one, side), why in zip(sides, whys, strict=True)
    ]
    used, left_out = sorted_out(first)
    ids, reasons = {id(one) for one in used}, {id(one.increment): one.why for one in left_out}
    counted = [sided for sided, one in zip(sides, first, strict=True) if id(one) in ids]
    out = [(one, reasons[id(each)]) for (one, _), each in zip(sides, first, strict=True) if id(each) in reasons]
    sheets = _sheets_of(book, [one for one, _ in counted])
    answer = weigh_change(
        [one.increment(side, sheets, mixed=False, run_in=False) for one, side in counted], confidence, selected
    )
    return Weighed(replace(answer, left_out=left_out), counted, out, sheets)


def _side(worn: Worn, key: tuple[str, str, str]) -> ChangeSide | None:
    """On which side of a change an increment lies; None where it has nothing to do with either."""
    fluid, before, after = key
    names = worn.names.get(fluid, frozenset())
    if after in names:
        return "after"
    return "before" if before in names else None


def _run_in(key: tuple[str, str, str], worn: Sequence[Worn]) -> dict[tuple[str, ...], float]:
    """Of each pool that bends, the exposure up to which it ran in, by what was read on the fluid before alone."""
    out = {}
    for pool in dict.fromkeys(one.pool for one in worn):
        since = 0.0 if pool.fit is None else pool.fit.since
        if not any(one.pool is pool and one.began_at < since - HARDLY for one in worn):
            continue  # it does not bend, or nobody read it while it did
        readings: dict[Member, dict[float, Measured]] = {}
        for one in worn:
            if one.pool is pool and _side(one, key) == "before" and not one.several(key[0]):
                of = readings.setdefault(((one.part, one.dimension), one.rows[0].baseline), {})
                of |= {row.exposure - one.start: row.read.at_20 for row in one.rows if row.read.at_20 is not None}
        parts = [
            replace(pool.parts[member], readings=tuple(sorted(of.items(), key=itemgetter(0))))
            for member, of in readings.items()
        ]
        alone = fit_where_straight(parts, pool.known, pool.starts, common_of(parts))
        out[pool.key] = alone.since if alone is not None else 0.0
    return out


def _kinds(
    book: Book, sides: Sequence[tuple[Sided, WhyOut | None]], confidence: float, made: Sequence[ChangeMade]
) -> Iterator[KindAnswer]:
    """The answer of each kind and dimension by itself, where it counts on both sides."""
    for key in sorted({one.pool.key for (one, _), _ in sides}):
        mine = [(sided, why) for sided, why in sides if sided[0].pool.key == key]
        selected = any(one.selects((key[0], key[1])) for one in made)
        answer = _weigh(book, [one for one, _ in mine], [why for _, why in mine], confidence, selected=selected).answer
        if answer.used:
            family, first = book.checked.shop.families[key[0]].it, mine[0][0][0]
            unit = next(d.unit for name, d in (family.kinds[key[1]].dimensions or {}).items() if name == _own(first))
            yield KindAnswer(key[1], _kind(book, key), key[2].replace("_", " "), unit, first.usual, answer)


def _own(worn: Worn) -> str:
    """The dimension as the family writes it, without its station."""
    return worn.dimension.split("@")[0]


def _intervals(weighed: Weighed) -> Iterator[IntervalUsed]:
    """The engines' intervals that count, in order of time."""
    found: dict[Interval, tuple[ChangeSide, dict[Run, None], list[Worn]]] = {}
    for worn, side in weighed.counted:
        for run in worn.runs:
            _, runs, those = found.setdefault(weighed.sheets.interval(run), (side, {}, []))
            runs[run] = None
            if not those or those[-1] is not worn:
                those.append(worn)
    for (engine, _, _), (of, runs, those) in sorted(found.items(), key=lambda one: one[0]):
        moments = sorted(run.moment for run in runs)
        first, last = weighed.sheets.around(engine, moments[0], moments[-1])
        began, ended = (date.fromordinal(moments[n][0]) for n in (0, -1))
        yield IntervalUsed(engine, began, ended, of, sum(run.amount for run in runs), len(those), first, last)


def _intervals_out(book: Book, out: Sequence[tuple[Worn, str]], fluid: str) -> Iterator[IntervalOut]:
    """What does not count, by the two sheets that it lies between and by why, in order of time."""
    found: dict[tuple[str, str, str, str], list[Worn]] = defaultdict(list)
    for one, why in out:
        more = ", ".join(one.several(fluid)) if why == "more than one recipe" else ""
        found[one.rows[0].sheet.path, one.rows[1].sheet.path, why, more].append(one)
    order = sorted(found.items(), key=lambda one: ([book.nth[path] for path in one[0][:2]], one[0][2:]))
    for (_, _, why, more), those in order:
        first, last = (row.sheet for row in those[0].rows)
        yield IntervalOut(first, last, why, more, tuple(sorted({one.part for one in those})), len(those))


def _made(book: Book, engine: str, one: Filled) -> ChangeMade:
    """The change in one engine, and what makes it a selection."""
    line = next((line for line in _lines(book, engine) if _says(line, one)), None)
    why = (line.why or line.note) if line is not None else None
    strips = _strips(book, engine, one.moment)
    incidents = tuple(_incidents(book, engine, strips, one.moment))
    went = tuple(_went_out(book, strips[-1])) if strips else ()
    said = ("the reason written speaks of what was found",) if why and SPEAKS_OF_FINDINGS.search(why) else ()
    bad = (*incidents, *dict.fromkeys(words for words, _ in went), *said)
    day, kinds = date.fromordinal(one.moment[0]), frozenset(kind for _, kind in went)
    return ChangeMade(engine, day, why, one.source, bad, bool(incidents or said), kinds)


def _lines(book: Book, engine: str) -> Iterator[LogLine]:
    return (entry.line for _, entry, _ in book.ledgers[engine].lines)


def _says(line: LogLine, one: Filled) -> bool:
    """Whether a log line tells of the change: it names the fluid on that day, on which a build sheet may come first."""
    written = line.fluids.written() if line.fluids is not None else {}
    return line.date.day.toordinal() == one.moment[0] and written.get(one.fluid) == one.name


def _strips(book: Book, engine: str, moment: Moment) -> list[SheetRecord]:
    """The teardown sheets of an engine until a moment, in order of time."""
    sheets = [sheet for sheet in book.checked.shop.engines[engine].sheets if book.moment(sheet) <= moment]
    return sorted((sheet for sheet in sheets if sheet.kind == "teardown"), key=lambda sheet: book.nth[sheet.path])


def _incidents(book: Book, engine: str, strips: Sequence[SheetRecord], moment: Moment) -> Iterator[str]:
    """What happened since the sheet before the last one: the last rate is of that time."""
    since = book.moment(strips[-2]) if len(strips) > 1 else FIRST
    for at, entry, _ in book.ledgers[engine].lines:
        if entry.line.kind == "incident" and since < at <= moment:
            yield f"{(entry.line.what or 'incident').replace('_', '-')} on {entry.line.date.day.isoformat()}"


def _went_out(book: Book, sheet: SheetRecord) -> Iterator[tuple[str, KindId]]:
    """What went out worn or damaged on a sheet, and of which kind it was."""
    family = book.checked.shop.family_of(sheet.engine)
    if family is None:
        return
    for place, line in (sheet.it.positions or {}).items():
        if line is not None and line.decision in GOES_OUT and line.because in FAILED:
            for slot in slots_of(family).named(place):
                said = f"{place.replace('-', ' ')} went out {line.because} on {sheet.day.isoformat()}"
                yield said, (family.family, slot.kind)


def _names(candidate: Candidate) -> tuple[str, str]:
    part, dimension = candidate.id if isinstance(candidate.id, tuple) else (candidate.id, "")
    return str(part), str(dimension)


def _sheets_of(book: Book, worn: Iterable[Worn]) -> Sheets:
    """The sheets that increments begin and end with."""
    rows = {row.sheet.path: row for one in worn for row in one.rows}
    return Sheets((_moment(book, row), row.sheet) for row in rows.values())


def _moment(book: Book, row: Dated) -> Moment:
    return book.moment(book.checked.resolved[row.sheet.path].sheet)


def _kind(book: Book, key: tuple[str, ...]) -> str:
    return kind_name(book.checked.shop.families[key[0]].it, key[1])


def _unit(book: Book, worn: Iterable[Worn]) -> str:
    """The exposure that the runs are counted in: that of the first family."""
    first = next(iter(worn), None)
    return book.checked.shop.families[first.pool.key[0]].it.exposure if first is not None else "hours"
