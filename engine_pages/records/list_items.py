"""Which item of a list is which in its next version: two lists as written in, pairs with the name of each item out.

An item is known by what it says of itself (a log line by its date and what it was, a photo by its file), never by
where it stands: a line put in above moves all the others and changes none.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final, NamedTuple

# What names an item, by the key of its list: of each group of keys the first that is written.
_NAMED_BY: Final[dict[str, tuple[tuple[str, ...], ...]]] = {
    "": (("date",), ("what", "kind")),  # a log is a list by itself
    "photos": (("file",),),
    "work": (("part", "position"), ("did",)),
    "events": (("name", "date"),),
    "owners": (("name",),),
    "answers": (("point",), ("where",)),
    "left_out": (("point",), ("where",)),
    "shares": (("engine",), ("edition",), ("made",)),  # the token opens the link: it names nothing
}
_ANY: Final = (("position", "part", "date", "file", "point", "name", "serial", "kind"),)
_MOST: Final = 2_500  # pairs that are weighed: a list of fifty lines rewritten whole
_ALIKE: Final = 0.5  # of an item's keys, more than which an item and another are the same one, written anew


class Pair(NamedTuple):
    """One item before and after; None where it was not there. `name` is its step in a field's path."""

    name: str
    old: Any
    new: Any


def paired_items(key: str, old: Sequence[Any], new: Sequence[Any]) -> list[Pair]:
    """The items that differ, in the new list's order, then those that went. `key`: of the list, "" of a log.

    >>> paired_items("photos", [{"file": "a.jpg"}], [{"file": "b.jpg"}, {"file": "a.jpg", "view": "rear"}])
    [Pair(name='b.jpg', old=None, new={'file': 'b.jpg'}), \
Pair(name='a.jpg', old={'file': 'a.jpg'}, new={'file': 'a.jpg', 'view': 'rear'})]
    """
    partner = _matched(key, old, new)
    stayed = set(partner.values())
    differ = [at for at, item in enumerate(new) if at not in partner or old[partner[at]] != item]
    went = [at for at in range(len(old)) if at not in stayed]
    new_names, old_names = _names(key, new, differ), _names(key, old, went)
    pairs = [Pair(new_names[at], old[partner[at]] if at in partner else None, new[at]) for at in differ]
    return pairs + [Pair(old_names[at], old[at], None) for at in went]


def _names(key: str, items: Sequence[Any], wanted: Sequence[int]) -> dict[int, str]:
    """The names of the wanted items; the second of one name has its number behind it."""
    own = {at: _name_of(key, items[at]) for at in wanted}
    firsts = {words[:1] for words in own.values()}
    seen: Counter[tuple[str, ...]] = Counter()
    names = {}
    for at, item in enumerate(items) if own else ():
        if _first_word(key, item) not in firsts:  # most of a long log: its whole name is not asked for
            continue
        words = _name_of(key, item)
        seen[words] += 1
        if at in own:
            name = " ".join(words) or "line"
            names[at] = name if seen[words] == 1 else f"{name} ({seen[words]})"
    return names


def _name_of(key: str, item: Any) -> tuple[str, ...]:
    """The texts that name an item; empty where it has none of them."""
    first = _first_word(key, item)
    if not first or not isinstance(item, dict):
        return first
    return (*first, *(word for keys in _NAMED_BY.get(key, _ANY)[1:] for word in _written(item, keys)))


def _first_word(key: str, item: Any) -> tuple[str, ...]:
    """The first text of an item's name, such as a log line's date; empty where there is none."""
    if not isinstance(item, dict):
        return (item,) if isinstance(item, str) else ()
    return _written(item, _NAMED_BY.get(key, _ANY)[0]) or _written(item, _ANY[0])


def _written(item: dict[str, Any], keys: tuple[str, ...]) -> tuple[str, ...]:
    for key in keys:
        if _is_text(item.get(key)):
            return (item[key],)
    return ()


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and value != ""


def _matched(key: str, old: Sequence[Any], new: Sequence[Any]) -> dict[int, int]:
    """New index → old index. What is wholly alike first, then by name, by its first word (a date), by the rest."""
    partner = _ends(old, new)
    ways: tuple[Callable[[Any], Any], ...] = (
        _frozen,
        lambda item: _name_of(key, item),
        lambda item: _first_word(key, item),
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


def _ends(old: Sequence[Any], new: Sequence[Any]) -> dict[int, int]:
    """What is alike from the beginning on, and from the end back: most of a log to which a line was added."""
    shorter = min(len(old), len(new))
    head = next((at for at in range(shorter) if old[at] != new[at]), shorter)
    tail = next((at for at in range(shorter - head) if old[-1 - at] != new[-1 - at]), shorter - head)
    ends = {at: at for at in range(head)}
    return ends | {len(new) - 1 - at: len(old) - 1 - at for at in range(tail)}


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
    named = {word for keys in _NAMED_BY.get(key, _ANY) for word in keys} - {"what", "kind"}
    rest = {word: value for word, value in item.items() if word not in named}
    return _frozen(rest) if rest else None


def _frozen(value: Any) -> Any:
    """A value that can be looked up, whatever its order of keys."""
    if isinstance(value, dict):
        return frozenset((key, _frozen(inner)) for key, inner in value.items())
    return tuple(_frozen(inner) for inner in value) if isinstance(value, list) else value
