"""Tell a shop: checked records in, the story of every engine and part out.

`tell_shop` opens the book once; each engine is then told from it with its own day and commit.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import partial

from msgspec.structs import replace

from ..records.checks.checked import Checked
from ..records.checks.known_by import known_by
from ..records.family import Family
from ..records.fitting import Fitted, PartEntry
from ..records.load import EngineRecords, SheetRecord
from ..records.moments import Moment
from ..records.source import Problem, Source, doubt
from .book import Book, open_book
from .chambers import trends_of
from .changes import changes_of
from .clearances import fits_of
from .dimensions import Outlook
from .doubts import doubts_of
from .dues import Now, services_of
from .engine_map import map_of
from .engine_words import engine_identity, fluid_spans, incidents_of, limit_rows, log_stories
from .gaps import gaps_of
from .gathering import subjects_of
from .hands import Hands, one_hand
from .inputs import Touches, as_of, engine_inputs, touches_of
from .kept_fits import NOTHING_KEPT, Store
from .kinds import kinds_of
from .lives import FIRST, LAST
from .parts import counts_here, part_story
from .plan import season_of
from .pool import FIT, Pool
from .pools import Key, Pools
from .rest import NO_REST, Rest
from .season import Question, season_story
from .season_lives import LivesReached
from .sheets import sheet_story
from .shortlist import shortlist_of
from .sight import WHOLE_SHOP, Sight
from .status import state_of_engine
from .story import (
    EngineStory,
    FitStory,
    PartStory,
    SheetStory,
    ShopStory,
    TestStory,
)
from .told_later import ToldLater

OfKind = tuple[list[PartStory], Mapping[Key, Pool]]  # the parts of a kind, told, and the pools that they lean on

CONFIDENCE = 0.90  # of every interval, where the shop names none
A_POOL_TAKES = 10  # as long as so many parts of it
NO_DAY = date(1970, 1, 1)  # of a shop that has no engine


def tell_shop(checked: Checked, day: date | None = None) -> ShopStory:
    """Tell every engine whose family is written. `day` stands in the place of each engine's own as-of day."""
    written, checked = checked.problems, known_by(checked, day or checked.today)
    book = open_book(checked)
    touches = touches_of(book)
    present = frozenset(checked.shop.tree.paths())
    pools = Pools(book, until_of(day or checked.today))
    lives = LivesReached(book, until_of(day or checked.today), confidence_of(book))
    engines = tuple(
        tell_engine(book, (pools, lives), records, family, touches, present, day)
        for records in sorted(checked.shop.engines.values(), key=lambda r: r.id)
        if (family := checked.shop.family_of(records.id)) is not None
    )
    file = checked.shop.file
    as_of_day = day or max((engine.as_of for engine in engines), default=NO_DAY)
    last = min(touches.touched.values(), key=lambda touch: touch.nth, default=None)
    parts = _all_parts(book, pools, engines, as_of_day)
    problems = {*written, *(p for e in engines for p in e.problems), *_ledger_problems(book)}
    if touches.trouble is not None:
        problems.add(doubt(Source("shop.yml", 1, 1), f"git does not answer: {touches.trouble}; no commit is known"))
    return ShopStory(
        name=(file.it.name if file else None) or "Engine records",
        engines=engines,
        parts=tuple(parts[part] for part in sorted(parts)),
        problems=tuple(sorted(problems)),
        inbox=tuple(path for path in checked.inbox),
        as_of=as_of_day,
        commit=last.commit if last else None,
        site=file.it.site if file else None,
        changes=ToldLater(lambda: changes_of(book, pools, confidence_of(book))),
        kinds=ToldLater(lambda: kinds_of(book, pools, until_of(day or checked.today), confidence_of(book))),
    )


def tell_one(
    checked: Checked, engine: str, day: date | None = None, sight: Sight = WHOLE_SHOP,
    elsewhere: Rest = NO_REST, store: Store = NOTHING_KEPT, hands: Hands = one_hand,
) -> tuple[EngineStory, Pools]:  # fmt: skip
    """One engine's story, and the pools that it leans on. KeyError for an engine that is not there.

    `elsewhere`: what engines add to the kinds that are not among the records; `store` keeps fits; `hands` do the work.
    """
    book = open_book(known_by(checked, day or checked.today))
    pools = Pools(book, until_of(day or checked.today), sight, elsewhere, store)
    records, family = book.checked.shop.engines[engine], book.checked.shop.family_of(engine)
    if family is None:
        raise KeyError(engine)
    present = frozenset(book.checked.shop.tree.paths())
    lives = LivesReached(book, until_of(day or checked.today), confidence_of(book), sight, elsewhere, store)
    return tell_engine(book, (pools, lives), records, family, touches_of(book), present, day, hands), pools


