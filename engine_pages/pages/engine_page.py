"""The page of an engine: where it stands, what stops it first, what is in it, what is due, what is not known.

In: an engine's story. Out: `EnginePage`, the data of its template.
"""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from engine_pages.history.story import EngineStory, FitStory, Stopper
from engine_pages.pages.bars import stopper_line
from engine_pages.pages.desk import CREW, Desk, Here, last_strip_of, later_amount, later_words, sheet_words
from engine_pages.pages.due_table import DueTable, due_table
from engine_pages.pages.engine_answer import dues_in_order, engine_answer, engine_more
from engine_pages.pages.engine_lines import also_lines, gap_lines, last_strip, sheets_table, test_lines
from engine_pages.pages.engine_map import EngineMap, engine_map
from engine_pages.pages.engine_timeline import timeline_section
from engine_pages.pages.heads import commit_cell, engine_foot, print_margin, says
from engine_pages.pages.pieces import BarLine, Bars, Cell, Charts, Heading, Lines, Link, PageHead, PhotoSection, Table
from engine_pages.pages.season_section import SeasonSection, season_section
from engine_pages.pages.sets import sets_joined, stoppers_joined
from engine_pages.pages.shown_units import shown
from engine_pages.pages.trail_words import drafts
from engine_pages.pages.wear_words import amount_words, exposure_words
from engine_pages.pages.words import day_words

OTHERS_COUNT = (
    "What other engines say of like parts counts here only where three of them stand behind it: the shop’s own figures "
    "may differ a little."
)
MOST_STOPPERS = 6
MOST_DUE = 6


class EnginePage(Struct, frozen=True):
    """One engine. Sections stand in the order of the fields; one with nothing to show is None.

    `stops` is what stops it first, `places` the engine map, `season` whether it lasts the plan, `due` what falls due
    first, `happened` the timeline, `tests` the last of each test, `strip` photos of the last teardown, `sheets` all
    sheets, `unknown` the first of the known gaps, `also` the way to its other pages.
    """

    head: PageHead
    stops: Bars | None
    places: EngineMap | None
    season: SeasonSection | None
    due: DueTable | None
    happened: Charts | None
    tests: Lines | None
    strip: PhotoSection | None
    sheets: Table | None
    unknown: Lines | None
    also: Lines


def engine_page(desk: Desk, engine: EngineStory) -> EnginePage:
    """The page of one engine."""
    here = Here(desk, desk.page_of(engine.id))
    folder = f"engines/{engine.id}/"
    return EnginePage(
        head=_head(here, engine, folder),
        stops=stops_section(here, engine),
        places=engine_map(here, engine),
        season=season_section(here, engine),
        due=due_table(
            here,
            sets_joined(dues_in_order(engine))[:MOST_DUE],
            Heading("due", "Service due", "what comes first"),
            folder,
            more=Link(f"All {len(engine.due)} intervals", here.listing(engine.id, "service")),
        ),
        happened=timeline_section(here, engine),
        tests=test_lines(here, engine),
        strip=last_strip(here, engine),
        sheets=sheets_table(here, engine),
        unknown=gap_lines(here, engine),
        also=also_lines(here, engine),
    )


def _head(here: Here, engine: EngineStory, folder: str) -> PageHead:
    claim, rest = engine_answer(engine)
    return PageHead(
        id=engine.id,
        under=under_words(engine),
        cells=_cells(here, engine),
        claim=claim,
        rest=rest,
        more=engine_more(engine),
        says=(
            *drafts(len(engine.uncommitted)),
            *says(
                engine.problems,
                [f"{folder}engine.yml", f"{folder}plan.yml"],
                folder,
                here.listing(engine.id, "gaps", "doubt"),
            ),
        ),
        foot=(
            *engine_foot(engine, folder.rstrip("/"), maker=True),
            *((OTHERS_COUNT,) if here.desk.edition != CREW else ()),
        ),
        print_margin=print_margin(engine.id, engine.as_of, engine.commit),
    )


def under_words(engine: EngineStory) -> tuple[str, ...]:
    """Name, family, use and stamping, each where it is not said already."""
    said: list[str] = []
    stamped = f"stamped {engine.stamped}" if engine.stamped else None
    for words in (engine.name, engine.family_name, engine.use, stamped):
        if words and words != engine.id and not any(words.casefold() in known.casefold() for known in said):
            said.append(words)
    return tuple(said)


