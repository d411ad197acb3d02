"""Photos as they are handed over, without the camera's notes: their endings, sizes and sums, from the cache if it can.

In: a way to the photos' bytes. Out: what a bundle says of each; the bare bytes themselves are made when asked for.
"""

import json
from collections.abc import Callable
from typing import Final

from engine_pages.editions.bare_photo import bare_photo
from engine_pages.editions.manifest import Entry, entry_of
from engine_pages.pages.cache import Cache, key_of
from engine_pages.records.photo_header import NotAPhoto
from engine_pages.records.tree import NoFile

KIND: Final = "bare-photo"  # of the cache's entries: from a photo's bytes to what is said of the bare photo


class BareShelf:
    """The photos of a shop, by their paths in it."""

    def __init__(self, read: Callable[[str], bytes], cache: Cache) -> None:
        self._read, self._cache = read, cache
        self._known: dict[str, tuple[str, Entry]] = {}

    def ending(self, path: str) -> str | None:
        """The ending of its name once it is bare; None where it cannot be read or shown."""
        try:
            return self._told(path)[0]
        except (NoFile, NotAPhoto):
            return None

    def entry(self, path: str) -> Entry:
        """Its size and sum. NoFile, NotAPhoto."""
        return self._told(path)[1]

    def content(self, path: str) -> bytes:
        """The bare photo. NoFile, NotAPhoto."""
        return bare_photo(self._read(path))[0]

    def _told(self, path: str) -> tuple[str, Entry]:
        if path not in self._known:
            self._known[path] = self._looked_up(self._read(path))
        return self._known[path]

    def _looked_up(self, content: bytes) -> tuple[str, Entry]:
        key = key_of(content)
        kept = self._cache.get(KIND, key)
        if kept is not None:
            ending, size, total = json.loads(kept)
            return ending, Entry(size, total)
        bare, ending = bare_photo(content)
        entry = entry_of(bare)
        self._cache.put(KIND, key, json.dumps([ending, entry.bytes, entry.sha256]).encode("ascii"))
        return ending, entry
