"""The page of a kind: how long such parts last, how fast they wear, and what cannot be told, in words and charts."""

import hashlib
import json
from datetime import date
from pathlib import Path

import pytest
from msgspec.structs import replace

from engine_pages.history.story import ShopStory
from engine_pages.history.tell import tell_shop
from engine_pages.pages.cache import Cache
from engine_pages.pages.charts.life_rows import LifeRow, LifeRows, draw_life_rows
from engine_pages.pages.charts.lives_curve import (
    LivesCurve,
    Piece,
    RenewalsCurve,
    draw_lives_curve,
    draw_renewals_curve,
)
from engine_pages.pages.charts.rates_dots import RateRow, RatesDots, draw_rates_dots
from engine_pages.pages.site import Site, build_pages
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Folder

from ..history.shop_for_tests import TODAY, sheet, texts
from ..history.test_change_questions import with_shaft
from ..history.test_kinds import renewed, wearing
from .test_site import Reader, no_photos, page_of, paths_in

SEALS, BEARINGS = "kinds/twin-rotor/apex-seal.md", "kinds/twin-rotor/rotor-bearing.md"


@pytest.fixture(scope="module")
def story() -> ShopStory:
    return tell_shop(read_checked(Folder(Path(__file__).parents[2] / "records"), date(2026, 11, 25)))


@pytest.fixture(scope="module")
def site(story: ShopStory, tmp_path_factory: pytest.TempPathFactory) -> Site:
    return build_pages(story, None, "crew", no_photos, Cache(tmp_path_factory.mktemp("cache")))


def read(site: Site, path: str) -> str:
    return str(Reader(page_of(site, path).html).text).replace("\xa0", " ").replace("\u2060", "")


def test_with_failures_enough_the_life_that_nine_of_ten_reach_stands_first(site: Site) -> None:
    text = read(site, SEALS)
    first = text.index("9 of 10 reach 15.2 (12.2–18.9) h.")
    assert first < text.index("found on 2 sheets: the interval is too narrow.") < text.index("How long they last")
    assert "Weibull shape 5.1 (3.0–8.6), above 1: they wear out" in text
    assert "what fails together is one thing that happened" in text


def test_under_three_failures_the_raw_lives_stand_and_the_page_says_so(site: Site) -> None:
    text, html = read(site, BEARINGS), page_of(site, BEARINGS).html
    assert "cannot tell, no curve is drawn through fewer than 3 failures." in text
    assert "damaged, 10.4–16.9 h" in text
    assert "Share still good" not in html


def test_how_many_were_measured_is_said_with_what_it_means(site: Site) -> None:
    text = read(site, "kinds/twin-rotor/oil-pump.md")
    assert "1 of 2 measured: parts are often measured because they look bad" in text


def test_a_dimension_that_nobody_read_is_named(site: Site) -> None:
    assert "Never measured: deck flatness." in read(site, "kinds/inline-four/cylinder-block.md")


def test_rates_are_told_by_place_and_oil_with_ranks_and_never_as_causes(site: Site) -> None:
    text = read(site, BEARINGS)
    for words in (
        "A constant rate fits (23 readings).",
        "RB-1036 is the fastest of 6",
        "By place: rotor bearing 1: 1.10–1.25 (2 rates)",
        "By oil, a part that ran on several under all of them: ester-15w50: 1.01–1.11 (2 rates)",
        "A difference between such groups is no cause by itself.",
    ):
        assert words in text, words
    assert "Lines rest on readings from 2.4 h on" in read(site, SEALS)


def test_every_section_says_how_it_is_to_be_read(site: Site) -> None:
    assert read(site, SEALS).count("How to read it:") == 5  # curve, lives, renewals, two dimensions


def test_every_chart_has_both_widths_its_words_and_its_figures(site: Site) -> None:
    html = page_of(site, SEALS).html
    assert html.count('class="chart wide"') == html.count('class="chart narrow"') == html.count("<details") == 5
    assert html.count("<desc ") == 10


def test_the_joint_summary_lies_in_the_site_by_its_content(site: Site) -> None:
    paths = [path for path in site.files if path.startswith("kinds/twin-rotor/rotor-bearing-inside_diameter.")]
    assert len(paths) == 1
    content = site.files[paths[0]]()
    assert hashlib.sha256(content).hexdigest()[:12] == paths[0].split(".")[1]
    assert json.loads(content)["known"]["parts"] == 6
    assert paths[0].rsplit("/", 1)[1] in page_of(site, BEARINGS).html


def test_the_page_is_reached_from_its_parts_and_the_front_page_and_is_not_in_the_navigation(site: Site) -> None:
    assert "kinds/twin-rotor/rotor-bearing.html" in page_of(site, "parts/RB-1042.md").html
    assert "kinds/twin-rotor/rotor-bearing.html" in page_of(site, "index.md").html
    assert BEARINGS not in paths_in(site.nav)


def small_story() -> ShopStory:
    """Two bearings in one engine, and a second engine without a part."""
    told = tell_shop(read_checked(texts(wearing()), TODAY))
    return replace(told, engines=(*told.engines, replace(told.engines[0], id="E2")))


