"""Units: what they measure, how they convert, and what is answered to a spelling that is not known."""

import doctest
from decimal import Decimal
from fractions import Fraction

import pytest
import scipy.constants
from hypothesis import given, settings
from hypothesis import strategies as st

from engine_pages.records import units
from engine_pages.records.units import (
    UNITS,
    UnitError,
    canonical,
    convert,
    dimension_of,
    nearest_unit,
    two_meanings,
    units_of,
)

# NIST Special Publication 811 (2008), Appendix B.8, "Factors for units listed alphabetically", as printed there; the
# page says that a factor in boldface is exact and any other rounded to the digits given. Rows marked * are from memory.
EXACT_BY_NIST = (
    ("in", "mm", "25.4"),  # inch (in) → centimetre 2.54 E+00, bold
    ("thou", "mm", "0.0254"),  # mil (0.001 in) → millimetre 2.54 E-02, bold *
    ("µm", "mm", "0.001"),  # micron → metre 1.0 E-06, bold
    ("mi", "km", "1.609344"),  # mile (mi) → kilometre 1.609 344 E+00, bold
    ("bar", "kPa", "100"),  # bar → kilopascal 1.0 E+02, bold
    ("kgf/cm²", "kPa", "98.0665"),  # kilogram-force per square centimetre → kilopascal 9.806 65 E+01, bold *
    ("kgf", "N", "9.80665"),  # kilogram-force → newton 9.806 65 E+00, bold *
    ("kgf·m", "Nm", "9.80665"),  # kilogram-force metre → newton metre 9.806 65 E+00, bold *
    ("min", "s", "60"),  # minute → second 6.0 E+01, bold
    ("h", "s", "3600"),  # hour → second 3.6 E+03, bold
    ("l", "ml", "1000"),  # litre → cubic metre 1.0 E-03, bold
    ("lbf", "N", "4.4482216152605"),  # footnote 23: the exact factor is 4.448 221 615 260 5 E+00
    ("lb", "kg", "0.45359237"),  # footnote 22: the exact factor is 4.535 923 7 E-01
    ("oz", "g", "28.349523125"),  # NIST Handbook 44, Appendix C: 0.028 349 523 125 kg
)
ROUNDED_BY_NIST = (
    ("psi", "kPa", "6.894757"),  # pound-force per square inch → kilopascal 6.894 757 E+00
    ("lbf", "N", "4.448222"),  # pound-force → newton 4.448 222 E+00 *
    ("lb-ft", "Nm", "1.355818"),  # pound-force foot → newton metre 1.355 818 E+00 *
    ("lb", "kg", "0.4535924"),  # pound (avoirdupois) → kilogram 4.535 924 E-01
    ("oz", "g", "28.34952"),  # ounce (avoirdupois) → gram 2.834 952 E+01
)


@pytest.mark.parametrize(("unit", "into", "factor"), EXACT_BY_NIST)
def test_exact_factors_against_nist_sp_811(unit: str, into: str, factor: str) -> None:
    assert convert(Decimal(1), unit, into) == Decimal(factor)


@pytest.mark.parametrize(("unit", "into", "factor"), ROUNDED_BY_NIST)
def test_rounded_factors_against_nist_sp_811(unit: str, into: str, factor: str) -> None:
    printed = Decimal(factor)
    assert convert(Decimal(1), unit, into).quantize(printed) == printed


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    # NIST SP 811, Appendix B.9: t/°C = (t/°F − 32)/1.8. Freezing, boiling, the ISO 1 reference, where both scales meet.
    [("32", "0"), ("212", "100"), ("68", "20"), ("-40", "-40"), ("75.2", "24")],
)
def test_temperatures_against_nist_sp_811(fahrenheit: str, celsius: str) -> None:
    assert convert(Decimal(fahrenheit), "°F", "°C") == Decimal(celsius)
    assert convert(Decimal(celsius), "°C", "°F") == Decimal(fahrenheit)


@pytest.mark.parametrize(
    ("unit", "into", "factor"),
    [
        ("psi", "kPa", scipy.constants.psi / 1000),
        ("lbf", "N", scipy.constants.lbf),
        ("kgf", "N", scipy.constants.kgf),
        ("lb", "kg", scipy.constants.lb),
        ("oz", "kg", scipy.constants.oz),
        ("mi", "km", scipy.constants.mile / 1000),
        ("in", "mm", scipy.constants.inch * 1000),
        ("thou", "mm", scipy.constants.mil * 1000),
        ("bar", "kPa", scipy.constants.bar / 1000),
        ("lb-ft", "Nm", scipy.constants.lbf * scipy.constants.foot),
        ("l", "ml", scipy.constants.liter * 1e6),
    ],
)
def test_factors_against_scipy_constants(unit: str, into: str, factor: float) -> None:
    """The reference library's table, in double precision: CODATA and the same definitions, worked out apart."""
    assert float(convert(Decimal(1), unit, into)) == pytest.approx(factor, rel=1e-14)


def test_a_printed_limit_converts_to_all_of_its_digits() -> None:
    # Trade practice: a limits sheet gives 0.0021 in beside 0.053 mm; the product is 0.05334 exactly.
    assert convert(Decimal("0.0021"), "in", "mm") == Decimal("0.05334")


