"""What a filed record leans on and no commit holds yet, and what a commit holds: so that the last commit reads alone.

In: the shop's folder, and paths of record files in it. Out: paths.
"""

import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from ..records.git import repository_of, run_git
from ..records.load import EngineRecords, Shop, load_shop
from ..records.tree import Tree

SHOP_FILE = "shop.yml"


def taken_along(shop: Path, tree: Tree, records: Sequence[str]) -> tuple[str, ...]:
    """The engine's own file and its picture, its family, the parts that its sheets name and the shop's file: those that
    lie there and are in no commit. What is committed and was edited since stays the builder's to file.
    """
    return along_with(shop, load_shop(tree), records)


def along_with(shop: Path, loaded: Shop, records: Sequence[str]) -> tuple[str, ...]:
    """The same of a shop that was read already."""
    repo = repository_of(shop)
    if repo is None:
        return ()
    there = set(loaded.tree.paths())
    of = [one for one in loaded.engines.values() if any(path.startswith(f"engines/{one.id}/") for path in records)]
    leant_on = {path for engine in of for path in _leant_on(loaded, engine, records)} & there
    return tuple(sorted(leant_on - set(records) - repo.in_commit()))


def _leant_on(shop: Shop, engine: EngineRecords, records: Sequence[str]) -> Iterator[str]:
    yield SHOP_FILE
    if engine.file is not None:
        yield engine.file.path
        if engine.file.it.picture is not None:
            yield f"engines/{engine.id}/{engine.file.it.picture}"
        if engine.file.it.family in shop.families:
            yield shop.families[engine.file.it.family].path
    for sheet in engine.sheets:
        if sheet.path in records:
            for line in (sheet.it.positions or {}).values():
                yield from (shop.parts[one].path for one in _serials(line.part if line else None) if one in shop.parts)


def _serials(part: object) -> Iterable[str]:
    """The serials of a line: one, or one a member of a set."""
    if isinstance(part, dict):
        return [str(one) for one in part.values() if one is not None]
    return [] if part is None else [str(part)]


def new_of(shop: Path, records: Sequence[str]) -> list[str]:
    """Those of these records that the last commit does not hold as they lie; all where there is no repository."""
    repo = repository_of(shop)
    if repo is None:
        return list(records)
    same = repo.in_commit() - repo.changed()
    return [path for path in records if path not in same]


def held_by(shop: Path, commit: str) -> tuple[str, ...]:
    """The files that a commit changed, by their paths in the shop."""
    asked = ("diff-tree", "--no-commit-id", "--name-only", "-r", "--root", "--relative", "-z", commit)
    return tuple(sorted(os.fsdecode(one) for one in run_git(shop, *asked).split(b"\0") if one))
