"""The pages of lists of an engine: run log, fluids, service, events and findings, sources and limits, known gaps.

In: an engine's story. Out: `ListPage`, the data of their one template.
"""

from collections.abc import Callable

from msgspec import Struct
from msgspec.structs import replace

from engine_pages.history.story import EngineStory
from engine_pages.pages.addresses import METHODS, list_path
from engine_pages.pages.desk import Desk, Here, last_strip_of
from engine_pages.pages.dimension_words import due_left, due_words
from engine_pages.pages.due_table import DueTable, due_table
from engine_pages.pages.engine_answer import dues_in_order, next_due, overdue_words
from engine_pages.pages.engine_lines import gap_count
from engine_pages.pages.engine_timeline import timeline_section
from engine_pages.pages.heads import commit_cell, engine_foot, print_margin, says
from engine_pages.pages.list_tables import (
    change_lines,
    event_table,
    finding_lines,
    fluid_table,
    gap_groups,
    grade_lines,
    hours_off_the_log,
    instrument_table,
    limit_tables,
    log_table,
)
from engine_pages.pages.pieces import Cell, Charts, Heading, Line, Lines, Link, PageHead, Table, Text
from engine_pages.pages.wear_words import amount_words, exposure_words
from engine_pages.pages.words import capital, count_words, day_words, key_words

READ_CHANGES = "Wear of the same parts before and after, over all engines that made the change."
TITLES = {
    "log": "Run log",
    "fluids": "Fluids",
    "service": "Service",
    "tests": "Compression and leak-down",
    "events": "Events",
    "limits": "Limits",
    "gaps": "Gaps",
    "corrections": "Corrections",
    "review": "Before a sale",
}


class ListPage(Struct, frozen=True):
    """A page of lists. Sections stand in the order of the fields; None, or none at all, where there is nothing."""

    head: PageHead
    happened: Charts | None = None
    due: DueTable | None = None
    tables: tuple[Table, ...] = ()
    lists: tuple[Lines, ...] = ()


def list_page(desk: Desk, engine: EngineStory, name: str) -> ListPage:
    """One of the six pages by its name; KeyError for any other."""
    return _PAGES[name](Here(desk, list_path(engine.id, name)), engine)


def _log(here: Here, engine: EngineStory) -> ListPage:
    runs = [line for line in engine.log if line.kind == "run"]
    claim = f"{exposure_words(engine.total, engine.exposure_unit)} in {count_words(len(runs), 'run')}."
    counted = hours_off_the_log(engine)
    rest = f"{capital(amount_words(counted, 'hours'))} of these are known from the counter alone." if counted else ""
    head = list_head(here, engine, "log", claim, rest, _log_paths(engine))
    return ListPage(head, tables=tuple(table for table in (log_table(engine),) if table is not None))


def _log_paths(engine: EngineStory) -> list[str]:
    paths = sorted({line.source.path for line in engine.log})
    return paths or [f"engines/{engine.id}/log.yml"]


def _fluids(here: Here, engine: EngineStory) -> ListPage:
    now = [f"{key_words(span.fluid)} {span.name}" for span in engine.fluids if span.ended is None]
    claim = f"In it now: {now[0]}." if now else "No fluid is written."
    rest = capital(f"{', '.join(now[1:])}.") if now[1:] else ""
    table = fluid_table(engine)
    tables = (table,) if table is not None else ()
    changes = change_lines(here, engine)
    return ListPage(
        list_head(here, engine, "fluids", claim, rest),
        happened=timeline_section(here, engine),
        tables=tables,
        lists=(replace(changes, note=READ_CHANGES),) if changes is not None else (),
    )


def _service(here: Here, engine: EngineStory) -> ListPage:
    overdue = overdue_words(engine)
    due = next_due(engine)
    calm = "Nothing is overdue." if due is not None else "No interval is written."
    claim = f"Overdue: {', '.join(overdue)}." if overdue else calm
    rest = f"Next due: {due_words(due)}, {due_left(due)}." if due is not None and due.state != "overdue" else ""
    heading = Heading("due", "Service due", "what comes first")
    note = (
        "Intervals are the shop’s own. Hours count to the last line of the log; dates are marked once they have passed."
    )
    table = due_table(here, dues_in_order(engine), heading, f"engines/{engine.id}/", note)
    return ListPage(list_head(here, engine, "service", claim, rest), due=table)


