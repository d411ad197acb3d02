"""The page "Compression and leak-down": trends drawn, the last test on the rotor, what it is consistent with, units."""

from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest

from engine_pages.history.tell import tell_shop
from engine_pages.pages.cache import Cache
from engine_pages.pages.chamber_faces import Face, rotor_faces
from engine_pages.pages.charts.chamber_trend import (
    ChamberDot,
    ChamberLine,
    ChamberPanel,
    ChamberTrendChart,
    draw_chamber_trend,
)
from engine_pages.pages.site import Site, build_pages
from engine_pages.records.checks.all import read_checked

from ..history.shop_for_tests import TODAY, texts
from .test_site import Reader, no_photos, page_of

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {rotor-1: {kind: rotor, row: 1}}
    kinds: {rotor: {}}
    tests:
      compression:
        unit: kPa
        at: 250 rpm
        limit: {min: 680}
        spread: {chambers: 100}
        curve: [[200, 0.9], [250, 1.0], [300, 1.05]]
"""
MARKED = "rpm: 250, faces: marked, "


def site(tmp_path: Path, *tests: str, family: str = FAMILY, test: str = "compression", first: str = "rotor-1") -> Site:
    """The site of an engine with one inspection after each 10 h; `tests` are what each says of its test."""
    files = {
        "families/single.yml": family,
        "engines/E1/builds/2026-01-01.yml": f"engine: E1\ndate: 2026-01-01\npositions: {{{first}: }}\n",
        "engines/E1/log.yml": "".join(f"- {{date: 2026-0{n}-10, kind: run, hours: 10}}\n" for n in range(1, 7)),
    }
    for n, said in enumerate(tests, start=1):
        files[f"engines/E1/inspections/2026-0{n}-20.yml"] = (
            f"engine: E1\ndate: 2026-0{n}-20\ntests: {{{test}: {{{said}}}}}\n"
        )
    return build_pages(tell_shop(read_checked(texts(files), TODAY)), None, "crew", no_photos, Cache(tmp_path))


def html(tmp_path: Path, *tests: str, family: str = FAMILY) -> str:
    return page_of(site(tmp_path, *tests, family=family), "engines/E1/tests.md").html


def page(tmp_path: Path, *tests: str, family: str = FAMILY) -> str:
    return str(Reader(html(tmp_path, *tests, family=family)).text).replace("\xa0", " ")


LOW = (MARKED + "rotor-1: [812, 806, 799]", MARKED + "rotor-1: [808, 801, 795]", MARKED + "rotor-1: [805, 798, 690]")


def test_three_tests_are_a_trend_and_a_low_face_is_said_to_be_consistent_with_its_seal(tmp_path: Path) -> None:
    text = page(tmp_path, *LOW)
    assert "Compression: lowest 690 kPa at 250 rpm, 20 Mar 2026." in text
    assert "Rotor 1, face 3 low against the others: consistent with its side seal." in text
    assert "Common practice, and no finding" in text
    assert "faces 115 kPa apart, at most 100 kPa" in text
    assert "low is what lies more than 100 kPa from the highest" in text


FALLING = tuple(f"{MARKED}rotor-1: {faces}" for faces in ("[800, 805, 798]", "[768, 771, 741]", "[752, 758, 690]"))


def test_a_falling_face_is_said_and_that_it_is_near_its_limit(tmp_path: Path) -> None:
    text = page(tmp_path, *FALLING)
    assert "Compression: Rotor 1 face 3 nearer to the limit than a test usually scatters." in text
    assert "Rotor 1, face 3 fell 108 kPa over 20.0 h, its neighbours about 48." in text
    assert "Rotor 1, 3 tests over 20.0 h: face 1 fell 48 kPa, face 2 fell 47 kPa, face 3 fell 108 kPa." in text
    assert "two tests of one engine commonly differ by up to 5 %; this is common practice" in text
    assert "None stands out" not in text


def test_the_engine_page_and_the_front_page_name_a_test_that_is_near_its_limit(tmp_path: Path) -> None:
    made = site(tmp_path, *FALLING)
    engine = str(Reader(page_of(made, "engines/E1/index.md").html).text)
    assert "Rotor 1 face 3 nearer to the limit than a test usually scatters" in engine
    assert "E1: compression is near its limit; chance of lasting its plan: cannot tell" in str(
        Reader(page_of(made, "index.md").html).text
    )


def test_a_bound_is_printed_as_written_and_is_never_the_lowest(tmp_path: Path) -> None:
    family = PISTON.replace('leak_down: {unit: "%", limit: {max: 12}}', "compression: {limit: {min: 680}}")
    made = site(tmp_path, "cylinder-1: 800..820, cylinder-2: over 700", family=family, first="cylinder-1")
    text = str(Reader(page_of(made, "engines/E1/tests.md").html).text).replace("\xa0", " ")
    assert "Compression: lowest 810 kPa, cylinder 1, 20 Jan 2026." in text
    assert "Cylinder 2: over 700 kPa, a bound, which is held against no other." in text
    assert "rings or valves." not in text.split("How to read it")[0]


def test_a_cylinder_that_could_not_be_measured_is_on_the_page_as_written(tmp_path: Path) -> None:
    text = leak_down(tmp_path, "cylinder-1: not measurable, cylinder-2: 6 %")
    assert "Leak-down: highest 6 %, cylinder 2, 20 Jan 2026. Cylinder 1: not measurable." in text
    assert text.count("not measurable") == 3  # in the answer, in the last test's words, in the table of tests
    alone = leak_down(tmp_path, "cylinder-1: not measurable")
    assert "Leak-down: no figure, 20 Jan 2026. Cylinder 1: not measurable." in alone


@pytest.mark.parametrize(
    ("spread", "faces", "why"),
    [
        ("", "faces: marked, ", "the family gives no spread of chambers for it."),
        ("spread: {chambers: 100}", "", "the sheet does not say that faces are marked (faces: marked)."),
        (
            "",
            "",
            "the sheet does not say that faces are marked (faces: marked) and the family gives no spread of chambers",
        ),
    ],
)
def test_why_nothing_can_stand_out_is_said_and_nothing_else(tmp_path: Path, spread: str, faces: str, why: str) -> None:
    family = FAMILY.replace("spread: {chambers: 100}", spread)
    text = page(tmp_path, f"rpm: 250, {faces}rotor-1: [812, 806, 799]", family=family)
    assert f"Which chambers stand out in compression cannot be told: {why}" in text


def test_the_last_test_is_drawn_on_the_rotor_with_its_low_face_in_words(tmp_path: Path) -> None:
    drawn = html(tmp_path, *LOW).replace("\xa0", " ")
    assert drawn.count('class="rotor-faces"') == 1
    assert "Rotor 1: face 1 805 kPa, face 2 798 kPa, face 3 690 kPa, low" in drawn


def test_the_table_is_folded_and_holds_every_test_with_its_speed(tmp_path: Path) -> None:
    drawn = html(tmp_path, *LOW).replace("\xa0", " ")
    assert "<summary>Every compression test, 3 lines</summary>" in drawn
    assert drawn.count("250 rpm</small>") == 3


def test_faces_that_are_not_marked_are_not_drawn_and_the_lowest_counts(tmp_path: Path) -> None:
    tests = ("rpm: 250, rotor-1: [812, 806, 799]", "rpm: 250, rotor-1: [808, 801, 640]")
    drawn = html(tmp_path, *tests)
    assert "rotor-faces" not in drawn
    assert "the lowest of each is drawn" in drawn
    assert "rotor 1: 808, 801, 640 kPa" in page(tmp_path, *tests)
    assert "consistent with its side seal (" not in drawn


def test_what_was_not_brought_to_the_standard_speed_is_said_with_its_reason(tmp_path: Path) -> None:
    without = FAMILY.replace("        curve: [[200, 0.9], [250, 1.0], [300, 1.05]]\n", "")
    text = page(tmp_path, "rpm: 262, faces: marked, rotor-1: [812, 806, 799]", family=without)
    assert "lowest 799 kPa as read" in text
    assert "Not corrected, 20 Jan 2026: the family gives no curve for the cranking speed." in text
    outside = page(tmp_path, "rpm: 330, faces: marked, rotor-1: [812, 806, 799]")
    assert "330 rpm lies outside the curve, 200 to 300 rpm" in outside


def test_a_corrected_figure_stands_beside_the_one_that_was_read(tmp_path: Path) -> None:
    text = page(tmp_path, "rpm: 300, faces: marked, rotor-1: [840, 840, 840]")
    assert "840, 840, 840 kPa" in text
    assert "800, 800, 800 kPa" in text  # ÷ 1.05
    assert "Brought to 250 rpm by the family’s curve." in text


def test_a_bare_reading_is_shown_with_the_unit_that_its_sheet_names(tmp_path: Path) -> None:
    # 1 psi = 6.894757 kPa (NIST SP 811, table B.8)
    assert "813.6 kPa (written 118 psi)" in page(
        tmp_path, "rpm: 250, unit: psi, faces: marked, rotor-1: [118, 117, 116]"
    )


def test_the_engine_s_page_leads_there_and_does_not_claim_a_speed_that_was_not_met(tmp_path: Path) -> None:
    made = page_of(site(tmp_path, "rpm: 330, faces: marked, rotor-1: [812, 806, 799]"), "engines/E1/index.md").html
    assert "Compression and leak-down over time" in made
    text = str(Reader(made).text).replace("\xa0", " ")
    assert "799–812 kPa as read (330 rpm lies outside the curve, 200 to 300 rpm)" in text


PISTON = """
    family: single
    architecture: piston
    exposure: hours
    positions: {cylinder-1: {kind: pot, row: 1}, cylinder-2: {kind: pot, row: 2}}
    kinds: {pot: {}}
    tests: {leak_down: {unit: "%", limit: {max: 12}}}
