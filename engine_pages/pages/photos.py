"""A photo as it is published: two upright JPEGs in sRGB, with nothing of the camera's notes left.

In: the bytes of a photo as it lies in the repository. Out: a large and a small JPEG with their sizes, and the name it
is published under. The same bytes in give the same bytes out. Nothing is read from or written to disk here.
"""

import io
import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
import PIL
from PIL import Image, ImageCms

from engine_pages.records.photo_header import NotAPhoto, open_photo, reading_photo

LARGE_SIDE: Final = 1600
"""Pixels of the longer side at most: what a tap opens, and what prints 135 mm wide at 300 dots an inch."""

SMALL_SIDE: Final = 480
"""Pixels of the longer side at most: a 4:3 thumbnail, two across on a phone (173 px wide), at over twice its dots."""

JPEG_QUALITY: Final = 80
"""Scale of the JPEG library, 1–95. Fine scratches survive at 80; every step up costs bytes that nobody sees."""

RECIPE: Final = f"photo 1, {LARGE_SIDE}, {SMALL_SIDE}, q{JPEG_QUALITY}, Pillow {PIL.__version__}"
"""Belongs in the key of a cached photo: whatever changes the bytes changes this text."""

# Exif (CIPA DC-008), tag 0x0112: how the stored picture is to be turned or mirrored before it stands upright.
_ORIENTATION_TAG: Final = 0x0112
_TURNS: Final = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}

# The colour space that an ICC profile names in its header (ICC.1, 7.2.6), and must name to fit a picture's channels.
_SPACE_IN_PROFILE: Final = slice(16, 20)
_PROFILE_SPACES: Final = {"L": b"GRAY", "RGB": b"RGB ", "CMYK": b"CMYK"}

_NAME_LENGTH: Final = 40  # characters of position and of view each; whole paths have to fit old file systems


class BadPhoto(Exception):  # noqa: N818 — the name says what is wrong with the photo
    """A photo that cannot be published; the message names it and says why, in plain words."""


@dataclass(frozen=True, slots=True)
class PublishedPhoto:
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
        picture = open_photo(data)
        with reading_photo():
            stored = _decoded(picture, LARGE_SIDE)
    except NotAPhoto as reason:
        raise BadPhoto(f"{name}: {reason}") from reason
    # Turning comes last: the small picture is turned in a fraction of the time.
    large = _upright(_in_srgb(stored, picture.info.get("icc_profile")), _orientation(picture))
    small = _shrunk(large, fit_inside(large.size, SMALL_SIDE))
    return PublishedPhoto(_jpeg(large), _jpeg(small), large.size, small.size)


def published_name(position: str | None, view: str | None, number: int) -> str:
    """Name of a published photo, without suffix: place, view and number, never the camera's own file name.

    position: the place in the engine; None is the engine itself. view: as this edition shows it. number: from 1,
    counted over one sheet, which makes names of one sheet differ whatever the other two are.
    Lower-case letters a–z, digits and hyphens only.

    >>> published_name("apex-seals-1/a2", "Loaded side", 3)
    'apex-seals-1-a2-loaded-side-03'
    >>> published_name(None, "_Auslaß, längs", 1)
    'engine-auslass-langs-01'
    """
    if number < 1:
        raise ValueError(f"photos are counted from 1, not {number}")
    words = [_slug(position or "") or "engine", _slug(view or ""), f"{number:02d}"]
    return "-".join(word for word in words if word)


def fit_inside(size: tuple[int, int], side: int) -> tuple[int, int]:
    """The size in pixels, in the same proportions, that fits a square of this side; never larger than it was.

    >>> fit_inside((4000, 3000), 1600)
    (1600, 1200)
    >>> fit_inside((300, 200), 1600)
    (300, 200)
    """
    scale = min(1.0, side / max(size))
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def _decoded(picture: Image.Image, side: int) -> Image.Image:
    """The pixels, shrunk to fit the side, in their own colours, as they are stored.

    A JPEG can be decoded at a half, a quarter or an eighth. Pillow takes the largest step that still fills the size
    asked for in both directions, so that size has to have the picture's own proportions.
    """
    size = fit_inside(picture.size, side)
    drafted = picture.draft(None, size)
    picture.load()
    return _shrunk(_plain_channels(picture), size, drafted[1] if drafted else None)


def _shrunk(
    picture: Image.Image, size: tuple[int, int], box: tuple[int, int, float, float] | None = None
) -> Image.Image:
    """Resampled to the size; `reducing_gap` averages whole blocks first where the step is large."""
    return picture.resize(size, Image.Resampling.LANCZOS, box=box, reducing_gap=2.0)


def _plain_channels(picture: Image.Image) -> Image.Image:
    """Eight-bit grey, RGB or CMYK, nothing transparent: what can be resampled, and what a profile can apply to."""
    if picture.mode.startswith("I"):  # sixteen-bit grey: Pillow's own conversion clips it at 255
        picture = Image.fromarray((np.asarray(picture) >> 8).astype(np.uint8))
    grey = picture.mode in ("1", "L", "LA", "La")
    if picture.has_transparency_data:
        with_alpha = picture.convert("LA" if grey else "RGBA")
        paper = Image.new("L" if grey else "RGB", picture.size, "white")
        paper.paste(with_alpha.convert(paper.mode), mask=with_alpha.getchannel("A"))
        return paper
    if picture.mode in _PROFILE_SPACES:
        return picture
    return picture.convert("L" if grey else "RGB")


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """RGB pixels in sRGB (IEC 61966-2-1), converted from the embedded profile where there is a usable one."""
    converted = _converted(picture, profile) if profile else None
    return converted or picture.convert("RGB")


def _converted(picture: Image.Image, profile: bytes) -> Image.Image | None:
    """The picture in sRGB; None where the profile is damaged or fits other channels than the picture's."""
    if profile[_SPACE_IN_PROFILE] != _PROFILE_SPACES[picture.mode]:
        return None
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.profileToProfile(
            picture,
            source,
            _srgb(),
            ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
            flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
        )
    except (ImageCms.PyCMSError, OSError):
        return None


@cache
def _srgb() -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))


def _orientation(picture: Image.Image) -> int:
    """The camera's orientation, 1 to 8; 1, upright, where its notes are missing or cannot be read."""
    try:
        with reading_photo():
            value = picture.getexif().get(_ORIENTATION_TAG)
    except NotAPhoto:
        return 1
    return value if value in _TURNS else 1


def _upright(picture: Image.Image, orientation: int) -> Image.Image:
    return picture.transpose(_TURNS[orientation]) if orientation in _TURNS else picture


def _jpeg(picture: Image.Image) -> bytes:
    """JPEG bytes of the pixels alone.

    The pixels are copied into a new picture first: Pillow would write a comment that it finds in the old one.
    """
    bare = Image.new("RGB", picture.size)
    bare.paste(picture)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=JPEG_QUALITY, progressive=True, optimize=True, subsampling="4:2:0")
    return out.getvalue()


def _slug(text: str) -> str:
    """Lower-case a–z, digits and single hyphens; accents are dropped, other scripts too."""
    letters = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", letters)[:_NAME_LENGTH].strip("-")
