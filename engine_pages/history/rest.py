"""The rest of the shop: engines that are told of by what they add to the kinds alone, and not by their records.

In: what each group of engines that share parts adds, as plain JSON. Out: candidates of pools and lives of kinds.
"""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from .candidates import Light, light_from_json
from .pools import Key
from .season_lives import ToldLife


class Rest:
    """What engines elsewhere add: by pool, candidates as `candidates.to_json` wrote them; by family and kind, lives."""

    def __init__(
        self, pools: Mapping[Key, Sequence[Sequence[Any]]], lives: Mapping[tuple[str, str], Sequence[ToldLife]]
    ) -> None:
        self._pools = pools
        self._lives = lives

    def candidates(self, key: Key, /) -> Sequence[Light]:
        return [light_from_json(one) for one in self._pools.get(key, ())]

    def lives(self, family: str, kind: str, /) -> Sequence[ToldLife]:
        return self._lives.get((family, kind), ())


NO_REST: Final = Rest({}, {})
