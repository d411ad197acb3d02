"""What a person wrote for a reading, understood and kept as written.

In: the text of one value, as it stands in a record (`60.061`, `1.5 thou`, `0.05..0.08 mm`, `under 0.05 mm`). Out: a
small frozen value that holds number, unit, decimals and the text itself, or NotUnderstood, which says in plain words
what was written, what is allowed and, where it can be told, what was meant. Nothing is converted here but by
`in_unit`, which is asked to.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from .slips import mend, thousands_instead
from .units import UNITS, canonical, convert, dimension_of, nearest_unit, two_meanings, units_of

Side = Literal["under", "over"]

EXAMPLE: Final = "60.061 mm"  # of a reading, for a message
MOST_DIGITS: Final = 30  # of one number; no gauge shows a third of that, and arithmetic on it stays cheap
_MOST_SHOWN: Final = 60  # characters of a text repeated in a message

BLANKS: Final = " \t\u00a0\u2009\u202f"  # blank, tab, hard blank, thin blank, narrow hard blank
MINUS: Final = r"\-\u2212"  # within a character class: hyphen and minus sign
UNSIGNED: Final = r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_NUMBER: Final = re.compile(rf"[+{MINUS}]?{UNSIGNED}")
_SIDE: Final = re.compile(r"under|over|[<>](?!=)", re.IGNORECASE)
NOT_MEASURABLE: Final = "not measurable"


class NotUnderstood(ValueError):  # noqa: N818 - a builder's text is at fault, not the program: no error of ours
    """A text that is no reading.

    `message` says what was written and what is allowed; `suggestion` is the whole text as it was probably meant, fit
    to be written in its place, or None.
    """

    def __init__(self, message: str, suggestion: str | None = None) -> None:
        super().__init__(_with_plain_blanks(message))
        self.message = _with_plain_blanks(message)
        self.suggestion = None if suggestion is None else _with_plain_blanks(suggestion)


class Quantity(Struct, frozen=True):
    """One number: `unit` in its canonical spelling, None where none was written; `decimals` digits after the point."""

    number: Decimal
    unit: str | None
    written: str
    decimals: int

    @property
    def last_digit(self) -> Decimal:
        """One step of the last digit that was written, in the unit that was written: 0.0001 for `0.0610`."""
        return Decimal(1).scaleb(-self.decimals)


class Bracket(Struct, frozen=True):
    """A range that holds the value, low < high: a feeler that goes and one that does not.

    A unit written once, behind the high end, belongs to both ends; written twice, each end keeps its own.
    """

    low: Quantity
    high: Quantity
    written: str


class OneSided(Struct, frozen=True):
    """A value of which only one bound is known."""

    side: Side
    bound: Quantity
    written: str


class NotMeasurable(Struct, frozen=True):
    """Looked at, and no figure could be had."""

    written: str


Reading = Quantity | Bracket | OneSided | NotMeasurable


def parse_reading(text: str) -> Reading:
    """Understand whatever may stand for one reading. Raises NotUnderstood.

    >>> parse_reading("0.0610")
    Quantity(number=Decimal('0.0610'), unit=None, written='0.0610', decimals=4)
    >>> parse_reading("under 0.05 mm").side
    'under'
    """
    quantity = _plain(text)
    if quantity:
        return quantity
    body = text.strip(BLANKS)
    if " ".join(body.split()).casefold() == NOT_MEASURABLE:
        return NotMeasurable(text)
    side = _SIDE.match(body)
    if side:
        return _one_sided(text, side[0], body[side.end() :].strip(BLANKS))
    if ".." in body:
        return _bracket(text, body)
    raise _otherwise_written(text, body) or _why_not(text, body)


def parse_quantity(text: str, example: str = EXAMPLE) -> Quantity:
    """Understand one number with or without a unit; a bracket or a one-sided reading is refused. Raises NotUnderstood.

    `example` is what the message offers where no number was written at all.

    >>> parse_quantity("38µm").unit, parse_quantity("-0.25 mm").number
    ('µm', Decimal('-0.25'))
    """
    quantity = _plain(text)
    if quantity:
        return quantity
    body = text.strip(BLANKS)
    if ".." in body or _SIDE.match(body) or body.casefold() == NOT_MEASURABLE:
        raise NotUnderstood(f"{_shown(text)}: one number is wanted here, no range, bound or words")
    raise _why_not(text, body, example)


def in_unit(quantity: Quantity, unit: str, default_unit: str) -> Decimal:
    """The number in `unit`; where no unit was written, `default_unit` is taken as written.

    Exact as `units.convert` is. Raises NotUnderstood where the unit written measures something else.

    >>> in_unit(parse_quantity("1.5 thou"), "mm", default_unit="mm")
    Decimal('0.0381')
    """
    wanted, written = dimension_of(unit), quantity.unit or default_unit
    if quantity.unit is None or dimension_of(quantity.unit) == wanted:
        return convert(quantity.number, written, unit)
    article = "an" if wanted[0] in "aeiou" else "a"
    message = f"{_shown(quantity.written)} where {article} {wanted} is wanted: {_listed(units_of(wanted))}"
    if quantity.unit == "l" and re.search(r"[0-9.]l$", quantity.written.strip(BLANKS)):
        meant = quantity.written.strip(BLANKS)[:-1] + "1"
        raise NotUnderstood(f"{message}; it ends in the letter l, litre, or was {meant} meant?", meant)
    raise NotUnderstood(message)


# ── the three forms ──────────────────────────────────────────────────────────────────────────────────────────────────


def _plain(text: str) -> Quantity | None:
    """A number and a known unit, or None; raises only for a number that is too long."""
    body = text.strip(BLANKS)
    match = _NUMBER.match(body)
    if not match:
        return None
    rest = body[match.end() :].strip(BLANKS)
    unit = canonical(rest)
    if rest and unit is None:
        return None
    number = match[0].replace("\u2212", "-")
    if sum(letter.isdigit() for letter in number) > MOST_DIGITS:
        raise NotUnderstood(f"{_shown(text)}: a number has {MOST_DIGITS} digits at most")
    return Quantity(Decimal(number), unit, text, len(number.partition(".")[2]))


def _one_sided(text: str, word: str, bound: str) -> OneSided:
    side: Side = "under" if word.casefold() in ("under", "<") else "over"
    if not bound:
        raise NotUnderstood(f"{_shown(text)}: {word} what? write {word} 0.05 mm")
    return OneSided(side, _part(text, bound, lambda mended: f"{side} {mended}"), text)


def _bracket(text: str, body: str) -> Bracket:
    if "..." in body:
        meant = _settled(re.sub(r"\.{3,}", "..", body))
        raise _offering(f"{_shown(text)}: a bracket has two points between its ends, 0.05..0.08 mm", meant)
    first, _, second = (part.strip(BLANKS) for part in body.partition(".."))
    if not (first and second):
        meant = _settled(f"over {first}" if first else f"under {second}")
        raise _offering(f"{_shown(text)}: a bracket has two ends; one alone is a bound, under or over", meant)
    low = _part(text, first, lambda mended: _between(mended, second))
    high = _part(text, second, lambda mended: _between(first, mended))
    if low.unit is not None and high.unit is None:
        meant = _settled(_between(_number_of(first), f"{second} {_unit_of(first)}"))
        raise _offering(f"{_shown(text)}: one unit for both ends stands behind the bracket", meant)
    low = replace(low, unit=low.unit or high.unit)
    _check_ends(text, low, high)
    return Bracket(low, high, text)


def _check_ends(text: str, low: Quantity, high: Quantity) -> None:
    if low.unit and high.unit and dimension_of(low.unit) != dimension_of(high.unit):
        kinds = f"{low.unit} is a {dimension_of(low.unit)}, {high.unit} a {dimension_of(high.unit)}"
        raise NotUnderstood(f"{_shown(text)}: the ends of a bracket measure one thing; {kinds}")
    top = convert(high.number, high.unit, low.unit) if high.unit and low.unit else high.number
    if low.number == top:
        raise _offering(f"{_shown(text)}: both ends are the same, no bracket", high.written)
    if low.number > top:
        ends = low.written, high.written
        if high.unit and not _unit_of(low.written):
            ends = f"{low.written} {_unit_of(high.written)}", _number_of(high.written)
        meant = _settled(_between(ends[1], ends[0]))
        raise _offering(f"{_shown(text)}: the wrong way round, the smaller end comes first", meant)


def _between(low: str, high: str) -> str:
    """A bracket's text; a nought before a bare point, lest three points stand in a row."""
    return f"{low}..{'0' if high.startswith('.') else ''}{high}"


