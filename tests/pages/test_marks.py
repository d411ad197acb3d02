"""Marks: every state is told by form, every drawing by words, and the colours can be read by everyone."""

import re
from itertools import combinations
from math import pi
from pathlib import Path
from typing import get_args
from xml.etree import ElementTree

import numpy as np
import pytest

from engine_pages.pages.bar_strokes import SIZES
from engine_pages.pages.chart_signs import SIGNS, chart_sign
from engine_pages.pages.marks import HATCHINGS, Bar, State, TwoSidedBar, allowance_bar, hatchings_for, state_word
from engine_pages.pages.rotor_drawing import cylinder_glyph, housing_point, rotor_glyph, rotor_points

SVG = "{http://www.w3.org/2000/svg}"
STATES: tuple[State, ...] = get_args(State)
COLOURS = Path(__file__).parents[2] / "site_template" / "styles" / "colours.css"
PRINT = COLOURS.with_name("print.css")


def drawn(bar: Bar | TwoSidedBar, height: int = 26, label: str = "as said") -> ElementTree.Element:
    return ElementTree.fromstring(allowance_bar(bar, height, label))


def percent(text: str | None) -> float:
    assert text is not None
    assert text.endswith("%")
    return float(text[:-1])


def filled(svg: ElementTree.Element, paint: str) -> list[tuple[float, float]]:
    """Left and right of every length of bar in this paint, in per cent."""
    found = []
    for rect in svg.findall("rect"):
        if rect.get("fill") == paint:
            left = percent(rect.get("x"))
            found.append((left, left + percent(rect.get("width"))))
    return found


def form(state: State) -> str:
    """A bar with its colours and its name taken away: what a colour-blind reader or a grey printer gets."""
    used = {"beyond limit": 1.1, "overdue": 1.1, "not measured": None}.get(state, 0.9)
    text = allowance_bar(Bar(state, used, 0.8, 1.05 if state == "undecided" else 0.95), 26, "x")
    text = text.replace("ep-forecast-warm", "ep-forecast")
    return re.sub(r'class="[^"]*"|var\(--[a-z-]+\)|fill="(?=var)|<g class="whisker">.*</g>', "", text)


@pytest.mark.parametrize("height", sorted(SIZES))
@pytest.mark.parametrize("state", STATES)
def test_every_state_is_drawn_as_well_formed_svg_in_every_height(state: State, height: int) -> None:
    for used in (None, -0.1, 0.0, 0.5, 1.3, 9.0):
        for ends in ("gauge", "range", "under", "over"):
            bar = Bar(
                state, used, None if used is None else used - 0.1, None if used is None else used + 0.1, ends, 0.9
            )
            assert drawn(bar, height).get("height") == str(height)
            two = TwoSidedBar(state, used, 0.4, 0.3, 0.6, bar.low, bar.high, 0.9, ends)
            assert drawn(two, height).get("role") == "img"


def test_nothing_is_drawn_outside_the_bars_own_width() -> None:
    for used in (-3.0, 0.0, 0.97, 1.25, 40.0):
        for bar in (
            Bar("within", used, used - 1, used + 1, forecast=used + 2),
            TwoSidedBar("within", used, 0.5, 0.3, 0.6, used - 1, used + 1, used - 3),
        ):
            text = str(allowance_bar(bar, 26, "x"))
            positions = [float(found) for found in re.findall(r' x[12]?="([-0-9.]+)%"', text)]
            assert positions
            assert all(0 <= position <= 100 for position in positions)


def test_the_states_differ_in_form_when_all_colour_is_taken_away() -> None:
    forms = {state: form(state) for state in STATES}
    for one, other in combinations(STATES, 2):
        assert forms[one] != forms[other], f"{one} and {other} look alike without colour"


def test_a_bar_is_filled_from_as_built_to_the_reading() -> None:
    ((left, right),) = filled(drawn(Bar("within", 0.5)), "var(--steel)")
    assert (left, right) == pytest.approx((1.0, 39.5))


