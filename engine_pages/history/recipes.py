"""What an engine ran on, and when: its fluids over time, its runs, and the intervals between sheets that measured.

An engine's interval ends with a sheet that measured something, and with every change of what is in it: what a part wore
in one interval, it wore on one recipe.
"""

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass

from ..records.load import EngineRecords
from ..records.moments import Moment
from ..records.source import Source
from .book import Book
from .engine_words import fluid_lines

Stretch = tuple[str, int]  # an engine, and the number of its interval


@dataclass(frozen=True, slots=True)
class Filled:
    """A fluid that went in: when, which, and where that is written."""

    moment: Moment
    fluid: str
    name: str
    source: Source


@dataclass(frozen=True, slots=True)
class Run:
    """A run: when, how much of the family's exposure, in which of the engine's intervals, and on which fluids."""

    moment: Moment
    amount: float
    stretch: Stretch
    recipe: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Recipe:
    """One engine's fluids in order of time, its runs, and the moments of the sheets that measured something."""

    engine: str
    filled: tuple[Filled, ...]
    measured: tuple[Moment, ...]
    runs: tuple[Run, ...]

    def changes(self) -> Iterator[tuple[Filled, str]]:
        """Every fluid that went in where another had been, with the name of that other."""
        known: dict[str, str] = {}
        for one in self.filled:
            before = known.get(one.fluid)
            if before is not None and before != one.name:
                yield one, before
            known[one.fluid] = one.name


def recipe_of(book: Book, records: EngineRecords, unit: str) -> Recipe:
    """The recipe of one engine over all that is written of it; `unit` is its family's exposure."""
    lines = sorted(fluid_lines(book, records), key=lambda line: line[0])
    filled = tuple(Filled(at, fluid, name, source) for at, names, source in lines for fluid, name in names.items())
    measured = tuple(sorted({book.moment(sheet) for sheet in records.sheets if _measures(book, sheet.path)}))
    whole = Recipe(records.id, filled, measured, ())
    bounds = sorted({*measured, *(one.moment for one, _ in whole.changes())})
    ledger = book.ledgers[records.id]
    ran = [(moment, exposure) for moment, _, exposure in ledger.lines]
    ran += [(moment, exposure) for moment, exposure, _ in ledger.from_counter]
    runs = tuple(
        Run(moment, amount, (records.id, bisect_left(bounds, moment)), _at(filled, moment))
        for moment, exposure in sorted(ran, key=lambda one: one[0])
        if (amount := exposure.amount(unit)) > 0.0
    )
    return Recipe(records.id, filled, measured, runs)


def _measures(book: Book, path: str) -> bool:
    resolved = book.checked.resolved.get(path)
    return resolved is not None and (bool(resolved.fits) or any(line.measured for line in resolved.lines.values()))


def _at(filled: tuple[Filled, ...], moment: Moment) -> tuple[tuple[str, str], ...]:
    """What was in at a moment, by fluid."""
    return tuple(sorted({one.fluid: one.name for one in filled if one.moment <= moment}.items()))
