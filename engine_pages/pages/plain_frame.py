"""A site as plain files that need no site generator: every page a whole HTML document, with a navigation and a search.

In: a `Site`. Out: its files by their paths, made when asked for. They open from a disk as from any server.
"""

from collections.abc import Callable, Iterator
from functools import partial
from typing import Final

from markupsafe import Markup
from msgspec import Struct

from engine_pages.pages.addresses import SCRIPTS, STYLES, link, place
from engine_pages.pages.every_page import Page
from engine_pages.pages.plain_search import INDEX, search_index
from engine_pages.pages.render import filled
from engine_pages.pages.site import SCRIPT_PATHS, STYLE_PATHS, NavItem, Site
from engine_pages.shipped import shipped

OWN_FILES: Final = {f"{STYLES}/plain.css": "plain.css", f"{SCRIPTS}/search.js": "search.js"}
STYLE_ORDER: Final = (*STYLE_PATHS, f"{STYLES}/plain.css")
SCRIPT_ORDER: Final = (*SCRIPT_PATHS, f"{SCRIPTS}/search.js")
# A browser may give a file on a disk no origin, which 'self' then cannot mean: file: stands beside it, and allows
# nothing to a page that came from a server. Pages carry their print margin as a style of their own.
POLICY: Final = (
    "default-src 'none'; script-src 'self' file:; style-src 'self' file: 'unsafe-inline'; img-src 'self' file: data:; "
    "base-uri 'none'; form-action 'none'"
)


class NavEntry(Struct, frozen=True):
    """A line of the navigation: a page, or a heading with lines inside; whether it is, or holds, the page itself."""

    title: str
    href: str
    holds_here: bool
    inside: tuple["NavEntry", ...] = ()


class PlainPage(Struct, frozen=True):
    """What the frame's template knows: the page, the ways from it to everything around, the site's name."""

    title: str
    name: str
    html: Markup
    policy: str
    styles: tuple[str, ...]
    scripts: tuple[str, ...]
    index: str
    top: str
    front: str
    nav: tuple[NavEntry, ...]


def plain_files(site: Site, name: str) -> dict[str, Callable[[], bytes]]:
    """Every file of the site, by its path; `name` stands over all pages."""
    front = site.pages[0].path
    folder = shipped("site_template") / "plain"
    files: dict[str, Callable[[], bytes]] = {
        place(page.path): partial(_framed, page, site.nav, front, name) for page in site.pages
    }
    files |= {path: (folder / own).read_bytes for path, own in OWN_FILES.items()}
    return files | site.files | {INDEX: partial(search_index, site.pages)}


def _framed(page: Page, nav: tuple[NavItem, ...], front: str, name: str) -> bytes:
    values = PlainPage(
        title=page.title,
        name=name,
        html=Markup(page.html),
        policy=POLICY,
        styles=tuple(link(page.path, path) for path in STYLE_ORDER),
        scripts=tuple(link(page.path, path) for path in SCRIPT_ORDER),
        index=link(page.path, INDEX),
        top="../" * page.path.count("/"),
        front=link(page.path, front),
        nav=tuple(_entries(nav, page.path)),
    )
    return f"{filled('plain.html.jinja', values)}\n".encode()


def _entries(items: tuple[NavItem, ...], here: str) -> Iterator[NavEntry]:
    for title, inside in items:
        if isinstance(inside, str):
            yield NavEntry(title, link(here, inside), inside == here)
        else:
            entries = tuple(_entries(inside, here))
            yield NavEntry(title, "", any(entry.holds_here for entry in entries), entries)
