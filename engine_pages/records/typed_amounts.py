"""How amounts and readings are typed: the grammar of `quantity.py` and the table of `units.py` as JSON Schema.

A number in YAML is an amount with no unit; with a unit, quoted or negative it may be text, and a pattern holds it.
"""

import re
from collections.abc import Iterable
from typing import Final, Literal

from .quantity import BLANKS, MINUS, NOT_MEASURABLE, UNSIGNED
from .typed import Schema
from .units import UNITS, Dimension, units_of

Sign = Literal["any", "not below zero", "above zero"]

_GAP: Final = "[" + "".join(rf"\u{ord(blank):04x}" for blank in BLANKS) + "]*"
# `-0` is not below zero
_NUMBER: Final[dict[Sign, str]] = {
    "any": rf"[+{MINUS}]?{UNSIGNED}",
    "not below zero": rf"(?:\+|[{MINUS}](?=[0.]+(?![0-9.])))?{UNSIGNED}",
    "above zero": rf"(?=[+0.]*[1-9])\+?{UNSIGNED}",
}
_BOUND: Final[dict[Sign, Schema]] = {
    "any": {},
    "not below zero": {"minimum": 0},
    "above zero": {"exclusiveMinimum": 0},
}


def any_amount() -> Schema:
    """A number with or without a unit, whatever it measures."""
    return {**_amount(_spellings(), "any"), "description": "A number, or a number and its unit: 60.061, 60.061 mm."}


def amount_of(dimension: Dimension, sign: Sign = "not below zero") -> Schema:
    """A number alone, or with a unit of one dimension."""
    hint = f"A number, or a number and its unit: {', '.join(units_of(dimension))}."
    return {**_amount(_spellings(dimension), sign), "description": hint}


def number_alone(sign: Sign = "any") -> Schema:
    """A number that bears no unit."""
    return {**_amount((), sign), "description": "A number without a unit."}


def share(most: float) -> Schema:
    """A number between 0 and 1, at most `most`."""
    return {
        "type": ["number", "string"],
        "exclusiveMinimum": 0,
        "maximum": most,
        "pattern": rf"^{_GAP}\+?0*\.(?=0*[1-9])[0-9]+{_GAP}$",
        "description": "Between 0 and 1: 0.9 for nine in ten.",
    }


def amount_pattern() -> str:
    """What a text of one amount looks like."""
    return rf"^{_GAP}{_with_unit()}{_GAP}$"


def reading_pattern() -> str:
    """What a text of one reading looks like: an amount, a range, a bound, or `not measurable`."""
    amount = _with_unit()
    side = f"(?:{_any_case('under')}|{_any_case('over')}|[<>])"
    nothing = r"\s+".join(_any_case(word) for word in NOT_MEASURABLE.split())
    return rf"^{_GAP}(?:{nothing}|{side}{_GAP}{amount}|{amount}(?:{_GAP}\.\.{_GAP}{amount})?){_GAP}$"


def _amount(spellings: Iterable[str], sign: Sign) -> Schema:
    pattern = rf"^{_GAP}{_NUMBER[sign]}{_unit(spellings)}{_GAP}$"
    return {"type": ["number", "string"], **_BOUND[sign], "pattern": pattern}


def _with_unit() -> str:
    return _NUMBER["any"] + _unit(_spellings())


def _unit(spellings: Iterable[str]) -> str:
    alternatives = "|".join(_escaped(one) for one in spellings)
    return rf"(?:{_GAP}(?:{alternatives}))?" if alternatives else ""


def _spellings(dimension: Dimension | None = None) -> tuple[str, ...]:
    """Every spelling that is understood, of one dimension or of all."""
    return tuple(
        spelling for unit in UNITS if dimension in (None, unit.dimension) for spelling in (unit.name, *unit.also)
    )


def _escaped(text: str) -> str:
    """A text that stands for itself in a pattern; unlike `re.escape` it leaves `-` as it is, which ECMA 262 asks."""
    return re.sub(r"[\\^$.*+?()\[\]{}|]", r"\\\g<0>", text)


def _any_case(word: str) -> str:
    return "".join(f"[{letter}{letter.upper()}]" for letter in word)