def _events(here: Here, engine: EngineStory) -> ListPage:
    open_ = [one for one in engine.incidents if one.answered is None]
    claim = f"{capital(count_words(len(engine.incidents), 'incident'))} in the log."
    rest = f"{capital(count_words(len(open_), 'incident'))} not looked into since." if open_ else ""
    table = event_table(here, engine)
    found = finding_lines(here, engine)
    return ListPage(
        list_head(here, engine, "events", claim, rest),
        tables=(table,) if table is not None else (),
        lists=(found,) if found is not None else (),
    )


def _limits(here: Here, engine: EngineStory) -> ListPage:
    limited = [row for row in engine.limits if row.limit]
    unsourced = [row for row in limited if not row.limit_source]
    claim = f"{capital(count_words(len(limited), 'limit'))}; {len(unsourced) or 'none'} without a source."
    if not limited:
        claim = "No limit is written."
    rest = "Limits differ between sources of one engine: each is worth what its source is worth."
    tables = (*limit_tables(engine), instrument_table(engine))
    head = list_head(here, engine, "limits", claim, rest, [f"families/{engine.family}.yml", "shop.yml"])
    grades, methods = grade_lines(engine), _methods(here)
    return ListPage(
        head,
        tables=tuple(table for table in tables if table is not None),
        lists=(methods,) if grades is None else (grades, methods),
    )


def _methods(here: Here) -> Lines:
    """The way to how verdicts and forecasts are made of these limits."""
    way = Link(
        "Readings, verdicts, forecasts: how they are made, and where they are not to be trusted", here.to(METHODS)
    )
    return Lines(Heading("methods", "Methods"), (Line(link=way),))


def _gaps(here: Here, engine: EngineStory) -> ListPage:
    doubts = sum(1 for gap in engine.gaps if gap.kind == "doubt")
    claim = f"{capital(gap_count(engine))}."
    rest = f"Of these {count_words(doubts, 'is a doubt', 'are doubts')} in the records." if doubts else ""
    return ListPage(list_head(here, engine, "gaps", claim, rest), lists=gap_groups(here, engine))


_PAGES: dict[str, Callable[[Here, EngineStory], ListPage]] = {
    "log": _log,
    "fluids": _fluids,
    "service": _service,
    "events": _events,
    "limits": _limits,
    "gaps": _gaps,
}


def list_head(
    here: Here, engine: EngineStory, name: str, claim: Text, rest: Text, paths: list[str] | None = None
) -> PageHead:
    """The head of a page of an engine by its name: a claim, what follows from it, the doubts of these files."""
    unit = engine.exposure_unit
    since = exposure_words(engine.since_build, unit) if engine.since_build is not None else "no build sheet"
    built, strip = engine.built, last_strip_of(engine)
    return PageHead(
        id=TITLES[name],
        under=(engine.family_name,),
        cells=(
            Cell("engine", engine.id, href=here.engine(engine.id)),
            Cell("since build", since),
            Cell("as of", day_words(engine.as_of)),
            Cell("built", day_words(built.day) if built else "no sheet", href=here.sheet(built)),
            Cell("last strip", day_words(strip.day) if strip else "no sheet", href=here.sheet(strip)),
            commit_cell(engine.commit, bool(engine.uncommitted), here.desk.edition),
        ),
        claim=claim,
        rest=rest,
        more="",
        says=says(engine.problems, paths or [], f"engines/{engine.id}/", here.listing(engine.id, "gaps", "doubt")),
        foot=engine_foot(engine, f"engines/{engine.id}" if name != "limits" else f"families/{engine.family}.yml"),
        print_margin=print_margin(f"{engine.id}-{name}", engine.as_of, engine.commit),
    )
