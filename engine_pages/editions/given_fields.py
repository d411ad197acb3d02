"""Which fields of a record a reader is given, at any depth: the table walked along the models.

In: a record's kind and the keys on the way to a field, or all that is written in it. Out: whether the table gives the
field, or the words that it gives to nobody. What no model knows is not given.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from pydantic.fields import FieldInfo

from ..records.engine import EngineFile, Owner, PartFile, Plan, Review
from ..records.fields import as_text, one_or_many, text_map
from ..records.log import LogLine
from ..records.model import Model
from ..records.sheet import Sheet
from ..records.shop import Shares, ShopFile
from .table import CLOSED, SHOWN, of_this_engine

MODELS: Final[Mapping[str, type[Model]]] = MappingProxyType(
    {
        **dict.fromkeys(("build", "inspection", "teardown"), Sheet),
        "log": LogLine,  # of each of its lines
        "part": PartFile,
        "engine": EngineFile,
        "plan": Plan,
        "review": Review,
        "shop": ShopFile,
        "shares": Shares,
    }
)


SIGNED: Final = "by"  # who worked, measured or answered: initials are shown, and names are names wherever they stand
NAMES: Final = ((ShopFile, "people"), (Owner, "name"))  # names of people: words to be blanked, not texts
FREE_TEXT: Final = (as_text, one_or_many, text_map)  # what reads a field in which a person writes what they like


class FieldOf(NamedTuple):
    """A field of a model: its own name, the model that stands in it, whether several do, each by a name, and whether
    it is free text."""

    name: str
    model: type[Model] | None
    several: bool
    is_text: bool


@cache
def fields_of(model: type[Model]) -> Mapping[str, FieldOf]:
    """The fields of a model by the keys under which they are written."""
    return {info.alias or name: _field_of(name, info) for name, info in model.model_fields.items()}


def is_given(model: type[Model], field: Sequence[str]) -> bool:
    """Whether the table gives what stands at these keys of a record; an item of a list stands there by its own name.

    >>> is_given(Sheet, ("work", "CS-88 ground", "did")), is_given(Sheet, ("work", "CS-88 ground", "note"))
    (True, False)
    >>> is_given(Sheet, ("positions", "bearing-1", "measured", "bore"))
    True
    """
    at: type[Model] = model
    steps = iter(field)
    for step in steps:
        one = fields_of(at).get(step)
        if one is None or one.name not in SHOWN.get(at, ()):
            return False
        if one.model is None:
            return True
        if one.several:
            next(steps, None)
        at = one.model
    return False  # words that stand where a whole record is wanted


def withheld(model: type[Model] | None, value: Any, hidden: bool = False) -> Iterator[str]:
    """The free texts that nobody outside the crew is given, of a record as it was written; who signed is not in it.

    `hidden`: it stands in a field that is not given. Where no model is known, as of a file in a wrong place, what
    stands under a key that no model gives is withheld.

    >>> list(withheld(Sheet, {"note": "shown", "work": [{"did": "ground", "note": "paid cash"}], "crew_note": "late"}))
    ['paid cash', 'late']
    """
    if isinstance(value, str) and hidden:
        yield value
    elif isinstance(value, list):
        for item in value:
            yield from withheld(model, item, hidden)
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _withheld_at(model, key, inner, hidden)


def _withheld_at(model: type[Model] | None, key: str, value: Any, hidden: bool) -> Iterator[str]:
    one = fields_of(model).get(key) if model is not None else None
    if model is None or one is None:
        yield from _texts(value) if key in never_given() else withheld(None, value)
        return
    hidden = hidden or one.name not in of_this_engine(model)
    if one.model is not None:
        inside = list(value.values()) if one.several and isinstance(value, dict) else value
        yield from withheld(one.model, inside, hidden)
    elif not (hidden and one.is_text):
        yield from withheld(None, value)
    elif one.name not in CLOSED and not _is_name(model, one):
        yield from _texts(value)


@cache
def never_given() -> frozenset[str]:
    """The keys of free text that are given in no record."""
    kinds = set(_models(*MODELS.values()))
    given = {key for kind in kinds for key, one in fields_of(kind).items() if one.name in of_this_engine(kind)}
    texts = {key for kind in kinds for key, one in fields_of(kind).items() if one.is_text and not _is_name(kind, one)}
    return frozenset(texts - given - CLOSED)


def _is_name(model: type[Model], field: FieldOf) -> bool:
    return field.name == SIGNED or (model, field.name) in NAMES


def _models(*kinds: type[Model]) -> Iterator[type[Model]]:
    for kind in kinds:
        yield kind
        yield from _models(*(one.model for one in fields_of(kind).values() if one.model is not None))


def _texts(value: Any) -> Iterator[str]:
    inside = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    yield from (value,) if isinstance(value, str) else (text for inner in inside for text in _texts(inner))


def _field_of(name: str, info: FieldInfo) -> FieldOf:
    types = list(_types_in(info.annotation, False))
    found = next(((one, several) for one, several in types if isinstance(one, type) and issubclass(one, Model)), None)
    read_by = [*info.metadata, *(by for one, _ in types for by in getattr(one, "__metadata__", ()))]
    is_text = any(getattr(by, "func", None) in FREE_TEXT for by in read_by)
    inside, several = found or (None, False)
    return FieldOf(name, inside, several, is_text)


def _types_in(annotation: Any, several: bool) -> Iterator[tuple[Any, bool]]:
    """Every type in an annotation, and whether it stands in a list or a map."""
    yield annotation, several
    several = several or getattr(annotation, "__origin__", None) in (list, dict)
    for inner in getattr(annotation, "__args__", ()):
        yield from _types_in(inner, several)
