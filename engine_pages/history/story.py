"""The story of one engine, as plain values: what `tell` works out of the records, and what figures and pages show.

Everything a page prints comes from here; pages choose words and draw, and reckon nothing. Hours, km, starts and runs
are exposures; the family says which of them its wear is reckoned against. `None` means "not known" or "not measured",
never zero.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Literal

from msgspec import Struct, field

from ..records.source import Problem, Source
from ..wear.exposure import Exposure
from .told_chambers import ChamberTrend
from .told_changes import ChangeStory
from .told_kinds import KindStory
from .told_parts import (
    NO_WEAR,
    STATES,
    WORKED_OUT,
    Bound,
    DimensionStory,
    DueStory,
    FitStory,
    FoundStory,
    GradeStory,
    Jump,
    LaterFigure,
    PartStory,
    PhotoStory,
    ReadingKind,
    ReadingStory,
    SheetRef,
    State,
    Stay,
    Verdict,
    Wear,
)
from .told_review import Fact, Judged, Point, PointState, ReviewStory, Written
from .told_season import PlannedEvent, SeasonEvent, SeasonStory
from .told_sheets import ChamberReading, MeasuredRow, SheetStory, TestStory
from .told_trail import Correction, Recorded, TrailStory, TurnStory

__all__ = [
    "NO_WEAR",
    "STATES",
    "WORKED_OUT",
    "Bound",
    "ChamberReading",
    "ChangeStory",
    "Correction",
    "DimensionStory",
    "DueStory",
    "EngineStory",
    "Fact",
    "FitStory",
    "FluidSpan",
    "FoundStory",
    "Gap",
    "GapKind",
    "GradeStory",
    "IncidentStory",
    "Judged",
    "Jump",
    "KindStory",
    "LaterFigure",
    "LimitRow",
    "LogStory",
    "MapCell",
    "MapRow",
    "MeasuredRow",
    "PartStory",
    "PhotoStory",
    "PlannedEvent",
    "Point",
    "PointState",
    "ReadingKind",
    "ReadingStory",
    "Recorded",
    "ReviewStory",
    "SeasonEvent",
    "SeasonStory",
    "SheetRef",
    "SheetStory",
    "ShopStory",
    "State",
    "Stay",
    "Stopper",
    "TestStory",
    "TrailStory",
    "TurnStory",
    "Verdict",
    "Wear",
    "Written",
]


class LogStory(Struct, frozen=True):
    """One line of the run log; `total_hours` is the engine's sum after it, `words` the rest as written."""

    day: date
    clock: str | None
    kind: str
    what: str | None
    exposure: Exposure
    total_hours: float | None
    words: tuple[tuple[str, str], ...]
    fluids: tuple[tuple[str, str], ...]
    note: str | None
    source: Source


class FluidSpan(Struct, frozen=True):
    """One fluid in the engine from one day to another; `hours` run on it."""

    fluid: str
    name: str
    began: date
    ended: date | None
    hours: float
    at_hours: float
    source: Source


class IncidentStory(Struct, frozen=True):
    """An over-rev, an overheat …, what the family's rules ask of it, and the sheet that answered it."""

    day: date
    what: str
    words: str
    hours: float | None
    answered: SheetRef | None
    source: Source


GapKind = Literal[
    "not measured", "no limit", "no serial", "no gauge", "no decision", "unknown life", "differs", "log", "doubt",
    "other",
]  # fmt: skip


class Gap(Struct, frozen=True):
    """Something that is not known, or that the builder and the limits see differently."""

    what: str
    kind: GapKind
    source: Source | None


class Stopper(Struct, frozen=True):
    """One candidate for what stops the engine first. `left` in the family's exposure unit from now on."""

    part: str | None
    slot_name: str
    what: str
    state: State
    share: float | None
    dimension: DimensionStory | None
    due: DueStory | None
    left_low: float | None
    left: float | None
    left_high: float | None


class MapCell(Struct, frozen=True):
    """A cell of the engine map: the parts of one kind in one row (None: the whole engine)."""

    row: int | None
    parts: tuple[PartStory, ...]
    fits: tuple[FitStory, ...] = ()


class MapRow(Struct, frozen=True):
    """A line of the engine map: one kind of part across the rows."""

    kind: str
    kind_name: str
    dimension_name: str | None
    cells: tuple[MapCell, ...]
    spans: bool


class LimitRow(Struct, frozen=True):
    """A limit with where it is written, for the page of sources and limits."""

    kind_name: str
    dimension: str
    unit: str
    new: str
    limit: str
    limit_source: str | None
    source: Source


class EngineStory(Struct, frozen=True):
    """One engine, told. `as_of` and `commit` belong to the engine's own inputs.

    `reached`: the exposure that nine of ten parts of a kind reach, by kind, where enough of it failed to tell.
    `tests_now`: the last of each test since the last build; one before it was of another assembly. `trail` and `review`
    are told after the rest (`review/attach`); None where nobody asked.
    """

    id: str
    name: str | None
    family: str
    family_name: str
    architecture: Literal["rotary", "piston"]
    rows: int
    use: str | None
    stamped: str | None
    built_for: str | None
    picture: PhotoStory | None
    state: State
    as_of: date
    commit: str | None
    uncommitted: tuple[str, ...]
    confidence: float
    exposure_unit: str
    total: Exposure
    since_build: Exposure | None
    built: SheetRef | None
    last_teardown: SheetRef | None
    assembled: bool
    parts: tuple[PartStory, ...]
    former_parts: tuple[PartStory, ...]
    fits: tuple[FitStory, ...]
    engine_map: tuple[MapRow, ...]
    shortlist: tuple[Stopper, ...]
    due: tuple[DueStory, ...]
    tests: tuple[TestStory, ...]
    sheets: tuple[SheetStory, ...]
    log: tuple[LogStory, ...]
    fluids: tuple[FluidSpan, ...]
    incidents: tuple[IncidentStory, ...]
    plan: tuple[PlannedEvent, ...]
    keep: float | None
    gaps: tuple[Gap, ...]
    limits: tuple[LimitRow, ...]
    grades: tuple[tuple[str, tuple[tuple[int, str], ...]], ...]
    instruments: tuple[tuple[str, str, str], ...]
    problems: tuple[Problem, ...]
    units: tuple[str, str | None] = ("mm", None)
    people: dict[str, str] = field(default_factory=dict)
    season: SeasonStory | None = None
    reached: Mapping[str, float] = field(default_factory=dict)
    chambers: tuple[ChamberTrend, ...] = ()
    tests_now: tuple[TestStory, ...] = ()
    trail: TrailStory | None = None
    review: ReviewStory | None = None


class ShopStory(Struct, frozen=True):
    """The whole shop: every engine told, and what is wrong in the records."""

    name: str
    engines: tuple[EngineStory, ...]
    parts: tuple[PartStory, ...]
    problems: tuple[Problem, ...]
    inbox: tuple[str, ...]
    as_of: date
    commit: str | None
    site: str | None = None
    changes: Sequence[ChangeStory] = ()
    kinds: Sequence[KindStory] = ()
