"""The public tree holds every live link and nothing else, and is whole at any time."""

import os
import re
import shutil
from collections.abc import Callable, Iterator
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from bench.handed import git
from engine_pages.plugins.publish import publish
from mkdocs.exceptions import ConfigurationError

from engine_pages.editions.links import LinkError
from engine_pages.editions.registry import end_link, make_link, renew_link, sell
from engine_pages.placing.place import PlaceError, beside

from .canaries import OWN, SHEET, word, write_shop

TODAY = date(2026, 11, 25)
NAME = OWN.split("/")[1]


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with an owner's link and a plate's, published beside it."""
    top = tmp_path_factory.mktemp("whole")
    shop = write_shop(top / "shop")
    make_link(shop, NAME, "owner", TODAY, None, None)
    make_link(shop, NAME, "tag", TODAY, date(2026, 12, 31), None)
    publish(shop, top / "tree", TODAY)
    return top


@pytest.fixture
def shop(whole: Path, tmp_path: Path) -> Path:
    shutil.copytree(whole, tmp_path / "copy", symlinks=True)
    return tmp_path / "copy/shop"


@pytest.fixture
def tree(shop: Path) -> Path:
    return shop.parent / "tree"


def tokens(tree: Path) -> list[str]:
    return sorted(path.name for path in (tree / "s").iterdir() if path.is_dir())


def owner_of(tree: Path) -> str:
    return next(token for token in tokens(tree) if (tree / "s" / token / "methods.html").exists())


def state(tree: Path) -> dict[str, tuple[int, bytes]]:
    return {
        str(path.relative_to(tree)): (path.stat().st_mtime_ns, path.read_bytes())
        for path in tree.rglob("*")
        if path.is_file()
    }


def test_every_shared_page_says_whose_shop_it_is(tree: Path) -> None:
    for token in tokens(tree):
        for page in (tree / "s" / token).rglob("*.html"):
            title = re.search(r"<title>(.*?)</title>", page.read_text(encoding="utf-8"))
            assert title is not None
            assert page.name == "dossier.html" or f"{NAME}, {word('ShopFile.name')}" in title[1], page


def test_without_changes_no_file_changes_its_bytes_or_its_time(shop: Path, tree: Path) -> None:
    before = state(tree)
    done = publish(shop, tree, TODAY)
    assert state(tree) == before
    assert (len(done.built), len(done.untouched)) == (0, 2)


def test_what_does_not_change_of_a_changed_site_keeps_its_time(shop: Path, tree: Path) -> None:
    before, owner = state(tree), owner_of(tree)
    log = shop / OWN / "log.yml"
    log.write_text(log.read_text() + "- {date: 2026-06-10, kind: run, what: race, hours: 1.0}\n")
    git(shop, "commit", "-qam", "a race")
    done = publish(shop, tree, TODAY)
    after = state(tree)
    assert {link.edition: why for link, why in done.built} == {"owner": "changed", "tag": "changed"}
    assert f"s/{owner}/engines/{NAME}/limits.html" in after
    assert all(after[path] == before[path] for path in after if path in before and after[path][1] == before[path][1])


def test_a_link_that_was_withdrawn_is_gone(shop: Path, tree: Path) -> None:
    owner = owner_of(tree)
    end_link(shop, owner[:8], TODAY)
    done = publish(shop, tree, TODAY)
    assert owner not in tokens(tree)
    assert done.removed == 1
    assert [state for _, state in done.ended] == ["withdrawn on 2026-11-25"]


def test_a_renewed_link_is_renamed_and_its_old_address_is_dead(shop: Path, tree: Path) -> None:
    owner = owner_of(tree)
    before = state(tree / "s" / owner)
    new = renew_link(shop, owner, TODAY).token
    done = publish(shop, tree, TODAY)
    assert (len(done.built), len(done.renamed)) == (0, 1)
    assert owner not in tokens(tree)
    assert state(tree / "s" / new) == before


def test_a_link_that_was_withdrawn_or_has_ended_gets_no_new_address(shop: Path) -> None:
    register = shop / "shares.yml"
    ends = make_link(shop, NAME, "buyer", TODAY, TODAY, None).token
    gone = end_link(shop, make_link(shop, NAME, "buyer", TODAY, None, None).token, TODAY).token
    before = register.read_text()
    with pytest.raises(LinkError, match="ended on 2026-11-25; make a new link"):
        renew_link(shop, ends, date(2026, 11, 26))
    with pytest.raises(LinkError, match="withdrawn on 2026-11-25; make a new link"):
        renew_link(shop, gone, TODAY)
    assert register.read_text() == before


def test_after_its_last_day_a_link_is_left_out_and_a_clock_set_back_opens_it_for_nobody(shop: Path, tree: Path) -> None:
    done = publish(shop, tree, date(2027, 1, 1))
    assert len(tokens(tree)) == 1
    assert [state for _, state in done.ended] == ["ended on 2026-12-31"]
    env = {"GIT_COMMITTER_DATE": "2027-01-02T10:00:00+0000"}
    os.environ.update(env)
    try:
        git(shop, "commit", "-q", "--allow-empty", "-m", "later")
        (shop / OWN / "plan.yml").write_text("events: []\n")
        git(shop, "commit", "-qam", "later")
    finally:
        os.environ.pop("GIT_COMMITTER_DATE")
    publish(shop, tree, date(2026, 12, 1))  # the clock says December, the last commit January
    assert len(tokens(tree)) == 1


def test_one_commit_from_a_clock_set_ahead_takes_no_link_away_and_is_named(
    shop: Path, tree: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_COMMITTER_DATE", "2036-01-02T10:00:00+0000")
    (shop / OWN / "plan.yml").write_text("events: []\n")
    git(shop, "commit", "-qam", "ahead")
    done = publish(shop, tree, TODAY)
    assert len(tokens(tree)) == 2
    assert done.reckoned.ahead == (done.commit, date(2036, 1, 2))


def test_after_a_sale_the_old_owner_sees_nothing_and_the_new_one_everything(shop: Path, tree: Path) -> None:
    owner = owner_of(tree)
    sale = sell(shop, NAME, "somebody", TODAY)
    assert len(sale.withdrawn) == 1
    publish(shop, tree, TODAY)
    assert owner not in tokens(tree)
    assert sale.link.token in tokens(tree)
    assert git(shop, "log", "-1", "--format=%s").strip() == f"{NAME} is sold: its links are handed on"


def test_what_is_not_committed_is_not_published_and_is_said(shop: Path, tree: Path) -> None:
    before = state(tree)
    sheet = shop / SHEET
    sheet.write_text(sheet.read_text().replace("60.071", "60.099"))
    done = publish(shop, tree, TODAY)
    assert done.uncommitted == (SHEET,)
    assert state(tree) == before


def test_errors_in_the_records_leave_the_tree_as_it_is(shop: Path, tree: Path) -> None:
    before = state(tree)
    (shop / SHEET).write_text("engine: [")
    git(shop, "commit", "-qam", "broken")
    with pytest.raises(ConfigurationError, match="nothing was published"):
        publish(shop, tree, TODAY)
    assert state(tree) == before


def test_a_second_publishing_at_once_is_refused_with_words(shop: Path, tree: Path) -> None:
    with beside(tree.resolve()), pytest.raises(PlaceError, match=r"another build to .* is going on"):
        publish(shop, tree, TODAY)


@pytest.mark.parametrize("place", [".", "engines", "site"])
def test_the_public_tree_never_goes_among_the_records(shop: Path, place: str) -> None:
    with pytest.raises(PlaceError, match="among the records"):
        publish(shop, shop / place, TODAY)


def test_a_folder_with_something_else_in_it_is_left_alone(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/letter.txt").write_text("mine")
    with pytest.raises(PlaceError, match="holds something else"):
        publish(shop, tmp_path / "mine", TODAY)
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["letter.txt"]


def test_a_folder_that_is_named_like_a_theme_and_is_none_stays(shop: Path, tree: Path) -> None:
    mine = tree / "theme-mine" / "letter.txt"
    mine.parent.mkdir()
    mine.write_text("mine")
    with pytest.raises(PlaceError, match="holds something else"):
        publish(shop, tree, TODAY)
    assert mine.read_text() == "mine"


def _loses_a_page(site: Path) -> None:
    (site / "dossier.html").unlink()


def _has_a_page_overwritten(site: Path) -> None:
    (site / "index.html").write_text("x")


def _gains_a_file(site: Path) -> None:
    (site / "letter.txt").write_text("somebody else's")


def _has_a_link_in_a_page_s_place(site: Path) -> None:
    (site / "dossier.html").rename(site.parent.parent.parent / "elsewhere")
    (site / "dossier.html").symlink_to(site.parent.parent.parent / "elsewhere")


def _is_a_file(site: Path) -> None:
    shutil.rmtree(site)
    site.write_text("no site")


def _is_a_link_to_another_folder(site: Path) -> None:
    site.rename(site.parent.parent.parent / "elsewhere")
    site.symlink_to(site.parent.parent.parent / "elsewhere")


def _is_a_link_that_leads_nowhere(site: Path) -> None:
    shutil.rmtree(site)
    site.symlink_to(site.parent / "nothing")


TORN = [
    _loses_a_page, _has_a_page_overwritten, _gains_a_file, _has_a_link_in_a_page_s_place, _is_a_file,
    _is_a_link_to_another_folder, _is_a_link_that_leads_nowhere,
]  # fmt: skip


@pytest.mark.parametrize("torn", TORN, ids=lambda one: one.__name__.strip("_"))
def test_a_site_that_is_not_as_it_was_made_is_set_right_and_named(
    shop: Path, tree: Path, torn: Callable[[Path], None]
) -> None:
    publish(shop, tree, TODAY)  # which is known of this place from here on
    before, owner = state(tree), tree / "s" / owner_of(tree)
    torn(owner)
    done = publish(shop, tree, TODAY)
    assert [(link.token, why) for link, why in done.built] == [(owner.name, "what stood there was not as it was made")]
    assert {path: content for path, (_, content) in state(tree).items()} == {
        path: content for path, (_, content) in before.items()
    }
    assert not [path for path in tree.rglob("*") if path.is_symlink()]
    assert sorted(path.name for path in tree.parent.iterdir()) in (["shop", "tree"], ["elsewhere", "shop", "tree"])


@pytest.mark.parametrize("torn", [_is_a_file, _is_a_link_to_another_folder, _is_a_link_that_leads_nowhere],
                         ids=lambda one: one.__name__.strip("_"))  # fmt: skip
def test_whatever_stands_under_the_token_of_a_dead_link_goes(
    shop: Path, tree: Path, torn: Callable[[Path], None]
) -> None:
    owner = owner_of(tree)
    end_link(shop, owner, TODAY)
    torn(tree / "s" / owner)
    assert publish(shop, tree, TODAY).removed == 1
    assert not os.path.lexists(tree / "s" / owner)
    assert sorted(path.name for path in tree.parent.iterdir()) in (["shop", "tree"], ["elsewhere", "shop", "tree"])


@pytest.mark.parametrize("name", ["s", "index.html", "s/index.html"])
def test_a_file_where_a_folder_belongs_or_a_folder_where_a_file_does_is_said_in_words(
    shop: Path, tmp_path: Path, name: str
) -> None:
    place = tmp_path / "out" / name
    place.parent.mkdir(parents=True)
    if name == "s":
        place.write_text("mine")
    else:
        place.mkdir()
    with pytest.raises(PlaceError, match=f"{place} is no (folder|file), as it is in a public tree"):
        publish(shop, tmp_path / "out", TODAY)
    assert place.exists()


class Ways(HTMLParser):
    """Every address that a page names."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, _tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value for name, value in attrs if name in ("href", "src", "data-src") and value]


