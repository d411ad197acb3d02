"""The photos of a site: each published once, kept in the cache by content, and set into a page with its words.

In: photos as the story names them, and a way to their bytes. Out: figures for templates, and the files to publish, made
when they are asked for. A photo that is missing or broken becomes an open frame that says so, and a doubt: it never
stops a build.
"""

import struct
from collections.abc import Callable, Mapping
from typing import Final

from msgspec import Struct

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


class Shelved(Struct, frozen=True):
    """A published photo: paths of its two sizes in the site, and the small one's size in px."""

    large: str
    small: str
    width: int
    height: int


class OnShelf(Struct, frozen=True):
    """What came of a photo: its place in the site, or, in words, why it has none, and the doubt about that."""

    place: Shelved | str
    doubt: Problem | None = None


class PhotoShelf:
    """Publishes each photo once."""

    def __init__(self, photo_bytes: Callable[[str], bytes], cache: Cache) -> None:
        self._photo_bytes = photo_bytes
        self._cache = cache
        self._names: dict[str, str] = {}  # by the photo's own path, in the order in which photos were named
        self._taken: set[str] = set()
        self._shelved: dict[str, OnShelf] = {}  # by the photo's own path
        self._other: tuple[str, int, PublishedPhoto] | None = None  # the size that is asked for next, as a rule

    @property
    def files(self) -> dict[str, Callable[[], bytes]]:
        """By path in the site what makes the bytes of the photos that were shelved, in the order of their names."""
        places = [(path, one.place) for path, one in self._in_order() if isinstance(one.place, Shelved)]
        return {
            file: PhotoFile(self, path, side)
            for path, place in places
            for file, side in ((place.large, LARGE_SIDE), (place.small, SMALL_SIDE))
        }

    @property
    def problems(self) -> list[Problem]:
        """Doubts about photos that cannot be shown."""
        return [one.doubt for _, one in self._in_order() if one.doubt is not None]

    def _in_order(self) -> list[tuple[str, OnShelf]]:
        return [(path, self._shelved[path]) for path in self._names if path in self._shelved]

    def size_of(self, path: str, side: int) -> bytes:
        """The bytes of a photo's larger or smaller size, by its path in the shop. BadPhoto, OSError, LookupError."""
        kept, self._other = self._other, None
        if kept is not None and kept[:2] == (path, side):
            photo = kept[2]
        else:
            photo = self._published(self._photo_bytes(path), path)
            self._other = path, SMALL_SIDE if side == LARGE_SIDE else LARGE_SIDE, photo
        return photo.large if side == LARGE_SIDE else photo.small

    def name(self, engine: str, sheet: SheetRef | None, photo: PhotoStory) -> str:
        """What the photo is called in the site; who is named first is called as it is, whenever it is shelved.

        The sheet, the place, the view and a number; a view that reads like a place gets a further number.
        """
        if photo.path not in self._names:
            name = published_name(photo.slot, photo.view, max(photo.number, 1))
            name = f"{sheet.kind}-{sheet.name}-{name}" if sheet is not None else f"picture-{name}"
            unique, number = name, 1
            while f"{engine}/{unique}" in self._taken:
                number += 1
                unique = f"{name}-{number}"
            self._taken.add(f"{engine}/{unique}")
            self._names[photo.path] = unique
        return self._names[photo.path]

    def shelve(self, engine: str, sheet: SheetRef | None, photo: PhotoStory) -> Shelved | str:
        """The photo's place in the site, or, in words, why it has none."""
        if photo.path not in self._shelved:
            self._shelved[photo.path] = self._publish(engine, self.name(engine, sheet, photo), photo)
        return self._shelved[photo.path].place

    def shelved(self) -> dict[str, OnShelf]:
        """What came of every photo so far, by its own path: for the shelf of another process."""
        return dict(self._shelved)

    def take(self, shelved: Mapping[str, OnShelf]) -> None:
        """What came of photos on a copy of this shelf. They were named before it was copied."""
        self._shelved = {**shelved, **self._shelved}

    def _publish(self, engine: str, stem: str, photo: PhotoStory) -> OnShelf:
        if not photo.present:
            return OnShelf(NOT_THERE)  # the records' own checks have said so already
        try:
            data = self._photo_bytes(photo.path)
            published = self._published(data, photo.path)
        except (OSError, LookupError) as reason:
            return OnShelf(NOT_THERE, doubt(photo.source, f"{photo.path} cannot be read: {reason}"))
        except BadPhoto as reason:
            return OnShelf(NOT_SHOWN, doubt(photo.source, str(reason)))
        large, small = (photo_path(engine, stem, side) for side in (LARGE_SIDE, SMALL_SIDE))
        return OnShelf(Shelved(large, small, *published.small_size))

    def _published(self, data: bytes, name: str) -> PublishedPhoto:
        """The published sizes, from the cache where they lie there."""
        key = key_of(RECIPE, data)
        kept = self._cache.get(_KIND, key)
        if kept is not None:
            return _unpacked(kept)
        published = publish_photo(data, name)
        self._cache.put(_KIND, key, _packed(published))
        return published


class PhotoFile(Struct, frozen=True):
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
