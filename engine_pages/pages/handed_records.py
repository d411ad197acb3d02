"""The records and photos of an edition as they are handed over, and what names that state of them.

In: an edition told from a commit, and its photos. Out: files under `records/`, made when asked for; `StateMark`.
"""

from collections.abc import Callable, Iterator, Mapping
from functools import partial

from msgspec import Struct

from engine_pages.editions.edition import ToldEdition
from engine_pages.editions.fingerprint import RECORDS, StateMark, fingerprint_of
from engine_pages.editions.manifest import entry_of
from engine_pages.editions.records_yaml import records_files
from engine_pages.pages.bare_shelf import BareShelf
from engine_pages.records.checks.checked import Checked
from engine_pages.records.load import SheetRecord
from engine_pages.records.photo_names import published_name
from engine_pages.records.sheet import Photo
from engine_pages.records.tree import Commit

Files = dict[str, Callable[[], bytes]]


class HandedRecords(Struct, frozen=True):
    """An edition's records as YAML, and its photos without the camera's notes: `photos` by their own paths."""

    texts: Files
    photos: Mapping[str, str]
    shelf: BareShelf

    @property
    def files(self) -> Files:
        """All of it by the paths of a bundle."""
        photos: Files = {f"{RECORDS}{name}": partial(self.shelf.content, path) for path, name in self.photos.items()}
        return {f"{RECORDS}{path}": made for path, made in self.texts.items()} | photos

    @property
    def fingerprint(self) -> str:
        """The words that a bundle of it has; of photos nothing is made but what is not known of them yet."""
        entries = {f"{RECORDS}{path}": entry_of(made()) for path, made in self.texts.items()}
        entries |= {f"{RECORDS}{name}": self.shelf.entry(path) for path, name in self.photos.items()}
        return fingerprint_of(entries)


def handed_records(told: ToldEdition, engine: str, shelf: BareShelf) -> HandedRecords:
    """What of an engine's records an edition hands over."""
    photos = dict(handed_photos(told.records, engine, shelf))
    return HandedRecords(records_files(told.records, engine, told.forbidden, photos), photos, shelf)


def state_mark(checked: Checked, engine: str, handed: HandedRecords) -> StateMark | None:
    """What names this state of the records; None of a folder that is in no commit.

    checked: the shop that they were told from.
    """
    tree, repo = checked.shop.tree, checked.repo
    if not isinstance(tree, Commit) or repo is None:
        return None
    return StateMark(repo.tree_of(tree.commit, f"engines/{engine}"), handed.fingerprint)


def handed_photos(cut: Checked, engine: str, shelf: BareShelf) -> Iterator[tuple[str, str]]:
    """(path in the shop, published path) of every photo of the cut records that can be shown."""
    names: set[str] = set()
    seen: set[str] = set()
    for path, stem in _named(cut, engine):
        ending = shelf.ending(path) if path not in seen else None
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