def test_a_result_that_ends_is_exact_and_one_that_does_not_has_50_digits() -> None:
    assert str(convert(Decimal("123456789012345678901234567.891"), "in", "mm")) == "3135802440913580244091358024.4314"
    endless = convert(Decimal(1), "mm", "in")
    assert len(endless.as_tuple().digits) == 50
    assert abs(Fraction(endless) - Fraction(10, 254)) <= Fraction(1, 2 * 10**51)


def test_a_number_in_its_own_unit_keeps_its_noughts() -> None:
    assert str(convert(Decimal("0.0610"), "mm", "mm")) == "0.0610"
    assert str(convert(Decimal("38.0"), "um", "µm")) == "38.0"


numbers = st.decimals(min_value=-(10**9), max_value=10**9, places=6, allow_nan=False, allow_infinity=False)
pairs = st.sampled_from([(a.name, b.name) for a in UNITS for b in UNITS if a.dimension == b.dimension])


@settings(derandomize=True, deadline=None, database=None, max_examples=400)
@given(value=numbers, pair=pairs)
def test_there_and_back_is_the_same_number(value: Decimal, pair: tuple[str, str]) -> None:
    back = convert(convert(value, *pair), *reversed(pair))
    # Two roundings at 50 digits of a number under 10^15 (°F and thou move the size): far below any written digit.
    assert abs(back - value) <= Decimal("1e-30")


@settings(derandomize=True, deadline=None, database=None, max_examples=200)
@given(low=numbers, high=numbers, pair=pairs)
def test_converting_keeps_the_order_of_two_readings(low: Decimal, high: Decimal, pair: tuple[str, str]) -> None:
    low, high = sorted((low, high))
    assert convert(low, *pair) <= convert(high, *pair)


@pytest.mark.parametrize(
    ("unit", "into"), [("mm", "bar"), ("mm", "km"), ("lb", "lbf"), ("°", "°C"), ("HB", "HRC"), ("count", "grade")]
)
def test_what_measures_different_things_does_not_convert(unit: str, into: str) -> None:
    with pytest.raises(UnitError, match="measures"):
        convert(Decimal(1), unit, into)


@pytest.mark.parametrize("value", ["nan", "sNaN", "inf", "-inf"])
def test_nan_and_infinity_do_not_convert(value: str) -> None:
    with pytest.raises(UnitError, match="finite"):
        convert(Decimal(value), "mm", "in")


def test_an_unknown_unit_is_named_with_its_nearest() -> None:
    with pytest.raises(UnitError, match=r"'kpa' is no known unit; nearest: kPa"):
        dimension_of("kpa")
    with pytest.raises(UnitError, match="'furlong' is no known unit"):
        convert(Decimal(1), "furlong", "mm")


@pytest.mark.parametrize(
    ("spelling", "unit"),
    [
        ("\u00b5m", "µm"),  # micro sign
        ("\u03bcm", "µm"),  # Greek mu
        ("um", "µm"),
        ("\u00b0C", "°C"),
        ("\u00baC", "°C"),  # the ordinal sign of a Spanish or Portuguese keyboard
        ("\u02daC", "°C"),  # ring above
        ("\u2103", "°C"),
        ("ºF", "°F"),
        ("º", "°"),
        ('"', "in"),
        ("ft-lb", "lb-ft"),
        ("N·m", "Nm"),
        ("kg/cm2", "kgf/cm²"),
        ("cc", "ml"),
        ("L", "l"),
    ],
)
def test_each_accepted_spelling_has_one_canonical_one(spelling: str, unit: str) -> None:
    assert canonical(spelling) == unit


def test_no_spelling_stands_for_two_units() -> None:
    spellings = [spelling for unit in UNITS for spelling in (unit.name, *unit.also)]
    assert len(spellings) == len(set(spellings))


@pytest.mark.parametrize("spelling", ["MM", "PSI", "nm", "n", "C", "cm", "", " mm", "hours"])
def test_a_near_spelling_is_never_taken_silently(spelling: str) -> None:
    assert canonical(spelling) is None


@pytest.mark.parametrize(
    ("written", "unit"),
    [
        ("MM", "mm"),
        ("mn", "mm"),
        ("mmm", "mm"),
        ("PSI", "psi"),
        ("psig", "psi"),
        ("KPA", "kPa"),
        ("nm", "Nm"),
        ("N m", "Nm"),
        ("n", "N"),
        ("C", "°C"),
        ("° C", "°C"),
        ("deg F", "°F"),
        ("hrs", "h"),
        ("minutes", "min"),
        ("inches", "in"),
        ("tho", "thou"),
        ("micron", "µm"),
        ("lbs", "lb"),
        ("ft lbs", "lb-ft"),
        ("percent", "%"),
        ("grams", "g"),
    ],
)
def test_a_misspelt_unit_is_answered_with_the_nearest(written: str, unit: str) -> None:
    assert nearest_unit(written) == unit


@pytest.mark.parametrize("written", ["", "cold", "hp", "cm", "furlong", "mil", "tenths", "m", "x" * 5000])
def test_where_nothing_is_near_nothing_is_suggested(written: str) -> None:
    assert nearest_unit(written) is None


def test_a_word_with_two_meanings_names_both() -> None:
    # Trade fact: a "mil" is a thousandth of an inch in American shops and a millimetre in British speech.
    assert two_meanings("mil") == ("thou", "mm")
    assert two_meanings("mm") is None


def test_the_units_of_a_length_are_those_a_builder_writes() -> None:
    assert units_of("length") == ("mm", "µm", "in", "thou")


def test_the_examples_in_the_module_run() -> None:
    assert doctest.testmod(units).failed == 0
