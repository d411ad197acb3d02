"""The plugin in the generator, and in its maintained fork: the demo shop built strictly, as its users build it."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urldefrag

import pytest
from engine_pages.plugins.build import build_site
from engine_pages.plugins.site import WATCHED, EnginePagesPlugin
from mkdocs.config.base import load_config
from mkdocs.exceptions import ConfigurationError

from engine_pages.placing.place import PlaceError

DEMO = Path(__file__).parents[2] / "records"
GENERATORS = ("mkdocs", "properdocs")


@pytest.fixture(scope="module", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Charts and photos of these builds are kept in a folder of their own, not in the user's."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


def state_of_the_shop() -> str:
    """What git sees in the demo's folder, ignored files and all."""
    asked = ["git", "status", "--porcelain", "--ignored", "--untracked-files=all", "--", str(DEMO)]
    return subprocess.run(asked, cwd=DEMO, check=True, capture_output=True, text=True).stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The demo built by each generator's own command, strictly; nothing may change in the shop's folder."""
    before, out = state_of_the_shop(), {}
    for generator in GENERATORS:
        out[generator] = tmp_path_factory.mktemp(generator)
        command = [sys.executable, "-m", generator, "build", "--strict", "-f", str(DEMO / "mkdocs.yml")]
        done = subprocess.run(
            [*command, "--site-dir", str(out[generator])], capture_output=True, text=True, check=False, env=os.environ
        )
        assert done.returncode == 0, done.stderr
    assert state_of_the_shop() == before
    return out


def files_of(site: Path) -> set[str]:
    return {path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()}


def pages_of(site: Path) -> set[str]:
    return {path for path in files_of(site) if path.endswith(".html")}


class Ways(HTMLParser):
    """The ids of a page, and what it links to and loads."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.ways: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name == "id" and value:
                self.ids.add(value)
            if name in ("href", "src") and value and tag != "base":
                self.ways.append(value)


def broken_ways(site: Path) -> Iterator[str]:
    read = {path: Ways((site / path).read_text(encoding="utf-8")) for path in pages_of(site)}
    there = files_of(site)
    for page, ways in read.items():
        for way in ways.ways:
            address, anchor = urldefrag(way)
            if re.match(r"[a-z]+:|//", address):
                continue
            target = os.path.normpath(os.path.join(os.path.dirname(page), unquote(address))) if address else page
            if target not in there and f"{target}/index.html".removeprefix("./") in there:
                target = f"{target}/index.html"
            target = "index.html" if target in (".", "./index.html") else target
            known = read[target].ids if target in read else set()
            anchored = (
                not anchor or target not in read or anchor in known or anchor.startswith("__")
            )  # __ is the theme's
            if target not in there or not anchored:
                yield f"{page}: {way}"


def test_both_generators_make_the_same_pages(built: dict[str, Path]) -> None:
    assert files_of(built["mkdocs"]) == files_of(built["properdocs"])
    for path in sorted(pages_of(built["mkdocs"])):
        one, other = (
            re.sub(r'<meta name="generator"[^>]*>', "", (built[name] / path).read_text(encoding="utf-8"))
            for name in GENERATORS
        )
        assert one == other, path


def test_every_engine_sheet_and_part_of_the_demo_has_its_page(built: dict[str, Path]) -> None:
    pages = pages_of(built["mkdocs"])
    for engine in (path.name for path in (DEMO / "engines").iterdir()):
        assert f"engines/{engine}/index.html" in pages
        for folder in ("builds", "inspections", "teardowns"):
            sheets = {
                path.stem for path in (DEMO / "engines" / engine / folder).glob("*") if path.suffix in ("", ".yml")
            }
            assert {f"engines/{engine}/{folder}/{sheet}.html" for sheet in sheets} <= pages
    assert {f"parts/{path.stem}.html" for path in (DEMO / "parts").glob("*.yml")} <= pages


def test_no_way_in_the_built_site_is_broken(built: dict[str, Path]) -> None:
    assert list(broken_ways(built["mkdocs"])) == []


def test_pages_ask_nothing_of_other_hosts(built: dict[str, Path]) -> None:
    for path in pages_of(built["mkdocs"]):
        html = (built["mkdocs"] / path).read_text(encoding="utf-8")
        loaded = re.findall(r'<(?:link|script|img|iframe|source)\b[^>]*?(?:href|src)="((?:https?:)?//[^"]+)"', html)
        assert loaded == [], path


def test_a_private_record_says_so_to_whoever_reads_pages(built: dict[str, Path]) -> None:
    for path in pages_of(built["mkdocs"]):
        head = (built["mkdocs"] / path).read_text(encoding="utf-8").split("</head>")[0]
        assert '<meta name="robots" content="noindex' in head
        assert '<meta name="referrer" content="no-referrer">' in head
        alone = path.startswith("bench/") or path.endswith("dossier.html")
        assert ("default-src 'none'" if alone else "default-src 'self'") in head
        assert 'rel="canonical"' not in head


