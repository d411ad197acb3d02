"""Slips of the pen in a number: the decimal comma, the letter O for a nought, a blank between thousands.

In: the text of a number with or without a unit, which could not be read. Out: the same text without the slip, and the
words for what it was. Nothing is decided here: the reader of quantities offers the mended text, and uses it never.
Likewise for the path of a record file that no rule of the folder reads: the path that was most likely meant.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from decimal import Decimal
from difflib import SequenceMatcher
from typing import Final

from msgspec import Struct

_BLANKS: Final = r" \t\u00a0\u2009\u202f"  # within a character class: blank, tab, hard, thin and narrow hard blank

_WITH_LETTERS: Final = re.compile(r"[+-]?[0-9OolI|.,]*[0-9][0-9OolI|.,]*")
_WITH_COMMA: Final = re.compile(r"[+-]?[0-9.]*,[0-9.,]*[0-9]")
_THOUSANDS: Final = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?![0-9,.])")
_EXPONENT: Final = re.compile(r"([+-]?(?:[0-9]{1,12}(?:\.[0-9]{1,12})?|\.[0-9]{1,12}))[eE]([+-]?[0-9]{1,2})(?![0-9.])")
_FRACTION: Final = re.compile(rf"(?:([0-9]{{1,4}})[{_BLANKS}-])?([0-9]{{1,4}})/([0-9]{{1,4}})(?![0-9/])")
_SIGN: Final = re.compile(rf"([+\-\u2010-\u2015\u2212])[{_BLANKS}]*(?=[0-9.])")  # U+2010 to U+2015 are dashes
_GAP: Final = re.compile(rf"(?<=[0-9])[_'’{_BLANKS}](?=[0-9])")


class Slip(Struct, frozen=True):
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


# Where records lie: a word is written so, * is any name, DATE the day of a sheet.
_LAYOUT: Final = tuple(
    tuple(path.split("/"))
    for path in (
        *("shop", "shares", "families/*", "parts/*"),
        *("engines/*/engine", "engines/*/plan", "engines/*/review", "engines/*/log", "engines/*/log/*"),
        *("engines/*/builds/DATE", "engines/*/inspections/DATE", "engines/*/teardowns/DATE/teardown"),
    )
)
_SHEETS: Final = {"builds": "builds/{}", "inspections": "inspections/{}", "teardowns": "teardowns/{}/teardown"}
_LIKE: Final = 0.65  # of the letters alike: plans is plan, family is families, notes is no log
_DATE: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:-[0-9]{1,2})?")
_ENDING: Final = re.compile(r"\.ya?ml(?:[~.].*)?$", re.IGNORECASE)
_COPY_MARK: Final = re.compile(r"(?:[ _-]+copy|[ _-]*\([0-9]{1,3}\)|(?<=copy)[ _-]*[0-9]{1,3})$", re.IGNORECASE)


def without_copy_mark(name: str) -> str:
    """A file's name, without its ending, as it was before a computer copied it.

    >>> without_copy_mark("2026-01-01 (1)"), without_copy_mark("log - Copy (2)"), without_copy_mark("RB-101")
    ('2026-01-01', 'log', 'RB-101')
    """
    shorter = _COPY_MARK.sub("", name)
    return name if shorter in ("", name) else without_copy_mark(shorter)


def meant_path(path: str) -> str | None:
    """The path at which a record is read that is most like this one, or None where nothing is like it.

    >>> meant_path("engines/K-07/engin.yml"), meant_path("engines/K-07/log (1).yml")
    ('engines/K-07/engine.yml', 'engines/K-07/log.yml')
    >>> meant_path("engines/K-07/build-2026.yml"), meant_path("notes.yml")
    ('engines/K-07/builds/DATE.yml', None)
    """
    *folders, name = path.split("/")
    steps = (*folders, without_copy_mark(_ENDING.sub("", name)))
    ranked = sorted((_likeness(steps, layout), layout) for layout in _LAYOUT if len(layout) == len(steps))
    if ranked and ranked[-1][0] > 0:
        layout = ranked[-1][1]
        return "/".join(
            step if meant in ("*", "DATE") else meant for step, meant in zip(steps, layout, strict=True)
        ) + (".yml")
    return _meant_sheet(steps)


def _likeness(steps: tuple[str, ...], layout: tuple[str, ...]) -> float:
    """How like each other the words are, 0 to 1; 0 where any one is another word."""
    shares = []
    for step, meant in zip(steps, layout, strict=True):
        if meant == "DATE" and not _DATE.fullmatch(step):
            return 0.0
        if meant not in ("*", "DATE"):
            shares.append(_alike(step, meant))
    return sum(shares) / len(shares) if min(shares) >= _LIKE else 0.0


def _meant_sheet(steps: tuple[str, ...]) -> str | None:
    """A sheet that lies in the wrong place of its engine's folder, where a word of its path says which kind it is."""
    if len(steps) < 3 or _alike(steps[0], "engines") < _LIKE:
        return None
    words = [word for step in steps[2:] for word in re.split(r"[^A-Za-z]+", step) if word]
    ranked = sorted((_alike(word, kind), kind) for word in words for kind in _SHEETS)
    if not ranked or ranked[-1][0] < _LIKE:
        return None
    date = _DATE.search("/".join(steps[2:]))
    return f"engines/{steps[1]}/{_SHEETS[ranked[-1][1]].format(date[0] if date else 'DATE')}.yml"


def _alike(written: str, meant: str) -> float:
    return SequenceMatcher(None, written.casefold(), meant).ratio()
