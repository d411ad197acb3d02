"""What leaves the shop as a picture: upright, in sRGB, in two sizes, and silent about where it was taken."""

import doctest
import io
import struct
from functools import cache

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageOps

from engine_pages.pages import photos
from engine_pages.pages.photos import fit_inside, publish_photo

SECRET = b"INVENTED OWNER"

# ITU-T T.81 (JPEG), table B.1: the markers a progressive JPEG needs, and APP0, which JFIF (ITU-T T.871) fills.
SOI, EOI, SOS, DQT, DHT, SOF2, APP0 = 0xD8, 0xD9, 0xDA, 0xDB, 0xC4, 0xC2, 0xE0
NEEDED = {SOI, EOI, SOS, DQT, DHT, SOF2, APP0}
BARE_JFIF = b"JFIF\0\x01\x01\0\0\x01\0\x01\0\0"  # version 1.1, no unit, pixels square, no thumbnail


def segments(jpeg: bytes) -> list[tuple[int, bytes]]:
    """Marker and payload of every segment, in order; the compressed pixels between are passed over."""
    found, place = [], 0
    while place < len(jpeg):
        assert jpeg[place] == 0xFF, f"no marker at byte {place}"
        marker, place = jpeg[place + 1], place + 2
        if marker in (SOI, EOI):
            found.append((marker, b""))
            continue
        length = int.from_bytes(jpeg[place : place + 2], "big")
        found.append((marker, jpeg[place + 2 : place + length]))
        place += length
        if marker == SOS:
            while jpeg[place] != 0xFF or jpeg[place + 1] == 0 or 0xD0 <= jpeg[place + 1] <= 0xD7:
                place += 1
    return found


def with_segment(jpeg: bytes, marker: int, payload: bytes) -> bytes:
    """The JPEG with one more segment, straight after its start."""
    return jpeg[:2] + bytes((0xFF, marker)) + (len(payload) + 2).to_bytes(2, "big") + payload + jpeg[2:]


def saved(picture: Image.Image, file_format: str, **options: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, file_format, **options)
    return out.getvalue()


