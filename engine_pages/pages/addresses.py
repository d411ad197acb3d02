"""Where every page and photo stands, and how one is reached from another.

In: ids of engines, sheets and parts. Out: paths inside the site, and links relative to the page that holds them, so
that a site can be moved, renamed or carried on a stick. A page's path names its source, `engines/K-07/index.md`; where
a reader finds it depends on whether the site gives each page a folder of its own (`directory_urls`).
"""

import posixpath
from collections.abc import Iterable
from typing import Final

from msgspec import Struct, field

from engine_pages.history.story import SheetRef
from engine_pages.records.ids import ID_LENGTH, file_id

FRONT: Final = "index.md"
METHODS: Final = "methods.md"
SHEET_FOLDERS: Final = {"build": "builds", "inspection": "inspections", "teardown": "teardowns"}
ENGINE_LISTS: Final = ("log", "fluids", "service", "tests", "events", "limits", "gaps", "corrections")
CREW_LISTS: Final = ("review",)  # for the crew alone
OVERVIEW: Final = "engine.md"  # the page of an engine where another page is the first
STYLES: Final = "engine-pages/styles"
DIGEST_LETTERS: Final = 12  # of a content's SHA-256: two of a shop's pools will not share them
SCRIPTS: Final = "engine-pages/scripts"
# Names that a web server or the site generator takes for a folder's own page.
_TAKEN: Final = ("index", "readme")


def engine_path(engine: str) -> str:
    """The page of an engine.

    >>> engine_path("K-07")
    'engines/K-07/index.md'
    """
    return f"engines/{file_id(engine)}/index.md"


def list_path(engine: str, name: str) -> str:
    """A page of lists of an engine, such as its log or its gaps; ValueError for one that there is not."""
    known = (*ENGINE_LISTS, *CREW_LISTS)
    if name not in known:
        raise ValueError(f"an engine has the pages {', '.join(known)}, not {name}")
    return f"engines/{file_id(engine)}/{name}.md"


def change_path(fluid: str, number: int) -> str:
    """The page of a change, numbered among the shop's: `changes/oil-1.md`."""
    return f"changes/{file_id(fluid)}-{number}.md"


def kind_path(family: str, kind: str) -> str:
    """The page of a kind of part of one family.

    >>> kind_path("twin-rotor", "apex-seal")
    'kinds/twin-rotor/apex-seal.md'
    """
    return f"kinds/{file_id(family)}/{file_id(kind)}.md"


def summary_path(family: str, kind: str, name: str, digest: str) -> str:
    """A pool's joint summary, named by its content: `kinds/twin-rotor/apex-seal-height.0f3a….json`."""
    return f"kinds/{file_id(family)}/{file_id(f'{kind}-{name}')}.{digest[:DIGEST_LETTERS]}.json"


def sheet_path(sheet: SheetRef) -> str:
    """The page of a sheet: `engines/K-07/teardowns/2026-10-12.md`."""
    return f"engines/{file_id(sheet.engine)}/{SHEET_FOLDERS[sheet.kind]}/{file_id(sheet.name)}.md"


def photo_path(engine: str, name: str, width: int) -> str:
    """A published photo at one width in pixels.

    >>> photo_path("K-07", "teardown-2026-10-12-rotor-bearing-2-01", 480)
    'engines/K-07/photos/teardown-2026-10-12-rotor-bearing-2-01-480.jpg'
    """
    return f"engines/{file_id(engine)}/photos/{name}-{width}.jpg"


class PartAddresses(Struct, frozen=True):
    """The page of every part. Two ids that a file system would take for one get a number behind the later one."""

    stems: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, ids: Iterable[str]) -> "PartAddresses":
        """Addresses for these part ids, in this order.

        >>> PartAddresses.of(["RB-1042", "rb-1042", "index", "X/1"]).stems
        {'RB-1042': 'RB-1042', 'rb-1042': 'rb-1042-2', 'index': 'index-2', 'X/1': 'X-1'}
        """
        stems: dict[str, str] = {}
        used = set(_TAKEN)
        for part in ids:
            if part in stems:
                continue
            wanted = file_id(part).lstrip(".") or "part"  # a leading dot hides a file from web servers
            stem, number = wanted, 1
            while stem.casefold() in used:
                number += 1
                stem = f"{wanted[: ID_LENGTH - 1 - len(str(number))]}-{number}"
            used.add(stem.casefold())
            stems[part] = stem
        return cls(stems)

    def path(self, part: str) -> str | None:
        """The part's page; None for a part that has none in this site."""
        stem = self.stems.get(part)
        return None if stem is None else f"parts/{stem}.md"


def place(path: str, directory_urls: bool = False) -> str:
    """Where a page's HTML stands in the site; other files stand where their path says.

    >>> place("parts/RB-1042.md"), place("parts/RB-1042.md", directory_urls=True), place("index.md")
    ('parts/RB-1042.html', 'parts/RB-1042/index.html', 'index.html')
    """
    stem, suffix = posixpath.splitext(path)
    if suffix != ".md":
        return path
    if not directory_urls or posixpath.basename(stem) == "index":
        return f"{stem}.html"
    return f"{stem}/index.html"


def link(source: str, target: str, directory_urls: bool = False, anchor: str = "") -> str:
    """The way from one page to another page or file, as its href is written.

    >>> link("engines/K-07/index.md", "parts/RB-1042.md")
    '../../parts/RB-1042.html'
    >>> link("parts/RB-1042.md", "engines/K-07/index.md", directory_urls=True, anchor="map")
    '../../engines/K-07/#map'
    """
    start = posixpath.dirname(place(source, directory_urls))
    way = posixpath.relpath(place(target, directory_urls), start or ".")
    if directory_urls and target.endswith(".md"):
        way = way.removesuffix("index.html") or "./"
    return f"{way}#{anchor}" if anchor else way
