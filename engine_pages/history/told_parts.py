"""One part, told, as plain values: its stays, readings, dimensions, grades, photos, dues, and its clearances.

Hours, km, starts and runs are exposures; the family says which of them its wear is reckoned against. `None` means "not
known" or "not measured", never zero.
"""

from datetime import date
from typing import Literal

from msgspec import Struct, field

from ..records.slots import with_row
from ..records.source import Source
from ..wear.among_like import Rank, Selection
from ..wear.bends import Bend
from ..wear.exposure import Exposure
from ..wear.limits import Allowance, Limit
from ..wear.pool.line import PartLine
from ..wear.trend import Crossing, Interval

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


class SheetRef(Struct, frozen=True):
    """A sheet, as other places name it. `label` is its number, else its kind and date."""

    kind: Literal["build", "inspection", "teardown"]
    engine: str
    name: str
    label: str
    day: date
    path: str


class Stay(Struct, frozen=True):
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


class ReadingStory(Struct, frozen=True):
    """One reading of one dimension on one sheet, brought to 20 °C where it can be.

    `value`, `value_20c`, `u` (standard uncertainty), `low` and `high` (value ± U, or the range) in the dimension's
    unit; `exposure` in the family's unit since the baseline, `part_hours` since new; `limit` that of its own baseline,
    an undersize journal having another. `change` is the difference from
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
    limit: Limit | None = None
    correction: str | None = None

    @property
    def worked_out(self) -> bool:
        """Whether the figure is a difference of readings and no reading itself."""
        return self.written == WORKED_OUT

    @property
    def was_read(self) -> bool:
        """Whether somebody read a figure off something: by a gauge, between two leaves, or that it is over or under."""
        return self.kind != "not measurable" and not self.worked_out

    @property
    def by_gauge(self) -> bool:
        """Whether a gauge gave the figure."""
        return self.kind == "gauge" and not self.worked_out


class Jump(Struct, frozen=True):
    """A reading that moved by many times what its kind moves: on which sheet, since when, how many times the spread.

    times: None for a reader behind whose figures too few other engines stand to tell what the kind does.
    """

    sheet: str
    since: date
    times: float | None


class Wear(Struct, frozen=True):
    """What the like parts of the whole shop say of one of them.

    `line`: the part's own, out of its `pool`, whose `member` it is; `parts` were measured of the `of` that there are,
    and `summary` is the name of the pool's joint summary. `bend`: whether a constant rate fits the kind; where it does
    not, the line holds from `since` (exposure since the baseline) on. `rank` of its rate, 1 the fastest. `selection`
    where the answer changes without the sheets that were written because something looked bad. `jumps`: readings that
    moved far more than the kind does.
    """

    line: PartLine | None = None
    pool: tuple[str, ...] | None = None
    member: str = ""
    parts: int = 0
    of: int = 0
    summary: str | None = None
    bend: Bend | None = None
    since: float = 0.0
    rank: Rank | None = None
    selection: Selection | None = None
    jumps: tuple[Jump, ...] = ()


NO_WEAR = Wear()


class DimensionStory(Struct, frozen=True):
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
    line: PartLine | None
    rate: Interval | None
    to_limit: Crossing | None
    chance: float | None
    parts_in_fit: int
    exposure_unit: str
    now: float | None
    at_plan_end: float | None
    line_points: tuple[tuple[float, float, float, float], ...]
    observed_at: str | None = None
    wear: Wear = NO_WEAR

    @property
    def since_words(self) -> str:
        """Since what its baseline counts, where it was machined: ` since ground, …`."""
        return f" since {self.baseline_why}" if self.baseline_number else ""

    @property
    def last(self) -> ReadingStory | None:
        return self.readings[-1] if self.readings else None


class GradeStory(Struct, frozen=True):
    """What was looked at and graded 0 to 4; `meaning` is the family's written definition."""

    name: str
    grade: int
    meaning: str | None
    source: Source


class PhotoStory(Struct, frozen=True):
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


class FoundStory(Struct, frozen=True):
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


class DueStory(Struct, frozen=True):
    """A service, replacement or inspection by interval, or one that an incident asked for.

    `since`, `left` and `every` (the whole interval; empty after an incident) by unit (hours, km, starts, runs, months);
    `share` of the interval that is furthest on; `id` is the service's own name as the family writes it, of a part's
    dues empty.
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
    id: str = ""
    every: dict[str, float] = field(default_factory=dict)


class PartStory(Struct, frozen=True):
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
    def spoken_of(self) -> Source | None:
        """Where a sheet spoke of the part last; else its own file."""
        return next((found.source for _, found in reversed(self.found)), self.source)

    @property
    def not_measured(self) -> tuple[DimensionStory, ...]:
        """Dimensions with a limit that nobody measured."""
        return tuple(one for one in self.dimensions if one.limit is not None and one.state == "not measured")

    @property
    def worst(self) -> DimensionStory | None:
        """The dimension that is furthest along its allowance; without one, the first that is measured."""
        used = [d for d in self.dimensions if d.allowance is not None]
        if used:
            return max(used, key=lambda d: d.allowance.used if d.allowance else 0.0)
        return self.dimensions[0] if self.dimensions else None


Bound = Literal["at the least", "at the most", "about"]


class LaterFigure(Struct, frozen=True):
    """A clearance of the newest reading of each side, one of which has run on since it was read.

    `value` in the clearance's unit; `bound` says which way the wear of the side that ran on may have moved it. `read`
    names both parts with the day of their reading, outer first.
    """

    value: float
    decimals: int
    bound: Bound
    verdict: Verdict
    read: tuple[tuple[str, date], tuple[str, date]]


class FitStory(Struct, frozen=True):
    """A clearance between two parts that stand together now.

    `dimension` holds the figures of which both sides were read with no running between, and wear is reckoned from them
    alone. Where one side was read again since, the other having run meanwhile, `later` is the newest figure there is;
    the state is the worse of the two. `between`: the dimensions of its two parts, outer and inner,
    whose difference it is; None where it is judged by stations or its sides have other units. `sides`: these dimensions
    in any case.
    """

    id: str
    name: str
    parts: tuple[str, str]
    row: int | None
    dimension: DimensionStory
    state: State
    later: LaterFigure | None = None
    between: tuple[str, str] | None = None
    sides: tuple[str, str] | None = None

    @property
    def title(self) -> str:
        """The name with its row behind it, where there is one and the name does not end with it already."""
        return with_row(self.name, self.row)
