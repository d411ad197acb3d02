"""What was for the crew alone in any version stays so, whatever became of the file that it stood in."""

from datetime import date
from pathlib import Path

import pytest
from bench.handed import git
from click.testing import CliRunner
from engine_pages.plugins.publish import publish
from review.shop_for_review import BUILD, CLEAN, STRIP, Shop, clean_shop

from engine_pages.cli import main
from engine_pages.editions.forbidden import NOT_SHOWN
from engine_pages.editions.links import links_of
from engine_pages.editions.registry import end_link, make_link
from engine_pages.pages.cache import Cache
from engine_pages.pages.one_edition import site_for
from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Commit, Folder

ENGINE = "engines/E1/engine.yml"
TODAY = date(2026, 6, 1)
SECRET = "The club over-revved it twice"
OTHER = {
    "engines/E2/engine.yml": "engine: E2\nfamily: single\nstamped: ORW 0002\n",
    "engines/E2/builds/2026-03-07.yml": CLEAN[BUILD].replace("engine: E1", "engine: E2").replace("B-1", "B-9"),
    "parts/B-9.yml": "serial: B-9\nkind: bearing\norigin: new\n",
}


def strip(*lines: str) -> str:
    """The teardown sheet with more lines."""
    return CLEAN[STRIP] + "\n".join([*lines, ""]).replace("\n", "\n        ")


def shop_with(folder: Path, *versions: str) -> Shop:
    """A shop in whose history the teardown sheet had these versions."""
    shop = clean_shop(folder)
    for nth, version in enumerate(versions):
        shop.write({STRIP: version}).commit(f"2026-05-{11 + nth}")
    return shop


def site_text(shop: Shop, engine: str = "E1", edition: str = "owner", revision: str = "HEAD") -> str:
    """All pages of an edition, photos left out."""
    checked = read_checked(Commit(shop.folder, revision), TODAY, repository_of(shop.folder))
    assert [str(one) for one in checked.problems if one.level == "error"] == []
    cache = Cache(shop.folder.parent / "cache")
    site = site_for(checked, engine, edition, cache, revision)  # type: ignore[arg-type]  # an edition
    return "\n".join(page.html for page in site.pages)


def photos_of(shop: Shop, engine: str = "E1", revision: str = "HEAD") -> int:
    checked = read_checked(Commit(shop.folder, revision), TODAY, repository_of(shop.folder))
    site = site_for(checked, engine, "owner", Cache(shop.folder.parent / "cache"), revision)
    return sum(path.endswith(".jpg") for path in site.files)


def move(shop: Shop, old: str, new: str) -> None:
    """Give an engine another name, in its folder and in all its records."""
    (shop.folder / "engines" / old).rename(shop.folder / "engines" / new)
    for path in (shop.folder / "engines" / new).rglob("*.yml"):
        path.write_text(path.read_text(encoding="utf-8").replace(f"engine: {old}", f"engine: {new}"), encoding="utf-8")


MARKED = "photos: [{file: a.jpg, view: front, crew_only: yes}]"
UNMARKED = "photos: [{file: a.jpg, view: front}]"


