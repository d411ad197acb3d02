"""What charts are made of: widths of letters, scales, the sheet, the way from a figure to a page."""

import re
from datetime import date
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import matplotlib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.ticker import MaxNLocator

from engine_pages.pages.charts.labels import Label, Spot, place, shortened, width_of
from engine_pages.pages.charts.paints import BEYOND, INK, Spoken
from engine_pages.pages.charts.scales import date_ticks, rounded_out, span_text, tick_texts, ticks
from engine_pages.pages.charts.series_line import series_line
from engine_pages.pages.charts.shapes import Box
from engine_pages.pages.charts.sheet import Sheet
from engine_pages.pages.charts.wear_strokes import spread

SVG = "{http://www.w3.org/2000/svg}"
START = date(2025, 2, 5)


def test_dates_on_an_axis_keep_their_distance() -> None:
    for end in (date(2025, 3, 1), date(2026, 11, 2), date(2034, 1, 1), date(2090, 1, 1)):
        turns = date_ticks(START, end, 640, 70)
        apart = [(after - before).days for (before, _), (after, _) in pairwise(turns)]
        assert all(days / (end - START).days * 640 >= 65 for days in apart)


def test_a_colour_that_is_not_a_paint_is_refused() -> None:
    sheet = Sheet(100, 50)
    sheet.line([(0, 25), (100, 25)], "#123456")
    with pytest.raises(ValueError, match="not one of the paints"):
        sheet.svg(Spoken("t", "d"), "k")


def test_strokes_of_one_look_are_drawn_in_one_go_but_not_where_they_shine_through() -> None:
    def strokes(opacity: float, second: str) -> int:
        sheet = Sheet(100, 50)
        sheet.line([(0, 0), (100, 50)], INK, opacity=opacity)
        sheet.line([(0, 50), (100, 0)], second, opacity=opacity)
        return len(ElementTree.fromstring(sheet.svg(Spoken("t", "d"), "k")).findall(f"{SVG}path"))

    assert strokes(1, INK) == 1
    assert strokes(1, BEYOND) == 2
    assert strokes(0.5, INK) == 2


def test_what_is_kept_inside_a_box_names_the_box_once() -> None:
    sheet = Sheet(100, 50)
    for paint in (INK, BEYOND):
        sheet.line([(0, 0), (100, 50)], paint, clip=Box(10, 10, 90, 40))
    svg = ElementTree.fromstring(sheet.svg(Spoken("t", "d"), "k"))
    (box,) = svg.iter(f"{SVG}clipPath")
    assert [rect.attrib for rect in box] == [{"x": "10", "y": "10", "width": "80", "height": "30"}]
    assert {path.get("clip-path") for path in svg.findall(f"{SVG}path")} == {f"url(#{box.get('id')})"}


def test_words_are_kept_as_words_whatever_they_hold() -> None:
    sheet = Sheet(100, 50)
    sheet.text((0, 20), "$a$ < b & c\n\u00b5\x07", bold=True, halo=True)
    (text,) = ElementTree.fromstring(sheet.svg(Spoken("t", "d"), "k")).findall(f"{SVG}text")
    assert text.text == "$a$ < b & c \u00b5"
    assert (text.get("font-weight"), text.get("class")) == ("700", "halo")


