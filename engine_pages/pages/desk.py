"""What the pages of one site are made with, and the page that is being made.

In: the shop's story, the edition, photos and charts. Out: `Here`, which knows where the page stands and gives the way
to every other page, photo and part; what this site does not hold has no way, and stands there as plain words.
"""

from collections.abc import Iterator

from msgspec import Struct, field
from msgspec.structs import replace

from engine_pages.history.story import (
    ChangeStory,
    EngineStory,
    FitStory,
    KindStory,
    PartStory,
    PhotoStory,
    SheetRef,
    ShopStory,
)
from engine_pages.pages.addresses import (
    CREW_LISTS,
    ENGINE_LISTS,
    FRONT,
    METHODS,
    OVERVIEW,
    PartAddresses,
    change_path,
    engine_path,
    kind_path,
    link,
    list_path,
    sheet_path,
)
from engine_pages.pages.chart_drawer import ChartDrawer
from engine_pages.pages.photo_shelf import PhotoShelf, Shelved
from engine_pages.pages.pieces import Link
from engine_pages.pages.shown_units import length_in
from engine_pages.pages.words import dated, day_words, figure_words, small, unit_words
from engine_pages.records.source import Source

NO_SERIAL = "no serial"
CREW = "crew"  # the edition that holds everything
BUYER = "buyer"  # the edition that opens with the sale summary
TAG = "tag"  # the edition of the plate on an engine


class Desk(Struct, frozen=True):
    """One site's story, its engines and parts, and what draws and publishes for it. `paths` are all its pages."""

    story: ShopStory
    engines: tuple[EngineStory, ...]
    parts: tuple[PartStory, ...]
    addresses: PartAddresses
    paths: frozenset[str]
    edition: str
    shelf: PhotoShelf
    drawer: ChartDrawer
    directory_urls: bool = False
    by_id: dict[str, PartStory] = field(default_factory=dict)

    def page_of(self, engine: str) -> str:
        """The page of an engine: one that is shared is the first page of its own site, behind a buyer's summary."""
        if self.edition == CREW:
            return engine_path(engine)
        return OVERVIEW if self.edition == BUYER else FRONT

    @property
    def lists(self) -> tuple[str, ...]:
        """The pages of lists that each engine has here."""
        return (*ENGINE_LISTS, *CREW_LISTS) if self.edition == CREW else ENGINE_LISTS

    def changes(self) -> tuple[tuple[int, ChangeStory], ...]:
        """Every change of recipe with its number; none on the site of one engine, since a change is of several."""
        whole = len(self.engines) == len(self.story.engines)
        return tuple(enumerate(self.story.changes, start=1)) if whole else ()

    def kinds(self) -> tuple[KindStory, ...]:
        """Every kind of part; none but for the crew, and none on the site of one engine: a kind is of them all."""
        whole = len(self.engines) == len(self.story.engines)
        return tuple(self.story.kinds) if whole and self.edition == CREW else ()


def open_desk(
    story: ShopStory,
    engine: str | None,
    edition: str,
    shelf: PhotoShelf,
    drawer: ChartDrawer,
    directory_urls: bool = False,
) -> Desk:
    """The desk for all engines, or for one; KeyError for an engine that the story does not tell."""
    engines = tuple(one for one in story.engines if engine is None or one.id == engine)
    if engine is not None and not engines:
        raise KeyError(engine)
    parts = story.parts if engine is None else (*engines[0].parts, *engines[0].former_parts)
    addresses = PartAddresses.of(part.id for part in parts)
    by_id = {part.id: part for part in parts}
    desk = Desk(story, engines, parts, addresses, frozenset(), edition, shelf, drawer, directory_urls, by_id)
    changes = (change_path(change.fluid, number) for number, change in desk.changes())
    kinds = (kind_path(kind.family, kind.kind) for kind in desk.kinds())
    return replace(desk, paths=frozenset([*_paths(desk), *changes, *kinds]))


def _paths(desk: Desk) -> Iterator[str]:
    yield FRONT
    if desk.edition == TAG:  # one page, whose words lead nowhere
        return
    yield METHODS
    for engine in desk.engines:
        yield desk.page_of(engine.id)
        yield from (list_path(engine.id, name) for name in desk.lists)
        yield from (sheet_path(sheet.ref) for sheet in engine.sheets)
    yield from (f"parts/{stem}.md" for stem in desk.addresses.stems.values())


