"""How far each face or cylinder has got worse over three tests or more, held against its neighbours.

In: the trends of an engine's tests. Out: a `ChamberFall` a face or cylinder. Only tests that compare with the last one
count: brought to the same speed, through the same orifice, on a rotor with marked faces. How many assemblies
they are of is said beside it: what was renewed in between stands on the sheets.
"""

from collections.abc import Iterable, Iterator, Sequence
from statistics import fmean
from typing import Final

from msgspec import Struct

from .chamber_state import usual_scatter
from .told_chambers import ChamberFall, ChamberPoint, ChamberTrend

FEWEST: Final = 3  # tests; of two the difference may be the scatter of one


class _Line(Struct, frozen=True):
    """One face or cylinder: its trend, what it is called, its comparable tests and figures, oldest first."""

    trend: ChamberTrend
    of: str
    name: str
    points: tuple[ChamberPoint, ...]
    figures: tuple[float, ...]

    @property
    def change(self) -> float:
        """From the first to the last, towards what is worse."""
        gone = self.figures[0] - self.figures[-1]
        return gone if self.trend.worse == "down" else -gone


def falls_of(trends: Sequence[ChamberTrend]) -> tuple[ChamberFall, ...]:
    """Every face and cylinder with three comparable tests or more; `trends` are those of one engine."""
    groups: dict[tuple[str, str], list[_Line]] = {}
    for trend in trends:
        if usual_scatter(trend.test, trend.unit) is not None:
            for line in _lines(trend):
                groups.setdefault((trend.test, line.of), []).append(line)
    return tuple(_fall(line, group) for group in groups.values() for line in group)


def _lines(trend: ChamberTrend) -> Iterator[_Line]:
    """A line a face of a rotor; a cylinder, read as one figure, is one."""
    several = any(len(point.chambers) > 1 for point in trend.points)
    if not several:
        yield from _line(trend, "", trend.name, _comparable(trend.points), 0)
        return
    marked = [point for point in _comparable(trend.points) if point.faces_marked]
    for n in range(max((len(point.chambers) for point in marked), default=0)):
        yield from _line(trend, trend.name, f"face {n + 1}", marked, n)


def _comparable(points: Sequence[ChamberPoint]) -> list[ChamberPoint]:
    """Those that compare with the last: none where that one is as read, for its speed is another each time."""
    last = points[-1]
    return [one for one in points if one.as_read is None and last.as_read is None and one.orifice == last.orifice]


def _line(trend: ChamberTrend, of: str, name: str, points: Iterable[ChamberPoint], n: int) -> Iterator[_Line]:
    read = [(one, one.values[n]) for one in points if n < len(one.values)]
    known = [(point, value) for point, value in read if value is not None]
    if len(known) >= FEWEST and known[-1][0] is trend.last:
        yield _Line(trend, of, name, tuple(point for point, _ in known), tuple(value for _, value in known))


def _fall(line: _Line, group: Sequence[_Line]) -> ChamberFall:
    first, last = line.points[0], line.points[-1]
    same = [one.change for one in group if one is not line and _ends(one) == _ends(line)]
    others = fmean(same) if same else None
    scatter = usual_scatter(line.trend.test, line.trend.unit)
    most = scatter.of(line.figures[0]) if scatter is not None else 0.0
    hours = last.hours - first.hours if first.hours is not None and last.hours is not None else None
    return ChamberFall(
        test=line.trend.test,
        test_name=line.trend.test_name,
        unit=line.trend.unit,
        worse=line.trend.worse,
        of=line.of,
        name=line.name,
        change=line.change,
        others=others,
        hours=hours,
        tests=len(line.points),
        assemblies=len({point.build for point in line.points}),
        alone=line.change > most and (others is None or line.change - others > most),
    )


def _ends(line: _Line) -> tuple[str, str]:
    """The sheets that it is reckoned between: figures of other days are of other conditions."""
    return line.points[0].sheet.path, line.points[-1].sheet.path
