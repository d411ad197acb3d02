"""How a value is typed, beside the function that reads it: what an editor is told, as JSON Schema (draft 7).

An editor reads YAML 1.2 before it looks at a schema: `60.061` is a number to it and `00123` too, `2026-03-07`, `yes`
and `no` are texts, `true` is a truth value. The readers of `fields.py` see the text itself. So a form allows each
value as an editor sees it, and where an editor has already lost what was typed (`1e3` for 1000), the reader alone
decides: no form refuses what its reader takes. Patterns are written for the regular expressions of ECMA 262 and
Python alike.
"""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeVar

from .ids import ID_LENGTH

Schema = dict[str, Any]
F = TypeVar("F", bound=Callable[..., Any])

_FORM, _DEFINITIONS = "form as typed", "definitions of its form"

BLANK: Schema = {"type": "null"}
TEXT: Schema = {"type": ["string", "number", "boolean"]}  # kept as typed: `00123` and `true` are texts as well
TEXTS: Schema = {"type": [*TEXT["type"], "array"], "items": TEXT, "description": "One, or a list."}
SERIAL: Schema = {**TEXT, "pattern": r"\S"}
ID: Schema = {
    **TEXT,
    "pattern": rf"^(?!\.+$)[A-Za-z0-9._-]{{1,{ID_LENGTH}}}$",
    "description": f"Letters, digits, '.', '_' and '-', at most {ID_LENGTH}.",
}
WHOLE: Schema = {
    "type": ["integer", "string"],
    "minimum": 0,
    "maximum": 999_999_999,
    "pattern": "^[0-9]{1,9}$",
    "description": "Digits alone.",
}
YES_NO: Schema = {"enum": ["yes", "no"]}
_DAYS = (
    r"(?:(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])"
    r"|(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|[12][0-9]))"
)
DAY: Schema = {
    "type": "string",
    "pattern": rf"^(?!0000)[0-9]{{4}}-{_DAYS}(?: (?:[01][0-9]|2[0-3]):[0-5][0-9])?$",
    "description": "2026-03-07 or 2026-03-07 09:40.",
}


def typed_as(form: Schema, definitions: Mapping[str, Schema] = MappingProxyType({})) -> Callable[[F], F]:
    """Mark a reader of a field's value with how that value is typed; `definitions` are what the form refers to."""

    def mark(parse: F) -> F:
        parse.__dict__[_FORM] = form
        parse.__dict__[_DEFINITIONS] = definitions
        return parse

    return mark


def form_of(parse: Callable[..., Any]) -> tuple[Schema, Mapping[str, Schema]]:
    """What `typed_as` put on a reader. Raises TypeError where nothing did: a field that no editor could be told of."""
    marks = vars(parse)
    if _FORM not in marks:
        raise TypeError(f"{getattr(parse, '__qualname__', parse)} does not say how its value is typed")
    return marks[_FORM], marks[_DEFINITIONS]


def words(allowed: Sequence[str]) -> Schema:
    """One of a few words."""
    return {"enum": list(allowed)}


def or_blank(form: Schema) -> Schema:
    """The form of a value that may be left blank.

    >>> or_blank({"type": "string"}), or_blank({"enum": ["yes", "no"]})
    ({'type': ['string', 'null']}, {'enum': ['yes', 'no', None]})
    """
    if form == BLANK:
        return form
    if "enum" in form:
        return {**form, "enum": form["enum"] if None in form["enum"] else [*form["enum"], None]}
    if "anyOf" in form:
        return {**form, "anyOf": form["anyOf"] if BLANK in form["anyOf"] else [*form["anyOf"], BLANK]}
    if "type" not in form:
        return {"anyOf": [form, BLANK]}
    kinds = form["type"] if isinstance(form["type"], list) else [form["type"]]
    return {**form, "type": kinds if "null" in kinds else [*kinds, "null"]}


def map_of(value: Schema) -> Schema:
    """A map of names to values, any of which may be blank."""
    return {"type": "object", "additionalProperties": or_blank(value)}


def map_with(keys: Mapping[str, Schema]) -> Schema:
    """A map of these keys and no others, any of which may be blank."""
    return {
        "type": "object",
        "properties": {key: or_blank(form) for key, form in keys.items()},
        "additionalProperties": False,
    }


def one_or_map(one: Schema) -> Schema:
    """A value, or a map of names to such values."""
    kinds = one["type"] if isinstance(one["type"], list) else [one["type"]]
    return {**one, "type": [*kinds, "object"], "additionalProperties": or_blank(one)}


def pair_of(first: Schema, second: Schema) -> Schema:
    """A list of two."""
    return {"type": "array", "items": [first, second], "minItems": 2, "maxItems": 2}
