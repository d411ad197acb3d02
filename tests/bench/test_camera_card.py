"""What a camera's card holds, as a shop gives it: folders in folders, one name twice, nothing at all."""

from pathlib import Path

import pytest
from bench.handed import STRIP, photo, shop_in
from click.testing import CliRunner, Result

from engine_pages.cli import main

SHEET = """engine: E1
date: 2026-03-01
positions:
  rotor-1:
    part: R-1
    photos: [{file: IMG_0412.JPG, view: gear side}, {file: IMG_0413.JPG, view: face}]
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


@pytest.fixture
def sheet(shop: Path) -> Path:
    path = shop / STRIP / "teardown.yml"
    path.parent.mkdir(parents=True)
    path.write_text(SHEET, encoding="utf-8")
    return path


def card(folder: Path, *paths: str) -> Path:
    """A card with a photo at each path, each another picture."""
    for path in paths:
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(photo())
    return folder


def file(shop: Path, *arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["file", "--records", str(shop), *map(str, arguments)])


def test_photos_are_found_in_the_folders_that_a_camera_makes_on_its_card(
    shop: Path, sheet: Path, tmp_path: Path
) -> None:
    """CIPA DC-009 (DCF): photos lie in folders of DCIM named by three digits and five signs, not in DCIM itself."""
    paths = ("100CAMRA/IMG_0412.JPG", "101CAMRA/IMG_0413.JPG", ".thumbnails/IMG_0414.JPG")
    done = file(shop, sheet, card(tmp_path / "DCIM", *paths))
    assert done.exit_code == 0, done.output
    assert f"IMG_0412.JPG: {STRIP}/rotor-1-gear-side.jpg\nIMG_0413.JPG: {STRIP}/rotor-1-face.jpg\n" in done.output
    assert "IMG_0414.JPG" not in done.output


def test_one_photo_name_in_two_folders_of_a_card_is_refused_until_one_is_given(
    shop: Path, sheet: Path, tmp_path: Path
) -> None:
    paths = ("100CAMRA/IMG_0412.JPG", "101CAMRA/IMG_0412.JPG", "101CAMRA/IMG_0413.JPG")
    camera = card(tmp_path / "DCIM", *paths)
    done = file(shop, sheet, camera)
    assert done.exit_code == 1
    assert f"{camera / paths[0]} and {camera / paths[1]} have one name; give the one that is meant" in done.output
    assert sheet.read_text(encoding="utf-8") == SHEET
    assert file(shop, sheet, camera, camera / paths[1]).exit_code == 0


def test_a_folder_without_a_photo_is_not_answered_by_asking_for_the_folder(
    shop: Path, sheet: Path, tmp_path: Path
) -> None:
    (tmp_path / "empty/100CAMRA").mkdir(parents=True)
    done = file(shop, sheet, tmp_path / "empty")
    assert done.exit_code == 1
    assert f"there is no photo 'IMG_0412.JPG' in {STRIP}; no photo lies in {tmp_path / 'empty'}\n" in done.output
    assert "CAMERA-FOLDER" not in done.output


def test_the_shops_own_photos_are_no_cameras_where_the_folder_above_the_shop_is_given(
    shop: Path, sheet: Path, tmp_path: Path
) -> None:
    card(shop / "notes", "IMG_0412.JPG")
    card(tmp_path / "DCIM", "IMG_0412.JPG", "IMG_0413.JPG")
    done = file(shop, sheet, tmp_path)
    assert done.exit_code == 0, done.output
