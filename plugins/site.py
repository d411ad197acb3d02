"""The MkDocs plugin: it hands the shop's pages to the site generator, and computes nothing.

In: the generator's hooks. Out: pages and files that exist only while a build runs; nothing is written under the shop's
folder. Everything but configuration is done by `engine_pages.pages`. It imports `mkdocs` alone, and runs unchanged
under the maintained fork that loads the same entry points.
"""

import logging
import re
from collections.abc import Callable, Iterable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from jinja2 import Environment
from markupsafe import escape
from mkdocs.config import config_options as option
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.pages import Page as GeneratorPage
from mkdocs.structure.toc import get_toc
from mkdocs.utils import write_file
from mkdocs.utils.templates import TemplateContext
from msgspec import Struct

from engine_pages.history.story import EngineStory, ShopStory
from engine_pages.history.tell import tell_shop
from engine_pages.pages.bench_shelf import bench_pages
from engine_pages.pages.cache import Cache
from engine_pages.pages.every_page import Page
from engine_pages.pages.kept_templates import KeptTemplates
from engine_pages.pages.photos import BadPhoto
from engine_pages.pages.render import BEGIN
from engine_pages.pages.site import ONE_SHEET, SCRIPT_PATHS, STYLE_PATHS, NavItem, Site, build_pages
from engine_pages.pages.tight import drawn_once, one_line, one_run
from engine_pages.records.checks.all import read_checked
from engine_pages.records.checks.checked import Checked
from engine_pages.records.git import repository_of
from engine_pages.records.source import Problem
from engine_pages.records.tree import Folder, NoFile
from engine_pages.review.attach import with_trails
from engine_pages.shipped import shipped

from .searched import searched
from .shared_theme import SharedTheme

if TYPE_CHECKING:
    from mkdocs.livereload import LiveReloadServer

log = logging.getLogger("mkdocs.plugins.engine-pages")

WATCHED = ("shop.yml", "families", "parts", "engines", "inbox")  # not .git, which git itself touches when asked
NEVER_PUBLISHED = ("sitemap.xml", "404.html")  # both name every page, and the second by its absolute address
UNESCAPED = ("site_name", "site_description", "site_author")  # by the theme's templates, in mkdocs.yml plain text
PAGES_SHARE = 0.75  # of the time of a build goes into pages and photos, the rest into the generator's frame

# What a private record wants in the head of every page: nothing is fetched from elsewhere, no search engine keeps it,
# no address is passed on. Script and style may be inline because the theme has some.
PRIVATE = """
    <meta http-equiv="Content-Security-Policy" content="default-src 'self'; script-src 'self' 'unsafe-inline'; \
style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; form-action 'none'">
    <meta name="robots" content="noindex, nofollow, noarchive">
    <meta name="referrer" content="no-referrer">"""
_HEAD = re.compile(r"<head\b[^>]*>", re.IGNORECASE)


class Portion(Struct, frozen=True):
    """What of a given site a build lays out: some pages (None: all), and whether photos and the search's index too."""

    pages: frozenset[str] | None
    everything_else: bool

    def holds(self, path: str) -> bool:
        """Whether a page is laid out."""
        return self.pages is None or path in self.pages


WHOLE: Final = Portion(None, everything_else=True)
NOTHING: Final = "nothing.html"  # the template of a page that another hand lays out
_IN_A_LINK: Final = re.compile(r'(<a [^>]*class="md-nav__link[^>]*>)<span class="md-ellipsis">([^<]*)</span>(?=</a>)')
_OF_SVG: Final = ' xmlns="http://www.w3.org/2000/svg"'  # which a drawing within HTML need not name


class EnginePagesConfig(Config):  # type: ignore[no-untyped-call]  # the generator's own __init_subclass__ has no types
    """records: the shop's folder, by default that of mkdocs.yml. engine: one alone. as_of: reckon as of this day."""

    records = option.Optional(option.Dir(exists=True))
    edition = option.Choice(("crew",), default="crew")  # others leave the crew, and are made by `publish` alone
    engine = option.Optional(option.Type(str))
    as_of = option.Optional(option.Type(date))


