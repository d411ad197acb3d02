"""One engine family: where parts sit, what is measured on them, the limits with their sources, the service rules."""

from collections.abc import Iterable
from decimal import Decimal
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator, model_validator

from .fields import (
    Amount,
    Id,
    Speed,
    Text,
    TextMap,
    Texts,
    Whole,
    YesNo,
    as_map,
    as_text,
    each,
    of_dimension,
    parse_amount,
    refused,
    word_of,
    wrong_kind,
)
from .model import GATHERED, Model
from .quantity import Quantity
from .source import nearest
from .typed import TEXT, Schema, map_with, or_blank, pair_of, typed_as, words
from .typed_amounts import Sign, amount_of, any_amount, number_alone
from .units import Dimension as UnitDimension
from .units import dimension_of

MATERIALS = ("steel", "cast-iron", "aluminium", "titanium")
EXPOSURES = ("hours", "km", "starts", "runs")
RULE_UNITS = ("hours", "km", "starts", "runs", "months")
LIFE_DIMENSIONS: MappingProxyType[str, UnitDimension] = MappingProxyType({"hours": "time", "km": "distance"})
_SPEED = of_dimension("speed of rotation")
INCIDENTS = ("over_rev", "overheat", "low_oil_pressure", "detonation", "fire", "other")


@typed_as(pair_of(any_amount(), any_amount()))
def parse_range(raw: Any) -> tuple[Quantity, Quantity]:
    """`[low, high]`, the first not above the second."""
    if not isinstance(raw, list) or len(raw) != 2:
        raise refused("a range is two numbers: [low, high]")
    low, high = each(enumerate(raw), lambda _, item: parse_amount(item)).values()
    if low.unit == high.unit and low.number > high.number:
        raise refused(f"the range is the wrong way round: {low.written} is above {high.written}")
    return low, high


_POINT = pair_of(amount_of("speed of rotation"), number_alone("above zero"))


@typed_as({"type": "array", "minItems": 1, "items": _POINT})
def parse_curve(raw: Any) -> tuple[tuple[Decimal, Decimal], ...]:
    """`[[speed, factor], …]` with speeds that increase strictly and factors above zero."""
    if not isinstance(raw, list) or not raw:
        raise refused("a curve is a list of [speed, factor]")
    points = tuple(each(enumerate(raw), _curve_point).values())
    for index in range(1, len(points)):
        before, speed = points[index - 1][0], points[index][0]
        if speed <= before:
            raise refused(f"the speeds of a curve increase; {speed} follows {before}", index, 0)
    return points


def _curve_point(_: int, raw: Any) -> tuple[Decimal, Decimal]:
    if not isinstance(raw, list) or len(raw) != 2:
        raise refused("a point of the curve is [speed, factor]")
    speed, factor = each(enumerate(raw), lambda step, item: (parse_amount if step else _SPEED)(item)).values()
    if factor.unit is not None or factor.number <= 0:
        raise refused(f"a factor is a plain number above zero, not {factor.written}", 1)
    return speed.number, factor.number


def life_form(units: Iterable[str], sign: Sign) -> Schema:
    """How a map of exposures is typed: each a number alone, or where it can be with a unit of its own."""
    measured = {unit: LIFE_DIMENSIONS.get(unit) for unit in units}
    return map_with(
        {unit: amount_of(kind, sign) if kind is not None else number_alone(sign) for unit, kind in measured.items()}
    )


@typed_as(or_blank(life_form(RULE_UNITS, "above zero")))
def parse_rule(raw: Any) -> dict[str, Quantity]:
    """`{hours: 60, months: 36}`: the earliest counts. Every interval is above zero."""
    return each(as_map(raw, "a rule such as {hours: 60, months: 36}"), _interval) if raw is not None else {}


def _interval(unit: str, raw: Any) -> Quantity:
    if unit not in RULE_UNITS:
        raise refused(f"unknown interval {unit!r}; {nearest(unit, RULE_UNITS)}", of_key=True)
    amount = life_amount(unit, raw)
    if amount.number <= 0:
        raise refused(f"an interval is above zero, not {amount.written}")
    return amount


def life_amount(unit: str, raw: Any) -> Quantity:
    """So many hours, km, starts, runs, months: with a unit of its own only where that measures the same."""
    amount = parse_amount(raw, {"hours": "60 h", "km": "500 km"}.get(unit, "60"))
    dimension = LIFE_DIMENSIONS.get(unit)
    if dimension is None and amount.unit is not None:
        raise refused(f"{amount.written} where a plain number of {unit} is wanted")
    if dimension is not None and amount.unit is not None and dimension_of(amount.unit) != dimension:
        raise refused(wrong_kind(amount, dimension))
    return amount


Range = Annotated[tuple[Quantity, Quantity], PlainValidator(parse_range)]
Rule = Annotated[dict[str, Quantity], PlainValidator(parse_rule)]


class LimitLine(Model):
    """The least, the most, or both."""

    min: Amount | None = None
    max: Amount | None = None


class Form(Model):
    """A limit on a difference between stations: out of round, taper."""

    limit: LimitLine | None = None
    new: Range | None = None
    source: Text | None = None
    name: Text | None = None


OF_STATIONS = ("smallest", "largest", "mean")
_STATIONS: Schema = {"type": "array", "minItems": 1, "items": TEXT}
_of_stations = word_of(*OF_STATIONS)