def test_beyond_runs_over_the_tick_and_leaves_it_free() -> None:
    svg = drawn(Bar("beyond limit", 1.14, 1.09, 1.19))
    ((_, right),) = filled(svg, "var(--beyond)")
    assert right > 78.0
    tick = next(inner for inner in svg.findall("svg") if percent(inner.get("x")) == 78.0)
    gap, stroke = tick.findall("rect")
    assert (gap.get("fill"), stroke.get("fill")) == ("var(--paper)", "var(--ink)")


def test_beyond_by_a_crack_lies_over_the_tick_though_little_is_worn() -> None:
    svg = drawn(Bar("beyond limit", 0.3))
    assert filled(svg, "var(--beyond)")[0][1] < 30.0
    blocks = [rect for inner in svg.findall("svg") for rect in inner.findall("rect")]
    assert any(rect.get("fill") == "var(--beyond)" for rect in blocks)


def test_a_reading_off_the_scale_is_cut_with_two_slashes() -> None:
    slashes = [path for path in drawn(Bar("beyond limit", 1.9)).iter("path") if path.get("stroke") == "var(--paper)"]
    assert [path.get("d", "").count("M") for path in slashes] == [2]


def test_not_measured_is_an_open_outline() -> None:
    for svg in (drawn(Bar("not measured", None)), drawn(TwoSidedBar("not measured", None, 0.5))):
        outlines = [rect for rect in svg.findall("rect") if rect.get("stroke") == "var(--open-line)"]
        assert [rect.get("fill") for rect in outlines] == ["none"]
        assert not filled(svg, "var(--steel)")


def test_judged_without_a_figure_is_neither_empty_nor_not_measured() -> None:
    text = allowance_bar(Bar("within", None), 26, "within, no baseline")
    assert "stroke-dasharray" in text
    assert "<rect x=" not in text.split("<svg x=")[0]


def test_undecided_hatches_the_doubt_across_the_tick() -> None:
    ((left, right),) = filled(drawn(Bar("undecided", 0.97, 0.87, 1.07)), "url(#ep-doubt)")
    assert left < 78.0 < right


def test_a_one_sided_reading_that_spans_the_limit_hatches_all_it_leaves_open() -> None:
    ((left, right),) = filled(drawn(Bar("undecided", 1.05, ends="under")), "url(#ep-doubt)")
    assert (left, right > 78.0) == (1.0, True)
    ((left, right),) = filled(drawn(Bar("undecided", 0.9, ends="over")), "url(#ep-doubt)")
    assert left < 78.0 < right


def test_under_a_bound_nothing_is_filled_solid() -> None:
    svg = drawn(Bar("within", 0.6, ends="under"))
    assert not filled(svg, "var(--steel)")
    assert filled(svg, "var(--band)")


def test_near_limit_carries_a_dot_and_due_a_notch() -> None:
    assert len(list(drawn(Bar("near limit", 0.8)).iter("circle"))) == 1
    assert [path.get("d") for path in drawn(Bar("due", 0.96)).iter("path")] == ["M-5.5 0h11L0 7z"]


def test_retired_is_struck_from_edge_to_edge() -> None:
    last = drawn(Bar("retired", 0.9)).findall("line")[-1]
    assert (last.get("x1"), last.get("x2")) == ("0%", "100%")


def test_the_forecast_is_hatched_and_left_out_where_it_would_be_a_smudge() -> None:
    assert filled(drawn(Bar("within", 0.4, 0.35, 0.45, forecast=0.7)), "url(#ep-forecast)")
    assert not filled(drawn(Bar("within", 0.4, 0.35, 0.45, forecast=0.48)), "url(#ep-forecast)")
    assert not filled(drawn(Bar("within", 0.4, 0.35, 0.45, forecast=0.2)), "url(#ep-forecast)")


