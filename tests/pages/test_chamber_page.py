"""The page of an engine's tests: trends drawn, what they are consistent with, and every figure with its unit."""

from pathlib import Path

import pytest

from engine_pages.history.tell import tell_shop
from engine_pages.pages.cache import Cache
from engine_pages.pages.charts.chamber_trend import ChamberLine, ChamberLines, draw_chamber_lines
from engine_pages.pages.site import build_pages
from engine_pages.records.checks.all import read_checked

from ..history.shop_for_tests import TODAY, texts
from .test_site import Reader, no_photos, page_of

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {rotor-1: {kind: rotor, row: 1}}
    kinds: {rotor: {}}
    tests: {compression: {unit: kPa, at: 250 rpm, limit: {min: 680}, spread: {chambers: 100}}}
"""


def page(tmp_path: Path, *faces: str) -> str:
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: }\n",
        "engines/E1/log.yml": "".join(f"- {{date: 2026-0{n}-10, kind: run, hours: 10}}\n" for n in range(1, 7)),
    }
    for n, test in enumerate(faces, start=1):
        files[f"engines/E1/inspections/2026-0{n}-20.yml"] = (
            f"engine: E1\ndate: 2026-0{n}-20\ntests: {{compression: {{rpm: 250, faces: marked, rotor-1: {test}}}}}\n"
        )
    story = tell_shop(read_checked(texts(files), TODAY))
    site = build_pages(story, None, "crew", no_photos, Cache(tmp_path))
    return str(Reader(page_of(site, "engines/E1/tests.md").html).text).replace("\xa0", " ")


def test_three_tests_are_a_trend_and_a_low_face_is_said_to_be_consistent_with_its_seal(tmp_path: Path) -> None:
    text = page(tmp_path, "[812, 806, 799]", "[808, 801, 795]", "[805, 798, 690]")
    assert "Tested without taking apart on 3 sheets. Rotor 1: one face low beside the others" in text
    assert "consistent with its side seal" in text
    assert "Common practice, and no finding" in text
    assert "Last apart: 115 kPa." in text
    assert text.count("kPa") > 6


def test_an_engine_that_nobody_tested_says_so(tmp_path: Path) -> None:
    assert "No test is written." in page(tmp_path)


@pytest.mark.parametrize("width", [700, 358])
def test_a_trend_is_drawn_and_read_out_with_its_limit(width: int) -> None:
    lines = (
        ChamberLine("face 1", ((10.0, 812.0), (20.0, 808.0))),
        ChamberLine("face 2", ((10.0, 806.0), (20.0, 801.0))),
    )
    svg = draw_chamber_lines(ChamberLines("Compression, rotor 1", "kPa", lines, (680.0,), (15.0,)), width)
    assert "face 1: 812 at 10.0 h, 808 at 20.0 h" in svg
    assert "limit 680" in svg
    assert f'viewBox="0 0 {width}' in svg


def test_a_trend_without_a_point_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a point"):
        draw_chamber_lines(ChamberLines("", "kPa", (), (), ()), 700)
