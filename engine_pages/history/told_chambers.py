"""Tests of chambers told over time: a trend a rotor or cylinder, and what each test is consistent with."""

from typing import Literal

from msgspec import Struct

from ..wear.chambers import Pattern
from ..wear.limits import Limit
from .told_parts import SheetRef
from .told_sheets import ChamberReading


class ChamberPattern(Struct, frozen=True):
    """What stands out in one test of one rotor, or of one cylinder among the others.

    `low` are the numbers (from 1) of a rotor's faces that lie low; of a cylinder (1,) where it does itself. `margin` is
    how far below the highest counts as low, in the test's unit. `words` say what it is consistent with, as common
    practice has it; empty where nothing stands out or nothing can be told.
    """

    pattern: Pattern
    low: tuple[int, ...]
    margin: float | None
    words: str


class ChamberPoint(Struct, frozen=True):
    """One test of one rotor or cylinder; `nth` is its sheet's place in the engine's story.

    `hours` are the engine's in all, `since_build` those of the assembly that was tested, `build` its sheet (None where
    no build is written before). `corrected`: brought to the standard speed by the family's curve; else `as_read` says
    why not, where there is a standard speed at all. `apart` is between the row's chambers, `rows_apart` between the
    means of all rows, both in the test's unit.
    """

    sheet: SheetRef
    nth: int
    hours: float | None
    since_build: float | None
    build: SheetRef | None
    rpm: float | None
    chambers: tuple[ChamberReading, ...]
    apart: float | None
    rows_apart: float | None
    faces_marked: bool
    corrected: bool
    as_read: str | None
    stands: ChamberPattern
    read_in: str | None
    orifice: str | None

    @property
    def values(self) -> tuple[float | None, ...]:
        """Each chamber's figure in the sheet's order: at the standard speed, or as read where `as_read` says so."""
        return tuple(one.corrected for one in self.chambers)

    @property
    def known(self) -> tuple[float, ...]:
        """The figures that there are."""
        return tuple(value for value in self.values if value is not None)


class ChamberFall(Struct, frozen=True):
    """How far one face or cylinder has got worse from the first to the last of several tests that compare.

    `of` is its row's name where a rotor's face is meant, else empty. `change` is towards what is worse, in the test's
    unit, as is `others`, the mean change of its neighbours on the rotor or of the other cylinders (None: nothing to
    hold it against). `hours` are the engine's between the two tests, `tests` how many there were, of how many
    `assemblies`. `alone`: it got worse by more than tests usually scatter, and by more than that beyond the others.
    """

    test: str
    test_name: str
    unit: str
    worse: Literal["down", "up"]
    of: str
    name: str
    change: float
    others: float | None
    hours: float | None
    tests: int
    assemblies: int
    alone: bool


class ChamberTrend(Struct, frozen=True):
    """One test of one rotor or cylinder over time, oldest first; there is a point at least.

    `by_face` says that every test with figures marked its faces, so that each face has a line of its own; else the
    worst of each test counts. `worse` is where wear takes it: compression down, a leak-down up. `spread_limits` are
    what chambers and what rows may lie apart. A point of another `build` or `orifice` than the one before it begins a
    new line.
    """

    test: str
    test_name: str
    key: str
    name: str
    unit: str
    at_rpm: float | None
    limit: Limit | None
    spread_limits: tuple[float | None, float | None]
    worse: Literal["down", "up"]
    points: tuple[ChamberPoint, ...]
    by_face: bool

    @property
    def last(self) -> ChamberPoint:
        """The last test of it."""
        return self.points[-1]

    def worst(self, point: ChamberPoint) -> float | None:
        """The lowest of a test's figures; of a loss the highest. None where there is none: a bound is no figure."""
        return (min if self.worse == "down" else max)(point.known, default=None)
