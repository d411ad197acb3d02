"""The front page: which engine needs its crew, what is due, and what is odd in the records.

In: the shop's story. Out: `FrontPage`, the data of its template.
"""

from collections.abc import Iterator
from math import inf
from typing import Final

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.history.shortlist import NOW_STATES
from engine_pages.history.status import NO_LIMIT
from engine_pages.history.story import STATES, EngineStory, ShopStory, State, Stopper
from engine_pages.pages.addresses import FRONT, METHODS, kind_path
from engine_pages.pages.bars import ROW, due_line, stopper_line
from engine_pages.pages.chamber_tables import why_words
from engine_pages.pages.desk import Desk, Here, last_strip_of, source_words
from engine_pages.pages.dimension_words import due_left, due_words
from engine_pages.pages.engine_answer import (
    apart_words,
    dues_in_order,
    engine_claim,
    next_due,
    shortened,
    stopper_claim,
    to_be_replaced,
)
from engine_pages.pages.heads import NO_CERTIFICATE, commit_cell, print_margin, short_commit
from engine_pages.pages.marks import Bar, allowance_bar, state_word
from engine_pages.pages.pieces import BarLine, Cell, Heading, Line, Lines, Link, PageHead
from engine_pages.pages.sets import sets_joined, stoppers_joined
from engine_pages.pages.shown_units import shown
from engine_pages.pages.wear_words import exposure_words
from engine_pages.pages.words import (
    CANNOT_TELL,
    capital,
    chance_words,
    count_words,
    dated,
    day_words,
    ended,
    percent_words,
    small,
)

NEEDS_CREW: tuple[State, ...] = ("beyond limit", "overdue", "due", "undecided", "near limit")
LASTS: Final = "chance of lasting"
UNJUDGED: Final = "nothing measured against a limit"
MOST_DOUBTS = 8
MOST_NAMED = 2
MOST_DUE = 2


class EngineLine(Struct, frozen=True):
    """An engine on the front page: what it is, what is worst on it and why, its hours, what is due, its last strip.

    `stops` is what stops it first, where that is another thing than the worst; `chance` that of lasting its plan.
    """

    id: str
    under: str
    href: str | None
    state: Markup
    what: str
    bar: Markup
    why: str
    stops: str
    chance: str
    since_build: str
    due: str
    strip: str


class EngineList(Struct, frozen=True):
    """All engines, the worst first."""

    heading: Heading
    lines: tuple[EngineLine, ...]
    note: str


class FrontPage(Struct, frozen=True):
    """The front page: engines, then the kinds of parts, doubts of the records, drafts that wait in the inbox."""

    head: PageHead
    engines: EngineList
    kinds: Lines | None
    doubts: Lines | None
    inbox: Lines | None


def front_page(desk: Desk) -> FrontPage:
    """The front page of a site."""
    here = Here(desk, FRONT)
    engines = sorted(desk.engines, key=worst_first)
    note = "Bar: the part that comes first, as built at the left, limit at the tick. The worst first."
    heading = Heading("engines", "Which engine needs you", count_words(len(engines), "engine"))
    return FrontPage(
        head=_head(here, engines),
        engines=EngineList(heading, tuple(_line(here, one) for one in engines), note if engines else ""),
        kinds=_kinds(here),
        doubts=_doubts(here, desk),
        inbox=_inbox(desk.story),
    )


def _head(here: Here, engines: list[EngineStory]) -> PageHead:
    story = here.desk.story
    claim, rest = _answer(engines)
    confidence = f" Intervals are {percent_words(engines[0].confidence)}." if engines else ""
    return PageHead(
        id="Engines",
        under=(story.name,),
        cells=_cells(here, engines),
        claim=claim,
        rest=rest,
        more=_next_dues(engines),
        says=(),
        foot=(f"Figures of {day_words(story.as_of)}, commit {short_commit(story.commit)}.{confidence}", NO_CERTIFICATE),
        print_margin=print_margin("Engines", story.as_of, story.commit),
    )


def _cells(here: Here, engines: list[EngineStory]) -> tuple[Cell, ...]:
    need = [one for one in engines if needs_crew(one)]
    events = sorted((event.day, event.name, one.id) for one in engines for event in one.plan)
    strips = sorted((strip.day, one.id) for one in engines if (strip := last_strip_of(one)) is not None)
    uncommitted = any(one.uncommitted for one in engines)
    story = here.desk.story
    return (
        Cell("need you", f"{len(need)} of {len(engines)}"),
        Cell("built up", str(sum(one.assembled for one in engines))),
        Cell("as of", day_words(story.as_of)),
        Cell("next event", day_words(events[0][0]) if events else "none written", events[0][2] if events else ""),
        Cell("last strip", day_words(strips[-1][0]) if strips else "none", strips[-1][1] if strips else ""),
        commit_cell(story.commit, uncommitted, here.desk.edition),
    )


