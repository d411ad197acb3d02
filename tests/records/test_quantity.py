"""Readings: what a person wrote is understood or refused in plain words, and comes back as it was written."""

import doctest
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine_pages.records import quantity, slips
from engine_pages.records.quantity import (
    Bracket,
    NotMeasurable,
    NotUnderstood,
    OneSided,
    Quantity,
    in_unit,
    parse_quantity,
    parse_reading,
)
from engine_pages.records.units import UNITS, UnitError


def refusal(text: str) -> NotUnderstood:
    with pytest.raises(NotUnderstood) as caught:
        parse_reading(text)
    return caught.value


# ── numbers and units ────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("text", "number", "unit", "decimals"),
    [
        ("60.061", "60.061", None, 3),
        ("60.061 mm", "60.061", "mm", 3),
        ("0.0021 in", "0.0021", "in", 4),
        ("1.5 thou", "1.5", "thou", 1),
        ("38 µm", "38", "µm", 0),
        ("38 μm", "38", "µm", 0),
        ("38um", "38", "µm", 0),
        ("24 °C", "24", "°C", 0),
        ("24 ºC", "24", "°C", 0),
        ("75°F", "75", "°F", 0),
        ("8.4 bar", "8.4", "bar", 1),
        ("118 psi", "118", "psi", 0),
        ("812 kPa", "812", "kPa", 0),
        ("35 min", "35", "min", 0),
        ("2.4 h", "2.4", "h", 1),
        ("140 km", "140", "km", 0),
        ("88 mi", "88", "mi", 0),
        ("64 N", "64", "N", 0),
        ("92 lbf", "92", "lbf", 0),
        ("45 Nm", "45", "Nm", 0),
        ("33 lb-ft", "33", "lb-ft", 0),
        ("12 g", "12", "g", 0),
        ("40 ml", "40", "ml", 0),
        ("8 %", "8", "%", 0),
        ("8%", "8", "%", 0),
        ("9000 rpm", "9000", "rpm", 0),
        ("60.061\u00a0mm", "60.061", "mm", 3),
        ("60.061\u202fmm", "60.061", "mm", 3),
        ("  60.061   mm ", "60.061", "mm", 3),
        ("-0.25 mm", "-0.25", "mm", 2),
        ("\u22120.25 mm", "-0.25", "mm", 2),
        ("+0.25 mm", "0.25", "mm", 2),
        (".002 in", "0.002", "in", 3),
        ("007", "7", None, 0),
        ("0", "0", None, 0),
        ("5 l", "5", "l", 0),
        ("1" * 30, "1" * 30, None, 0),
    ],
)
def test_a_number_keeps_its_unit_and_its_digits(text: str, number: str, unit: str | None, decimals: int) -> None:
    expected = Quantity(Decimal(number), unit, text, decimals)
    assert parse_reading(text) == expected
    assert parse_quantity(text) == expected


def test_noughts_that_were_written_are_kept() -> None:
    reading = parse_quantity("0.0610")
    assert str(reading.number) == "0.0610"
    assert reading.decimals == 4
    assert reading.last_digit == Decimal("0.0001")
    assert parse_quantity("812").last_digit == 1


# ── brackets, bounds, not measurable ─────────────────────────────────────────────────────────────────────────────────


def test_a_unit_behind_a_bracket_belongs_to_both_ends() -> None:
    assert parse_reading("0.05..0.08 mm") == Bracket(
        Quantity(Decimal("0.05"), "mm", "0.05", 2), Quantity(Decimal("0.08"), "mm", "0.08 mm", 2), "0.05..0.08 mm"
    )


@pytest.mark.parametrize(
    "text", ["0.05 mm..0.08 mm", "0.05 .. 0.08 mm", "0.05\u00a0..\u00a00.08\u00a0mm", "50 µm..0.08 mm"]
)
def test_a_bracket_may_have_blanks_and_a_unit_at_each_end(text: str) -> None:
    reading = parse_reading(text)
    assert isinstance(reading, Bracket)
    assert in_unit(reading.low, "mm", "mm") == Decimal("0.05")
    assert in_unit(reading.high, "mm", "mm") == Decimal("0.08")
    assert reading.written == text


