"""The season told: events with the chance after each, what limits it, what is left out, what to measure next."""

from collections.abc import Sequence
from datetime import date
from typing import Literal

from msgspec import Struct

from ..records.source import Source
from ..wear.exposure import Exposure
from .told_parts import DueStory

Why = Literal["never measured", "no rate yet", "going out", "fit changed", "start unknown", "runs in"]
CHANGED_HANDS: tuple[Why, ...] = ("fit changed", "start unknown", "runs in")  # it was in the figure, and is no more


class PlannedEvent(Struct, frozen=True):
    """An event to come and the exposure it asks for."""

    day: date
    name: str
    exposure: Exposure
    source: Source | None


class SeasonEvent(Struct, frozen=True):
    """An event, what will have been run by its end since now, and the chance of being inside every limit then.

    `outer_low` and `outer_high` hold it however the parts depend on each other; all three are None where nothing can be
    said, and `run` where an exposure is not written. `due` falls due before its end, and counts as done then; of these
    `overdue` is over now. `stops` are intervals of replacement that end before then and count as certain limits; of
    `unsure` that is not known.
    """

    event: PlannedEvent
    run: float | None
    chance: float | None
    outer_low: float | None
    outer_high: float | None
    due: tuple[DueStory, ...]
    stops: tuple[DueStory, ...]
    overdue: tuple[DueStory, ...] = ()
    unsure: tuple[DueStory, ...] = ()


class Stands(Struct, frozen=True):
    """One figure that the season rests on: a part's dimension (or a fit, `part` None), and its chance at each event.

    `name` is the part's place and `dimension` what of it; a fit has its name with its row, and no dimension.
    """

    part: str | None
    name: str
    dimension: str
    dimension_id: str
    chances: tuple[float, ...]


class LeftOut(Struct, frozen=True):
    """What is not in the figure, and why: a part's dimension, a fit (`part` None), or a part whole (`dimension` "")."""

    why: Why
    part: str | None
    name: str
    dimension: str
    id: str


class NextReading(Struct, frozen=True):
    """A reading that would narrow the answer: the chance now at the plan's end, and the share of its doubt settled."""

    part: str
    slot_name: str
    dimension: str
    chance: float
    settled: float
    never_read: bool


class Outlived(Struct, frozen=True):
    """A kind of which parts failed at lives that the plan reaches: what nine of ten reach, what these have run by then.

    `runs` is the longest run of the engine's own parts at the end of the plan; both in the family's unit.
    """

    kind_name: str
    reached: float
    runs: float


class SeasonStory(Struct, frozen=True):
    """What the plan asks and whether the engine lasts it.

    `lasts`: how many events may be run with at least the chance that is wanted. None where none is wanted or nothing
    can be said, and where only what is left out or not known stands against the whole plan. `stands` is worst first.
    `apart`: whether the engine is in pieces. `sets` names the members of each set of places. `silent` is the event of
    which no exposure is written; `undated` says that events have no day, so that intervals in months do not end.
    """

    events: tuple[SeasonEvent, ...]
    keep: float | None
    unit: str
    lasts: int | None
    stands: tuple[Stands, ...]
    left_out: tuple[LeftOut, ...]
    measure_next: tuple[NextReading, ...]
    renewed: tuple[str, ...]
    apart: bool = False
    sets: tuple[tuple[str, tuple[str, ...]], ...] = ()
    silent: str | None = None
    undated: bool = False
    outlived: tuple[Outlived, ...] = ()
    advice: str = ""

    def out(self, *whys: Why) -> tuple[LeftOut, ...]:
        """What is left out for some reasons."""
        return tuple(one for one in self.left_out if one.why in whys)

    @property
    def unsure(self) -> tuple[DueStory, ...]:
        """The intervals of replacement of which it is not known whether they end within the plan."""
        return tuple({due.name: due for event in self.events for due in event.unsure}.values())

    @property
    def is_sure(self) -> bool:
        """Whether nothing that could stop it went out of the figure by the question, or stands open by an interval."""
        return not self.unsure and not self.out(*CHANGED_HANDS)


def worst_first(stands: Sequence[Stands], event: int) -> list[Stands]:
    """The figures by their chance after an event; as good as equal ones by name, so that no rounding orders them."""
    return sorted(stands, key=lambda one: (round(one.chances[event], DIGITS), one.name, one.dimension_id))


DIGITS = 7  # of a chance: less is missing from certainty where a product does not show it