class EnginePagesPlugin(BasePlugin[EnginePagesConfig]):  # type: ignore[no-untyped-call]  # likewise
    """Puts a shop's engines, sheets and parts into a site."""

    given: Site | None = None  # a site that was made already, and only wants its frame
    portion: Portion = WHOLE
    shared: SharedTheme | None = None  # where the theme's files lie, if not in the site itself
    progress: Callable[[float, str], None] | None = None
    take: str | None = None  # where a server on this machine takes what bench pages hand over
    _site: Site | None = None
    _pages: dict[str, Page]
    _rendered: int = 0
    _served: bool = False  # a first build stands, and somebody reads it
    _stale: bool = False  # the pages are those of an earlier build

    def on_startup(self, **_: Any) -> None:
        """Begin anew. That there is this lets the generator keep the plugin, and its last good site, for rebuilds."""
        self._served, self._site = False, None

    def on_serve(self, server: "LiveReloadServer", /, **_: Any) -> "LiveReloadServer":
        """From here on a rebuild that fails would leave the reader with nothing."""
        self._served = True
        return server

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Watch the records, load our styles before the shop's own, put our frame behind the shop's own templates."""
        for name in UNESCAPED:
            if config[name] is not None:
                config[name] = escape(config[name])  # marked as escaped, for the templates that do it themselves
        config.watch.extend(str(path) for name in WATCHED if (path := self._records(config) / name).exists())
        frames = ["frame"] if self.shared is None else ["slim", "frame"]
        place = 1 if config.theme.custom_dir else 0
        config.theme.dirs[place:place] = [str(shipped("site_template") / frame) for frame in frames]
        config.extra_css[:0] = STYLE_PATHS if self.shared is None else [ONE_SHEET]
        config.extra_javascript[:0] = SCRIPT_PATHS
        config.theme.static_templates.difference_update(NEVER_PUBLISHED)
        return config

    def on_files(self, files: Files, /, *, config: MkDocsConfig) -> Files:
        """Make every page from the records, beside the shop's own notes."""
        notes = [file for file in files.documentation_pages() if file.inclusion is InclusionLevel.INCLUDED]
        self._site = site = self._made_or_last(config)
        self._pages = {page.path: page for page in site.pages}
        self._rendered = 0
        for name in NEVER_PUBLISHED:
            if (unwanted := files.get_file_from_path(name)) is not None:
                files.remove(unwanted)
        for page in site.pages:
            _add(files, _page_file(config, page))
        for path in (*(STYLE_PATHS if self.shared is None else ()), *SCRIPT_PATHS):
            _add(files, File.generated(config, path, content=site.files[path]()))
        if self.shared is not None:
            self.shared.take_from(files)
        own: list[Any] = config.nav if config.nav is not None else [file.src_uri for file in notes]
        config.nav = [*_nav(site.nav), *([{"Notes": own}] if own else [])]
        return files

    def on_env(self, env: Environment, /, **_: Any) -> Environment:
        """Keep the theme's templates as they are compiled, and lead pages to the theme where it is shared."""
        env.bytecode_cache = KeptTemplates(Cache())
        return env if self.shared is None else self.shared.lead_there(env)

    def on_page_markdown(self, markdown: str, /, *, page: GeneratorPage, **_: Any) -> str:
        """Name our pages in their head; the title stays what the navigation says."""
        if (ours := self._pages.get(page.file.src_uri)) is not None:
            page.meta["title"] = str(escape(ours.title))
            if not self.portion.holds(ours.path):
                page.meta["template"] = NOTHING
        return markdown

    def on_page_content(self, html: str, /, *, page: GeneratorPage, **_: Any) -> str:
        """Put what the search reads in place of the placeholder, with headings for contents and links from notes."""
        ours = self._pages.get(page.file.src_uri)
        if ours is None:
            return html
        self._rendered += 1
        self._report(PAGES_SHARE + (1 - PAGES_SHARE) * self._rendered / len(self._pages), "setting pages")
        page.toc = get_toc(_tokens(ours))
        page.present_anchor_ids = {id for _, id, _ in ours.headings}
        return searched(ours.html) if self.portion.everything_else else ""

    @event_priority(-100)  # when the search has read the page
    def on_page_context(self, context: TemplateContext, /, *, page: GeneratorPage, **_: Any) -> TemplateContext:
        """Put our HTML whole into the page."""
        ours = self._pages.get(page.file.src_uri)
        if ours is not None:
            page.content = ours.html
        return context

    def on_post_page(self, output: str, /, *, page: GeneratorPage, **_: Any) -> str:
        """Keep the page private, whatever template it came from: a shop may have its own."""
        if not self.portion.holds(page.file.src_uri):
            return output
        return _private(_tight(output) if self.shared is not None else output, page.file.src_uri)

    def on_post_template(self, output_content: str, /, *, template_name: str, **_: Any) -> str:
        """Likewise a page that is a template alone."""
        return _private(output_content, template_name) if template_name.endswith(".html") else output_content

    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Write the photos straight into the site: hundreds of them would fill the memory as files of the generator."""
        assert self._site is not None
        for path, made in self._site.files.items() if self.portion.everything_else else ():
            if path not in (*STYLE_PATHS, *SCRIPT_PATHS):
                try:
                    content = made()
                except (NoFile, BadPhoto) as missing:
                    if not self._stale:
                        raise
                    log.info("engine-pages: %s; it is missing from the pages too", missing)
                else:
                    write_file(content, str(Path(config.site_dir) / path))

    def _records(self, config: MkDocsConfig) -> Path:
        return Path(self.config.records or Path(config.config_file_path).parent)

    def _made_or_last(self, config: MkDocsConfig) -> Site:
        """The site that was given, else that of the records, or the last good one where these are wrong."""
        self._stale = False
        if self.given is not None:
            return self.given
        try:
            return self._made(config)
        except PluginError as wrong:
            if not self._served or self._site is None:
                raise
            self._stale = True
            log.error("%s\nThe pages stay as they were", wrong)
            return self._site

    def _made(self, config: MkDocsConfig) -> Site:
        """The site of the records as they lie there. Errors stop the build, all of them named."""
        tree = Folder(self._records(config))
        self._report(0.02, "reading records")
        checked = read_checked(tree, datetime.now().date(), repository_of(tree.root))
        _stop_on_errors(checked.problems)
        story = self._told(checked)
        self._report(0.1, "pages")
        try:
            site = build_pages(
                story,
                self.config.engine,
                self.config.edition,
                tree.read,
                Cache(),
                directory_urls=config.use_directory_urls,
                progress=self._page_made(story),
                bench=bench_pages(checked, self._published(story), self.take),
            )
        except KeyError:
            known = ", ".join(one.id for one in story.engines) or "none"
            raise PluginError(f"engine-pages: there is no engine {self.config.engine}; known: {known}") from None
        doubts = [*(one for one in story.problems if one.level == "doubt"), *site.problems]
        log.info("engine-pages: %d pages, %d doubts in the records", len(site.pages), len(doubts))
        return site

    def _told(self, checked: Checked) -> ShopStory:
        day = self.config.as_of
        story = tell_shop(checked, None if day is None else date(day.year, day.month, day.day))
        story = with_trails(story, checked, Cache())
        _stop_on_errors(story.problems)
        return story

    def _published(self, story: ShopStory) -> Iterable[EngineStory]:
        return (one for one in story.engines if self.config.engine in (None, one.id))

    def _page_made(self, story: ShopStory) -> Callable[[str], None]:
        """A page's share of the progress; how many there will be is known well enough from the story."""
        sheets = sum(len(engine.sheets) for engine in story.engines)
        expected = 1 + 7 * len(story.engines) + sheets + len(story.parts)
        made = 0

        def count(path: str) -> None:
            nonlocal made
            made += 1
            self._report(0.1 + (PAGES_SHARE - 0.1) * min(made / expected, 1.0), path.rsplit("/", 1)[-1])

        return count

    def _report(self, share: float, what: str) -> None:
        if self.progress is not None:
            self.progress(share, what)


