"""A small shop built, rebuilt and served: what stands at the site's place, and what is in the head of every page."""

import errno
import logging
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from engine_pages.plugins import site as plugin_module
from engine_pages.plugins.build import build_site
from engine_pages.plugins.site import EnginePagesPlugin
from mkdocs.commands.build import build
from mkdocs.config.base import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import BuildError, ConfigurationError
from mkdocs.livereload import LiveReloadServer
from mkdocs.utils import write_file
from PIL import Image

from engine_pages.placing.place import PlaceError

SHEET = "engines/E1/builds/2026-01-01.yml"
PHOTO = "engines/E1/builds/2026-01-01/side.jpg"
SHOP = {
    "shop.yml": "name: Third Bay\n",
    "families/single.yml": (
        "family: single\narchitecture: piston\nexposure: hours\npositions: {pump: pump}\nkinds: {pump: }\n"
    ),
    "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
    SHEET: "engine: E1\ndate: 2026-01-01\npositions: {pump: {part: P-1, photos: [{file: side.jpg}]}}\n",
    "mkdocs.yml": """\
site_name: 'A<script>"&'
site_description: '5" <b>'
docs_dir: notes
use_directory_urls: false
theme: {name: material, font: false}
plugins: [search, engine-pages]
""",
    "notes/bench.md": "# Bench\n",
}


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    for path, text in SHOP.items():
        put(tmp_path / "shop" / path, text)
    (tmp_path / "shop" / PHOTO).parent.mkdir()
    Image.new("RGB", (40, 30), (90, 90, 90)).save(tmp_path / "shop" / PHOTO)
    return tmp_path / "shop"


def put(file: Path, text: str) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")


