"""What nobody wrote a limit for is never called within it: parts, clearances, tests, and the sheets that hold them."""

from pathlib import Path

from msgspec.structs import replace

from engine_pages.history.status import part_said
from engine_pages.pages.cache import Cache
from engine_pages.pages.lives_table import lives_table
from engine_pages.pages.sale_page import _written
from engine_pages.pages.sheet_page import _answer
from engine_pages.pages.site import Site, build_pages

from ..history.shop_for_tests import engine, sheet, told
from .test_page_details import plain, read
from .test_site import no_photos

LIMIT = ", limit: {max: 60.100}, source: manual"
FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing-1: bearing, rotor-1: rotor, shaft: shaft}
    kinds:
      bearing: {dimensions: {inside: {unit: mm, wears: up, instrument: micLIMIT}}}
      rotor: {dimensions: {width: {unit: mm, wears: down, instrument: mic}}}
      shaft: {dimensions: {journal: {unit: mm, wears: down, instrument: mic}}}
    fits: {clearance-1: {name: Bearing clearance, row: 1, outer: bearing-1.inside, inner: shaft.journal}}
    tests: {compression: {unit: kPa}}
"""
STRIP = (
    "bearing-1: {part: B-1, measured: {inside: 60.050}}, rotor-1: {part: R-1, measured: {width: 79.91}}, "
    "shaft: {part: S-1, measured: {journal: 59.990}}"
)


def shop(limit: str = "") -> dict[str, str]:
    return {
        "shop.yml": "instruments: {mic: {repeat: 0.001 mm, zero: 0.001 mm}}\n",
        "families/single.yml": FAMILY.replace("LIMIT", limit),
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", STRIP),
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 10}\n",
        "engines/E1/inspections/2026-02-10.yml": (
            "engine: E1\ndate: 2026-02-10\ntemperature: 22\ntests: {compression: {rotor-1: 806..815}}\n"
        ),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet("2026-03-01", STRIP),
    }


def site(files: dict[str, str], to: Path) -> Site:
    return build_pages(told(files), None, "crew", no_photos, Cache(to / "cache"))


def test_a_shop_without_limits_reads_within_on_no_page(tmp_path: Path) -> None:
    made = site(shop(), tmp_path)
    for path in ("engines/E1/index.md", "parts/R-1.md", "parts/B-1.md", "engines/E1/teardowns/2026-03-01.md"):
        page = read(made, path)
        assert "no limit written" in page
        assert "within" not in page.replace("within its", "")
    whole = {path: text for path, text in shop().items() if "teardown" not in path}
    assert "kPa: no limit written." in read(site(whole, tmp_path), "engines/E1/index.md")


def test_a_part_is_within_where_one_of_its_dimensions_has_a_limit() -> None:
    parts = {one.id: part_said(one) for one in engine(told(shop(LIMIT))).parts}
    assert parts == {"B-1": "within", "R-1": "no limit written", "S-1": "no limit written"}


def test_the_state_in_the_figures_keeps_its_name() -> None:
    assert {one.state for one in engine(told(shop())).parts} == {"within"}


def test_a_sheet_claims_its_limits_only_for_what_has_one() -> None:
    strip = engine(told(shop(LIMIT))).sheets[-1]
    assert (
        plain(_answer(strip)[0]) == "What has a limit is within it; no limit written for 3 of 4 figures."
    )  # one of them is worked out
    assert _answer(replace(strip, measured=strip.measured[:0]))[0] == "Nothing was measured against a limit."
    judged = tuple(row for row in strip.measured if row.reading.verdict == "within")
    good = replace(strip, measured=judged)
    assert _answer(good)[0] == "Everything measured is within its limits."
    cracked = tuple(replace(found, decision="replace") for found in good.found[:1])
    told_so = "Everything measured is within its limits; 1 place goes out all the same."
    assert plain(_answer(replace(good, found=(*cracked, *good.found[1:])))[0]) == told_so


def test_an_inspection_whose_test_has_no_limit_does_not_call_it_within() -> None:
    inspection = engine(told(shop())).sheets[1]
    assert [test.why for test in inspection.tests] == ["no limit written"]
    assert _answer(inspection)[0] == "Nothing was measured against a limit."


def test_a_bare_temperature_on_a_sheet_is_in_degrees(tmp_path: Path) -> None:
    assert "22 °C" in read(site(shop(), tmp_path), "engines/E1/inspections/2026-02-10.md")


def test_what_is_not_known_names_its_file_to_the_crew_alone(tmp_path: Path) -> None:
    def not_known(edition: str) -> tuple[str, str]:
        made = build_pages(told(shop(LIMIT)), None, edition, no_photos, Cache(tmp_path / "cache"))
        pages = {one.path.removeprefix("engines/E1/"): one.html for one in made.pages if one.path != "index.md"}
        front = pages.get("index.md") or next(one.html for one in made.pages if one.path == "index.md")
        gaps = pages["gaps.md"].partition("<section")[2].rpartition("</section>")[0]
        return front.partition('id="gaps"')[2].partition("</section>")[0], gaps

    assert all(".yml" in html for html in not_known("crew"))
    assert all(html and ".yml" not in html for html in not_known("owner"))


# ── what was worked out was not read; a gauge that is named is not called unnamed ────────────────────────────────────


def test_a_sheet_counts_what_was_read_apart_from_what_is_worked_out(tmp_path: Path) -> None:
    page = read(site(shop(), tmp_path), "engines/E1/teardowns/2026-03-01.md")
    assert "3 readings, 1 worked out, no photos." in page
    assert "worst first, 3 readings, 1 worked out" in page


def test_a_sale_summary_counts_readings_as_the_sheets_do() -> None:
    lines = {plain(line.strong): plain(line.text) for line in _written(engine(told(shop()))).lines}
    assert lines["6 readings:"] == "6 with a gauge named, 0 without; 2 more figures worked out."


def test_a_page_says_whose_uncertainty_is_assumed(tmp_path: Path) -> None:
    unnamed = "Where no gauge is named, its uncertainty is assumed."
    too_little = "Where the shop gives a gauge no repeat and zero, its uncertainty is assumed from its resolution and"
    resolved = {"shop.yml": "instruments: {mic: {resolution: 0.001 mm}}\n"}
    nameless = {"families/single.yml": shop()["families/single.yml"].replace(", instrument: mic", "")}
    for change, said in (({}, (False, False)), (resolved, (False, True)), (nameless, (True, False))):
        made = site({**shop(), **change}, tmp_path)
        for path in ("parts/B-1.md", "engines/E1/teardowns/2026-03-01.md"):
            page = read(made, path)
            assert (unnamed in page, too_little in page) == said


def test_a_life_without_an_interval_is_not_called_unlimited() -> None:
    table = lives_table(engine(told(shop())))
    assert table is not None
    assert {str(row[-1].text) for row in table.rows} == {"no interval written"}
