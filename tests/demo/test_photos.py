"""The demo's photos: drawn the same every time, wear that grows in its place, and files as a camera leaves them."""

from __future__ import annotations

import io
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageCms, ImageOps
from PIL.ExifTags import GPS, IFD, Base

from engine_pages.demo.draw import SUBJECTS, draw_photo, subject_of
from engine_pages.demo.metal import uniform
from engine_pages.demo.photos import LARGEST_BYTES, main, srgb_profile, write_photos, written
from engine_pages.demo.shot_list import Shot, moment, shots_of
from engine_pages.demo.subjects_housing import ECCENTRICITY, trochoid
from engine_pages.demo.subjects_rotary import APEX_ANGLES, rotor_outline
from engine_pages.demo.wording import seen

SMALL = (320, 240)

FAMILY = """
family: two-rotor
architecture: rotary
positions:
  rotor-bearing-1: rotor-bearing
  apex-seals-1: {kind: apex-seal, names: [a1, a2, a3]}
  oil-pump: oil-pump
  engine: assembled
kinds:
  rotor-bearing: {}
  assembled: {whole: yes}
"""
BUILD = """
engine: X-01
date: 2025-02-20
photos: [{file: stand.jpg, view: front, taken: 2025-02-20 16:20}]
positions:
  rotor-bearing-1: {part: 0042}
  apex-seals-1: {part: {a1: AS-31, a2: AS-32, a3: AS-33}}
  oil-pump:
"""
TEARDOWN = """
engine: X-01
date: 2026-10-12
sheet: T-0007
positions:
  rotor-bearing-1:
    observed: {overlay: 3, scoring: 1}
    photos:
      - {file: rb.jpg, view: loaded side, caption: "Through on about 15 %, two lines", taken: 2026-10-12 17:05}
    decision: reuse
  apex-seals-1:
    observed: {chipping: {a1: 0, a2: 1, a3: 0}}
    photos: [{file: seals.jpg, view: set}]
  oil-pump:
    photos: [{file: pump.jpg, view: cover off}]
  engine:
    observed: {filter_metal: 2}
    photos: [{file: filter.jpg, view: oil filter, caption: Eleven flakes in the pleats}]
"""


def a_shop(root: Path) -> Path:
    files = {
        "families/two-rotor.yml": FAMILY,
        "engines/X-01/engine.yml": "engine: X-01\nfamily: two-rotor\npicture: x-01.jpg\n",
        "engines/X-01/builds/2025-02-20.yml": BUILD,
        "engines/X-01/teardowns/2026-10-12/teardown.yml": TEARDOWN,
    }
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return root


def a_bearing(overlay: int, grain: str = "one") -> Image.Image:
    return draw_photo("rotor-bearing", "loaded side", {"overlay": overlay}, "RB-1042", "RB-1042", SMALL, grain)


def copper(picture: Image.Image) -> NDArray[np.bool_]:
    """Where the bearing in the picture is copper-coloured; the card and the strip lie below the rows looked at."""
    red, green, blue = np.moveaxis(np.asarray(picture, dtype=int)[36:202], 2, 0)
    return (red - blue > 34) & (red > green + 16)


def a_shot(number: int = 0) -> Shot:
    return Shot(
        Path("rb.jpg"), "rotor-bearing", "loaded side", {}, "RB-1", "RB-1", "g", moment("2026-10-12 17:05"), number
    )


def test_the_same_record_gives_the_same_pixels() -> None:
    assert a_bearing(3).tobytes() == a_bearing(3).tobytes()


def test_two_photos_of_one_state_differ_in_grain_alone() -> None:
    difference = np.asarray(ImageChops.difference(a_bearing(3, "June"), a_bearing(3, "October")))
    assert 0 < difference.max() <= 5


@pytest.mark.parametrize(
    ("grade", "least", "most"), [(0, 0, 0), (1, 0, 0), (2, 0.01, 0.10), (3, 0.10, 0.50), (4, 0.40, 1)]
)
def test_copper_shows_on_the_share_of_the_area_that_the_grade_names(grade: int, least: float, most: float) -> None:
    # The shares are those of the demo shop's grading sheet: under 10 %, 10 to 50 %, lining or steel on over half (some
    # of that is steel and not copper-coloured). To tie a grade to a share is common practice; no standard fixes these.
    assert least <= copper(a_bearing(grade)).mean() <= most


def test_the_copper_of_one_teardown_lies_inside_the_copper_of_the_next() -> None:
    earlier, later = copper(a_bearing(2)), copper(a_bearing(3))
    assert later.sum() > 2 * earlier.sum()
    assert (earlier & later).sum() >= 0.98 * earlier.sum()


def test_a_share_that_the_sheet_states_goes_before_the_grade() -> None:
    stated = [
        copper(draw_photo("rotor-bearing", "", {"overlay": 3, "overlay %": share}, "RB-1", "RB-1", SMALL)).mean()
        for share in (15, 40)
    ]
    assert stated == pytest.approx([0.15, 0.40], abs=0.05)