def _all_parts(book: Book, pools: Pools, engines: Iterable[EngineStory], told_on: date) -> dict[str, PartStory]:
    """Every part of the shop, as the engine tells it that it is in now, or was in last; and what was never fitted."""
    parts: dict[str, PartStory] = {}
    for engine in engines:
        for part in (*engine.former_parts, *engine.parts):
            if part.engine == engine.id:
                parts[part.id] = part
    until = until_of(told_on)
    shelf = Outlook(confidence_of(book), None, 0.0, until, pools)
    for entry in book.checked.fitting.parts.values():
        family = book.checked.shop.families.get(entry.family)
        if entry.file is not None and not book.lives.of(entry.id).stays and family is not None:
            parts[entry.id] = part_story(book, family.it, entry, shelf, Now(told_on, until, None))
    return parts


def until_of(day: date) -> Moment:
    """The last moment that counts: the end of a day. What is dated later is to come."""
    return (day.toordinal(), LAST[0], LAST[2])


def _ledger_problems(book: Book) -> Iterable[Problem]:
    return (problem for ledger in book.ledgers.values() for problem in ledger.problems)


def tell_engine(
    book: Book, kinds: tuple[Pools, LivesReached], records: EngineRecords, family: Family, touches: Touches,
    present: frozenset[str], day: date | None, hands: Hands = one_hand,
) -> EngineStory:  # fmt: skip
    """One engine's story, as of a day; `kinds` is what the whole shop knows of like parts."""
    pools, lives = kinds
    stays = [stay for stay in book.checked.fitting.stays if stay.engine == records.id]
    inputs = engine_inputs(book, records.id, {stay.part.id for stay in stays}, touches)
    own_day, commit, uncommitted = as_of(book.checked.shop, records.id, inputs, touches, book.checked.today)
    told_on = day or own_day
    until = until_of(told_on)
    season = season_of(records, told_on)
    now = Now(told_on, until, season.planned)
    outlook = Outlook(confidence_of(book), season.keep, season.amount(family.exposure), until, pools)
    entries = {stay.part.id: stay.part for stay in stays if stay.began <= until}
    inside = _inside(book, stays, until)
    reached, (fits, pairs, leaned_on), *told = hands(
        [
            partial(lives.of, family),
            partial(_fits, book, family, records, inside, outlook),
            *_by_kind(book, family, entries.values(), outlook, now),
        ]
    )
    pools.learn(leaned_on)
    book.pairs[records.id] = pairs
    found: dict[str, PartStory] = {}
    for stories, leaned_on in told:
        found |= {part.id: part for part in stories}
        pools.learn(leaned_on)
    parts = {part: found[part] for part in entries}
    here = tuple(parts[stay.part.id] for stay in inside.values())
    sheets = _sheets(book, records, family, parts, outlook, now, present, touches)
    services = services_of(book, family, records, now)
    problems = _problems(book, records, inputs, parts.values())
    dues = tuple(sorted((*services, *(d for part in here for d in part.due)), key=lambda d: -(d.share or -1.0)))
    tests = tuple(test for sheet in sheets for test in sheet.tests)
    tests_now = _last_since_build(book, records, tests, until)
    story = engine_identity(book, records, family, present, until)
    still_here = {part.id for part in here}
    return replace(
        story,
        state=state_of_engine(here, fits, tests_now, services),
        as_of=told_on,
        commit=commit,
        uncommitted=uncommitted,
        confidence=outlook.confidence,
        parts=here,
        former_parts=tuple(part for key, part in sorted(parts.items()) if key not in still_here),
        fits=fits,
        engine_map=map_of(family, here, fits),
        shortlist=shortlist_of(here, fits, family.exposure),
        due=dues,
        tests=tests,
        tests_now=tests_now,
        sheets=sheets,
        log=log_stories(book, records, until),
        fluids=fluid_spans(book, records, until),
        incidents=incidents_of(book, records, until),
        plan=season.events,
        reached=reached,
        season=season_story(
            Question(season.events, told_on, season.keep, family.exposure, reached=reached), here, fits, dues, pools
        ),
        keep=season.keep,
        chambers=trends_of(family, sheets),
        gaps=tuple(gaps_of(book, family, records, here, fits, sheets, problems, until)),
        limits=limit_rows(book, family),
        problems=problems,
    )


