"""The sale summary, which a buyer opens first: what it is, what is in it, how long it lived, what is not known.

In: an engine's story with its trail and review, cut to the buyer's edition. Out: `SalePage`, the data of its template.
Nothing that the review found is hidden here; points that the seller left out are counted.
"""

from collections.abc import Iterator
from itertools import groupby

from msgspec import Struct
from msgspec.structs import replace

from engine_pages.history.story import EngineStory, Judged
from engine_pages.pages.addresses import FRONT
from engine_pages.pages.corrections_page import days_words
from engine_pages.pages.desk import Desk, Here
from engine_pages.pages.engine_answer import engine_claim, engine_more
from engine_pages.pages.engine_lines import last_strip, test_lines
from engine_pages.pages.engine_map import EngineMap, engine_map
from engine_pages.pages.engine_page import stops_section, under_words
from engine_pages.pages.heads import commit_cell, engine_foot, print_margin
from engine_pages.pages.lives_table import lives_table
from engine_pages.pages.methods_words import CAUTIONS
from engine_pages.pages.pieces import Bars, Cell, Heading, Line, Lines, Link, PageHead, PhotoSection, Table
from engine_pages.pages.review_page import point_line
from engine_pages.pages.trail_words import NO_PROOF, corrections_table
from engine_pages.pages.wear_words import exposure_words
from engine_pages.pages.words import capital, count_words, day_words, list_words
from engine_pages.review.point_kinds import POINT_KINDS

TITLE = "Sale summary"


class SalePage(Struct, frozen=True):
    """One engine for its buyer. Sections stand in the order of the fields; one with nothing to show is None."""

    head: PageHead
    places: EngineMap | None
    lives: Table | None
    stops: Bars | None
    tests: Lines | None
    looked: PhotoSection | None
    gaps: Lines | None
    corrections: Table | None
    written: Lines
    cautions: Lines
    also: Lines


def sale_page(desk: Desk, engine: EngineStory) -> SalePage:
    """The summary of one engine."""
    here = Here(desk, FRONT)
    return SalePage(
        head=_head(here, engine),
        places=engine_map(here, engine),
        lives=lives_table(engine),
        stops=_last_measured(here, engine),
        tests=test_lines(here, engine),
        looked=last_strip(here, engine),
        gaps=_gaps(here, engine),
        corrections=_corrections(here, engine),
        written=_written(engine),
        cautions=Lines(Heading("cautions", "What this is not"), tuple(Line(text=one) for one in CAUTIONS)),
        also=_also(here, engine),
    )


def _head(here: Here, engine: EngineStory) -> PageHead:
    unit = engine.exposure_unit
    since = exposure_words(engine.since_build, unit) if engine.since_build is not None else "no build sheet"
    measured = [sheet.ref.day for sheet in engine.sheets if sheet.measured]
    return PageHead(
        id=engine.id,
        under=(TITLE, *under_words(engine)),
        cells=(
            Cell("since build", since),
            Cell("in all", exposure_words(engine.total, unit)),
            Cell("as of", day_words(engine.as_of)),
            Cell("stamped", engine.stamped or "not written"),
            Cell("last measured", day_words(max(measured)) if measured else "never"),
            commit_cell(engine.commit, bool(engine.uncommitted), here.desk.edition),
        ),
        claim=engine_claim(engine),
        rest=_open_words(engine),
        more=engine_more(engine),
        says=(),
        foot=engine_foot(engine, "", maker=True),
        print_margin=print_margin(engine.id, engine.as_of, engine.commit),
    )


def _open_words(engine: EngineStory) -> str:
    """How much of the record is open, answered, corrected, left out: what a buyer goes on to ask."""
    review, trail = engine.review, engine.trail
    if review is None:
        return ""
    points, corrected = len(review.points), sum(one.matters for one in trail.corrections) if trail is not None else 0
    words = [count_words(points, "point of the record", "points of the record")] if points else []
    words += [count_words(corrected, "correction")] if corrected else []
    told = f"{capital(list_words(words))} {'is' if points + corrected == 1 else 'are'} listed below." if words else ""
    if review.left_out:
        left = "point is" if review.left_out == 1 else "points are"
        told += f" {capital(count_words(review.left_out, left, left))} left out by the seller."
    return told


