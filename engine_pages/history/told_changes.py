"""A change of recipe told: when and why it was made, what was worn before and after, what else changed meanwhile."""

from dataclasses import dataclass
from datetime import date

from ..records.source import Source
from ..wear.change import ChangeAnswer
from .told_parts import SheetRef

KindId = tuple[str, str]  # a family, and a kind of part in it


@dataclass(frozen=True, slots=True)
class ChangeMade:
    """One engine's change: its day, the reason as written, where, and what makes it a selection (nothing: none).

    `of_all` is whether the reason or an incident makes it one for every kind of part; `of_kinds` are the kinds of
    which a part went out worn or damaged before it.
    """

    engine: str
    day: date
    why: str | None
    source: Source
    looked_bad: tuple[str, ...]
    of_all: bool = False
    of_kinds: frozenset[KindId] = frozenset()

    def selects(self, kind: KindId) -> bool:
        """Whether the change was made because parts of this kind looked bad, or may have been."""
        return self.of_all or kind in self.of_kinds


@dataclass(frozen=True, slots=True)
class IntervalUsed:
    """An engine's interval that counts: its first and last run, on which side, what was run, how much wear was read.

    `first` and `last` are the sheets that it lies between.
    """

    engine: str
    began: date
    ended: date
    side: str
    run: float
    increments: int
    first: SheetRef | None
    last: SheetRef | None


@dataclass(frozen=True, slots=True)
class WearLeftOut:
    """An increment that does not count, and why."""

    part: str
    dimension: str
    began: date
    ended: date
    why: str


@dataclass(frozen=True, slots=True)
class IntervalOut:
    """What does not count between two sheets, and why: the parts, and how many increments of them.

    `more` says which fluids there were several of.
    """

    first: SheetRef
    last: SheetRef
    why: str
    more: str
    parts: tuple[str, ...]
    increments: int


@dataclass(frozen=True, slots=True)
class KindAnswer:
    """The answer for one kind and dimension by itself; `unit` of its rates, whose multiples of `usual` they are."""

    kind: str
    name: str
    dimension: str
    unit: str
    usual: float
    answer: ChangeAnswer


@dataclass(frozen=True, slots=True)
class ChangeStory:
    """Whether a change of one fluid helped, over all engines that made it.

    `answer` is of all kinds together, in multiples of each kind's usual rate; `kinds` of each that counts on both
    sides. `left_out` are increments one by one, `intervals_out` the same by the sheets that they lie between.
    `meanwhile` is what else differs between the sides, `unknown_rate` the kinds that show no wear to compare.
    """

    fluid: str
    before: str
    after: str
    unit: str
    made: tuple[ChangeMade, ...]
    answer: ChangeAnswer
    kinds: tuple[KindAnswer, ...]
    intervals: tuple[IntervalUsed, ...]
    left_out: tuple[WearLeftOut, ...]
    intervals_out: tuple[IntervalOut, ...]
    meanwhile: tuple[str, ...]
    unknown_rate: tuple[str, ...]

    @property
    def looked_bad(self) -> tuple[str, ...]:
        """What makes the change a selection, over all engines."""
        return tuple(dict.fromkeys(words for one in self.made for words in one.looked_bad))
