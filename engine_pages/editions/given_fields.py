"""Which fields of a record a reader is given, at any depth: the table walked along the models.

In: a record's kind and the keys on the way to a field. Out: whether the table gives it. What no model knows is not
given.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from ..records.engine import EngineFile, PartFile, Plan, Review
from ..records.log import LogLine
from ..records.model import Model
from ..records.sheet import Sheet
from ..records.shop import Shares, ShopFile
from .table import SHOWN

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


class FieldOf(NamedTuple):
    """A field of a model: its own name, the model that stands in it, and whether several do, each by a name."""

    name: str
    model: type[Model] | None
    several: bool


@cache
def fields_of(model: type[Model]) -> Mapping[str, FieldOf]:
    """The fields of a model by the keys under which they are written."""
    return {info.alias or name: FieldOf(name, *_inside(info.annotation)) for name, info in model.model_fields.items()}


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


def _inside(annotation: Any) -> tuple[type[Model] | None, bool]:
    """The model in an annotation, and whether it stands in a list or a map."""
    for one, several in _types_in(annotation, False):
        if isinstance(one, type) and issubclass(one, Model):
            return one, several
    return None, False


def _types_in(annotation: Any, several: bool) -> Iterator[tuple[Any, bool]]:
    yield annotation, several
    several = several or getattr(annotation, "__origin__", None) in (list, dict)
    for inner in getattr(annotation, "__args__", ()):
        yield from _types_in(inner, several)
