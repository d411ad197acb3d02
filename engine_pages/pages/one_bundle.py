"""All that a bundle holds: an engine's site that opens from a disk, its records, its figures, its photos, a note.

In: a checked shop at a commit, the engine, the edition. Out: files by their paths in the bundle, made when asked for.
"""

import json
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from importlib.metadata import version
from typing import Final

from engine_pages.editions.bare_photo import bare_photo
from engine_pages.editions.edition import ToldEdition, tell_whole
from engine_pages.editions.fingerprint import RECORDS as FROM_RECORDS
from engine_pages.editions.fingerprint import fingerprint_of
from engine_pages.editions.manifest import About, Entry
from engine_pages.editions.once_crew_only import sealed_of
from engine_pages.editions.records_yaml import records_files
from engine_pages.editions.table import Reader
from engine_pages.history.figures import figures_json
from engine_pages.pages.cache import Cache
from engine_pages.pages.plain_frame import plain_files
from engine_pages.pages.site import build_pages
from engine_pages.records.checks.checked import Checked
from engine_pages.records.load import SheetRecord
from engine_pages.records.photo_header import NotAPhoto
from engine_pages.records.photo_names import published_name
from engine_pages.records.sheet import Photo
from engine_pages.records.tree import Commit, NoFile
from engine_pages.shipped import shipped

SITE: Final = "site"
RECORDS: Final = FROM_RECORDS.rstrip("/")
FIGURES: Final = "figures/figures.json"
SUMMARIES: Final = "figures/joint-summaries"
NOTE: Final = "READ-ME.txt"
SHORT: Final = 7  # letters of a commit, as git shortens it

Files = dict[str, Callable[[], bytes]]


def bundle_files(checked: Checked, engine: str, edition: Reader, cache: Cache, revision: str) -> Files:
    """Every file of a bundle but its manifest. KeyError for an engine that is not there."""
    told = tell_whole(checked, engine, edition, sealed=sealed_of(checked.repo, engine, revision), kept=cache)
    read = checked.shop.tree.read
    site = build_pages(told.story, engine, edition, read, cache)
    photos = dict(handed_photos(told.records, engine, read))
    records = records_files(told.records, engine, told.forbidden, photos)
    files = {f"{SITE}/{path}": made for path, made in plain_files(site, told.story.name).items()}
    files |= {f"{RECORDS}/{path}": made for path, made in records.items()}
    files |= {f"{RECORDS}/{name}": partial(_bare, read, path) for path, name in photos.items()}
    return files | _figures(told, edition) | {NOTE: (shipped("site_template") / "plain" / NOTE).read_bytes}


def about_of(checked: Checked, engine: str, edition: str, files: Mapping[str, Entry]) -> About:
    """What a bundle of these files is of; the shop is read at a commit."""
    tree, repo = checked.shop.tree, checked.repo
    assert isinstance(tree, Commit)
    assert repo is not None
    made_with = f"engine-pages {version('engine-pages')}"
    return About(engine, edition, tree.commit[:SHORT], repo.tree_of(tree.commit), fingerprint_of(files), made_with)


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


def handed_photos(cut: Checked, engine: str, read: Callable[[str], bytes]) -> Iterator[tuple[str, str]]:
    """(path in the shop, published path) of every photo of the cut records that can be shown."""
    names: set[str] = set()
    seen: set[str] = set()
    for path, stem in _named(cut, engine):
        ending = _ending(read, path) if path not in seen else None
        seen.add(path)
        if ending is not None:
            unique, number = stem, 1
            while unique in names:  # a view that reads like a place
                number += 1
                unique = f"{stem}-{number}"
            names.add(unique)
            yield path, f"{unique}{ending}"


def _named(cut: Checked, engine: str) -> Iterator[tuple[str, str]]:
    """(path in the shop, published path without its ending) of every photo, in the order in which they are written."""
    records = cut.shop.engines[engine]
    if records.file is not None and records.file.it.picture is not None:
        folder = f"engines/{engine}"
        yield f"{folder}/{records.file.it.picture}", f"{folder}/picture-{published_name(None, None, 1)}"
    for sheet in records.sheets:
        for key, photos in _photos(sheet):
            for number, photo in enumerate(photos, 1):
                name = published_name(key, photo.view, number)
                yield f"{sheet.photo_folder}/{photo.file}", f"{sheet.photo_folder}/{name}"


def _photos(sheet: SheetRecord) -> Iterator[tuple[str | None, list[Photo]]]:
    yield None, sheet.it.photos or []
    for key, line in (sheet.it.positions or {}).items():
        yield key, (line.photos if line is not None else None) or []


def _ending(read: Callable[[str], bytes], path: str) -> str | None:
    """The ending of a photo's name once it is bare; None where it cannot be read or shown."""
    try:
        return bare_photo(read(path))[1]
    except (NoFile, NotAPhoto):
        return None


def _bare(read: Callable[[str], bytes], path: str) -> bytes:
    return bare_photo(read(path))[0]
