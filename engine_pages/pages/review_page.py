"""The crew's page of the review before a sale: what is open, how to settle it, and the answers to a buyer's questions.

In: an engine's story with its review. Out: `ListPage`.
"""

from collections.abc import Iterable, Iterator
from itertools import groupby

from markupsafe import Markup
from msgspec.structs import replace

from engine_pages.history.story import EngineStory, Fact, Judged, Point, PointState, ReviewStory
from engine_pages.pages.addresses import list_path
from engine_pages.pages.desk import Desk, Here, sheet_words, source_words
from engine_pages.pages.list_pages import ListPage, list_head
from engine_pages.pages.pieces import Heading, Line, Lines, Link
from engine_pages.pages.words import capital, count_words, dated, day_words, ended, quoted_words
from engine_pages.review.point_kinds import POINT_KINDS
from engine_pages.review.review_words import answer_line

NAME = "review"
NOT_WRITTEN = "not written"
HOW_TO_ANSWER = "engine-pages review {} prints each point as a line for review.yml."
OR_ANSWER = "Or answer it in engines/{}/review.yml, under answers:, by the line below the point."
STATES: tuple[tuple[PointState, str], ...] = (("answered", "Answered"), ("left out", "Left out of the buyer’s edition"))


def review_page(desk: Desk, engine: EngineStory) -> ListPage:
    """The review of one engine."""
    here = Here(desk, list_path(engine.id, NAME))
    review = engine.review
    if review is None:
        return ListPage(list_head(here, engine, NAME, "Not reviewed.", ""))
    open_points = review.in_state("open")
    kinds = len({one.point.kind for one in open_points})
    claim = f"{capital(count_words(len(open_points), 'point'))} open, of {count_words(kinds, 'kind')}."
    if not open_points:
        claim = "Nothing is open: ready for a buyer’s questions."
    return ListPage(
        list_head(here, engine, NAME, claim, _settled(review)),
        lists=(
            *_open(here, engine, open_points),
            *_closed(here, engine, review),
            *_unmatched(engine, review),
            *fact_lists(review.facts),
        ),
    )


def _settled(review: ReviewStory) -> str:
    answered, left_out = (len(review.in_state(state)) for state, _ in STATES)
    words = [f"{count_words(answered, 'point')} answered"] if answered else []
    words += [f"{count_words(left_out, 'point')} left out"] if left_out else []
    words += [f"{count_words(len(review.unmatched), 'line')} of review.yml settle nothing"] if review.unmatched else []
    return f"{capital(', '.join(words))}." if words else ""


def _open(here: Here, engine: EngineStory, points: Iterable[Judged]) -> Iterator[Lines]:
    for kind, group in groupby(points, key=lambda one: one.point.kind):
        about, of_kind = POINT_KINDS[kind], list(group)
        settle = "; ".join(dict.fromkeys(one.point.settle or about.settle for one in of_kind))
        note = f"{capital(about.why)}. To settle it: {settle}. {OR_ANSWER.format(engine.id)}"
        lines = tuple(replace(point_line(here, engine, one), typed=answer_line(one.point)) for one in of_kind)
        yield Lines(Heading(kind, about.title, str(len(of_kind))), lines, note=note)


def point_line(here: Here, engine: EngineStory, one: Judged) -> Line:
    """A point with its place and the sheet that it is of, and the answer where there is one."""
    quiet = ""
    if one.written is not None:
        signed = ", ".join(part for part in (one.written.by, one.written.day and day_words(one.written.day)) if part)
        quiet = f"{quoted_words(one.written.text)} {signed}"
    source = source_words(one.point.source, f"engines/{engine.id}/")
    text, link = ended(capital(dated(one.point.what))), _sheet_link(here, engine, one.point)
    if link is not None and link.href is not None and text.startswith(link.words):  # it is named once, and leads there
        named = Markup('<a href="{}">{}</a>{}').format(link.href, link.words, text[len(link.words) :])
        return Line(text=named, quiet=quiet, source=source)
    return Line(text=text, quiet=quiet, source=source, link=link)


def _sheet_link(here: Here, engine: EngineStory, point: Point) -> Link | None:
    """The way to the sheet that a point is of; None of one that is of no sheet."""
    paths = {f"engines/{engine.id}/{point.where}"} | ({point.source.path} if point.source is not None else set())
    ref = next((sheet.ref for sheet in engine.sheets if sheet.ref.path in paths), None)
    return Link(sheet_words(ref), here.sheet(ref)) if ref is not None else None


def _closed(here: Here, engine: EngineStory, review: ReviewStory) -> Iterator[Lines]:
    for state, title in STATES:
        points = review.in_state(state)
        if points:
            lines = tuple(point_line(here, engine, one) for one in points)
            yield Lines(Heading(state.replace(" ", "-"), title, str(len(points))), lines)


def _unmatched(engine: EngineStory, review: ReviewStory) -> Iterator[Lines]:
    if review.unmatched:
        lines = tuple(
            Line(text=ended(what), source=source_words(source, f"engines/{engine.id}/"))
            for source, what in review.unmatched
        )
        note = HOW_TO_ANSWER.format(engine.id)
        yield Lines(Heading("settles-nothing", "In review.yml, and settles nothing"), lines, note=note)


def fact_lists(facts: Iterable[Fact]) -> Iterator[Lines]:
    """What a buyer asks, each question a list."""
    for number, fact in enumerate(facts, start=1):
        lines = tuple(Line(text=capital(dated(line))) for line in fact.lines) or (Line(text=NOT_WRITTEN),)
        yield Lines(Heading(f"asked-{number}", fact.question), lines)