def test_another_serial_wears_in_another_place() -> None:
    other = draw_photo("rotor-bearing", "loaded side", {"overlay": 3}, "RB-1042", "RB-1077", SMALL, "one")
    both = copper(a_bearing(3)) & copper(other)
    assert both.sum() < 0.9 * copper(other).sum()


def test_the_label_changes_nothing_but_the_card() -> None:
    one, two = (draw_photo("piston", "crown", {}, label, "P-1", SMALL) for label in ("P-31", "P-32"))
    left, top, _, _ = ImageChops.difference(one, two).getbbox() or (0, 0, 0, 0)
    assert left > 0.75 * SMALL[0]
    assert top > 0.80 * SMALL[1]


@pytest.mark.parametrize("grade", [0, 4])
def test_every_subject_can_be_drawn_clean_and_spoilt(grade: int) -> None:
    marks = ("overlay", "scoring", "embedment", "corrosion", "deposit", "chipping", "chatter", "flaking", "wear_step")
    marks += ("discolour", "polish", "scuffing", "pitting", "crack", "contact", "flecks", "tooth_wear", "other")
    for kinds, views, subject in SUBJECTS:
        kind, view = (kinds or ("",))[0], (views or ("",))[0]
        picture = draw_photo(kind, view, dict.fromkeys(marks, grade), "L", "s", (96, 72))
        assert np.asarray(picture).std() > 8, subject.__name__


def test_an_unknown_kind_is_drawn_as_a_plain_machined_part() -> None:
    assert subject_of("dry sump scavenge stage", "inside").__name__ == "machined_part"


def test_the_rotor_fits_its_housing_against_the_trochoid_equation() -> None:
    # The housing's curve is x = e cos 3a + R cos a, y = e sin 3a + R sin a; the rotor's centre stands at
    # e (cos 3a, sin 3a) and an apex at R from it in the direction a (rotary engine textbooks; written from memory). So
    # all three apexes touch the housing at every shaft angle, and no point of the rotor reaches beyond it.
    flank = [(x, y) for x in np.linspace(-1, 1, 61) for y in np.linspace(-1, 1, 61)]
    points = np.array(flank, dtype=np.float32)
    rotor = points[rotor_outline(points[:, 0], points[:, 1]) <= 0]
    for shaft in np.linspace(0, 2 * math.pi, 25):
        centre = ECCENTRICITY * np.array([math.cos(3 * shaft), math.sin(3 * shaft)])
        for apex in APEX_ANGLES:
            turn = shaft + apex - APEX_ANGLES[0]
            touch = centre + np.array([math.cos(turn), math.sin(turn)])
            assert abs(float(trochoid(np.array([touch[0]]), np.array([touch[1]]))[0])) < 1e-4
        turn = shaft - APEX_ANGLES[0]
        turned = rotor @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]) + centre
        assert trochoid(turned[:, 0], turned[:, 1]).max() < 0.01


def test_a_sheets_first_photo_is_stored_turned_and_its_orientation_sets_it_upright() -> None:
    upright = a_bearing(2)
    stored = Image.open(io.BytesIO(written(a_shot(), upright)))
    assert stored.getexif()[Base.Orientation] == 6
    assert stored.size == (SMALL[1], SMALL[0])
    shown = ImageOps.exif_transpose(stored)
    assert np.abs(np.asarray(shown, dtype=int) - np.asarray(upright, dtype=int)).mean() < 4


def test_at_least_a_third_of_any_sheets_photos_are_stored_turned() -> None:
    small = Image.new("RGB", (8, 6))
    orientations = [
        Image.open(io.BytesIO(written(a_shot(number), small))).getexif()[Base.Orientation] for number in range(30)
    ]
    for count in range(1, 31):
        assert 3 * sum(turn != 1 for turn in orientations[:count]) >= count
    assert set(orientations) == {1, 3, 6, 8}


def test_a_file_carries_place_time_and_maker_to_be_taken_out() -> None:
    exif = Image.open(io.BytesIO(written(a_shot(), a_bearing(0)))).getexif()
    assert exif[Base.Make] == "Bench Camera"
    assert exif.get_ifd(IFD.Exif)[Base.DateTimeOriginal] == "2026:10:12 17:05:00"
    place = exif.get_ifd(IFD.GPSInfo)
    assert (place[GPS.GPSLatitudeRef], place[GPS.GPSLongitudeRef]) == ("S", "W")
    assert [float(part) for part in place[GPS.GPSLatitude]][:2] == [47, 31]


def test_the_colour_profile_is_srgb_and_the_same_every_day() -> None:
    profile = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    assert "sRGB" in ImageCms.getProfileDescription(profile)
    # ICC.1, header: bytes 24 to 35 are the date and time of making, here fixed; 36 to 39 are the signature `acsp`.
    assert srgb_profile()[24:26] == (2000).to_bytes(2, "big")
    assert srgb_profile()[36:40] == b"acsp"


