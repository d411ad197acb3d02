"""What happened to an engine, as a chart of its time: sheets, hours, incidents and fluids.

In: an engine's story. Out: a section with the timeline, its key, and the ways to the log and the list of changes.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from string import ascii_uppercase

from engine_pages.history.story import EngineStory, FluidSpan
from engine_pages.pages.chart_figures import timeline_figures
from engine_pages.pages.chart_signs import chart_sign
from engine_pages.pages.charts.timeline import FluidLane, Timeline, draw_timeline
from engine_pages.pages.desk import Here, sheet_words
from engine_pages.pages.pieces import Charts, Heading, KeyLine, Link
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import capital, count_words, day_words, key_words

SIGNS_NOTE = "Filled square: build. Divided square: strip. Ring: measured without taking apart. Diamond: incident."


def timeline_section(here: Here, engine: EngineStory) -> Charts | None:
    """The timeline; None for an engine of which nothing with a date is written."""
    data, keys = timeline_of(engine)
    if data is None:
        return None
    chart = here.desk.drawer.draw(
        data, draw_timeline, f"What happened to {engine.id}", keys, SIGNS_NOTE, timeline_figures(data)
    )
    more = (
        Link("Run log", here.listing(engine.id, "log")),
        Link("Fluids and changes", here.listing(engine.id, "fluids")),
        Link("Events and findings", here.listing(engine.id, "events")),
    )
    right = f"{count_words(len(engine.log), 'line')} of log, {count_words(len(engine.sheets), 'sheet')}"
    return Charts(Heading("time", "What happened", right), (chart,), more)


def timeline_of(engine: EngineStory) -> tuple[Timeline | None, tuple[KeyLine, ...]]:
    """The timeline's data and its key: a letter for each kind of fluid, a sign for each incident."""
    days = [line.day for line in engine.log] + [sheet.ref.day for sheet in engine.sheets]
    if not days:
        return None, ()
    start, end = min(days), max([*days, engine.as_of])
    lettered = list(_lettered(engine.fluids))
    lanes = tuple(
        FluidLane(
            key_words(fluid).replace("-", " "),
            tuple((span.began, span.ended or end, letter) for letter, span in lettered if span.fluid == fluid),
        )
        for fluid in dict.fromkeys(span.fluid for span in engine.fluids)
    )
    data = Timeline(
        start=start,
        end=end if end > start else start + timedelta(days=1),
        hours=_hours(engine),
        sheets=tuple((sheet.ref.day, sheet.ref.kind, sheet_words(sheet.ref)) for sheet in engine.sheets),
        incidents=tuple((one.day, key_words(one.what)) for one in engine.incidents),
        fluids=lanes,
    )
    return data, tuple(_keys(engine, lettered))


def _lettered(spans: tuple[FluidSpan, ...]) -> Iterator[tuple[str, FluidSpan]]:
    """Each stretch of a fluid with its letter; a fluid that comes back bears the letter it had."""
    letters: dict[tuple[str, str], str] = {}
    for span in spans:
        key = (span.fluid, span.name)
        if key not in letters:
            number = len(letters)
            letters[key] = ascii_uppercase[number] if number < len(ascii_uppercase) else str(number + 1)
        yield letters[key], span


def _hours(engine: EngineStory) -> tuple[tuple[date, float], ...]:
    """The engine's hours at the end of each day with a run."""
    at_end: dict[date, float] = {}
    for line in engine.log:
        if line.total_hours is not None:
            at_end[line.day] = line.total_hours
    return tuple(sorted(at_end.items()))


def _keys(engine: EngineStory, lettered: list[tuple[str, FluidSpan]]) -> Iterator[KeyLine]:
    said = set()
    for letter, span in lettered:
        if letter not in said:
            said.add(letter)
            began = "" if span.began == min(one.began for _, one in lettered) else f", from {day_words(span.began)}"
            yield KeyLine(letter, f"{span.name}{began}")
    for incident in engine.incidents:
        at = f", at {amount_words(incident.hours, 'hours')}" if incident.hours is not None else ""
        yield KeyLine(chart_sign("incident"), f"{capital(key_words(incident.what))}, {day_words(incident.day)}{at}")
