"""The page behind the plate on an engine: which engine it is, and what is due on it. Whoever reads the code sees it.

In: an engine's story. Out: `TagPage`, the data of its template.
"""

from msgspec import Struct

from engine_pages.history.story import EngineStory
from engine_pages.pages.desk import Desk, Here
from engine_pages.pages.dimension_words import due_left, due_words
from engine_pages.pages.due_table import DueTable, due_table
from engine_pages.pages.engine_answer import dues_in_order, next_due, overdue_words
from engine_pages.pages.heads import commit_cell, engine_foot, print_margin
from engine_pages.pages.pieces import Cell, Heading, PageHead
from engine_pages.pages.sets import sets_joined
from engine_pages.pages.wear_words import exposure_words
from engine_pages.pages.words import capital, day_words, list_words


class TagPage(Struct, frozen=True):
    """Identity in the head, then what is due."""

    head: PageHead
    due: DueTable | None


def tag_page(desk: Desk, engine: EngineStory) -> TagPage:
    """The page of an engine's plate."""
    here = Here(desk, desk.page_of(engine.id))
    heading = Heading("due", "What is due", "what comes first")
    return TagPage(_head(here, engine), due_table(here, sets_joined(dues_in_order(engine)), heading, None))


def _head(here: Here, engine: EngineStory) -> PageHead:
    unit = engine.exposure_unit
    since = exposure_words(engine.since_build, unit) if engine.since_build is not None else "no build sheet"
    return PageHead(
        id=engine.id,
        under=tuple(words for words in (engine.name, engine.family_name, engine.use) if words),
        cells=(
            Cell("stamped", engine.stamped or "not written"),
            Cell("since build", since),
            Cell("in all", exposure_words(engine.total, unit)),
            Cell("built", day_words(engine.built.day) if engine.built is not None else "no sheet"),
            Cell("as of", day_words(engine.as_of)),
            commit_cell(engine.commit, bool(engine.uncommitted), here.desk.edition),
        ),
        claim=_claim(engine),
        rest=f"By hours and dates alone: how it wears is not told here. Kept by {here.desk.story.name}.",
        more="",
        says=(),
        foot=engine_foot(engine, "", maker=True, has_intervals=False),
        print_margin=print_margin(engine.id, engine.as_of, engine.commit),
    )


def _claim(engine: EngineStory) -> str:
    overdue, due = overdue_words(engine), next_due(engine)
    if overdue:
        return f"{capital(list_words(overdue))} overdue."
    return f"Next due: {due_words(due)}, {due_left(due)}." if due is not None else "No interval is written."