def test_a_busy_picture_is_stored_coarser_until_it_is_small() -> None:
    noise = (uniform("busy", 800 * 600) * 255).astype(np.uint8).reshape(600, 800)
    busy, plain = Image.fromarray(noise).convert("RGB"), io.BytesIO()
    busy.save(plain, "JPEG", quality=82, optimize=True)
    assert plain.tell() > LARGEST_BYTES
    assert len(written(a_shot(), busy)) <= LARGEST_BYTES


def test_a_caption_that_counts_is_taken_at_its_word() -> None:
    grades = seen({"filter_metal": "2"}, {}, ["Opened out, eleven flakes in the pleats"], [])
    assert grades == {"filter_metal": 2, "filter_metal #": 11}


def test_a_count_of_what_was_graded_none_is_not_drawn() -> None:
    assert seen({"scoring": "0"}, {}, ["No lines; two lines last time"], []) == {"scoring": 0}


def test_the_caption_goes_before_the_finding() -> None:
    grades = seen({"overlay": "3"}, {}, ["Through on about 40 %", "Was 15 % last time"], [])
    assert grades["overlay %"] == 40


def test_a_step_that_was_measured_is_drawn_by_its_depth() -> None:
    assert seen({}, {"seal_step": "0.033"}, [], []) == {"wear_step": 4}
    assert seen({}, {"seal_step": "0.002"}, [], []) == {"wear_step": 0}


def test_a_part_named_at_the_build_labels_its_photo_at_the_teardown(tmp_path: Path) -> None:
    shots = {shot.path.name: shot for shot in shots_of(a_shop(tmp_path))}
    assert shots["rb.jpg"].label == "0042"
    assert shots["seals.jpg"].label == "AS-31/32/33"
    assert shots["pump.jpg"].label == "OIL PUMP"
    assert shots["filter.jpg"].label == "T-0007"
    assert shots["stand.jpg"].label == "X-01"


def test_a_shot_has_the_grades_of_its_position_on_that_sheet(tmp_path: Path) -> None:
    shots = {shot.path.name: shot for shot in shots_of(a_shop(tmp_path))}
    assert shots["rb.jpg"].grades == {"overlay": 3, "scoring": 1, "overlay %": 15, "scoring #": 2}
    assert shots["seals.jpg"].grades["chipping/2"] == 1
    assert subject_of(shots["filter.jpg"].kind, shots["filter.jpg"].view).__name__ == "oil_filter"
    assert subject_of(shots["x-01.jpg"].kind, shots["x-01.jpg"].view).__name__ == "rotary_engine"


def test_the_time_is_the_photos_own_or_noon_of_the_sheets_day(tmp_path: Path) -> None:
    shots = {shot.path.name: shot for shot in shots_of(a_shop(tmp_path))}
    assert shots["rb.jpg"].taken.isoformat() == "2026-10-12T17:05:00"
    assert shots["seals.jpg"].taken.isoformat() == "2026-10-12T12:00:00"


def test_a_parts_marks_belong_to_the_part_wherever_it_is(tmp_path: Path) -> None:
    here = a_shop(tmp_path)
    moved = here / "engines/X-02/teardowns/2026-12-01/teardown.yml"
    moved.parent.mkdir(parents=True)
    (here / "engines/X-02/engine.yml").write_text("engine: X-02\nfamily: two-rotor\n", encoding="utf-8")
    photo = "photos: [{file: later.jpg, view: loaded side}]"
    moved.write_text(f"date: 2026-12-01\npositions:\n  rotor-bearing-1: {{part: 0042, {photo}}}\n", encoding="utf-8")
    shots = {shot.path.name: shot for shot in shots_of(here)}
    assert shots["later.jpg"].seed == shots["rb.jpg"].seed
    assert shots["later.jpg"].grain != shots["rb.jpg"].grain


def test_every_declared_photo_is_written_and_the_same_again(tmp_path: Path) -> None:
    shop = a_shop(tmp_path)
    first = {path: path.read_bytes() for path in write_photos(shop, (160, 120))}
    names = {str(path.relative_to(shop / "engines/X-01")) for path in first}
    folder = "teardowns/2026-10-12"
    expected = {"x-01.jpg", "builds/2025-02-20/stand.jpg"}
    assert names == expected | {f"{folder}/{name}.jpg" for name in ("rb", "seals", "pump", "filter")}
    assert {path: path.read_bytes() for path in write_photos(shop, (160, 120))} == first


def test_a_sheet_that_names_no_position_of_its_family_is_said_plainly(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = a_shop(tmp_path) / "engines/X-01/teardowns/2026-10-12/teardown.yml"
    sheet.write_text("positions: {gearbox: {photos: [{file: a.jpg, view: top}]}}\n", encoding="utf-8")
    assert main(["--records", str(tmp_path)]) == 1
    assert "gearbox" in capsys.readouterr().err
