"""How fast a part wears and where it stands: its charts, and a bar for each dimension, clearance and interval.

In: a part's story, and that of the engine it is in. Out: two sections for the template.
"""

from msgspec.structs import replace

from engine_pages.history.story import DimensionStory, EngineStory, FitStory, PartStory
from engine_pages.pages.bars import BIG, dimension_line, due_line
from engine_pages.pages.chart_figures import wear_figures
from engine_pages.pages.charts.small_multiples import draw_small_multiples
from engine_pages.pages.charts.wear_chart import draw_wear_chart
from engine_pages.pages.desk import Here, later_amount, later_words
from engine_pages.pages.dimension_words import limit_words, reading_label
from engine_pages.pages.kind_words import kind_words
from engine_pages.pages.part_marks import marks_of
from engine_pages.pages.pieces import BarLine, Bars, Chart, Charts, Heading, Link
from engine_pages.pages.shown_units import shown
from engine_pages.pages.wear_charts import wear_chart
from engine_pages.pages.wear_words import rate_words
from engine_pages.pages.words import capital, count_words, day_words, small, unit_words

Units = tuple[str, str | None]


def wear_section(here: Here, part: PartStory, units: Units) -> Charts | None:
    """The chart of the dimension that is furthest along, and the others small beside it."""
    dimensions = [shown(one, units[0]) for one in part.dimensions if one.readings]
    first = next((one for one in dimensions if part.worst is not None and one.id == part.worst.id), None)
    if first is None:
        first = dimensions[0] if dimensions else None
    if first is None:
        return None
    charts = [
        *_main_chart(here, part, first),
        *_small_charts(here, part, [one for one in dimensions if one is not first]),
    ]
    if not charts:
        return None
    behind = count_words(len(first.readings), "reading")
    fitted = f", fitted with {count_words(first.parts_in_fit - 1, 'like part')}" if first.parts_in_fit > 1 else ""
    return Charts(Heading("wear", "How fast", f"{behind}{fitted}"), tuple(charts))


def _main_chart(here: Here, part: PartStory, dimension: DimensionStory) -> list[Chart]:
    marks, keys = marks_of(part, dimension, here.desk.engines)
    data = wear_chart(part, dimension, marks)
    if data is None:
        return []
    return [
        here.desk.drawer.draw(data, draw_wear_chart, dimension.name, keys, rate_note(dimension), wear_figures((data,)))
    ]


def rate_note(dimension: DimensionStory) -> str:
    """The rate under a chart, and what the part’s like say of it."""
    count = sum(one.baseline == dimension.baseline_number for one in dimension.readings)
    words = rate_words(dimension.rate, dimension.unit, dimension.exposure_unit, count)
    note = f"{capital(dimension.name)}: {words}{' since it was machined' if dimension.baseline_number else ''}."
    return f"{note} {kind_words(dimension)}".strip()


def _small_charts(here: Here, part: PartStory, dimensions: list[DimensionStory]) -> list[Chart]:
    drawn = [(one, chart) for one in dimensions if (chart := wear_chart(part, one)) is not None]
    if not drawn:
        return []
    notes = " ".join(rate_note(one) for one, _ in drawn)
    if len(drawn) == 1:  # its signs stand over the first chart
        return [
            here.desk.drawer.draw(
                drawn[0][1], draw_wear_chart, drawn[0][0].name, (), notes, wear_figures((drawn[0][1],))
            )
        ]
    charts = tuple(chart for _, chart in drawn)
    return [
        here.desk.drawer.draw(charts, draw_small_multiples, "Its other dimensions", (), notes, wear_figures(charts))
    ]


def stands_section(here: Here, part: PartStory, engine: EngineStory | None, units: Units) -> Bars | None:
    """A line for every dimension with a limit or a reading, every clearance that the part is in, every interval."""
    lines: list[BarLine] = []
    keep = engine.keep if engine is not None else None
    for one in part.dimensions:
        if one.limit is not None or one.readings:
            lines.append(_dimension(shown(one, units[0]), Link(one.name), units, keep))
    for fit in engine.fits if engine is not None else ():
        if part.id in fit.parts:
            other = next(one for one in fit.parts if one != part.id)
            line = _dimension(
                shown(fit.dimension, units[0]), Link(fit.title, here.part(other)), units, keep,
                f"with {here.part_called(other)}",
            )  # fmt: skip
            lines.append(_with_later(here, fit, line, units[0]))
    lines += [due_line(due, Link(_due_name(due.name)), BIG) for due in part.due]
    if not lines:
        return None
    return Bars(Heading("now", "Where it stands"), tuple(lines))


def _with_later(here: Here, fit: FitStory, line: BarLine, first: str) -> BarLine:
    """The line of a clearance of which one side was read again alone: that figure first, the one of both behind it."""
    last = fit.dimension.last
    if fit.later is None or last is None:
        return line
    both = f"both read on {day_words(last.day)}: {reading_label(shown(fit.dimension, first))}"
    return replace(
        line,
        under=f"{line.under}, {later_words(here, fit)}",
        figure=later_amount(fit, first),
        small=", ".join(words for words in (fit.later.bound, both, line.small) if words),
    )


def _due_name(name: str) -> str:
    return capital(name.rsplit(", ", 1)[-1])


def _dimension(dimension: DimensionStory, name: Link, units: Units, keep: float | None, beside: str = "") -> BarLine:
    limit = limit_words(dimension.limit, dimension.decimals)
    limit = unit_words(limit, dimension.unit) if dimension.limit is not None else limit
    under = ", ".join(words for words in (beside, limit, _station(dimension)) if words)
    return dimension_line(dimension, name, under, BIG, units[1], keep)


def _station(dimension: DimensionStory) -> str:
    return f"at {small(dimension.observed_at)}" if dimension.observed_at else ""
