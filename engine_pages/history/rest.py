"""The rest of the shop: engines that are told of by what they add to the kinds alone, and not by their records.

In: what each group of engines that share parts adds, as plain JSON. Out: candidates of pools and lives of kinds.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any, Final

from .candidates import Light, light_from_json
from .pools import Key
from .season_lives import ToldLife


class Rest:
    """What engines elsewhere add, group by group, as JSON that is parsed where it is asked for.

    `pools`: by pool lists of candidates, as `candidates.to_json` wrote them; `lives`: by family, for each kind, lives.
    """

    def __init__(self, pools: Mapping[Key, Sequence[str]], lives: Mapping[str, Sequence[str]]) -> None:
        self._pools = pools
        self._lives = lives
        self._told: dict[str, list[dict[str, list[ToldLife]]]] = {}

    def candidates(self, key: Key, /) -> Sequence[Light]:
        return [light_from_json(one) for text in self._pools.get(key, ()) for one in _read(text)]

    def lives(self, family: str, kind: str, /) -> Sequence[ToldLife]:
        if family not in self._told:
            self._told[family] = [_read(text) for text in self._lives.get(family, ())]
        return [life for told in self._told[family] for life in told.get(kind, ())]


def _read(text: str) -> Any:
    return json.loads(text)


NO_REST: Final = Rest({}, {})
