"""Slips of the pen in a number: the decimal comma, the letter O for a nought, a blank between thousands.

In: the text of a number with or without a unit, which could not be read. Out: the same text without the slip, and the
words for what it was. Nothing is decided here: the reader of quantities offers the mended text, and uses it never.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

_BLANKS: Final = r" \t\u00a0\u2009\u202f"  # within a character class: blank, tab, hard, thin and narrow hard blank

_WITH_LETTERS: Final = re.compile(r"[+-]?[0-9OolI|.,]*[0-9][0-9OolI|.,]*")
_WITH_COMMA: Final = re.compile(r"[+-]?[0-9.]*,[0-9.,]*[0-9]")
_THOUSANDS: Final = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?![0-9,.])")
_EXPONENT: Final = re.compile(r"([+-]?(?:[0-9]{1,12}(?:\.[0-9]{1,12})?|\.[0-9]{1,12}))[eE]([+-]?[0-9]{1,2})(?![0-9.])")
_FRACTION: Final = re.compile(rf"(?:([0-9]{{1,4}})[{_BLANKS}-])?([0-9]{{1,4}})/([0-9]{{1,4}})(?![0-9/])")
_SIGN: Final = re.compile(rf"([+\-\u2010-\u2015\u2212])[{_BLANKS}]*(?=[0-9.])")  # U+2010 to U+2015 are dashes
_GAP: Final = re.compile(rf"(?<=[0-9])[_'’{_BLANKS}](?=[0-9])")


@dataclass(frozen=True, slots=True)
class Slip:
    """What a message says of a slip, and how a text reads without it (the same text where it has none)."""

    says: str
    mended: Callable[[str], str]


def _with_ascii_digits(text: str) -> str:
    return "".join(str(unicodedata.decimal(letter)) if letter.isdecimal() else letter for letter in text)


def _with_its_sign(text: str) -> str:
    sign = _SIGN.match(text)
    return ("+" if sign[1] == "+" else "-") + text[sign.end() :] if sign else text


def _with_noughts(text: str) -> str:
    head = _WITH_LETTERS.match(text)
    return head[0].replace("O", "0").replace("o", "0") + text[head.end() :] if head else text


def _with_ones(text: str) -> str:
    head = _WITH_LETTERS.match(text)
    return re.sub(r"[lI|]", "1", head[0]) + text[head.end() :] if head else text


def _without_fraction(text: str) -> str:
    """A fraction as a decimal where that ends within 10 places: 1/8 and 1 1/16, not 1/3."""
    parts = _FRACTION.match(text)
    if not parts or int(parts[3]) == 0:
        return text
    thousandths = (int(parts[1] or 0) * int(parts[3]) + int(parts[2])) * 10**10
    if thousandths % int(parts[3]):
        return text
    value = Decimal(thousandths // int(parts[3])).scaleb(-10).normalize()
    return f"{value:f}{text[parts.end() :]}"


def _without_gaps(text: str) -> str:
    return _GAP.sub("", text)


def _without_exponent(text: str) -> str:
    parts = _EXPONENT.match(text)
    return f"{Decimal(parts[1]).scaleb(int(parts[2])):f}{text[parts.end() :]}" if parts else text


def _without_comma(text: str) -> str:
    """A point for a decimal comma; no comma where it parts thousands: `1,234.5`, `1,234,567` and `9,000`."""
    match = _WITH_COMMA.match(text)
    if not match:
        return text
    head, rest = match[0], text[match.end() :]
    whole, _, last = head.rpartition(",")
    if "." in last or "," in whole or (last == "000" and _THOUSANDS.match(head)):
        return head.replace(",", "") + rest
    return f"{whole.replace('.', '')}.{last}{rest}"


def _without_lone_point(text: str) -> str:
    return re.sub(r"^([+-]?[0-9]+)\.(?![0-9.])", r"\1", text)


# In this order: each sees the text as the ones before it left it.
SLIPS: Final[tuple[Slip, ...]] = (
    Slip("has digits other than 0 to 9", _with_ascii_digits),
    Slip("has a blank behind its sign, or a dash for a minus", _with_its_sign),
    Slip("has the letter O where a nought belongs", _with_noughts),
    Slip("has the letter l or I where a one belongs", _with_ones),
    Slip("is a fraction", _without_fraction),
    Slip("has a gap inside the number (two readings are a list, [a, b])", _without_gaps),
    Slip("has an exponent", _without_exponent),
    Slip("has a comma in the number", _without_comma),
    Slip("has no digit behind the point", _without_lone_point),
)


def mend(text: str) -> tuple[str, tuple[str, ...]]:
    """The text without its slips, and what each of them was; the text itself and nothing where there is none.

    >>> mend("6O,061 mm")
    ('60.061 mm', ('has the letter O where a nought belongs', 'has a comma in the number'))
    """
    mended, says = text, []
    for slip in SLIPS:
        before, mended = mended, slip.mended(mended)
        if mended != before:
            says.append(slip.says)
    return mended, tuple(says)


def thousands_instead(text: str, mended: str) -> str | None:
    """The other reading of a comma before exactly three digits, or None: 60,061 may be sixty thousand.

    >>> thousands_instead("60,061 mm", "60.061 mm"), thousands_instead("0,061", "0.061")
    ('60061 mm', None)
    """
    return mended.replace(".", "", 1) if _THOUSANDS.match(text) and "." in mended else None