def pixels(jpeg: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB")).astype(int)


def camera_notes(orientation: int) -> Image.Exif:
    notes = Image.Exif()
    notes[0x0112] = orientation
    notes[0x010F] = SECRET.decode()  # maker
    place = notes.get_ifd(0x8825)  # GPS
    place[1], place[2] = "N", (12.0, 34.0, 56.0)
    place[3], place[4] = "W", (65.0, 43.0, 21.0)
    place[29] = SECRET.decode()
    return notes


def quarters(size: tuple[int, int] = (96, 64)) -> Image.Image:
    """Red, green over blue, yellow: no turning or mirroring looks like another."""
    width, height = size
    picture = Image.new("RGB", size, (220, 30, 30))
    picture.paste((30, 200, 30), (width // 2, 0, width, height // 2))
    picture.paste((30, 30, 220), (0, height // 2, width // 2, height))
    picture.paste((220, 220, 30), (width // 2, height // 2, width, height))
    return picture


def corners(picture: np.ndarray) -> list[list[int]]:
    """Mean colours in the middle of the four quarters: top left, top right, bottom left, bottom right."""
    high, wide = picture.shape[0] // 4, picture.shape[1] // 4
    spots = [(high, wide), (high, 3 * wide), (3 * high, wide), (3 * high, 3 * wide)]
    return [
        picture[row - 3 : row + 3, col - 3 : col + 3].mean(axis=(0, 1)).round().astype(int).tolist()
        for row, col in spots
    ]


UPRIGHT = [[220, 30, 30], [30, 200, 30], [30, 30, 220], [220, 220, 30]]


def assert_upright(jpeg: bytes) -> None:
    np.testing.assert_allclose(corners(pixels(jpeg)), UPRIGHT, atol=6)


@cache
def camera_jpeg() -> bytes:
    """A 12-megapixel JPEG as a phone makes it, held sideways: all the notes that a camera or a program can leave."""
    clouds = np.random.default_rng(1).integers(0, 255, (15, 20, 3), dtype=np.uint8)
    seen = Image.fromarray(clouds).resize((3000, 4000), Image.Resampling.BICUBIC)
    stored = seen.transpose(Image.Transpose.ROTATE_90)
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    xmp = b"<owner>" + SECRET + b"</owner>"
    jpeg = saved(
        stored, "JPEG", quality=92, exif=camera_notes(6), icc_profile=profile, comment=SECRET, xmp=xmp, dpi=(72, 72)
    )
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\0\0" + struct.pack(">I", 5 + len(SECRET))  # as IPTC begins
    iptc += b"\x1c\x02\x74" + struct.pack(">H", len(SECRET)) + SECRET
    jpeg = with_segment(jpeg, 0xED, iptc)
    thumbnail = saved(Image.new("RGB", (16, 12)), "JPEG", comment=SECRET)
    jpeg = with_segment(jpeg, APP0, b"JFXX\0\x10" + thumbnail)
    return jpeg + b"\nkept behind the end: " + SECRET


def test_the_camera_jpeg_of_these_tests_says_everything_that_must_not_be_published():
    picture = Image.open(io.BytesIO(camera_jpeg()))
    assert picture.size == (4000, 3000)
    assert picture.getexif()[0x0112] == 6
    assert picture.getexif().get_ifd(0x8825)[2] == (12.0, 34.0, 56.0)
    assert {"icc_profile", "comment", "xmp", "photoshop"} <= picture.info.keys()
    assert {0xE1, 0xE2, 0xED, 0xFE} <= {marker for marker, _ in segments(camera_jpeg().partition(b"\nkept")[0])}
    assert camera_jpeg().count(SECRET) >= 6


def test_a_twelve_megapixel_photo_is_published_upright_in_two_sizes():
    photo = publish_photo(camera_jpeg(), "rb2-loaded.jpg")
    assert photo.large_size == (1200, 1600)
    assert photo.small_size == (360, 480)
    assert Image.open(io.BytesIO(photo.large)).size == photo.large_size
    assert Image.open(io.BytesIO(photo.small)).size == photo.small_size


def test_the_quick_way_of_shrinking_shows_the_same_picture_as_the_plain_one():
    plain = ImageOps.exif_transpose(Image.open(io.BytesIO(camera_jpeg())))
    photo = publish_photo(camera_jpeg(), "rb2-loaded.jpg")
    for jpeg, size in ((photo.large, photo.large_size), (photo.small, photo.small_size)):
        expected = np.asarray(plain.resize(size, Image.Resampling.LANCZOS)).astype(int)
        assert np.abs(pixels(jpeg) - expected).mean() < 2  # levels of 255; JPEG at this quality costs as much


def test_nothing_but_what_a_picture_needs_is_left_in_a_published_jpeg():
    photo = publish_photo(camera_jpeg(), "rb2-loaded.jpg")
    for jpeg in (photo.large, photo.small):
        found = segments(jpeg)
        assert {marker for marker, _ in found} == NEEDED
        assert [payload for marker, payload in found if marker == APP0] == [BARE_JFIF]
        assert found[-1] == (EOI, b"")
        assert sum(marker == SOS for marker, _ in found) > 1  # progressive: several scans
        assert SECRET not in jpeg
        assert b"Exif" not in jpeg


def test_a_comment_in_a_photo_that_needs_no_change_is_gone_too():
    photo = publish_photo(saved(quarters(), "JPEG", comment=SECRET), "stand")
    assert {marker for marker, _ in segments(photo.large)} == NEEDED
    assert SECRET not in photo.large + photo.small


@pytest.mark.parametrize("file_format", ["PNG", "WEBP"])
def test_notes_in_other_formats_are_gone_too(file_format: str):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    data = saved(
        quarters(), file_format, exif=camera_notes(1), icc_profile=profile, xmp=b"<x>" + SECRET + b"</x>", lossless=True
    )
    assert SECRET in data
    photo = publish_photo(data, "stand")
    assert {marker for marker, _ in segments(photo.large)} == NEEDED
    assert SECRET not in photo.large + photo.small


def test_the_same_photo_gives_the_same_bytes():
    assert publish_photo(camera_jpeg(), "a") == publish_photo(camera_jpeg(), "b")


# CIPA DC-008 (Exif 2.3), 4.6.4, Orientation: which visual side the stored row 0 and column 0 are. From memory.
STORED_AS = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}


def stored_as(upright: Image.Image, orientation: int) -> Image.Image:
    row, column = STORED_AS[orientation]
    array = np.asarray(upright)
    if row in ("left", "right"):
        array = array.swapaxes(0, 1)
    if row in ("bottom", "right"):
        array = array[::-1]
    if column in ("bottom", "right"):
        array = array[:, ::-1]
    return Image.fromarray(np.ascontiguousarray(array))


@pytest.mark.parametrize("file_format", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_stands_upright_against_the_exif_standard(orientation: int, file_format: str):
    stored = stored_as(quarters(), orientation)
    photo = publish_photo(saved(stored, file_format, exif=camera_notes(orientation)), "stand")
    assert photo.large_size == (96, 64)
    assert_upright(photo.large)
    assert_upright(photo.small)


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_an_orientation_that_does_not_exist_leaves_the_photo_as_stored(orientation: int):
    photo = publish_photo(saved(quarters(), "JPEG", exif=camera_notes(orientation)), "stand")
    assert_upright(photo.large)


def test_damaged_camera_notes_do_not_hold_up_a_photo():
    data = with_segment(saved(quarters(), "JPEG"), 0xE1, b"Exif\0\0MM\0*\0\0\0\x08\xff\xff\x01\x12\0\x03")
    assert_upright(publish_photo(data, "stand").large)


# Colour


def wide_profile() -> bytes:
    """An ICC version 2 profile: primaries of Rec. ITU-R BT.2020 brought to D50 (Bradford), gamma 2.2."""
    colorants = {
        b"rXYZ": (0.67348, 0.27904, -0.00193),
        b"gXYZ": (0.16567, 0.67534, 0.02998),
        b"bXYZ": (0.12505, 0.04561, 0.79685),
        b"wtpt": (0.9642, 1.0, 0.8249),
    }
    tags = {
        name: b"XYZ \0\0\0\0" + b"".join(struct.pack(">i", round(value * 65536)) for value in xyz)
        for name, xyz in colorants.items()
    }
    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(2.2 * 256)) + b"\0\0"
    tags |= dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve)
    text = b"made up for a test\0"
    tags[b"desc"] = b"desc\0\0\0\0" + struct.pack(">I", len(text)) + text + bytes(79)
    tags[b"cprt"] = b"text\0\0\0\0" + text
    table, body = struct.pack(">I", len(tags)), b""
    for name, data in tags.items():
        data += bytes(-len(data) % 4)
        table += name + struct.pack(">II", 128 + 4 + 12 * len(tags) + len(body), len(data))
        body += data
    head = bytearray(128)
    head[8:12], head[12:16], head[16:20], head[20:24] = b"\x02\x40\0\0", b"mntr", b"RGB ", b"XYZ "
    head[36:40], head[68:80] = b"acsp", struct.pack(">iii", 63190, 65536, 54061)
    head[0:4] = struct.pack(">I", 128 + len(table) + len(body))
    return bytes(head) + table + body


# Rec. ITU-R BT.2087-0: linear BT.709 (whose primaries are sRGB's) to linear BT.2020. From memory, and reproduced from
# the two recommendations' primaries.
TO_WIDE = np.array([[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]])


def linear(srgb: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1: sRGB levels, 0–255, to linear light, 0–1."""
    level = srgb / 255
    return np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize("colour", [(200, 40, 40), (40, 160, 60), (60, 80, 190), (128, 128, 128), (205, 150, 90)])
@pytest.mark.parametrize("file_format", ["JPEG", "PNG", "WEBP"])
def test_a_wide_colour_profile_is_turned_into_srgb_against_bt_2087(colour: tuple[int, int, int], file_format: str):
    wide = tuple(int(level) for level in (255 * (TO_WIDE @ linear(np.array(colour))) ** (1 / 2.2)).round())
    assert colour[0] == colour[1] or np.abs(np.subtract(wide, colour)).max() > 10  # unconverted, it would show
    flat = Image.new("RGB", (64, 48), wide)
    data = saved(flat, file_format, icc_profile=wide_profile(), quality=95)
    shown = pixels(publish_photo(data, "bearing").large).mean(axis=(0, 1))
    np.testing.assert_allclose(shown, colour, atol=4)  # levels of 255: two roundings and two compressions


@pytest.mark.parametrize("profile", [b"no profile", wide_profile()[:200], b"\xff" * 400])
def test_a_damaged_profile_is_passed_over(profile: bytes):
    assert_upright(publish_photo(saved(quarters(), "JPEG", icc_profile=profile), "stand").large)


def test_a_profile_for_other_channels_is_passed_over():
    grey = saved(Image.new("L", (64, 48), 90), "JPEG", icc_profile=wide_profile())
    assert np.abs(pixels(publish_photo(grey, "stand").large) - 90).max() <= 1


def test_a_print_shops_cmyk_photo_becomes_rgb():
    data = saved(quarters().convert("CMYK"), "JPEG", quality=95)
    np.testing.assert_allclose(corners(pixels(publish_photo(data, "stand").large)), UPRIGHT, atol=8)


def test_sixteen_bit_grey_keeps_its_tones():
    ramp = (np.arange(256, dtype=np.uint16) * 256 + 99)[None, :].repeat(64, axis=0)
    shown = pixels(publish_photo(saved(Image.fromarray(ramp), "PNG"), "crack").large)
    np.testing.assert_allclose(shown[32, 8:-8, 0], np.arange(8, 248), atol=3)


def test_a_palette_is_resampled_as_colours_not_as_numbers():
    photo = publish_photo(saved(quarters((2000, 1400)).quantize(4), "PNG"), "stand")
    assert photo.large_size == (1600, 1120)
    np.testing.assert_allclose(corners(pixels(photo.large)), UPRIGHT, atol=6)


def test_black_and_white_is_shrunk_to_greys():
    stripes = Image.fromarray(np.tile(np.array([[0, 255]], dtype=np.uint8), (2000, 1000))).convert("1")
    shown = pixels(publish_photo(saved(stripes, "PNG"), "comb").small)
    assert 100 < shown.mean() < 155
    assert shown.std() < 30


@pytest.mark.parametrize("mode", ["RGBA", "LA", "P"])
def test_what_is_transparent_becomes_white_and_what_lies_beneath_is_gone(mode: str):
    hidden = Image.new("RGBA", (64, 48), (0, 0, 0, 0))
    hidden.paste((90, 90, 90, 255), (0, 0, 32, 48))
    picture = hidden.convert("LA") if mode == "LA" else hidden
    data = saved(picture.quantize(4) if mode == "P" else picture, "PNG")
    shown = pixels(publish_photo(data, "logo").large)
    assert np.abs(shown[:, :24] - 90).max() <= 3
    assert shown[:, 40:].min() >= 252


def test_a_colour_that_a_png_declares_transparent_becomes_white():
    picture = Image.new("RGB", (64, 48), (0, 255, 0))
    shown = pixels(publish_photo(saved(picture, "PNG", transparency=(0, 255, 0)), "stand").large)
    assert shown.min() >= 252


def test_of_a_moving_picture_the_first_frame_is_published():
    data = saved(quarters(), "WEBP", save_all=True, append_images=[Image.new("RGB", (96, 64))], duration=100)
    assert_upright(publish_photo(data, "stand").large)


def test_of_a_phones_double_jpeg_the_first_picture_is_published():
    data = saved(quarters(), "MPO", save_all=True, append_images=[Image.new("RGB", (96, 64))])
    photo = publish_photo(data, "stand")
    assert_upright(photo.large)
    assert {marker for marker, _ in segments(photo.large)} == NEEDED


# Sizes


def test_a_small_photo_is_never_enlarged():
    photo = publish_photo(saved(quarters((320, 200)), "JPEG"), "stand")
    assert photo.large_size == photo.small_size == (320, 200)


@pytest.mark.parametrize(
    ("size", "side", "expected"),
    [
        ((4000, 3000), 1600, (1600, 1200)),
        ((3000, 4000), 480, (360, 480)),
        ((1600, 1600), 1600, (1600, 1600)),
        ((1601, 900), 1600, (1600, 899)),
        ((30000, 4), 1600, (1600, 1)),
        ((1, 1), 480, (1, 1)),
    ],
)
def test_a_size_keeps_the_proportions(size: tuple[int, int], side: int, expected: tuple[int, int]):
    assert fit_inside(size, side) == expected


@pytest.mark.parametrize("size", [(3201, 2399), (1599, 1201), (12801, 64), (5, 2000)])
def test_odd_sizes_come_out_in_proportion(size: tuple[int, int]):
    photo = publish_photo(saved(quarters(size), "JPEG"), "stand")
    assert photo.large_size == fit_inside(size, 1600)
    assert max(photo.small_size) <= 480


def test_the_examples_of_the_module_run():
    assert doctest.testmod(photos).failed == 0