def _by_kind(
    book: Book, family: Family, entries: Iterable[PartEntry], outlook: Outlook, now: Now
) -> Iterator[Callable[[], OfKind]]:
    """The parts of each kind to be told, the longest task first: only those of one kind lean on the same pools."""
    kinds: dict[str, list[PartEntry]] = {}
    for entry in entries:
        kinds.setdefault(entry.kind, []).append(entry)

    def takes(kind: str) -> int:
        dimensions = sum(1 for _ in subjects_of(family.kinds[kind])) if kind in family.kinds else 0
        return dimensions * (A_POOL_TAKES + len(kinds[kind]))

    for kind in sorted(kinds, key=lambda one: (-takes(one), one)):
        yield partial(_of_kind, book, family, kinds[kind], outlook, now)


def _fits(
    book: Book, family: Family, records: EngineRecords, inside: Mapping[str, Fitted], outlook: Outlook
) -> tuple[tuple[FitStory, ...], dict[tuple[object, ...], FitStory], Mapping[Key, Pool]]:
    """The fits of what is inside; with them every pair that a sheet speaks of, and the pools that they lean on."""
    fits = fits_of(book, family, records.id, inside, outlook)
    for sheet in _told_sheets(book, records, outlook.until):
        _fits_on(book, family, sheet, outlook)
    return fits, book.pairs[records.id], {key: pool for key, pool in outlook.pools.all().items() if key[1] == FIT}


def _fits_on(book: Book, family: Family, sheet: SheetRecord, outlook: Outlook) -> tuple[FitStory, ...]:
    """The fits of what stood together on a sheet."""
    return fits_of(book, family, sheet.engine, book.standing(sheet.engine, book.moment(sheet)), outlook, sheet)


def _told_sheets(book: Book, records: EngineRecords, until: Moment) -> Iterator[SheetRecord]:
    """An engine's sheets in order of time, but for those that are still to come."""
    sheets = sorted(records.sheets, key=lambda sheet: book.nth[sheet.path])
    return (sheet for sheet in sheets if book.moment(sheet) <= until)


def _of_kind(book: Book, family: Family, parts: Iterable[PartEntry], outlook: Outlook, now: Now) -> OfKind:
    stories = [part_story(book, family, part, outlook, now) for part in parts]
    return stories, {key: pool for key, pool in outlook.pools.all().items() if key[1] == stories[0].kind}


def _last_since_build(
    book: Book, records: EngineRecords, tests: Sequence[TestStory], until: Moment
) -> tuple[TestStory, ...]:
    """The last of each test; one before the last build was of another assembly."""
    builds = (book.moment(sheet) for sheet in records.sheets if sheet.kind == "build")
    built = max((moment for moment in builds if moment <= until), default=FIRST)
    since = [test for test in tests if book.moment(book.checked.resolved[test.sheet.path].sheet) >= built]
    return tuple({test.test: test for test in since}.values())  # in order of time: the last of each name stays


def _problems(
    book: Book, records: EngineRecords, inputs: Iterable[str], parts: Iterable[PartStory]
) -> tuple[Problem, ...]:
    """What is wrong or odd in the engine's own inputs, and what its figures show."""
    own = f"engines/{records.id}/"
    paths = {path for path in inputs if path.startswith(own) or not path.startswith("engines/")}
    written = [problem for problem in book.checked.problems if problem.source.path in paths]
    return tuple(sorted({*written, *book.ledgers[records.id].problems, *doubts_of(parts)}))


def confidence_of(book: Book) -> float:
    """The confidence of every interval, as the shop wrote it."""
    file = book.checked.shop.file
    return float(file.it.confidence) if file and file.it.confidence else CONFIDENCE


def _inside(book: Book, stays: Sequence[Fitted], until: Moment) -> dict[str, Fitted]:
    """The stay that counts as present in each slot: what is in it, or what came out of it last while it is apart."""
    out: dict[str, Fitted] = {}
    for stay in sorted(stays, key=lambda s: s.began):
        if stay.began <= until:
            out[stay.slot.id] = stay
    return {
        slot: stay
        for slot, stay in sorted(out.items(), key=lambda item: item[1].slot.order)
        if counts_here(book, stay, until)
    }


def _sheets(
    book: Book, records: EngineRecords, family: Family, parts: Mapping[str, PartStory], outlook: Outlook, now: Now,
    present: frozenset[str], touches: Touches,
) -> tuple[SheetStory, ...]:  # fmt: skip
    out = []
    for sheet in _told_sheets(book, records, now.until):
        fits = _fits_on(book, family, sheet, outlook)
        touch = touches.touched.get(sheet.path)
        commit = (touch.commit, touch.committed) if touch else None
        out.append(
            sheet_story(book, family, sheet, parts, fits, now, present, commit, sheet.path in touches.uncommitted)
        )
    return tuple(out)
