"""Does it last the season: the chance after each event drawn and in figures, what to measure next, what is left out.

In: an engine's story. Out: `SeasonSection` for the template; None without a plan.
"""

from msgspec import Struct

from engine_pages.history.season_words import left_out_words, notes_of, replacements_by, services_by
from engine_pages.history.story import EngineStory, SeasonEvent, SeasonStory
from engine_pages.history.told_season import NextReading
from engine_pages.pages.charts.season import Season, draw_season
from engine_pages.pages.charts.season import SeasonEvent as DrawnEvent
from engine_pages.pages.desk import Here
from engine_pages.pages.pieces import Chart, Column, Entry, Heading, Line, Lines, Link, Table
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import CANNOT_TELL, HARD_BLANK, chance_words, count_words, day_words, small

MOST_DRAWN = 12  # events: more stand in the table alone
HOW_TO_READ = (
    "The chance that every limit with a measured rate is still kept after the event; intervals of replacement count as "
    "certain. Kinds, and dimensions of one part, are taken as independent; the outer range, grey, holds however they "
    "depend on each other."
)


class SeasonSection(Struct, frozen=True):
    """The season under its heading: what to do, the chart, its figures, what to measure next."""

    heading: Heading
    advice: str
    chart: Chart | None
    events: Table
    next_readings: Lines | None
    left_out: str


def season_section(here: Here, engine: EngineStory) -> SeasonSection | None:
    """The plan's events to come, and whether the engine lasts them."""
    season = engine.season
    if season is None:
        return None
    run = season.events[-1].run
    asked = f"{season.unit} not known" if run is None else amount_words(run, season.unit)
    right = f"{count_words(len(season.events), 'event')}, {asked}"
    return SeasonSection(
        heading=Heading("season", "Does it last the season", right),
        advice=advice_words(season),
        chart=_chart(here, season),
        events=_table(season),
        next_readings=_next_readings(here, season),
        left_out=_left_out(season),
    )


def advice_words(season: SeasonStory) -> str:
    """The advice with its figures held together."""
    return season.advice.replace(" %", "\u00a0%")


def _chart(here: Here, season: SeasonStory) -> Chart | None:
    events = season.events[:MOST_DRAWN]
    drawn = [_drawn(one, season.unit) for one in events]
    if season.keep is None or any(one is None for one in drawn):
        return None
    open_after = season.lasts if season.lasts is not None and season.lasts < len(season.events) else None
    data = Season(tuple(one for one in drawn if one is not None), season.keep, open_after)
    return here.desk.drawer.draw(data, draw_season, "Chance of staying inside every limit", (), HOW_TO_READ)


def _drawn(one: SeasonEvent, unit: str) -> DrawnEvent | None:
    if one.chance is None or one.outer_low is None or one.outer_high is None or one.run is None:
        return None
    day = day_words(one.event.day).rsplit(HARD_BLANK, 1)[0]  # the year stands in the table
    return DrawnEvent(
        _short(one.event.name), day, amount_words(one.run, unit), one.chance,
        one.outer_low, one.outer_high,
    )  # fmt: skip


def _short(name: str) -> str:
    """The first words of an event's name, for under the axis: `Round 4` of `Round 4 mill bends`."""
    words = name.split()
    return " ".join(words[:2]) if len(words) > 2 else name


def _table(season: SeasonStory) -> Table:
    columns = (
        Column("event"),
        Column("run by then", "num"),
        Column("chance", "num"),
        Column("outer range", "num", optional=True),
        Column("due before its end"),
    )
    return Table(Heading("season-events", "Event by event"), columns, tuple(_row(one, season) for one in season.events))


def _row(one: SeasonEvent, season: SeasonStory) -> tuple[Entry, ...]:
    below = season.keep is not None and one.chance is not None and one.chance < season.keep
    low, high = one.outer_low, one.outer_high
    ends = "" if low is None or high is None else f"{chance_words(low)} to {chance_words(high)}"
    due = ", ".join(small(words) for words in services_by(one, season.sets))
    return (
        Entry(one.event.name, (day_words(one.event.day),)),
        Entry(CANNOT_TELL if one.run is None else amount_words(one.run, season.unit)),
        Entry(
            CANNOT_TELL if one.chance is None else chance_words(one.chance),
            ("below what is wanted",) if below else (),
            strong=below,
        ),
        Entry(ends),
        Entry(due, tuple(replacements_by(one, season.sets))),
    )


def _next_readings(here: Here, season: SeasonStory) -> Lines | None:
    if not season.measure_next:
        return None
    lines = tuple(_next_reading(here, one) for one in season.measure_next)
    note = "Readings taken at the next opening that would settle most of what is in doubt about the last event."
    return Lines(Heading("measure-next", "What to measure next"), lines, note)


def _next_reading(here: Here, one: NextReading) -> Line:
    told = "never measured" if one.never_read else f"chance to last the plan {chance_words(one.chance)}"
    return Line(one.slot_name, f"{small(one.dimension)}: {told}.", link=Link("its page", here.part(one.part, "now")))


def _left_out(season: SeasonStory) -> str:
    """What is not in the figure, by place and dimension, and what the figure does not say."""
    told = [
        f"{why}: {', '.join(f'{small(name)} ({what})' if what else small(name) for name, what in places)}"
        for why, places in left_out_words(season)
    ]
    out = [f"Not in the figure: {'; '.join(told)}."] if told else []
    return " ".join([*notes_of(season), *out])