def test_a_range_has_bracket_ends_and_a_gauge_has_not() -> None:
    assert "M0 7h4" in allowance_bar(Bar("within", 0.4, 0.3, 0.5, "range"), 26, "x")
    assert "M0 7h4" not in allowance_bar(Bar("within", 0.4, 0.3, 0.5), 26, "x")


def test_members_of_a_set_have_no_whisker() -> None:
    assert "whisker" in allowance_bar(Bar("within", 0.4, 0.3, 0.5), 14, "x")
    assert "whisker" not in allowance_bar(Bar("within", 0.4, 0.3, 0.5), 8, "x")


def test_between_two_limits_the_mark_stands_on_the_limit_concerned() -> None:
    upper = drawn(TwoSidedBar("near limit", 0.9, 0.5))
    lower = drawn(TwoSidedBar("near limit", 0.1, 0.5))
    dotted = [
        percent(inner.get("x"))
        for svg in (lower, upper)
        for inner in svg.findall("svg")
        if inner.find("circle") is not None
    ]
    assert dotted == [8.0, 92.0]
    ((left, _),) = filled(drawn(TwoSidedBar("beyond limit", -0.05, 0.5)), "var(--beyond)")
    assert left < 8.0


def test_between_two_limits_a_reading_with_no_beginning_is_a_point() -> None:
    svg = drawn(TwoSidedBar("within", 0.5, None, low=0.4, high=0.6))
    assert len(list(svg.iter("circle"))) == 1


def test_a_label_is_read_out_and_escaped_and_an_empty_one_makes_decoration() -> None:
    assert drawn(Bar("within", 0.4), label='40 % used, "cold" & dry').get("aria-label") == '40 % used, "cold" & dry'
    silent = drawn(Bar("within", 0.4), label="")
    assert (silent.get("aria-hidden"), silent.get("role")) == ("true", None)


def test_a_height_that_is_not_drawn_is_refused() -> None:
    with pytest.raises(ValueError, match="not 20"):
        allowance_bar(Bar("within", 0.4), 20, "x")


@pytest.mark.parametrize("state", STATES)
def test_a_state_is_a_word_first_and_its_glyph_is_decoration(state: State) -> None:
    span = ElementTree.fromstring(state_word(state))
    assert "".join(span.itertext()) == state
    glyph = span.find("svg")
    assert (glyph is None) == (state in ("within", "retired"))
    assert glyph is None or glyph.get("aria-hidden") == "true"


def test_every_hatching_that_is_pointed_to_is_defined_once_and_no_other() -> None:
    everything = "".join(
        allowance_bar(bar, 26, "x") + state_word(state)
        for state in STATES
        for bar in (
            Bar(state, 0.5, 0.4, 0.6, forecast=0.9),
            TwoSidedBar(state, 0.5, 0.3, low=0.4, high=0.6, forecast=0.9),
        )
    )
    defined = [pattern.get("id") for pattern in ElementTree.fromstring(hatchings_for(everything)).iter("pattern")]
    assert sorted(set(re.findall(r"url\(#([a-z-]+)\)", everything))) == sorted(defined)
    assert hatchings_for("<p>no mark</p>") == ""


def test_each_sign_of_a_chart_has_a_form_of_its_own() -> None:
    shapes = {kind: re.sub(r"var\(--(ink|warm)\)", "", chart_sign(kind)) for kind in SIGNS}
    assert len(set(shapes.values())) == len(SIGNS)
    assert all(ElementTree.fromstring(chart_sign(kind)).get("aria-hidden") == "true" for kind in SIGNS)


