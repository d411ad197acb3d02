"""The history of a shop as it was last read, from the user's cache: carried on, so that old versions are read once.

In: a repository and a commit. Out: its history, and what of any version stays with the crew.
"""

from collections.abc import Collection

from engine_pages.editions.kept_back import is_record, kept_back
from engine_pages.editions.once_crew_only import Past
from engine_pages.editions.sealed import NOTHING_SEALED, Sealed
from engine_pages.pages.cache import Cache, key_of
from engine_pages.pages.reckoning import reckoning
from engine_pages.records.drafts import left_behind
from engine_pages.records.git import Repo
from engine_pages.records.kept_history import KeptHistory, from_json, history_at

KIND = "history"  # of the cache's entries


def histories_of(repo: Repo, commit: str, cache: Cache, uncommitted: Collection[str]) -> tuple[KeptHistory, ...]:
    """Git's history up to a commit; where another is checked out, that commit's too: what was made crew only, or
    withdrawn, after the one that is shown counts as well, and what is `uncommitted`, the files that are `left_behind`.
    GitFailed, also where the clone does not hold it whole."""
    head = repo.head() or commit
    now, not_yet = _carried_on(repo, head, cache), _as_it_lies(repo, uncommitted)
    return (now, not_yet) if head == commit else (history_at(repo, commit, None, is_record, kept_back), now, not_yet)


def sealed_for(repo: Repo | None, engine: str, revision: str, cache: Cache) -> Sealed:
    """What of any version is sealed for readers of an engine; nothing without git. GitFailed, as above."""
    commit = repo.commit(revision) if repo is not None else None
    if repo is None or commit is None:
        return NOTHING_SEALED
    return Past(*histories_of(repo, commit, cache, left_behind(repo))).sealed(engine)


def _carried_on(repo: Repo, commit: str, cache: Cache) -> KeptHistory:
    place = key_of(str(repo.root.resolve()), reckoning())
    before = cache.recall(KIND, place, from_json)
    history = history_at(repo, commit, before, is_record, kept_back)
    if history is not before:
        cache.keep(KIND, place, history, KeptHistory.to_json)
    return history


def _as_it_lies(repo: Repo, uncommitted: Collection[str]) -> KeptHistory:
    """What these records, as they lie in the folder, keep for the crew, and whom they name.

    `check` promises to blank a name that was written this morning, whether it is committed yet or not.
    """
    places = {path: repo.root / path for path in sorted(uncommitted) if is_record(path)}
    plain = {path: place for path, place in places.items() if place.is_file() and not place.is_symlink()}
    kept = {path: sorted({*kept_back(path, place.read_bytes())}) for path, place in plain.items()}
    return KeptHistory(crew={path: pieces for path, pieces in kept.items() if pieces})
