"""Compression, leak-down and other tests over time, for the page of an engine's tests.

In: an engine's story. Out: charts a rotor or cylinder with how to read them, and what the last test is consistent with.
"""

from engine_pages.history.story import EngineStory
from engine_pages.history.told_chambers import ChamberTrend
from engine_pages.pages.charts.chamber_trend import ChamberLine, ChamberLines, draw_chamber_lines
from engine_pages.pages.desk import Here, sheet_words
from engine_pages.pages.pieces import Chart, Charts, Column, Entry, Figures, Heading, Line, Lines, Table
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import capital, count_words, day_words, figure_words, unit_words

FEWEST = 2  # tests: one is a figure, and stands in the table
CONSISTENT = (
    "Common practice, and no finding: readings of one go are held against each other. What is consistent with a cause "
    "may have another; look before you order parts."
)


def chamber_charts(here: Here, engine: EngineStory) -> Charts | None:
    """A chart for everything that was read twice or more."""
    charts = tuple(_chart(here, trend) for trend in engine.chambers if len(trend.points) >= FEWEST)
    if not charts:
        return None
    return Charts(Heading("trends", "How the chambers go", "a line breaks at a build"), charts)


def _chart(here: Here, trend: ChamberTrend) -> Chart:
    lines = tuple(_lines(trend))
    limits = tuple(end for end in (trend.limit.min, trend.limit.max) if end is not None) if trend.limit else ()
    title = f"{trend.test_name}, {trend.name.lower()}"
    data = ChamberLines(title, trend.unit, lines, limits, trend.builds)
    figures = Figures(
        ("date", "hours", *(line.name for line in lines)),
        tuple(
            (day_words(point.sheet.day), figure_words(point.hours, 1), *(f"{value:.4g}" for value in _values(trend, i)))
            for i, point in enumerate(trend.points)
        ),
    )
    return here.desk.drawer.draw(data, draw_chamber_lines, title, (), _note(trend), figures)


def _lines(trend: ChamberTrend) -> list[ChamberLine]:
    """A line a face where every test marked them, else the lowest of each."""
    faces = min(len(point.values) for point in trend.points)
    if trend.by_face:
        return [
            ChamberLine(f"face {n + 1}", tuple((point.hours, point.values[n]) for point in trend.points))
            for n in range(faces)
        ]
    name = "lowest" if any(len(point.values) > 1 for point in trend.points) else "reading"
    return [ChamberLine(name, tuple((point.hours, min(point.values)) for point in trend.points))]


def _values(trend: ChamberTrend, nth: int) -> tuple[float, ...]:
    return tuple(line.points[nth][1] for line in _lines(trend))


def _note(trend: ChamberTrend) -> str:
    """How to read it: by face or by the lowest, how far apart, whether brought to one speed."""
    last = trend.points[-1]
    said = []
    if not trend.by_face and any(len(point.values) > 1 for point in trend.points):
        said.append("Faces are not marked on every test: the lowest of each is drawn.")
    if last.apart is not None:
        said.append(f"Last apart: {unit_words(figure_words(last.apart, 0), trend.unit)}.")
    if trend.why_not:
        said.append(f"As read: {trend.why_not}.")
    elif last.corrected:
        said.append("Brought to the standard cranking speed.")
    return " ".join(said)


def points_to_lines(engine: EngineStory) -> Lines | None:
    """What the last tests are consistent with."""
    lines = tuple(
        Line(f"{trend.test_name}, {trend.name.lower()}:", f"{trend.points_to}.")
        for trend in engine.chambers
        if trend.points_to
    )
    return Lines(Heading("consistent", "What the last test is consistent with"), lines, CONSISTENT) if lines else None


def test_table(here: Here, engine: EngineStory) -> Table | None:
    """Every test, the newest first."""
    rows = [(point.sheet.day, trend, point) for trend in engine.chambers for point in trend.points]
    if not rows:
        return None
    rows.sort(key=lambda row: (-row[0].toordinal(), row[1].test_name, row[1].key))
    columns = (
        Column("date, sheet"),
        Column("hours", "num"),
        Column("test"),
        Column("figures", "figs"),
        Column("apart", "num"),
    )
    body = tuple(
        (
            Entry(day_words(day), (sheet_words(point.sheet),), href=here.sheet(point.sheet)),
            Entry(amount_words(point.hours, "hours")),
            Entry(trend.test_name, (trend.name,)),
            Entry(unit_words(", ".join(f"{value:.4g}" for value in point.values), trend.unit)),
            Entry("" if point.apart is None else unit_words(figure_words(point.apart, 0), trend.unit)),
        )
        for day, trend, point in rows
    )
    heading = Heading("tests", "Every test", capital(count_words(len(body), "line")))
    return Table(heading, columns, body)