class Here(Struct, frozen=True):
    """The page that is being made: its path, and the way from it to others (None where there is nothing to go to)."""

    desk: Desk
    path: str

    def to(self, path: str | None, anchor: str = "") -> str | None:
        """The way to a page."""
        if path is None or path not in self.desk.paths:
            return None
        return link(self.path, path, self.desk.directory_urls, anchor)

    def engine(self, engine: str | None, anchor: str = "") -> str | None:
        if all(one.id != engine for one in self.desk.engines):
            return None
        return self.to(self.desk.page_of(engine), anchor) if engine is not None else None

    def listing(self, engine: str, name: str, anchor: str = "") -> str | None:
        return self.to(list_path(engine, name), anchor)

    def kind(self, part: PartStory) -> str | None:
        """The way to the page of a part's kind."""
        of = (one for one in self.desk.kinds() if one.kind == part.kind and part.id in one.parts)
        kind = next(of, None)
        return None if kind is None else self.to(kind_path(kind.family, kind.kind))

    def sheet(self, sheet: SheetRef | None) -> str | None:
        return None if sheet is None else self.to(sheet_path(sheet))

    def part(self, part: str | None, anchor: str = "") -> str | None:
        return None if part is None else self.to(self.desk.addresses.path(part), anchor)

    def part_link(self, part: str | None) -> Link:
        """A part by its serial, with the way to its page; one without a serial by the way alone."""
        name = self.part_name(part)
        return Link("its history" if name == NO_SERIAL and self.part(part) else name, self.part(part))

    def part_name(self, part: str | None) -> str:
        """The serial; a part without one is called so."""
        if part is None:
            return ""
        story = self.desk.by_id.get(part)
        return part if story is None or story.named else NO_SERIAL

    def part_called(self, part: str) -> str:
        """A part in a pair of two: its serial, else its kind."""
        story = self.desk.by_id.get(part)
        return part if story is None or story.named else small(story.kind_name)

    def shelved(self, engine: str, sheet: SheetRef | None, photo: PhotoStory) -> tuple[Shelved | None, str]:
        """A published photo, or why there is none."""
        found = self.desk.shelf.shelve(engine, sheet, photo)
        return (found, "") if isinstance(found, Shelved) else (None, found)

    def file(self, path: str) -> str:
        """The way to a file that is no page."""
        return link(self.path, path, self.desk.directory_urls)


def later_figure(fit: FitStory, first: str) -> str:
    """The clearance by the newest reading of each side, `at the least 0.105 mm`; empty where both were read last.

    `first` is the unit that the shop reads lengths in.
    """
    return f"{fit.later.bound} {later_amount(fit, first)}" if fit.later is not None else ""


def later_amount(fit: FitStory, first: str) -> str:
    """The figure of `later_figure` alone."""
    if fit.later is None:
        return ""
    unit, value, decimals = length_in(fit.dimension.unit, first, fit.later.value, fit.later.decimals)
    return unit_words(figure_words(value, decimals), unit)


def later_words(here: Here, fit: FitStory) -> str:
    """Of which days the two readings of a later figure are: one side was read alone."""
    if fit.later is None:
        return ""
    return " and ".join(f"{here.part_called(part)} as of {day_words(day)}" for part, day in fit.later.read)


def sheet_words(sheet: SheetRef) -> str:
    """A sheet by its number; one without, by its kind and its day as pages write days."""
    return dated(sheet.label)


def last_strip_of(engine: EngineStory) -> SheetRef | None:
    """The last teardown, in the order in which the story tells the sheets: of two on one day the second."""
    strips = [sheet.ref for sheet in engine.sheets if sheet.ref.kind == "teardown"]
    return strips[-1] if strips else engine.last_teardown


def source_words(source: Source | None, within: str = "") -> str:
    """Where a thing is written, short where the reader knows the folder or the file.

    >>> source_words(Source("engines/K-07/log.yml", 14, 3), "engines/K-07/")
    'log.yml:14'
    >>> source_words(Source("engines/K-07/log.yml", 14, 3), "engines/K-07/log.yml")
    'line 14'
    """
    if source is None or not source.line:  # a place that is not told has no line
        return ""
    if source.path == within:
        return f"line {source.line}"
    return source.line_text.removeprefix(within)
