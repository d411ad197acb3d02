"""What stands under `measured`: one reading, repeats, stations, members of a set, or a reading with its circumstances.

The tree is kept as typed: a `Reading` at each leaf, names above it. Which names are stations and which are members is
known only beside the family, and settled there.
"""

from collections.abc import Iterator
from types import MappingProxyType
from typing import Annotated, Any, Union

from msgspec import Struct
from pydantic import PlainValidator

from .fields import Step, as_map, as_text, each, of_dimension, refused, what_it_is
from .quantity import Bracket, NotMeasurable, NotUnderstood, OneSided, Quantity, parse_reading
from .source import nearest
from .typed import TEXT, Schema, map_with, typed_as
from .typed_amounts import amount_of, amount_pattern, reading_pattern

Written = Quantity | Bracket | OneSided | NotMeasurable
CIRCUMSTANCES = ("value", "instrument", "temperature", "by")  # no member and no station may bear these names


class Reading(Struct, frozen=True):
    """One reading, or repeats of it; `steps` lead from the dimension's value to where it is written."""

    values: tuple[Written, ...]
    steps: tuple[Step, ...] = ()
    instrument: str | None = None
    temperature: Quantity | None = None
    by: str | None = None


Measurement = Union[Reading, "dict[str, Measurement]"]

_READINGS: Schema = {"$ref": "#/definitions/readings"}
READINGS_MAP: Schema = {"type": "object", "additionalProperties": _READINGS}


def _readings() -> Schema:
    """How a reading is typed, and what may stand in its place: repeats, its circumstances, members or stations."""
    number: Schema = {"type": ["number", "string"]}
    circumstances = {
        "value": {"anyOf": [_READINGS], "description": "One reading, repeats, stations or members."},
        "instrument": {**TEXT, "description": "The gauge, as shop.yml names it."},
        "temperature": {**amount_of("temperature", "any"), "description": "Of part and gauge, where it was read."},
        "by": {**TEXT, "description": "Who read it: initials."},
    }
    repeats: Schema = {
        "if": {"type": "array", "minItems": 2},
        "then": {"items": {**number, "pattern": amount_pattern()}},
        "else": {"items": {**number, "pattern": reading_pattern()}},
    }
    return {
        "description": "60.061, [60.060, 60.061], 0.05..0.08 mm, under 0.05 mm, not measurable; or of a set or of "
        "stations a map of them; or {value: 60.061, instrument: …, temperature: 24 °C, by: RK}.",
        "type": ["number", "string", "array", "object", "null"],
        "pattern": reading_pattern(),
        "minItems": 1,
        "allOf": [repeats],
        "if": {"type": "object", "required": ["value"]},
        "then": map_with(circumstances),
        "else": {"propertyNames": {"not": {"enum": [*CIRCUMSTANCES]}}, "additionalProperties": _READINGS},
    }


DEFINITIONS: MappingProxyType[str, Schema] = MappingProxyType({"readings": _readings()})


@typed_as(READINGS_MAP, DEFINITIONS)
def parse_measured(raw: Any, *at: str) -> dict[str, Measurement]:
    """The map `measured`, without the dimensions that were left blank; `at` leads to it from the field."""
    items = as_map(raw, "a map of dimensions, one `dimension: reading` a line,")
    return _branches(items, at)


def leaves(tree: Measurement, names: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Reading]]:
    """Every reading of a tree with the names (members, stations) above it."""
    if isinstance(tree, Reading):
        yield names, tree
        return
    for name, branch in tree.items():
        yield from leaves(branch, (*names, name))


def _branches(items: list[tuple[str, Any]], steps: tuple[Step, ...]) -> dict[str, Measurement]:
    trees = each(items, lambda name, value: _tree(value, (*steps, name)))
    return {name: tree for name, tree in trees.items() if tree != {}}


def _tree(raw: Any, steps: tuple[Step, ...]) -> Measurement:
    if not isinstance(raw, dict):
        return Reading(_values(raw), steps)
    if "value" in raw:
        return _with_circumstances(raw, steps)
    for name in CIRCUMSTANCES:
        if name in raw:
            raise refused(f"{name} stands without a value beside it; write value: too", name, of_key=True)
    return _branches([(name, value) for name, value in raw.items() if value is not None], steps)


_TEMPERATURE = of_dimension("temperature", least=None)


def _with_circumstances(raw: dict[str, Any], steps: tuple[Step, ...]) -> Measurement:
    def one(name: str, value: Any) -> Any:
        if name not in CIRCUMSTANCES:
            raise refused(f"unknown key {name!r} beside value; {nearest(name, CIRCUMSTANCES)}", of_key=True)
        if value is None:
            return {} if name == "value" else None
        if name == "value":
            return _tree(value, (*steps, name))
        return _TEMPERATURE(value) if name == "temperature" else as_text(value)

    found = each(raw.items(), one)
    return _pour(found["value"], found.get("instrument"), found.get("temperature"), found.get("by"))


def _pour(tree: Measurement, instrument: str | None, temperature: Quantity | None, by: str | None) -> Measurement:
    """The circumstances written round a value belong to every reading inside it that has none of its own."""
    if isinstance(tree, Reading):
        return Reading(
            tree.values,
            tree.steps,
            tree.instrument or instrument,
            tree.temperature or temperature,
            tree.by or by,
        )
    return {name: _pour(branch, instrument, temperature, by) for name, branch in tree.items()}


def _values(raw: Any) -> tuple[Written, ...]:
    if not isinstance(raw, list):
        return (_one(raw),)
    if not raw:
        raise refused("an empty list holds no reading")
    return tuple(each(enumerate(raw), _one_of if len(raw) > 1 else lambda _, item: _one(item)).values())


def _one_of(_: int, raw: Any) -> Written:
    value = _one(raw)
    if not isinstance(value, Quantity):
        raise refused("a list holds repeated readings; a range stands alone")
    return value


def _one(raw: Any) -> Written:
    if not isinstance(raw, str):
        raise refused("nothing is written here" if raw is None else f"a reading is wanted here, not {what_it_is(raw)}")
    try:
        return parse_reading(raw)
    except NotUnderstood as bad:
        raise refused(bad.message) from None


# Any, since the type holds itself: dict[str, Measurement]
Measured = Annotated[Any, PlainValidator(parse_measured)]
