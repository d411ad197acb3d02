"""What cannot be published as a photo is refused by name, in words that say what to do, whatever is wrong with it."""

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image, ImageCms

from engine_pages.pages.photos import BadPhoto, publish_photo


def saved(picture: Image.Image, file_format: str, **options: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, file_format, **options)
    return out.getvalue()


def png_claiming(width: int, height: int) -> bytes:
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    pixel_rows = zlib.compress(bytes(100_000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", pixel_rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [9_445, 9_500, 14_000, 60_000])
def test_a_picture_that_would_burst_memory_is_refused_in_plain_words(side: int):
    with pytest.raises(BadPhoto, match=r"^bomb\.png: the picture has over 89 megapixels, the most"):
        publish_photo(png_claiming(side, side), "bomb.png")


@pytest.mark.parametrize("file_format", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_a_photo_copied_in_part_is_refused(file_format: str, share: float):
    noise = Image.fromarray(np.random.default_rng(3).integers(0, 255, (60, 80, 3), dtype=np.uint8))
    data = saved(noise, file_format)
    with pytest.raises(BadPhoto, match=r"^rb2\.jpg: the picture is (cut short|damaged)"):
        publish_photo(data[: int(len(data) * share)], "rb2.jpg")


def test_a_text_file_named_jpg_is_refused():
    with pytest.raises(BadPhoto, match=r"^notes\.jpg: this is text, not a picture; a photo is JPEG, PNG or WebP$"):
        publish_photo("Überholt, 60.061 mm\n".encode(), "notes.jpg")


@pytest.mark.parametrize("file_format", ["GIF", "BMP", "TIFF", "AVIF"])
def test_another_format_is_named_and_told_what_is_allowed(file_format: str):
    with pytest.raises(BadPhoto, match=rf"this is a.? {file_format}.*; a photo is JPEG, PNG or WebP"):
        publish_photo(saved(Image.new("RGB", (96, 64)), file_format), "stand")


def test_however_a_photo_is_damaged_it_is_published_or_refused():
    """Three thousand damaged files: nothing but `BadPhoto` ever comes out."""
    rng = np.random.default_rng(4)
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    noise = Image.fromarray(rng.integers(0, 255, (20, 30, 3), dtype=np.uint8))
    notes = Image.Exif()
    notes[0x0112], notes[0x010F] = 6, "a maker"
    whole = [
        saved(noise.convert(mode), file_format, exif=notes, icc_profile=profile)
        for file_format, mode in (("JPEG", "RGB"), ("JPEG", "CMYK"), ("PNG", "RGBA"), ("PNG", "P"), ("WEBP", "RGBA"))
    ]
    outcomes = {"published": 0, "refused": 0}
    for data in whole:
        for _ in range(600):
            damaged = bytearray(data)
            for place in rng.integers(0, len(data), rng.integers(1, 4)):
                damaged[place] = rng.integers(0, 256)
            try:
                publish_photo(bytes(damaged), "stand")
                outcomes["published"] += 1
            except BadPhoto:
                outcomes["refused"] += 1
    assert min(outcomes.values()) > 100
