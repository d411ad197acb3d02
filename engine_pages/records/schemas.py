"""JSON Schema (draft 7) of every kind of record, for an editor: the kind's name in, the schema out.

Nothing is said twice: keys, what must be there and what a key may hold come from the models and from the readers of
their fields (`typed.py`), what a key means from `descriptions.py`. Same models, same bytes.
"""

import json
import re
from types import MappingProxyType, NoneType
from typing import Any, Literal, NamedTuple, get_args, get_origin

from pydantic import PlainValidator
from pydantic.fields import FieldInfo

from .descriptions import DESCRIPTIONS
from .engine import EngineFile, PartFile, Plan, Review
from .family import Family
from .log import LogLine
from .model import GATHERED, Model
from .sheet import Sheet
from .shop import Shares, ShopFile
from .typed import Schema, form_of, or_blank

DRAFT = "http://json-schema.org/draft-07/schema#"


class RecordKind(NamedTuple):
    """A kind of record: its title, where its file stands in the shop's folder, and its model."""

    title: str
    path: str
    model: type[Model]
    is_list: bool = False


_OF_ENGINE = "engines/<engine>"
KINDS: MappingProxyType[str, RecordKind] = MappingProxyType(
    {
        "shop": RecordKind("The shop", "shop.yml", ShopFile),
        "family": RecordKind("An engine family", "families/<family>.yml", Family),
        "part": RecordKind("A part", "parts/<serial>.yml", PartFile),
        "engine": RecordKind("An engine", f"{_OF_ENGINE}/engine.yml", EngineFile),
        "log": RecordKind("A run log", f"{_OF_ENGINE}/log.yml", LogLine, is_list=True),
        "plan": RecordKind("Events to come", f"{_OF_ENGINE}/plan.yml", Plan),
        "review": RecordKind("Answers before a sale", f"{_OF_ENGINE}/review.yml", Review),
        "shares": RecordKind("Live links", "shares.yml", Shares),
        "build": RecordKind("A build sheet", f"{_OF_ENGINE}/builds/<date>.yml", Sheet),
        "inspection": RecordKind("An inspection sheet", f"{_OF_ENGINE}/inspections/<date>.yml", Sheet),
        "teardown": RecordKind("A teardown sheet", f"{_OF_ENGINE}/teardowns/<date>/teardown.yml", Sheet),
    }
)


def schema_of(kind: str) -> Schema:
    """The schema of one kind of record, one of `KINDS`. Raises KeyError for another."""
    record = KINDS[kind]
    drawn = _Drawn()
    whole = drawn.of_model(record.model)
    if record.is_list:
        whole = {"type": ["array", "null"], "items": drawn.reference(record.model)}
    return {
        "$schema": DRAFT,
        "$id": file_name(kind),
        "title": record.title,
        "description": f"{record.path}. A key with nothing after it means: not looked at.",
        **{key: value for key, value in whole.items() if key != "description"},
        "definitions": dict(sorted(drawn.definitions.items())),
    }


def schema_text(kind: str) -> str:
    """The schema as the text of a file."""
    return json.dumps(schema_of(kind), indent=2, ensure_ascii=False) + "\n"


def file_name(kind: str) -> str:
    """What the file of a kind's schema is called, and its address beside the others.

    >>> file_name("teardown")
    'teardown.schema.json'
    """
    return f"{kind}.schema.json"


class _Drawn:
    """A schema while it is drawn: what it refers to gathers in `definitions`."""

    def __init__(self) -> None:
        self.definitions: dict[str, Schema] = {}

    def of_model(self, model: type[Model]) -> Schema:
        """A map of the model's keys; blank as a whole where nothing in it must be written."""
        fields = model.model_fields
        known = {_key(name, field): self._described(model, name, field) for name, field in fields.items()}
        gathered = known.pop(GATHERED, None)
        required = [_key(name, field) for name, field in fields.items() if field.is_required()]
        form: Schema = {
            "description": " ".join((model.__doc__ or "").split()),
            "type": "object",
            "properties": known,
            "additionalProperties": gathered["additionalProperties"] if gathered else False,
        }
        return model.as_typed({**form, "required": required} if required else or_blank(form))

    def reference(self, model: type[Model]) -> Schema:
        """A reference to a model's definition, which is drawn where it is met first."""
        name = re.sub(r"(?<=[a-z])(?=[A-Z])", "-", model.__name__).lower()
        if name not in self.definitions:
            self.definitions[name] = {}
            self.definitions[name] = self.of_model(model)
        return {"$ref": f"#/definitions/{name}"}

    def _described(self, model: type[Model], name: str, field: FieldInfo) -> Schema:
        """A field with what it means, and how it is written where its form says so."""
        form = self._of_field(field)
        key = _key(name, field)
        if key == GATHERED:
            return form
        how = form.get("description")
        means = DESCRIPTIONS[model.__name__][key]
        if "$ref" in form:
            form = {"allOf": [form]}  # draft 7 looks at nothing beside a reference
        return {
            "description": f"{means} {how}" if how else means,
            **{k: v for k, v in form.items() if k != "description"},
        }

    def _of_field(self, field: FieldInfo) -> Schema:
        return self._of(field.annotation, tuple(field.metadata))

    def _of(self, annotation: Any, metadata: tuple[Any, ...] = ()) -> Schema:
        for mark in metadata:
            if isinstance(mark, PlainValidator):
                form, definitions = form_of(mark.func)
                self.definitions.update(definitions)
                return form
        if hasattr(annotation, "__metadata__"):
            return self._of(annotation.__origin__, annotation.__metadata__)
        if isinstance(annotation, type) and issubclass(annotation, Model):
            return self.reference(annotation)
        return self._of_container(annotation)

    def _of_container(self, annotation: Any) -> Schema:
        origin, inner = get_origin(annotation), get_args(annotation)
        if NoneType in inner:
            (one,) = [each for each in inner if each is not NoneType]
            return self._of(one) if _blank_by_itself(one) else or_blank(self._of(one))
        if origin is Literal:
            return {"enum": list(inner)}
        if origin is list:
            return {"type": "array", "items": self._of(inner[0])}
        if origin is dict:
            return self._of_map(*inner)
        raise TypeError(f"no form is known for a field of type {annotation}")

    def _of_map(self, key: Any, value: Any) -> Schema:
        names = {} if key is str else self._of(key)
        form = {"type": "object", "additionalProperties": self._of(value)}
        told = {rule: names[rule] for rule in ("pattern", "enum") if rule in names}
        return {**form, "propertyNames": told} if told else form


def _blank_by_itself(annotation: Any) -> bool:
    """Whether it is a model of which nothing must be written: its own definition lets it be blank."""
    if not (isinstance(annotation, type) and issubclass(annotation, Model)):
        return False
    return not any(field.is_required() for field in annotation.model_fields.values())


def _key(name: str, field: FieldInfo) -> str:
    """The key of a field as it is typed."""
    return field.alias or name
