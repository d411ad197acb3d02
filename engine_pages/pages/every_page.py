"""Every page of a site: which there are, and each made, by one hand or by two.

In: the desk that the site is made at. Out: pages in their order, the photos on them shelved.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from types import MappingProxyType
from typing import Final, TypeVar

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.history.hands import Hands
from engine_pages.history.story import EngineStory, PhotoStory, SheetRef
from engine_pages.pages.addresses import FRONT, METHODS, change_path, kind_path, link, list_path, sheet_path
from engine_pages.pages.bench_shelf import bench_path
from engine_pages.pages.chamber_page import NAME as CHAMBERS
from engine_pages.pages.chamber_page import chamber_page
from engine_pages.pages.change_page import change_page, change_title
from engine_pages.pages.corrections_page import NAME as CORRECTIONS
from engine_pages.pages.corrections_page import corrections_page
from engine_pages.pages.desk import BUYER, CREW, TAG, Desk
from engine_pages.pages.dossier import dossier_path
from engine_pages.pages.engine_page import engine_page
from engine_pages.pages.front_page import front_page
from engine_pages.pages.kind_page import kind_page, kind_title
from engine_pages.pages.list_pages import TITLES, list_page
from engine_pages.pages.methods_page import TITLE as METHODS_TITLE
from engine_pages.pages.methods_page import methods_page
from engine_pages.pages.part_page import part_page, title_of
from engine_pages.pages.photo_shelf import OnShelf
from engine_pages.pages.pieces import headings_of
from engine_pages.pages.render import PageData, render
from engine_pages.pages.review_page import NAME as REVIEW
from engine_pages.pages.review_page import review_page
from engine_pages.pages.sale_page import TITLE as SALE_TITLE
from engine_pages.pages.sale_page import sale_page
from engine_pages.pages.sheet_page import sheet_page
from engine_pages.pages.tag_page import tag_page
from engine_pages.pages.words import day_words

Progress = Callable[[str], None]
Files = Mapping[str, Callable[[], bytes]]
T = TypeVar("T")
NO_FILES: Files = MappingProxyType({})
MOST_RUNS: Final = 60  # into which pages are parted: hands take one after the other
_LISTS: Mapping[str, Callable[[Desk, EngineStory], PageData]] = MappingProxyType(
    {CHAMBERS: chamber_page, CORRECTIONS: corrections_page, REVIEW: review_page}
)


class Page(Struct, frozen=True):
    """One page: its HTML without a frame, and its headings as (level, id, words) for a table of contents."""

    path: str
    title: str
    html: str
    headings: tuple[tuple[int, str, str], ...]
    in_nav: bool


class _Planned(Struct, frozen=True):
    """A page that is still to be made: from what its path and title say, and who makes it."""

    path: str
    title: str
    make: Callable[[], PageData]


def pages_of(
    desk: Desk, bench: Files, in_nav: frozenset[str], hands: Hands, progress: Progress | None, beside: Callable[[], T]
) -> tuple[tuple[Page, ...], T]:
    """Every page in order, and what comes of a task that is done beside them; see `site.build_pages`.

    `in_nav`: the paths of those that the navigation names.
    """
    for engine, sheet, photo in _photos(desk):
        desk.shelf.name(engine, sheet, photo)
    planned = list(_all_pages(desk))
    length = max(-(-len(planned) // MOST_RUNS), 1)
    runs = [planned[first : first + length] for first in range(0, len(planned), length)]
    came, *made = hands([beside, *(partial(_made, desk, run, bench, in_nav, progress) for run in runs)])
    for _, shelved in made:
        desk.shelf.take(shelved)
    return tuple(page for pages, _ in made for page in pages), came


def _photos(desk: Desk) -> Iterator[tuple[str, SheetRef | None, PhotoStory]]:
    """Every photo that a page may show, with its engine and its sheet."""
    for engine in desk.engines:
        if engine.picture is not None:
            yield engine.id, None, engine.picture
        for sheet in engine.sheets:
            yield from ((engine.id, sheet.ref, photo) for photo in sheet.all_photos)
    for part in desk.parts:
        for ref, found in part.found:
            yield from ((ref.engine, ref, photo) for photo in found.photos)


def _made(
    desk: Desk, run: Sequence[_Planned], bench: Files, in_nav: frozenset[str], progress: Progress | None
) -> tuple[list[Page], dict[str, OnShelf]]:
    """Some pages, and what came of the photos that were first met on them."""
    before, pages = desk.shelf.shelved(), []
    for one in run:
        data = one.make()
        headings = ((1, "top", one.title), *((2, heading.id, heading.title) for heading in headings_of(data)))
        html = render(_with_ways(desk, one.path, data, bench))
        pages.append(Page(one.path, one.title, html, headings, one.path in in_nav))
        if progress is not None:
            progress(one.path)
    return pages, {path: shelved for path, shelved in desk.shelf.shelved().items() if path not in before}


def _all_pages(desk: Desk) -> Iterator[_Planned]:
    """Every page of the desk."""
    if desk.edition == TAG:
        yield from (
            _Planned(desk.page_of(engine.id), engine.id, partial(tag_page, desk, engine)) for engine in desk.engines
        )
    else:
        yield from _history_pages(desk)


def _history_pages(desk: Desk) -> Iterator[_Planned]:
    if desk.edition == CREW:
        yield _Planned(FRONT, "Engines", partial(front_page, desk))
    if desk.edition == BUYER:
        yield from (_Planned(FRONT, SALE_TITLE, partial(sale_page, desk, engine)) for engine in desk.engines)
    for engine in desk.engines:
        yield _Planned(desk.page_of(engine.id), engine.id, partial(engine_page, desk, engine))
        for sheet in engine.sheets:
            title = f"{engine.id}, {sheet_title(sheet.ref)}"
            yield _Planned(sheet_path(sheet.ref), title, partial(sheet_page, desk, engine, sheet))
        for name in desk.lists:
            make = _LISTS.get(name)
            maker = partial(list_page, desk, engine, name) if make is None else partial(make, desk, engine)
            yield _Planned(list_path(engine.id, name), f"{engine.id}, {TITLES[name]}", maker)
    for number, change in desk.changes():
        path = change_path(change.fluid, number)
        yield _Planned(path, change_title(change), partial(change_page, desk, number, change))
    for kind in desk.kinds():
        yield _Planned(kind_path(kind.family, kind.kind), kind_title(kind), partial(kind_page, desk, kind))
    yield _Planned(METHODS, METHODS_TITLE, partial(methods_page, desk))
    for part in desk.parts:
        place = desk.addresses.path(part.id)
        if place is not None:
            title = part.id if part.named else f"{title_of(part)}, {part.engine}"
            yield _Planned(place, title, partial(part_page, desk, part))


def _with_ways(desk: Desk, path: str, data: PageData, bench: Files) -> PageData:
    """The page with the way to the methods in its foot, where every figure is made; an engine's also to its bench."""
    ways = [("How these figures are made", METHODS)] if METHODS in desk.paths - {path} else []
    ways += [
        ("Write a sheet at the bench", place)
        for engine in desk.engines
        if path == desk.page_of(engine.id) and (place := bench_path(engine.id)) in bench
    ]
    ways += [
        ("All of it on one page, for paper", dossier_path(desk, engine.id))
        for engine in desk.engines
        if desk.edition != TAG and (path == desk.page_of(engine.id) or (path == FRONT and desk.edition == BUYER))
    ]
    told = Markup('<a href="{}">{}</a>')
    foot = tuple(told.format(link(path, to, desk.directory_urls), words) for words, to in ways)
    return replace(data, head=replace(data.head, foot=(*data.head.foot, *foot)))


def sheet_title(sheet: SheetRef) -> str:
    """A sheet by its number, or its kind, and its date: `T-0412, 12 Oct 2026`."""
    named = sheet.kind.capitalize() if sheet.name in sheet.label else sheet.label
    return f"{named}, {day_words(sheet.day)}"