def built(files: dict[str, str], tmp_path: Path) -> str:
    """What the page of bearings says in a shop of these files."""
    told = tell_shop(read_checked(texts(files), TODAY))
    return read(build_pages(told, None, "crew", no_photos, Cache(tmp_path)), "kinds/single/bearing.md")


def test_where_engines_stay_apart_after_a_renewal_the_page_says_how_far_it_is_told(tmp_path: Path) -> None:
    text = built(renewed(run_on=False), tmp_path)
    assert "4 parts taken out for good from 4 places of E1, E2, E3 and E4: 0.2 (0.0 to 0.7) a place by 10.0 h." in text
    assert "It is told no further: E1 came apart there and has not run since. 3 parts went out later." in text


def test_engines_that_run_on_are_told_to_the_end(tmp_path: Path) -> None:
    text = built(renewed(run_on=True), tmp_path)
    assert "1.0 a place by 13.0 h." in text
    assert "It is told no further" not in text


def test_a_part_that_a_strip_says_nothing_of_is_out_with_nothing_written(tmp_path: Path) -> None:
    files = wearing()
    files["engines/E1/teardowns/2026-12-01/teardown.yml"] = sheet("2026-12-01", "b-1: {decision: reuse}")
    text = built(files, tmp_path)
    assert "out: nothing written, 50.0 h" in text
    assert "taken out, nothing written" in text
    assert "running" not in text


@pytest.mark.parametrize(("engine", "edition"), [("E1", "crew"), (None, "owner")])
def test_no_kind_is_on_the_site_of_one_engine_or_of_another_edition(
    engine: str | None, edition: str, tmp_path: Path
) -> None:
    whole = build_pages(small_story(), None, "crew", no_photos, Cache(tmp_path))
    site = build_pages(small_story(), engine, edition, no_photos, Cache(tmp_path))
    assert "kinds/single/bearing.md" in {page.path for page in whole.pages}
    assert not [page.path for page in site.pages if page.path.startswith("kinds/")]
    assert not [path for path in site.files if path.startswith("kinds/")]


def test_a_shop_that_reads_inches_reads_its_rates_so(tmp_path: Path) -> None:
    story = small_story()
    engines = tuple(replace(one, units=("in", "mm")) for one in story.engines)
    site = build_pages(replace(story, engines=engines), None, "crew", no_photos, Cache(tmp_path))
    text = read(site, "kinds/single/bearing.md")
    assert "thou/h" in text
    assert "µm/h" not in text


@pytest.mark.parametrize("width", [700, 358])
def test_charts_of_a_kind_say_what_they_show(width: int) -> None:
    lives = draw_life_rows(LifeRows("hours", (LifeRow("B-1", "worn, 10–30 h", 0.0, 10.0, 30.0, failed=True),)), width)
    curve = draw_lives_curve(LivesCurve("hours", (Piece(0.0, 10.0, 1.0, 0.6, 1.0, sure=True),)), width)
    used = draw_renewals_curve(RenewalsCurve("hours", ((10.0, 0.5, None, None), (20.0, 1.0, 0.2, 1.8)), 25.0), width)
    rates = draw_rates_dots(RatesDots("wear, µm/h", (RateRow("B-1", "E1 b 1", 1.0, -0.5, 2.5),)), width)
    for svg, words in (
        (lives, "B-1: 30.0, worn, 10–30 h"),
        (curve, "100% (60% to 100%)"),
        (used, "1.00 by 20.0"),
        (rates, "B-1 1 (-0.5 to 2.5)"),
    ):
        assert words in svg
        assert f'viewBox="0 0 {width}' in svg


def test_a_chart_of_nothing_is_refused() -> None:
    for empty in (
        lambda: draw_life_rows(LifeRows("hours", ()), 700),
        lambda: draw_rates_dots(RatesDots("wear", ()), 700),
        lambda: draw_lives_curve(LivesCurve("hours", ()), 700),
        lambda: draw_renewals_curve(RenewalsCurve("hours", (), 1.0), 700),
    ):
        with pytest.raises(ValueError, match="needs"):
            empty()


def test_two_parts_that_plainly_wear_are_too_few_to_say_for_a_third(tmp_path: Path) -> None:
    told = tell_shop(read_checked(texts(with_shaft()), TODAY))
    text = read(build_pages(told, None, "crew", no_photos, Cache(tmp_path)), "kinds/single/bearing.md")
    assert "Wear shows in inside." in text
    assert "Wear shows in the parts measured; too few parts to say for any such part." in text
    assert "no wear measurable yet." not in text.replace("An interval that holds zero is no wear measurable yet.", "")


def test_a_part_that_ran_on_two_oils_is_told_with_what_it_ran_on_each(tmp_path: Path) -> None:
    told = tell_shop(read_checked(texts(with_shaft("thick thick thick thin thin")), TODAY))
    text = read(build_pages(told, None, "crew", no_photos, Cache(tmp_path)), "kinds/single/bearing.md")
    assert "thick 30.0 h, thin 20.0 h" in text
    assert "2 oils" in text
