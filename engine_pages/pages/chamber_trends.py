"""One test of an engine over time, as a section: the last test's faces on the rotor, the trend, every test in a table.

In: the trends of one test, a rotor or cylinder each. Out: `ChamberSection` for the template of the chambers' page.
"""

from collections.abc import Iterator, Sequence

from markupsafe import Markup
from msgspec import Struct

from engine_pages.history.chamber_falls import falls_of
from engine_pages.history.story import EngineStory
from engine_pages.history.told_chambers import ChamberPoint, ChamberTrend
from engine_pages.pages.chamber_faces import FACES, Face, rotor_faces
from engine_pages.pages.chamber_fall_words import fall_sentences
from engine_pages.pages.chamber_tables import as_read_words
from engine_pages.pages.charts.chamber_trend import (
    ChamberDot,
    ChamberLine,
    ChamberPanel,
    ChamberTrendChart,
    draw_chamber_trend,
)
from engine_pages.pages.desk import Here, sheet_words
from engine_pages.pages.dimension_words import limit_words
from engine_pages.pages.pieces import Chart, Column, Entry, Heading, Table
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import (
    count_words,
    day_words,
    ended,
    figure_words,
    small,
    unit_words,
    written_decimals,
)

FEWEST = 2  # tests of one rotor or cylinder: one is a figure, and stands in the table


class RotorFigure(Struct, frozen=True):
    """A rotor with the last test's figures on its faces, and how far they lie apart in words."""

    name: str
    drawing: Markup
    words: str


class ChamberSection(Struct, frozen=True):
    """One test: rotors drawn (none where faces are not marked), the trend (None under two tests), words, every test."""

    heading: Heading
    rotors: tuple[RotorFigure, ...]
    chart: Chart | None
    words: str
    every: Table


def chamber_section(here: Here, engine: EngineStory, trends: Sequence[ChamberTrend]) -> ChamberSection:
    """The section of one test; its trends are of one test name, one at least."""
    first, key = trends[0], trends[0].test.replace("_", "-")
    tests = {point.sheet.path for trend in trends for point in trend.points}
    rotors = tuple(figure for trend in trends for figure in _rotor(trend, last_sheet(trends)))
    rows = "rotors" if engine.architecture == "rotary" else "cylinders"
    return ChamberSection(
        Heading(key, first.test_name, count_words(len(tests), "test")),
        rotors,
        _chart(here, trends),
        " ".join([*(() if rotors else [_last_read(trends)]), *_words(trends, rows)]),
        _table(here, trends, key),
    )


def decimals_of(trends: Sequence[ChamberTrend]) -> int:
    """As many decimals as the readings were written with."""
    chambers = (one for trend in trends for point in trend.points for one in point.chambers)
    return max((written_decimals(one.written) for one in chambers), default=0)


def last_sheet(trends: Sequence[ChamberTrend]) -> str:
    """The sheet of the last test; of two of one day the one that the story tells later."""
    return max((trend.last for trend in trends), key=lambda point: point.nth).sheet.path


def _rotor(trend: ChamberTrend, sheet: str) -> Iterator[RotorFigure]:
    """The rotor drawn, where its faces are marked and all three were read in the last test."""
    point, decimals = trend.last, decimals_of([trend])
    if not point.faces_marked or len(point.known) != FACES or point.sheet.path != sheet:
        return
    faces = [
        Face(unit_words(figure_words(value, decimals), trend.unit), n in point.stands.low)
        for n, value in enumerate(point.known, start=1)
    ]
    words = f"{_apart(trend, point)} apart, {day_words(point.sheet.day)}"
    yield RotorFigure(trend.name, rotor_faces(trend.name, faces), words)


def _apart(trend: ChamberTrend, point: ChamberPoint) -> str:
    return unit_words(figure_words(point.apart or 0.0, decimals_of([trend])), trend.unit)


def _chart(here: Here, trends: Sequence[ChamberTrend]) -> Chart | None:
    """The trend, a panel a rotor or cylinder, where one of them was tested twice or more."""
    drawn = [trend for trend in trends if sum(bool(point.known) for point in trend.points) >= FEWEST]
    if not drawn:
        return None
    points = [point for trend in drawn for point in trend.points if point.known]
    hours = [point.hours for point in points if point.hours is not None]
    by_day = len(hours) < len(points) or not max(hours) > min(hours)  # an engine that does not count hours
    stretches = list(dict.fromkeys(_stretch(point) for point in points))
    panels = tuple(ChamberPanel(trend.name, tuple(_lines(trend, stretches, by_day))) for trend in drawn)
    limit = drawn[-1].limit
    limits = tuple(end for end in (limit.min, limit.max) if end is not None) if limit is not None else ()
    title = drawn[0].test_name
    begun = _began(drawn, by_day)
    data = ChamberTrendChart(title, drawn[0].unit, decimals_of(trends), panels, limits, begun, by_day)
    return here.desk.drawer.draw(data, draw_chamber_trend, title, (), _how_drawn(drawn))


