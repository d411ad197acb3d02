"""Build, inspection and teardown sheets: one model, since all three say what stood where and what was measured."""

from difflib import get_close_matches
from typing import Annotated, Any, Literal

from pydantic import PlainValidator
from pydantic_core import PydanticCustomError

from .fields import (
    Day,
    Id,
    Reason,
    Refusal,
    Serial,
    Temperature,
    Text,
    TextMap,
    Texts,
    Time,
    YesNo,
    all_refused,
    as_map,
    as_text,
    each,
    of_dimension,
    parse_amount,
    parse_serial,
    refusals_of,
    refused,
    word_of,
)
from .measurement import DEFINITIONS, READINGS_MAP, Measured, Measurement, parse_measured
from .model import Model
from .quantity import Quantity
from .typed import SERIAL, TEXT, Schema, map_of, one_or_map, or_blank, typed_as, words
from .typed_amounts import amount_of, any_amount

SheetKind = Literal["build", "inspection", "teardown"]
DECISIONS = ("reuse", "rework", "replace", "retire", "undecided")
GOES_BACK = ("reuse", "rework")  # a part that was reworked comes back machined: the same part, a new baseline
GOES_OUT = ("replace", "retire")
CAUSES = ("worn", "damaged", "hours", "set", "upgrade", "precaution", "other")
FAILED = ("worn", "damaged")  # causes that speak against the part; the others say nothing of it
ORIGINS = ("new", "used", "unknown")


GRADES = {"0": 0, "1": 1, "2": 2, "3": 3, "4": 4}
_GRADE: Schema = {
    "type": ["integer", "string"],
    "minimum": 0,
    "maximum": max(GRADES.values()),
    "pattern": f"^[{''.join(GRADES)}]$",
    "description": "0 to 4; 0 is looked at, nothing there. The family's grades say what each means.",
}


@typed_as(map_of(one_or_map(_GRADE)))
def parse_observed(raw: Any) -> dict[str, int | dict[str, int]]:
    """Grades by what was looked at; of a set, by member. A name with nothing after it was not looked at."""
    return each(as_map(raw, "a map of observations, one `name: grade` a line,"), _observation)


def _observation(_: str, value: Any) -> int | dict[str, int]:
    if isinstance(value, dict):
        return each([(member, grade) for member, grade in value.items() if grade is not None], _grade)
    return _grade("", value)


def _grade(_: str, value: Any) -> int:
    grade = GRADES.get(value) if isinstance(value, str) else None
    if grade is None:
        raise refused(f"{value!r} is no grade; grades are 0, 1, 2, 3 and 4")
    return grade


@typed_as(one_or_map(SERIAL))
def parse_serials(raw: Any) -> str | dict[str, str]:
    """A serial, or of a set the serial of each member."""
    if not isinstance(raw, dict):
        return parse_serial(raw)
    return each(as_map(raw, ""), lambda _, serial: parse_serial(serial))


@typed_as(one_or_map(any_amount()))
def parse_sizes(raw: Any) -> Quantity | dict[str, Quantity]:
    """How far from standard: one amount, or one a dimension."""
    if not isinstance(raw, dict):
        return parse_amount(raw)
    return each(as_map(raw, ""), lambda _, amount: parse_amount(amount))


Sizes = Annotated[Any, PlainValidator(parse_sizes)]


def is_written(value: Any) -> bool:
    """Whether anything stands in a value; a map of nothing but blanks is blank.

    >>> is_written({"chipping": {"a1": None}}), is_written({"chipping": {"a1": 0}})
    (False, True)
    """
    if isinstance(value, dict):
        return any(is_written(inner) for inner in value.values())
    return value is not None and value != []


class Photo(Model):
    """A photo beside its sheet."""

    file: Text
    view: Text | None = None
    caption: Text | None = None
    crew_only: YesNo | None = None
    taken: Day | None = None
    original: Text | None = None


class PositionLine(Model):
    """What a sheet says of one position, set or member of a set."""

    part: Annotated[Any, PlainValidator(parse_serials)] | None = None
    origin: Annotated[str, PlainValidator(word_of(*ORIGINS))] | None = None
    size: Sizes | None = None
    measured: Measured | None = None
    observed: Annotated[dict[str, Any], PlainValidator(parse_observed)] | None = None
    finding: Text | None = None
    photos: list[Photo] | None = None
    decision: Annotated[str, PlainValidator(word_of(*DECISIONS))] | None = None
    because: Annotated[str, PlainValidator(word_of(*CAUSES))] | None = None
    why: Text | None = None
    correction: Texts | None = None
    crew_note: Text | None = None

    @property
    def is_blank(self) -> bool:
        """Whether nothing stands behind any of its keys: on a sheet that looks, the place was not looked at."""
        return not any(is_written(getattr(self, name)) for name in type(self).model_fields)


class Work(Model):
    """Machining: it opens a new baseline for the dimensions it names, and never a new life."""

    part: Serial | None = None
    position: Text | None = None
    did: Text
    dimensions: Texts | None = None
    size: Sizes | None = None
    by: Text | None = None
    invoice: Text | None = None
    cost: Text | None = None
    note: Text | None = None