def _answer(engines: list[EngineStory]) -> tuple[str, str]:
    """The worst engine with what stops it and its chance, then the next ones."""
    need = [one for one in engines if needs_crew(one)]
    if not need:
        return _calm(engines)
    first, *others = need
    rest = " ".join(_in_a_sentence(one) for one in others[:MOST_NAMED])
    more = len(others) - MOST_NAMED
    return (
        f"{_in_a_sentence(first).removesuffix('.')}; {plan_chance(first)}.",
        f"{rest} {count_words(more, 'more engine')} wait." if more > 0 else rest,
    )


def _calm(engines: list[EngineStory]) -> tuple[str, str]:
    """What is said where no engine needs anybody: that nothing is due only where an interval is written, that nothing
    is near its limit only of what was judged."""
    if not engines:
        return "No engine is written yet.", ""
    silent = [one.id for one in engines if not one.due]
    unjudged = [one.id for one in engines if not _is_judged(one)]
    due = "No interval is written" if len(silent) == len(engines) else "Nothing is due"
    rest = [f"For {shortened(silent)} no interval is written."] if 0 < len(silent) < len(engines) else []
    if len(unjudged) == len(engines):
        return f"{due}. {capital(CANNOT_TELL)} whether anything is near its limit: {UNJUDGED}.", " ".join(rest)
    rest += [f"Of {shortened(unjudged)} {CANNOT_TELL}: {UNJUDGED}."] if unjudged else []
    return f"{due}, and nothing is near its limit.", " ".join(rest)


def _is_judged(engine: EngineStory) -> bool:
    """Whether anything of it was held against a limit; grades alone say nothing of how near one is."""
    if engine.state == "not measured":
        return False
    tests = (test for test in engine.tests_now if test.why != NO_LIMIT)
    return bool(engine.shortlist) or any(test.state != "not measured" for test in tests)


def _in_a_sentence(engine: EngineStory) -> str:
    """What the engine's own page says first; where that asks for nobody, what it lies apart for."""
    asks = engine.state in NEEDS_CREW or falls_short(engine)
    return f"{engine.id}: {small(engine_claim(engine)) if asks else f'{apart_words(engine)}.'}"


def plan_chance(engine: EngineStory) -> str:
    """The chance of lasting the next event and the plan, with the one that is wanted; or that it cannot be told."""
    if engine.season is None:
        return f"{LASTS} its plan: {CANNOT_TELL}" + ("" if engine.plan else ", no plan is written")
    events = engine.season.events
    first, last = events[0].chance, events[-1].chance
    if last is None:
        return f"{LASTS} its plan: {CANNOT_TELL}"
    nearest = f"the next event {chance_words(first)}, " if first is not None and len(events) > 1 else ""
    wanted = f", wanted {percent_words(engine.season.keep)}" if engine.season.keep is not None else ""
    return f"{LASTS} {nearest}its plan {chance_words(last)}{wanted}"


def falls_short(engine: EngineStory) -> bool:
    """Whether the engine cannot run its whole plan with the chance that is wanted."""
    season = engine.season
    return season is not None and season.lasts is not None and season.lasts < len(season.events)


def needs_crew(engine: EngineStory) -> bool:
    """Whether its state, its plan, or what is to go out of it where it lies apart calls for somebody."""
    waits = bool(apart_words(engine) and to_be_replaced(engine))
    return engine.state in NEEDS_CREW or falls_short(engine) or waits


def worst_first(engine: EngineStory) -> tuple[bool, bool, list[float], int, str]:
    """Where an engine stands among the others.

    What may not run now comes first, then what needs somebody: the least likely to last its next event, then its plan.
    A chance that cannot be told counts as none against it.
    """
    events = engine.season.events if engine.season is not None else ()
    chances = [1.0 if one.chance is None else one.chance for one in (*events[:1], *events[-1:])] or [1.0, 1.0]
    return engine.state not in NOW_STATES, not needs_crew(engine), chances, STATES.index(engine.state), engine.id


def _next_dues(engines: list[EngineStory]) -> str:
    """What falls due next, beside what is overdue already."""
    dues = [
        (STATES.index(due.state), due.left.get(one.exposure_unit, inf), one.id, due)
        for one in engines
        if (due := next_due(one)) is not None and due.state != "overdue"
    ]
    dues.sort(key=lambda item: item[:3])
    said = [f"{engine}, {due_words(due)}, {due_left(due)}" for _, _, engine, due in dues[:MOST_DUE]]
    return f"Next due: {'; '.join(said)}." if said else ""


