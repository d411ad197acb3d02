"""Tests of chambers told over time: a trend a face or of each rotor's lowest, and what the last one points to."""

from dataclasses import dataclass

from ..wear.limits import Limit
from .told_parts import SheetRef


@dataclass(frozen=True, slots=True)
class ChamberPoint:
    """One test of one rotor or cylinder: its sheet, the engine's hours, each chamber's figure, and their spread.

    `values` are at the standard cranking speed where `corrected`; by face where faces are marked, else lowest first.
    """

    sheet: SheetRef
    hours: float
    values: tuple[float, ...]
    apart: float | None
    corrected: bool
    faces_marked: bool


@dataclass(frozen=True, slots=True)
class ChamberTrend:
    """One test of one rotor or cylinder over time.

    `by_face` says that every test marked its faces, so that each face has a line of its own; else the lowest counts.
    `builds` are the engine's hours at each build: what was read before one is of another assembly. `points_to` is what
    the last test is consistent with (empty: nothing stands out), `why_not` why nothing was brought to one speed.
    """

    test: str
    test_name: str
    key: str
    name: str
    unit: str
    limit: Limit | None
    points: tuple[ChamberPoint, ...]
    by_face: bool
    builds: tuple[float, ...]
    points_to: str
    why_not: str | None