class Fluids(Model):
    """What is in the engine from this line on."""

    oil: Text | None = None
    fuel: Text | None = None
    premix: Text | None = None
    injected: Text | None = None
    coolant: Text | None = None
    filter: Text | None = None

    def written(self) -> dict[str, str]:
        """The fluids that were written, in the model's order."""
        return {name: value for name in type(self).model_fields if (value := getattr(self, name)) is not None}


TEST_CIRCUMSTANCES = ("rpm", "unit", "supply", "orifice", "temperature", "faces", "instrument", "by")


class TestRun:
    """One test on a sheet: its circumstances, and the readings by position in the order written."""

    __slots__ = ("circumstances", "readings")

    def __init__(self, circumstances: dict[str, str], readings: dict[str, Measurement]) -> None:
        self.circumstances = circumstances
        self.readings = readings

    def amount(self, name: str) -> Quantity | None:
        """A circumstance that is a quantity (`rpm`, `supply`, `orifice`, `temperature`)."""
        text = self.circumstances.get(name)
        return None if text is None else parse_amount(text)

    @property
    def is_blank(self) -> bool:
        """Whether nothing was read: it was not tested."""
        return not is_written(self.readings)

    @property
    def faces_marked(self) -> bool:
        return self.circumstances.get("faces") == "marked"


_AMOUNTS = {
    "rpm": of_dimension("speed of rotation"),
    "supply": of_dimension("pressure", above=True),
    "orifice": of_dimension("length", above=True),
    "temperature": of_dimension("temperature", least=None),
}
FACES = ("marked", "unmarked")
_CIRCUMSTANCES: dict[str, Schema] = {
    "rpm": {**amount_of("speed of rotation"), "description": "Cranking or running speed."},
    "unit": {**TEXT, "description": "The unit of the readings that bear none."},
    "supply": {**amount_of("pressure"), "description": "Pressure of the air supply of a leak-down test."},
    "orifice": {**amount_of("length"), "description": "Bore of the tester's orifice."},
    "temperature": {**amount_of("temperature", "any"), "description": "Of the engine."},
    "faces": {**words(FACES), "description": "marked: the list begins at a face that was marked on the rotor."},
    "instrument": {**TEXT, "description": "The gauge, as shop.yml names it."},
    "by": {**TEXT, "description": "Who tested it: initials."},
}
_TEST: Schema = {
    **READINGS_MAP,
    "properties": {name: or_blank(_CIRCUMSTANCES[name]) for name in TEST_CIRCUMSTANCES},
    "description": "How it was tested, and the readings by position: {rpm: 262, unit: kPa, rotor-1: [812, 806, 815]}.",
}


@typed_as(map_of(_TEST), DEFINITIONS)
def parse_tests(raw: Any) -> dict[str, TestRun]:
    """The map `tests`: for each test its circumstances and the readings of each position."""
    return each(as_map(raw, "a map of tests, one `test: {position: reading}` a line,"), _test)


def _test(name: str, raw: Any) -> TestRun:
    items = as_map(raw, "a map of positions and readings")
    wrong: list[Refusal] = []
    circumstances: dict[str, str] = {}
    readings: dict[str, Measurement] = {}
    try:
        circumstances = each([item for item in items if item[0] in TEST_CIRCUMSTANCES], _circumstance)
    except PydanticCustomError as bad:
        wrong.extend(refusals_of(bad))
    try:
        readings = parse_measured({key: value for key, value in items if key not in TEST_CIRCUMSTANCES}, name)
    except PydanticCustomError as bad:
        wrong.extend(_with_hint(one) for one in refusals_of(bad))
    if wrong:
        raise all_refused(wrong)
    return TestRun(circumstances, readings)


def _with_hint(wrong: Refusal) -> Refusal:
    """`facs: marked` is no reading that went wrong, but a word beside the test that was mistyped."""
    close = get_close_matches(str(wrong.at[0]), TEST_CIRCUMSTANCES, n=1) if wrong.at else []
    return wrong._replace(message=f"{wrong.message}; did you mean {close[0]}?") if close else wrong


def _circumstance(name: str, value: Any) -> str:
    text = as_text(value)
    if name in _AMOUNTS:
        _AMOUNTS[name](text)
    if name == "faces" and text not in FACES:
        raise refused(f"{text!r} is not known here; allowed: {', '.join(FACES)}")
    return text


LOOKED_AT = ("positions", "fits", "tests", "rest")  # a sheet says at least one of them


class Sheet(Model):
    """A build, inspection or teardown sheet."""

    engine: Id
    date: Day
    sheet: Text | None = None
    reason: Reason | None = None
    by: Text | None = None
    counter: Time | None = None
    temperature: Temperature | None = None
    instruments: TextMap | None = None
    photos: list[Photo] | None = None
    note: Text | None = None
    crew_note: Text | None = None
    positions: dict[str, PositionLine | None] | None = None
    rest: Annotated[str, PlainValidator(word_of("as before"))] | None = None
    opened: list[Text] | None = None
    fits: Measured | None = None
    work: list[Work] | None = None
    tests: Annotated[dict[str, Any], PlainValidator(parse_tests)] | None = None
    torque: TextMap | None = None
    fluids: Fluids | None = None
    correction: Texts | None = None

    @classmethod
    def as_typed(cls, form: Schema) -> Schema:
        """A sheet wants something that was looked at."""
        return {**form, "anyOf": [{"required": [key]} for key in LOOKED_AT]}
