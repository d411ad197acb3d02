"""Which item of a list is which in its next version: two lists as written in, pairs with the name of each item out.

An item is known by what it says of itself (a log line by its date and what it was, a photo by its file), never by
where it stands: a line put in above moves all the others and changes none.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final, NamedTuple

# What names an item, by the key of its list; of a pair (`a|b`) the first that is written.
_NAMED_BY: Final[dict[str, tuple[str, ...]]] = {
    "": ("date", "what|kind"),  # a log is a list by itself
    "photos": ("file",),
    "work": ("part|position", "did"),
    "events": ("name|date",),
    "owners": ("name",),
    "answers": ("point", "where"),
    "left_out": ("point", "where"),
    "shares": ("engine", "edition", "made"),  # the token opens the link: it names nothing
}
_ANY: Final = ("position|part|date|file|point|name|serial|kind",)
_MOST: Final = 2_500  # pairs that are weighed: a list of fifty lines rewritten whole
_ALIKE: Final = 0.5  # of an item's keys, more than which an item and another are the same one, written anew


class Pair(NamedTuple):
    """One item before and after; None where it was not there. `name` is its step in a field's path."""

    name: str
    old: Any
    new: Any


def paired_items(key: str, old: Sequence[Any], new: Sequence[Any]) -> list[Pair]:
    """Every item of both lists, in the new list's order, then those that went. `key`: of the list, "" of a log.

    >>> paired_items("photos", [{"file": "a.jpg"}], [{"file": "b.jpg"}, {"file": "a.jpg", "view": "rear"}])
    [Pair(name='b.jpg', old=None, new={'file': 'b.jpg'}), \
Pair(name='a.jpg', old={'file': 'a.jpg'}, new={'file': 'a.jpg', 'view': 'rear'})]
    """
    old_names, new_names = _names(key, old), _names(key, new)
    partner = _matched(key, old, new)
    pairs = [
        Pair(name, old[partner[at]] if at in partner else None, item)
        for at, (name, item) in enumerate(zip(new_names, new, strict=True))
    ]
    stayed = set(partner.values())
    gone = (Pair(old_names[at], item, None) for at, item in enumerate(old) if at not in stayed)
    return pairs + list(gone)


def _names(key: str, items: Sequence[Any]) -> list[str]:
    """A name for each item; the second of one name has its number behind it."""
    seen: defaultdict[str, int] = defaultdict(int)
    names = []
    for item in items:
        name = " ".join(_name_of(key, item)) or "line"
        seen[name] += 1
        names.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return names


def _name_of(key: str, item: Any) -> tuple[str, ...]:
    """The texts that name an item; empty where it has none of them."""
    if not isinstance(item, dict):
        return (item,) if isinstance(item, str) else ()
    for wanted in (_NAMED_BY.get(key, _ANY), _ANY):
        found = [next((item[one] for one in keys.split("|") if _is_text(item.get(one))), None) for keys in wanted]
        if found[0] is not None:
            return tuple(text for text in found if text is not None)
    return ()


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and value != ""


def _matched(key: str, old: Sequence[Any], new: Sequence[Any]) -> dict[int, int]:
    """New index → old index. What is wholly alike first, then by name, by its first word (a date), by the rest."""
    partner: dict[int, int] = {}
    ways: tuple[Callable[[Any], Any], ...] = (
        _frozen,
        lambda item: _name_of(key, item),
        lambda item: _name_of(key, item)[:1],
        lambda item: _rest(key, item),
    )
    for way in ways:
        left_old, left_new = _left(partner, old, new)
        if not left_old or not left_new:
            return partner
        partner |= _by(way, old, new, left_old, left_new)
    left_old, left_new = _left(partner, old, new)
    if len(left_old) * len(left_new) <= _MOST:
        partner |= _by_weight(old, new, left_old, left_new, _ALIKE)
    return partner


def _left(partner: dict[int, int], old: Sequence[Any], new: Sequence[Any]) -> tuple[list[int], list[int]]:
    taken = set(partner.values())
    return [at for at in range(len(old)) if at not in taken], [at for at in range(len(new)) if at not in partner]


def _by(
    way: Callable[[Any], Any], old: Sequence[Any], new: Sequence[Any], left_old: list[int], left_new: list[int]
) -> dict[int, int]:
    """Pairs of those that one way of knowing them calls the same; of several the most alike, then in order."""
    groups: defaultdict[Any, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    for at in left_old:
        groups[way(old[at])][0].append(at)
    for at in left_new:
        groups[way(new[at])][1].append(at)
    found: dict[int, int] = {}
    for known, (before, after) in groups.items():
        if not known:
            continue
        if len(before) * len(after) > _MOST:
            found |= dict(zip(after, before, strict=False))
        else:
            found |= _by_weight(old, new, before, after, -1.0)
    return found


def _by_weight(
    old: Sequence[Any], new: Sequence[Any], left_old: list[int], left_new: list[int], least: float
) -> dict[int, int]:
    """The most alike first; where several are equally so, in the order in which they stand."""
    if len(left_old) == len(left_new) == 1 and least < 0:
        return {left_new[0]: left_old[0]}
    weighed = sorted(_weights(old, new, left_old, left_new))
    found: dict[int, int] = {}
    taken: set[int] = set()
    for weight, after, before in weighed:
        if -weight > least and after not in found and before not in taken:
            found[after] = before
            taken.add(before)
    return found


def _weights(
    old: Sequence[Any], new: Sequence[Any], left_old: list[int], left_new: list[int]
) -> Iterator[tuple[float, int, int]]:
    for before in left_old:
        for after in left_new:
            yield -_alike(old[before], new[after]), after, before


def _alike(one: Any, other: Any) -> float:
    """The share of keys, of those that either has, under which both say the same; 0 to 1."""
    if not isinstance(one, dict) or not isinstance(other, dict):
        return float(one == other)
    keys = one.keys() | other.keys()
    return sum(one.get(key) == other.get(key) for key in keys) / len(keys) if keys else 1.0


def _rest(key: str, item: Any) -> Any:
    """What an item says besides its name: a line whose date alone was corrected is known by it."""
    if not isinstance(item, dict):
        return None
    named = {word for keys in _NAMED_BY.get(key, _ANY) for word in keys.split("|")} - {"what", "kind"}
    rest = {word: value for word, value in item.items() if word not in named}
    return _frozen(rest) if rest else None


def _frozen(value: Any) -> Any:
    """A value that can be looked up, whatever its order of keys."""
    if isinstance(value, dict):
        return frozenset((key, _frozen(inner)) for key, inner in value.items())
    return tuple(_frozen(inner) for inner in value) if isinstance(value, list) else value