def test_a_bracket_without_a_unit_has_none() -> None:
    reading = parse_reading("-0.02..0.01")
    assert isinstance(reading, Bracket)
    assert (reading.low.unit, reading.high.unit) == (None, None)


def test_the_ends_of_a_bracket_are_compared_in_one_unit() -> None:
    # 2 thou is 0.0508 mm (NIST SP 811: 1 in = 25.4 mm), so 0.06 mm lies above it and 0.05 mm below.
    assert isinstance(parse_reading("2 thou..0.06 mm"), Bracket)
    assert refusal("2 thou..0.05 mm").suggestion == "0.05 mm..2 thou"


@pytest.mark.parametrize(
    ("text", "side", "unit"),
    [
        ("under 0.05 mm", "under", "mm"),
        ("over 0.05 mm", "over", "mm"),
        ("<0.05 mm", "under", "mm"),
        (">0.05", "over", None),
        ("< 0.05mm", "under", "mm"),
        ("Under 0.05 mm", "under", "mm"),
    ],
)
def test_a_bound_says_on_which_side_the_value_lies(text: str, side: str, unit: str | None) -> None:
    reading = parse_reading(text)
    assert isinstance(reading, OneSided)
    assert (reading.side, reading.bound.number, reading.bound.unit) == (side, Decimal("0.05"), unit)
    assert reading.written == text


@pytest.mark.parametrize("text", ["not measurable", "Not measurable", " not  measurable "])
def test_not_measurable_is_a_reading(text: str) -> None:
    assert parse_reading(text) == NotMeasurable(text)


@pytest.mark.parametrize("text", ["0.05..0.08 mm", "under 0.05 mm", ">0.05", "not measurable"])
def test_where_one_number_is_wanted_nothing_else_serves(text: str) -> None:
    with pytest.raises(NotUnderstood, match="one number is wanted here"):
        parse_quantity(text)


