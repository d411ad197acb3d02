"""The base of every record model: frozen, nothing extra, and its errors brought back to the line they stand on."""

from collections.abc import Iterator
from typing import Any, Generic, NamedTuple, TypeVar

from msgspec import Struct
from pydantic import BaseModel, ConfigDict, ValidationError, model_validator

from .fields import what_it_is
from .source import Problem, Source, error, nearest
from .typed import Schema
from .yaml_text import Document


class Model(BaseModel):
    """A record, or a part of one. None in a field means that nothing was written."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)

    @model_validator(mode="before")
    @classmethod
    def blank_is_nothing_written(cls, raw: Any) -> Any:
        """`rotor:` with nothing after it is a rotor of which nothing is said; what it must say is then missing."""
        return {} if raw is None else raw

    @classmethod
    def as_typed(cls, form: Schema) -> Schema:
        """How the whole is typed, from a form that knows the fields: a model that asks for more adds it here."""
        return form


M = TypeVar("M", bound=Model)
GATHERED = "(gathered)"  # the alias of a field that gathers several keys of the file: no step of its own leads there


class Record(Struct, Generic[M], frozen=True):
    """A model with the document it was read from. `it` holds the values, `place` where they are written.

    Where `broken`, the file has errors and `it` is without the values they stand on: enough to look for what else is
    wrong in the file, never to be published.
    """

    it: M
    document: Document
    broken: bool = False

    @property
    def path(self) -> str:
        return self.document.path

    def place(self, *steps: str | int) -> Source:
        return self.document.place(*steps)


class _Wrong(NamedTuple):
    """A problem, and the steps from the record to the value that has to go for the rest to be read."""

    problem: Problem
    steps: tuple[str | int, ...]


def read_model(model: type[M], document: Document, value: Any, *at: str | int) -> tuple[M | None, list[Problem]]:
    """Validate `value`, which stands at `at` in a document, against a model.

    Gives every problem found. Where there are any, the model is without the values that they stand on, or None where
    it cannot be without them.
    """
    if value is None and any(field.is_required() for field in model.model_fields.values()):
        return None, [error(document.place(*at), "the record is empty")]
    value = {} if value is None else value
    if not isinstance(value, dict):
        return None, [error(document.place(*at), "a record is a map: one `key: value` a line")]
    try:
        return model.model_validate(value), []
    except ValidationError as bad:
        wrong = list(_wrong(bad, model, document, at))
    return _without(model, document, value, wrong, at), [one.problem for one in wrong]


def _without(
    model: type[M], document: Document, value: Any, wrong: list[_Wrong], at: tuple[str | int, ...]
) -> M | None:
    """The model without what is wrong; what then misses a value that it must have goes with it."""
    while wrong:
        before = value
        for one in wrong:
            value = _cut(value, one.steps)
        if value is None or value == before:
            return None
        try:
            return model.model_validate(value)
        except ValidationError as bad:
            wrong = list(_wrong(bad, model, document, at))
    return None


def _cut(value: Any, steps: tuple[str | int, ...]) -> Any:
    """A copy without what stands at `steps`, or None where nothing is left.

    A list goes as a whole, since its items are known by their numbers.
    """
    if not steps or not isinstance(value, dict):
        return None
    step = steps[0]
    if step not in value:
        return value
    inner = _cut(value[step], steps[1:])
    if inner is not None:
        return {**value, step: inner}
    return {key: kept for key, kept in value.items() if key != step}


def _wrong(bad: ValidationError, model: type[Model], document: Document, at: tuple[str | int, ...]) -> Iterator[_Wrong]:
    for item in bad.errors(include_url=False):
        steps = tuple(step for step in item["loc"] if step not in (GATHERED, "[key]"))
        kind = item["type"]
        if kind == "extra_forbidden":
            message = _unknown_key(str(steps[-1]), model, item["loc"])
            yield _Wrong(error(document.key_place(*at, *steps), message), steps)
        elif kind == "missing":
            yield _Wrong(error(document.place(*at, *steps[:-1]), f"{steps[-1]} is missing"), steps[:-1])
        elif kind == "refused":
            for message, inner, of_key in item["ctx"]["refusals"]:
                where = document.key_place if of_key or item["loc"][-1:] == ("[key]",) else document.place
                yield _Wrong(error(where(*at, *steps, *inner), message), (*steps, *inner))
        else:
            yield _Wrong(error(document.place(*at, *steps), _in_words(kind, item)), steps)


def _unknown_key(key: str, model: type[Model], loc: tuple[Any, ...]) -> str:
    return f"unknown key {key!r}; {nearest(key, _fields_at(model, loc[:-1]))}"


def _fields_at(model: type[Model], loc: tuple[Any, ...]) -> list[str]:
    """The keys that the model reached by `loc` allows."""
    current: Any = model
    for step in loc:
        if isinstance(current, type) and issubclass(current, Model) and step in current.model_fields:
            current = current.model_fields[step].annotation
        current = _inner_model(current)
    if not (isinstance(current, type) and issubclass(current, Model)):
        return []
    return [field.alias or name for name, field in current.model_fields.items() if field.alias != GATHERED]


def _inner_model(annotation: Any) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, Model):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = _inner_model(inner)
        if isinstance(found, type) and issubclass(found, Model):
            return found
    return annotation


def _in_words(kind: str, item: Any) -> str:
    value = item["input"]
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return f"a map is wanted here, not {what_it_is(value)}"
    if kind in ("list_type", "tuple_type"):
        return f"a list is wanted here, not {what_it_is(value)}"
    if kind == "literal_error":
        allowed = str(item["ctx"]["expected"]).replace("'", "").replace(" or ", ", ").split(", ")
        return f"{what_it_is(value)} is not known here; {nearest(str(value), allowed)}"
    return f"{what_it_is(value)}: {item['msg']}"
