"""The figures behind a chart, as the plain table that stands folded under it.

In: the data that a chart is drawn from. Out: `Figures` for the template.
"""

from collections.abc import Iterator, Sequence

from engine_pages.pages.charts.timeline import Timeline
from engine_pages.pages.charts.wear_chart import WearChart
from engine_pages.pages.charts.wear_data import line_at
from engine_pages.pages.pieces import Figures
from engine_pages.pages.words import day_words, figure_words, unit_words

WEAR_COLUMNS = ("", "at", "reading or line", "from", "to")


def wear_figures(charts: Sequence[WearChart]) -> Figures:
    """Readings with their ends, and the line where it begins, now, and at the end of the plan."""
    several = len(charts) > 1
    columns = (("dimension",) if several else ()) + WEAR_COLUMNS
    rows = [((data.title,) if several else ()) + row for data in charts for row in _wear_rows(data)]
    return Figures(columns, tuple(rows))


def _wear_rows(data: WearChart) -> Iterator[tuple[str, ...]]:
    digits = [point.label.partition(".")[2] for point in data.readings]
    decimals = 1 + max((len(one) for one in digits if one.isdigit()), default=2)  # one more than a reading has

    def figure(value: float | None) -> str:
        return "" if value is None else figure_words(value, decimals)

    def at(x: float) -> str:
        return unit_words(figure_words(x, 1), data.exposure_unit)

    for point in data.readings:
        words = unit_words(point.label or figure(point.y), data.unit)
        yield "reading", at(point.x), words, figure(point.low), figure(point.high)
    for name, x in (
        ("line at its start", data.line[0][0] if data.line else None),
        ("line now", data.now_x),
        ("line at the plan’s end", data.plan_x),
    ):
        there = line_at(data, x) if x is not None else None
        if there is not None:
            _, value, low, high = there
            yield name, at(there[0]), unit_words(figure(value), data.unit), figure(low), figure(high)
    for limit in data.limits:
        yield limit.text, "", "", "", ""


def timeline_figures(data: Timeline) -> Figures:
    """Everything with a date, in order: sheets, incidents, changes of fluid, and the hours run by each day."""
    rows = [(day, label, "sheet") for day, _, label in data.sheets]
    rows += [(day, what, "incident") for day, what in data.incidents]
    rows += [(began, f"{lane.name}: {letter}", "fluid") for lane in data.fluids for began, _, letter in lane.spans]
    rows += [(day, f"{figure_words(hours, 1)} h in all", "run") for day, hours in data.hours]
    rows.sort(key=lambda row: row[0])
    return Figures(("date", "what", ""), tuple((day_words(day), what, kind) for day, what, kind in rows))
