"""Figures in words: the digits that an uncertainty supports, real signs, units that stay with their figures."""

import doctest
from datetime import date

import pytest

from engine_pages.pages import addresses, desk, dimension_words, shown_units, wear_words, words
from engine_pages.pages.wear_words import NO_WEAR, amount_words, exposure_words, interval_words, rate_words, reach_words
from engine_pages.pages.words import (
    CANNOT_TELL,
    HARD_BLANK,
    MINUS,
    capital,
    chance_words,
    count_words,
    day_words,
    figure_words,
    list_words,
    percent_words,
    span_words,
    supported_decimals,
    unit_words,
    value_decimals,
)
from engine_pages.wear.exposure import Exposure
from engine_pages.wear.trend import Interval


def read(text: str) -> str:
    """The text as it is read: hard blanks are blanks, and what keeps a range together is not seen."""
    return text.replace(HARD_BLANK, " ").replace("\u2060", "")


@pytest.mark.parametrize("module", [words, wear_words, addresses, shown_units, desk, dimension_words])
def test_the_examples_run_as_printed(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [
        (0.827, 0.119, "0.83"),  # the two examples that the Review gives
        (0.827, 0.367, "0.8"),
        (1.2345, 0.354, "1.23"),  # the last of the two-digit range
        (1.2345, 0.355, "1.2"),  # the first of the one-digit range
        (1.2345, 0.0949, "1.23"),
        (1.2345, 0.0951, "1.23"),  # 0.0951 is rounded up to 0.10
    ],
)
def test_digits_that_an_uncertainty_supports_against_particle_data_group(
    value: float, uncertainty: float, shown: str
) -> None:
    # Particle Data Group, Review of Particle Physics, Introduction, section 5.3 "Rounding": highest three digits from
    # 100 to 354, two digits; 355 to 949, one; 950 to 999, up to 1000 and two digits. Rule and examples from memory.
    assert figure_words(value, supported_decimals(uncertainty)) == shown


def test_a_reading_never_gains_digits_that_nobody_wrote() -> None:
    assert value_decimals(0.00002, 3) == 3


def test_a_poor_gauge_takes_digits_away() -> None:
    assert value_decimals(0.4, 3) == 1


def test_dates_and_spans() -> None:
    assert read(day_words(date(2026, 10, 12))) == "12 Oct 2026"
    assert read(span_words(date(2026, 3, 7), date(2026, 10, 12))) == "7 Mar 2026 – 12 Oct 2026"
    assert read(span_words(date(2026, 10, 24), None)) == "since 24 Oct 2026"
    assert span_words(None, None) == "dates unknown"


def test_a_figure_and_its_unit_cannot_be_torn_apart() -> None:
    for text in (
        day_words(date(2026, 1, 2)),
        unit_words("60.061", "mm"),
        amount_words(41.6, "hours"),
        percent_words(0.67),
    ):
        assert " " not in text


def test_minus_is_a_minus_and_zero_has_none() -> None:
    assert figure_words(-0.12, 2) == f"{MINUS}0.12"
    assert figure_words(-0.004, 2) == "0.00"


@pytest.mark.parametrize(
    ("amount", "unit", "shown"),
    [
        (41.649, "hours", "41.6 h"),
        (1.0, "starts", "1 start"),
        (58.0, "starts", "58 starts"),
        (12400.0, "km", "12 400 km"),
    ],
)
def test_exposures_are_read_as_a_builder_says_them(amount: float, unit: str, shown: str) -> None:
    assert read(amount_words(amount, unit)) == shown


def test_an_unknown_life_is_at_least_so_much() -> None:
    assert read(exposure_words(Exposure(hours=96.4, at_least=True), "hours")) == "at least 96.4 h"


def test_a_rate_stands_in_a_unit_that_is_read_easily() -> None:
    rate = Interval(0.00031, 0.00012, 0.00049)
    assert read(rate_words(rate, "mm", "hours", 3)) == "0.31 (0.12–0.49) µm/h, 3 readings"
    assert read(rate_words(rate, "in", "hours", 3)) == "0.31 (0.12–0.49) thou/h, 3 readings"
    assert read(rate_words(Interval(2e-6, 1e-6, 3e-6), "mm", "km", 4)) == "2.0 (1.0–3.0) µm/1000 km, 4 readings"
    assert read(rate_words(Interval(-0.8, -1.2, -0.4), "kPa", "starts", 4)) == "0.80 (0.40–1.20) kPa/start, 4 readings"


def test_a_rate_whose_interval_holds_zero_is_no_wear_measurable_yet() -> None:
    assert rate_words(Interval(0.0001, -0.0002, 0.0004), "mm", "hours", 2).startswith(NO_WEAR)


def test_no_rate_at_all_cannot_be_told() -> None:
    assert read(rate_words(None, "mm", "hours", 1)) == f"{CANNOT_TELL}, 1 reading"


def test_an_interval_over_zero_keeps_its_sign() -> None:
    assert read(interval_words(Interval(0.31, -0.02, 0.64), "µm/h")) == f"0.31 ({MINUS}0.02 to 0.64) µm/h"


@pytest.mark.parametrize(
    ("low", "middle", "high", "shown"),
    [
        (11.3, 17.0, 28.4, "in about 11–29 h"),
        (30.9, None, None, "not before 30 h"),
        (9.87, None, None, "not before 9.8 h"),
        (17.8, 17.8, 17.8, "in about 17–18 h"),
        (96.2, 300.0, 2081.0, "not before 96 h"),
        (0.0, 2.0, 6.0, "any time from now, in 6.0 h at the latest"),
        (None, 2.0, 6.0, "any time from now, in 6.0 h at the latest"),
        (-3.0, -2.0, -1.0, "met already"),
        (None, None, None, CANNOT_TELL),
        (0.0, 5.0, None, "any time from now, no upper bound"),
    ],
)
def test_what_is_left_is_never_rounded_the_wrong_way(
    low: float | None, middle: float | None, high: float | None, shown: str
) -> None:
    assert read(reach_words(low, middle, high, "hours")) == shown


def test_a_chance_is_never_more_certain_than_it_is() -> None:
    assert [read(chance_words(p)) for p in (0.0001, 0.5, 0.9999)] == ["under 1 %", "50 %", "over 99 %"]


def test_counts_and_lists_read_as_sentences() -> None:
    assert [read(count_words(n, "photo")) for n in (0, 1, 2)] == ["no photos", "1 photo", "2 photos"]
    assert list_words(["oil", "filter", "plugs"]) == "oil, filter and plugs"


def test_ids_and_file_names_keep_their_letters() -> None:
    assert capital("rb-1042 is out") == "rb-1042 is out"
    assert capital("over-rev at 10 400 rpm") == "Over-rev at 10 400 rpm"
