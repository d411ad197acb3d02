"""A photo to be handed over: every pixel as it is stored, and nothing else that the camera wrote.

In: the bytes of a photo as it lies in the repository. Out: the bytes that leave the crew, and the ending of their name.

A JPEG keeps the segments that its picture is made of, byte for byte; of its notes it gets back which way is up, and of
its colour profile the figures. What stands behind the picture (a second one, a film) goes. PNG and WebP are set anew,
as a PNG of the pixels in sRGB, upright.
"""

import io
import re
import struct
from collections.abc import Iterator
from typing import Final

from PIL import Image

from ..records.photo_header import open_photo, photo_facts
from ..records.photo_pixels import jpeg_bytes, orientation_of, upright_picture

# ITU-T T.81, table B.1
_START: Final = b"\xff\xd8"
_END: Final = 0xD9
_SCAN: Final = 0xDA
_PICTURE: Final = frozenset((*range(0xC0, 0xD0), *range(0xDA, 0xE0)))  # frames, tables, scans, intervals, expansion
_JFIF, _EXIF, _ICC, _ADOBE = 0xE0, 0xE1, 0xE2, 0xEE
_NEXT_MARKER: Final = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")  # within a scan: no stuffed byte, no restart, no filling
# JFIF (ECMA TR/98), 10.1: identifier, version, units, densities; behind them a small picture that may be left out
_JFIF_LENGTH: Final = 12
_ADOBE_LENGTH: Final = 12  # Adobe TN 5116, 18: identifier, version, flags, transform
_MOST_IN_SEGMENT: Final = 65_519  # bytes of a profile: 65 533 without the 14 of its head (ICC.1, B.4)
_AGAIN: Final = 95  # quality of a JPEG whose segments cannot be told apart, on the JPEG library's scale

# ICC.1:2022, 9.2 and 10: tags that hold figures alone, in types that hold nothing else
_TAGS: Final = frozenset(
    (
        *(b"rXYZ", b"gXYZ", b"bXYZ", b"wtpt", b"bkpt", b"chad", b"rTRC", b"gTRC", b"bTRC", b"kTRC"),
        *(b"A2B0", b"A2B1", b"A2B2", b"B2A0", b"B2A1", b"B2A2"),
    )
)
_TYPES: Final = frozenset((b"XYZ ", b"sf32", b"curv", b"para", b"mft1", b"mft2", b"mAB ", b"mBA "))
_HEADER: Final = 128  # bytes; of it, what the colours need: version to connection space, signature, intent, illuminant
_HEADER_KEPT: Final = (slice(8, 24), slice(36, 40), slice(64, 80))
_A_DAY: Final = struct.pack(">6H", 2000, 1, 1, 0, 0, 0)  # a profile must bear a date; this one says nothing


def bare_photo(data: bytes) -> tuple[bytes, str]:
    """The photo without its notes, and `.jpg` or `.png`. Raises NotAPhoto for what cannot be shown."""
    facts = photo_facts(data)
    side = max(facts.width, facts.height)
    if facts.format != "JPEG":
        return _png(upright_picture(data, side)), ".png"
    try:
        return _bare_jpeg(data), ".jpg"
    except IndexError:
        return jpeg_bytes(upright_picture(data, side), _AGAIN), ".jpg"


def _png(picture: Image.Image) -> bytes:
    bare, out = Image.new("RGB", picture.size), io.BytesIO()
    bare.paste(picture)
    bare.save(out, "PNG", optimize=False, compress_level=6)
    return out.getvalue()


def _bare_jpeg(data: bytes) -> bytes:
    """The JPEG with the segments of its picture. IndexError where they cannot be told apart."""
    picture = open_photo(data)
    turn, profile = orientation_of(picture), picture.info.get("icc_profile")
    parts = list(_parts(data))
    jfif = [_segment(_JFIF, body[:_JFIF_LENGTH] + b"\0\0") for marker, body, _ in parts if _is_jfif(marker, body)]
    own = [_segment(marker, body) + scan for marker, body, scan in parts if marker in _PICTURE]
    adobe = [
        _segment(_ADOBE, body[:_ADOBE_LENGTH])
        for marker, body, _ in parts
        if marker == _ADOBE and body.startswith(b"Adobe") and len(body) >= _ADOBE_LENGTH
    ]
    notes = [_segment(_EXIF, _only_orientation(turn))] if turn != 1 else []
    colours = bare_profile(profile) if isinstance(profile, bytes) else None
    notes += _profile_segments(colours) if colours else []
    return b"".join([_START, *jfif[:1], *notes, *adobe[:1], *own, bytes((0xFF, _END))])


def _is_jfif(marker: int, body: bytes) -> bool:
    return marker == _JFIF and body.startswith(b"JFIF\0") and len(body) >= _JFIF_LENGTH


def _parts(data: bytes) -> Iterator[tuple[int, bytes, bytes]]:
    """(marker, content, scan) of every segment up to the picture's end; the scan stands behind its header."""
    at = len(_START)
    while True:
        if data[at] != 0xFF:
            raise IndexError("no marker where one is due")
        while data[at] == 0xFF:
            at += 1
        marker, at = data[at], at + 1
        if marker == _END:
            return
        length = int.from_bytes(data[at : at + 2], "big")
        body = data[at + 2 : at + length]
        if length < 2 or len(body) != length - 2:
            raise IndexError("a segment is cut short")
        at += length
        scan = b""
        if marker == _SCAN:
            found = _NEXT_MARKER.search(data, at)
            if found is None:
                raise IndexError("a scan does not end")
            scan, at = data[at : found.start()], found.start()
        yield marker, body, scan


def _segment(marker: int, body: bytes) -> bytes:
    return bytes((0xFF, marker)) + (len(body) + 2).to_bytes(2, "big") + body


def _only_orientation(turn: int) -> bytes:
    """Exif (CIPA DC-008) with one entry: tag 0x0112, one short."""
    return b"Exif\0\0MM\0*" + struct.pack(">IHHHIHHI", 8, 1, 0x0112, 3, 1, turn, 0, 0)


def bare_profile(profile: bytes) -> bytes | None:
    """A colour profile's figures without its words: who made it, when, for which camera. None where it is damaged."""
    try:
        tags = dict(_tags(profile))
    except struct.error:
        return None
    kept = {name: data for name, data in tags.items() if name in _TAGS and data[:4] in _TYPES}
    if not kept or profile[36:40] != b"acsp":
        return None
    table, body, at = struct.pack(">I", len(kept)), b"", _HEADER + 4 + 12 * len(kept)
    for name, data in sorted(kept.items()):
        table += struct.pack(">4sII", name, at + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    head = bytearray(_HEADER)
    for part in _HEADER_KEPT:
        head[part] = profile[part]
    head[:4] = struct.pack(">I", at + len(body))
    head[24:36] = _A_DAY
    return bytes(head) + table + body


def _tags(profile: bytes) -> Iterator[tuple[bytes, bytes]]:
    (count,) = struct.unpack_from(">I", profile, _HEADER)
    for number in range(min(count, len(profile) // 12)):
        name, offset, size = struct.unpack_from(">4sII", profile, _HEADER + 4 + 12 * number)
        yield name, profile[offset : offset + size]


def _profile_segments(profile: bytes) -> list[bytes]:
    pieces = [profile[at : at + _MOST_IN_SEGMENT] for at in range(0, len(profile), _MOST_IN_SEGMENT)]
    return [
        _segment(_ICC, b"ICC_PROFILE\0" + bytes((number, len(pieces))) + piece)
        for number, piece in enumerate(pieces, 1)
    ]
