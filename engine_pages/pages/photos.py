"""A photo as it is published: two upright JPEGs in sRGB, with nothing of the camera's notes left.

In: the bytes of a photo as it lies in the repository. Out: a large and a small JPEG with their sizes. The same bytes in
give the same bytes out. Nothing is read from or written to disk here.
"""

from typing import Final

import PIL
from msgspec import Struct

from engine_pages.records.photo_header import NotAPhoto
from engine_pages.records.photo_pixels import fit_inside, jpeg_bytes, shrunk, upright_picture

LARGE_SIDE: Final = 1600
"""Pixels of the longer side at most: what a tap opens, and what prints 135 mm wide at 300 dots an inch."""

SMALL_SIDE: Final = 480
"""Pixels of the longer side at most: a 4:3 thumbnail, two across on a phone (173 px wide), at over twice its dots."""

JPEG_QUALITY: Final = 80
"""Scale of the JPEG library, 1–95. Fine scratches survive at 80; every step up costs bytes that nobody sees."""

RECIPE: Final = f"photo 1, {LARGE_SIDE}, {SMALL_SIDE}, q{JPEG_QUALITY}, Pillow {PIL.__version__}"
"""Belongs in the key of a cached photo: whatever changes the bytes changes this text."""


class BadPhoto(Exception):  # noqa: N818 — the name says what is wrong with the photo
    """A photo that cannot be published; the message names it and says why, in plain words."""


class PublishedPhoto(Struct, frozen=True):
    """Two progressive JPEGs of one photo, upright, sRGB, without metadata; sizes are (width, height) in pixels."""

    large: bytes
    small: bytes
    large_size: tuple[int, int]
    small_size: tuple[int, int]


def publish_photo(data: bytes, name: str) -> PublishedPhoto:
    """The two published sizes of a photo; a photo smaller than a size is never enlarged to it.

    data: a JPEG, PNG or WebP as it lies in the repository; of a moving picture the first frame is taken.
    name: what the photo is called in messages, for example its path.

    Transparent parts become white. A colour profile that is damaged, or meant for other channels, is passed over, as
    browsers do; without a profile the pixels are taken as sRGB. Raises `BadPhoto`.
    """
    try:
        large = upright_picture(data, LARGE_SIDE)
    except NotAPhoto as reason:
        raise BadPhoto(f"{name}: {reason}") from reason
    small = shrunk(large, fit_inside(large.size, SMALL_SIDE))
    return PublishedPhoto(jpeg_bytes(large, JPEG_QUALITY), jpeg_bytes(small, JPEG_QUALITY), large.size, small.size)
