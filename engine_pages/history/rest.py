"""The rest of the shop: engines that are told of by what they add to the kinds alone, and not by their records.

In: what each group of engines that share parts adds, as text. Out: candidates of pools and lives of kinds.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Final

from .candidates import Light, lights_from_texts
from .pools import Key
from .season_lives import ToldLife


class Rest:
    """What engines elsewhere add, group by group, as text that is parsed where it is asked for.

    `pools`: by pool candidates, as `candidates.to_text` wrote them; `lives`: by family JSON of the lives of each kind.
    """

    def __init__(self, pools: Mapping[Key, Sequence[str]], lives: Mapping[str, Sequence[str]]) -> None:
        self._pools = pools
        self._lives = lives
        self._told: dict[str, list[dict[str, list[ToldLife]]]] = {}

    def candidates(self, key: Key, /) -> Sequence[Light]:
        return list(lights_from_texts(self._pools.get(key, ())))

    def lives(self, family: str, kind: str, /) -> Sequence[ToldLife]:
        if family not in self._told:
            self._told[family] = [json.loads(text) for text in self._lives.get(family, ())]
        return [life for told in self._told[family] for life in told.get(kind, ())]


NO_REST: Final = Rest({}, {})