# ── what is refused, and what is said ────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("text", "suggestion", "says"),
    [
        # the decimal comma, and commas between thousands
        ("60,061", "60.061", "write 60.061, or 60061 if thousands were meant"),
        ("60,061 mm", "60.061 mm", "has a comma"),
        ("0,05 mm", "0.05 mm", "write 0.05 mm"),
        (",05", ".05", "has a comma"),
        ("9,000 rpm", "9000 rpm", "has a comma"),
        ("1,234.5", "1234.5", "has a comma"),
        ("1.234,5 mm", "1234.5 mm", "has a comma"),
        ("1,234,567", "1234567", "has a comma"),
        # letters for digits
        ("6O.061", "60.061", "the letter O"),
        ("6o.061 mm", "60.061 mm", "the letter O"),
        ("O.O5 mm", "0.05 mm", "the letter O"),
        ("6l.061", "61.061", "the letter l or I"),
        ("l2 mm", "12 mm", "the letter l or I"),
        ("6I mm", "61 mm", "the letter l or I"),
        ("6O,O61mm", "60.061mm", "the letter O where a nought belongs, has a comma"),
        ("٣.٥ mm", "3.5 mm", "digits other than 0 to 9"),
        # gaps, exponents, fractions, signs, points
        ("1 000", "1000", "a gap inside the number"),
        ("1\u202f000 rpm", "1000 rpm", "a gap inside the number"),
        ("1_000", "1000", "a gap inside the number"),
        ("1'000", "1000", "a gap inside the number"),
        ("1e3", "1000", "an exponent"),
        ("1.5E-3 mm", "0.0015 mm", "an exponent"),
        ("1e400", None, "without an exponent"),
        ("1/8 in", "0.125 in", "a fraction"),
        ("1 1/16 in", "1.0625 in", "a fraction"),
        ("1/3 in", None, "a fraction"),
        ("1/0", None, "a fraction"),
        ("- 5 mm", "-5 mm", "a blank behind its sign"),
        ("–5 mm", "-5 mm", "a dash for a minus"),
        ("60. mm", "60 mm", "no digit behind the point"),
        ("1.5.3", None, "at most one point"),
        # not numbers at all
        ("", None, "nothing is written"),
        (" \u00a0", None, "nothing is written"),
        ("nan", None, "no finite number"),
        (".NaN", None, "no finite number"),
        ("inf mm", None, "no finite number"),
        ("-Infinity", None, "no finite number"),
        ("12:30", None, "a time of day"),
        ("60.061 ± 0.002 mm", None, "write the reading alone"),
        ("~60 mm", None, "write what was read"),
        ("good", None, "a number comes first"),
        ("mm", None, "a number comes first"),
        ("2026-10-12", None, "behind the number stands -10-12"),
        ("1" * 31, None, "30 digits at most"),
        # units
        ("60.061 mn", "60.061 mm", "mn is no unit here; nearest: 60.061 mm"),
        ("812 kpa", "812 kPa", "nearest: 812 kPa"),
        ("24 C", "24 °C", "nearest: 24 °C"),
        ("2.4 hours", "2.4 h", "nearest: 2.4 h"),
        ("5 hp", None, "hp is no unit here; the units are mm, µm"),
        ("5 mil", None, "mil is thou to some and mm to others"),
        ("60 mm in", None, "mm and in are two units"),
        ("2 h 30 min", None, "h and min are two units"),
        ("60.061 mm cold", "60.061 mm", "belong in a note"),
        # brackets
        ("0.08..0.05 mm", "0.05..0.08 mm", "the wrong way round, the smaller end comes first; write 0.05..0.08 mm"),
        ("0.08 mm..0.05 mm", "0.05 mm..0.08 mm", "the wrong way round"),
        ("0.08..0.05", "0.05..0.08", "the wrong way round"),
        ("0.05..0.05 mm", "0.05 mm", "both ends are the same"),
        ("0.05 mm..0.08", "0.05..0.08 mm", "one unit for both ends stands behind the bracket"),
        ("0.05 mm..0.08 bar", None, "mm is a length, bar a pressure"),
        ("0,05..0,08 mm", "0.05..0.08 mm", "has a comma"),
        ("0.05...0.08 mm", "0.05..0.08 mm", "two points between its ends"),
        (".05...1", ".05..1", "two points between its ends"),
        ("0.05..", "over 0.05", "a bracket has two ends"),
        ("..0.08 mm", "under 0.08 mm", "a bracket has two ends"),
        ("0.05..0.06..0.07", None, "one number is wanted here"),
        ("0.05-0.08 mm", "0.05..0.08 mm", "a range has two points"),
        ("0.05 – 0.08 mm", "0.05..0.08 mm", "a range has two points"),
        ("0.05 to 0.08 mm", "0.05..0.08 mm", "a range has two points"),
        # bounds and words
        ("under", None, "under what?"),
        ("under 0,05 mm", "under 0.05 mm", "has a comma"),
        ("<=0.05 mm", "under 0.05 mm", "write under 0.05 mm"),
        ("≥ 0.05 mm", "over 0.05 mm", "write over 0.05 mm"),
        ("less than 0.05 mm", "under 0.05 mm", "write under 0.05 mm"),
        ("not measureable", "not measurable", "write not measurable"),
    ],
)
def test_what_is_refused_is_named_with_what_was_meant(text: str, suggestion: str | None, says: str) -> None:
    trouble = refusal(text)
    assert says in trouble.message
    assert trouble.suggestion == suggestion
    assert str(trouble) == trouble.message


def test_a_message_repeats_what_was_written() -> None:
    assert refusal("6O.061").message.startswith("6O.061: ")


def test_a_message_shows_no_control_characters_and_no_endless_text() -> None:
    assert refusal("5 m\x1b[2Jm").message.startswith("5 m\\u001b[2Jm: ")
    assert refusal("\ud800").message.startswith("\\ud800: ")
    assert len(refusal("good " * 10_000).message) < 200
    assert len(refusal("5 " + "x" * 10_000).message) < 500


# ── bringing a reading to a unit ─────────────────────────────────────────────────────────────────────────────────────


