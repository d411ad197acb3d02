"""A filing or settling that was killed is ended by the same command: no photo twice, nothing left, all in a commit."""

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from bench.handed import SHEET, STRIP, git, photo, shop_in, teardown, zipped

from engine_pages.bench.filing import file_in
from engine_pages.bench.settling import settle
from engine_pages.bench.taking import take

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

SETTLING_KILLED = """
import os, sys
from datetime import date
from pathlib import Path
from engine_pages.bench import on_disk, settling
put_aside, moves = on_disk._put_aside, iter(range(99))
def then_killed(*given):
    put_aside(*given)
    if next(moves) + 1 == int(sys.argv[3]):
        os._exit(9)
on_disk._put_aside = then_killed
settling.settle(Path(sys.argv[1]), sys.argv[2], date(2026, 3, 2))
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


@pytest.mark.parametrize(("moves", "by"), [(2, "file"), (2, "take"), (3, "take")])
def test_a_settling_that_was_killed_is_ended_with_its_photo_and_without_the_inbox(
    tmp_path: Path, moves: int, by: str
) -> None:
    shop = shop_in(tmp_path / "shed")
    data = zipped(teardown(SHEET.replace("79.9610", "79,9610")))
    draft = shop / take(shop, data, TODAY).path
    draft.write_text(SHEET, encoding="utf-8")
    folder = draft.parent.relative_to(shop).as_posix()
    ask = [sys.executable, "-c", SETTLING_KILLED, str(shop), folder, str(moves)]
    assert subprocess.run(ask, check=False, cwd=Path(__file__).parents[2]).returncode == 9
    if by == "file":
        settle(shop, folder, TODAY)
    else:
        assert take(shop, data, TODAY).in_place
    assert git(shop, "status", "--porcelain") == ""
    held = git(shop, "ls-tree", "-r", "--name-only", "HEAD").split()
    assert [path for path in held if path.startswith(("inbox/", STRIP))] == sorted(teardown())
    assert take(shop, data, TODAY).outcome == "already there"