def test_nothing_lists_the_whole_site_by_absolute_addresses(built: dict[str, Path]) -> None:
    assert not {"sitemap.xml", "sitemap.xml.gz", "404.html"} & files_of(built["mkdocs"])


def test_search_finds_sections_by_their_words(built: dict[str, Path]) -> None:
    index = (built["mkdocs"] / "search/search_index.json").read_text(encoding="utf-8")
    assert '"location":"engines/K-07/index.html#limits","title":"What stops it first"' in index
    assert "--paper" not in index


def test_notes_stand_beside_the_records(built: dict[str, Path]) -> None:
    assert "how-we-measure.html" in pages_of(built["mkdocs"])
    assert 'href="how-we-measure.html"' in (built["mkdocs"] / "index.html").read_text(encoding="utf-8")


def test_serving_watches_the_records() -> None:
    config = load_config(str(DEMO / "mkdocs.yml"))
    config.plugins.on_config(config)
    assert {str(DEMO / name) for name in WATCHED if (DEMO / name).exists()} <= set(config.watch)
    assert not any(".git" in path for path in config.watch)


def test_a_shops_own_templates_come_before_ours(tmp_path: Path) -> None:
    own = tmp_path / "overrides"
    own.mkdir()
    config = load_config(str(DEMO / "mkdocs.yml"), theme={"name": "material", "custom_dir": str(own)})
    config.plugins.on_config(config)
    assert config.theme.dirs[0] == str(own)
    assert config.theme.dirs[1].endswith("frame")


def small_shop(folder: Path) -> Path:
    """A shop of one engine, taken from the demo, with no mkdocs.yml and no notes."""
    for name in ("shop.yml", "families", "parts"):
        source = DEMO / name
        (shutil.copytree if source.is_dir() else shutil.copy)(source, folder / name)
    shutil.copytree(DEMO / "engines/K-07", folder / "engines/K-07")
    return folder


def test_a_shop_without_configuration_or_notes_has_a_site(tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    shop, seen = small_shop(tmp_path / "shop"), []
    before = files_of(shop)
    index = build_site(shop, tmp_path / "site", progress=lambda share, _: seen.append(share))
    assert index.is_file()
    assert files_of(shop) == before
    assert seen == sorted(seen)
    assert seen[-1] == pytest.approx(1.0)


def test_directory_urls_work_too(tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    shop = small_shop(tmp_path / "shop")
    (shop / "notes").mkdir()
    (shop / "notes/bench.md").write_text("See [the engine](engines/K-07/index.md#map).\n", encoding="utf-8")
    plain = (DEMO / "mkdocs.yml").read_text(encoding="utf-8")
    config = plain.replace("use_directory_urls: false", "use_directory_urls: true")
    assert config != plain
    (shop / "mkdocs.yml").write_text(config, encoding="utf-8")
    build_site(shop, tmp_path / "site")
    assert "parts/RB-1042/index.html" in files_of(tmp_path / "site")
    assert list(broken_ways(tmp_path / "site")) == []


def test_errors_in_the_records_stop_the_build_and_all_are_named(tmp_path: Path) -> None:
    shop = small_shop(tmp_path)
    (shop / "engines/K-07/plan.yml").write_text("keep: 0.9\nkeep: 0.8\nevnets: []\n", encoding="utf-8")
    with pytest.raises(ConfigurationError) as stopped:
        build_site(shop, tmp_path / "site")
    assert "engines/K-07/plan.yml:2:1: error" in str(stopped.value)
    assert "engines/K-07/plan.yml:3:1: error" in str(stopped.value)
    assert not (tmp_path / "site/index.html").exists()


def test_an_engine_that_is_not_there_is_named_with_those_that_are(tmp_path: Path) -> None:
    with pytest.raises(ConfigurationError) as stopped:
        build_site(small_shop(tmp_path), tmp_path / "site", engine="K-70")
    assert "there is no engine K-70; known: K-07" in str(stopped.value)


def test_a_note_cannot_hide_a_page_of_the_records(tmp_path: Path) -> None:
    shop = small_shop(tmp_path)
    (shop / "notes").mkdir()
    (shop / "notes/index.md").write_text("# Mine\n", encoding="utf-8")
    with pytest.raises(ConfigurationError) as stopped:
        build_site(shop, tmp_path / "site")
    assert "the note index.md has the address of a page made from the records" in str(stopped.value)


def test_a_folder_with_anything_else_in_it_is_never_emptied(tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter.txt").write_text("keep me", encoding="utf-8")
    with pytest.raises(PlaceError, match="not empty"):
        build_site(DEMO, mine)
    assert (mine / "letter.txt").read_text(encoding="utf-8") == "keep me"
    with pytest.raises(PlaceError, match="among the records or holds them"):
        build_site(DEMO, DEMO.parent)


def test_only_the_crews_edition_can_be_built_from_uncut_records() -> None:
    config = load_config(str(DEMO / "mkdocs.yml"))
    plugin = config.plugins["engine-pages"]
    assert isinstance(plugin, EnginePagesPlugin)
    errors, _ = plugin.load_config({"edition": "buyer"})
    assert [name for name, _ in errors] == ["edition"]
