"""Members of pools: a part's or pair's readings on all its baselines in, what a joint fit takes of it out.

A candidate that was made from the book carries its rows too. One of another engine's may come as plain JSON instead:
what a fit takes of it, and nothing else.
"""

import json
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

from msgspec import Struct

from ..wear.measured import Measured
from ..wear.pool.numbers import PoolPart
from ..wear.pool.sample import drawn
from .series import Baseline, Dated, starts_of

SUSPICIOUS: Final = frozenset(("incident", "failure"))  # reasons of sheets that were written out of worry

Member = tuple[Hashable, int]  # a part or a pair, and the number of its baseline


class Taken(NamedTuple):
    """One reading as a fit takes it: exposure since the baseline, value, whether its sheet was written out of worry."""

    exposure: float
    value: Measured
    suspicious: bool


class Stretch(NamedTuple):
    """One baseline of a candidate: number, target, whether it starts where nobody knows, what was read on it."""

    number: int
    target: float
    own_start: bool
    readings: tuple[Taken, ...]


class Candidate(Struct, frozen=True):
    """One part or pair as a member of its pool, with the engines that it was in.

    `is_suspicious`: whether any sheet that speaks of it was written out of worry. `dated` are the rows that it was made
    from; of what came as JSON there are none.
    """

    id: Hashable
    baseline: Baseline
    stretches: tuple[Stretch, ...]
    engines: frozenset[str]
    is_suspicious: bool
    dated: Sequence[Dated] = ()

    def members(self, *, only_calm: bool = False) -> Iterator[tuple[Member, PoolPart]]:
        """A member a baseline; `only_calm` without the readings of suspicious sheets."""
        for one in self.stretches:
            taken = tuple((r.exposure, r.value) for r in one.readings if not (only_calm and r.suspicious))
            if taken or one.number == self.baseline.number:
                yield (
                    (self.id, one.number),
                    PoolPart(repr((self.id, one.number)), taken, one.target, one.own_start),
                )

    @property
    def part(self) -> Hashable:
        """The part that it is of; a pair is itself."""
        return self.id[0] if isinstance(self.id, tuple) and len(self.id) == len(("part", "dimension")) else self.id

    @property
    def is_measured(self) -> bool:
        return any(one.readings for one in self.stretches)


class Light(NamedTuple):
    """What of a candidate is wanted before it is known whether it speaks for its pool, and the candidate.

    `drawn`: of each of its members that was read, the number by which those that speak are settled; `order`: see
    `_order`; `whole`: the candidate, or the line of JSON that it is read from.
    """

    part: Hashable
    engines: Collection[str]
    is_suspicious: bool
    drawn: Sequence[str]
    order: str
    whole: Candidate | str


def light_of(candidate: Candidate) -> Light:
    """Of a candidate that is there already."""
    numbers = [drawn(repr((candidate.id, one.number)))[0] for one in candidate.stretches if one.readings]
    order = _order(candidate.id)
    return Light(candidate.part, candidate.engines, candidate.is_suspicious, numbers, order, candidate)


def to_text(candidates: Sequence[Sequence[Any]]) -> str:
    """Candidates of one pool as `to_json` wrote them: what is wanted of all in a first line, and a line for each."""
    heads = [[one[0], one[3], one[4], [stretch[4] for stretch in one[2] if stretch[3]]] for one in candidates]
    return "\n".join(json.dumps(one, separators=(",", ":")) for one in (heads, *candidates))


def lights_from_texts(texts: Iterable[str]) -> Iterator[Light]:
    """The same as lights, text by text: a pool is made of hundreds, whose first lines are parsed at once."""
    heads, lines = [], []
    for text in texts:
        head, *candidates = text.split("\n")
        heads.append(head)
        lines.append(candidates)
    for told, written in zip(_parsed(heads), lines, strict=True):
        for (id, engines, is_suspicious, numbers), line in zip(told, written, strict=True):
            part = id[0] if len(id) == len(("part", "dimension")) else _hashable(id)
            yield Light(part, engines, is_suspicious, numbers, _order(id), line)


def _parsed(written: Sequence[str]) -> list[Any]:
    """Many JSON values at once: each by itself costs as much as what is in it."""
    told: list[Any] = json.loads(f"[{','.join(written)}]")
    return told


def _order(id: Any) -> str:
    """Parts stand in the order of their names, pairs in that of their engines."""
    return str(id[0]) if isinstance(id, tuple | list) else ""


def those_that_speak(lights: Sequence[Light], own: Collection[Hashable], most: int | None) -> list[Candidate]:
    """All candidates where all speak, else those with one of so many members that do, and whose parts are one's own."""
    every = sorted(one for light in lights for one in light.drawn)
    least = every[most - 1] if most is not None else None
    speak = [
        light.whole
        for light in lights
        if least is None or light.part in own or any(one <= least for one in light.drawn)
    ]
    read = map(from_json, _parsed([one for one in speak if isinstance(one, str)]))
    return [next(read) if isinstance(one, str) else one for one in speak]


def candidate_of(
    id: Hashable,
    dated: Sequence[Dated],
    baseline: Baseline,
    targets: Sequence[float],
    start_known: bool,
    engines: frozenset[str],
    suspicious: Mapping[str, bool],
) -> Candidate:
    """From rows of the book. `start_known`: whether its first baseline began new; `suspicious`: by the sheet's path."""
    starts = starts_of(dated, baseline)
    stretches = []
    for number in range(baseline.number + 1):
        readings = tuple(
            Taken(row.exposure - starts[number], row.read.at_20, suspicious.get(row.sheet.path, False))
            for row in dated
            if row.baseline == number and not row.in_doubt and row.read.at_20 is not None
        )
        if readings or number == baseline.number:
            stretches.append(Stretch(number, targets[number], not start_known and number == 0, readings))
    is_suspicious = any(suspicious.get(row.sheet.path, False) for row in dated)
    return Candidate(id, baseline, tuple(stretches), engines, is_suspicious, dated)


def to_json(candidate: Candidate) -> list[Any]:
    """Plain lists; `from_json` gives the same candidate back, without its rows."""
    stretches = [
        [
            *(one.number, one.target, one.own_start),
            [[r.exposure, *_plain(r.value), r.suspicious] for r in one.readings],
            drawn(repr((candidate.id, one.number)))[0],
        ]
        for one in candidate.stretches
    ]
    return [candidate.id, candidate.baseline.number, stretches, sorted(candidate.engines), candidate.is_suspicious]


def from_json(written: Sequence[Any]) -> Candidate:
    id, number, stretches, engines, is_suspicious = written
    return Candidate(
        _hashable(id), Baseline(number, None, None),
        tuple(Stretch(n, target, own, tuple(_taken(one) for one in read)) for n, target, own, read, _ in stretches),
        frozenset(engines), is_suspicious,
    )  # fmt: skip


def _plain(value: Measured) -> tuple[Any, ...]:
    return value.value, value.independent, [[source, part] for source, part in value.shared.items()]


def _taken(written: Sequence[Any]) -> Taken:
    exposure, value, independent, shared, suspicious = written
    return Taken(exposure, Measured(value, independent, {_hashable(one): part for one, part in shared}), suspicious)


def _hashable(written: Any) -> Hashable:
    """JSON has lists where names are tuples."""
    return tuple(map(_hashable, written)) if type(written) is list else written
