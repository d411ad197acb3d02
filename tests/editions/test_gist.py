"""An engine told from its own records and what the others add to the kinds is the engine told from the whole shop."""

import json
import shutil
from datetime import date
from pathlib import Path

import pytest
from bench.handed import git
from speed.shops import TODAY, write_shop

from engine_pages.editions.adds import adds_of, from_bytes, to_bytes
from engine_pages.editions.edition import tell_whole
from engine_pages.editions.gist import gist_of
from engine_pages.editions.table import EDITIONS, Edition
from engine_pages.editions.whole_shop import WholeShop, small_part
from engine_pages.history.rest import NO_REST, Rest
from engine_pages.pages.cache import Cache
from engine_pages.pages.site import build_pages
from engine_pages.records.checks.all import check_shop, read_checked
from engine_pages.records.checks.checked import NOTHING_BEYOND, Beyond, Checked
from engine_pages.records.git import repository_of
from engine_pages.records.kin import Kin, kin_of, mentions_of
from engine_pages.records.load import Shop, load_shop
from engine_pages.records.tree import Commit

DEMO = Path(__file__).parents[2] / "records"
SHARED = EDITIONS[1:-1]


def group_of(shop: Shop, kin: Kin, day: date, beyond: Beyond = NOTHING_BEYOND) -> Checked:
    """A group's own records, read by themselves."""
    assert isinstance(shop.tree, Commit)
    folders = tuple(f"engines/{engine}/" for engine in kin.engines)
    wanted = [
        path for path in shop.tree.paths()
        if path == "shop.yml" or path.startswith(("families/", *folders))
        or (path.startswith("parts/") and path[6:-4] in kin.stems)
    ]  # fmt: skip
    return check_shop(load_shop(shop.tree.part(wanted, folders)), day, repository_of(shop.tree.root), beyond)


def pages(checked: Checked, engine: str, edition: Edition, rest: Rest = NO_REST) -> dict[str, str]:
    story = tell_whole(checked, engine, edition, elsewhere=rest).story
    site = build_pages(story, engine, edition, checked.shop.tree.read, Cache())
    return {page.path: page.html for page in site.pages}


def assert_alike(folder: Path, day: date, engines: tuple[str, ...], editions: tuple[Edition, ...]) -> None:
    whole = read_checked(Commit(folder, "HEAD"), day, repository_of(folder))
    mentions = {name: mentions_of(records) for name, records in whole.shop.engines.items()}
    stems = [path[6:-4] for path in whole.shop.tree.paths() if path.startswith("parts/")]
    kin = kin_of(mentions, stems)
    assert len(kin) > 1
    gists = {one.name: json.loads(json.dumps(gist_of(group_of(whole.shop, one, day)))) for one in kin}
    adds = {name: from_bytes(to_bytes(adds_of(gist))) for name, gist in gists.items()}
    shop = WholeShop({name: small_part(gist, adds[name]) for name, gist in gists.items()}, adds.__getitem__)
    for engine in engines:
        one = next(one for one in kin if engine in one.engines)
        group = group_of(whole.shop, one, day, shop.beyond(one.name))
        for edition in editions:
            told = pages(group, engine, edition, shop.rest(one.name))
            assert told == pages(whole, engine, edition), (engine, edition)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve engines, of which two share a part."""
    return write_shop(tmp_path_factory.mktemp("drawn") / "shop", 12)


def test_engines_that_share_parts_and_such_as_do_not(drawn: Path) -> None:
    assert_alike(drawn, TODAY, ("E-0001", "E-0009"), ("owner",))


def test_pools_of_which_only_some_parts_speak(drawn: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("engine_pages.history.pools.MOST_FITTED", 12)
    assert_alike(drawn, TODAY, ("E-0009",), ("owner",))


def test_every_engine_of_the_demo_in_every_edition(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("site", "README.md"))
    git(folder, "init", "-q")
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "the demo")
    assert_alike(folder, date(2026, 11, 25), ("K-05", "K-07", "Q-12"), SHARED)
