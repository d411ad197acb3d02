"""One written reading as a number with its uncertainty, at 20 °C."""

import math

import pytest

from engine_pages.history.story import DimensionStory

from .shop_for_tests import engine, fit, last, row, told

SHOP = """
    instruments:
      mic: {name: Micrometer, resolution: 0.001 mm, repeat: 0.0015 mm, zero: 0.001 mm, material: steel}
      plain: {name: Caliper, resolution: 0.02 mm}
      both: {name: Bridge, uncertainty: 0.002 mm}
"""
FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {housing: housing, shaft: shaft, bearing: bearing}
    kinds:
      housing:
        material: aluminium
        dimensions:
          width: {unit: mm, wears: down, new: [79.990, 80.010], limit: {min: 79.920}, instrument: mic}
          gap: {unit: mm, wears: up, limit: {max: 0.40}, corrected: no, instrument: mic}
      shaft:
        material: steel
        dimensions:
          journal: {unit: mm, wears: down, new: [59.985, 60.000], limit: {min: 59.965}, instrument: mic}
          load: {unit: N, limit: {min: 500}, instrument: mic}
          inches: {unit: in, limit: {max: 2.0}}
      bearing:
        material: steel
        dimensions:
          bore: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.105}, instrument: mic}
    fits:
      clearance: {outer: bearing.bore, inner: shaft.journal, limit: {max: 0.125}}
