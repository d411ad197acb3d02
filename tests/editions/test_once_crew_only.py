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
    publish(shop.folder, tmp_path / "tree", TODAY)
    end_link(shop.folder, gone.token, TODAY)
    done = publish(shop.folder, tmp_path / "tree", TODAY, "HEAD~1")
    assert [link.token for link in done.untouched] == [kept.token]
    assert [(link.token, state) for link, state in done.ended] == [(gone.token, "withdrawn on 2026-06-01")]
    assert {path.name for path in (tmp_path / "tree/s").iterdir()} == {kept.token, "index.html"}


def test_an_older_commit_opens_no_link_that_is_listed_no_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = clean_shop(tmp_path / "shop")
    make_link(shop.folder, "E1", "tag", TODAY, None, None)
    publish(shop.folder, tmp_path / "tree", TODAY)
    shop.write({"shares.yml": "shares: []\n"}).commit("2026-06-01")
    done = publish(shop.folder, tmp_path / "tree", TODAY, "HEAD~1")
    assert (done.built, done.untouched) == ((), ())
    assert [state for _, state in done.ended] == ["no longer among the links"]


@pytest.mark.parametrize("name", ["Tomas Mellingen", "Owner Number1x", "E7", "Blue car", "ORW 0777", "Olaf"])
def test_a_name_that_no_record_bears_any_more_is_blanked(tmp_path: Path, name: str) -> None:
    shop = clean_shop(tmp_path / "shop")
    shop.write(
        {
            "shop.yml": CLEAN["shop.yml"].replace("RK: Rikke Kalverd", "RK: Rikke Kalverd, TM: Tomas Mellingen"),
            ENGINE: CLEAN[ENGINE] + "owners: [{name: Owner Number1x}]\n",
            "engines/E7/engine.yml": "engine: E7\nfamily: single\nname: Blue car\nstamped: ORW 0777\n",
            STRIP: strip("work: [{part: B-1, did: honed, dimensions: [inside], by: Olaf}]"),
        }
    ).commit("2026-05-11")
    shop.write({"shop.yml": CLEAN["shop.yml"], ENGINE: CLEAN[ENGINE], "engines/E7/engine.yml": None})
    shop.write({STRIP: strip(f"note: Seen by {name} too.")}).commit("2026-05-12")
    text = site_text(shop)
    assert name not in text
    assert "Seen by ▒▒▒ too." in text


def test_an_engine_s_own_former_name_is_shown_to_its_owner(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({ENGINE: CLEAN[ENGINE] + "name: Blue car\n"}).commit("2026-05-11")
    shop.write({ENGINE: CLEAN[ENGINE] + "name: Red car\n"})
    shop.write({STRIP: strip("note: As the Blue car it ran hot.")}).commit("2026-05-12")
    assert "As the Blue car it ran hot." in site_text(shop)


def test_a_name_that_is_an_engine_s_own_today_is_shown_whoever_bore_it_once(tmp_path: Path) -> None:
    other = {"engines/E2/engine.yml": "engine: E2\nfamily: single\nname: Red car\n"}
    shop = clean_shop(tmp_path / "shop").write(other).commit("2026-05-11")
    shop.write({"engines/E2/engine.yml": "engine: E2\nfamily: single\nname: Blue car\n"})
    shop.write({ENGINE: CLEAN[ENGINE] + "name: Red car\n"}).commit("2026-05-12")
    assert "Red car" in site_text(shop)


def test_a_photo_that_was_crew_only_is_the_same_photo_under_another_name(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", strip("photos: [{file: a.jpg, view: front}, {file: b.jpg, view: rear}]"))
    shown = photos_of(shop)
    shop.write({STRIP: strip("photos: [{file: a.jpg, view: front, crew_only: yes}, {file: b.jpg, view: rear}]")})
    shop.commit("2026-05-20")
    held = photos_of(shop)
    folder = (shop.folder / STRIP).parent
    (folder / "a.jpg").rename(folder / "c.jpg")
    shop.write({STRIP: strip("photos: [{file: c.jpg, view: front}, {file: b.jpg, view: rear}]")}).commit("2026-05-21")
    assert photos_of(shop) == held < shown


def test_a_photo_that_was_crew_only_is_no_picture_of_its_engine(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", strip(MARKED), strip())
    before = photos_of(shop)
    content = ((shop.folder / STRIP).parent / "a.jpg").read_bytes()
    (shop.folder / "engines/E1/front.jpg").write_bytes(content)
    shop.write({ENGINE: CLEAN[ENGINE] + "picture: front.jpg\n"}).commit("2026-05-21")
    assert photos_of(shop) == before


@pytest.mark.parametrize("key", ["built_for", "name"])
def test_what_an_engine_was_built_for_stays_so_under_another_key(tmp_path: Path, key: str) -> None:
    line = {"built_for": f"built_for: {SECRET}\n", "name": f"owners: [{{name: Ann Ox, contact: {SECRET}}}]\n"}[key]
    shop = clean_shop(tmp_path / "shop").write({ENGINE: CLEAN[ENGINE] + line}).commit("2026-05-11")
    shop.write({ENGINE: CLEAN[ENGINE] + f"use: {SECRET}\n"}).commit("2026-05-12")
    assert SECRET not in site_text(shop)


def test_a_crew_note_of_the_shop_is_sealed_for_every_engine(tmp_path: Path) -> None:
    said = {"shop.yml": CLEAN["shop.yml"] + f"crew_note: {SECRET}\n"}
    shop = clean_shop(tmp_path / "shop").write(said).commit("2026-05-11")
    shop.write({"shop.yml": CLEAN["shop.yml"], STRIP: strip(f"note: {SECRET}")}).commit("2026-05-12")
    assert SECRET not in site_text(shop)


def test_a_crew_note_in_a_version_with_a_conflict_is_sealed(tmp_path: Path) -> None:
    torn = f"<<<<<<< HEAD\ncrew_note: {SECRET}\n=======\n>>>>>>> side\n"
    shop = clean_shop(tmp_path / "shop").write({STRIP: torn}).commit("2026-05-11")
    shop.write({STRIP: strip(f"note: {SECRET}")}).commit("2026-05-12")
    assert SECRET not in site_text(shop)
