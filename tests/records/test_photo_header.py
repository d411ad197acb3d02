"""What a check learns of a photo from its header: format, size, or why it is none."""

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from engine_pages.records.photo_header import MAX_BYTES, MAX_PIXELS, NotAPhoto, PhotoFacts, photo_facts


def saved(file_format: str, size: tuple[int, int] = (80, 60), mode: str = "RGB", **options: object) -> bytes:
    noise = np.random.default_rng(1).integers(0, 255, (size[1], size[0], 3), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(noise).convert(mode).save(out, file_format, **options)
    return out.getvalue()


def png_header(width: int, height: int) -> bytes:
    header = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + header + struct.pack(">I", zlib.crc32(header))


@pytest.mark.parametrize(("file_format", "name"), [("JPEG", "JPEG"), ("PNG", "PNG"), ("WEBP", "WebP"), ("MPO", "JPEG")])
def test_a_photo_tells_its_format_and_size(file_format: str, name: str):
    assert photo_facts(saved(file_format)) == PhotoFacts(name, 80, 60)
    photo_format, width, height = photo_facts(saved(file_format))
    assert (photo_format, width, height) == (name, 80, 60)


def test_the_size_is_the_stored_one_whatever_way_the_camera_was_held():
    notes = Image.Exif()
    notes[0x0112] = 6
    assert photo_facts(saved("JPEG", exif=notes))[1:] == (80, 60)


def test_pixels_are_not_decoded():
    """A PNG of 81 megapixels whose pixels are missing: only its header and its end are there to be read."""
    end = struct.pack(">I", 0) + b"IEND" + struct.pack(">I", zlib.crc32(b"IEND"))
    empty = struct.pack(">I", 0) + b"IDAT" + struct.pack(">I", zlib.crc32(b"IDAT"))
    assert photo_facts(png_header(9_000, 9_000) + empty + end) == PhotoFacts("PNG", 9_000, 9_000)


@pytest.mark.parametrize("side", [9_434, 9_460, 13_400, 65_000])
def test_too_many_pixels_are_refused_in_our_own_words(side: int):
    """Below Pillow's own warning, between its warning and its error, and beyond."""
    assert side * side > MAX_PIXELS
    empty = struct.pack(">I", 0) + b"IDAT" + struct.pack(">I", zlib.crc32(b"IDAT"))
    with pytest.raises(NotAPhoto, match="over 89 megapixels, the most a photo may have; save it smaller"):
        photo_facts(png_header(side, side) + empty)


def test_too_many_bytes_are_refused_before_anything_is_read():
    with pytest.raises(NotAPhoto, match=r"40\.1 MB; the most a photo may have is 40 MB"):
        photo_facts(saved("JPEG") + bytes(MAX_BYTES + 100_000 - len(saved("JPEG"))))


@pytest.mark.parametrize(
    ("start", "words"),
    [
        (b"GIF89a", "a GIF"),
        (b"BM\x36\x00", "a BMP"),
        (b"II*\0", "a TIFF or a camera's raw file"),
        (b"%PDF-1.7", "a PDF"),
        (b"\0\0\0\x18ftypheic", "a HEIC, as some phones save photos"),
        (b"\0\0\0\x18ftypavif", "an AVIF"),
        (b"\0\0\0\x18ftypmp42", "a video"),
        (b"engine: K-07\n", "text, not a picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "text, not a picture"),
        (b"\0\x01\x02\x03", "no picture that is known here"),
        (b"RIFF\x10\0\0\0WAVEfmt ", "no picture that is known here"),
    ],
)
def test_what_is_no_photo_is_called_by_its_name(start: bytes, words: str):
    with pytest.raises(NotAPhoto) as refusal:
        photo_facts(start)
    assert str(refusal.value) == f"this is {words}; a photo is JPEG, PNG or WebP"


def test_an_empty_file_is_refused():
    with pytest.raises(NotAPhoto, match="the file is empty"):
        photo_facts(b"")


@pytest.mark.parametrize("options", [{}, {"progressive": True}])
def test_a_jpeg_copied_in_part_is_found_without_decoding_it(options: dict[str, object]):
    """The thumbnail in the header ends with an end mark of its own, which must not be taken for the picture's."""
    thumbnail = b"JFXX\0\x10" + saved("JPEG", (16, 12))
    data = saved("JPEG", **options)
    data = data[:2] + b"\xff\xe0" + (len(thumbnail) + 2).to_bytes(2, "big") + thumbnail + data[2:]
    assert photo_facts(data).format == "JPEG"
    for missing in (2, 100, 1_000):
        with pytest.raises(NotAPhoto, match="cut short, its end is missing"):
            photo_facts(data[:-missing])


def test_a_png_copied_in_part_is_found_without_decoding_it():
    data = saved("PNG")
    for missing in (12, 100, 5_000):
        with pytest.raises(NotAPhoto, match="cut short, its end is missing"):
            photo_facts(data[:-missing])


def test_a_webp_copied_in_part_is_found_without_decoding_it():
    with pytest.raises(NotAPhoto, match="damaged and cannot be read"):
        photo_facts(saved("WEBP")[:-100])


def test_what_a_camera_adds_behind_the_end_does_no_harm():
    assert photo_facts(saved("JPEG") + b"\0" * 4_096).format == "JPEG"


def test_a_damaged_header_is_refused():
    with pytest.raises(NotAPhoto, match="damaged and cannot be read"):
        photo_facts(b"\xff\xd8\xff\xff" + bytes(200))


def test_damaged_camera_notes_are_no_reason_to_refuse_a_photo():
    notes = b"Exif\0\0MM\0*\0\0\0\x08\xff\xff\x01\x12\0\x03"
    data = saved("JPEG")
    data = data[:2] + b"\xff\xe1" + (len(notes) + 2).to_bytes(2, "big") + notes + data[2:]
    assert photo_facts(data) == PhotoFacts("JPEG", 80, 60)
