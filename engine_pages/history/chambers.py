"""Compression, leak-down and other tests over time: an engine's sheets told in, a trend a rotor or cylinder out."""

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from ..records.family import Family
from ..records.slots import slots_of
from ..wear.chambers import apart, low_chambers
from .chamber_words import pattern_words
from .story import SheetRef, SheetStory, TestStory
from .told_chambers import ChamberPattern, ChamberPoint, ChamberTrend
from .told_sheets import ChamberReading

SEALING: Final = ("compression", "leak_down")  # tests in which one chamber is held against another
LOSSES: Final = ("leak_down",)  # tests in which more is worse whatever the family's limit says
NOTHING: Final = ChamberPattern("cannot tell", (), None, "")


class _Read(Struct, frozen=True):
    """One row of one test: the sheet, the build it was made on, what the row is called and reads."""

    sheet: SheetStory
    nth: int
    build: SheetRef | None
    test: TestStory
    name: str
    chambers: tuple[ChamberReading, ...]
    stands: ChamberPattern


def trends_of(family: Family, sheets: Sequence[SheetStory]) -> tuple[ChamberTrend, ...]:
    """Every test of every rotor or cylinder, also where no figure could be had; `sheets` in the order of the story."""
    found: dict[tuple[str, str], list[_Read]] = {}
    build: SheetRef | None = None
    for nth, sheet in enumerate(sheets):
        build = sheet.ref if sheet.ref.kind == "build" else build
        for test in sheet.tests:
            stands = patterns_of(family, test)
            for key, name, chambers in test.rows:
                read = _Read(sheet, nth, build, test, name, chambers, stands.get(key, NOTHING))
                found.setdefault((test.test, key), []).append(read)
    return tuple(_trend(key, rows) for (_, key), rows in found.items())


def _trend(key: str, rows: Sequence[_Read]) -> ChamberTrend:
    last = rows[-1].test
    points = tuple(_point(row) for row in rows)
    return ChamberTrend(
        test=last.test,
        test_name=last.name,
        key=key,
        name=rows[-1].name,
        unit=last.unit,
        at_rpm=last.at_rpm,
        limit=last.limit,
        spread_limits=last.spread_limits,
        worse=_worse(last),
        points=points,
        by_face=all(one.faces_marked and len(one.chambers) > 1 for one in points if one.known),
    )


def _point(row: _Read) -> ChamberPoint:
    known = [one.corrected for one in row.chambers if one.corrected is not None]
    test = row.test
    return ChamberPoint(
        sheet=row.sheet.ref,
        nth=row.nth,
        hours=row.sheet.engine_hours,
        since_build=0.0 if row.sheet.ref.kind == "build" else row.sheet.hours_since_build,
        build=row.build,
        rpm=test.rpm,
        chambers=row.chambers,
        apart=apart(known),
        rows_apart=test.spread_rows,
        faces_marked=test.faces_marked,
        corrected=test.not_corrected is None and any(one.corrected != one.value for one in row.chambers),
        as_read=test.not_corrected,
        stands=row.stands,
        read_in=test.read_in,
        orifice=test.orifice,
    )


def _worse(test: TestStory) -> Literal["down", "up"]:
    """Where wear takes a test: what is limited from above alone, and any loss, goes up."""
    above_alone = test.limit is not None and test.limit.max is not None and test.limit.min is None
    return "up" if above_alone or test.test in LOSSES else "down"


def patterns_of(family: Family, test: TestStory) -> dict[str, ChamberPattern]:
    """What stands out in one test, by row: a rotor's faces against each other, or the cylinders of the engine."""
    if test.test not in SEALING:
        return {}
    if family.architecture == "rotary":
        return {key: _of_faces(test, chambers) for key, _, chambers in test.rows}
    return dict(_of_cylinders(family, test))


def _of_faces(test: TestStory, chambers: Sequence[ChamberReading]) -> ChamberPattern:
    margin = test.spread_limits[0]
    if not test.faces_marked:
        return replace(NOTHING, margin=margin)
    found = low_chambers(*_signed(test, [one.corrected for one in chambers], margin, "ring"))
    numbers = tuple(place + 1 for place in found.low)
    return ChamberPattern(found.pattern, numbers, margin, pattern_words("face", _worse(test), found, len(chambers)))


def _of_cylinders(family: Family, test: TestStory) -> Iterator[tuple[str, ChamberPattern]]:
    """Cylinders by their row in the engine: who stands beside whom does not hang on the order of the sheet."""
    places = {slots_of(family).named(key)[0].row: key for key, _, _ in test.rows if slots_of(family).named(key)}
    rows = {key: _one_figure(chambers) for key, _, chambers in test.rows}
    line = [places.get(row) for row in range(1, max((row for row in places if row is not None), default=0) + 1)]
    margin = test.spread_limits[1]
    found = low_chambers(*_signed(test, [rows[key] if key else None for key in line], margin, "line"))
    words = pattern_words("cylinder", _worse(test), found, sum(key is not None for key in line))
    for place, key in enumerate(line):
        if key is not None:
            low = place in found.low
            yield key, ChamberPattern(found.pattern, (1,) if low else (), margin, words if low else "")


def _one_figure(chambers: Sequence[ChamberReading]) -> float | None:
    return next((one.corrected for one in chambers if one.corrected is not None), None)


def _signed(
    test: TestStory, values: list[float | None], margin: float | None, around: Literal["ring", "line"]
) -> tuple[list[float | None], float | None, Literal["ring", "line"], float | None]:
    """Readings and limit so that less is worse. A limit of another cranking speed says nothing of what is as read."""
    limit = test.limit if test.not_corrected is None else None
    if _worse(test) == "down":
        return values, margin, around, limit.min if limit else None
    least = -limit.max if limit is not None and limit.max is not None else None
    return [None if value is None else -value for value in values], margin, around, least
