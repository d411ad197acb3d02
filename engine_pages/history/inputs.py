"""As of and commit: the last commit that touched one of an engine's inputs, and what is not committed yet."""

from collections.abc import Iterable, Mapping
from datetime import date

from msgspec import Struct

from ..records.drafts import drafts_in
from ..records.git import GitFailed, Touch
from ..records.ids import file_id
from ..records.load import Shop
from ..records.tree import Commit
from .book import Book


class Touches(Struct, frozen=True):
    """Which commit last touched each path, and which paths differ from the last commit. Both empty without git."""

    touched: Mapping[str, Touch]
    uncommitted: frozenset[str]
    trouble: str | None = None


def touches_of(book: Book) -> Touches:
    """The last touches of the tree that was read: of a folder with its changes, of a commit from its history."""
    repo, tree = book.checked.repo, book.checked.shop.tree
    if repo is None:
        return Touches({}, frozenset())
    try:
        if isinstance(tree, Commit):
            return Touches(repo.last_touches(tree.commit), frozenset())
        return Touches(repo.last_touches(), drafts_in(repo))
    except GitFailed as trouble:
        return Touches({}, frozenset(), str(trouble))


def engine_inputs(book: Book, engine: str, parts: Iterable[str], touches: Touches) -> list[str]:
    """The paths that an engine's figures follow from: its folder, its family, its parts and their lives.

    What was taken away counts too: without it the figures became others.
    """
    shop = book.checked.shop
    known = {*shop.tree.paths(), *touches.touched, *touches.uncommitted}
    folder = f"engines/{engine}/"
    wanted = {path for path in known if path.startswith(folder)} | {"shop.yml"}
    file = shop.engines[engine].file
    if file is not None:
        wanted.add(f"families/{file.it.family}.yml")
    of_parts = set(parts)
    for part in of_parts:
        record = shop.parts.get(part)
        wanted.add(record.path if record is not None else f"parts/{file_id(part)}.yml")
    for (path, _), stay in book.checked.fitting.seen.items():
        if stay.part.id in of_parts:
            wanted.add(path)
    elsewhere = [s for part in of_parts for s in book.lives.of(part).stays if s.engine != engine]
    wanted |= {sheet.path for s in elsewhere for sheet in (s.fitted, s.removed) if sheet is not None}
    wanted |= {e.document.path for other in {s.engine for s in elsewhere} for e in shop.engines[other].log}
    return sorted(wanted & known)


def as_of(
    shop: Shop, engine: str, inputs: Iterable[str], touches: Touches, today: date
) -> tuple[date, str | None, tuple[str, ...]]:
    """The day and the commit that an engine's story belongs to, and its uncommitted inputs.

    Of the commit's day and the last day that its records name, the later: a day that is told of is counted.
    """
    paths = list(inputs)
    own = [touches.touched[path] for path in paths if path in touches.touched]
    last = min(own, key=lambda touch: touch.nth, default=None)
    changed = tuple(path for path in paths if path in touches.uncommitted)
    days = [date.fromisoformat(last.committed[:10])] if last else []
    days += [day for day in recorded_days(shop, engine, paths) if day <= today]
    return max(days, default=date(1970, 1, 1)), last.commit if last else None, changed


def recorded_days(shop: Shop, engine: str, inputs: Iterable[str]) -> list[date]:
    """Every day that an engine's log names, and its sheets, with those of other engines that saw its parts."""
    wanted = set(inputs)
    sheets = (sheet for records in shop.engines.values() for sheet in records.sheets)
    days = [sheet.day for sheet in sheets if sheet.path in wanted]
    return days + [entry.line.date.day for entry in shop.engines[engine].log]
