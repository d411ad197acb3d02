"""Joint fits that were made before: parts and what is known of them in, their fit out, made anew or from what was kept.

A fit depends on its readings alone, so that it is kept under their content. What is kept is the joint summary, from
which the lines follow to the last digit; losing it costs time and nothing else.
"""

import hashlib
import json
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from typing import Any, Final, Protocol

from msgspec import Struct
from msgspec.msgpack import Encoder
from msgspec.structs import asdict, replace

from ..wear.bends import Bend, BentFit, counted, fit_where_straight
from ..wear.pool.fit import PoolFit, Starts, summary_of_pool
from ..wear.pool.line import PartLine
from ..wear.pool.numbers import PoolPart
from ..wear.pool.priors import Frame as Known
from ..wear.pool.sample import GroupLines
from ..wear.pool.summary import from_json

KIND: Final = "fit"
_BY_VALUE: Final = Encoder(enc_hook=float)  # numpy's numbers are Python's
MADE: Final = "1"  # of the arithmetic behind what is kept: another number, and every fit is made anew


class Store(Protocol):
    """Where what was made is kept by its content."""

    def get(self, kind: str, key: str, /) -> bytes | None: ...

    def put(self, kind: str, key: str, data: bytes, /) -> None: ...


class NothingKept:
    """Keeps nothing."""

    def get(self, _kind: str, _key: str, /) -> bytes | None:
        return None

    def put(self, _kind: str, _key: str, _data: bytes, /) -> None:
        pass


NOTHING_KEPT: Final[Store] = NothingKept()


def common_of(parts: Iterable[PoolPart]) -> tuple[Hashable, ...]:
    """What readings share over the whole pool: the expansions by which they are brought to 20 °C."""
    sources = {source for part in parts for _, value in part.readings for source in value.shared}
    return tuple(sorted(one for one in sources if isinstance(one, tuple) and one[0] == "expansion"))


class KindFit(Struct, frozen=True, eq=False):
    """A pool's fit, the sources that are common to it, and how fast each member wears that was fitted."""

    bent: BentFit
    common: tuple[Hashable, ...]
    slopes: Mapping[str, float]


def straight_fit(
    parts: Sequence[PoolPart], speakers: Collection[str] | None, known: Known, starts: Starts, store: Store
) -> KindFit | None:
    """As `fit_where_straight`; where only some speak for a large pool from these, the others' lines by its summary."""
    speak = parts if speakers is None else [part for part in parts if part.id in speakers]
    made = _of_all(speak, known, starts, store)
    if made is None or speak is parts:
        return made
    counting = counted(parts, made.bent.since) if made.bent.since > 0.0 else tuple(parts)
    summary = made.bent.fit.summary
    lines: Mapping[str, PartLine] = GroupLines(summary, counting, made.common) if made.slopes else {}
    return replace(made, bent=BentFit(PoolFit(summary, lines), made.bent.bend, made.bent.since, counting))


def _of_all(parts: Sequence[PoolPart], known: Known, starts: Starts, store: Store) -> KindFit | None:
    common, key = common_of(parts), _key("straight", parts, known, starts)
    kept = _read(store.get(KIND, key))
    if kept is not None:
        bend = Bend(**kept["bend"]) if kept["bend"] is not None else None
        summary, since = from_json(kept["summary"]), kept["since"]
        counting = tuple(parts) if since == 0.0 else counted(parts, since) if kept["counting"] else ()
        lines = summary.lines(counting, common) if kept["slopes"] else {}
        return KindFit(BentFit(PoolFit(summary, lines), bend, since, counting), common, kept["slopes"])
    made = fit_where_straight(parts, known, starts, common)
    if made is None:
        return None
    slopes = {id: line.slope for id, line in made.fit.lines.items() if line.n > 0}
    told = asdict(made.bend) if made.bend is not None else None
    about = {"bend": told, "since": made.since, "counting": bool(made.parts), "slopes": slopes}
    store.put(KIND, key, _written(about | {"summary": made.fit.summary.to_json()}))
    return KindFit(made, common, slopes)


def plain_fit(
    parts: Sequence[PoolPart], speakers: Collection[str] | None, known: Known, starts: Starts, store: Store
) -> PoolFit | None:
    """As `fit_pool`, where only some speak for a large pool from these; a line is worked out when it is asked for."""
    speak = parts if speakers is None else [part for part in parts if part.id in speakers]
    common, key = common_of(speak), _key("plain", speak, known, starts)
    kept = _read(store.get(KIND, key))
    summary = from_json(kept["summary"]) if kept is not None else summary_of_pool(speak, known, starts, common)
    if summary is None:
        return None
    if kept is None:
        store.put(KIND, key, _written({"summary": summary.to_json()}))
    return PoolFit(summary, GroupLines(summary, parts, common))


def _key(what: str, parts: Sequence[PoolPart], known: Known, starts: Starts) -> str:
    """By everything that a fit depends on, names and their order too: they settle what is added first."""
    told = [
        (part.id, part.target, part.own_intercept,
         [(x, y.value, y.independent, [*y.shared.items()]) for x, y in part.readings])
        for part in parts
    ]  # fmt: skip
    return key_by_value((MADE, what, known, starts, told))


def key_by_value(told: Any) -> str:
    """A key of what is kept: of numbers, texts, tuples and structs, every number to its last bit."""
    return hashlib.sha256(_BY_VALUE.encode(told)).hexdigest()


def _written(about: dict[str, Any]) -> bytes:
    return json.dumps(about, separators=(",", ":")).encode("ascii")


def _read(data: bytes | None) -> dict[str, Any] | None:
    found: dict[str, Any] | None = None if data is None else json.loads(data)
    return found