def test_a_written_unit_wins_and_a_missing_one_is_the_default() -> None:
    # A written unit wins over the key's name (`km: 55 mi`). 55 mi = 88.51392 km by NIST SP 811.
    assert in_unit(parse_quantity("55 mi"), "km", default_unit="km") == Decimal("88.51392")
    assert in_unit(parse_quantity("55"), "km", default_unit="km") == 55
    assert in_unit(parse_quantity("90"), "h", default_unit="min") == Decimal("1.5")


def test_a_number_already_in_the_unit_keeps_its_noughts() -> None:
    assert str(in_unit(parse_quantity("60.060"), "mm", default_unit="mm")) == "60.060"


@pytest.mark.parametrize(
    ("text", "unit", "message"),
    [
        ("8.4 bar", "mm", "8.4 bar where a length is wanted: mm, µm, in or thou"),
        ("60 km", "mm", "60 km where a length is wanted: mm, µm, in or thou"),
        ("92 lb", "N", "92 lb where a force is wanted: N, lbf or kgf"),
        ("3 mm", "°", "3 mm where an angle is wanted: °"),
    ],
)
def test_the_wrong_kind_of_unit_is_named_with_the_right_ones(text: str, unit: str, message: str) -> None:
    with pytest.raises(NotUnderstood) as caught:
        in_unit(parse_quantity(text), unit, default_unit=unit)
    assert caught.value.message == message


def test_a_litre_that_was_a_one_is_seen_where_a_length_is_wanted() -> None:
    with pytest.raises(NotUnderstood, match=r"was 60\.061 meant") as caught:
        in_unit(parse_quantity("60.06l"), "mm", default_unit="mm")
    assert caught.value.suggestion == "60.061"


def test_asking_for_an_unknown_unit_is_the_callers_mistake() -> None:
    with pytest.raises(UnitError):
        in_unit(parse_quantity("5"), "furlong", default_unit="mm")


# ── any text at all ──────────────────────────────────────────────────────────────────────────────────────────────────

bench_text = st.text(alphabet="0123456789.,-+−–_ \u00a0eEoOlI/:%µ°<>\"'mintkPabrsuderov±~…", max_size=24)
any_text = st.one_of(st.text(max_size=40), bench_text, st.lists(bench_text, max_size=3).map("..".join))
typed_numbers = st.from_regex(r"[+-]?[0-9]{1,12}(\.[0-9]{1,12})?", fullmatch=True)
typed_units = st.sampled_from([spelling for unit in UNITS for spelling in (unit.name, *unit.also)])


@settings(derandomize=True, deadline=None, database=None, max_examples=1500)
@given(any_text)
def test_any_text_is_a_reading_or_is_not_understood(text: str) -> None:
    trouble: NotUnderstood | None = None
    try:
        assert parse_reading(text).written == text
    except NotUnderstood as caught:
        trouble = caught
    if trouble:
        assert trouble.message
        assert trouble.message.isprintable()
    if trouble and trouble.suggestion is not None:
        # What is offered in its place is itself accepted.
        assert parse_reading(trouble.suggestion).written == trouble.suggestion


@settings(derandomize=True, deadline=None, database=None, max_examples=500)
@given(any_text)
def test_a_quantity_is_never_anything_but_a_finite_number(text: str) -> None:
    try:
        found = parse_quantity(text)
    except NotUnderstood:
        return
    assert found.number.is_finite()
    assert found == parse_reading(text)


@settings(derandomize=True, deadline=None, database=None, max_examples=400)
@given(number=typed_numbers, blank=st.sampled_from(["", " ", "\u00a0", "\u202f", "  "]), unit=typed_units)
def test_every_number_with_every_unit_comes_back_as_written(number: str, blank: str, unit: str) -> None:
    found = parse_quantity(number + blank + unit)
    assert found.written == number + blank + unit
    assert found.number == Decimal(number)
    assert found.decimals == len(number.partition(".")[2])


@pytest.mark.parametrize("module", [quantity, slips])
def test_the_examples_in_the_modules_run(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]
