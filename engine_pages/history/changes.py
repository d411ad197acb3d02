"""Did a change help: the shop's recipes and the rows of its pools in, each change with its answer out.

Every two names between which a fluid was changed are one question, over all engines that did. What the parts wore
between two readings counts on a side where the fluid was the one or the other throughout, and the rest of the recipe
one; each part is its own control. Whether wear was lower is for `wear.change` to say, kind by kind for
`wear.change_by_kind`.

Run-in is what the kind's bend shows as such on the fluid before, where the change itself bends nothing: what begins at
an exposure before that from which the kind's line holds. A kind that shows no bend has no run-in.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from operator import itemgetter

from msgspec import Struct
from msgspec.structs import replace

from ..wear.bends import fit_where_straight
from ..wear.change import ChangeAnswer, weigh_change
from ..wear.change_by_kind import standing_apart, weigh_by_kind
from ..wear.intervals import ChangeSide, Increment, WhyOut, sorted_out
from ..wear.measured import Measured
from .book import Book
from .candidates import Member
from .changes_made import ChangeQuestion, engines_of, made_of, questions_of
from .kept_fits import common_of
from .meanwhile import meanwhile_of
from .pool import Pool
from .pools import Pools
from .recipes import RECIPE, Interval, Recipe, Run, Sheets, recipe_of, renewed, what_for
from .told_changes import ChangeMade, ChangeStory, IntervalOut, IntervalUsed, KindAnswer, WearLeftOut
from .worn import HARDLY, Worn, named, pools_of, read_in, sheets_of, with_runs

Sided = tuple[Worn, ChangeSide]


class Sorted(Struct, frozen=True):
    """What counts, what does not and why, and the sheets that the intervals of what counts lie between."""

    counted: Sequence[Sided]
    out: Sequence[tuple[Worn, str]]
    sheets: Sheets


def changes_of(book: Book, pools: Pools, confidence: float) -> tuple[ChangeStory, ...]:
    """Every change of a fluid in the shop, by fluid and name."""
    return weighed(book, pools, confidence, questions_of(book))


def weighed(
    book: Book, pools: Pools, confidence: float, questions: Sequence[ChangeQuestion], kind: str | None = None
) -> tuple[ChangeStory, ...]:
    """The answers to some questions, in their order; of one kind of part alone where it is named."""
    read, flat = read_in(pools_of(book, pools, kind)) if questions else ([], [])
    known: dict[frozenset[str], tuple[dict[str, Recipe], list[Worn]]] = {}
    out = []
    for question in questions:
        parting = RECIPE | {question.fluid}
        if parting not in known:
            recipes = {one.id: recipe_of(book, one, family.exposure, parting) for one, family in engines_of(book)}
            known[parting] = recipes, list(with_runs(book, read, recipes))
        out.append(_change(book, question, *known[parting], flat, confidence, kind))
    return tuple(out)


def _change(
    book: Book, question: ChangeQuestion, recipes: Mapping[str, Recipe], worn: Sequence[Worn], flat: Sequence[Pool],
    confidence: float, kind: str | None,
) -> ChangeStory:  # fmt: skip
    made, fluid = made_of(book, question), question.fluid
    sides = [(one, side) for one in worn if (side := _side(one, question)) is not None]
    found = _sorted(book, sides, _run_in(question, worn), fluid)
    beside = [(one.runs, side, one.names) for one, side in found.counted or sides]
    several = len(_families(book, question) | {one.pool.key[0] for one, _ in found.counted}) > 1
    kinds = tuple(_kinds(book, found, confidence, made, several=several))
    answer = _answer(found, confidence, made, kind)
    apart = standing_apart({n: one.answer for n, one in enumerate(kinds)}, answer, confidence)
    on: Mapping[ChangeSide, str] = {"before": f"on {question.before}", "after": f"on {question.after}"}
    return ChangeStory(
        fluid=fluid,
        before=question.before,
        after=question.after,
        kind=kind,
        made=made,
        answer=answer,
        kinds=kinds,
        apart=tuple(kinds[n] for n in apart),
        intervals=tuple(_intervals(book, found)),
        left_out=tuple(
            WearLeftOut(one.part, one.dimension, one.rows[0].sheet.day, one.rows[1].sheet.day, why)
            for one, why in found.out
        ),
        intervals_out=tuple(_intervals_out(book, found.out, fluid)),
        meanwhile=(
            *meanwhile_of(book, fluid, beside, on), *what_for(beside, on), *renewed(book, recipes, beside, on),
        ),
        unknown_rate=tuple(_flat(book, question, flat, several=several)),
    )  # fmt: skip


def _side(worn: Worn, question: ChangeQuestion) -> ChangeSide | None:
    """On which side of a change an increment lies; None where it has nothing to do with either."""
    names = worn.names.get(question.fluid, frozenset())
    if question.after in names:
        return "after"
    return "before" if question.before in names else None


def _why_out(worn: Worn, fluid: str, since: Mapping[tuple[str, ...], float]) -> WhyOut | None:
    if worn.began_at < since.get(worn.pool.key, 0.0) - HARDLY:
        return "run-in"
    return "more than one recipe" if worn.several(fluid) else None


def _sorted(book: Book, sides: Sequence[Sided], since: Mapping[tuple[str, ...], float], fluid: str) -> Sorted:
    """Increments sorted by whether they count.

    A sheet on which only something was read that does not count parts no interval.
    """
    whys = [_why_out(one, fluid, since) for one, _ in sides]
    every = sheets_of(book, [one for one, _ in sides])
    first = [
        one.increment(side, every, mixed=why == "more than one recipe", run_in=why == "run-in")
        for (one, side), why in zip(sides, whys, strict=True)
    ]
    used, left_out = sorted_out(first)
    ids, reasons = {id(one) for one in used}, {id(one.increment): one.why for one in left_out}
    counted = [sided for sided, one in zip(sides, first, strict=True) if id(one) in ids]
    out = [(one, reasons[id(each)]) for (one, _), each in zip(sides, first, strict=True) if id(each) in reasons]
    return Sorted(counted, out, sheets_of(book, [one for one, _ in counted]))


def _increments(counted: Sequence[Sided], sheets: Sheets) -> list[Increment]:
    return [one.increment(side, sheets, mixed=False, run_in=False) for one, side in counted]


def _answer(found: Sorted, confidence: float, made: Sequence[ChangeMade], kind: str | None) -> ChangeAnswer:
    """The answer of all kinds that were asked for together."""
    kinds = {(one.pool.key[0], one.pool.key[1]) for one, _ in found.counted}
    bad = any(one.looked_bad if kind is None else any(map(one.selects, kinds)) for one in made)
    return weigh_change(_increments(found.counted, found.sheets), confidence, bad)


def _kinds(
    book: Book, found: Sorted, confidence: float, made: Sequence[ChangeMade], *, several: bool
) -> Iterator[KindAnswer]:
    """The answer of each kind and dimension that counts on both sides, by itself, in intervals of its own sheets."""
    of: dict[tuple[str, ...], list[Sided]] = defaultdict(list)
    for one in found.counted:
        of[one[0].pool.key].append(one)
    increments = {
        key: _increments(those, sheets_of(book, [one for one, _ in those])) for key, those in sorted(of.items())
    }
    selected = [key for key in of if any(one.selects((key[0], key[1])) for one in made)]
    for key, answer in weigh_by_kind(increments, confidence, selected).items():
        family, first = book.checked.shop.families[key[0]].it, of[key][0][0]
        unit = next(d.unit for name, d in (family.kinds[key[1]].dimensions or {}).items() if name == _own(first))
        yield KindAnswer(
            kind=key[1],
            name=named(book, first.pool)[0],
            family=family.family,
            family_name=(family.name or key[0]) if several else "",
            dimension=named(book, first.pool)[1],
            unit=unit,
            per=family.exposure,
            usual=first.usual,
            answer=answer,
        )


def _families(book: Book, question: ChangeQuestion) -> set[str]:
    """The families whose engines made the change."""
    engines = {one.engine for one in question.made}
    return {family.family for records, family in engines_of(book) if records.id in engines}


def _flat(book: Book, question: ChangeQuestion, flat: Sequence[Pool], *, several: bool) -> Iterator[str]:
    """What is not compared since it shows no wear, in the families whose engines made the change."""
    families = _families(book, question)
    for pool in flat:
        if pool.key[0] in families:
            family = book.checked.shop.families[pool.key[0]].it
            yield ", ".join((*named(book, pool), *((family.name or family.family,) if several else ())))


def _own(worn: Worn) -> str:
    """The dimension as the family writes it, without its station."""
    return worn.dimension.split("@")[0]


def _run_in(question: ChangeQuestion, worn: Sequence[Worn]) -> dict[tuple[str, ...], float]:
    """Of each pool that bends, the exposure up to which it ran in, by what was read on the fluid before alone."""
    out = {}
    for pool in dict.fromkeys(one.pool for one in worn):
        since = 0.0 if pool.fit is None else pool.fit.since
        if not any(one.pool is pool and one.began_at < since - HARDLY for one in worn):
            continue  # it does not bend, or nobody read it while it did
        readings: dict[Member, dict[float, Measured]] = {}
        for one in worn:
            if one.pool is pool and _side(one, question) == "before" and not one.several(question.fluid):
                of = readings.setdefault(((one.part, one.dimension), one.rows[0].baseline), {})
                of |= {row.exposure - one.start: row.read.at_20 for row in one.rows if row.read.at_20 is not None}
        parts = [
            replace(pool.parts[member], readings=tuple(sorted(of.items(), key=itemgetter(0))))
            for member, of in readings.items()
        ]
        alone = fit_where_straight(parts, pool.known, pool.starts, common_of(parts))
        out[pool.key] = alone.since if alone is not None else 0.0
    return out


def _intervals(book: Book, found: Sorted) -> Iterator[IntervalUsed]:
    """The engines' intervals that count, in order of time."""
    of_side: dict[Interval, tuple[ChangeSide, dict[Run, None], list[Worn]]] = {}
    for worn, side in found.counted:
        for run in worn.runs:
            _, runs, those = of_side.setdefault(found.sheets.interval(run), (side, {}, []))
            runs[run] = None
            if not those or those[-1] is not worn:
                those.append(worn)
    for (engine, _, _), (of, runs, those) in sorted(of_side.items(), key=lambda one: one[0]):
        moments = sorted(run.moment for run in runs)
        first, last = found.sheets.around(engine, moments[0], moments[-1])
        began, ended = (date.fromordinal(moments[n][0]) for n in (0, -1))
        per = book.checked.shop.families[those[0].pool.key[0]].it.exposure
        ran = sum(run.amount for run in runs)
        yield IntervalUsed(engine, began, ended, of, ran, per, len(those), first, last)


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