"""


def leak_down(tmp_path: Path, *tests: str) -> str:
    said = (f"supply: 100 psi, {test}" for test in tests)
    made = site(tmp_path, *said, family=PISTON, test="leak_down", first="cylinder-1")
    return str(Reader(page_of(made, "engines/E1/tests.md").html).text).replace("\xa0", " ")


def test_what_is_outside_its_limit_is_said_first_and_what_cannot_be_told_is_said(tmp_path: Path) -> None:
    text = leak_down(tmp_path, "cylinder-1: 5 %, cylinder-2: 75 psi")
    assert "Leak-down: highest 25 %, cylinder 2, 20 Jan 2026. Leak-down: Cylinder 2 outside the limit." in text
    assert "Which chambers stand out in leak-down cannot be told" in text
    assert "in %" in text  # 75 psi of 100 psi left is a loss of 25 %
    assert "None stands out" not in text


def test_leak_downs_through_different_orifices_are_said_not_to_compare(tmp_path: Path) -> None:
    same = leak_down(tmp_path, *["orifice: 1 mm, cylinder-1: 5 %, cylinder-2: 6 %"] * 2)
    assert "do not compare" not in same
    other = leak_down(tmp_path, "orifice: 1 mm, cylinder-1: 5 %, cylinder-2: 6 %", "cylinder-1: 5 %, cylinder-2: 6 %")
    assert "Orifices differ, 1 mm and one that is not written: across them the figures do not compare." in other


def test_an_engine_that_nobody_tested_says_so(tmp_path: Path) -> None:
    assert "No test is written." in page(tmp_path)


def chart(*dots: ChamberDot, by_day: bool = False) -> ChamberTrendChart:
    lines = (ChamberLine("face 1", "1", dots), ChamberLine("face 2", "2", dots))
    return ChamberTrendChart("Compression", "kPa", 0, (ChamberPanel("Rotor 1", lines),), (680.0,), (15.0,), by_day)


def strokes(svg: str) -> int:
    """Lines of the trend: those in the colour of steel that are not dots."""
    root = ElementTree.fromstring(svg)
    return sum(1 for one in root.iter() if one.get("stroke") == "var(--steel)" and one.get("fill") == "none")


@pytest.mark.parametrize("width", [700, 358])
def test_a_trend_is_drawn_and_read_out_with_its_limit(width: int) -> None:
    svg = draw_chamber_trend(chart(ChamberDot(10.0, 812.0, 0), ChamberDot(20.0, 808.0, 0)), width)
    assert "Rotor 1: face 1 812 at 10.0 h, 808 at 20.0 h, face 2" in svg
    assert "limit 680" in svg
    assert f'viewBox="0 0 {width}' in svg


@pytest.mark.parametrize("width", [700, 358])
def test_no_grid_line_strikes_through_the_words_of_a_limit(width: int) -> None:
    svg = draw_chamber_trend(chart(ChamberDot(10.0, 812.0, 0), ChamberDot(20.0, 690.0, 0)), width)
    words = svg.index(">limit 680<")
    ground = svg.rindex('fill="var(--paper)"', 0, words)
    assert ground > svg.rindex('stroke="var(--hairline)"')


def test_a_line_breaks_at_a_build_and_between_what_is_as_read_and_what_is_not() -> None:
    one = ChamberDot(10.0, 812.0, 0)
    assert strokes(draw_chamber_trend(chart(one, ChamberDot(20.0, 808.0, 0)), 700)) == 2
    assert strokes(draw_chamber_trend(chart(one, ChamberDot(20.0, 808.0, 1)), 700)) == 0
    assert strokes(draw_chamber_trend(chart(one, ChamberDot(10.0, 808.0, 1)), 700)) == 0  # stripped and built: no hours
    assert strokes(draw_chamber_trend(chart(one, ChamberDot(20.0, 808.0, 0, as_read=True)), 700)) == 0


def test_an_engine_that_counts_no_hours_has_its_tests_by_date() -> None:
    first, last = (float(date(2026, month, 20).toordinal()) for month in (1, 9))
    svg = draw_chamber_trend(chart(ChamberDot(first, 812.0, 0), ChamberDot(last, 808.0, 0), by_day=True), 700)
    assert "812 on 20 Jan 2026, 808 on 20 Sep 2026" in svg.replace("\xa0", " ")


def test_a_trend_without_a_test_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a test"):
        draw_chamber_trend(ChamberTrendChart("", "kPa", 0, (), (), ()), 700)


def test_a_rotor_has_three_faces() -> None:
    with pytest.raises(ValueError, match="3 faces, not 2"):
        rotor_faces("Rotor 1", [Face("812 kPa", False)] * 2)


def test_a_name_on_a_rotor_is_escaped() -> None:
    assert "<b>" not in rotor_faces('"<b>"', [Face("812 kPa", False)] * 3)
