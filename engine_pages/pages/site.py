"""A whole site as values: every page's HTML, every file, the order of the navigation. No site generator is needed.

In: the shop's story, which engine (None: all) and which edition, and a way to the photos' bytes. Out: `Site`. A page's
`path` names it as a Markdown source would be named; its HTML is finished and its links are relative, so that the tree
can be written to disk as it is, or handed to a generator that puts its own frame around.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial

from msgspec import Struct

from engine_pages.editions.fingerprint import StateMark
from engine_pages.history.hands import Hands, one_hand
from engine_pages.history.story import EngineStory, ShopStory
from engine_pages.pages.addresses import (
    FRONT,
    SCRIPTS,
    STYLES,
    sheet_path,
)
from engine_pages.pages.cache import Cache
from engine_pages.pages.chart_drawer import ChartDrawer
from engine_pages.pages.desk import BUYER, CREW, TAG, Desk, open_desk
from engine_pages.pages.dossier import Dossier, dossier, dossier_html, dossier_path
from engine_pages.pages.every_page import NO_FILES, Files, Page, Progress, pages_of, sheet_title
from engine_pages.pages.kind_rates import summary_files
from engine_pages.pages.part_page import title_of
from engine_pages.pages.photo_shelf import PhotoShelf
from engine_pages.pages.sale_page import TITLE as SALE_TITLE
from engine_pages.pages.tight import one_style
from engine_pages.records.source import Problem
from engine_pages.shipped import shipped

# Every page carries the whole navigation, 120 bytes an item and more. Parts are found on their engine's own drawing, so
# that they are listed where one screen holds all, and for the crew alone: who has a link to one engine
# reads on a phone, page by page. Sheets are listed until that costs more than it helps.
MOST_WITH_PARTS = 30
MOST_IN_NAV = 60
_SHEETS = ("colours.css", "page.css", "marks.css", "print.css")  # in the order in which they must be loaded
STYLE_PATHS = tuple(f"{STYLES}/{name}" for name in _SHEETS)
ONE_SHEET = f"{STYLES}/all.css"  # the four in one, for pages that lie together on a host: three requests less
SCRIPT_PATHS = (f"{SCRIPTS}/engine-pages.js",)


NavItem = tuple[str, "str | tuple[NavItem, ...]"]


class Site(Struct, frozen=True):
    """All pages, all files (made when asked for), the navigation as nested (title, path or items), and photos' doubts.

    Among the files are those of STYLE_PATHS and SCRIPT_PATHS, which every page loads in that order. `name` is what
    stands over all pages of one engine's site: the engine, and whose history it is.
    """

    pages: tuple[Page, ...]
    files: dict[str, Callable[[], bytes]]
    nav: tuple[NavItem, ...]
    problems: tuple[Problem, ...]
    name: str = ""


def build_pages(
    story: ShopStory,
    engine: str | None,
    edition: str,
    photo_bytes: Callable[[str], bytes],
    cache: Cache,
    *,
    directory_urls: bool = False,
    progress: Progress | None = None,
    bench: Files = NO_FILES,
    mark: Callable[[], StateMark | None] = lambda: None,
    hands: Hands = one_hand,
) -> Site:
    """Every page of a site.

    engine: the one to publish, or None for all. edition: its name, as pages print it; the story is cut to it before it
    comes here. photo_bytes: the bytes of a photo by its path in the shop; may raise OSError or LookupError.
    directory_urls: whether the generator gives each page a folder of its own. progress: called with each page's path.
    bench: the engines' bench pages, which go with the site and are linked from it. mark: makes what names the
    state that the pages tell, for the dossier. hands: who makes it, and pages, and draws charts.
    Raises KeyError for an engine that the story does not tell.
    """
    shelf = PhotoShelf(photo_bytes, cache)
    desk = open_desk(story, engine, edition, shelf, ChartDrawer(cache), directory_urls)
    nav = navigation(desk)
    pages, state = pages_of(desk, bench, frozenset(_paths_of(nav)), hands, progress, mark)
    books = _dossiers(desk, {page.path: page.html for page in pages}, state)
    files = books | _own_files() | shelf.files | summary_files(desk.kinds()) | dict(bench)
    name = f"{engine}, {story.name}" if engine is not None else story.name
    return Site(pages, files, nav, tuple(shelf.problems), name)


def _dossiers(desk: Desk, rendered: Mapping[str, str], mark: StateMark | None) -> dict[str, Callable[[], bytes]]:
    """Each engine's history bound into one page; the plate's edition has none."""
    if desk.edition == TAG:
        return {}
    books = {dossier_path(desk, one.id): dossier(desk, one, rendered, mark) for one in desk.engines}
    return {path: partial(_encoded, book) for path, book in books.items()}


def _encoded(book: Dossier) -> bytes:
    return dossier_html(book).encode("utf-8")


def navigation(desk: Desk) -> tuple[NavItem, ...]:
    """Engines, their sheets and their parts; parts, then sheets, give way where there would be too many items."""
    without_parts = ((True, False, MOST_IN_NAV), (False, False, MOST_IN_NAV))
    tried = ((True, True, MOST_WITH_PARTS), *without_parts) if desk.edition == CREW else without_parts
    for sheets, parts, most in tried:
        engines = [_engine_items(desk, engine, sheets, parts) for engine in desk.engines]
        nav: tuple[NavItem, ...] = (*_first(desk), *(engines if desk.edition == CREW else _unfolded(engines)))
        if len(list(_paths_of(nav))) <= most:
            break
    return nav


def _first(desk: Desk) -> tuple[NavItem, ...]:
    """What stands before the engines."""
    return {CREW: (("Engines", FRONT),), BUYER: ((SALE_TITLE, FRONT),)}.get(desk.edition, ())


def _unfolded(engines: Iterable[NavItem]) -> tuple[NavItem, ...]:
    """What stands under the one engine of a shared site, which needs no heading of its own."""
    return tuple(item for engine in engines for item in ((engine,) if isinstance(engine[1], str) else engine[1]))


def _engine_items(desk: Desk, engine: EngineStory, sheets: bool, parts: bool) -> NavItem:
    overview: NavItem = ("Overview", desk.page_of(engine.id))
    items: list[NavItem] = [overview]
    if desk.edition == TAG:
        return overview
    if sheets:
        items += [(sheet_title(sheet.ref), sheet_path(sheet.ref)) for sheet in reversed(engine.sheets)]
    if parts:
        known = [(title_of(part), desk.addresses.path(part.id)) for part in engine.parts]
        items += [(title, path) for title, path in known if path is not None]
    return (engine.id, tuple(items)) if len(items) > 1 else (engine.id, desk.page_of(engine.id))


def _paths_of(items: tuple[NavItem, ...]) -> Iterator[str]:
    for _, inside in items:
        if isinstance(inside, str):
            yield inside
        else:
            yield from _paths_of(inside)


def _own_files() -> dict[str, Callable[[], bytes]]:
    """The style sheets and scripts that every page needs."""
    folder = shipped("site_template") / "scripts"
    scripts = {path: (folder / path.rsplit("/", 1)[1]).read_bytes for path in SCRIPT_PATHS}
    return {**own_styles(), **scripts}


def one_sheet() -> dict[str, Callable[[], bytes]]:
    """The same in one, without the words for those who work on them."""
    return {ONE_SHEET: lambda: one_style(read() for read in own_styles().values()).encode("utf-8")}


def own_styles() -> dict[str, Callable[[], bytes]]:
    """The style sheets that every page needs, by their paths."""
    folder = shipped("site_template") / "styles"
    return {path: (folder / name).read_bytes for path, name in zip(STYLE_PATHS, _SHEETS, strict=True)}
