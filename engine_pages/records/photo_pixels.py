"""A photo's pixels as they are to be seen: upright, in sRGB, shrunk, with nothing of the camera's notes left.

In: the bytes of a photo. Out: a picture, or the bytes of a JPEG. Nothing is read from or written to disk here.
"""

import io
from functools import cache
from typing import Final

import numpy as np
from PIL import Image, ImageCms

from .photo_header import NotAPhoto, open_photo, reading_photo

# Exif (CIPA DC-008), tag 0x0112: how the stored picture is to be turned or mirrored before it stands upright.
ORIENTATION_TAG: Final = 0x0112
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


def upright_picture(data: bytes, side: int) -> Image.Image:
    """A photo, shrunk to fit a square of this side in pixels, upright, RGB in sRGB. Raises NotAPhoto.

    data: a JPEG, PNG or WebP; of a moving picture the first frame is taken. A photo smaller than the side is never
    enlarged. Transparent parts become white. A colour profile that is damaged, or meant for other channels, is passed
    over, as browsers do; without a profile the pixels are taken as sRGB.
    """
    picture = open_photo(data)
    with reading_photo():
        stored = _decoded(picture, side)
    # Turning comes last: the small picture is turned in a fraction of the time.
    return _upright(_in_srgb(stored, picture.info.get("icc_profile")), orientation_of(picture))


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
    return shrunk(_plain_channels(picture), size, drafted[1] if drafted else None)


def shrunk(
    picture: Image.Image, size: tuple[int, int], box: tuple[int, int, float, float] | None = None
) -> Image.Image:
    """The picture resampled to the size; `reducing_gap` averages whole blocks first where the step is large."""
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


def orientation_of(picture: Image.Image) -> int:
    """The camera's orientation, 1 to 8; 1, upright, where its notes are missing or cannot be read."""
    try:
        with reading_photo():
            value = picture.getexif().get(ORIENTATION_TAG)
    except NotAPhoto:
        return 1
    return value if value in _TURNS else 1


def _upright(picture: Image.Image, orientation: int) -> Image.Image:
    return picture.transpose(_TURNS[orientation]) if orientation in _TURNS else picture


def jpeg_bytes(picture: Image.Image, quality: int) -> bytes:
    """JPEG bytes of the pixels alone; `quality` on the JPEG library's scale, 1 to 95.

    The pixels are copied into a new picture first: Pillow would write a comment that it finds in the old one.
    """
    bare = Image.new("RGB", picture.size)
    bare.paste(picture)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=quality, progressive=True, optimize=True, subsampling="4:2:0")
    return out.getvalue()
