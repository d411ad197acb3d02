"""Field types of the record models: plain text in, checked values out, each error in the words of the bench.

Every value of a record is text until its field's type is known. A type here is a small function from that text to a
value, which raises what `refused` makes; the place inside a nested value travels with it, and of a nested value every
part that is wrong is named, not the first alone.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from types import MappingProxyType
from typing import Annotated, Any, Literal, NamedTuple, TypeVar

from pydantic import PlainValidator
from pydantic_core import PydanticCustomError

from .ids import ALLOWED, is_id
from .quantity import EXAMPLE, NotUnderstood, Quantity, parse_quantity
from .source import nearest, with_article
from .typed import DAY, ID, SERIAL, TEXT, TEXTS, WHOLE, YES_NO, map_of, typed_as, words
from .typed_amounts import amount_of, any_amount, share
from .units import Dimension, dimension_of, units_of

_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?: (\d{2}):(\d{2}))?", re.ASCII)

Step = str | int
K = TypeVar("K", bound=Step)
V = TypeVar("V")


class Refusal(NamedTuple):
    """What is wrong with a part of a field's value, and the steps that lead to it; `of_key`: the last key itself."""

    message: str
    at: tuple[Step, ...]
    of_key: bool = False


def refused(message: str, *at: Step, of_key: bool = False) -> PydanticCustomError:
    """The error of a field, with the steps inside the field's value that lead to what is wrong."""
    return all_refused([Refusal(message, at, of_key)])


def all_refused(refusals: Sequence[Refusal]) -> PydanticCustomError:
    """One error of a field for all that is wrong in it."""
    return PydanticCustomError("refused", "{message}", {"message": refusals[0].message, "refusals": tuple(refusals)})


def refusals_of(bad: PydanticCustomError) -> tuple[Refusal, ...]:
    """What `refused` and `all_refused` put into an error."""
    found: tuple[Refusal, ...] = (bad.context or {})["refusals"]
    return found


def each(items: Iterable[tuple[K, Any]], parse: Callable[[K, Any], V]) -> dict[K, V]:
    """Parse every item of a map or a numbered list; what is wrong with any of them is refused together at the end."""
    out: dict[K, V] = {}
    wrong: list[Refusal] = []
    for step, raw in items:
        try:
            out[step] = parse(step, raw)
        except PydanticCustomError as bad:
            wrong.extend(Refusal(message, (step, *at), of_key) for message, at, of_key in refusals_of(bad))
    if wrong:
        raise all_refused(wrong)
    return out


@dataclass(frozen=True, slots=True, order=True)  # no struct: these ask None < None of two equal days
class When:
    """A day, and the time of day where one was written. `2026-03-07` or `2026-03-07 09:40`, nothing else."""

    day: date
    clock: time | None = None

    def __str__(self) -> str:
        return self.day.isoformat() + (f" {self.clock:%H:%M}" if self.clock else "")


@typed_as(DAY)
def parse_when(raw: Any) -> When:
    """The date as written, or a refusal that says what is allowed."""
    text = as_text(raw)
    match = _DATE.fullmatch(text)
    if match is None:
        raise refused(f"{text!r} is no date; write 2026-03-07 or 2026-03-07 09:40")
    year, month, day_number, hour, minute = match.groups()
    try:
        day = date(int(year), int(month), int(day_number))
        clock = time(int(hour), int(minute)) if hour is not None else None
    except ValueError as bad:
        raise refused(f"{text} does not exist: {bad}") from None
    return When(day, clock)


@typed_as(TEXT)
def as_text(raw: Any) -> str:
    """The text that was written; a list or a map here is an error, and so is nothing at all."""
    if isinstance(raw, str):
        return raw
    if raw is None:
        raise refused("nothing is written here")
    kind = "a list" if isinstance(raw, list) else "a map"
    raise refused(f"{kind} stands where a text is wanted")


@typed_as(SERIAL)
def parse_serial(raw: Any) -> str:
    """A serial or another name that stands on a part: any text that is not blank."""
    text = as_text(raw)
    if not text.strip():
        raise refused("nothing is written here but quotes; leave the key empty, or write what stands on the part")
    return text


@typed_as(ID)
def parse_id(raw: Any) -> str:
    """An id as written."""
    text = as_text(raw)
    if not is_id(text):
        raise refused(f"{text!r} is no id; an id has {ALLOWED}")
    return text


@typed_as(WHOLE)
def parse_whole(raw: Any) -> int:
    """A count: digits alone."""
    text = as_text(raw)
    if re.fullmatch(r"\d{1,9}", text, re.ASCII) is None:
        raise refused(f"{text!r} is no whole number; write digits alone")
    return int(text)


@typed_as(YES_NO)
def parse_yes_no(raw: Any) -> bool:
    """`yes` or `no`, as words."""
    text = as_text(raw)
    if text not in ("yes", "no"):
        raise refused(f"{text!r} stands where yes or no is wanted")
    return text == "yes"


@typed_as(any_amount())
def parse_amount(raw: Any, example: str = EXAMPLE) -> Quantity:
    """A quantity with or without its unit; `example` is what a message offers to who writes no number."""
    text = as_text(raw)
    try:
        return parse_quantity(text, example)
    except NotUnderstood as bad:
        raise refused(bad.message) from None


