"""The page of a part: its whole life, in whatever engines, how fast it wears, where it stands, how it looked.

In: a part's story. Out: `PartPage`, the data of its template.
"""

from collections.abc import Iterable
from datetime import date

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.history.status import part_said
from engine_pages.history.story import EngineStory, PartStory
from engine_pages.pages.desk import Desk, Here, source_words
from engine_pages.pages.dimension_words import near_words
from engine_pages.pages.heads import commit_cell, foot, print_margin, say, says
from engine_pages.pages.marks import state_word
from engine_pages.pages.notes import render_note
from engine_pages.pages.part_answer import part_answer, part_more
from engine_pages.pages.part_history import LifeSection, found_section, life_section, photo_section
from engine_pages.pages.part_readings import Readings, readings_section
from engine_pages.pages.part_wear import stands_section, wear_section
from engine_pages.pages.pieces import Bars, Cell, Charts, Lines, Link, PageHead, PhotoSection, Text
from engine_pages.pages.wear_words import amount_words, exposure_words
from engine_pages.pages.words import capital, dated, day_words, small
from engine_pages.records.source import Problem

LEAST_LIFE = 0.05  # of the exposure's unit: less is not written down


class PartPage(Struct, frozen=True):
    """One part. Sections stand in the order of the fields; one with nothing to show is None.

    `wear` is how fast, `stands` every dimension, clearance and interval, `life` where it was, `looked` its photos side
    by side, `found` what each sheet said and decided, `readings` every figure with its source, `note` the part file's.
    """

    head: PageHead
    wear: Charts | None
    stands: Bars | None
    life: LifeSection | None
    looked: PhotoSection | None
    found: Lines | None
    readings: Readings | None
    note: Markup | None


def part_page(desk: Desk, part: PartStory) -> PartPage:
    """The page of one part."""
    path = desk.addresses.path(part.id)
    assert path is not None, f"{part.id} has no page"
    here = Here(desk, path)
    engine = _engine_of(desk, part)
    units = engine.units if engine is not None else ("mm", None)
    wear, stands = wear_section(here, part, units), stands_section(here, part, engine, units)
    kind = Link(f"Every {small(part.kind_name)} of the shop: is this normal?", here.kind(part))
    if wear is not None:
        wear = replace(wear, more=(*wear.more, kind))
    elif stands is not None:
        stands = replace(stands, more=kind)
    return PartPage(
        head=_head(here, part, engine, units),
        wear=wear,
        stands=stands,
        life=life_section(here, part, _as_of(desk, engine)),
        looked=photo_section(here, part),
        found=found_section(here, part),
        readings=readings_section(here, part, units),
        note=Markup(render_note(part.note)) if part.note else None,
    )


def _engine_of(desk: Desk, part: PartStory) -> EngineStory | None:
    """The engine that the part is in, or was in last; else any engine of the site that it was in."""
    by_id = {engine.id: engine for engine in desk.engines}
    for stay in reversed(part.stays):
        if stay.engine in by_id:
            return by_id[stay.engine]
    return None


def _as_of(desk: Desk, engine: EngineStory | None) -> date:
    return engine.as_of if engine is not None else desk.story.as_of


def title_of(part: PartStory) -> str:
    """What the page is called: the serial, or the place of a part that has none."""
    return part.id if part.named else part.slot_name or part.kind_name


def _head(here: Here, part: PartStory, engine: EngineStory | None, units: tuple[str, str | None]) -> PageHead:
    story = here.desk.story
    commit = engine.commit if engine is not None else story.commit
    as_of = _as_of(here.desk, engine)
    confidence = engine.confidence if engine is not None else 0.9
    claim, rest = part_answer(part, units)
    problems = engine.problems if engine is not None else story.problems
    where = part.path or (f"engines/{part.engine}" if part.engine else "")
    return PageHead(
        id=title_of(part),
        under=tuple(words for words in (_kind_line(part), f"batch {part.batch}" if part.batch else "") if words),
        cells=_cells(here, part, engine, as_of, commit),
        claim=claim,
        rest=rest,
        more=part_more(part, engine),
        says=(
            *_differs(part),
            *_doubted_readings(part, problems),
            *(says(problems, [part.path], part.path) if part.path else ()),
        ),
        foot=foot(as_of, commit, where, confidence, uncommitted=bool(engine and engine.uncommitted)),
        print_margin=print_margin(title_of(part), as_of, commit),
    )


def _kind_line(part: PartStory) -> str:
    return part.kind_name if part.named else f"{part.kind_name}, no serial"


def _differs(part: PartStory) -> tuple[Text, ...]:
    if not part.differs:
        return ()
    source = source_words(part.found[-1][1].source) if part.found else ""
    return (Markup('{} <span class="source">{}</span>').format(f"{capital(dated(part.differs))}.", source),)


def _doubted_readings(part: PartStory, problems: Iterable[Problem]) -> tuple[Text, ...]:
    """The doubts on the part's own readings, wherever they are written."""
    read = {reading.source for dimension in part.dimensions for reading in dimension.readings}
    return tuple(say(problem) for problem in problems if problem.source in read)


def _near_reason(part: PartStory, engine: EngineStory | None) -> str:
    """Which figure makes the part near its limit."""
    keep = engine.keep if engine is not None else None
    reasons = ((one, near_words(one, keep)) for one in part.dimensions if part.state == "near limit")
    return next((f"{small(one.name)}, {reason}" for one, reason in reasons if reason), "")


def _cells(
    here: Here, part: PartStory, engine: EngineStory | None, as_of: date, commit: str | None
) -> tuple[Cell, ...]:
    unit = part.dimensions[0].exposure_unit if part.dimensions else "hours"
    where = "now in" if part.fitted_now else "last in"
    slot = small(part.slot_name) if part.named else ""
    before = part.since_new.amount(unit) - sum(stay.exposure.amount(unit) for stay in part.stays)
    life = "unknown" if part.prior == "unknown" else (amount_words(before, unit) if before > LEAST_LIFE else "none")
    return (
        Cell(where, part.engine or "nothing yet", slot, here.engine(part.engine, "map")),
        Cell("since new", exposure_words(part.since_new, unit)),
        Cell("as of", day_words(as_of)),
        Cell("life before", life, "taken as new" if part.taken_as_new else part.origin or ""),
        Cell("state", state_word(part.state, part_said(part)), _near_reason(part, engine)),
        commit_cell(commit, bool(engine is not None and engine.uncommitted), here.desk.edition),
    )
