"""What an engine ran on, and when: its fluids over time, its runs with the recipe of each, intervals between sheets.

Beside it, what two sets of runs differ by otherwise: what they were for, and which parts were new to their place when
they began. Coolant is no part of a recipe, unless it is the fluid that is asked about.
"""

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from operator import itemgetter

from msgspec import Struct

from ..records.load import EngineRecords
from ..records.moments import Moment
from ..records.slots import kind_name
from ..records.source import Source
from ..wear.intervals import ChangeSide
from .book import Book
from .engine_words import fluid_lines
from .lives import LAST
from .told_parts import SheetRef

RECIPE = frozenset({"oil", "premix", "fuel", "filter", "injected"})  # what a part's wear is thought to hang on
SHARE_APART = 0.1  # of the exposure: less than that is no other use

Stretch = tuple[str, int]  # an engine, and the number of its recipe
Interval = tuple[str, int, int]  # and the number of sheets by then


class Filled(Struct, frozen=True):
    """A fluid that went in: when, which, and where that is written."""

    moment: Moment
    fluid: str
    name: str
    source: Source


class Run(Struct, frozen=True):
    """A run: when, how much of the family's exposure, under which of the engine's recipes, what for."""

    moment: Moment
    amount: float
    stretch: Stretch
    recipe: tuple[tuple[str, str], ...]
    what: str | None = None


class Recipe(Struct, frozen=True):
    """One engine's fluids in order of time, and its runs."""

    engine: str
    filled: tuple[Filled, ...]
    runs: tuple[Run, ...]


class Sheets:
    """Sheets on which something was read that counts, engine by engine: intervals lie between them."""

    def __init__(self, dated: Iterable[tuple[Moment, SheetRef]]) -> None:
        self._of: dict[str, list[tuple[Moment, SheetRef]]] = defaultdict(list)
        for moment, sheet in sorted(dated, key=lambda one: (one[0], one[1].path)):
            self._of[sheet.engine].append((moment, sheet))

    def interval(self, run: Run) -> Interval:
        """The interval that a run lies in; a run of a sheet's own moment lies before it."""
        engine, recipe = run.stretch
        return engine, recipe, bisect_left(self._of.get(engine, []), run.moment, key=itemgetter(0))

    def around(self, engine: str, first: Moment, last: Moment) -> tuple[SheetRef | None, SheetRef | None]:
        """The sheet before the first of some runs, and the one after the last; None where there is none."""
        sheets = self._of.get(engine, [])
        before = [sheet for at, sheet in sheets if at < first]
        after = [sheet for at, sheet in sheets if at >= last]
        return (before[-1] if before else None), (after[0] if after else None)


def filled_in(book: Book, records: EngineRecords) -> tuple[Filled, ...]:
    """Every fluid that went into an engine, in order of time."""
    lines = sorted(fluid_lines(book, records), key=lambda line: line[0])
    return tuple(Filled(at, fluid, name, source) for at, names, source in lines for fluid, name in names.items())


def changes_in(filled: tuple[Filled, ...]) -> Iterator[tuple[Filled, str]]:
    """Every fluid that went in where another had been, with the name of that other."""
    known: dict[str, str] = {}
    for one in filled:
        before = known.get(one.fluid)
        if before is not None and before != one.name:
            yield one, before
        known[one.fluid] = one.name


def recipe_of(book: Book, records: EngineRecords, unit: str, parting: frozenset[str] = RECIPE) -> Recipe:
    """The recipe of one engine over all that is written of it.

    `unit` is its family's exposure, `parting` the fluids whose change begins another recipe.
    """
    filled = filled_in(book, records)
    bounds = [one.moment for one, _ in changes_in(filled) if one.fluid in parting]
    ledger = book.ledgers[records.id]
    ran = [(moment, exposure, entry.line.what) for moment, entry, exposure in ledger.lines]
    ran += [(moment, exposure, None) for moment, exposure, _ in ledger.from_counter]
    runs = tuple(
        Run(moment, amount, (records.id, bisect_left(bounds, moment)), _at(filled, moment), what)
        for moment, exposure, what in sorted(ran, key=lambda one: one[0])
        if (amount := exposure.amount(unit)) > 0.0
    )
    return Recipe(records.id, filled, runs)


def _at(filled: tuple[Filled, ...], moment: Moment) -> tuple[tuple[str, str], ...]:
    """What was in at a moment, by fluid."""
    return tuple(sorted({one.fluid: one.name for one in filled if one.moment <= moment}.items()))


Beside = Sequence[tuple[Sequence[Run], ChangeSide, object]]  # runs by the side that they are on
SIDES: tuple[ChangeSide, ChangeSide] = ("before", "after")
On = Mapping[ChangeSide, str]  # what a side is called: by the fluid that it ran on


def _of_side(beside: Beside, side: ChangeSide) -> dict[Run, None]:
    """The runs of a side, each once."""
    return dict.fromkeys(run for runs, of, _ in beside if of == side for run in runs)


def what_for(beside: Beside, on: On) -> Iterator[str]:
    """What the runs of each side were for, by their share of the exposure, where the sides differ by a tenth."""
    before, after = (_shares(_of_side(beside, side)) for side in SIDES)
    apart = [abs(before.get(name, 0.0) - after.get(name, 0.0)) for name in {**before, **after}]
    if before and after and max(apart) > SHARE_APART:
        said = (
            f"{', '.join(f'{name} {100 * share:.0f} %' for name, share in sorted(of.items()))} {on[side]}"
            for side, of in zip(SIDES, (before, after), strict=True)
        )
        yield f"runs: {', '.join(said)}"


def _shares(runs: Mapping[Run, None]) -> dict[str, float]:
    out: dict[str, float] = {}
    whole = sum(run.amount for run in runs)
    for run in runs:
        name = run.what or "not named"
        out[name] = out.get(name, 0.0) + run.amount / whole
    return out


def renewed(book: Book, recipes: Mapping[str, Recipe], beside: Beside, on: On) -> Iterator[str]:
    """Parts that took the place of others and were new to it in the runs of a side, by kind, where the sides differ."""
    of_side = {side: _of_side(beside, side) for side in SIDES}
    found: dict[ChangeSide, Counter[str]] = {side: Counter() for side in SIDES}
    for (engine, _), stays in sorted(book.in_slot.items()):
        family = book.checked.shop.family_of(engine)
        if family is None or engine not in recipes:
            continue
        for before, stay in pairwise(stays):
            if before.part.id == stay.part.id or family.kinds[stay.part.kind].whole:
                continue
            ran = (run for run in recipes[engine].runs if stay.began < run.moment <= (stay.ended or LAST))
            first = next(ran, None)
            for side, runs in of_side.items():
                found[side][kind_name(family, stay.part.kind).lower()] += first in runs
    said = {side: ", ".join(f"{n} × {kind}" for kind, n in sorted(of.items()) if n) for side, of in found.items()}
    if said["before"] != said["after"]:
        yield "other parts fitted: " + ", ".join(f"{words or 'none'} {on[side]}" for side, words in said.items())