def _part(text: str, part: str, whole: Callable[[str], str]) -> Quantity:
    """One number inside a longer reading; a complaint names the whole text and suggests the whole text."""
    try:
        return parse_quantity(part)
    except NotUnderstood as trouble:
        meant = _settled(whole(trouble.suggestion)) if trouble.suggestion else None
        raise NotUnderstood(f"{_shown(text)}: {trouble.message}", meant) from None


def _number_of(body: str) -> str:
    match = _NUMBER.match(body)
    return match[0] if match else ""


def _unit_of(body: str) -> str:
    return body[len(_number_of(body)) :].strip(BLANKS)


# ── what was probably meant ──────────────────────────────────────────────────────────────────────────────────────────


_LIKE_A_SIDE: Final = re.compile(
    r"(?P<under>below|less than|up to|at most|max(?:imum|\.)?|<=|=<|≤)"
    r"|(?P<over>above|more than|at least|min(?:imum|\.)?|>=|=>|≥)",
    re.IGNORECASE,
)
_LIKE_A_RANGE: Final = re.compile(r"(?<=[^\s+\-–—…(])\s*(?:-|–|—|…|\bto\b)\s*(?=[0-9.])")


def _otherwise_written(text: str, body: str) -> NotUnderstood | None:
    """The complaint about a bracket, a bound or `not measurable` in words or signs of the writer's own."""
    side = _LIKE_A_SIDE.match(body)
    if side:
        meant = _settled(f"{side.lastgroup} {body[side.end() :].strip(BLANKS)}")
        if meant:
            return _offering(f"{_shown(text)}: a bound is written under or over", meant)
    ranged = _LIKE_A_RANGE.sub("..", body, count=1)
    meant = _settled(ranged) if ranged != body else None
    if meant:
        return _offering(f"{_shown(text)}: a range has two points between its ends", meant)
    if difflib.SequenceMatcher(None, body[:_MOST_SHOWN].casefold(), NOT_MEASURABLE).ratio() > 0.8:
        return NotUnderstood(f"{_shown(text)}: write {NOT_MEASURABLE}", NOT_MEASURABLE)
    return None


