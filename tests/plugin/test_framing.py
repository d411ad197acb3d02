"""A shared site set into its frame by two hands is the site set by one."""

from datetime import date
from pathlib import Path

import pytest
from engine_pages.plugins.framing import FEWEST_FOR_TWO, frame_site
from engine_pages.plugins.shared_theme import SharedTheme
from engine_pages.plugins.workers import two_hands

from engine_pages.history.hands import Hands, one_hand
from engine_pages.pages.cache import Cache
from engine_pages.pages.one_edition import site_for
from engine_pages.pages.site import Site
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

DEMO = Path(__file__).parents[2] / "records"


@pytest.fixture(scope="module")
def site() -> Site:
    """An owner's pages, without photos."""
    made = site_for(read_checked(Folder(DEMO), date(2026, 11, 25)), "K-07", "owner", Cache())
    assert len(made.pages) > FEWEST_FOR_TWO
    photos = {path for path in made.files if "/photos/" in path}
    return Site(made.pages, {path: made.files[path] for path in made.files.keys() - photos}, made.nav, (), made.name)


def framed(site: Site, to: Path, hands: Hands) -> dict[str, bytes]:
    to.mkdir()
    frame_site(site, to, site.name, SharedTheme("../../theme"), hands)
    assert [one.name for one in to.parent.iterdir()] == [to.name]  # nothing is left beside it
    return {str(path.relative_to(to)): path.read_bytes() for path in to.rglob("*") if path.is_file()}


def test_two_hands_set_every_byte_as_one_does(site: Site, tmp_path: Path) -> None:
    for name in "one", "two", "in turn":
        (tmp_path / name).mkdir()
    one = framed(site, tmp_path / "one" / "site", one_hand)
    assert framed(site, tmp_path / "two" / "site", two_hands) == one
    assert framed(site, tmp_path / "in turn" / "site", lambda tasks: [task() for task in tasks]) == one
    assert len([path for path in one if path.endswith(".html")]) >= len(site.pages)


def test_the_search_knows_the_pages_of_both_hands(site: Site, tmp_path: Path) -> None:
    files = framed(site, tmp_path / "site", two_hands)
    index = files["search/search_index.json"].decode("utf-8")
    assert all(page.path.removesuffix(".md") in index for page in site.pages)
