"""A filing that was killed is ended by the same command: no photo twice, nothing left beside the sheet."""

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from bench.handed import SHEET, STRIP, git, photo, shop_in

from engine_pages.bench.filing import file_in

TODAY = date(2026, 3, 2)
LINE = "      - {file: IMG_0412.JPG, view: gear side}\n"
KILLED = """
import os, sys
from datetime import date
from pathlib import Path
from engine_pages.bench import filing, on_disk
<step> = lambda *_: os._exit(9)
filing.file_in(Path(sys.argv[1]), [Path(one) for one in sys.argv[2:]], date(2026, 3, 2))
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop with a sheet to be filed that names two photos of a camera beside it."""
    shop = shop_in(tmp_path / "shop")
    (shop / STRIP).mkdir(parents=True)
    named = f"{LINE}{LINE.replace('0412', '0413').replace('gear side', 'face')}"
    text = SHEET.replace("      - {file: rotor-1-face.jpg, view: face}\n", named)
    (shop / STRIP / "teardown.yml").write_text(text, encoding="utf-8")
    (tmp_path / "DCIM").mkdir()
    for name, shade in (("IMG_0412.JPG", 200), ("IMG_0413.JPG", 20)):
        (tmp_path / "DCIM" / name).write_bytes(photo(shade=shade))
    return shop


@pytest.mark.parametrize("step", ["on_disk.commit", "on_disk._exchange", "os.replace"])
def test_a_filing_that_was_killed_is_ended_by_the_same_command_with_no_photo_twice(shop: Path, step: str) -> None:
    sheet, camera = shop / STRIP / "teardown.yml", shop.parent / "DCIM"
    ask = [sys.executable, "-c", KILLED.replace("<step>", step), str(shop), str(sheet), str(camera)]
    assert subprocess.run(ask, check=False, cwd=Path(__file__).parents[2]).returncode == 9
    assert (sheet.parent / "rotor-1-face.jpg").is_file()
    file_in(shop, [sheet, camera], TODAY)
    assert git(shop, "status", "--porcelain") == ""
    names = ["rotor-1-face.jpg", "rotor-1-gear-side.jpg", "teardown.yml"]
    assert sorted(path.name for path in sheet.parent.iterdir()) == names
    assert git(shop, "show", "--name-only", "--format=", "HEAD").split() == [f"{STRIP}/{name}" for name in names]


def test_a_photo_of_the_same_picture_that_is_committed_or_named_keeps_its_name(shop: Path) -> None:
    sheet, camera = shop / STRIP / "teardown.yml", shop.parent / "DCIM"
    file_in(shop, [sheet, camera], TODAY)
    (camera / "copy.JPG").write_bytes((camera / "IMG_0412.JPG").read_bytes())
    more = f"{LINE.replace('IMG_0412', 'copy')}    decision"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("    decision", more), encoding="utf-8")
    file_in(shop, [sheet, camera / "copy.JPG"], TODAY)
    assert (sheet.parent / "rotor-1-gear-side-2.jpg").is_file()
