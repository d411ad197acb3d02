"""As of and commit: the last commit that touched one of an engine's inputs, and what is not committed yet."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from ..records.git import Touch
from ..records.load import Shop
from ..records.tree import Commit
from .book import Book


@dataclass(frozen=True, slots=True)
class Trail:
    """Which commit last touched each path, and which paths differ from the last commit. Both empty without git."""

    touched: Mapping[str, Touch]
    uncommitted: frozenset[str]


def trail_of(book: Book) -> Trail:
    """The trail of the tree that was read: of a folder its last commits and its changes, of a commit its history."""
    repo, tree = book.checked.repo, book.checked.shop.tree
    if repo is None:
        return Trail({}, frozenset())
    if isinstance(tree, Commit):
        return Trail(repo.last_touches(tree.commit), frozenset())
    return Trail(repo.last_touches(), repo.changed())


def engine_inputs(book: Book, engine: str, parts: Iterable[str]) -> list[str]:
    """The paths that an engine's figures follow from: its folder, its parts' files and sheets elsewhere, its family."""
    shop = book.checked.shop
    folder = f"engines/{engine}/"
    wanted = {path for path in shop.tree.paths() if path.startswith(folder)} | {"shop.yml"}
    family = shop.family_of(engine)
    if family is not None:
        wanted.add(shop.families[family.family].path)
    for part in parts:
        file = shop.parts.get(part)
        if file is not None:
            wanted.add(file.path)
    of_parts = set(parts)
    for (path, _), stay in book.checked.fitting.seen.items():
        if stay.part.id in of_parts:
            wanted.add(path)
    return sorted(wanted)


def as_of(shop: Shop, engine: str, inputs: Iterable[str], trail: Trail) -> tuple[date, str | None, tuple[str, ...]]:
    """The day and the commit that an engine's story belongs to, and its uncommitted inputs.

    Without a commit, or with inputs changed since, the last day that the engine's own records name, if it is later.
    """
    paths = list(inputs)
    touches = [trail.touched[path] for path in paths if path in trail.touched]
    last = min(touches, key=lambda touch: touch.nth, default=None)
    changed = tuple(path for path in paths if path in trail.uncommitted)
    days = [date.fromisoformat(last.committed[:10])] if last else []
    if last is None or changed:
        days += recorded_days(shop, engine)
    return max(days, default=date(1970, 1, 1)), last.commit if last else None, changed


def recorded_days(shop: Shop, engine: str) -> list[date]:
    """Every day that an engine's sheets and log name."""
    records = shop.engines[engine]
    return [sheet.day for sheet in records.sheets] + [entry.line.date.day for entry in records.log]
