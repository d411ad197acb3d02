"""The photos of a site: each published once, kept in the cache by content, and set into a page with its words.

In: photos as the story names them, and a way to their bytes. Out: figures for templates, and the files to publish, made
when they are asked for. A photo that is missing or broken becomes an open frame that says so, and a doubt: it never
stops a build.
"""

import struct
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from engine_pages.history.story import PhotoStory, SheetRef
from engine_pages.pages.addresses import photo_path
from engine_pages.pages.cache import Cache, key_of
from engine_pages.pages.photos import (
    LARGE_SIDE,
    RECIPE,
    SMALL_SIDE,
    BadPhoto,
    PublishedPhoto,
    publish_photo,
)
from engine_pages.records.photo_names import published_name
from engine_pages.records.source import Problem, doubt

_KIND: Final = "photo"
_HEAD: Final = struct.Struct(">5I")  # two sizes in pixels, and the length of the large one in bytes
NOT_SHOWN: Final = "photo cannot be shown"
NOT_THERE: Final = "photo is missing"


@dataclass(frozen=True, slots=True)
class Shelved:
    """A published photo: paths of its two sizes in the site, and the small one's size in px."""

    large: str
    small: str
    width: int
    height: int


class PhotoShelf:
    """Publishes each photo once. `files` maps paths in the site to what makes their bytes; `problems` are doubts."""

    def __init__(self, photo_bytes: Callable[[str], bytes], cache: Cache) -> None:
        self.files: dict[str, Callable[[], bytes]] = {}
        self.problems: list[Problem] = []
        self._photo_bytes = photo_bytes
        self._cache = cache
        self._shelved: dict[str, Shelved | str] = {}  # by the photo's own path
        self._names: set[str] = set()
        self._other: tuple[str, int, PublishedPhoto] | None = None  # the size that is asked for next, as a rule

    def size_of(self, path: str, side: int) -> bytes:
        """The bytes of a photo's larger or smaller size, by its path in the shop. BadPhoto, OSError, LookupError."""
        kept, self._other = self._other, None
        if kept is not None and kept[:2] == (path, side):
            photo = kept[2]
        else:
            photo = self._published(self._photo_bytes(path), path)
            self._other = path, SMALL_SIDE if side == LARGE_SIDE else LARGE_SIDE, photo
        return photo.large if side == LARGE_SIDE else photo.small

    def shelve(self, engine: str, sheet: SheetRef | None, photo: PhotoStory) -> Shelved | str:
        """The photo's place in the site, or, in words, why it has none."""
        if photo.path not in self._shelved:
            self._shelved[photo.path] = self._publish(engine, self._name(engine, sheet, photo), photo)
        return self._shelved[photo.path]

    def _name(self, engine: str, sheet: SheetRef | None, photo: PhotoStory) -> str:
        """The sheet, the place, the view and a number; a view that reads like a place gets a further number."""
        name = published_name(photo.slot, photo.view, max(photo.number, 1))
        name = f"{sheet.kind}-{sheet.name}-{name}" if sheet is not None else f"picture-{name}"
        unique, number = name, 1
        while f"{engine}/{unique}" in self._names:
            number += 1
            unique = f"{name}-{number}"
        self._names.add(f"{engine}/{unique}")
        return unique

    def _publish(self, engine: str, stem: str, photo: PhotoStory) -> Shelved | str:
        if not photo.present:
            return NOT_THERE  # the records' own checks have said so already
        try:
            data = self._photo_bytes(photo.path)
            published = self._published(data, photo.path)
        except (OSError, LookupError) as reason:
            return self._refused(photo, f"{photo.path} cannot be read: {reason}", NOT_THERE)
        except BadPhoto as reason:
            return self._refused(photo, str(reason), NOT_SHOWN)
        large, small = (photo_path(engine, stem, side) for side in (LARGE_SIDE, SMALL_SIDE))
        self.files[large] = PhotoFile(self, photo.path, LARGE_SIDE)
        self.files[small] = PhotoFile(self, photo.path, SMALL_SIDE)
        return Shelved(large, small, *published.small_size)

    def _refused(self, photo: PhotoStory, message: str, words: str) -> str:
        self.problems.append(doubt(photo.source, message))
        return words

    def _published(self, data: bytes, name: str) -> PublishedPhoto:
        """The published sizes, from the cache where they lie there."""
        key = key_of(RECIPE, data)
        kept = self._cache.get(_KIND, key)
        if kept is not None:
            return _unpacked(kept)
        published = publish_photo(data, name)
        self._cache.put(_KIND, key, _packed(published))
        return published


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """A file of a site: one of the two sizes of a photo, made when it is asked for."""

    shelf: PhotoShelf
    photo: str  # its path in the shop
    side: int

    def __call__(self) -> bytes:
        """Its bytes; see `PhotoShelf.size_of`."""
        return self.shelf.size_of(self.photo, self.side)


def _packed(photo: PublishedPhoto) -> bytes:
    return _HEAD.pack(*photo.large_size, *photo.small_size, len(photo.large)) + photo.large + photo.small


def _unpacked(data: bytes) -> PublishedPhoto:
    large_width, large_height, small_width, small_height, length = _HEAD.unpack_from(data)
    large, small = data[_HEAD.size : _HEAD.size + length], data[_HEAD.size + length :]
    return PublishedPhoto(large, small, (large_width, large_height), (small_width, small_height))