"""


def measured(body: str, head: str = "") -> dict[str, str]:
    """A shop whose only sheet fits and measures what the body says."""
    text = f"engine: E1\ndate: 2026-01-01\n{head}\npositions:\n{body}\n"
    return {"shop.yml": SHOP, "families/single.yml": FAMILY, "engines/E1/builds/2026-01-01.yml": text}


def journal(reading: str, head: str = "", name: str = "journal") -> DimensionStory:
    return row(told(measured(f"  shaft: {{part: S-1, measured: {{{name}: {reading}}}}}", head)), "S-1", name)


def housing(reading: str, head: str, name: str = "width") -> DimensionStory:
    return row(told(measured(f"  housing: {{part: H-1, measured: {{{name}: {reading}}}}}", head)), "H-1", name)


def test_an_aluminium_housing_at_31_degrees_is_brought_to_20_by_the_formula_of_iso_1() -> None:
    # L20 = L · (1 + α_gauge ΔT) / (1 + α_part ΔT), lengths being stated at 20 °C (ISO 1). By hand with α of aluminium
    # 22·10⁻⁶/K, of a steel micrometer 11.5·10⁻⁶/K and ΔT = 11 K: 79.990 · 1.0001265 / 1.000242 = 79.980763 mm; the
    # short way, 79.990 · (1 − 10.5·10⁻⁶ · 11) = 79.980761 mm, agrees to 2 nm.
    reading = last(housing("79.990", "temperature: 31 °C"))
    assert reading.value == 79.990
    assert reading.value_20c == pytest.approx(79.980763, abs=1e-6)
    assert reading.corrected
    assert reading.temperature == 31.0


def test_what_is_not_known_of_the_expansion_is_carried() -> None:
    # A tenth of each expansion over 11 K on 80 mm: 1.94 µm of the aluminium and 1.01 µm of the steel, beside the
    # micrometer's 1.5 µm and 1.0 µm.
    reading = last(housing("79.990", "temperature: 31 °C"))
    assert reading.u == pytest.approx(math.hypot(1.936e-3, 1.012e-3, 1.5e-3, 1.0e-3), rel=2e-3)


def test_degrees_fahrenheit_are_degrees_all_the_same() -> None:
    # 87.8 °F is 31 °C exactly.
    assert last(housing("79.990", "temperature: 87.8 °F")).value_20c == pytest.approx(79.980763, abs=1e-6)


def test_a_steel_part_and_a_steel_gauge_need_no_correction_and_carry_nothing() -> None:
    reading = last(journal("59.990", "temperature: 31 °C"))
    assert reading.value_20c == pytest.approx(59.990, abs=1e-12)
    assert reading.u == pytest.approx(math.hypot(0.0015, 0.001), rel=1e-9)


def test_without_a_temperature_nothing_is_corrected_and_it_is_said() -> None:
    reading = last(housing("79.990", ""))
    assert (reading.value_20c, reading.corrected, reading.temperature) == (79.990, False, None)


def test_gaps_are_not_corrected() -> None:
    reading = last(housing("0.36", "temperature: 31 °C", "gap"))
    assert (reading.value_20c, reading.corrected) == (0.36, False)


def test_a_reading_of_its_own_temperature_goes_before_that_of_the_sheet() -> None:
    reading = last(housing("{value: 79.990, temperature: 20 °C}", "temperature: 31 °C"))
    assert reading.value_20c == 79.990


def test_repeats_divide_what_is_their_own_and_not_the_zero() -> None:
    # u² = zero² + repeat²/n (GUM 4.2 and 5.1): three readings of 0.0015 mm each, one setting of 0.001 mm.
    reading = last(journal("[59.990, 59.991, 59.990]"))
    assert reading.u == pytest.approx(math.sqrt(0.001**2 + 0.0015**2 / 3))
    assert reading.repeats == 3


def test_repeats_that_scatter_more_than_the_gauge_count_by_their_own_scatter() -> None:
    # Standard deviation of 59.980, 59.990, 60.000 is 0.010 mm.
    assert last(journal("[59.980, 59.990, 60.000]")).u == pytest.approx(math.sqrt(0.001**2 + 0.010**2 / 3))


def test_one_uncertainty_counts_as_both_each_divided_by_root_two() -> None:
    reading = last(journal("{value: 59.990, instrument: both}"))
    assert reading.u == pytest.approx(0.002)
    assert not reading.gauge_assumed


def test_a_gauge_of_which_only_the_resolution_is_known_is_assumed() -> None:
    # resolution / √12 each for repeat and zero, at least half the last written digit.
    reading = last(journal("{value: 59.99, instrument: plain}"))
    assert reading.u == pytest.approx(math.sqrt(2) * max(0.02 / math.sqrt(12), 0.005))
    assert reading.gauge_assumed


def test_no_gauge_at_all_is_assumed_from_the_last_digit_and_a_gap_says_so() -> None:
    story = told(measured("  shaft: {part: S-1, measured: {inches: 1.9685}}"))
    reading = last(row(story, "S-1", "inches"))
    assert (reading.instrument, reading.gauge_assumed) == (None, True)
    assert reading.u == pytest.approx(math.sqrt(2) * 0.00005)
    assert any("no gauge is named for one reading" in gap.what for gap in engine(story).gaps)


def test_the_sheet_may_name_the_gauge_of_a_dimension() -> None:
    assert last(journal("59.990", "instruments: {shaft.journal: plain}")).instrument == "plain"
    assert last(journal("59.990", "instruments: {journal: both}")).instrument == "both"


def test_a_written_unit_is_kept_and_converted_once() -> None:
    reading = last(journal("2.3618 in"))
    assert reading.written == "2.3618 in"
    assert reading.value == pytest.approx(59.98972)  # an inch is 25.4 mm, exactly
    assert reading.decimals == 3


def test_a_feeler_bracket_is_its_middle_with_the_half_width_over_root_three() -> None:
    # A range that holds the value, any part of it as likely: GUM 4.3.7.
    reading = last(housing("0.30..0.36 mm", "", "gap"))
    assert (reading.kind, reading.value) == ("range", pytest.approx(0.33))
    assert reading.u == pytest.approx(0.03 / math.sqrt(3))
    assert (reading.low, reading.high) == (0.30, 0.36)


@pytest.mark.parametrize(
    ("written", "verdict"),
    [
        ("0.30..0.36 mm", "within"),
        ("0.36..0.42 mm", "undecided"),
        ("0.42..0.50 mm", "beyond"),
        ("under 0.40 mm", "within"),
        ("under 0.45 mm", "undecided"),
        ("over 0.30 mm", "undecided"),
        ("over 0.40 mm", "beyond"),
    ],
)
def test_ranges_and_bounds_are_judged_whole(written: str, verdict: str) -> None:
    assert last(housing(written, "", "gap")).verdict == verdict


def test_a_bound_is_shown_and_judged_and_left_out_of_trends() -> None:
    gap = housing("under 0.05 mm", "", "gap")
    assert (last(gap).kind, last(gap).value, last(gap).u) == ("under", 0.05, None)
    assert (gap.state, gap.line, gap.allowance) == ("within", None, None)


def test_a_range_and_a_bound_of_a_warm_housing_meet_the_limit_at_20_degrees() -> None:
    # At 31 °C an aluminium width of 79.925 mm is 79.916 mm at 20 °C: under the least of 79.920.
    assert last(housing("79.922..79.926 mm", "temperature: 31 °C")).verdict == "beyond"
    assert last(housing("79.922..79.926 mm", "")).verdict == "within"
    assert last(housing("under 79.925 mm", "temperature: 31 °C")).verdict == "beyond"
    assert last(housing("under 79.925 mm", "")).verdict == "undecided"


def test_not_measurable_is_looked_at_and_no_figure() -> None:
    width = housing("not measurable", "")
    assert (last(width).kind, last(width).value, width.state) == ("not measurable", None, "not measured")


def test_the_zero_of_one_gauge_on_one_sheet_cancels_in_a_clearance() -> None:
    body = "  shaft: {part: S-1, measured: {journal: 59.990}}\n  bearing: {part: B-1, measured: {bore: 60.050}}"
    reading = last(fit(told(measured(body)), "clearance"))
    assert reading.value == pytest.approx(0.060)
    assert reading.u == pytest.approx(math.sqrt(2) * 0.0015)  # two readings, and no zero


def test_the_zeros_of_two_gauges_do_not_cancel() -> None:
    body = "  shaft: {part: S-1, measured: {journal: {value: 59.990, instrument: both}}}\n"
    body += "  bearing: {part: B-1, measured: {bore: 60.050}}"
    assert last(fit(told(measured(body)), "clearance")).u == pytest.approx(math.sqrt(0.002**2 + 0.0015**2 + 0.001**2))


def test_a_gauge_in_the_wrong_unit_says_nothing_and_breaks_nothing() -> None:
    reading = last(journal("612", name="load"))  # a micrometer, named for a spring load
    assert (reading.value, reading.gauge_assumed) == (612.0, True)


def test_a_reading_whose_unit_is_at_fault_is_left_out_and_named() -> None:
    story = told(measured("  shaft: {part: S-1, measured: {journal: 59.99 kPa}}"), errors=True)
    assert row(story, "S-1", "journal").state == "not measured"
    assert any("59.99 kPa" in problem.message for problem in story.problems)
