"""What a photo file says of itself, read from its header.

In: the bytes of a file. Out: its format, width and height in pixels, or `NotAPhoto` with the reason in plain words.
No pixel is decoded here, so a whole shop's photos are checked in seconds; what only decoding shows is found when the
photo is published.
"""

import io
import struct
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final, NamedTuple

from PIL import Image, ImageFile, UnidentifiedImageError

MAX_BYTES: Final = 40_000_000
"""Bytes of one photo file: several times a phone's full-size JPEG; a repository to be cloned offline holds no more."""

MAX_PIXELS: Final = 89_000_000
"""Pixels of one photo. Just under 89 478 485, the count from which Pillow itself suspects a decompression bomb."""

ALLOWED: Final = "JPEG, PNG or WebP"

# What Pillow raises on damaged files, found by damaging them: its readers let errors of parsing through.
_DAMAGE: Final = (OSError, SyntaxError, ValueError, TypeError, IndexError, KeyError, EOFError, struct.error, zlib.error)

_DAMAGED: Final = "the picture is damaged and cannot be read; copy it from the camera again"
_CUT_SHORT: Final = "the picture is cut short, its end is missing; copy it from the camera again"
_TOO_MANY: Final = (
    f"the picture has over {MAX_PIXELS // 1_000_000} megapixels, the most a photo may have; save it smaller"
)

# A phone's JPEG that carries a second picture calls itself MPO: its first picture is an ordinary JPEG.
_FORMATS: Final = {"JPEG": "JPEG", "MPO": "JPEG", "PNG": "PNG", "WEBP": "WebP"}

# First bytes of what people take for a photo, by each format's own specification.
_LOOKALIKES: Final = (
    (b"GIF8", "a GIF"),
    (b"BM", "a BMP"),
    (b"II*\0", "a TIFF or a camera's raw file"),
    (b"MM\0*", "a TIFF or a camera's raw file"),
    (b"%PDF", "a PDF"),
)
_HEIC_BRANDS: Final = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"})


class NotAPhoto(Exception):  # noqa: N818 — the name says what is wrong with the file
    """The bytes are no photo that can be published; the message says why, and what to do."""


class PhotoFacts(NamedTuple):
    """A photo's format (`JPEG`, `PNG`, `WebP`), and its width and height in pixels as stored, before it is turned."""

    format: str
    width: int
    height: int


def photo_facts(data: bytes) -> PhotoFacts:
    """Format, width and height of a photo, from its header alone.

    Raises `NotAPhoto` for a file that is empty, over `MAX_BYTES`, over `MAX_PIXELS`, of another format, cut short,
    or whose header is damaged. Damage within the pixels goes unnoticed.
    """
    picture = open_photo(data)
    return PhotoFacts(photo_format(picture), *picture.size)


def photo_format(picture: Image.Image) -> str:
    """`JPEG`, `PNG` or `WebP`, of a picture that `open_photo` gave."""
    return _FORMATS[picture.format or ""]


def open_photo(data: bytes) -> ImageFile.ImageFile:
    """The picture with its header read and checked, its pixels not yet decoded. Raises `NotAPhoto` as `photo_facts`."""
    _check_outside(data)
    with reading_photo():
        picture = Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP"))
        if picture.width * picture.height > MAX_PIXELS:
            raise NotAPhoto(_TOO_MANY)
        if _is_cut_short(data, picture):
            raise NotAPhoto(_CUT_SHORT)
    return picture


@contextmanager
def reading_photo() -> Iterator[None]:
    """While it lasts, what Pillow warns of or raises about a photo comes out as `NotAPhoto`."""
    with warnings.catch_warnings():
        # Damaged camera notes (EXIF and the like) are warned of; they are never published, so they do no harm.
        warnings.simplefilter("ignore", UserWarning)
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            yield
        except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
            raise NotAPhoto(_TOO_MANY) from error
        except _DAMAGE as error:
            cut = "truncated" in str(error).lower() and not isinstance(error, UnidentifiedImageError)
            raise NotAPhoto(_CUT_SHORT if cut else _DAMAGED) from error


def _check_outside(data: bytes) -> None:
    """What needs no reader: size, and the first bytes."""
    if not data:
        raise NotAPhoto("the file is empty")
    if len(data) > MAX_BYTES:
        size, most = len(data) / 1e6, MAX_BYTES / 1e6
        raise NotAPhoto(f"the file has {size:.1f} MB; the most a photo may have is {most:.0f} MB; save it smaller")
    jpeg = data.startswith(b"\xff\xd8\xff")
    png = data.startswith(b"\x89PNG\r\n\x1a\n")
    webp = data.startswith(b"RIFF") and data[8:12] == b"WEBP"
    if not (jpeg or png or webp):
        raise NotAPhoto(f"this is {_looks_like(data)}; a photo is {ALLOWED}")


def _looks_like(data: bytes) -> str:
    """What a file that is no photo seems to be, as its owner would call it."""
    if data[4:8] == b"ftyp":
        brand = data[8:12]
        if brand in _HEIC_BRANDS:
            return "a HEIC, as some phones save photos"
        return "an AVIF" if brand.startswith(b"avi") else "a video"
    for start, name in _LOOKALIKES:
        if data.startswith(start):
            return name
    head = data[:512]
    if all(byte >= 0x20 or byte in b"\t\n\r\f" for byte in head):
        return "text, not a picture"
    return "no picture that is known here"


def _is_cut_short(data: bytes, picture: ImageFile.ImageFile) -> bool:
    """Whether the mark that ends the file is missing: end of image (ITU-T T.81, B.1.1.3), or the chunk IEND of PNG.

    The thumbnail in a JPEG's header has an end mark too: only one behind the header counts. WebP states its length,
    which its reader checks.
    """
    if picture.format == "PNG":
        return data.rfind(b"IEND") < 0
    if picture.format in ("JPEG", "MPO"):
        header_ends = picture.fp.tell() if picture.format == "JPEG" and picture.fp else 0
        return data.rfind(b"\xff\xd9") < header_ends
    return False
