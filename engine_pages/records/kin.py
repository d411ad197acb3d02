"""Engines that share parts: what each engine's sheets name in, groups of engines whose stories hang together out.

Whatever the records say of one engine of a group follows from the group's records, the shop's and the families' alone.
"""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from msgspec import Struct

from .ids import file_id
from .load import EngineRecords

NO_ENGINE = ""  # leads the group of parts that no engine names


class Kin(Struct, frozen=True):
    """Engines that share parts, in order, and the names of their parts' files, whether these are there or not."""

    engines: tuple[str, ...]
    stems: frozenset[str]

    @property
    def name(self) -> str:
        """That of its first engine."""
        return self.engines[0] if self.engines else NO_ENGINE


def mentions_of(records: EngineRecords) -> frozenset[str]:
    """The parts that an engine's sheets name, by the names that their files have or would have."""
    found: set[str] = set()
    for sheet in records.sheets:
        for line in (sheet.it.positions or {}).values():
            found.update(_names(line.part if line is not None else None))
        for work in sheet.it.work or ():
            found.update(_names(work.part))
    return frozenset(file_id(name) for name in found)


def _names(written: Any) -> Iterator[str]:
    """A serial, or those of a set's members."""
    if isinstance(written, str):
        yield written
    elif isinstance(written, Mapping):
        for inner in written.values():
            yield from _names(inner)


def kin_of(mentions: Mapping[str, Collection[str]], stems: Collection[str]) -> tuple[Kin, ...]:
    """Every engine in its group, in the order of their first engines; parts that no engine names come last.

    `stems` are the names of all part files. A part without a serial is called by its engine, so that whoever names it
    is of that engine's group.

    >>> [kin.engines for kin in kin_of({"A": ["RB-1"], "B": ["RB-2"], "C": ["RB-1", "B.rotor.1"]}, ["RB-9"])]
    [('A', 'B', 'C'), ()]
    >>> kin_of({"A": ["RB-1"]}, ["RB-9"])[-1].stems
    frozenset({'RB-9'})
    """
    leader = {engine: engine for engine in mentions}

    def find(engine: str) -> str:
        while leader[engine] != engine:
            leader[engine] = leader[leader[engine]]
            engine = leader[engine]
        return engine

    def join(one: str, other: str) -> None:
        first, second = sorted((find(one), find(other)))
        leader[second] = first

    bearer: dict[str, str] = {}
    for engine, named in sorted(mentions.items()):
        for stem in named:
            first = bearer.setdefault(stem, engine)
            if first != engine:
                join(engine, first)
            if "." in stem:
                for other in _engines_in(stem, mentions):
                    join(engine, other)
    for stem in stems:
        if "." in stem:
            for engine in _engines_in(stem, mentions):
                bearer.setdefault(stem, engine)
    groups: dict[str, list[str]] = {}
    for engine in sorted(mentions):
        groups.setdefault(find(engine), []).append(engine)
    of: dict[str, set[str]] = {first: set() for first in groups}
    for stem, engine in bearer.items():
        of[find(engine)].add(stem)
    kin = [Kin(tuple(engines), frozenset(of[first])) for first, engines in groups.items()]
    rest = frozenset(stems).difference(bearer)
    return (*kin, Kin((), rest)) if rest else tuple(kin)


def _engines_in(stem: str, engines: Mapping[str, Any]) -> Iterator[str]:
    """The engines that a part without a serial may be called by: `K-07.rotor-1.1`."""
    steps = stem.split(".")
    yield from (name for count in range(1, len(steps)) if (name := ".".join(steps[:count])) in engines)
