"""A photo as it comes from the camera: bytes in, what the repository keeps of it out.

Kept are an upright JPEG of 2,560 pixels without any of the camera's notes, the moment of taking, and the checksum of
the camera's own file, by which that file can be known again.
"""

import hashlib
import io
import re
from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import Final

from msgspec import Struct
from PIL import Image

from ..records.photo_header import NotAPhoto, open_photo, reading_photo
from ..records.photo_pixels import ORIENTATION_TAG, jpeg_bytes, upright_picture

SIDE: Final = 2560  # pixels of the longer side: a scratch on a bearing still shows at this size in 1 MB or less
QUALITY: Final = 85  # on the JPEG library's scale; it is encoded once more when it is published
ENDINGS: Final = frozenset({".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"})
HEIC_ENDINGS: Final = frozenset({".heic", ".heif"})

# Exif (CIPA DC-008): the IFD with the moment of taking, its tag, and that of the last change where it is missing.
_EXIF_IFD, _TAKEN, _CHANGED = 0x8769, 0x9003, 0x0132
_MOMENT: Final = re.compile(r"(\d{4}):(\d{2}):(\d{2}) (\d{2}):(\d{2})", re.ASCII)


class FromCamera(Struct, frozen=True):
    """What is kept of a photo: `taken` as a record writes it, None where the camera did not say; `original` likewise
    as written, the checksum of the camera's file."""

    jpeg: bytes
    taken: str | None
    original: str


def from_camera(path: Path) -> FromCamera:
    """Read a camera's file. Raises NotAPhoto with the reason in plain words; OSError where it cannot be read."""
    data = path.read_bytes()
    picture = _jpeg_of_heic(data) if path.suffix.lower() in HEIC_ENDINGS else data
    kept = jpeg_bytes(upright_picture(picture, SIDE), QUALITY)
    return FromCamera(kept, _taken(picture), original_of(data))


def original_of(data: bytes) -> str:
    """By what a camera's file can be known again, as a record writes it.

    >>> original_of(b"")[:17]
    'sha256:e3b0c44298'
    """
    return f"sha256:{hashlib.sha256(data).hexdigest()}"


def _taken(data: bytes) -> str | None:
    """The moment of taking, by the camera's clock; None where its notes are missing or cannot be read."""
    try:
        with reading_photo():
            notes = open_photo(data).getexif()
            said = (notes.get_ifd(_EXIF_IFD).get(_TAKEN), notes.get(_CHANGED))
    except NotAPhoto:
        return None
    return next((moment for one in said if (moment := _moment(str(one))) is not None), None)


def _moment(said: str) -> str | None:
    """As a record writes it; None for what no calendar has: a clock that was never set says 0000:00:00 00:00:00."""
    match = _MOMENT.match(said)
    if match is None:
        return None
    year, month, day, hour, minute = map(int, match.groups())
    try:
        return datetime(year, month, day, hour, minute).isoformat(" ", "minutes")
    except ValueError:
        return None


def _jpeg_of_heic(data: bytes) -> bytes:
    """A HEIC as a JPEG with the same notes, turned upright by its reader already."""
    try:
        heif = import_module("pillow_heif")
    except ImportError:
        raise NotAPhoto(
            "a HEIC, as some phones save photos; pip install 'engine-pages[heic]' reads it, "
            "or let the phone save photos as JPEG"
        ) from None
    with reading_photo():
        read = heif.read_heif(data)
        picture = Image.frombytes(read.mode, read.size, read.data, "raw", read.mode, read.stride)
        out = io.BytesIO()
        exif = read.info.get("exif") or b""
        picture.convert("RGB").save(out, "JPEG", quality=95, exif=_without_turn(exif))
    return out.getvalue()


def _without_turn(exif: bytes) -> bytes:
    """The notes without the orientation, which the reader has applied."""
    notes = Image.Exif()
    if exif:
        notes.load(exif)
        notes.pop(ORIENTATION_TAG, None)
    return notes.tobytes()
