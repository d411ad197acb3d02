"""A whole site without any site generator: its pages, its ways, its words, from a story made by hand."""

import io
import re
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urldefrag, urljoin

import pytest
from msgspec.structs import replace
from PIL import Image

from engine_pages.history.story import EngineStory, ShopStory
from engine_pages.pages import part_wear
from engine_pages.pages.addresses import ENGINE_LISTS, place
from engine_pages.pages.cache import Cache
from engine_pages.pages.every_page import Page
from engine_pages.pages.site import MOST_IN_NAV, SCRIPT_PATHS, STYLE_PATHS, NavItem, Site, build_pages

from .parts_for_tests import NASTY, PHOTO, bearing
from .story_for_tests import engine, shop


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (640, 480), "grey").save(out, "JPEG")
    return out.getvalue()


def photographed(_path: str) -> bytes:
    return jpeg()


def no_photos(path: str) -> bytes:
    raise FileNotFoundError(path)


@pytest.fixture
def cache(tmp_path: Path) -> Cache:
    return Cache(tmp_path / "cache")


@pytest.fixture
def site(cache: Cache) -> Site:
    return build_pages(shop(), None, "crew", photographed, cache)


class Reader(HTMLParser):
    """What a page holds: ids, ways out, level-two headings with their ids, and what is read."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.ways: list[str] = []
        self.headings: list[tuple[str, str]] = []
        self.text = ""
        self._inside: list[tuple[str, str]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if "id" in given:
            self.ids.append(given["id"])
        self.ways += [given[name] for name in ("href", "src") if name in given]
        if tag == "h2":
            self.headings.append((given.get("id", ""), ""))
        self._inside.append((tag, given.get("class", "")))

    def handle_endtag(self, tag: str) -> None:
        while self._inside and self._inside.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        self.text += data
        inside_heading = any(tag == "h2" for tag, _ in self._inside)
        if inside_heading and not any(name == "right" for _, name in self._inside):
            name, words = self.headings[-1]
            self.headings[-1] = (name, words + data)


def page_of(site: Site, path: str) -> Page:
    return next(page for page in site.pages if page.path == path)


def paths_in(nav: tuple[NavItem, ...]) -> list[str]:
    return [path for _, inside in nav for path in ([inside] if isinstance(inside, str) else paths_in(inside))]


def test_every_page_that_a_shop_needs_is_made(site: Site) -> None:
    paths = {page.path for page in site.pages}
    assert {"index.md", "engines/K-07/index.md", "parts/RB-1042.md"} <= paths
    assert {f"engines/K-07/{name}.md" for name in ENGINE_LISTS} <= paths
    assert {
        "engines/K-07/builds/2025-02-20.md",
        "engines/K-07/teardowns/2025-11-03.md",
        "engines/K-07/teardowns/2026-10-12.md",
    } <= paths
    assert len(paths) == len(site.pages)


@pytest.mark.parametrize("directory_urls", [False, True])
def test_every_way_leads_to_something_that_is_there(cache: Cache, directory_urls: bool) -> None:
    site = build_pages(shop(), None, "crew", photographed, cache, directory_urls=directory_urls)
    root = "https://history.example/s/"
    there = {root + place(page.path, directory_urls): set(Reader(page.html).ids) for page in site.pages}
    there |= {root + path: set() for path in site.files}
    for page in site.pages:
        start = root + place(page.path, directory_urls)
        for way in Reader(page.html).ways:
            address, anchor = urldefrag(urljoin(start, way))
            if address.endswith("/"):
                address += "index.html"
            assert address in there, f"{page.path}: {way}"
            assert not anchor or unquote(anchor) in there[address], f"{page.path}: {way}"


def test_no_page_asks_anything_of_another_host(site: Site) -> None:
    for page in site.pages:
        named = set(re.findall(r"(?:https?:)?//[^\s\"'<>)]+", page.html)) - {"http://www.w3.org/2000/svg"}
        assert named == set(), page.path


def test_what_people_write_is_read_and_never_run(site: Site) -> None:
    assert NASTY in Reader(page_of(site, "engines/K-07/index.md").html).text
    for page in site.pages:
        assert "<script" not in page.html, page.path


def test_an_id_stands_once_on_a_page(site: Site) -> None:
    for page in site.pages:
        ids = Reader(page.html).ids
        assert len(ids) == len(set(ids)), page.path


def test_contents_are_the_headings_of_the_page(site: Site) -> None:
    for page in site.pages:
        listed = [(name, words) for level, name, words in page.headings if level == 2]
        shown = [(name, words.strip()) for name, words in Reader(page.html).headings]
        assert shown == listed, page.path


@pytest.mark.parametrize(
    ("path", "answers"),
    [
        (
            "engines/K-07/index.md",
            ["stops it first, in about 11–29 h", "Next due: oil, in 0.4 h or on 24 Apr 2027", "3 of 4 parts"],
        ),
        ("parts/RB-1042.md", ["67 % of its allowance is used", "µm/h", "meets its limit in about"]),
        ("engines/K-07/teardowns/2026-10-12.md", ["is near the limit", "1 reading, 1 photo", "1 place not looked at"]),
        ("index.md", ["K-07: rotor bearing 2 stops it first, in about 11–29 h", "Next due: K-07, oil, in 0.4 h"]),
    ],
)
def test_the_answer_stands_before_the_first_section(site: Site, path: str, answers: list[str]) -> None:
    opening = Reader(page_of(site, path).html.split("<section", 1)[0]).text.replace("\xa0", " ").replace("\u2060", "")
    for words in answers:
        assert words in opening


def test_every_reading_names_its_line(site: Site) -> None:
    strip = page_of(site, "engines/K-07/teardowns/2026-10-12.md").html
    measured = strip.split('id="measured"')[1].split("</section>")[0]
    assert measured.count("<small>line ") == measured.count("<tr role") - 1
    readings = page_of(site, "parts/RB-1042.md").html.split('id="readings"')[1]
    assert readings.count("<small>line 14</small>") == 3


def test_a_page_says_where_its_figures_come_from_and_what_they_are_not(site: Site) -> None:
    for page in site.pages:
        foot = Reader(page.html.split('<footer class="foot">')[1]).text.replace("\xa0", " ").replace("\u2060", "")
        assert "Figures of 2 Nov 2026, commit 4f2a91c" in foot
        assert "no certificate of fitness" in foot
    engine_foot = page_of(site, "engines/K-07/index.md").html.split('<footer class="foot">')[1]
    assert "maker’s data and the rules of the event" in engine_foot


def test_doubts_stand_on_the_page_they_concern(site: Site) -> None:
    assert "A bore that grew back" in page_of(site, "engines/K-07/teardowns/2026-10-12.md").html
    assert "A run with no hours" in page_of(site, "engines/K-07/log.md").html
    assert '<p class="say">' not in page_of(site, "engines/K-07/builds/2025-02-20.md").html


def test_drafts_wait_on_the_front_page(site: Site) -> None:
    assert "inbox/2026-10-30-phone.zip" in Reader(page_of(site, "index.md").html).text


def test_a_photo_is_published_small_and_large_under_a_name_of_ours(site: Site) -> None:
    stem = "engines/K-07/photos/teardown-2026-10-12-rotor-bearing-2-loaded-side-01"
    assert {f"{stem}-480.jpg", f"{stem}-1600.jpg"} == {path for path in site.files if path.endswith(".jpg")}
    assert Image.open(io.BytesIO(site.files[f"{stem}-480.jpg"]())).size == (480, 360)
    assert site.problems == ()
    assert all("rb2.jpg" not in page.html for page in site.pages)


@pytest.mark.parametrize(
    ("data", "words"), [(b"no picture at all", "photo cannot be shown"), (None, "photo is missing")]
)
def test_a_photo_that_cannot_be_shown_is_an_open_frame_and_a_doubt(
    cache: Cache, data: bytes | None, words: str
) -> None:
    site = build_pages(shop(), None, "crew", no_photos if data is None else lambda _: data, cache)
    strip = page_of(site, "engines/K-07/teardowns/2026-10-12.md").html
    assert re.search(rf'<div class="not-photographed">rotor bearing 2<br>{words}</div>', strip)
    assert [(one.level, one.source) for one in site.problems] == [("doubt", PHOTO.source)]


def test_the_same_story_gives_the_same_bytes(cache: Cache, tmp_path: Path) -> None:
    first = build_pages(shop(), None, "crew", photographed, cache)
    second = build_pages(shop(), None, "crew", photographed, Cache(tmp_path / "another"))
    assert first.pages == second.pages
    assert {path: make() for path, make in first.files.items()} == {path: make() for path, make in second.files.items()}


def test_a_chart_is_drawn_once(cache: Cache, monkeypatch: pytest.MonkeyPatch) -> None:
    def drawn_again(*_: object) -> str:
        raise AssertionError("drawn although it lies in the cache")

    first = build_pages(shop(), None, "crew", no_photos, cache)
    drawn_again.__name__ = part_wear.draw_wear_chart.__name__
    monkeypatch.setattr(part_wear, "draw_wear_chart", drawn_again)
    assert build_pages(shop(), None, "crew", no_photos, cache).pages == first.pages


def many_engines(count: int, parts: int) -> ShopStory:
    engines = []
    for number in range(count):
        name = f"E-{number}"
        own = tuple(replace(bearing(), id=f"{name}-{part}", engine=name) for part in range(parts))
        sheets = tuple(replace(one, ref=replace(one.ref, engine=name)) for one in engine().sheets)
        engines.append(replace(engine(), id=name, parts=own, sheets=sheets, engine_map=(), fits=(), shortlist=()))
    return replace(shop(), engines=tuple(engines), parts=tuple(part for one in engines for part in one.parts))


@pytest.mark.parametrize(
    ("count", "parts", "sheets", "leaves"), [(2, 4, True, True), (5, 20, True, False), (25, 3, False, False)]
)
def test_navigation_stays_short(cache: Cache, count: int, parts: int, sheets: bool, leaves: bool) -> None:
    site = build_pages(many_engines(count, parts), None, "crew", no_photos, cache)
    paths = paths_in(site.nav)
    assert len(paths) <= MOST_IN_NAV
    assert {f"engines/E-{number}/index.md" for number in range(count)} <= set(paths)
    assert any("/teardowns/" in path for path in paths) is sheets
    assert any(path.startswith("parts/") for path in paths) is leaves
    assert {page.path for page in site.pages if page.in_nav} == set(paths)


def test_one_engine_alone_says_nothing_of_the_others(cache: Cache) -> None:
    site = build_pages(many_engines(3, 2), "E-1", "crew", no_photos, cache)
    assert len([page for page in site.pages if re.fullmatch(r"engines/[^/]+/index\.md", page.path)]) == 1
    for page in site.pages:
        assert not re.search(r"E-[02]\b", Reader(page.html).text), page.path
        assert not re.search(r"E-[02]\b", page.path)


def test_an_engine_that_is_not_told_cannot_be_published(cache: Cache) -> None:
    with pytest.raises(KeyError):
        build_pages(shop(), "K-08", "crew", no_photos, cache)


def bare(told: EngineStory) -> EngineStory:
    """An engine of which nothing but its file is written."""
    return replace(
        told,
        **dict.fromkeys(
            (
                *(
                    "parts",
                    "former_parts",
                    "fits",
                    "engine_map",
                    "shortlist",
                    "due",
                    "tests",
                    "sheets",
                    "log",
                    "fluids",
                ),
                *("incidents", "plan", "gaps", "limits", "grades", "instruments", "problems"),
            ),
            (),
        ),
        **dict.fromkeys(("name", "use", "commit", "since_build", "built", "last_teardown", "keep")),
        assembled=False,
        state="not measured",
    )


def test_an_engine_of_which_nothing_is_written_has_its_pages_all_the_same(cache: Cache) -> None:
    told = replace(shop(), engines=(bare(engine()),), parts=(), problems=(), inbox=(), commit=None)
    site = build_pages(told, None, "crew", no_photos, cache)
    page = Reader(page_of(site, "engines/K-07/index.md").html).text
    assert "cannot tell" in page
    assert "in no commit" in page


def test_a_shop_without_engines_has_a_front_page(cache: Cache) -> None:
    site = build_pages(replace(shop(), engines=(), parts=(), problems=(), inbox=()), None, "crew", no_photos, cache)
    assert [page.path for page in site.pages] == ["index.md", "methods.md"]


def test_a_shop_that_works_in_inches_reads_inches_first(cache: Cache) -> None:
    told = replace(engine(), units=("in", "mm"))
    site = build_pages(replace(shop(), engines=(told,)), None, "crew", no_photos, cache)
    part = Reader(page_of(site, "parts/RB-1042.md").html).text.replace("\xa0", " ").replace("\u2060", "")
    assert "2.3656 in" in part
    assert "60.086 mm" in part or "60.087 mm" in part
    assert "thou/h" in part


def test_styles_and_scripts_travel_with_the_site(site: Site) -> None:
    for path in (*STYLE_PATHS, *SCRIPT_PATHS):
        assert site.files[path]()