def _lines(trend: ChamberTrend, stretches: Sequence[tuple[str, str]], by_day: bool) -> Iterator[ChamberLine]:
    """A line a face where every test marked them, else the worst of each test."""
    if not trend.by_face:
        worst = "lowest" if trend.worse == "down" else "highest"
        several = any(len(point.known) > 1 for point in trend.points)
        figures = ((point, trend.worst(point)) for point in trend.points)
        dots = (_dot(point, figure, stretches, by_day) for point, figure in figures if figure is not None)
        yield ChamberLine(worst if several else "reading", "", tuple(dots))
        return
    for n in range(max(len(point.values) for point in trend.points)):
        read = ((point, point.values[n] if n < len(point.values) else None) for point in trend.points)
        dots = (_dot(point, value, stretches, by_day) for point, value in read if value is not None)
        yield ChamberLine(f"face {n + 1}", str(n + 1), tuple(dots))


def _stretch(point: ChamberPoint) -> tuple[str, str]:
    """What a test is compared within: its assembly, and its tester's orifice."""
    return point.build.path if point.build else "", point.orifice or ""


def _dot(point: ChamberPoint, value: float, stretches: Sequence[tuple[str, str]], by_day: bool) -> ChamberDot:
    x = float(point.sheet.day.toordinal()) if by_day or point.hours is None else point.hours
    return ChamberDot(x, value, stretches.index(_stretch(point)), point.as_read is not None)


def _began(trends: Sequence[ChamberTrend], by_day: bool) -> tuple[float, ...]:
    """Where the assemblies that were tested began, on the axis."""
    points = {point.sheet.path: point for trend in trends for point in trend.points if point.build is not None}
    began = set()
    for point in points.values():
        if by_day and point.build is not None:
            began.add(float(point.build.day.toordinal()))
        elif point.hours is not None and point.since_build is not None:
            began.add(point.hours - point.since_build)
    return tuple(sorted(began))


def _how_drawn(trends: Sequence[ChamberTrend]) -> str:
    said = []
    if any(trend.by_face for trend in trends):
        said.append("Faces stand side by side under their numbers.")
    elif any(len(point.known) > 1 for trend in trends for point in trend.points):
        worst = "lowest" if trends[0].worse == "down" else "highest"
        said.append(f"Faces are not marked on every test: the {worst} of each is drawn.")
    if any(point.build is not None for trend in trends for point in trend.points):
        said.append("Dotted: a build; a line does not go over it.")
    if any(point.as_read is not None for trend in trends for point in trend.points):
        said.append("Open: as read, not brought to the standard speed.")
    return " ".join(said)


def _last_read(trends: Sequence[ChamberTrend]) -> str:
    """The figures of the last test, where no rotor is drawn with them."""
    sheet, decimals = last_sheet(trends), decimals_of(trends)
    at_last = [trend for trend in trends if trend.last.sheet.path == sheet]
    said = []
    for trend in at_last:
        figures = unit_words(", ".join(figure_words(value, decimals) for value in trend.last.known), trend.unit)
        if len(trend.last.known) < len(trend.last.chambers):
            figures = as_read_words(trend.last.chambers, trend.unit, trend.last.read_in)
        said.append(f"{small(trend.name)}: {figures}")
    return f"Last, {day_words(at_last[0].last.sheet.day)}, {'; '.join(said)}."


def _words(trends: Sequence[ChamberTrend], rows_called: str) -> Iterator[str]:
    """What is allowed, how far the last test lies apart, and what was brought to the standard speed."""
    first, decimals = trends[0], decimals_of(trends)
    if first.limit is not None:
        yield f"Allowed: {unit_words(limit_words(first.limit, decimals), first.unit)}."
    sheet = last_sheet(trends)
    for trend in trends:
        if trend.last.apart is not None and trend.last.sheet.path == sheet:
            most = _most(trend.spread_limits[0], decimals, trend.unit)
            yield f"{trend.name}: faces {_apart(trend, trend.last)} apart{most}."
    rows = next((trend.last.rows_apart for trend in trends if trend.last.sheet.path == sheet), None)
    if rows is not None:
        most = _most(first.spread_limits[1], decimals, first.unit)
        apart = unit_words(figure_words(rows, decimals), first.unit)
        yield f"Between {rows_called}: {apart}{most}."
    yield from fall_sentences(falls_of(trends), decimals)
    yield from _speeds(trends)
    yield from _orifices(trends)


