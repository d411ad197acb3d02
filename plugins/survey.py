"""A commit surveyed for publishing: which engines hang together, what each group says to the others, what is wrong.

In: the shop's folder and a commit, and what the last survey found, from the user's cache. Out: `Survey`. Of the records
only those of groups whose files changed are read; a lost cache costs time, and nothing else.
"""

import json
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from engine_pages.editions.adds import Adds, adds_of, from_bytes, to_bytes
from engine_pages.editions.gist import Gist, gist_of
from engine_pages.editions.links import Link, links_in, links_of
from engine_pages.editions.whole_shop import WholeShop, small_part
from engine_pages.last_made import LastMade
from engine_pages.pages.cache import Cache, key_of
from engine_pages.pages.reckoning import reckoning
from engine_pages.records.checks.all import check_shop, placed
from engine_pages.records.checks.checked import NOTHING_BEYOND, Beyond, Checked
from engine_pages.records.checks.engines import check_alike
from engine_pages.records.git import Touch, repository_of
from engine_pages.records.kin import Kin, kin_of, mentions_of
from engine_pages.records.load import EngineRecords, Shop, load_shop
from engine_pages.records.outline import ENDING, ENGINES, PARTS, Outline
from engine_pages.records.tree import Commit

from .workers import workers

FEWEST_FOR_A_POOL: Final = 8  # a process more has to start, and to list the commit once more
EVERYWHERE: Final = ("",)  # what every path begins with
Progress = Callable[[float, str], None]


class At(Struct, frozen=True):
    """What is surveyed: the shop's folder, the commit, and the day that counts as today."""

    folder: Path
    commit: str
    today: date


class Group(Struct, frozen=True):
    """Engines that share parts, and a key of all that their records say; `is_dated` where that hangs on the day."""

    kin: Kin
    key: str
    is_dated: bool


class Survey(Struct, frozen=True):
    """What a commit holds: its groups by engine, the whole shop by its gists, the links, the errors.

    `for_all` is a key of the files that bear on every group: the shop's own, and its families'.
    """

    groups: Mapping[str, Group]
    shop: WholeShop
    links: tuple[Link, ...]
    errors: tuple[str, ...]
    for_all: str


# A commit brings no engine, no part and nothing around them as a rule: who publishes again and again has these.
_kin: Final = LastMade[tuple[Kin, ...]]()
_checked_around: Final = LastMade[Checked]()


@lru_cache(maxsize=2)  # what is shown, and what is checked out where that is another
def outline_at(folder: Path, commit: str) -> Outline:
    """The outline of a commit, which never changes: taken once in each process."""
    return Outline(folder, commit)


def survey_of(at: At, cache: Cache, progress: Progress | None = None) -> Survey:
    """Survey a commit. NoTree, GitFailed."""
    outline, last = outline_at(at.folder, at.commit), _last(at.folder, cache)
    named = _named(at, outline, last.get("named", {}), progress)
    mentions, stems = {name: mentioned for name, (_, mentioned) in named.items()}, outline.parts.keys()
    kin = _kin.of((mentions, stems), lambda: kin_of(mentions, stems))
    for_all = [f"{path} {outline.around.blob(path)}" for path in outline.others if _bears_on_all(path)]
    groups = {one.name: _group(outline, one, for_all) for one in kin}
    gists = _gists(at, groups, last.get("gists", {}), progress)
    told = {name: gist["told"] for name, gist in gists.items()}
    dated = {name: gist["told"]["latest"] > at.today.isoformat() for name, gist in gists.items()}
    whole = WholeShop(told, lambda name: _adds(at, groups[name], gists[name], cache))
    rest = _around(at, outline, named)
    errors = {*(str(one) for one in rest.problems if one.level == "error"), *_alike(at, outline, named)}
    errors |= {error for gist in told.values() for error in gist["errors"]}
    found = {"named": named, "gists": gists}
    if found != last:
        cache.keep("survey", key_of(str(at.folder)), found, _written)
    of_engine = {
        engine: replace(group, is_dated=dated[name]) for name, group in groups.items() for engine in group.kin.engines
    }
    return Survey(of_engine, whole, links_of(rest), tuple(sorted(errors)), key_of(*for_all))


def links_at(folder: Path, commit: str) -> tuple[Link, ...]:
    """The links that are written at a commit. NoTree."""
    return links_in(load_shop(outline_at(folder, commit).around.part(["shares.yml"])))


def blobs_of(at: At, engine: str) -> frozenset[str]:
    """Git's names for the files of an engine's folder."""
    files = outline_at(at.folder, at.commit).of_engines([engine])
    return frozenset(files.blob(path) for path in files.paths())


def records_of(at: At, kin: Kin, touches: dict[str, Touch] | None = None, beyond: Beyond = NOTHING_BEYOND) -> Checked:
    """A group's own records, checked; `touches`: the last commits that touched its files, where they are known."""
    repo = repository_of(at.folder)
    if repo is not None and touches is not None:
        repo = repo.as_read(at.commit, touches)
    return check_shop(_loaded(at.folder, at.commit, kin), at.today, repo, beyond)


@lru_cache(maxsize=1)  # who tells an engine asked for what it says to the others just before
def _loaded(folder: Path, commit: str, kin: Kin) -> Shop:
    return load_shop(_part(outline_at(folder, commit), kin))


def _bears_on_all(path: str) -> bool:
    return path == "shop.yml" or path.startswith("families/")


def _part(outline: Outline, kin: Kin) -> Commit:
    """The files of a group, with those of the shop that bear on every engine."""
    paths = [path for path in outline.others if _bears_on_all(path)]
    paths += [outline.parts[stem] for stem in kin.stems if stem in outline.parts]
    if not kin.engines:
        return outline.around.part(paths, (PARTS,))
    return outline.around.part(paths).joined(outline.of_engines(kin.engines))


