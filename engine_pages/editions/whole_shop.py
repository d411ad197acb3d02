"""A whole shop by its gists: what each group of engines says to the others in, what one group needs of the others out.

What is wanted of every group at once (names, numbers, digests) is small; what each adds to the pools is large, and is
asked for only where an engine is told that leans on it.
"""

import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property, lru_cache
from itertools import chain, repeat
from typing import Final

from ..history.pools import Key
from ..history.rest import Rest
from ..last_made import LastMade
from ..records.checks.checked import Beyond
from ..records.checks.names import together
from ..records.names import Names
from .adds import PARTS, Adds, digests_of
from .gist import Gist, key_of_pool


def small_part(gist: Gist, adds: Adds) -> Gist:
    """A gist without what is large, but with a digest of each pool and family that it adds to."""
    return {name: told for name, told in gist.items() if name not in PARTS} | digests_of(adds)


_names: Final = LastMade[Names]()  # of tens of thousands a new commit rarely brings one


class WholeShop:
    """The small parts of all gists by the name of their group; `adds` gives what one adds."""

    def __init__(self, gists: Mapping[str, Gist], adds: Callable[[str], Adds]) -> None:
        self.gists = gists
        self._adds = lru_cache(maxsize=None)(adds)  # who makes several sites asks for the same

    @cached_property
    def names(self) -> Names:
        """Every name of the shop with the engines whose readers may know it."""
        told = [gist["names"] for gist in self.gists.values()]
        return _names.of(told, lambda: Names(together(_with_readers(told))))

    def relevant(self, asked: Collection[str]) -> str:
        """A digest of the names that begin with one of these words, and of who may read them."""
        return self.names.relevant(asked)

    @cached_property
    def names_digest(self) -> str:
        """Of all names and of who may read them."""
        total = hashlib.sha256()
        for gist in self.gists.values():
            total.update(repr(gist["names"]).encode())
        return total.hexdigest()

    @cached_property
    def _numbers(self) -> dict[str, list[tuple[str, str, str]]]:
        """By a sheet's number the days, paths and groups of all sheets that bear it."""
        found: dict[str, list[tuple[str, str, str]]] = {}
        for name, gist in self.gists.items():
            for _, number, day, path in gist["numbers"]:
                found.setdefault(number, []).append((day, path, name))
        return found

    @cached_property
    def _spelt(self) -> dict[str, list[tuple[str, str, str]]]:
        """By a serial in one spelling all that are spelt so, with their places and groups, where groups share it."""
        shared = _in_several(set(map(str.casefold, gist["serials"])) for gist in self.gists.values())
        found: dict[str, list[tuple[str, str, str]]] = {}
        for name, gist in self.gists.items() if shared else ():
            for serial, place in gist["serials"].items():
                if (spelt := serial.casefold()) in shared:
                    found.setdefault(spelt, []).append((serial, place, name))
        return found

    def numbers(self, kind: str) -> list[str]:
        """The numbers of all sheets of a kind."""
        return [one[1] for gist in self.gists.values() for one in gist["numbers"] if one[0] == kind]

    def alike(self, group: str) -> tuple[dict[str, tuple[date, str]], dict[str, str]]:
        """Of the numbers and serials of other groups those that a group's own may be taken for."""
        gist = self.gists[group]
        numbers = {}
        for _, number, _, _ in gist["numbers"]:
            others = [(day, path) for day, path, name in self._numbers[number] if name != group]
            if others:
                day, path = min(others)
                numbers[number] = (date.fromisoformat(day), path)
        serials = {
            serial: place
            for own in gist["serials"]
            for serial, place, name in self._spelt.get(own.casefold(), ())
            if name != group
        }
        return numbers, serials

    def beyond(self, group: str) -> Beyond:
        """What the checks of a group want of the others."""
        numbers, serials = self.alike(group)
        return Beyond(self.names, numbers, serials)

    def rest(self, group: str) -> Rest:
        """What the others add to the pools and lives that a group has a part in."""
        gist = self.gists[group]
        pools: dict[Key, list[str]] = {key_of_pool(key): [] for key in gist["pools"]}
        lives: dict[str, list[str]] = {family: [] for family in gist["lives"]}
        for name, other in sorted(self.gists.items()):
            if name == group or not (
                other["pools"].keys() & gist["pools"].keys() or other["lives"].keys() & gist["lives"].keys()
            ):
                continue
            adds = self._adds(name)
            for key in adds.pools.keys() & gist["pools"].keys():
                pools[key_of_pool(key)].append(adds.pools[key])
            for family in adds.lives.keys() & gist["lives"].keys():
                lives[family].append(adds.lives[family])
        return Rest(pools, lives)

    def leaned_on(self, group: str) -> str:
        """A digest of everything that the group's figures take of other groups."""
        gist, total = self.gists[group], hashlib.sha256()
        for what in PARTS:
            for key in sorted(gist[what]):
                total.update(f"{what} {key} {self._of_pool[what][key]}".encode())
        return total.hexdigest()

    @cached_property
    def _of_pool(self) -> dict[str, dict[str, str]]:
        """A digest of all that is added to each pool, and to the lives of each family."""
        found: dict[str, dict[str, list[str]]] = {what: {} for what in PARTS}
        for name, gist in sorted(self.gists.items()):
            for what in PARTS:
                for key, digest in gist[what].items():
                    found[what].setdefault(key, []).append(f"{name} {digest} ")
        return {what: {key: _digest(told) for key, told in one.items()} for what, one in found.items()}


def _with_readers(told: Iterable[list[list[list[str]]]]) -> Iterator[tuple[str, frozenset[str]]]:
    for engines, names in chain.from_iterable(told):
        yield from zip(names, repeat(frozenset(engines)))


def _digest(told: Iterable[str]) -> str:
    return hashlib.sha256("".join(told).encode()).hexdigest()


def _in_several(sets: Iterable[set[str]]) -> set[str]:
    """What is in more than one of them."""
    seen: set[str] = set()
    several: set[str] = set()
    for one in sets:
        several |= one & seen
        seen |= one
    return several
