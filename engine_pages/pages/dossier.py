"""An engine's whole history on one plain page made for paper: what a site shows page by page, in the order of a book.

In: the pages of a site as they were rendered. Out: one HTML document, whose links stay inside it.
"""

import posixpath
import re
from collections.abc import Mapping
from typing import Final

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.editions.fingerprint import StateMark
from engine_pages.history.status import part_said
from engine_pages.history.story import EngineStory, PartStory, SheetRef
from engine_pages.pages.addresses import ENGINE_LISTS, FRONT, list_path, place, sheet_path
from engine_pages.pages.desk import BUYER, CREW, Desk, Here, sheet_words
from engine_pages.pages.engine_answer import engine_answer
from engine_pages.pages.heads import print_margin
from engine_pages.pages.list_pages import TITLES
from engine_pages.pages.methods_words import CAUTIONS
from engine_pages.pages.photo_figures import photo_figure
from engine_pages.pages.pieces import Column, Entry, Heading, PhotoFigure, Table
from engine_pages.pages.render import filled
from engine_pages.pages.sale_page import TITLE as SALE_TITLE
from engine_pages.pages.tight import one_style
from engine_pages.pages.wear_words import exposure_words
from engine_pages.pages.words import capital, day_words, small
from engine_pages.shipped import shipped

DOSSIER: Final = "dossier.html"
STANDS: Final = "Where it stands"
STYLE_SHEETS: Final = ("colours.css", "page.css", "marks.css", "print.css", "book.css")
_HREF: Final = re.compile(r'(<a\b[^>]*?)\shref="([^"]*)"')
LEADS_OUT: Final = re.compile(r'(<a\b[^>]*?)\shref="[^#"][^"]*"')  # a link to a file beside the dossier
_FILE: Final = re.compile(r'(\s(?:src|href)=")([^"#:]+\.(?:jpg|json))"')
_ID: Final = re.compile(r'(\sid=")([^"]+)"')
_NAMED: Final = re.compile(r'(\s(?:aria-labelledby|aria-describedby|for)=")([^"]+)"')
_URL: Final = re.compile(r"url\(#([^)]+)\)")
_LISTS: Final = tuple(f"/{name}.md" for name in ENGINE_LISTS)
_STYLE: Final = re.compile(r"<style>.*?</style>", re.DOTALL)
_TITLE_BLOCK: Final = re.compile(r'<header class="title-block">.*?</header>', re.DOTALL)
_FOOT: Final = re.compile(r'<footer class="foot">.*?</footer>', re.DOTALL)


class Chapter(Struct, frozen=True):
    """One page of the site as it stands in the book; `name` is its anchor, `title` its line in the contents.

    It begins a sheet of paper of its own where it `opens`, and follows the one before where not.
    """

    name: str
    title: str
    html: Markup
    opens: bool


class Dossier(Struct, frozen=True):
    """The book: title, the engine's picture, what there is to say first, contents, chapters, parts' lives, cautions.

    `back` is the way to the site's own page of the engine.
    """

    title: str
    back: str | None
    shop: str
    picture: PhotoFigure | None
    claim: str
    rest: str
    contents: tuple[tuple[str, str], ...]
    first: Chapter
    parts: Table
    chapters: tuple[Chapter, ...]
    cautions: tuple[str, ...]
    margin: str
    state: str


def dossier_path(desk: Desk, engine: str) -> str:
    """Where an engine's dossier lies in its site: beside the engine's page."""
    return posixpath.join(posixpath.dirname(desk.page_of(engine)), DOSSIER)


def dossier(desk: Desk, engine: EngineStory, rendered: Mapping[str, str], mark: StateMark | None) -> Dossier:
    """The dossier of an engine. `rendered` holds the HTML of the site's pages by their paths."""
    pages = [(FRONT, SALE_TITLE)] if desk.edition == BUYER else []
    pages.append((desk.page_of(engine.id), STANDS))
    sheets = [one.ref for one in reversed(engine.sheets)]
    pages += [(sheet_path(one), _sheet_title(one)) for one in sheets]
    pages += [(list_path(engine.id, name), TITLES[name]) for name in ENGINE_LISTS]
    names = {path: f"c{number}" for number, (path, _) in enumerate(pages)}
    binder = _Binder(dossier_path(desk, engine.id), names, desk.directory_urls)
    opening = {pages[0][0], *(sheet_path(one) for one in sheets[:1]), list_path(engine.id, ENGINE_LISTS[0])}
    first, *others = [
        Chapter(names[path], title, binder.bound(path, rendered[path]), path in opening) for path, title in pages
    ]
    claim, rest = engine_answer(engine)
    here = Here(desk, binder.path)
    contents = [(first.name, first.title), ("parts", "Parts and their lives")]
    contents += [(chapter.name, chapter.title) for chapter in others] + [("cautions", "What this is not")]
    return Dossier(
        title=engine.id,
        back=here.engine(engine.id),
        shop=desk.story.name,
        picture=_picture(here, engine),
        claim=claim,
        rest=rest,
        contents=tuple(contents),
        first=first,
        parts=_parts(engine),
        chapters=tuple(others),
        cautions=CAUTIONS,
        margin=print_margin(engine.id, engine.as_of, engine.commit)
        + (", crew edition" if desk.edition == CREW else ""),
        state=_state(mark),
    )