def _line(here: Here, engine: EngineStory) -> EngineLine:
    worst, told = _worst(engine)
    due, strip, unit = next_due(engine), last_strip_of(engine), engine.exposure_unit
    return EngineLine(
        id=engine.id,
        under=", ".join(words for words in (engine.family_name, engine.use) if words),
        href=here.engine(engine.id),
        state=state_word(engine.state),
        what=small(", ".join(words for words in (worst.name.words, worst.under) if words)),
        bar=worst.bar,
        why=", ".join(str(words) for words in (worst.figure, worst.small) if words),
        stops=_stops(engine, told),
        chance=capital(plan_chance(engine)),
        since_build=exposure_words(engine.since_build, unit) if engine.since_build is not None else "unknown",
        due=f"{due_words(due)} {due_left(due)}" if due is not None else "no interval written",
        strip=apart_words(engine) or (f"last strip {day_words(strip.day)}" if strip is not None else "never stripped"),
    )


def _stops(engine: EngineStory, told: str) -> str:
    """What stops it first, where it is not the place that the line tells of already."""
    shortlist = stoppers_joined(engine.shortlist)
    return "" if not shortlist or shortlist[0][0].slot_name == told else stopper_claim(shortlist[0][0])


def _worst(engine: EngineStory) -> tuple[BarLine, str]:
    """What makes the engine's state, and where: the interval that is due, the limit that comes first, the part."""
    due = next((one for one in sets_joined(dues_in_order(engine)) if one.state == engine.state), None)
    if due is not None and engine.state in ("due", "overdue"):
        return due_line(due, Link(due_words(due))), due.slot_name or due.name
    shortlist = [one for one, _ in stoppers_joined(engine.shortlist)]
    stopper = next((one for one in shortlist if one.state == engine.state), None)
    found = next(_found(engine), None)
    if stopper is None and found is not None and engine.state in NEEDS_CREW:
        bar = allowance_bar(Bar(engine.state, None), ROW, engine.state)
        return BarLine(Link(found[0]), dated(found[1]), bar, "", state_word(engine.state), ""), found[0]
    if stopper is None and shortlist:
        stopper = shortlist[0]
    if stopper is None:
        return BarLine(Link(UNJUDGED), "", Markup(""), "", state_word("not measured"), ""), ""
    return _stopper_line(engine, stopper), stopper.slot_name


def _stopper_line(engine: EngineStory, stopper: Stopper) -> BarLine:
    if stopper.dimension is not None:
        stopper = replace(stopper, dimension=shown(stopper.dimension, engine.units[0]))
    line = stopper_line(stopper, Link(stopper.slot_name), "", ROW, engine.keep)
    return replace(line, figure=f"{line.figure} used") if line.figure and stopper.dimension is not None else line


def _found(engine: EngineStory) -> Iterator[tuple[str, str]]:
    """What makes the engine's state and has no bar of its own, with its reason: a part, else the last of a test."""
    yield from ((part.slot_name, part.state_why) for part in engine.parts if part.state == engine.state)
    yield from ((test.name, why_words(test)) for test in engine.tests_now if test.state == engine.state)


def _kinds(here: Here) -> Lines | None:
    """The ways to the kinds of parts, family by family."""
    ways: dict[str, list[Markup]] = {}
    for kind in here.desk.kinds():
        way = Markup('<a href="{}">{}</a>').format(here.to(kind_path(kind.family, kind.kind)), kind.name)
        ways.setdefault(kind.family_name, []).append(way)
    lines = tuple(Line(f"{family}:", Markup(", ").join(links)) for family, links in ways.items())
    heading = Heading("kinds", "Kinds of parts", "is this normal?")
    return Lines(heading, lines, more=Link("How the figures are made", here.to(METHODS))) if lines else None


def _doubts(here: Here, desk: Desk) -> Lines | None:
    """Doubts of the records: engine by engine with the way to all of them, then those of no engine."""
    lines = []
    for engine in desk.engines:
        doubts = [one for one in engine.problems if one.level == "doubt"]
        if doubts:
            first = ended(capital(dated(doubts[0].message)))
            more = Link(count_words(len(doubts), "doubt"), here.listing(engine.id, "gaps", "doubt"))
            lines.append(Line(f"{engine.id}:", first, source=source_words(doubts[0].source), link=more))
    known = {one for engine in desk.engines for one in engine.problems}
    whole = len(desk.engines) == len(desk.story.engines)  # a site of one engine says nothing of the others
    others = [one for one in desk.story.problems if one not in known and one.level == "doubt"] if whole else []
    lines += [
        Line(text=ended(capital(dated(one.message))), source=source_words(one.source)) for one in others[:MOST_DOUBTS]
    ]
    if not lines:
        return None
    count = len({one for one in (*known, *others) if one.level == "doubt"})
    return Lines(Heading("doubts", "In the records", count_words(count, "doubt")), tuple(lines))


def _inbox(story: ShopStory) -> Lines | None:
    """Drafts that do not check yet: they are never published, and never lost."""
    if not story.inbox:
        return None
    lines = tuple(Line(text=path) for path in story.inbox)
    return Lines(
        Heading("inbox", "In the inbox", count_words(len(lines), "draft")),
        lines,
        "Drafts are not part of any figure yet.",
    )
