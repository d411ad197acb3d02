"""From an edited sheet to a commit in one step; what a person typed stays byte for byte."""

import hashlib
import io
from datetime import date
from pathlib import Path

import pytest
from bench.handed import SHEET, STRIP, git, named, photo, shop_in
from click.testing import CliRunner, Result
from PIL import Image

from engine_pages.bench.camera import from_camera
from engine_pages.bench.edit_yaml import MapEdit, edited
from engine_pages.bench.filing import file_in
from engine_pages.bench.new_shop import start
from engine_pages.cli import main
from engine_pages.records.checks.all import read_checked
from engine_pages.records.tree import Commit

TODAY = date(2026, 3, 2)
TYPED = """# typed at the bench,   with gloves
engine: 'E1'
date: 2026-03-01
positions:
  rotor-1:
    part:   R-1      # painted on
    measured: {width: [79.9610,79.960 , 79.9600]}
    photos:
      - {file: IMG_0412.JPG, view: "gear side", caption: "Before cleaning, wet"}   # the best of three
      - file: img_0413.jpg   # dark
        view: face
        taken: 2026-03-01 09:00
    decision: reuse

note: "It's, all: there"
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


@pytest.fixture
def camera(tmp_path: Path) -> Path:
    folder = tmp_path / "DCIM"
    folder.mkdir()
    (folder / "IMG_0412.JPG").write_bytes(from_phone(shade=200))
    (folder / "IMG_0413.JPG").write_bytes(from_phone(shade=20))
    (folder / "IMG_0414.JPG").write_bytes(from_phone(shade=90))
    return folder


def from_phone(
    shade: int, size: tuple[int, int] = (4000, 3000), taken: str = "2026:03:01 16:45:10", changed: str | None = None
) -> bytes:
    """Held upright: stored on its side, with the place and the moment in its notes."""
    picture = Image.new("RGB", size, (shade, shade, shade))
    notes = Image.Exif()
    notes[0x0112] = 6
    notes.get_ifd(0x8769)[0x9003] = taken
    if changed is not None:
        notes[0x0132] = changed
    notes.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=notes)
    return out.getvalue()


def typed(shop: Path, text: str = TYPED) -> Path:
    path = shop / STRIP / "teardown.yml"
    path.parent.mkdir(parents=True)
    path.write_bytes(text.encode())
    return path


def file(shop: Path, *arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["file", "--records", str(shop), *map(str, arguments)])


def test_a_sheet_and_the_photos_that_it_names_are_committed_in_one_step(shop: Path, camera: Path) -> None:
    sheet = typed(shop)
    done = file(shop, sheet, camera, "-m", "E1 opened")
    assert done.exit_code == 0, done.output
    assert git(shop, "log", "-1", "--format=%s").strip() == "E1 opened"
    assert git(shop, "show", "--name-only", "--format=", "HEAD").split() == [
        f"{STRIP}/rotor-1-face.jpg", f"{STRIP}/rotor-1-gear-side.jpg", f"{STRIP}/teardown.yml"
    ]  # fmt: skip
    assert git(shop, "status", "--porcelain") == ""
    assert "named by no line, and left where they are: IMG_0414.JPG" in done.output


def test_only_the_photos_lines_change_and_no_other_byte(shop: Path, camera: Path) -> None:
    sheet = typed(shop)
    file(shop, sheet.parent, camera)
    first, second = (
        "sha256:" + hashlib.sha256((camera / name).read_bytes()).hexdigest()
        for name in ("IMG_0412.JPG", "IMG_0413.JPG")
    )
    wanted = TYPED.replace("IMG_0412.JPG", "rotor-1-gear-side.jpg").replace("img_0413.jpg", "rotor-1-face.jpg")
    wanted = wanted.replace('wet"}', f'wet", taken: 2026-03-01 16:45, original: {first}}}')
    wanted = wanted.replace("# dark\n", f"# dark\n        original: {second}\n")
    assert sheet.read_text(encoding="utf-8") == wanted


def test_windows_line_ends_and_a_byte_order_mark_stay(shop: Path, camera: Path) -> None:
    sheet = typed(shop)
    sheet.write_bytes(b"\xef\xbb\xbf" + TYPED.replace("\n", "\r\n").encode())
    file(shop, sheet, camera)
    text = sheet.read_bytes()
    assert text.startswith(b"\xef\xbb\xbf#")
    assert b"rotor-1-face.jpg   # dark\r\n        original: sha256:" in text
    assert text.count(b"\n") == text.count(b"\r\n")


def test_a_photo_is_kept_upright_small_and_without_the_cameras_notes(shop: Path, camera: Path) -> None:
    file(shop, typed(shop), camera)
    with Image.open(shop / STRIP / "rotor-1-gear-side.jpg") as kept:
        assert kept.size == (1920, 2560)
        assert not kept.getexif()
        assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression"}
    assert (camera / "IMG_0412.JPG").read_bytes() == from_phone(shade=200)


def test_photos_copied_beside_the_sheet_are_taken_in_too_and_left(shop: Path, camera: Path) -> None:
    sheet = typed(shop)
    for path in camera.iterdir():
        (sheet.parent / path.name.replace("IMG_0413.JPG", "img_0413.jpg")).write_bytes(path.read_bytes())
    done = file(shop, sheet.parent)
    assert done.exit_code == 0, done.output
    assert "IMG_0412.JPG" not in git(shop, "ls-files")
    assert (sheet.parent / "IMG_0412.JPG").exists()
    assert "rotor-1-gear-side.jpg" in git(shop, "ls-files")


def test_once_more_nothing_changes(shop: Path, camera: Path) -> None:
    sheet = typed(shop)
    file(shop, sheet, camera)
    before = sheet.read_bytes()
    done = file(shop, sheet, camera)
    assert (done.exit_code, sheet.read_bytes()) == (0, before)
    assert "nothing new; no commit was made" in done.output


def test_a_sheet_with_an_error_is_neither_changed_nor_committed(shop: Path, camera: Path) -> None:
    sheet = typed(shop, TYPED.replace("decision: reuse", "decision: reuze"))
    done = file(shop, sheet, camera)
    assert done.exit_code == 1
    assert f"{STRIP}/teardown.yml:13:" in done.output
    assert "nothing was written and nothing committed" in done.output
    assert sheet.read_text(encoding="utf-8") == TYPED.replace("decision: reuse", "decision: reuze")
    assert [path.name for path in sheet.parent.iterdir()] == ["teardown.yml"]


def test_a_photo_that_no_line_names_says_what_to_write(shop: Path, camera: Path) -> None:
    done = file(shop, typed(shop), camera / "IMG_0414.JPG")
    assert done.exit_code == 1
    assert "no sheet given here names IMG_0414.JPG; write - {file: IMG_0414.JPG, view: …} under" in done.output


def test_two_photos_of_one_view_get_a_number(shop: Path, camera: Path) -> None:
    file(shop, typed(shop, TYPED.replace('view: "gear side"', "view: face")), camera)
    assert {path.name for path in (shop / STRIP).glob("*.jpg")} == {"rotor-1-face.jpg", "rotor-1-face-2.jpg"}


def test_what_is_no_picture_is_refused_in_plain_words(shop: Path, camera: Path) -> None:
    (camera / "IMG_0412.JPG").write_bytes(b"<html>")
    done = file(shop, typed(shop), camera)
    assert (done.exit_code, "IMG_0412.JPG: this is text, not a picture" in done.output) == (1, True)


def test_a_phones_heic_is_read_with_its_extra_or_says_how(
    shop: Path, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pillow_heif", None)
    (camera / "IMG_0412.HEIC").write_bytes(b"\0\0\0\x18ftypheic")
    done = file(shop, typed(shop, TYPED.replace("IMG_0412.JPG", "IMG_0412.HEIC")), camera)
    assert done.exit_code == 1
    assert "pip install 'engine-pages[heic]'" in done.output


def test_a_commit_that_fails_leaves_the_sheet_as_it_was(shop: Path, camera: Path) -> None:
    sheet = typed(shop)
    (shop / ".git" / "index.lock").write_text("", encoding="utf-8")
    assert file(shop, sheet, camera).exit_code == 1
    assert sheet.read_text(encoding="utf-8") == TYPED
    assert [path.name for path in sheet.parent.iterdir()] == ["teardown.yml"]


def test_other_records_are_committed_as_they_are(shop: Path) -> None:
    log = shop / "engines/E1/log.yml"
    log.write_text("- {date: 2026-02-01, kind: run, hours: 1.30}\n", encoding="utf-8")
    filed = file_in(shop, [log], TODAY)
    assert filed.paths == ("engines/E1/log.yml",)
    assert git(shop, "log", "-1", "--format=%s").strip() == "E1 log"


def test_a_value_that_wants_quotes_is_not_written() -> None:
    with pytest.raises(ValueError, match="cannot be written without quotes"):
        edited("a: {b: 1}\n", [MapEdit(("a",), {"b": "x: y"})])


def test_a_place_where_no_map_stands_is_refused() -> None:
    with pytest.raises(KeyError, match="no map stands at a/c"):
        edited("a: {b: 1}\n", [MapEdit(("a", "c"), {"b": "2"})])


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        (
            "- {file: IMG_0412.JPG, view: face, taken: , original: }",
            "- {file: rotor-1-face.jpg, view: face, taken: 2026-03-01 16:45 , original: SUM }",
        ),
        (
            "- {file: IMG_0412.JPG, view: }",
            "- {file: rotor-1.jpg, view: , taken: 2026-03-01 16:45, original: SUM }",
        ),
        (
            "- file: IMG_0412.JPG\n        taken:   # not yet\n        original:\n        caption:",
            "- file: rotor-1.jpg\n        taken: 2026-03-01 16:45   # not yet\n        original: SUM\n        caption:",
        ),
    ],
)
def test_a_key_that_was_left_blank_is_filled_in(shop: Path, camera: Path, line: str, wanted: str) -> None:
    head = "engine: E1\ndate: 2026-03-01\npositions:\n  rotor-1:\n    part: R-1\n    photos:\n      "
    sheet = typed(shop, f"{head}{line}\n")
    done = file(shop, sheet, camera)
    assert done.exit_code == 0, done.output
    original = hashlib.sha256((camera / "IMG_0412.JPG").read_bytes()).hexdigest()
    assert sheet.read_text(encoding="utf-8") == f"{head}{wanted}\n".replace("SUM", f"sha256:{original}")


def test_a_tab_is_an_error_with_its_place(shop: Path, camera: Path) -> None:
    sheet = typed(shop, TYPED.replace("file: img_0413.jpg", "file:\timg_0413.jpg"))
    done = file(shop, sheet, camera)
    assert done.exit_code == 1
    assert f"{STRIP}/teardown.yml:10:14: error: a tab stands here; write a blank" in done.output
    assert "file:\timg_0413.jpg" in sheet.read_text(encoding="utf-8")


def test_two_camera_folders_with_a_photo_of_one_name_are_refused_where_a_sheet_names_it(
    shop: Path, camera: Path
) -> None:
    other = camera.parent / "101"
    other.mkdir()
    (other / "img_0412.jpg").write_bytes(from_phone(shade=1, size=(40, 30)))
    sheet = typed(shop)
    done = file(shop, sheet, camera, other)
    assert done.exit_code == 1
    assert f"{camera / 'IMG_0412.JPG'} and {other / 'img_0412.jpg'} have one name" in done.output
    assert sheet.read_text(encoding="utf-8") == TYPED
    (other / "img_0412.jpg").rename(other / "IMG_0414.JPG")  # named by no line
    assert file(shop, sheet, camera, camera / "IMG_0412.JPG", other).exit_code == 0


@pytest.mark.parametrize(
    "nonsense", ["0000:00:00 00:00:00", "2026:02:30 10:00:00", "2026:13:01 10:00:00", "2026:03:01 25:61:00", "soon"]
)
def test_a_moment_that_no_calendar_has_is_no_moment(tmp_path: Path, nonsense: str) -> None:
    path = tmp_path / "IMG_1.JPG"
    path.write_bytes(from_phone(90, (40, 30), nonsense))
    assert from_camera(path).taken is None
    path.write_bytes(from_phone(90, (40, 30), nonsense, changed="2026:03:01 17:00:00"))
    assert from_camera(path).taken == "2026-03-01 17:00"


def test_check_says_how_a_photo_comes_in_that_is_on_the_camera_still(shop: Path, camera: Path) -> None:
    typed(shop)
    said = CliRunner().invoke(main, ["check", "--records", str(shop)]).output
    assert f"there is no photo 'IMG_0412.JPG' in {STRIP}; if it is on the camera: " in said
    command = f"engine-pages file {STRIP}/teardown.yml CAMERA-FOLDER"
    assert command in said
    assert file(shop, shop / command.split()[2], camera).exit_code == 0


def test_a_photo_that_was_filed_before_is_not_called_unnamed(shop: Path, camera: Path) -> None:
    sheet = typed(shop)
    file(shop, sheet, camera)
    again = file(shop, sheet, camera)
    assert "left where they are: IMG_0414.JPG\n" in again.output
    assert file(shop, sheet, camera / "IMG_0412.JPG").exit_code == 0


def test_a_commit_of_many_records_lists_them_below_a_short_subject(shop: Path) -> None:
    days = [f"2026-01-{day:02}" for day in range(2, 12)]
    for day in days:
        text = f"engine: E1\ndate: {day}\npositions: {{rotor-1: {{part: R-1}}}}\n"
        (shop / f"engines/E1/builds/{day}.yml").write_text(text, encoding="utf-8")
    file_in(shop, [shop / "engines/E1/builds"], TODAY)
    subject, _, *names = git(shop, "log", "-1", "--format=%B").strip().splitlines()
    assert subject == "10 records"  # the first build lies in its folder too, and was committed before
    assert names == [f"E1 builds {day}" for day in days]


def test_a_sheet_taken_in_before_keeps_its_photos(shop: Path, camera: Path) -> None:
    sheet = typed(shop, SHEET)
    (sheet.parent / "rotor-1-face.jpg").write_bytes(photo())
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "by hand")
    file(shop, sheet, camera)
    assert (sheet.parent / "rotor-1-face.jpg").read_bytes() == photo()


def test_a_sheet_without_photos_is_checked_too_before_it_is_committed(shop: Path) -> None:
    sheet = typed(shop, "engine: E1\ndate: 2026-03-01\npositions: {rotor-9: {part: R-1}}\n")
    done = file(shop, sheet)
    assert (done.exit_code, "nothing was written and nothing committed" in done.output) == (1, True)
    assert git(shop, "rev-list", "--count", "HEAD").strip() == "1"


def test_what_is_committed_is_named_and_nothing_else(shop: Path) -> None:
    log = shop / "engines/E1/log.yml"
    log.write_text("- {date: 2026-02-01, kind: run, hours: 1.30}\n", encoding="utf-8")
    done = file(shop, shop / "engines/E1")
    assert done.output.startswith("engines/E1/log.yml: committed as ")
    assert git(shop, "log", "-1", "--format=%B").strip() == "E1 log"


def test_a_photo_that_lay_beside_its_sheet_is_named_as_committed(shop: Path) -> None:
    (shop / STRIP).mkdir(parents=True)
    (shop / STRIP / "teardown.yml").write_text(SHEET.replace("view: face", "view: face, original: X"), encoding="utf-8")
    (shop / STRIP / "rotor-1-face.jpg").write_bytes(photo())
    text = (shop / STRIP / "teardown.yml").read_text(encoding="utf-8").replace("X", f"sha256:{'0' * 64}")
    (shop / STRIP / "teardown.yml").write_text(text, encoding="utf-8")
    done = file(shop, shop / STRIP)
    assert f"{STRIP}/rotor-1-face.jpg, {STRIP}/teardown.yml: committed as " in done.output


def test_the_first_build_takes_along_all_that_its_commit_needs_to_be_read(tmp_path: Path) -> None:
    start(tmp_path / "new")
    shop = named(tmp_path / "new")
    build = "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: {part: R-1}}\n"
    for path, text in {
        "engines/E1/engine.yml": "engine: E1\nfamily: two-rotor\npicture: e.jpg\n",
        "engines/E1/builds/2026-01-01.yml": build,
        "engines/E2/engine.yml": "engine: E2\nfamily: four-cylinder\n",
        "parts/R-1.yml": "serial: R-1\nkind: rotor\norigin: new\n",
        "parts/R-2.yml": "serial: R-2\nkind: rotor\n",
    }.items():
        (shop / path).parent.mkdir(parents=True, exist_ok=True)
        (shop / path).write_text(text, encoding="utf-8")
    (shop / "engines/E1/e.jpg").write_bytes(photo())
    done = file(shop, shop / "engines/E1/builds/2026-01-01.yml")
    assert done.exit_code == 0, done.output
    held = ["engines/E1/builds/2026-01-01.yml", "engines/E1/e.jpg", "engines/E1/engine.yml",
            "families/two-rotor.yml", "parts/R-1.yml", "shop.yml"]  # fmt: skip
    assert f"{', '.join(held)}: committed as " in done.output
    assert git(shop, "log", "-1", "--format=%B").strip() == "E1 builds 2026-01-01"
    problems = read_checked(Commit(shop, "HEAD"), TODAY).problems
    assert [str(one) for one in problems if one.level == "error"] == []


@pytest.mark.parametrize("new", ["parts/R-1.yml", f"{STRIP}/rotor-1-face.jpg"])
def test_a_committed_sheet_takes_along_the_part_or_photo_that_alone_is_new(shop: Path, new: str) -> None:
    sheet = typed(shop, SHEET.replace("view: face", f"view: face, original: sha256:{'0' * 64}"))
    (sheet.parent / "rotor-1-face.jpg").write_bytes(photo())
    git(shop, "add", "-A", *([f":!{new}"] if new.endswith(".jpg") else []))
    git(shop, "commit", "-qm", "by hand")
    if new.endswith(".yml"):
        (shop / "parts").mkdir()
        (shop / new).write_text("serial: R-1\nkind: rotor\n", encoding="utf-8")
    done = file(shop, sheet)
    assert f"{new}: committed as " in done.output, done.output
    wanted = "parts R-1" if new.endswith(".yml") else f"E1 teardowns {sheet.parent.name} teardown"
    assert git(shop, "log", "-1", "--format=%B").strip() == wanted


def test_what_a_record_leans_on_is_not_taken_along_again_while_it_is_edited(shop: Path) -> None:
    family = shop / "families/single.yml"
    family.write_text(family.read_text(encoding="utf-8") + "# half a thought\n", encoding="utf-8")
    done = file(shop, typed(shop, "engine: E1\ndate: 2026-03-01\npositions: {rotor-1: {part: R-1}}\n"))
    assert done.output.splitlines()[-1].startswith(f"{STRIP}/teardown.yml: committed as ")
    assert git(shop, "status", "--porcelain") == " M families/single.yml\n"


def test_a_photo_that_is_not_in_the_folder_given_is_not_answered_by_asking_for_the_folder(
    shop: Path, camera: Path
) -> None:
    done = file(shop, typed(shop, TYPED.replace("IMG_0412", "IMG_9999")), camera)
    assert done.exit_code == 1
    assert "there is no photo 'IMG_9999.JPG'" in done.output
    assert "; it is not among the photos given: IMG_0412.JPG, IMG_0413.JPG, IMG_0414.JPG\n" in done.output
    assert "CAMERA-FOLDER" not in done.output
