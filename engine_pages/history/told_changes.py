"""A change of recipe told: when and why it was made, what was worn before and after, what else changed meanwhile."""

from datetime import date

from msgspec import Struct

from ..records.source import Source
from ..wear.change import ChangeAnswer
from .told_parts import SheetRef

MAY_BE_CHANCE = "one of several kinds, it may be chance"
KindId = tuple[str, str]  # a family, and a kind of part in it


class ChangeMade(Struct, frozen=True):
    """One engine's change: its day, the reason as written, where, and what makes it a selection (nothing: none).

    `of_all` is whether the reason or an incident makes it one for every kind of part; `of_kinds` are the kinds of
    which a part went out worn or damaged before it. `back`: it went back to what had been in at first.
    """

    engine: str
    day: date
    why: str | None
    source: Source
    looked_bad: tuple[str, ...]
    of_all: bool = False
    of_kinds: frozenset[KindId] = frozenset()
    back: bool = False

    def selects(self, kind: KindId) -> bool:
        """Whether the change was made because parts of this kind looked bad, or may have been."""
        return self.of_all or kind in self.of_kinds


class IntervalUsed(Struct, frozen=True):
    """An engine's interval that counts: its first and last run, on which side, what was run, how much wear was read.

    `first` and `last` are the sheets that it lies between; `per` is the exposure that `run` is counted in.
    """

    engine: str
    began: date
    ended: date
    side: str
    run: float
    per: str
    increments: int
    first: SheetRef | None
    last: SheetRef | None


class WearLeftOut(Struct, frozen=True):
    """An increment that does not count, and why."""

    part: str
    dimension: str
    began: date
    ended: date
    why: str


class IntervalOut(Struct, frozen=True):
    """What does not count between two sheets, and why: the parts, and how many increments of them.

    `more` says which fluids there were several of.
    """

    first: SheetRef
    last: SheetRef
    why: str
    more: str
    parts: tuple[str, ...]
    increments: int


class KindAnswer(Struct, frozen=True):
    """The answer for one kind and dimension by itself, its verdict as one of so many (`wear.change_by_kind`).

    Its rates are in multiples of `usual`, which is in `unit` per one of `per` (its family's exposure). `family_name` is
    empty where the question is of one family.
    """

    kind: str
    name: str
    family: str
    family_name: str
    dimension: str
    unit: str
    per: str
    usual: float
    answer: ChangeAnswer

    @property
    def called(self) -> str:
        """Kind and dimension, with the family where there are several."""
        return ", ".join(word for word in (self.name, self.dimension, self.family_name) if word)


class ChangeStory(Struct, frozen=True):
    """Whether a change of one fluid helped, over all engines that made it, there or back.

    `before` is the name that it was changed from first, `after` the other; sides are of these names, not of the
    calendar. `kind` is the one kind that was asked for, None for all. `answer` is of all kinds together, in multiples
    of each kind's usual rate; `kinds` of each that counts on both sides, `apart` those that do not agree with one
    another or with all together. `left_out` are increments one by one, `intervals_out` the same by the sheets that they
    lie between. `meanwhile` is what else differs between the sides, `unknown_rate` what shows no wear to compare.
    """

    fluid: str
    before: str
    after: str
    kind: str | None
    made: tuple[ChangeMade, ...]
    answer: ChangeAnswer
    kinds: tuple[KindAnswer, ...]
    apart: tuple[KindAnswer, ...]
    intervals: tuple[IntervalUsed, ...]
    left_out: tuple[WearLeftOut, ...]
    intervals_out: tuple[IntervalOut, ...]
    meanwhile: tuple[str, ...]
    unknown_rate: tuple[str, ...]

    @property
    def looked_bad(self) -> tuple[str, ...]:
        """What makes the change a selection, over all engines."""
        return tuple(dict.fromkeys(words for one in self.made for words in one.looked_bad))

    @property
    def by_chance(self) -> tuple[KindAnswer, ...]:
        """The kinds that alone would have a verdict, but are among so many that it may be chance."""
        return tuple(one for one in self.kinds if one.answer.why == MAY_BE_CHANCE)

    @property
    def back(self) -> bool:
        """Whether an engine went back to the first fluid."""
        return any(one.back for one in self.made)
