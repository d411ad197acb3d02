"""One engine's part of the shop's trail: the whole trail and an engine in, its records in the order of telling out."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from msgspec import Struct

from ..records.commits import CommitFacts, Seal, seals_of
from ..records.git import Repo
from ..records.ids import file_id
from ..records.source import nearest
from ..records.trail import RecordTrail, Trail

SHEETS: Final = ("build", "inspection", "teardown")


class TrailError(ValueError):
    """No record of the engine was ever committed, nor lies in its folder; the message names the nearest."""


class EngineTrail(Struct, frozen=True):
    """What was recorded of one engine, and amended since.

    sheets: by the day of the work. others: its log, plan, review and the like. leans_on: the family, the parts that its
    sheets ever named, and the shop's settings: who amends a limit there amends this engine's verdicts. seals: what
    the signatures are worth, by commit.
    """

    engine: str
    head: str | None
    shallow: bool
    sheets: tuple[RecordTrail, ...]
    others: tuple[RecordTrail, ...]
    leans_on: tuple[RecordTrail, ...]
    seals: Mapping[str, Seal]

    @property
    def records(self) -> tuple[RecordTrail, ...]:
        return (*self.sheets, *self.others, *self.leans_on)


def ask_trail(repo: Repo, trail: Trail, engine: str) -> EngineTrail:
    """The engine's own trail, its signatures looked at. Raises TrailError, and GitFailed."""
    own = [record for record in trail.records if _lay_in(record, f"engines/{engine}/")]
    if not own:
        known = sorted({path.split("/")[1] for record in trail.records for path in _paths(record) if _is_engines(path)})
        raise TrailError(f"there is no trail of an engine {engine}; {nearest(engine, known)}")
    sheets = sorted((one for one in own if one.kind in SHEETS), key=lambda one: (one.date or "", one.path))
    others = [one for one in own if one.kind not in SHEETS]
    leans_on = [one for one in trail.records if one not in own and not _paths(one).isdisjoint(_leant_on(own))]
    commits = {one.id: one for record in (*own, *leans_on) for one in commits_of(record)}
    seals = seals_of(repo, list(commits.values()))
    return EngineTrail(engine, trail.head, trail.shallow, tuple(sheets), tuple(others), tuple(leans_on), seals)


def commits_of(record: RecordTrail) -> Iterator[CommitFacts]:
    """Every commit that the record's trail names."""
    yield from (one for one in (record.recorded, record.last) if one is not None)
    yield from (turn.commit for turn in record.turns)
    for amendment in record.amendments:
        yield amendment.commit
        if amendment.left_out is not None:
            yield amendment.left_out


def _paths(record: RecordTrail) -> set[str]:
    return {record.path, *record.paths}


def _is_engines(path: str) -> bool:
    return path.startswith("engines/")


def _lay_in(record: RecordTrail, folder: str) -> bool:
    """Whether a record lies or ever lay in a folder: one that moved to another engine was this one's."""
    return any(path.startswith(folder) for path in _paths(record))


def _leant_on(own: Iterable[RecordTrail]) -> set[str]:
    """Where the records lie that the engine's own ones name, in any version."""
    paths = {"shop.yml"}
    for content in (one for record in own for one in record.contents):
        if isinstance(content, dict):
            if isinstance(content.get("family"), str):
                paths.add(f"families/{content['family']}.yml")
            paths |= {f"parts/{file_id(serial)}.yml" for serial in _parts(content)}
    return paths


def _parts(node: Any) -> Iterator[str]:
    """Every serial that is written under `part`, of one part or of each member of a set."""
    if isinstance(node, list):
        for item in node:
            yield from _parts(item)
    elif isinstance(node, dict):
        for key, value in node.items():
            if key == "part":
                yield from (one for one in (value.values() if isinstance(value, dict) else [value]) if _is_text(one))
            else:
                yield from _parts(value)


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and value != ""