def _most(limit: float | None, decimals: int, unit: str) -> str:
    return f", at most {unit_words(figure_words(limit, decimals), unit)}" if limit is not None else ""


def _speeds(trends: Sequence[ChamberTrend]) -> Iterator[str]:
    """Which tests are at the standard speed by the family's curve, and which are as read and why."""
    points = {point.sheet.path: point for trend in trends for point in trend.points}
    at = trends[0].at_rpm
    if at is not None and any(point.corrected for trend in trends for point in trend.points):
        yield f"Brought to {figure_words(at, 0)} rpm by the family’s curve."
    why: dict[str, list[str]] = {}
    for point in points.values():
        if point.as_read is not None:
            why.setdefault(point.as_read, []).append(day_words(point.sheet.day))
    for reason, days in why.items():
        yield ended(f"Not corrected, {', '.join(days)}: {reason}")


def _orifices(trends: Sequence[ChamberTrend]) -> Iterator[str]:
    """Where tests went through different orifices, or some do not say which: those do not compare."""
    written = {point.orifice for trend in trends for point in trend.points}
    known = sorted(one for one in written if one is not None)
    if len(written) > 1:
        named = " and ".join([*known, *(["one that is not written"] if None in written else [])])
        yield f"Orifices differ, {named}: across them the figures do not compare."


def _table(here: Here, trends: Sequence[ChamberTrend], key: str) -> Table:
    """Every test, the newest first, a line a rotor or cylinder."""
    rows = [(point, trend) for trend in trends for point in trend.points]
    rows.sort(key=lambda row: -row[0].nth)  # stable: the rows of one sheet keep their order
    title, apart = _figures_title(trends), any(point.apart is not None for point, _ in rows)
    columns = [Column("date, sheet"), Column("hours", "num", optional=True), Column("of"), Column("as read", "figs")]
    columns += [Column(title, "figs")] if title else []
    columns += [Column("apart", "num")] if apart else []
    body = []
    for point, trend in rows:
        entries = [*_entries(here, trend, point)]
        entries += [_figures(trend, point, decimals_of(trends))] if title else []
        entries += [Entry(_apart(trend, point) if point.apart is not None else "")] if apart else []
        body.append(tuple(entries))
    heading = Heading(f"every-{key}", f"Every {small(trends[0].test_name)} test", count_words(len(body), "line"))
    return Table(heading, tuple(columns), tuple(body))


def _figures_title(trends: Sequence[ChamberTrend]) -> str:
    """What the figures are that were worked out of the readings; empty where none were."""
    points = [point for trend in trends for point in trend.points]
    if any(point.corrected for point in points):
        return f"at {figure_words(trends[0].at_rpm or 0.0, 0)} rpm"
    unit = trends[0].unit
    in_another = any(
        point.read_in not in (None, unit) or any(_has_another_unit(one.written, unit) for one in point.chambers)
        for point in points
    )
    return f"in {unit}" if in_another else ""


def _has_another_unit(written: str, unit: str) -> bool:
    return written[-1:].isalpha() and not written.endswith(unit)


def _entries(here: Here, trend: ChamberTrend, point: ChamberPoint) -> Iterator[Entry]:
    yield Entry(day_words(point.sheet.day), (sheet_words(point.sheet),), href=here.sheet(point.sheet))
    since = (f"{amount_words(point.since_build, 'hours')} since build",) if point.since_build is not None else ()
    yield Entry(amount_words(point.hours, "hours") if point.hours is not None else "unknown", since)
    yield Entry(trend.name)
    rpm = (f"{figure_words(point.rpm, 0)} rpm",) if point.rpm is not None else ()
    yield Entry(as_read_words(point.chambers, trend.unit, point.read_in), rpm)


def _figures(trend: ChamberTrend, point: ChamberPoint, decimals: int) -> Entry:
    if point.as_read is not None:
        return Entry("not corrected")
    if not point.known:
        return Entry("no figure")
    known = ", ".join(figure_words(value, decimals) for value in point.known)
    return Entry(unit_words(known, trend.unit), strong=True)
