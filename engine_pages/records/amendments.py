"""What one version of a record says otherwise than another: two contents as written in, changes of fields out.

Text counts as written: `0.050` for `0.05` is a change. How YAML spells it does not: the order of keys, quotes,
comments, flow or block form, line ends. A key with nothing after it says as little as no key.
"""

from collections.abc import Iterator, Sequence
from typing import Any, Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from .list_items import paired_items
from .yaml_text import Plain

Field = tuple[str, ...]
Kind = Literal["added", "changed", "removed"]

CORRECTION: Final = "correction"
VALUE: Final = "value"  # `{value: 60.061, by: RK}` is the reading `60.061` with its circumstances
BARE: Final = ""  # of a place that a build sheet names and says nothing of: it was fitted
_NEEDS_QUOTES: Final = frozenset(",[]{}\"'")


class FieldChange(Struct, frozen=True):
    """One field before and after. `old` is None where nothing stood, `new` where nothing stands.

    field: the keys on the way to it; an item of a list stands there by its own name. block: of what came or went
    whole (a log line, a place) the path of the whole, else the field's own. others: of a merge, what the other parents
    held where that is neither old nor new. correction: what was written to explain it, in the same commit.
    """

    field: Field
    kind: Kind
    old: str | None
    new: str | None
    block: Field
    others: tuple[str | None, ...] = ()
    correction: tuple[str, ...] = ()


def field_changes(old: Plain, new: Plain, *, bare_places: bool = False) -> list[FieldChange]:
    """Every field that differs, in the order of the new version, then what went.

    bare_places: of a build sheet, where a place named with nothing after it says that it was fitted.

    >>> [(one.field, one.kind, one.old, one.new) for one in field_changes({"by": "RK", "note": None}, {"by": "TM"})]
    [(('by',), 'changed', 'RK', 'TM')]
    """
    if bare_places:
        old, new = _with_bare_places(old), _with_bare_places(new)
    return list(_between(old, new, (), ()))


def merged_changes(olds: Sequence[Plain], new: Plain, *, bare_places: bool = False) -> list[FieldChange]:
    """The fields of a merge's result that differ from every parent's: what was edited in the merge itself."""
    each = [{one.field: one for one in field_changes(old, new, bare_places=bare_places)} for old in olds]
    first, *rest = each
    found = []
    for field in first:
        if all(field in other for other in rest):
            versions = [changes[field] for changes in each]
            told = next((one for one in versions if one.kind == "changed"), versions[0])
            others = dict.fromkeys(one.old for one in versions if one.old != told.old)
            found.append(replace(told, others=tuple(others)))
    return found


def _between(old: Plain, new: Plain, field: Field, why: tuple[str, ...]) -> Iterator[FieldChange]:
    if old == new:
        return
    if _is_blank(old) or _is_blank(new):
        yield from _leaves(new, "added", field, field, why)
        yield from _leaves(old, "removed", field, field, why)
        return
    old, new = _beside_map(old, new), _beside_map(new, old)
    if isinstance(old, dict) and isinstance(new, dict):
        why = _fresh(old, new) or why
        for key in [*new, *(key for key in old if key not in new)]:
            yield from _between(old.get(key), new.get(key), (*field, key), why)
    elif isinstance(old, list) and isinstance(new, list) and (_holds_maps(old) or _holds_maps(new)):
        for name, before, after in paired_items(field[-1] if field else "", old, new):
            yield from _between(before, after, (*field, name), why)
    elif _is_leaf(old) and _is_leaf(new):
        before, after = written(old), written(new)
        more = _fresh({CORRECTION: old}, {CORRECTION: new}) if field[-1:] == (CORRECTION,) else ()
        if more and set(_texts(old)) <= set(_texts(new)):  # one more reason: those before it stand as they were
            yield FieldChange(
                field, "added", None, written(more[0] if len(more) == 1 else [*more]), field, correction=why
            )
        elif before != after:
            yield FieldChange(field, "changed", before, after, field, correction=why)
    else:
        yield from _leaves(new, "added", field, field, why)
        yield from _leaves(old, "removed", field, field, why)


def _leaves(value: Plain, kind: Kind, field: Field, block: Field, why: tuple[str, ...]) -> Iterator[FieldChange]:
    """Every field of what came or went whole."""
    if _is_blank(value):
        return
    if isinstance(value, dict):
        why = (_texts(value.get(CORRECTION)) if kind == "added" else ()) or why
        for key, inner in value.items():
            yield from _leaves(inner, kind, (*field, key), block, why)
    elif isinstance(value, list) and _holds_maps(value):
        for name, _, inner in paired_items(field[-1] if field else "", [], value):
            yield from _leaves(inner, kind, (*field, name), block, why)
    else:
        text = written(value)
        old, new = (None, text) if kind == "added" else (text, None)
        yield FieldChange(field, kind, old, new, block, correction=why)


def written(value: Plain) -> str:
    """A text, or a list of texts, on one line as a flow list; a text that a comma or a bracket would split in quotes.

    >>> written(["60.060", "60.061"]), written("38 µm")
    ('[60.060, 60.061]', '38 µm')
    """
    if isinstance(value, list):
        return f"[{', '.join(_in_list(item) for item in value)}]"
    return value if isinstance(value, str) else ""


def _in_list(item: Plain) -> str:
    if isinstance(item, str) and (not item or _NEEDS_QUOTES.intersection(item)):
        return '"' + item.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return written(item)


def _is_blank(value: Plain) -> bool:
    return value is None or value == {} or value == []


def _is_leaf(value: Plain) -> bool:
    return isinstance(value, str) or (isinstance(value, list) and not _holds_maps(value))


def _holds_maps(items: list[Any]) -> bool:
    return any(isinstance(item, dict) for item in items)


def _beside_map(one: Plain, other: Plain) -> Plain:
    """One version as it compares with a map: a reading written alone as the value that stands among circumstances, a
    place that was named and nothing more as a place of which nothing is said."""
    if isinstance(other, dict) and one == BARE:
        return {}
    return {VALUE: one} if isinstance(other, dict) and VALUE in other and _is_leaf(one) else one


def _fresh(old: dict[str, Any], new: dict[str, Any]) -> tuple[str, ...]:
    """The corrections beside these keys that the older version did not have: an earlier one explains no new change."""
    before = _texts(old.get(CORRECTION))
    return tuple(text for text in _texts(new.get(CORRECTION)) if text not in before)


def _texts(value: Plain) -> tuple[str, ...]:
    items = value if isinstance(value, list) else [value]
    return tuple(item for item in items if isinstance(item, str) and item)


def _with_bare_places(sheet: Plain) -> Plain:
    if not isinstance(sheet, dict) or not isinstance(sheet.get("positions"), dict):
        return sheet
    places = {name: BARE if place is None else place for name, place in sheet["positions"].items()}
    return {**sheet, "positions": places}