def test_no_mark_holds_a_colour_of_its_own() -> None:
    marks = [allowance_bar(Bar(state, 0.9, 0.8, 1.05, forecast=1.2), 22, "x") for state in STATES]
    marks += [state_word(state) for state in STATES] + [chart_sign(kind) for kind in SIGNS]
    marks += [hatchings_for("".join(f"url(#{name})" for name in HATCHINGS)), rotor_glyph(), cylinder_glyph()]
    assert not re.search(r"#[0-9a-fA-F]{3,8}\b|rgb", "".join(marks).replace("url(#ep-", "url("))


# Rotary geometry. The trochoid's equations are from memory; the volume 3·√3·e·R·b, the sizes e = 15, R = 105, b = 80 mm
# and the 654.7 cm³ of one chamber are trade figures read on public pages. The chord stands in for the rotor's flank:
# any flank takes the same area away from every position, so the swept volume does not depend on it.
def test_the_drawn_rotor_sweeps_654_cm3_against_the_trade_figure_of_its_chamber() -> None:
    areas = []
    for shaft in np.linspace(0, 3 * 2 * pi, 1080, endpoint=False):
        _, (first, second, _) = rotor_points(shaft)
        turn = shaft / 3
        bore = np.array([housing_point(angle) for angle in np.linspace(turn, turn + 2 * pi / 3, 400)])
        assert bore[0] == pytest.approx(first)
        assert bore[-1] == pytest.approx(second)
        x, y = bore[:, 0], bore[:, 1]
        areas.append(0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))
    assert (max(areas) - min(areas)) * 80 / 1000 == pytest.approx(654.7, abs=0.1)


def test_the_apexes_never_leave_the_bore() -> None:
    for shaft in np.linspace(0, 6 * pi, 50):
        _, apexes = rotor_points(float(shaft))
        for place, apex in enumerate(apexes):
            assert housing_point(float(shaft) / 3 + place * 2 * pi / 3) == pytest.approx(apex)


def test_the_rows_of_an_engine_stand_as_its_crank_does() -> None:
    four = [cylinder_glyph(row, 4) for row in (1, 2, 3, 4)]
    assert four[0] == four[3] != four[1] == four[2]
    assert len({rotor_glyph(row, 3) for row in (1, 2, 3)}) == 3


def test_a_row_that_the_engine_has_not_is_refused() -> None:
    with pytest.raises(ValueError, match="row 3 is not one of 2"):
        rotor_glyph(3, 2)
    with pytest.raises(ValueError, match="row 0"):
        cylinder_glyph(0, 4)


# W3C, Web Content Accessibility Guidelines 2.1: relative luminance and contrast ratio as defined there; 4.5 for text
# (1.4.3, level AA) and 3 for what graphics need to be understood (1.4.11). The constants are from memory; #767676 on
# white, the palest grey that passes, is known to give 4.54.
def luminance(colour: str) -> float:
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def colour_sets() -> list[dict[str, str]]:
    text = COLOURS.read_text(encoding="utf-8") + PRINT.read_text(encoding="utf-8")
    blocks = re.findall(r"\{([^{}]*--paper: #[^{}]*)\}", text)
    named = [dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{3,6});", block)) for block in blocks]
    return [
        {name: value if len(value) == 7 else "#" + "".join(c * 2 for c in value[1:]) for name, value in one.items()}
        for one in named
    ]


def test_contrast_is_reckoned_as_wcag_does() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def test_every_colour_set_can_be_read_against_wcag_2_1_aa() -> None:
    sets = colour_sets()
    assert len(sets) == 4  # light, dark by the frame, dark by the system, print
    for colours in sets:
        paper = colours["paper"]
        for name in ("ink", "second-ink", "steel", "warm", "near-fill", "beyond", "link"):
            assert contrast(colours[name], paper) >= 4.5, name
        assert contrast(colours["open-line"], paper) >= 3.0
        for name in ("ink", "second-ink"):
            assert contrast(colours[name], colours["sunk"]) >= 4.5, name


def test_both_dark_sets_are_the_same() -> None:
    _, by_frame, by_system, _ = colour_sets()
    assert by_frame == by_system