def change(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1
    file.write_text(text.replace(old, new), encoding="utf-8")


def bytes_of(site: Path) -> dict[str, bytes]:
    return {path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*") if path.is_file()}


def pages_in_the_frame(site: Path) -> dict[str, bytes]:
    """The generator's pages; those of the bench stand alone, with a stricter policy of their own."""
    pages = bytes_of(site).items()
    own = ("bench/", "dossier.html")  # pages without the generator's frame, under a stricter policy of their own
    return {path: page for path, page in pages if path.endswith(".html") and not any(name in path for name in own)}


def heads_of(site: Path) -> dict[str, str]:
    return {path: page.decode().split("</head>")[0] for path, page in pages_in_the_frame(site).items()}


def test_a_site_is_built_anew_over_itself(shop: Path, tmp_path: Path) -> None:
    build_site(shop, tmp_path / "out")
    put(shop / "notes/later.md", "# Later\n")
    (shop / "notes/bench.md").unlink()
    assert build_site(shop, tmp_path / "out").is_file()
    assert {"later.html", "index.html"} <= set(bytes_of(tmp_path / "out"))
    assert "bench.html" not in bytes_of(tmp_path / "out")
    assert sorted(os.listdir(tmp_path)) == ["cache", "out", "shop"]


def test_a_full_disk_in_the_middle_leaves_the_old_site(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    build_site(shop, tmp_path / "out")
    before = bytes_of(tmp_path / "out")

    def full(_: bytes, path: str) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), path)

    monkeypatch.setattr(plugin_module, "write_file", full)
    with pytest.raises(OSError, match="No space left"):
        build_site(shop, tmp_path / "out")
    assert bytes_of(tmp_path / "out") == before
    assert sorted(os.listdir(tmp_path)) == ["cache", "out", "shop"]


def test_what_a_note_shows_as_it_was_typed_keeps_its_empty_lines(shop: Path, tmp_path: Path) -> None:
    (shop / "notes/typed.md").write_text("# Typed\n\n```\nbore\n\n\n    60.051\n```\n", encoding="utf-8")
    build_site(shop, tmp_path / "out")
    assert "bore\n\n\n    60.051" in (tmp_path / "out/typed.html").read_text(encoding="utf-8")


def test_ctrl_c_in_the_middle_leaves_the_old_site(shop: Path, tmp_path: Path) -> None:
    build_site(shop, tmp_path / "out")
    before = bytes_of(tmp_path / "out")

    def interrupt(share: float, _: str) -> None:
        if share > 0.8:  # the generator is writing pages
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build_site(shop, tmp_path / "out", progress=interrupt)
    assert bytes_of(tmp_path / "out") == before
    assert sorted(os.listdir(tmp_path)) == ["cache", "out", "shop"]


def test_errors_in_the_records_leave_the_old_site(shop: Path, tmp_path: Path) -> None:
    build_site(shop, tmp_path / "out")
    before = bytes_of(tmp_path / "out")
    change(shop / SHEET, "positions", "postions")
    with pytest.raises(ConfigurationError, match="did you mean positions"):
        build_site(shop, tmp_path / "out")
    assert bytes_of(tmp_path / "out") == before


def test_a_file_that_somebody_put_into_the_site_stops_the_next_build(shop: Path, tmp_path: Path) -> None:
    build_site(shop, tmp_path / "out")
    put(tmp_path / "out/CNAME", "engines.example\n")
    before = bytes_of(tmp_path / "out")
    with pytest.raises(PlaceError, match=r"wrote: CNAME\."):
        build_site(shop, tmp_path / "out")
    assert bytes_of(tmp_path / "out") == before


def test_a_file_among_the_notes_belongs_to_the_site(shop: Path, tmp_path: Path) -> None:
    put(shop / "notes/CNAME", "engines.example\n")
    build_site(shop, tmp_path / "out")
    build_site(shop, tmp_path / "out")
    assert bytes_of(tmp_path / "out")["CNAME"] == b"engines.example\n"


def test_a_site_within_the_shop_leaves_nothing_else_there(shop: Path) -> None:
    before = set(os.listdir(shop))
    build_site(shop, shop / "site")
    build_site(shop, shop / "site")
    assert set(os.listdir(shop)) == {*before, "site"}


def test_the_name_of_a_site_is_text_and_no_markup(shop: Path, tmp_path: Path) -> None:
    build_site(shop, tmp_path / "out")
    for name, page in pages_in_the_frame(tmp_path / "out").items():
        assert b"A<script>" not in page, name
        assert b"A&lt;script&gt;&#34;&amp;</title>" in page, name
        assert b'aria-label="A&lt;script&gt;&#34;&amp;"' in page, name
        assert b"&amp;lt;" not in page, name
        assert b'content="5&#34; &lt;b&gt;"' in page, name


@pytest.mark.parametrize(
    "template",
    [
        '{% extends "base.html" %}{% block site_meta %}{% endblock %}',
        "<!doctype html><HTML><HEAD lang=en><title>x</title></HEAD><body>{{ page.content }}</body></HTML>",
    ],
)
def test_a_shops_own_template_keeps_pages_as_private_as_ours(shop: Path, tmp_path: Path, template: str) -> None:
    put(shop / "overrides/main.html", template)
    put(shop / "overrides/contents.html", "<html><head><title>x</title></head></html>")
    change(shop / "mkdocs.yml", "font: false", "font: false, custom_dir: overrides, static_templates: [contents.html]")
    build_site(shop, tmp_path / "out")
    heads = heads_of(tmp_path / "out")
    assert {"index.html", "bench.html", "contents.html"} <= set(heads)
    for name, head in heads.items():
        assert head.count('http-equiv="Content-Security-Policy" content="default-src \'self\'') == 1, name
        assert head.count('<meta name="robots" content="noindex, nofollow, noarchive">') == 1, name
        assert head.count('<meta name="referrer" content="no-referrer">') == 1, name


def test_the_policy_stands_before_whatever_it_is_for_and_the_encoding_where_browsers_look(
    shop: Path, tmp_path: Path
) -> None:
    build_site(shop, tmp_path / "out")
    for name, head in heads_of(tmp_path / "out").items():
        assert head.index("Content-Security-Policy") < min(head.index(sign) for sign in ("<link", "<script"))
        assert "<style" not in head.partition("Content-Security-Policy")[0], name
        assert head.index('charset="utf-8"') < 1024, name  # the bytes in which HTML wants it (WHATWG HTML, 4.2.5.4)


def test_a_template_without_a_head_stops_the_build(shop: Path, tmp_path: Path) -> None:
    put(shop / "overrides/main.html", "<body><header>{{ page.content }}</header></body>")
    change(shop / "mkdocs.yml", "font: false", "font: false, custom_dir: overrides")
    with pytest.raises(ConfigurationError, match="without <head>"):
        build_site(shop, tmp_path / "out")
    assert not (tmp_path / "out").exists()


class Served:
    """The generator's `serve` without its web server: it loads the configuration anew for every rebuild."""

    def __init__(self, shop: Path, to: Path) -> None:
        self.to, self._file = to, str(shop / "mkdocs.yml")
        config = self._config()
        config.plugins.on_startup(command="serve", dirty=False)
        self._plugins = config.plugins
        build(config, serve_url="http://127.0.0.1:8000/")
        server = LiveReloadServer(builder=self.rebuild, host="127.0.0.1", port=0, root=str(to))
        config.plugins.on_serve(server, config=config, builder=self.rebuild)
        server.server_close()

    def _config(self) -> MkDocsConfig:
        return load_config(self._file, site_dir=str(self.to))

    def rebuild(self) -> None:
        build(self._config(), serve_url="http://127.0.0.1:8000/")

    def close(self) -> None:
        self._plugins.on_shutdown()


@pytest.fixture
def served(shop: Path, tmp_path: Path) -> Iterator[Served]:
    serving = Served(shop, tmp_path / "served")
    yield serving
    serving.close()


def test_serving_keeps_the_last_good_site_while_the_records_are_wrong(
    shop: Path, served: Served, caplog: pytest.LogCaptureFixture
) -> None:
    before = bytes_of(served.to)
    change(shop / SHEET, "P-1", "P-2")
    change(shop / SHEET, "positions", "postions")
    (shop / PHOTO).unlink()
    with caplog.at_level(logging.ERROR, logger="mkdocs"):
        served.rebuild()
    assert f"{SHEET}:3:1: error: unknown key 'postions'" in caplog.text
    assert "The pages stay as they were" in caplog.text
    kept = bytes_of(served.to)
    assert {path for path in before if path not in kept} == {path for path in before if "/photos/" in path} != set()
    assert all(before[path] == page for path, page in kept.items() if path.endswith(".html"))


def test_serving_shows_the_records_again_when_they_are_mended(shop: Path, served: Served) -> None:
    change(shop / SHEET, "positions", "postions")
    served.rebuild()
    change(shop / SHEET, "postions", "positions")
    change(shop / SHEET, "P-1", "P-2")
    served.rebuild()
    assert "parts/P-2.html" in bytes_of(served.to)


def test_serving_stops_where_the_first_build_fails(shop: Path, tmp_path: Path) -> None:
    change(shop / SHEET, "positions", "postions")
    with pytest.raises((BuildError, SystemExit)):
        Served(shop, tmp_path / "served")


def test_a_build_after_serving_does_not_publish_what_was_served(shop: Path, served: Served, tmp_path: Path) -> None:
    served.close()
    change(shop / SHEET, "positions", "postions")
    with pytest.raises(ConfigurationError, match="nothing was published"):
        build_site(shop, tmp_path / "out")


def test_the_generator_keeps_the_plugin_between_rebuilds(shop: Path) -> None:
    first, second = (load_config(str(shop / "mkdocs.yml")).plugins["engine-pages"] for _ in range(2))
    assert isinstance(first, EnginePagesPlugin)
    assert first is second


def test_what_is_patched_here_is_the_generators_own_way_to_write() -> None:
    assert plugin_module.write_file is write_file