# Where an axis has its figures, by a library that has drawn axes for twenty years: matplotlib's MaxNLocator. It takes
# another step where a range misses it by the last bit of a float; the odd ends here keep clear of that.
@given(
    st.integers(-(10**6), 10**6).map(lambda n: n / 1000 + 0.00005678),
    st.integers(1, 10**6).map(lambda n: n / 1000 + 0.0001234),
    st.integers(1, 9),
)
def test_round_values_on_an_axis_against_matplotlibs_locator(low: float, width: float, most: int) -> None:
    high = low + width
    theirs = MaxNLocator(nbins=most, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    slack = width * 1e-9
    assert ticks(low, high, most) == pytest.approx(
        [value for value in theirs if low - slack <= value <= high + slack], abs=1e-9
    )
    assert rounded_out(low, high, most) == pytest.approx((min(theirs[0], low), max(theirs[-1], high)), abs=1e-9)


# Adobe's font metrics of Helvetica, the file phvr8a.afm that matplotlib carries: "C 48 ; WX 556 ; N zero ; …" is the
# width of character 48 in thousandths of the letters' height.
def test_letter_widths_against_adobe_helvetica_afm() -> None:
    metrics = Path(matplotlib.get_data_path(), "fonts", "afm", "phvr8a.afm").read_text(encoding="ascii")
    widths = {int(code): int(width) for code, width in re.findall(r"^C (\d+) ; WX (\d+) ;", metrics, re.MULTILINE)}
    for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 .,:;/%+-()":
        code = {"-": 173}.get(letter, ord(letter))  # its 45 is the true minus, 584 wide; a hyphen is 173
        assert width_of(letter) == pytest.approx(widths[code] * 13 / 1000), letter


def test_an_axis_that_ends_on_a_round_value_shows_it() -> None:
    assert ticks(0.008, 0.009, 2) == [0.008, 0.0085, 0.009]
    assert ticks(0.1, 0.1 + 0.2, 2) == [0.1, 0.2, 0.3]
    assert ticks(60.04, 60.06, 4) == [60.04, 60.045, 60.05, 60.055, 60.06]
    assert ticks(3.0, 3.0, 4) == [3.0]
    assert len(set(tick_texts(ticks(856062801.89, 856062801.95, 4)))) == 3


def test_words_are_shortened_to_their_room() -> None:
    assert shortened("clearance on shaft", 500) == "clearance on shaft"
    cut = shortened("clearance on shaft", 60)
    assert cut.endswith("…")
    assert width_of(cut) <= 60
    assert shortened("clearance", 2) == ""


def test_signs_are_pushed_apart_and_stay_on_the_sheet() -> None:
    stands = spread([1.0, 1.0, 1.0, 99.0], 10.0, 0.0, 100.0)
    assert stands == [0.0, 10.0, 20.0, 99.0]
    crowded = spread([50.0] * 30, 10.0, 0.0, 100.0)
    assert (crowded[0], crowded[-1]) == pytest.approx((0.0, 100.0))


def test_an_interval_on_a_chart_still_holds_what_it_held() -> None:
    assert span_text(53.9, 70.1, "") == "53–71"
    assert span_text(0.129, 0.481, "") == "0.12–0.49"


def test_a_sheet_puts_later_strokes_over_earlier_ones() -> None:
    sheet = Sheet(100, 50)
    sheet.line([(0, 25), (100, 25)], BEYOND, 3)
    sheet.dot((50, 25), 4, INK)
    svg = ElementTree.fromstring(sheet.svg(Spoken("t", "d"), "k"))
    assert [one.get("stroke") for one in svg if one.tag in (f"{SVG}path", f"{SVG}circle")] == [
        "var(--beyond)",
        "var(--paper)",
    ]


def test_a_series_line_ends_in_a_dot_and_shows_its_limit() -> None:
    svg = ElementTree.fromstring(series_line((0, 3, 9), (1, 2, 4), limit=5, label="wear & tear"))
    assert svg.get("aria-label") == "wear & tear"
    assert [path.get("stroke") for path in svg.findall("path")] == ["var(--beyond)", "var(--steel)"]
    assert svg.find("circle") is not None


def test_a_series_with_nothing_to_show_is_an_open_outline() -> None:
    svg = ElementTree.fromstring(series_line((), ()))
    assert [child.tag for child in svg] == ["rect"]
    assert svg.get("aria-hidden") == "true"
    assert "nan" not in series_line((0, 1), (float("nan"), 2.0))


def test_a_lesser_label_gives_way_and_one_that_must_be_seen_stays() -> None:
    here = (Spot((10.0, 20.0)),)
    sheet = Box(0, 0, 200, 100)
    first, lesser = Label("60.087", here, must=True), Label("60.085", here)
    assert [one.words for one in place([first, lesser], [], sheet)] == ["60.087"]
    everywhere = [Box(0, 0, 200, 100)]
    assert [one.words for one in place([first, lesser], everywhere, sheet)] == ["60.087"]


def test_a_label_takes_its_next_place_or_its_shorter_words() -> None:
    taken = [Box(60, 0, 200, 40)]
    label = Label("meets it at 53–71 h", (Spot((10.0, 20.0)), Spot((10.0, 80.0))), shorter="53–71 h")
    assert place([label], taken, Box(0, 0, 200, 100))[0].spot.at == (10.0, 80.0)
    assert place([label], taken, Box(0, 0, 200, 60))[0].words == "53–71 h"


def test_a_label_that_must_be_seen_is_moved_into_the_sheet() -> None:
    (one,) = place([Label("limit 60.105", (Spot((190.0, 5.0)),), must=True)], [], Box(0, 0, 200, 100))
    assert Box(0, 0, 200, 100).holds(one.box)