def _stop_on_errors(problems: Iterable[Problem]) -> None:
    errors = [str(problem) for problem in problems if problem.level == "error"]
    if errors:
        count = f"{len(errors)} error{'s' if len(errors) > 1 else ''}"
        raise PluginError("\n".join([*errors, f"{count} in the records; nothing was published"]))


def _tight(html: str) -> str:
    """A shared page without empty lines and indents, four fifths of what its navigation weighs.

    Around the article stands nothing but the theme's frame, where no words run on from tag to tag: there an end of line
    beside a tag goes too, and what would cut a long name in a link of the navigation short, where it can take a second
    line. Within the article our own HTML is tight already.
    """
    before, article, rest = html.replace(_OF_SVG, "").partition("<article")
    own, end, after = rest.partition("</article>")
    head, begin, ours = own.partition(BEGIN)
    ours, close, foot = ours.rpartition("</div>")
    frame = drawn_once(_IN_A_LINK.sub(r"\1\2", one_run(before)))
    return "".join((frame, article, one_line(head), begin, ours, close, one_line(foot), end, one_run(after)))


def _page_file(config: MkDocsConfig, page: Page) -> File:
    """A placeholder that the generator lays out; its HTML takes the place of `on_page_content`."""
    inclusion = InclusionLevel.INCLUDED if page.in_nav else InclusionLevel.NOT_IN_NAV
    return File.generated(config, page.path, content="", inclusion=inclusion)


def _add(files: Files, file: File) -> None:
    """Add a file of ours; a note of the same name would vanish behind it, so that it stops the build instead."""
    there = next((other for other in files if other.dest_uri == file.dest_uri), None)
    if there is not None:
        raise PluginError(f"engine-pages: the note {there.src_uri} has the address of a page made from the records")
    files.append(file)


def _private(html: str, name: str) -> str:
    """The page with PRIVATE at the head of its head. Its policy counts for what stands behind it."""
    head = _HEAD.search(html)
    if head is None:
        raise PluginError(
            f"engine-pages: the template of {name} makes a page without <head>, which cannot be kept private"
        )
    return html[: head.end()] + PRIVATE + html[head.end() :]


def _nav(items: Iterable[NavItem]) -> list[Any]:
    """The navigation as the generator reads it. Its templates do not escape a title."""
    return [{str(escape(title)): inside if isinstance(inside, str) else _nav(inside)} for title, inside in items]


def _tokens(page: Page) -> list[Any]:
    """Headings as the generator's contents: the page's own first, its sections under it."""
    top, *sections = [
        {"level": level, "id": id, "name": str(escape(name)), "children": []} for level, id, name in page.headings
    ]
    return [{**top, "children": sections}]
