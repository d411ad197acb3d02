"""One sheet, told, as plain values: its measured table, its tests, and what else its page shows."""

from datetime import date

from msgspec import Struct

from ..records.source import Source
from ..wear.limits import Allowance, Limit
from .told_parts import DimensionStory, FoundStory, PhotoStory, ReadingStory, SheetRef, State, Stay, Verdict


class MeasuredRow(Struct, frozen=True):
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


class ChamberReading(Struct, frozen=True):
    """One test reading of one chamber or position; `name` where the sheet names it by more than its place.

    Of a bound ("over 700 kPa") and of what could not be measured `value` and `corrected` are None: a bound is judged
    and shown as written, and compared with nothing. `bound` tells the two apart.
    """

    chamber: int | None
    written: str
    value: float | None
    corrected: float | None
    verdict: Verdict
    name: str | None = None
    bound: bool = False


class TestStory(Struct, frozen=True):
    """One test on one sheet, position by position; `corrected` where the family's curve reaches the speed.

    Where it does not, `corrected` is the value as read and `not_corrected` says why. `read_in` is the unit in which the
    sheet's bare readings are taken (None: the test's own), `orifice` a leak-down tester's, as written.
    """

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
    not_corrected: str | None = None
    read_in: str | None = None
    orifice: str | None = None


class SheetStory(Struct, frozen=True):
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

    @property
    def gauged(self) -> tuple[ReadingStory, ...]:
        """What was read with a gauge; differences that are worked out, and words, are no readings."""
        return tuple(row.reading for row in self.measured if row.reading.by_gauge)

    @property
    def all_photos(self) -> tuple[PhotoStory, ...]:
        """The sheet's own photos, then those of its places."""
        return (*self.photos, *(photo for found in self.found for photo in found.photos))
