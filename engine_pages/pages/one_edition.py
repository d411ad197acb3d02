"""The pages of one engine in one edition, from a checked shop: what is published, printed and handed over alike."""

from collections.abc import Callable

from engine_pages.editions.edition import WITH_TRAIL, tell_edition, tell_whole
from engine_pages.editions.once_crew_only import sealed_of
from engine_pages.editions.table import Edition
from engine_pages.history.story import ShopStory
from engine_pages.history.tell import tell_shop
from engine_pages.pages.bare_shelf import BareShelf
from engine_pages.pages.bench_shelf import bench_pages, bench_path
from engine_pages.pages.cache import Cache
from engine_pages.pages.desk import CREW
from engine_pages.pages.handed_records import state_mark
from engine_pages.pages.site import Site, build_pages
from engine_pages.records.checks.checked import Checked
from engine_pages.review.attach import with_trails

BENCH = "bench"  # the edition that is a form and no history


def told_for(checked: Checked, engine: str, edition: Edition, revision: str = "HEAD") -> ShopStory:
    """An engine's story as an edition gives it; the crew's is the whole shop's.

    `revision`: the commit up to which what was once crew only is looked for. KeyError for an engine that is not there.
    """
    if edition == CREW:
        return with_trails(tell_shop(checked), checked, Cache())
    return tell_edition(checked, engine, edition, sealed=sealed_of(checked.repo, engine, revision), kept=Cache())


def site_for(checked: Checked, engine: str, edition: Edition, cache: Cache, revision: str = "HEAD") -> Site:
    """The site of one engine in one edition; of the bench edition its files alone."""
    read = checked.shop.tree.read
    if edition == CREW:
        return build_pages(told_for(checked, engine, edition, revision), engine, edition, read, cache)
    told = tell_whole(checked, engine, edition, sealed=sealed_of(checked.repo, engine, revision), kept=cache)
    if edition == BENCH:
        top = bench_path(engine).rpartition("/")[0] + "/"
        made: dict[str, Callable[[], bytes]] = dict(bench_pages(checked, told.story.engines))
        return Site((), {path.removeprefix(top): content for path, content in made.items()}, (), ())
    mark = state_mark(checked, told, engine, BareShelf(read, cache)) if edition in WITH_TRAIL else None
    return build_pages(told.story, engine, edition, read, cache, mark=mark)