# ── why a text is no number ──────────────────────────────────────────────────────────────────────────────────────────


# What begins like this is no number; looked at after the slips, which can offer the number that was meant.
_NO_NUMBERS: Final = (
    (re.compile(r"[0-9]+:[0-9]"), "a time of day or two numbers; write one number and its unit, 35 min"),
    (re.compile(r"[^±]*±|.*\+/?-"), "write the reading alone; a gauge's uncertainty stands in shop.yml"),
    (re.compile(r"[+-]?[0-9.]+[eE][+-]?[0-9]"), "write the number out, without an exponent"),
    (re.compile(r"[0-9][0-9 -]*/"), "a fraction; write it with a point, 0.333"),
    (re.compile(r"[~≈≃]|ca\b|c\.|about\b|approx", re.IGNORECASE), "write what was read; where it is vague, a bracket"),
)


def _why_not(text: str, body: str, example: str = EXAMPLE) -> NotUnderstood:
    """What is wrong with a text that is neither a number nor a number with a slip in it."""
    shown = _shown(text)
    if not body:
        return NotUnderstood("nothing is written where a number is wanted")
    if re.match(r"[+-]?\.?(?:nan|inf|infinity|∞)(?![a-z])", body, re.IGNORECASE):
        return NotUnderstood(f"{shown}: no finite number; write {NOT_MEASURABLE}, or leave the key empty")
    slipped = _slipped(text, body)
    if slipped:
        return slipped
    for pattern, says in _NO_NUMBERS:
        if pattern.match(body):
            return NotUnderstood(f"{shown}: {says}")
    number = _number_of(body)
    if not number:
        bare = _number_of(example)
        return NotUnderstood(f"{shown}: a number comes first, {bare}{f' or {example}' if example != bare else ''}")
    rest = _unit_of(body)
    if rest[0] in "0123456789.,":
        return NotUnderstood(f"{shown}: a number is digits with at most one point")
    if not (rest[0].isalpha() or rest[0] in "%°º˚"):
        return NotUnderstood(f"{shown}: behind the number stands {_shown(rest)}; a unit belongs there, or nothing")
    return _why_no_unit(shown, number, rest)


