"""The story of one engine, as plain values: what `tell` works out of the records, and what figures and pages show.

Everything a page prints comes from here; pages choose words and draw, and reckon nothing. Hours, km, starts and runs
are exposures; the family says which of them its wear is reckoned against. `None` means "not known" or "not measured",
never zero.
"""

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from ..records.source import Problem, Source
from ..wear.exposure import Exposure
from ..wear.limits import Allowance, Limit
from ..wear.trend import Crossing, Interval, Line

State = Literal["retired", "beyond limit", "overdue", "due", "undecided", "near limit", "not measured", "within"]
STATES: tuple[State, ...] = (
    "retired",
    "beyond limit",
    "overdue",
    "due",
    "undecided",
    "near limit",
    "not measured",
    "within",
)  # the first that applies, as figures order them
WORKED_OUT = "worked out"  # stands where a reading as written would stand
Verdict = Literal["within", "undecided", "beyond", "no limit"]
ReadingKind = Literal["gauge", "range", "under", "over", "not measurable"]


@dataclass(frozen=True, slots=True)
class SheetRef:
    """A sheet, as other places name it. `label` is its number, else its kind and date."""

    kind: Literal["build", "inspection", "teardown"]
    engine: str
    name: str
    label: str
    day: date
    path: str


@dataclass(frozen=True, slots=True)
class Stay:
    """A part's time in one place: fitted by one sheet, taken out by another, or in there still (`removed` None)."""

    part: str
    engine: str
    slot: str
    slot_name: str
    fitted: SheetRef | None
    removed: SheetRef | None
    began: date | None
    ended: date | None
    exposure: Exposure
    put_back_unwritten: bool = False


@dataclass(frozen=True, slots=True)
class ReadingStory:
    """One reading of one dimension on one sheet, brought to 20 °C where it can be.

    `value`, `value_20c`, `u` (standard uncertainty), `low` and `high` (value ± U, or the range) in the dimension's
    unit; `exposure` in the family's unit since the baseline, `part_hours` since new. `change` is the difference from
    the reading before it on the same baseline with its U.
    """

    day: date
    sheet: SheetRef
    written: str
    kind: ReadingKind
    value: float | None
    value_20c: float | None
    u: float | None
    low: float | None
    high: float | None
    exposure: float | None
    part_hours: float | None
    baseline: int
    verdict: Verdict
    station: str | None
    instrument: str | None
    gauge_assumed: bool
    temperature: float | None
    corrected: bool
    repeats: int
    decimals: int
    change: float | None
    change_u: float | None
    source: Source
    slot: str
    correction: str | None = None

    @property
    def worked_out(self) -> bool:
        """Whether the figure is a difference of readings and no reading itself."""
        return self.written == WORKED_OUT


@dataclass(frozen=True, slots=True)
class DimensionStory:
    """One dimension of one part (or one fit): its readings over time, its limit, how fast it moves, what is left.

    `readings` holds all baselines, oldest first; the line belongs to the present baseline (`baseline_number`).
    `to_limit` gives exposures since the baseline at which the line meets the limit. `line_points` samples the fitted
    line as (exposure, value, low, high) from the baseline to beyond the plan's end, for drawing.
    """

    id: str
    name: str
    unit: str
    decimals: int
    limit: Limit | None
    limit_source: str | None
    limit_where: Source | None
    new: tuple[float, float] | None
    wears: str
    state: State
    readings: tuple[ReadingStory, ...]
    baseline: float | None
    baseline_from: Literal["reading", "new range", "unknown"]
    baseline_number: int
    baseline_why: str | None
    allowance: Allowance | None
    forecast: float | None
    line: Line | None
    rate: Interval | None
    to_limit: Crossing | None
    chance: float | None
    parts_in_fit: int
    exposure_unit: str
    now: float | None
    at_plan_end: float | None
    line_points: tuple[tuple[float, float, float, float], ...]
    observed_at: str | None = None

    @property
    def last(self) -> ReadingStory | None:
        return self.readings[-1] if self.readings else None


@dataclass(frozen=True, slots=True)
class GradeStory:
    """What was looked at and graded 0 to 4; `meaning` is the family's written definition."""

    name: str
    grade: int
    meaning: str | None
    source: Source


@dataclass(frozen=True, slots=True)
class PhotoStory:
    """A photo of a sheet: `path` from the shop's folder, `present` whether the file is there and an image."""

    path: str
    view: str | None
    caption: str | None
    crew_only: bool
    taken: str | None
    slot: str | None
    slot_name: str
    number: int
    present: bool
    source: Source


@dataclass(frozen=True, slots=True)
class FoundStory:
    """What one sheet says of one written line: a position, a set, or one member of a set."""

    key: str
    slot_name: str
    parts: tuple[str, ...]
    kind: str
    row: int | None
    grades: tuple[GradeStory, ...]
    finding: str | None
    decision: str | None
    because: str | None
    why: str | None
    photos: tuple[PhotoStory, ...]
    corrections: tuple[str, ...]
    crew_note: str | None
    part_hours: float | None
    source: Source
    whole: bool = False


@dataclass(frozen=True, slots=True)
class MeasuredRow:
    """One line of a sheet's measured table: the reading, the last one before it, and what was decided of the part."""

    slot: str
    slot_name: str
    part: str | None
    dimension: DimensionStory
    reading: ReadingStory
    before: ReadingStory | None
    allowance: Allowance | None
    state: State
    decision: str | None


@dataclass(frozen=True, slots=True)
class DueStory:
    """A service, replacement or inspection by interval, or one that an incident asked for.

    `used` and `left` by unit (hours, km, starts, runs, months); `share` of the interval that is furthest on.
    """

    name: str
    what: Literal["service", "replace", "inspect"]
    rule: str
    part: str | None
    slot_name: str | None
    since: dict[str, float]
    left: dict[str, float]
    due_on: date | None
    share: float | None
    state: State
    last: date | None
    because: str | None
    source: Source | None