@typed_as(
    {
        "type": "array",
        "minItems": 2,
        "maxItems": 3,
        "if": {"maxItems": 2},
        "then": {"items": TEXT},
        "else": {"items": [TEXT, words(OF_STATIONS), _STATIONS]},
        "description": "[station, station], or [station, smallest|largest|mean, [stations]].",
    }
)
def parse_difference(raw: Any) -> tuple[str | tuple[str, ...], ...]:
    """`[plug-point, smallest, [b, c, d]]`: a station, and the smallest, largest or mean of others."""
    if not isinstance(raw, list) or len(raw) not in (2, 3):
        raise refused("a difference is [station, station] or [station, smallest|largest|mean, [stations]]")
    if len(raw) == 2:
        return tuple(each(enumerate(raw), lambda _, item: as_text(item)).values())
    return tuple(each(enumerate(raw), _difference_part).values())


def _difference_part(index: int, raw: Any) -> str | tuple[str, ...]:
    if index == 0:
        return as_text(raw)
    if index == 1:
        return _of_stations(raw)
    if not isinstance(raw, list) or not raw:
        raise refused("the stations of a difference are a list")
    return tuple(each(enumerate(raw), lambda _, item: as_text(item)).values())


class Difference(Form):
    """A named difference between stations, such as the loss of width of a housing."""

    difference: Annotated[tuple[Any, ...], PlainValidator(parse_difference)]


FORMS = ("out_of_round", "taper")


class Dimension(Model):
    """One dimension of a kind of part."""

    name: Text | None = None
    unit: Text
    wears: Annotated[str, PlainValidator(word_of("up", "down", "either", "none"))] | None = None
    new: Range | None = None
    limit: LimitLine | None = None
    instrument: Text | None = None
    source: Text | None = None
    stations: Texts | None = None
    judge: Annotated[str, PlainValidator(word_of("largest", "smallest", "mean", "each"))] | None = None
    corrected: YesNo | None = None
    out_of_round: Form | None = None
    taper: Form | None = None
    differences: dict[str, Difference] | None = Field(default=None, alias=GATHERED)

    @model_validator(mode="before")
    @classmethod
    def gather_differences(cls, raw: Any) -> Any:
        """Named differences stand beside the dimension's own keys; they are those maps that hold `difference`."""
        if not isinstance(raw, dict):
            return raw
        if GATHERED in raw:
            raise refused(f"unknown key {GATHERED!r}", GATHERED, of_key=True)
        named = {key: inner for key, inner in raw.items() if isinstance(inner, dict) and "difference" in inner}
        return {**{key: inner for key, inner in raw.items() if key not in named}, GATHERED: named or None}


class Service(Model):
    """When a part is to be replaced or looked at, and what an incident asks of it."""

    replace: Rule | None = None
    inspect: Rule | None = None
    after: (
        dict[
            Annotated[str, PlainValidator(word_of(*INCIDENTS))],
            Annotated[str, PlainValidator(word_of("inspect", "replace"))],
        ]
        | None
    ) = None


class Kind(Model):
    """One kind of part: its material, its dimensions, what is graded on it."""

    name: Text | None = None
    material: Annotated[str, PlainValidator(word_of(*MATERIALS))] | None = None
    expansion: Text | None = None
    whole: YesNo | None = None
    serial: YesNo | None = None
    dimensions: dict[str, Dimension] | None = None
    observe: Texts | None = None
    service: Service | None = None
    apart: YesNo | None = None


class Place(Model):
    """A position: its kind, its row (rotor or cylinder, 1 at the front), the members of a set."""

    kind: Text
    row: Whole | None = None
    names: Texts | None = None
    name: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def kind_alone(cls, raw: Any) -> Any:
        """`rotor-1: rotor` is short for `rotor-1: {kind: rotor}`."""
        return {"kind": raw} if isinstance(raw, str) else raw

    @classmethod
    def as_typed(cls, form: Schema) -> Schema:
        """A kind alone, or a map."""
        return {"anyOf": [TEXT, form]}


class Fit(Model):
    """A clearance between two parts: outer minus inner."""

    name: Text | None = None
    row: Whole | None = None
    outer: Text
    inner: Text
    unit: Text | None = None
    new: Range | None = None
    limit: LimitLine | None = None
    instrument: Text | None = None
    source: Text | None = None


class Spread(Model):
    """How far apart chambers of one row, and rows, may lie."""

    chambers: Amount | None = None
    rows: Amount | None = None


class TestRule(Model):
    """Limits of a test, and how a reading is brought to the standard cranking speed."""

    name: Text | None = None
    unit: Text | None = None
    at: Speed | None = None
    limit: LimitLine | None = None
    spread: Spread | None = None
    curve: Annotated[tuple[Any, ...], PlainValidator(parse_curve)] | None = None
    source: Text | None = None


class Family(Model):
    """An engine family, as its limits sheet has it."""

    family: Id
    name: Text | None = None
    architecture: Literal["rotary", "piston"]
    exposure: Literal["hours", "km", "starts", "runs"]
    redline: Speed | None = None
    source: Text | None = None
    positions: dict[Id, Place]
    kinds: dict[Id, Kind]
    services: dict[Text, Rule] | None = None
    fits: dict[Id, Fit] | None = None
    tests: dict[Id, TestRule] | None = None
    grades: dict[Text, TextMap] | None = None
