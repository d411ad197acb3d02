"""A change of recipe told: when and why it was made, what was worn before and after, what else changed meanwhile."""

from dataclasses import dataclass
from datetime import date

from ..records.source import Source
from ..wear.change import ChangeAnswer


@dataclass(frozen=True, slots=True)
class ChangeMade:
    """One engine's change: its day, the reason as written, where, and what makes it a selection (nothing: none)."""

    engine: str
    day: date
    why: str | None
    source: Source
    looked_bad: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class IntervalUsed:
    """An engine's interval that counts, or does not: between which days, on which side, what was run, how much wore."""

    engine: str
    began: date
    ended: date
    side: str
    run: float
    increments: int


@dataclass(frozen=True, slots=True)
class WearLeftOut:
    """An increment that does not count, and why."""

    part: str
    dimension: str
    began: date
    ended: date
    why: str


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
    sides. `meanwhile` is what else differs between the sides, `unknown_rate` the kinds that show no wear to compare.
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
    meanwhile: tuple[str, ...]
    unknown_rate: tuple[str, ...]

    @property
    def looked_bad(self) -> tuple[str, ...]:
        """What makes the change a selection, over all engines."""
        return tuple(dict.fromkeys(words for one in self.made for words in one.looked_bad))