def word_of(*allowed: str) -> Callable[[Any], str]:
    """A validator for one of a few words; another word is answered with the nearest."""

    @typed_as(words(allowed))
    def parse(raw: Any) -> str:
        text = as_text(raw)
        if text not in allowed:
            raise refused(f"{text!r} is not known here; {nearest(text, allowed)}")
        return text

    return parse


@typed_as(TEXTS)
def one_or_many(raw: Any) -> tuple[str, ...]:
    """A text, or a list of texts, as a tuple."""
    if not isinstance(raw, list):
        return (as_text(raw),)
    return tuple(each(enumerate(raw), lambda _, item: as_text(item)).values())


def as_map(raw: Any, wanted: str) -> list[tuple[str, Any]]:
    """The items of a map that are not blank; anything else is refused with what is wanted here."""
    if not isinstance(raw, dict):
        raise refused(f"{wanted} is wanted here, not {what_it_is(raw)}")
    return [(name, value) for name, value in raw.items() if value is not None]


def what_it_is(raw: Any) -> str:
    """A value as a message names it."""
    if raw is None:
        return "nothing"
    if isinstance(raw, dict):
        return "a map"
    return "a list" if isinstance(raw, list) else repr(raw)


@typed_as(map_of(TEXT))
def text_map(raw: Any) -> dict[str, str]:
    """A map from names to texts; a name with nothing after it is left out."""
    return each(as_map(raw, "a map of names, one `name: text` a line,"), lambda _, value: as_text(value))


_EXAMPLES: Mapping[Dimension, str] = MappingProxyType(
    {
        "time": "2.5 h",
        "distance": "61 km",
        "speed of rotation": "9150 rpm",
        "pressure": "118 psi",
        "temperature": "24 °C",
    }
)  # of what stands in records; every other dimension is a length there


def of_dimension(
    dimension: Dimension, *, least: Literal[0] | None = 0, above: bool = False, example: str | None = None
) -> Callable[[Any], Quantity]:
    """A quantity whose unit, where it is written, measures `dimension`; by default it is not below zero.

    `above`: it is more than zero. `example` is what a message offers, else one of the dimension.
    """
    shown = example or _EXAMPLES.get(dimension, EXAMPLE)

    @typed_as(amount_of(dimension, "above zero" if above else "any" if least is None else "not below zero"))
    def parse(raw: Any) -> Quantity:
        amount = parse_amount(raw, shown)
        if amount.unit is not None and dimension_of(amount.unit) != dimension:
            raise refused(wrong_kind(amount, dimension))
        if least is not None and amount.number < least:
            raise refused(f"{amount.written} is below {least}")
        if above and amount.number <= 0:
            raise refused(f"{amount.written} where more than 0 is wanted, such as {shown}")
        return amount

    return parse


def wrong_kind(amount: Quantity, dimension: Dimension) -> str:
    """The message for a unit that measures something else, with the units that are allowed."""
    return f"{amount.written} where {with_article(dimension)} is wanted: {', '.join(units_of(dimension))}"


MOST_CERTAIN = Decimal("0.9999")  # beyond it an interval says nothing, and arithmetic takes it for certainty


@typed_as(share(float(MOST_CERTAIN)))
def parse_share(raw: Any) -> str:
    """A chance or a confidence: a number between 0 and 1, kept as written."""
    amount = parse_amount(raw, "0.9")
    if amount.unit is not None or not 0 < amount.number < 1:
        raise refused(f"{amount.written} is not between 0 and 1; write 0.9 for nine in ten")
    if amount.number > MOST_CERTAIN:
        raise refused(f"{amount.written} is more than any reading can tell; {MOST_CERTAIN} at the most")
    return amount.written


Text = Annotated[str, PlainValidator(as_text)]
Id = Annotated[str, PlainValidator(parse_id)]
Day = Annotated[When, PlainValidator(parse_when)]
Whole = Annotated[int, PlainValidator(parse_whole)]
YesNo = Annotated[bool, PlainValidator(parse_yes_no)]
Serial = Annotated[str, PlainValidator(parse_serial)]
Share = Annotated[str, PlainValidator(parse_share)]
Texts = Annotated[tuple[str, ...], PlainValidator(one_or_many)]
TextMap = Annotated[dict[str, str], PlainValidator(text_map)]
REASONS = ("planned", "incident", "sale", "failure", "other")
Reason = Annotated[str, PlainValidator(word_of(*REASONS))]

Amount = Annotated[Quantity, PlainValidator(parse_amount)]  # any unit: what fits is known elsewhere
Time = Annotated[Quantity, PlainValidator(of_dimension("time"))]
Minutes = Annotated[Quantity, PlainValidator(of_dimension("time", example="35 min"))]
Distance = Annotated[Quantity, PlainValidator(of_dimension("distance"))]
Speed = Annotated[Quantity, PlainValidator(of_dimension("speed of rotation"))]
Pressure = Annotated[Quantity, PlainValidator(of_dimension("pressure"))]
Temperature = Annotated[Quantity, PlainValidator(of_dimension("temperature", least=None))]
