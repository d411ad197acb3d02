"""The pages of one engine in one edition, from a checked shop: what is published, printed and handed over alike."""

from collections.abc import Callable

from msgspec import Struct

from engine_pages.editions.edition import WITH_TRAIL, ToldEdition, tell_edition, tell_whole
from engine_pages.editions.fingerprint import StateMark
from engine_pages.editions.sealed import Sealed
from engine_pages.editions.table import Edition
from engine_pages.history.hands import Hands, one_hand
from engine_pages.history.kept_fits import Store
from engine_pages.history.rest import Rest
from engine_pages.history.story import ShopStory
from engine_pages.history.tell import tell_shop
from engine_pages.pages.bare_shelf import BareShelf
from engine_pages.pages.bench_shelf import Numbers, bench_pages, bench_path
from engine_pages.pages.cache import Cache
from engine_pages.pages.desk import CREW
from engine_pages.pages.handed_records import handed_records, state_mark
from engine_pages.pages.kept_past import sealed_for
from engine_pages.pages.site import Site, build_pages
from engine_pages.records.checks.checked import Checked
from engine_pages.review.attach import with_trails

BENCH = "bench"  # the edition that is a form and no history


def told_for(checked: Checked, engine: str, edition: Edition, revision: str = "HEAD") -> ShopStory:
    """An engine's story as an edition gives it; the crew's is the whole shop's.

    `revision`: the commit up to which what was once crew only is looked for. KeyError for an engine that is not there.
    """
    if edition == CREW:
        return told_for_crew(checked)
    cache = Cache()
    return tell_edition(checked, engine, edition, sealed=sealed_for(checked.repo, engine, revision, cache), kept=cache)


def told_for_crew(checked: Checked) -> ShopStory:
    """The whole shop's story with every engine's trail and review. records.git.GitFailed."""
    return with_trails(tell_shop(checked), checked, Cache())


def site_for(checked: Checked, engine: str, edition: Edition, cache: Cache, revision: str = "HEAD") -> Site:
    """The site of one engine in one edition; of the bench edition its files alone."""
    if edition == CREW:
        told = told_for(checked, engine, edition, revision)
        return build_pages(told, engine, edition, checked.shop.tree.read, cache)
    whole = tell_whole(checked, engine, edition, sealed=sealed_for(checked.repo, engine, revision, cache), kept=cache)
    return _site(checked, whole, engine, edition, cache, None)


class Around(Struct, frozen=True):
    """What an engine's site takes of the rest of the shop, where its own group's records are all that was read.

    `sealed`: what was for the crew in any version; `rest`: what others add to the kinds; `numbers` of all sheets;
    `store` keeps fits; `hands` do the telling and make the pages.
    """

    sealed: Sealed
    rest: Rest
    numbers: Numbers
    store: Store
    hands: Hands = one_hand


def site_of(
    checked: Checked, engine: str, edition: Edition, cache: Cache, around: Around
) -> tuple[Site, frozenset[str]]:
    """As `site_for`, from a group's own records; with it the words that were looked up among the shop's names."""
    told = tell_whole(checked, engine, edition, None, around.sealed, cache, around.rest, around.store, around.hands)
    site = _site(checked, told, engine, edition, cache, around.numbers, around.hands)
    return site, frozenset(told.forbidden.asked)


def _site(
    checked: Checked,
    told: ToldEdition,
    engine: str,
    edition: Edition,
    cache: Cache,
    numbers: Numbers | None,
    hands: Hands = one_hand,
) -> Site:
    if edition == BENCH:
        top = bench_path(engine).rpartition("/")[0] + "/"
        made: dict[str, Callable[[], bytes]] = dict(bench_pages(checked, told.story.engines, numbers=numbers))
        return Site((), {path.removeprefix(top): content for path, content in made.items()}, (), ())
    read = checked.shop.tree.read

    def mark() -> StateMark | None:
        has_records = edition in WITH_TRAIL
        return (
            state_mark(checked, engine, handed_records(told, engine, BareShelf(read, cache))) if has_records else None
        )

    return build_pages(told.story, engine, edition, read, cache, mark=mark, hands=hands)
