"""All that a bundle holds: an engine's site that opens from a disk, its records, its figures, its photos, a note.

In: a checked shop at a commit, the engine, the edition. Out: files by their paths in the bundle, made when asked for.
"""

import json
from collections.abc import Callable, Mapping
from functools import partial
from importlib.metadata import version
from typing import Final

from engine_pages.editions.edition import ToldEdition, tell_whole
from engine_pages.editions.fingerprint import fingerprint_of
from engine_pages.editions.manifest import About, Entry
from engine_pages.editions.table import Reader
from engine_pages.history.figures import figures_json
from engine_pages.pages.bare_shelf import BareShelf
from engine_pages.pages.cache import Cache
from engine_pages.pages.handed_records import handed_records, state_mark
from engine_pages.pages.kept_past import sealed_for
from engine_pages.pages.plain_frame import plain_files
from engine_pages.pages.site import build_pages
from engine_pages.records.checks.checked import Checked
from engine_pages.records.tree import Commit
from engine_pages.shipped import shipped

SITE: Final = "site"
FIGURES: Final = "figures/figures.json"
SUMMARIES: Final = "figures/joint-summaries"
NOTE: Final = "READ-ME.txt"
SHORT: Final = 7  # letters of a commit, as git shortens it

Files = dict[str, Callable[[], bytes]]


def bundle_files(checked: Checked, engine: str, edition: Reader, cache: Cache, revision: str) -> Files:
    """Every file of a bundle but its manifest. KeyError for an engine that is not there."""
    told = tell_whole(checked, engine, edition, sealed=sealed_for(checked.repo, engine, revision, cache), kept=cache)
    handed = handed_records(told, engine, BareShelf(checked.shop.tree.read, cache))
    mark = partial(state_mark, checked, engine, handed)
    site = build_pages(told.story, engine, edition, checked.shop.tree.read, cache, mark=mark)
    files = {f"{SITE}/{path}": made for path, made in plain_files(site, told.story.name).items()}
    return (
        files | handed.files | _figures(told, edition) | {NOTE: (shipped("site_template") / "plain" / NOTE).read_bytes}
    )


def about_of(checked: Checked, engine: str, edition: str, files: Mapping[str, Entry]) -> About:
    """What a bundle of these files is of; the shop is read at a commit."""
    tree, repo = checked.shop.tree, checked.repo
    assert isinstance(tree, Commit)
    assert repo is not None
    made_with = f"engine-pages {version('engine-pages')}"
    return About(
        engine,
        edition,
        tree.commit[:SHORT],
        repo.tree_of(tree.commit, f"engines/{engine}"),
        fingerprint_of(files),
        made_with,
    )


def _figures(told: ToldEdition, edition: Reader) -> Files:
    """The figures as JSON, and of the joint summaries those that they name, each by its whole digest."""
    figures = figures_json(told.story.engines[0], edition)
    fits = (pool.fit for pool in told.pools.all().values())
    summaries = {fit.fit.summary.digest: fit.fit.summary for fit in fits if fit is not None}
    files: Files = {FIGURES: partial(str.encode, figures)}
    for digest, summary in summaries.items():
        if digest in figures:
            content = json.dumps(summary.to_json(), sort_keys=True, separators=(",", ":"), allow_nan=False)
            files[f"{SUMMARIES}/{digest}.json"] = partial(str.encode, content)
    return files