def _sheet_title(sheet: SheetRef) -> str:
    """A sheet's number, kind and day: `T-0412, teardown, 17 Oct 2026`; one without a number is named by the others."""
    name = capital(sheet_words(sheet))
    unnumbered = sheet.label == f"{sheet.kind.capitalize()} {sheet.name}"
    return name if unnumbered else f"{name}, {sheet.kind}, {day_words(sheet.day)}"


def _state(mark: StateMark | None) -> str:
    """What names this state of the records, to be held against what somebody reads out; nothing for the crew."""
    return f"Tree {mark.tree}. Fingerprint of records and photos: {mark.fingerprint}." if mark is not None else ""


def _picture(here: Here, engine: EngineStory) -> PhotoFigure | None:
    """The engine's picture, as large as it is published."""
    if engine.picture is None:
        return None
    figure = photo_figure(here, engine.id, None, engine.picture, left="", right="")
    return replace(figure, small=figure.large)


def dossier_html(book: Dossier) -> str:
    """The dossier as a file: its styles stand in it, its photos beside it."""
    folder = shipped("site_template") / "styles"
    styles = one_style((folder / name).read_bytes() for name in STYLE_SHEETS)
    return filled("dossier.html.jinja", book, styles=Markup(styles))


def on_paper(html: str, paper: str) -> str:
    """A dossier for one paper, A4 or Letter. Links to photos are left out: a sheet leads to no file beside it."""
    return LEADS_OUT.sub(r"\1", html).replace("</style>", f"@page {{ size: {paper} }}\n</style>", 1)


class _Binder(Struct, frozen=True):
    """Binds pages into one: what they name keeps apart, links between them become anchors, others words."""

    path: str
    names: Mapping[str, str]
    directory_urls: bool

    def bound(self, path: str, html: str) -> Markup:
        """One page's HTML, as it stands in the book."""
        name, at = self.names[path], posixpath.dirname(place(path, self.directory_urls))
        anchors = {place(page, self.directory_urls): anchor for page, anchor in self.names.items()}
        html = _FOOT.sub("", _STYLE.sub("", html))
        if path.endswith(_LISTS):
            html = _TITLE_BLOCK.sub("", html)  # the book's title has said it

        def way(found: re.Match[str]) -> str:
            target, _, anchor = found[2].partition("#")
            page = posixpath.normpath(posixpath.join(at, target)) if target else place(path, self.directory_urls)
            if page in anchors:
                return f'{found[1]} href="#{anchors[page]}{f"-{anchor}" if anchor else ""}"'
            return found[0] if page.endswith((".jpg", ".json")) else found[1]

        def file(found: re.Match[str]) -> str:
            whole = posixpath.normpath(posixpath.join(at, found[2]))
            return f'{found[1]}{posixpath.relpath(whole, posixpath.dirname(self.path) or ".")}"'

        html = _FILE.sub(file, _HREF.sub(way, html))
        html = _ID.sub(lambda found: f'{found[1]}{name}-{found[2]}"', html)
        html = _NAMED.sub(lambda found: f'{found[1]}{" ".join(f"{name}-{one}" for one in found[2].split())}"', html)
        return Markup(_URL.sub(lambda found: f"url(#{name}-{found[1]})", html))


def _parts(engine: EngineStory) -> Table:
    """Every part that is in the engine, with its lives, then those that were."""
    columns = (
        Column("part"), Column("since new", "num"), Column("since fitted", "num"), Column("life before"),
        Column("state"), Column("decided"),
    )  # fmt: skip
    rows = [_part_row(engine, part) for part in (*engine.parts, *engine.former_parts)]
    right = f"{len(engine.parts)} in it, {len(engine.former_parts)} that were"
    heading = Heading("parts", "Parts and their lives", right)
    return Table(heading, columns, tuple(rows), lean=False)


def _part_row(engine: EngineStory, part: PartStory) -> tuple[Entry, ...]:
    unit = engine.exposure_unit
    name = part.id if part.named else part.slot_name
    batch = f"batch {part.batch}" if part.batch else ""
    under = [words for words in (part.kind_name, part.slot_name if part.named else "", batch) if words]
    return (
        Entry(name, tuple(words for words in (", ".join(under), part.note or "") if words), strong=True),
        Entry(exposure_words(part.since_new, unit)),
        Entry(exposure_words(part.since_fitted, unit)) if part.since_fitted is not None else _out(engine, part),
        Entry("taken as new" if part.taken_as_new else part.prior),
        Entry(small(part_said(part))),
        Entry(", ".join(words for words in (part.decision, part.because) if words)),
    )


def _out(engine: EngineStory, part: PartStory) -> Entry:
    """That a part is in it no more, and since when: parts without a serial are told apart by the day alone."""
    ended = [stay.ended for stay in part.stays if stay.engine == engine.id and stay.ended is not None]
    return Entry("out", (day_words(ended[-1]),) if ended else ())
