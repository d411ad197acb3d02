"""The methods page: how figures are made, from how many readings, and how often their intervals held the truth.

In: nothing of a shop but its name, day and commit. Out: `MethodsPage`, the data of its template.
"""

from collections.abc import Iterable

from msgspec import Struct

from engine_pages.pages.addresses import METHODS
from engine_pages.pages.coverage_table import (
    CHANCES,
    COMMAND,
    SHOPS,
    STANDARD_ERROR,
    STRATA,
    WRONG,
    WRONG_SHOPS,
    Coverage,
    Said,
)
from engine_pages.pages.desk import Desk, Here
from engine_pages.pages.heads import commit_cell, foot, print_margin
from engine_pages.pages.methods_words import CAUTIONS, SECTIONS, SOURCES, MethodSection
from engine_pages.pages.pieces import Cell, Column, Entry, Heading, Line, Lines, PageHead, Table
from engine_pages.pages.words import day_words, figure_words, percent_words, unit_words

TITLE = "Methods"
GROUPS = {
    "all": "all",
    "extra scatter 0 ×": "scatter of the gauge alone",
    "extra scatter 1 ×": "as much scatter beyond it",
    "extra scatter 3 ×": "three times as much",
    "shared zero 0 ×": "no shared zero",
    "shared zero 0.5 ×": "zero half the repeat",
    "shared zero 1 ×": "zero as large as the repeat",
    "shared zero 2 ×": "zero twice the repeat",
    "gauge understated": "gauges twice as bad as written",
    "one wild: the others": "one wild part: the others",
    "one wild: the wild one": "one wild part: itself",
    "run-in": "all parts run in, unseen",
    "run-in, where straight": "the same, later readings alone",
    "skewed rates": "rates that lean to one side",
    "suspicious only": "only suspicious parts measured",
}  # how the rows of the measured table are called here


class MethodsPage(Struct, frozen=True):
    """How figures are made. `cautions` are what they are not, `methods` one section each, `coverage` the measured
    tables, `sources` standards and papers."""

    head: PageHead
    cautions: tuple[str, ...]
    methods: tuple[MethodSection, ...]
    coverage: tuple[Table, ...]
    sources: Lines


def methods_page(desk: Desk) -> MethodsPage:
    """The methods page of a site."""
    lines = tuple(Line(f"{source}:", f"{what}.") for source, what in SOURCES)
    return MethodsPage(
        head=_head(Here(desk, METHODS)),
        cautions=CAUTIONS,
        methods=SECTIONS,
        coverage=(_strata(), _chances(), _wrong()),
        sources=Lines(Heading("sources", "Sources"), lines),
    )


def _head(here: Here) -> PageHead:
    story, all_of_them = here.desk.story, STRATA[0]
    confidence = here.desk.engines[0].confidence if here.desk.engines else 0.9
    held = f"{figure_words(all_of_them.line_90, 1)} in 100"
    return PageHead(
        id=TITLE,
        under=(story.name, "how figures are made"),
        cells=(
            Cell("intervals here", percent_words(confidence)),
            Cell("90 % ones held the truth", unit_words(figure_words(all_of_them.line_90, 1), "%"), "drawn shops"),
            Cell("as of", day_words(story.as_of)),
            Cell("no upper bound", unit_words(figure_words(all_of_them.unbounded, 1), "%"), "of forecasts"),
            Cell("tried on", unit_words(figure_words(float(SHOPS), 0), "shops"), f"{all_of_them.parts} parts"),
            commit_cell(story.commit, any(one.uncommitted for one in here.desk.engines), here.desk.edition),
        ),
        claim=f"Intervals that say 90 % held the truth {held} times on drawn shops.",
        rest="Where the model is wrong they hold it less often, and the last table says how much less.",
        more="With two to five teardowns honest answers are a range, a shortlist, or cannot tell.",
        says=(),
        foot=foot(story.as_of, story.commit, "", confidence, maker=True),
        print_margin=print_margin(TITLE, story.as_of, story.commit),
    )


_COLUMNS = (
    Column("drawn parts"),
    Column("parts", "num", optional=True),
    Column("line 90 %", "num"),
    Column("limit met 90 %", "num"),
    Column("rate 90 %", "num"),
    Column("line 50 %", "num", optional=True),
    Column("limit met 50 %", "num", optional=True),
    Column("no bound", "num"),
    Column("width", "num", optional=True),
    Column("width to limit", "num", optional=True),
)


def _strata() -> Table:
    error = STANDARD_ERROR[0]
    note = (
        f"In per cent: how often an interval that says 90 or 50 held the truth, on {SHOPS} drawn shops of 2 to 8 parts "
        f"with 2 to 4 readings each. The first row is good to {error} (one standard error). No bound: forecasts "
        "without an upper end. Widths are medians: of the line at the season’s end in shares of the distance from new "
        f"to the limit, of the time to the limit in service lives. Made by {COMMAND}."
    )
    return Table(Heading("coverage", "How often intervals held the truth"), _COLUMNS, tuple(_rows(STRATA)), note=note)


def _wrong() -> Table:
    note = (
        f"{WRONG_SHOPS} drawn shops of each kind. Not to be trusted: a forecast while parts run in, least of all their "
        "rates; a wild part among good ones, whose rate its like hold back; intervals where gauges are worse than "
        "shop.yml says, or where only suspicious parts are measured. In all of these the interval is too narrow."
    )
    return Table(Heading("wrong", "Where the model is wrong"), _COLUMNS, tuple(_rows(WRONG)), note=note)


def _rows(rows: Iterable[Coverage]) -> Iterable[tuple[Entry, ...]]:
    for one in rows:
        shares = (one.line_90, one.crossing_90, one.rate_90, one.line_50, one.crossing_50, one.unbounded)
        widths = (one.line_width, one.crossing_width)
        yield (
            Entry(GROUPS.get(one.group, one.group), strong=one.group == "all"),
            Entry(str(one.parts)),
            *(Entry(figure_words(share, 1)) for share in shares),
            *(Entry(figure_words(width, 2)) for width in widths),
        )


def _chances() -> Table:
    columns = (
        Column("chance said"),
        Column("parts", "num", optional=True),
        Column("on average", "num"),
        Column("lasted", "num"),
    )
    note = (
        "In per cent, with one standard error. Chances from 5 to 80 % are too gloomy: more parts lasted than was said. "
        "Above 80 %, where plans are made, they hold."
    )
    rows = tuple(_chance(one) for one in CHANCES)
    return Table(Heading("chances", "Whether chances come true"), columns, rows, note=note)


def _chance(one: Said) -> tuple[Entry, ...]:
    return (
        Entry(f"{one.low} to {one.high} %"),
        Entry(str(one.parts)),
        Entry(figure_words(one.said, 1)),
        Entry(f"{figure_words(one.lasted, 1)} ± {figure_words(one.error, 1)}"),
    )
