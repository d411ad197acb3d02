"""A photo that is handed over shows every pixel as it was stored, and tells nothing of its camera."""

import io
import struct

import numpy as np
import pytest
from PIL import Image, ImageCms

from engine_pages.editions.bare_photo import bare_photo, bare_profile
from engine_pages.records.photo_header import NotAPhoto
from engine_pages.records.photo_pixels import upright_picture

WORD = "secretcamera"
SIDE = 96


def picture() -> Image.Image:
    rows = np.arange(64 * SIDE * 3, dtype=np.uint32).reshape(64, SIDE, 3)
    return Image.fromarray((rows * 37 % 251).astype(np.uint8))


def profile() -> bytes:
    """A wide-gamut profile: sRGB's with red and green exchanged, and a word in its description."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = srgb.replace(b"rXYZ", b"????", 1).replace(b"gXYZ", b"rXYZ", 1).replace(b"????", b"gXYZ", 1)
    assert "sRGB built-in".encode("utf-16-be") in swapped
    return swapped.replace("sRGB built-in".encode("utf-16-be"), WORD.ljust(13, "x").encode("utf-16-be"))


def noted(orientation: int = 1, **how: object) -> bytes:
    """A JPEG in whose Exif, comment and end a word stands."""
    out = io.BytesIO()
    exif = picture().getexif()
    exif[0x010E], exif[0x0112] = WORD, orientation
    picture().save(out, "JPEG", exif=exif, comment=WORD.encode(), **how)
    return out.getvalue() + b"\xff\xd8" + WORD.encode()


@pytest.mark.parametrize("how", [{}, {"progressive": True}, {"restart_marker_blocks": 2}, {"quality": 100}])
def test_a_jpeg_keeps_every_stored_figure_and_loses_every_note(how: dict[str, object]) -> None:
    data = noted(**how)
    assert WORD.encode() in data
    bare, ending = bare_photo(data)
    assert ending == ".jpg"
    assert WORD.encode() not in bare
    before, after = (Image.open(io.BytesIO(one)) for one in (data, bare))
    assert np.array_equal(np.asarray(before), np.asarray(after))
    assert after.info.get("comment") is None


@pytest.mark.parametrize("orientation", range(1, 9))
def test_what_stands_upright_before_stands_upright_after(orientation: int) -> None:
    data = noted(orientation)
    bare, _ = bare_photo(data)
    assert dict(Image.open(io.BytesIO(bare)).getexif()) == ({0x0112: orientation} if orientation != 1 else {})
    assert np.array_equal(np.asarray(upright_picture(data, SIDE)), np.asarray(upright_picture(bare, SIDE)))


def test_a_colour_profile_keeps_its_figures_and_loses_its_words() -> None:
    data = noted(icc_profile=profile())
    bare, _ = bare_photo(data)
    kept = Image.open(io.BytesIO(bare)).info["icc_profile"]
    assert WORD.encode("utf-16-be") not in bare
    assert {kept[132 + 12 * n : 136 + 12 * n] for n in range(struct.unpack(">I", kept[128:132])[0])} >= {
        b"rXYZ",
        b"rTRC",
    }
    assert np.array_equal(np.asarray(upright_picture(data, SIDE)), np.asarray(upright_picture(bare, SIDE)))
    assert not np.array_equal(np.asarray(upright_picture(bare, SIDE)), np.asarray(Image.open(io.BytesIO(bare))))


@pytest.mark.parametrize("damaged", [b"", b"acsp" * 40, profile()[:140], b"\0" * 200])
def test_a_damaged_colour_profile_is_passed_over(damaged: bytes) -> None:
    assert bare_profile(damaged) is None


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_png_and_webp_become_a_png_of_their_pixels(form: str) -> None:
    out = io.BytesIO()
    exif = picture().getexif()
    exif[0x010E] = WORD
    picture().save(out, form, exif=exif, lossless=True)
    assert WORD.encode() in out.getvalue()
    bare, ending = bare_photo(out.getvalue())
    assert ending == ".png"
    assert WORD.encode() not in bare
    assert np.array_equal(np.asarray(picture()), np.asarray(Image.open(io.BytesIO(bare))))


def test_a_jpeg_with_rubbish_between_its_segments_is_set_anew() -> None:
    data = noted()
    odd = data[:2] + b"\xff\xe5\x00\x04ab" + b"zz" + data[2:]
    bare, _ = bare_photo(odd)
    assert WORD.encode() not in bare
    assert Image.open(io.BytesIO(bare)).size == (SIDE, 64)


def test_what_is_no_photo_is_refused() -> None:
    with pytest.raises(NotAPhoto, match="text, not a picture"):
        bare_photo(b"a letter")