@dataclass(frozen=True, slots=True)
class PartStory:
    """One part: where it is, what state it is in and why, its lives, its readings, its photos, what was found on it."""

    id: str
    named: bool
    kind: str
    kind_name: str
    engine: str | None
    slot: str
    slot_name: str
    row: int | None
    fitted_now: bool
    state: State
    state_why: str
    decision: str | None
    because: str | None
    decision_why: str | None
    decided_on: SheetRef | None
    differs: str | None
    origin: str | None
    batch: str | None
    note: str | None
    prior: Literal["known", "unknown"]
    taken_as_new: bool
    since_new: Exposure
    since_fitted: Exposure | None
    stays: tuple[Stay, ...]
    dimensions: tuple[DimensionStory, ...]
    found: tuple[tuple[SheetRef, FoundStory], ...]
    due: tuple[DueStory, ...]
    source: Source | None
    path: str | None

    @property
    def worst(self) -> DimensionStory | None:
        """The dimension that is furthest along its allowance; without one, the first that is measured."""
        used = [d for d in self.dimensions if d.allowance is not None]
        if used:
            return max(used, key=lambda d: d.allowance.used if d.allowance else 0.0)
        return self.dimensions[0] if self.dimensions else None


@dataclass(frozen=True, slots=True)
class FitStory:
    """A clearance between two parts that stand together now."""

    id: str
    name: str
    parts: tuple[str, str]
    row: int | None
    dimension: DimensionStory
    state: State


@dataclass(frozen=True, slots=True)
class ChamberReading:
    """One test reading of one chamber or position."""

    chamber: int | None
    written: str
    value: float | None
    corrected: float | None
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class TestStory:
    """One test on one sheet, position by position; `corrected` where the family's curve reaches the speed."""

    test: str
    name: str
    unit: str
    sheet: SheetRef
    rpm: float | None
    at_rpm: float | None
    faces_marked: bool
    rows: tuple[tuple[str, str, tuple[ChamberReading, ...]], ...]
    spread_chambers: float | None
    spread_rows: float | None
    limit: Limit | None
    limit_source: str | None
    spread_limits: tuple[float | None, float | None]
    state: State
    why: str
    source: Source


@dataclass(frozen=True, slots=True)
class SheetStory:
    """One sheet as its page shows it."""

    ref: SheetRef
    reason: str | None
    by: str | None
    clock: str | None
    counter: str | None
    temperature: str | None
    engine_hours: float | None
    hours_since_build: float | None
    note: str | None
    crew_note: str | None
    photos: tuple[PhotoStory, ...]
    found: tuple[FoundStory, ...]
    measured: tuple[MeasuredRow, ...]
    fitted: tuple[Stay, ...]
    tests: tuple[TestStory, ...]
    torque: tuple[tuple[str, str], ...]
    fluids: tuple[tuple[str, str], ...]
    work: tuple[tuple[str, str, Source], ...]
    corrections: tuple[str, ...]
    not_looked_at: tuple[str, ...]
    commit: str | None
    committed: date | None
    uncommitted: bool
    source: Source


@dataclass(frozen=True, slots=True)
class LogStory:
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


@dataclass(frozen=True, slots=True)
class FluidSpan:
    """One fluid in the engine from one day to another; `hours` run on it."""

    fluid: str
    name: str
    began: date
    ended: date | None
    hours: float
    at_hours: float
    source: Source


@dataclass(frozen=True, slots=True)
class IncidentStory:
    """An over-rev, an overheat …, what the family's rules ask of it, and the sheet that answered it."""

    day: date
    what: str
    words: str
    hours: float | None
    answered: SheetRef | None
    source: Source


@dataclass(frozen=True, slots=True)
class PlannedEvent:
    """An event to come and the exposure it asks for."""

    day: date
    name: str
    exposure: Exposure
    source: Source


GapKind = Literal[
    "not measured", "no serial", "no source", "no gauge", "no decision", "unknown life", "differs", "log", "doubt"
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that is not known, or that the builder and the limits see differently."""

    what: str
    kind: Literal[
        "not measured",
        "no serial",
        "no source",
        "no gauge",
        "no decision",
        "unknown life",
        "differs",
        "log",
        "doubt",
        "other",
    ]
    source: Source | None


@dataclass(frozen=True, slots=True)
class Stopper:
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


@dataclass(frozen=True, slots=True)
class MapCell:
    """A cell of the engine map: the parts of one kind in one row (None: the whole engine)."""

    row: int | None
    parts: tuple[PartStory, ...]
    fits: tuple[FitStory, ...] = ()


@dataclass(frozen=True, slots=True)
class MapRow:
    """A line of the engine map: one kind of part across the rows."""

    kind: str
    kind_name: str
    dimension_name: str | None
    cells: tuple[MapCell, ...]
    spans: bool


@dataclass(frozen=True, slots=True)
class LimitRow:
    """A limit with where it is written, for the page of sources and limits."""

    kind_name: str
    dimension: str
    unit: str
    new: str
    limit: str
    limit_source: str | None
    source: Source


@dataclass(frozen=True, slots=True)
class EngineStory:
    """One engine, told. `as_of` and `commit` belong to the engine's own inputs."""

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


@dataclass(frozen=True, slots=True)
class ShopStory:
    """The whole shop: every engine told, and what is wrong in the records."""

    name: str
    engines: tuple[EngineStory, ...]
    parts: tuple[PartStory, ...]
    problems: tuple[Problem, ...]
    inbox: tuple[str, ...]
    as_of: date
    commit: str | None
    site: str | None = None