def test_an_engine_that_got_another_name_forgets_nothing(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", strip(f"crew_note: {SECRET}", MARKED), strip(f"note: {SECRET}", UNMARKED))
    shown = photos_of(shop)
    assert SECRET not in site_text(shop)
    move(shop, "E1", "E81")
    shop.commit("2026-05-20")
    assert SECRET not in site_text(shop, "E81")
    assert NOT_SHOWN in site_text(shop, "E81")
    assert photos_of(shop, "E81") == shown


def test_a_name_that_is_given_anew_forgets_nothing_either(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", strip(f"crew_note: {SECRET}"), strip(f"note: {SECRET}"))
    move(shop, "E1", "E81")
    shop.commit("2026-05-20")
    shop.write({path: text for path, text in CLEAN.items() if path.startswith("engines/E1/engine")}).commit(
        "2026-05-21"
    )
    assert SECRET not in site_text(shop, "E81")


def test_what_stood_in_a_sheet_of_another_engine_before_it_was_moved_stays_sealed(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write(OTHER).commit("2026-05-11")
    wrong = STRIP.replace("E1", "E2").replace("05-02", "05-12")
    sheet = CLEAN[STRIP].replace("05-02", "05-12")
    said = sheet.replace("engine: E1", "engine: E2") + f"crew_note: {SECRET}\n"
    shop.write({wrong: said.replace("        ", "        ")}).commit("2026-05-13")
    right = wrong.replace("E2", "E1")
    shop.write({wrong: None, right: sheet + f"note: {SECRET}\n"}).commit("2026-05-14")
    assert SECRET not in site_text(shop)


def test_publishing_seals_what_an_engine_kept_under_its_old_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = shop_with(tmp_path / "shop", strip(f"crew_note: {SECRET}", MARKED), strip(f"note: {SECRET}", UNMARKED))
    make_link(shop.folder, "E1", "owner", TODAY, None, None)
    publish(shop.folder, tmp_path / "tree", TODAY)
    move(shop, "E1", "E81")
    links = shop.folder / "shares.yml"
    links.write_text(links.read_text(encoding="utf-8").replace("engine: E1", "engine: E81"), encoding="utf-8")
    shop.commit("2026-05-20")
    publish(shop.folder, tmp_path / "tree", TODAY)
    (link,) = links_of(read_checked(Folder(shop.folder), TODAY))
    texts = [path.read_text(encoding="utf-8") for path in (tmp_path / "tree/s" / link.token).rglob("*.html")]
    assert texts
    assert not any(SECRET in text for text in texts)


@pytest.mark.parametrize("cut", ["--depth=1", "--filter=blob:none"])
@pytest.mark.parametrize(
    "command",
    [
        "publish --to {}/tree",
        "bundle E1 --edition owner --to {}/one.zip",
        "lock E1 --edition buyer --to {}/one.html",
        "print E1 --edition owner --to {}/one.pdf",
        "export --engine E1 --edition owner --to {}/plain",
    ],
)
def test_from_a_clone_without_its_whole_history_nothing_leaves(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cut: str, command: str
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = shop_with(tmp_path / "shop", strip(f"crew_note: {SECRET}"), strip(f"note: {SECRET}"))
    git(shop.folder, "config", "uploadpack.allowFilter", "true")
    git(tmp_path, "clone", "-q", cut, f"file://{shop.folder}", "clone")
    (tmp_path / "out").mkdir()
    words = command.format(tmp_path / "out").split()
    done = CliRunner().invoke(main, [*words, "--records", str(tmp_path / "clone")])
    assert done.exit_code == 1
    assert "fetch it whole (git fetch --unshallow)" in done.output or "clone it whole" in done.output
    assert list((tmp_path / "out").iterdir()) == []


def test_an_older_commit_shows_nothing_that_was_made_crew_only_since(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", strip(f"note: {SECRET}", UNMARKED))
    before = photos_of(shop)
    shop.write({STRIP: strip(f"crew_note: {SECRET}", MARKED)}).commit("2026-05-20")
    assert SECRET not in site_text(shop, revision="HEAD~1")
    assert NOT_SHOWN in site_text(shop, revision="HEAD~1")
    assert photos_of(shop, revision="HEAD~1") == photos_of(shop) < before


def test_an_older_commit_opens_no_link_that_was_withdrawn_since(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = clean_shop(tmp_path / "shop")
    kept, gone = (make_link(shop.folder, "E1", edition, TODAY, None, None) for edition in ("tag", "bench"))
    end_link(shop.folder, gone.token, TODAY)
    done = publish(shop.folder, tmp_path / "tree", TODAY, "HEAD~1")
    assert [link.token for link, _ in done.built] == [kept.token]
    assert [(link.token, state) for link, state in done.ended] == [(gone.token, "withdrawn on 2026-06-01")]
    assert {path.name for path in (tmp_path / "tree/s").iterdir()} == {kept.token, "index.html"}


def test_an_older_commit_opens_no_link_that_is_listed_no_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = clean_shop(tmp_path / "shop")
    make_link(shop.folder, "E1", "tag", TODAY, None, None)
    shop.write({"shares.yml": "shares: []\n"}).commit("2026-06-01")
    done = publish(shop.folder, tmp_path / "tree", TODAY, "HEAD~1")
    assert done.built == ()
    assert [state for _, state in done.ended] == ["no longer among the links"]