def _named(at: At, outline: Outline, last: Mapping[str, Any], progress: Progress | None) -> dict[str, list[Any]]:
    """By engine git's name for its folder and the parts that it names; read only where that changed.

    A folder in which nothing is to be read is no engine.
    """
    known = {name: list(last[name]) for name, id in outline.engines.items() if name in last and last[name][0] == id}
    new = [name for name in outline.engines if name not in known]
    for name, stems in zip(new, _in_processes(_stems, [(at, name) for name in new], progress), strict=True):
        if stems is not None:
            known[name] = [outline.engines[name], stems]
    return {name: known[name] for name in sorted(known)}


def _stems(at: At, engine: str) -> list[str] | None:
    files = outline_at(at.folder, at.commit).of_engines([engine])
    if not files.paths():
        return None
    shop = load_shop(files.part(path for path in files.paths() if path.endswith(ENDING)))
    return sorted(mentions_of(shop.engines[engine])) if engine in shop.engines else []


def _group(outline: Outline, kin: Kin, for_all: Iterable[str]) -> Group:
    """`for_all`: names and content of the files that bear on every group."""
    parts = sorted(outline.parts[stem] for stem in kin.stems & outline.parts.keys())
    files = [f"{path} {outline.around.blob(path)}" for path in parts]
    engines = [f"{one} {outline.engines[one]}" for one in kin.engines]
    return Group(kin, key_of(reckoning(), *for_all, *files, *engines), False)


def _gists(
    at: At, groups: Mapping[str, Group], last: Mapping[str, Any], progress: Progress | None
) -> dict[str, dict[str, Any]]:
    """The small part of each group's gist, with the key of the group and the day that it was made on."""
    known = {name: last[name] for name, group in groups.items() if name in last and _holds(last[name], group, at.today)}
    new = [name for name in groups if name not in known]
    made = _in_processes(_make_gist, [(at, groups[name]) for name in new], progress)
    for name, told in zip(new, made, strict=True):
        known[name] = {"key": groups[name].key, "day": at.today.isoformat(), "told": told}
    return {name: known[name] for name in sorted(known)}


def _holds(gist: Mapping[str, Any], group: Group, today: date) -> bool:
    """Whether a gist that was made before says the same today: its records are the same, and no day of them passed."""
    latest, day = gist["told"]["latest"], today.isoformat()
    return bool(gist["key"] == group.key and (gist["day"] == day or latest <= min(day, gist["day"])))


def _make_gist(at: At, group: Group) -> Gist:
    gist = gist_of(records_of(at, group.kin))
    adds = adds_of(gist)
    Cache().put("adds", _adds_key(group, at.today.isoformat()), to_bytes(adds))
    return small_part(gist, adds)


def _adds(at: At, group: Group, gist: Mapping[str, Any], cache: Cache) -> Adds:
    """What a group adds to pools and lives, from the cache, or made anew where it is lost."""
    found = cache.recall("adds", _adds_key(group, gist["day"]), from_bytes)
    return adds_of(gist_of(records_of(at, group.kin))) if found is None else found


def _adds_key(group: Group, day: str) -> str:
    return key_of(group.key, day)


def _around(at: At, outline: Outline, engines: Iterable[str]) -> Checked:
    """What stands beside engines and parts, checked, with all that is left out there; of the engines it is known that
    there are such."""
    names = sorted(engines)

    def checked() -> Checked:
        shop = load_shop(outline.around.part(outline.others, EVERYWHERE))
        shop.engines = {name: EngineRecords(name) for name in names}
        shop.unread |= {f"{ENGINES}/{name}/engine.yml" for name in names}
        return check_shop(shop, at.today, None)

    files = {path: outline.around.blob(path) for path in outline.others}
    return _checked_around.of((at.folder, at.today, files, outline.around.left_out(), names), checked)


def _alike(at: At, outline: Outline, engines: Iterable[str]) -> Iterator[str]:
    """Errors of names that differ in capitals alone: of engines, of parts, of what lies around them."""
    paths = sorted((*(f"{ENGINES}/{name}/engine.yml" for name in engines), *outline.around.paths()))
    yield from (str(one) for one in check_alike(placed(Shop(_Names(paths)), at.today)) if one.level == "error")


class _Names:
    """Files of which nothing but their names is wanted."""

    label = "the names of a commit"

    def __init__(self, paths: Sequence[str]) -> None:
        self._paths = paths

    def paths(self) -> Sequence[str]:
        return self._paths

    def read(self, _path: str) -> bytes:
        return b""

    def size(self, _path: str) -> int:
        return 0


def _in_processes(
    task: Callable[..., Any], jobs: Sequence[tuple[Any, ...]], progress: Progress | None
) -> Iterator[Any]:
    """The task's answers in order; where there are many they are worked out on all cores."""
    if len(jobs) < FEWEST_FOR_A_POOL or (os.cpu_count() or 1) == 1:
        yield from (task(*job) for job in jobs)
        return
    with workers() as pool:
        for nth, done in enumerate(pool.map(task, *zip(*jobs, strict=True), chunksize=4), 1):
            if progress is not None:
                progress(nth / len(jobs), "reading records")
            yield done


def _last(folder: Path, cache: Cache) -> dict[str, Any]:
    """What the last survey of this folder found."""
    told: dict[str, Any] | None = cache.recall("survey", key_of(str(folder)), json.loads)
    return told if told is not None else {}


def _written(told: Mapping[str, Any]) -> bytes:
    return json.dumps(told, separators=(",", ":")).encode("ascii")
