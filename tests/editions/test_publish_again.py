"""A second publishing does what changed and no more, says why, and needs nothing that it kept."""

import shutil
from datetime import date
from pathlib import Path

import pytest
from bench.handed import git
from engine_pages.plugins import one_share, survey
from engine_pages.plugins.publish import Published, publish
from engine_pages.plugins.survey import At, Group
from mkdocs.exceptions import ConfigurationError
from speed.shops import TODAY, engine_id, file_teardown, write_shop

from engine_pages.editions.gist import Gist

FILED = 2


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three engines with a plate's link each, published; the last teardown of one is not filed yet."""
    top = tmp_path_factory.mktemp("again")
    shop = write_shop(top / "shop", 3, (FILED,))
    links = shop / "shares.yml"
    links.write_text(links.read_text(encoding="utf-8").replace("owner,", "tag,"), encoding="utf-8")
    git(shop, "commit", "-qam", "plates")
    return top


@pytest.fixture
def shop(whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it with a cache of its own, published once."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr("engine_pages.plugins.publish.FEWEST_FOR_A_POOL", 99)
    shutil.copytree(whole / "shop", tmp_path / "shop", symlinks=True)
    again(tmp_path / "shop")
    return tmp_path / "shop"


def again(shop: Path, day: date = TODAY) -> Published:
    one_share.surveyed.cache_clear()
    survey.outline_at.cache_clear()
    return publish(shop, shop.parent / "tree", day)


def state(shop: Path) -> dict[str, bytes]:
    tree = shop.parent / "tree"
    return {str(path.relative_to(tree)): path.read_bytes() for path in tree.rglob("*") if path.is_file()}


def test_a_teardown_rebuilds_its_engine_first_and_reads_no_other_engine(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    make_gist = survey._make_gist

    def seen(at: At, group: Group) -> Gist:
        read.append(group.kin.name)
        return make_gist(at, group)

    monkeypatch.setattr(survey, "_make_gist", seen)
    file_teardown(shop, FILED)
    done = again(shop)
    assert read == [engine_id(FILED)]
    assert (done.built[0][0].engine, done.built[0][1]) == (engine_id(FILED), "its own records")
    assert {why for _, why in done.built[1:]} <= {"like parts elsewhere"}
    assert len(done.built) + len(done.untouched) == 3


def test_a_line_that_no_other_engine_leans_on_leaves_the_others_alone(shop: Path) -> None:
    log = shop / "engines" / engine_id(FILED) / "log.yml"
    log.write_text(log.read_text() + "- {date: 2026-11-20, kind: service, did: [oil]}\n", encoding="utf-8")
    git(shop, "commit", "-qam", "oil")
    done = again(shop)
    assert [(link.engine, why) for link, why in done.built] == [(engine_id(FILED), "its own records")]
    assert len(done.untouched) == 2


def test_what_is_written_for_a_family_is_named_as_the_reason(shop: Path) -> None:
    family = shop / "families/two-rotor-a.yml"
    family.write_text(family.read_text().replace("name: Two-rotor 1.3 litre", "name: Two-rotor 1.4 litre"))
    git(shop, "commit", "-qam", "a name")
    assert {why for _, why in again(shop).built} == {"what is written for all engines"}


def test_without_what_was_kept_the_same_bytes_come_out(shop: Path) -> None:
    file_teardown(shop, FILED)
    again(shop)
    before = state(shop)
    shutil.rmtree(shop.parent / "cache")
    assert len(again(shop).untouched) == 3
    assert state(shop) == before
    shutil.rmtree(shop.parent / "tree")
    again(shop)
    assert state(shop) == before


def test_a_tree_that_was_lost_is_set_again_from_pages_that_were_kept(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def told_anew(*_: object) -> None:
        raise AssertionError("an engine was told anew")

    before = state(shop)
    shutil.rmtree(shop.parent / "tree")
    monkeypatch.setattr(one_share, "site_of", told_anew)
    assert len(again(shop).built) == 3
    assert state(shop) == before


def test_on_another_day_nothing_is_made_anew_where_no_record_names_it(shop: Path) -> None:
    assert len(again(shop, date(2026, 12, 24)).untouched) == 3


def test_a_new_name_blanks_it_where_it_stood_in_another_engine_s_words(shop: Path) -> None:
    engine = shop / "engines" / engine_id(0) / "engine.yml"
    engine.write_text(engine.read_text().replace("use: hill climb", "use: hill climb beside Comet"), encoding="utf-8")
    git(shop, "commit", "-qam", "use")
    again(shop)
    assert any(b"Comet" in content for content in state(shop).values())
    other = shop / "engines" / engine_id(1) / "engine.yml"
    other.write_text(other.read_text().replace("name: Car 1", "name: Comet"), encoding="utf-8")
    git(shop, "commit", "-qam", "name")
    done = again(shop)
    assert (engine_id(0), "names of the shop") in {(link.engine, why) for link, why in done.built}
    own = {link.engine: link.token for link, _ in done.built}
    tree = shop.parent / "tree/s"
    assert not any(b"Comet" in path.read_bytes() for path in (tree / own[engine_id(0)]).rglob("*") if path.is_file())


def test_a_name_that_was_given_up_stays_blanked_and_only_who_holds_it_is_looked_at(shop: Path) -> None:
    engine = shop / "engines" / engine_id(0) / "engine.yml"
    engine.write_text(engine.read_text().replace("use: hill climb", "use: hill climb beside Car 1"), encoding="utf-8")
    git(shop, "commit", "-qam", "use")
    own = {link.engine: link.token for link, _ in again(shop).built}
    other = shop / "engines" / engine_id(1) / "engine.yml"
    other.write_text(other.read_text().replace("name: Car 1", "name: Comet"), encoding="utf-8")
    git(shop, "commit", "-qam", "name")
    done = again(shop)
    assert engine_id(2) not in {link.engine for link, _ in done.built}
    tree = shop.parent / "tree/s" / own[engine_id(0)]
    texts = [path.read_text(encoding="utf-8") for path in tree.rglob("*.html")]
    assert any("hill climb beside ▒▒▒" in text for text in texts)
    assert not any("Car 1" in text for text in texts)


def test_a_file_of_the_theme_that_was_lost_is_put_there_again(shop: Path) -> None:
    again(shop)
    before = state(shop)
    lost = next((shop.parent / "tree").glob("theme-*/assets/stylesheets/*.css"))
    lost.unlink()
    again(shop)
    assert state(shop) == before


def test_a_part_on_the_shelf_that_no_sheet_names_is_published_beside(shop: Path) -> None:
    spare = shop / "parts/R7777-10.yml"
    spare.write_text("serial: R7777-10\nkind: rotor\nfamily: two-rotor-a\norigin: new\n", encoding="utf-8")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "a spare")
    assert len(again(shop).untouched) == 3


def test_what_cannot_be_read_stops_a_process_that_knew_the_shop_before_and_no_longer_than_it_is_there(
    shop: Path,
) -> None:
    link = shop / "families/linked.yml"
    link.symlink_to("two-rotor-a.yml")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "a link")
    with pytest.raises(ConfigurationError, match=r"families/linked\.yml.*a symbolic link"):
        again(shop)
    link.unlink()
    git(shop, "commit", "-qam", "no link")
    assert len(again(shop).untouched) == 3