def _last_measured(here: Here, engine: EngineStory) -> Bars | None:
    bars = stops_section(here, engine)
    return None if bars is None else replace(bars, heading=Heading("measured", "Last measurements", "most used first"))


def _gaps(here: Here, engine: EngineStory) -> Lines | None:
    """Every point that the review found, kind by kind, with the builder's answers; what was left out is counted."""
    review = engine.review
    if review is None or not (review.points or review.left_out):
        return None
    lines = [
        line for kind, group in groupby(review.points, key=_kind) for line in _of_kind(here, engine, kind, list(group))
    ]
    note = ""
    if review.left_out:
        left = "point is" if review.left_out == 1 else "points are"
        note = f"{capital(count_words(review.left_out, left, left))} left out by the seller’s choice."
    answered = len(review.in_state("answered"))
    points = count_words(len(review.points), "point")
    right = f"{points}, {answered} answered" if answered else points
    return Lines(Heading("gaps", "Known gaps", right), tuple(lines), note=note)


def _kind(one: Judged) -> str:
    return one.point.kind


def _of_kind(here: Here, engine: EngineStory, kind: str, points: list[Judged]) -> Iterator[Line]:
    for number, one in enumerate(points):
        line = point_line(here, engine, one)
        yield replace(line, strong=f"{POINT_KINDS[kind].title}:" if number == 0 else "", source="")


def _corrections(here: Here, engine: EngineStory) -> Table | None:
    if engine.trail is None:
        return None
    told = [one for one in engine.trail.corrections if one.matters]
    table = corrections_table(here, engine, told, Heading("corrections", "Corrections", str(len(told))))
    more = Link("Every correction, and when each sheet was recorded", here.listing(engine.id, "corrections"))
    return replace(table, more=more) if table is not None else None


def _written(engine: EngineStory) -> Lines:
    """How the record came about: sheets, readings with and without a gauge, photos, days from work to record, hands."""
    sheets, figures = engine.sheets, [row.reading for sheet in engine.sheets for row in sheet.measured]
    readings, worked_out = [one for one in figures if one.was_read], sum(one.worked_out for one in figures)
    gauged = sum(one.instrument is not None for one in readings)
    more = f"; {count_words(worked_out, 'more figure')} worked out" if worked_out else ""
    kinds = [
        count_words(sum(sheet.ref.kind == kind for sheet in sheets), kind)
        for kind in ("build", "teardown", "inspection")
    ]
    photos = sum(len(sheet.all_photos) for sheet in sheets)
    hands = list_words(sorted({sheet.by for sheet in sheets if sheet.by})) or "nobody signed"
    lines = [
        Line(f"{capital(count_words(len(sheets), 'sheet'))}:", f"{list_words(kinds)}."),
        Line(
            f"{capital(count_words(len(readings), 'reading'))}:",
            f"{gauged} with a gauge named, {len(readings) - gauged} without{more}.",
        ),
        Line(f"{capital(count_words(photos, 'photo'))}."),
        Line("Written by:", f"{hands}."),
    ]
    days = days_words(engine)
    lines += [Line(text=days)] if days else []
    return Lines(Heading("written", "How it was written"), tuple(lines), note=NO_PROOF)


def _also(here: Here, engine: EngineStory) -> Lines:
    """The way to the whole history."""
    lines = (
        Line(link=Link("Its whole history: what stops it, what happened, every sheet", here.engine(engine.id))),
        Line(link=Link("Run log", here.listing(engine.id, "log"))),
        Line(link=Link("Compression and leak-down over time", here.listing(engine.id, "tests"))),
        Line(link=Link("Fluids", here.listing(engine.id, "fluids"))),
        Line(link=Link("Limits and their sources, gauges", here.listing(engine.id, "limits"))),
    )
    return Lines(Heading("also", "Go on to"), lines)
