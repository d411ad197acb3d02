"""Tell a shop: checked records in, the story of every engine and part out.

`tell_shop` opens the book once; each engine is then told from it with its own day and commit.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from ..records.checks.checked import Checked
from ..records.family import Family
from ..records.fitting import Fitted
from ..records.load import EngineRecords
from ..records.source import Problem
from .book import Book, open_book
from .clearances import fits_of
from .dimensions import Outlook
from .doubts import doubts_of
from .dues import Now, services_of
from .engine_map import map_of
from .engine_words import engine_identity, fluid_spans, incidents_of, limit_rows, log_stories
from .gaps import gaps_of
from .inputs import Trail, as_of, engine_inputs, trail_of
from .lives import LAST
from .parts import part_story
from .plan import season_of
from .sheets import sheet_story
from .shortlist import shortlist_of
from .status import worst_of
from .story import EngineStory, FitStory, PartStory, SheetStory, ShopStory

CONFIDENCE = 0.90  # of every interval, where the shop names none


def tell_shop(checked: Checked, day: date | None = None) -> ShopStory:
    """Tell every engine whose family is written. `day` stands in the place of each engine's own as-of day."""
    book = open_book(checked)
    trail = trail_of(book)
    present = frozenset(checked.shop.tree.paths())
    engines = tuple(
        tell_engine(book, records, family, trail, present, day)
        for records in sorted(checked.shop.engines.values(), key=lambda r: r.id)
        if (family := checked.shop.family_of(records.id)) is not None
    )
    parts = {part.id: part for engine in engines for part in (*engine.former_parts, *engine.parts)}
    file = checked.shop.file
    last = max(engines, key=lambda e: (e.as_of, e.commit or ""), default=None)
    problems = {*checked.problems, *(p for e in engines for p in e.problems), *_ledger_problems(book)}
    return ShopStory(
        name=(file.it.name if file else None) or "Engine records",
        engines=engines,
        parts=tuple(parts[part] for part in sorted(parts)),
        problems=tuple(sorted(problems)),
        inbox=tuple(path for path in checked.inbox),
        as_of=last.as_of if last else date(1970, 1, 1),
        commit=last.commit if last else None,
        site=file.it.site if file else None,
    )


def _ledger_problems(book: Book) -> Iterable[Problem]:
    return (problem for ledger in book.ledgers.values() for problem in ledger.problems)


def tell_engine(
    book: Book, records: EngineRecords, family: Family, trail: Trail, present: frozenset[str], day: date | None
) -> EngineStory:
    """One engine's story, as of a day."""
    stays = [stay for stay in book.checked.fitting.stays if stay.engine == records.id]
    inputs = engine_inputs(book, records.id, {stay.part.id for stay in stays})
    own_day, commit, uncommitted = as_of(book.checked.shop, records.id, inputs, trail)
    told_on = day or own_day
    until = LAST if day is None else (told_on.toordinal(), LAST[1], LAST[2])
    season = season_of(records, told_on)
    now = Now(told_on, until, season.planned)
    outlook = Outlook(confidence_of(book), season.keep, season.exposure.amount(family.exposure), until)
    inside = _inside(book, stays, until)
    parts = {stay.part.id: part_story(book, family, stay.part, outlook, now) for stay in stays if stay.began <= until}
    here = tuple(parts[stay.part.id] for stay in inside.values() if stay.part.id in parts)
    fits = fits_of(book, family, records.id, inside, outlook)
    sheets = _sheets(book, records, family, parts, outlook, now, present, trail)
    services = services_of(book, family, records, now)
    problems = _problems(book, records, inputs, parts.values())
    dues = tuple(sorted((*services, *(d for part in here for d in part.due)), key=lambda d: -(d.share or -1.0)))
    shortlist = shortlist_of(here, fits, family.exposure)
    story = engine_identity(book, records, family, present, until)
    return replace(
        story,
        state=worst_of(
            [
                *(part.state for part in here),
                *(fit.state for fit in fits if fit.dimension.readings),
                *(d.state for d in services),
            ]
        ),
        as_of=told_on,
        commit=commit,
        uncommitted=uncommitted,
        confidence=outlook.confidence,
        parts=here,
        former_parts=tuple(part for key, part in sorted(parts.items()) if part not in here),
        fits=fits,
        engine_map=map_of(family, here, fits),
        shortlist=shortlist,
        due=dues,
        tests=tuple(test for sheet in sheets for test in sheet.tests),
        sheets=sheets,
        log=log_stories(book, records, until),
        fluids=fluid_spans(book, records, until),
        incidents=incidents_of(book, records, until),
        plan=season.events,
        keep=season.keep,
        gaps=tuple(gaps_of(book, family, records, here, fits, sheets, problems)),
        limits=limit_rows(book, family),
        problems=problems,
    )


def _problems(
    book: Book, records: EngineRecords, inputs: Iterable[str], parts: Iterable[PartStory]
) -> tuple[Problem, ...]:
    """What is wrong or odd in the engine's own inputs, and what its figures show."""
    paths = set(inputs)
    written = [problem for problem in book.checked.problems if problem.source.path in paths]
    return tuple(sorted({*written, *book.ledgers[records.id].problems, *doubts_of(parts)}))


def confidence_of(book: Book) -> float:
    """The confidence of every interval, as the shop wrote it."""
    file = book.checked.shop.file
    return float(file.it.confidence) if file and file.it.confidence else CONFIDENCE


def _inside(book: Book, stays: list[Fitted], until: tuple[int, int, int]) -> dict[str, Fitted]:
    """The stay that counts as present in each slot: what is in it, or what came out of it last while it is apart."""
    out: dict[str, Fitted] = {}
    for stay in sorted(stays, key=lambda s: s.began):
        if stay.began <= until:
            out[stay.slot.id] = stay
    order = {stay.slot.id: stay.slot.order for stay in stays}
    return {slot: out[slot] for slot in sorted(out, key=lambda s: order[s]) if _counts(book, out[slot], until)}


def _counts(book: Book, stay: Fitted, until: tuple[int, int, int]) -> bool:
    """A part counts while it is in, and after a strip until the next build; one that is now elsewhere does not."""
    if stay.ended is None or stay.ended > until:
        return True
    elsewhere = any(s.began >= stay.ended for s in book.lives.of(stay.part.id).stays if s is not stay)
    rebuilt = any(
        sheet.kind == "build" and stay.ended < book.moment(sheet) <= until
        for sheet in book.checked.shop.engines[stay.engine].sheets
    )
    return not elsewhere and not rebuilt


def _sheets(
    book: Book, records: EngineRecords, family: Family, parts: Mapping[str, PartStory], outlook: Outlook, now: Now,
    present: frozenset[str], trail: Trail,
) -> tuple[SheetStory, ...]:  # fmt: skip
    out = []
    for sheet in sorted(records.sheets, key=book.moment):
        moment = book.moment(sheet)
        if moment > now.until:
            continue
        standing = {s.slot.id: s for s in book.checked.fitting.stays if s.engine == records.id and _stood(s, moment)}
        fits: tuple[FitStory, ...] = fits_of(book, family, records.id, standing, outlook)
        touch = trail.touched.get(sheet.path)
        commit = (touch.commit, touch.committed) if touch else None
        out.append(sheet_story(book, family, sheet, parts, fits, now, present, commit, sheet.path in trail.uncommitted))
    return tuple(out)


def _stood(stay: Fitted, moment: tuple[int, int, int]) -> bool:
    return stay.began <= moment and (stay.ended is None or moment <= stay.ended)