def _why_no_unit(shown: str, number: str, rest: str) -> NotUnderstood:
    first = rest.split()[0]
    known = [unit for part in re.split(r"[\s0-9.,/+&-]+", rest) if (unit := canonical(part))]
    if len(set(known)) > 1:
        return NotUnderstood(f"{shown}: {known[0]} and {known[1]} are two units; write one number and one unit")
    meanings, near = two_meanings(rest), nearest_unit(rest)
    if meanings:
        return NotUnderstood(f"{shown}: {rest} is {meanings[0]} to some and {meanings[1]} to others; write one of them")
    if canonical(first) and first != rest and near is None:
        meant = f"{number} {first}"
        return NotUnderstood(f"{shown}: words behind the unit belong in a note; write {meant}", meant)
    if near:
        return NotUnderstood(f"{shown}: {_shown(rest)} is no unit here; nearest: {number} {near}", f"{number} {near}")
    allowed = _listed(tuple(unit.name for unit in UNITS))
    return NotUnderstood(f"{shown}: {_shown(rest)} is no unit here; the units are {allowed}")


def _offering(message: str, meant: str | None) -> NotUnderstood:
    return NotUnderstood(f"{message}; write {_shown(meant)}" if meant else message, meant)


def _is_quantity(text: str) -> bool:
    try:
        return _plain(text) is not None
    except NotUnderstood:
        return False


def _settled(text: str) -> str | None:
    """The text where it can be read, else what is suggested for it: nothing is offered that would be refused."""
    try:
        parse_reading(text)
    except NotUnderstood as trouble:
        return trouble.suggestion
    return text


def _slipped(text: str, body: str) -> NotUnderstood | None:
    """The complaint about a text that becomes a quantity when a slip or several are mended."""
    mended, says = mend(body)
    if not says or not _is_quantity(mended):
        return None
    thousands = thousands_instead(body, mended)
    write = f"{_shown(mended)}, or {_shown(thousands)} if thousands were meant" if thousands else _shown(mended)
    return NotUnderstood(f"{_shown(text)}: {', '.join(says)}; write {write}", mended)


def _listed(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _with_plain_blanks(text: str) -> str:
    return "".join(" " if letter in BLANKS else letter for letter in text)


def _shown(text: str) -> str:
    """A text fit for a message: what cannot be printed by its number, cut where long."""
    soft = _with_plain_blanks(text.strip(BLANKS))
    short = soft if len(soft) <= _MOST_SHOWN else soft[: _MOST_SHOWN - 1] + "…"
    return "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in short)
