"""Compression, leak-down and other tests over time: an engine's sheets told in, a trend a rotor or cylinder out."""

from collections.abc import Iterator, Sequence

from ..records.family import Family
from ..wear.chambers import LowChambers, apart, low_chambers
from .story import ChamberReading, SheetStory, TestStory
from .told_chambers import ChamberPoint, ChamberTrend

# Common practice of the trade: a seal that parts two chambers shows in both.
ROTARY = {
    "one low": "one face low beside the others: consistent with its side seal, or what that face alone has",
    "two neighbours low": "two neighbouring faces low: consistent with the apex or corner seal between them",
}
PISTON = {
    "one low": "one cylinder low beside the others: consistent with its rings or valves",
    "two neighbours low": "two neighbouring cylinders low: consistent with a leak between them, as at the head gasket",
}
FALLS = ("compression",)  # tests in which less is worse, so that a low chamber stands out


def trends_of(family: Family, sheets: Sequence[SheetStory]) -> tuple[ChamberTrend, ...]:
    """Every test of every rotor or cylinder that was read at least once, in the order of the sheets."""
    builds = tuple(
        sheet.engine_hours for sheet in sheets if sheet.ref.kind == "build" and sheet.engine_hours is not None
    )
    found: dict[tuple[str, str], list[tuple[SheetStory, TestStory, str, tuple[ChamberReading, ...]]]] = {}
    for sheet in sheets:
        for test in sheet.tests:
            for key, name, chambers in test.rows:
                found.setdefault((test.test, key), []).append((sheet, test, name, chambers))
    across = dict(_across_cylinders(family, sheets))
    trends = (_trend(family, key, rows, builds, across) for key, rows in found.items())
    return tuple(trend for trend in trends if trend is not None)


def _trend(
    family: Family, key: tuple[str, str], rows: Sequence[tuple[SheetStory, TestStory, str, tuple[ChamberReading, ...]]],
    builds: tuple[float, ...], across: dict[tuple[str, str], str],
) -> ChamberTrend | None:  # fmt: skip
    points = [point for sheet, test, _, chambers in rows if (point := _point(sheet, test, chambers)) is not None]
    if not points:
        return None
    _, last, name, _ = rows[-1]
    several = [point for point in points if len(point.values) > 1]
    return ChamberTrend(
        test=last.test,
        test_name=last.name,
        key=key[1],
        name=name,
        unit=last.unit,
        limit=last.limit,
        points=tuple(points),
        by_face=bool(several) and len(several) == len(points) and all(point.faces_marked for point in points),
        builds=builds,
        points_to=_points_to(family, last, points[-1]) or across.get(key, ""),
        why_not=last.not_corrected,
    )


def _point(sheet: SheetStory, test: TestStory, chambers: Sequence[ChamberReading]) -> ChamberPoint | None:
    values = [one.corrected for one in chambers if one.corrected is not None]
    if not values or sheet.engine_hours is None:
        return None
    moved = any(one.corrected != one.value for one in chambers)
    ordered = tuple(values) if test.faces_marked else tuple(sorted(values))
    return ChamberPoint(sheet.ref, sheet.engine_hours, ordered, apart(values), moved, test.faces_marked)


def _points_to(family: Family, test: TestStory, point: ChamberPoint) -> str:
    """What the faces of one rotor are consistent with; nothing where they are not told apart."""
    margin = test.spread_limits[0]
    if family.architecture != "rotary" or test.test not in FALLS or margin is None or not point.faces_marked:
        return ""
    found = low_chambers(point.values, margin, "ring")
    return _words(ROTARY, found, "face")


def _across_cylinders(family: Family, sheets: Sequence[SheetStory]) -> Iterator[tuple[tuple[str, str], str]]:
    """What the cylinders of the last test are consistent with, against each other."""
    if family.architecture != "piston":
        return
    last = {test.test: test for sheet in sheets for test in sheet.tests}
    for test in last.values():
        margin = test.spread_limits[1]
        rows = [(key, values[0]) for key, _, chambers in test.rows if (values := _known(chambers))]
        if test.test not in FALLS or margin is None or len(rows) < 2:
            continue
        found = low_chambers([value for _, value in rows], margin, "line")
        yield from (((test.test, rows[n][0]), _words(PISTON, found, "cylinder")) for n in found.low)


def _known(chambers: Sequence[ChamberReading]) -> list[float]:
    return [one.corrected for one in chambers if one.corrected is not None]


def _words(meaning: dict[str, str], found: LowChambers, what: str) -> str:
    """The pattern in words, with the places that lie low."""
    if found.pattern == "scattered":
        return f"{len(found.low)} {what}s low against the highest, none beside the other: no one cause stands out"
    said = meaning.get(found.pattern, "")
    return f"{said} ({what} {' and '.join(str(n + 1) for n in found.low)})" if said else ""
