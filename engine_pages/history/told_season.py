"""The season told: events with the chance after each, what limits it, what to do, what to measure next."""

from dataclasses import dataclass
from datetime import date

from ..records.source import Source
from ..wear.exposure import Exposure
from .told_parts import DueStory


@dataclass(frozen=True, slots=True)
class PlannedEvent:
    """An event to come and the exposure it asks for."""

    day: date
    name: str
    exposure: Exposure
    source: Source | None


@dataclass(frozen=True, slots=True)
class SeasonEvent:
    """An event, what will have been run by its end since now, and the chance of being inside every limit then.

    `outer_low` and `outer_high` hold it however the parts depend on each other; all three are None where nothing can be
    said. `due` falls due before its end, and `stops` are intervals that end before then and count as certain limits.
    """

    event: PlannedEvent
    run: float
    chance: float | None
    outer_low: float | None
    outer_high: float | None
    due: tuple[DueStory, ...]
    stops: tuple[DueStory, ...]


@dataclass(frozen=True, slots=True)
class Stands:
    """One figure that the season rests on: a part's dimension (or a fit, `part` None), and its chance at each event."""

    part: str | None
    name: str
    dimension: str
    dimension_id: str
    chances: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class NextReading:
    """A reading that would narrow the answer: the chance now at the plan's end, and the share of its doubt settled."""

    part: str
    slot_name: str
    dimension: str
    chance: float
    settled: float
    never_read: bool


@dataclass(frozen=True, slots=True)
class SeasonStory:
    """What the plan asks and whether the engine lasts it.

    `lasts`: how many events may be run with at least the chance that is wanted (None where none is wanted or nothing
    can be said). `stands` is worst first. By name: parts that were never measured, those that show no rate yet, and
    those that are decided to go out; none of these is in the figure.
    """

    events: tuple[SeasonEvent, ...]
    keep: float | None
    unit: str
    lasts: int | None
    stands: tuple[Stands, ...]
    not_measured: tuple[str, ...]
    no_rate: tuple[str, ...]
    going_out: tuple[str, ...]
    measure_next: tuple[NextReading, ...]
    renewed: tuple[str, ...]
    advice: str