def crawled(share: Path) -> Iterator[tuple[Path, str, Path]]:
    """(page, address, file) of every address in a share's pages."""
    for page in share.rglob("*.html"):
        ways = Ways()
        ways.feed(page.read_text(encoding="utf-8"))
        for way in ways.found:
            parts = urlsplit(way)
            if parts.scheme == "data" or not parts.path:
                continue
            yield page, way, (page.parent / unquote(parts.path)).resolve()


def test_no_link_leaves_a_shared_site_but_for_the_theme(tree: Path) -> None:
    for token in tokens(tree):
        share = tree / "s" / token
        count = 0
        for page, way, file in crawled(share):
            count += 1
            parts = urlsplit(way)
            assert (parts.scheme, parts.netloc) == ("", ""), f"{page}: {way}"
            assert file.is_relative_to(share) or file.relative_to(tree).parts[0].startswith("theme-"), f"{page}: {way}"
            assert file.exists(), f"{page}: {way}"
        assert count > 5


def test_renaming_a_shared_folder_breaks_nothing(tree: Path) -> None:
    for token in tokens(tree):
        (tree / "s" / token).rename(tree / "s" / token[::-1])
    test_no_link_leaves_a_shared_site_but_for_the_theme(tree)


def test_pages_are_private_and_name_no_address_of_their_own(tree: Path) -> None:
    names = {path.name for path in tree.rglob("*")}
    assert not names & {"sitemap.xml", "sitemap.xml.gz", "404.html", "robots.txt", "tags.json"}
    assert not [name for name in names if name.startswith("_")]
    assert (tree / ".nojekyll").exists()
    assert "<a" not in (tree / "s/index.html").read_text()
    for page in tree.glob("s/*/**/*.html"):
        text = page.read_text(encoding="utf-8")
        assert '<meta name="robots" content="noindex, nofollow, noarchive">' in text
        assert '<meta name="referrer" content="no-referrer">' in text
        assert not re.search(r'rel="?canonical', text)
        assert "history.example" not in text