def _cells(here: Here, engine: EngineStory) -> tuple[Cell, ...]:
    unit = engine.exposure_unit
    others = [other for other in ("hours", "starts", "km") if other != unit and engine.total.amount(other) > 0]
    beside = amount_words(engine.total.amount(others[0]), others[0]) if others else ""
    since = exposure_words(engine.since_build, unit) if engine.since_build is not None else "no build sheet"
    return (
        Cell("since build", since),
        Cell("in all", exposure_words(engine.total, unit), beside),
        Cell("as of", day_words(engine.as_of)),
        _sheet_cell(here, engine, "built"),
        _sheet_cell(here, engine, "last strip"),
        commit_cell(engine.commit, bool(engine.uncommitted), here.desk.edition),
    )


def _sheet_cell(here: Here, engine: EngineStory, label: str) -> Cell:
    sheet = engine.built if label == "built" else last_strip_of(engine)
    if sheet is None:
        return Cell(label, "no sheet")
    return Cell(label, day_words(sheet.day), sheet_words(sheet) if label == "last strip" else "", here.sheet(sheet))


def stops_section(here: Here, engine: EngineStory) -> Bars | None:
    """What stops it first, the members of a set together."""
    shown_ones = stoppers_joined(engine.shortlist)[:MOST_STOPPERS]
    lines = [_stop_line(here, engine, one, count) for one, count in shown_ones]
    if not lines:
        return None
    return Bars(Heading("limits", "What stops it first"), tuple(lines), _bars_note([one for one, _ in shown_ones]))


def _stop_line(here: Here, engine: EngineStory, stopper: Stopper, count: int) -> BarLine:
    """One line of what stops it first; a clearance of which one side was read alone since, by that newest figure."""
    name, which = stopper_place(here, engine, stopper, count)
    line = stopper_line(_in_units(stopper, engine.units[0]), name, which, keep=engine.keep)
    fit = fit_of(engine, stopper)
    return replace(line, figure=later_amount(fit, engine.units[0])) if fit is not None and fit.later else line


def fit_of(engine: EngineStory, stopper: Stopper) -> FitStory | None:
    """The clearance that a stopper is, where it is one."""
    return next((one for one in engine.fits if one.dimension is stopper.dimension), None)


def _bars_note(stoppers: Sequence[Stopper]) -> str:
    """What the bars that are shown mean: an allowance used when it was last read, an interval used by now."""
    words = []
    worn = [one.dimension for one in stoppers if one.dimension is not None]
    if worn:
        plan = any(one.at_plan_end is not None for one in worn)
        words.append("Per cent: allowance used at the last reading.")
        words.append(f"{'Hatched: at the end of the plan. ' if plan else ''}Whisker: what the gauge cannot tell.")
    if len(worn) < len(stoppers):
        words.append("Where an amount stands, it is run of the interval by now.")
    return " ".join(words)


def stopper_place(here: Here, engine: EngineStory, stopper: Stopper, count: int = 1) -> tuple[Link, str]:
    """A stopper's name with its way, and which part it is; a clearance is known by its row and its two parts.

    `count` members of a set stand behind one that wears.
    """
    fit = fit_of(engine, stopper)
    if fit is not None:
        outer, inner = fit.parts
        since = f", {fit.later.bound}, {later_words(here, fit)}" if fit.later is not None else ""
        which = f"{here.part_called(inner)} in {here.part_called(outer)}{since}"
        return Link(fit.title, here.part(outer, "now")), which
    part = here.desk.by_id.get(stopper.part or "")
    which = part.id if part is not None and part.named and (count == 1 or stopper.due is None) else ""
    if count > 1 and stopper.dimension is not None:
        which = ", ".join(words for words in (which, f"the first of {count}") if words)
    return Link(stopper.slot_name, here.part(stopper.part)), which


def _in_units(stopper: Stopper, unit: str) -> Stopper:
    return stopper if stopper.dimension is None else replace(stopper, dimension=shown(stopper.dimension, unit))
