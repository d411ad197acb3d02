"""A draft that waits in the inbox is mended there, and goes to its place in one step; check says what keeps it."""

import io
from datetime import date
from pathlib import Path

import pytest
from bench.handed import SHEET, STRIP, git, photo, shop_in, teardown, zipped
from click.testing import CliRunner
from PIL import Image

from engine_pages.bench import on_disk
from engine_pages.bench.filing import FilingError
from engine_pages.bench.settling import settle
from engine_pages.bench.taking import take
from engine_pages.cli import main
from engine_pages.records.git import GitFailed

TODAY = date(2026, 3, 2)
PATH = f"{STRIP}/teardown.yml"
WRONG = zipped(teardown(SHEET.replace("79.9610", "79.96I0")))
OTHER = zipped(teardown(SHEET.replace("79.9610", "79.9580")))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


def waits(shop: Path, data: bytes) -> Path:
    """The sheet of a draft that waits in the inbox."""
    taken = take(shop, data, TODAY)
    assert taken.path.startswith("inbox/")
    return shop / taken.path


def mend(sheet: Path, old: str = "79.96I0", new: str = "79.9610") -> str:
    """Mend a draft in the inbox; its folder as the shop knows it."""
    sheet.write_text(sheet.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    return f"inbox/{sheet.parent.name}"


def run(shop: Path, *words: str) -> str:
    return CliRunner().invoke(main, [*words, "--records", str(shop)]).output


@pytest.mark.parametrize("by", ["folder", "sheet"])
@pytest.mark.parametrize("committed", [True, False])
def test_a_draft_that_was_mended_goes_to_its_place_in_one_commit(shop: Path, by: str, *, committed: bool) -> None:
    sheet = waits(shop, WRONG)
    folder = mend(sheet)
    if committed:
        git(shop, "commit", "-qam", "the right digit")
    said = run(shop, "file", str(sheet if by == "sheet" else sheet.parent))
    assert f"{folder} is now {PATH}: committed as {git(shop, 'rev-parse', '--short', 'HEAD').strip()}" in said
    assert {path: (shop / path).read_bytes() for path in teardown()} == teardown()
    assert not sheet.parent.exists()
    assert git(shop, "status", "--porcelain") == ""
    taken = take(shop, WRONG, TODAY)
    assert (taken.outcome, taken.path, taken.in_place) == ("already there", PATH, True)


def test_a_draft_that_is_still_wrong_stays_and_is_told_at_its_own_line(shop: Path) -> None:
    sheet = waits(shop, WRONG)
    folder = mend(sheet, "79.96I0", "sixty")
    with pytest.raises(FilingError, match=r"sheet.yml:6:23: error: .*sixty.*\n.*waits still"):
        settle(shop, folder, TODAY)
    why = (sheet.parent / "problems.txt").read_text(encoding="utf-8")
    assert why.startswith(f"{folder}/sheet.yml:6:23: error: ")
    assert "sixty" in why
    assert not (shop / STRIP).exists()
    assert "sixty" in sheet.read_text(encoding="utf-8")


def test_the_same_zip_again_judges_the_draft_as_it_was_mended(shop: Path) -> None:
    sheet = waits(shop, WRONG)
    mend(sheet, "79.96I0", "79.9160")
    taken = take(shop, WRONG, TODAY)
    assert (taken.outcome, taken.path) == ("taken in", PATH)
    assert "79.9160" in (shop / PATH).read_text(encoding="utf-8")
    assert not sheet.parent.exists()


def test_check_says_what_keeps_a_draft_and_how_it_goes_to_its_place(shop: Path) -> None:
    sheet = waits(shop, WRONG)
    assert f"inbox/{sheet.parent.name}: inbox/{sheet.parent.name}/sheet.yml:6:23: error: " in run(shop, "check")
    folder = mend(sheet)
    assert f"{folder}: nothing keeps it out; put it in its place: engine-pages file {folder}" in run(shop, "check")


def test_a_draft_whose_place_is_taken_stays_until_it_is_a_second_sheet_of_that_day(shop: Path) -> None:
    take(shop, zipped(teardown()), TODAY)
    sheet = waits(shop, OTHER)
    folder = f"inbox/{sheet.parent.name}"
    second = folder.replace("2026-03-01-", "2026-03-01-2-")
    with pytest.raises(FilingError, match=f"a second sheet of that day: rename it {second}"):
        settle(shop, folder, TODAY)
    git(shop, "mv", folder, second)
    settled = settle(shop, second, TODAY)
    assert settled.path == f"{STRIP}-2/teardown.yml"
    assert "79.9580" in (shop / settled.path).read_text(encoding="utf-8")
    assert "79.9610" in (shop / PATH).read_text(encoding="utf-8")
    again = take(shop, OTHER, TODAY)
    assert (again.outcome, again.path) == ("already there", settled.path)


def test_a_draft_whose_folder_was_renamed_by_hand_leaves_nothing_of_its_old_name_in_git(shop: Path) -> None:
    take(shop, zipped(teardown()), TODAY)
    sheet = waits(shop, OTHER)
    second = f"inbox/{sheet.parent.name.replace('2026-03-01-', '2026-03-01-2-')}"
    sheet.parent.rename(shop / second)
    settled = settle(shop, second, TODAY)
    assert git(shop, "status", "--porcelain") == ""
    assert "inbox/" not in git(shop, "ls-tree", "-r", "--name-only", "HEAD")
    again = take(shop, OTHER, TODAY)
    assert (again.outcome, again.path) == ("already there", settled.path)


def test_what_was_laid_beside_a_draft_and_no_line_names_stays(shop: Path) -> None:
    sheet = waits(shop, WRONG)
    (sheet.parent / "notes.odt").write_bytes(b"mine")
    (sheet.parent / "rotor-1-side.jpg").write_bytes(photo(shade=20))
    settle(shop, mend(sheet), TODAY)
    assert sorted(path.name for path in sheet.parent.iterdir()) == ["notes.odt", "rotor-1-side.jpg"]
    assert sorted(path.name for path in (shop / STRIP).iterdir()) == ["rotor-1-face.jpg", "teardown.yml"]


def test_a_photo_that_was_handed_over_stays_as_it_is_though_no_line_names_it_any_more(shop: Path) -> None:
    sheet = waits(shop, WRONG)
    mend(sheet, "    photos:\n      - {file: rotor-1-face.jpg, view: face}\n", "")
    settle(shop, mend(sheet), TODAY)
    assert (shop / STRIP / "rotor-1-face.jpg").read_bytes() == photo()
    assert git(shop, "status", "--porcelain") == ""


def from_camera() -> bytes:
    """A photo of 12 megapixels with the camera's maker and the place in its notes."""
    out, notes = io.BytesIO(), Image.Exif()
    notes[0x010F] = "a maker"
    notes.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
    Image.new("RGB", (4000, 3000), (200, 200, 200)).save(out, "JPEG", exif=notes)
    return out.getvalue()


@pytest.mark.parametrize("where", ["in the draft", "given", "its folder given"])
def test_a_photo_that_is_added_to_a_draft_comes_in_as_from_the_camera(shop: Path, tmp_path: Path, where: str) -> None:
    sheet = waits(shop, WRONG)
    camera = sheet.parent if where == "in the draft" else tmp_path / "DCIM"
    camera.mkdir(exist_ok=True)
    (camera / "IMG_0412.JPG").write_bytes(from_camera())
    mend(sheet, "      - {file", "      - {file: IMG_0412.JPG, view: gear side}\n      - {file")
    folder = mend(sheet)
    given = {"in the draft": [], "given": [camera / "IMG_0412.JPG"], "its folder given": [camera]}[where]
    said = run(shop, "file", str(sheet.parent), *map(str, given))
    assert f"IMG_0412.JPG: {STRIP}/rotor-1-gear-side.jpg\n" in said
    assert f"{folder} is now {PATH}: committed as " in said
    with Image.open(shop / STRIP / "rotor-1-gear-side.jpg") as kept:
        assert (kept.size, dict(kept.getexif())) == ((2560, 1920), {})
    assert "file: rotor-1-gear-side.jpg, view: gear side, original: sha256:" in (shop / PATH).read_text("utf-8")
    assert (camera / "IMG_0412.JPG").read_bytes() == from_camera()
    left = "?? inbox/\n" if where == "in the draft" else ""
    assert git(shop, "status", "--porcelain") == left


def test_a_photo_that_a_draft_misses_is_asked_for_where_the_draft_waits(shop: Path, tmp_path: Path) -> None:
    sheet = waits(shop, WRONG)
    folder = mend(sheet, "rotor-1-face.jpg", "IMG_0412.JPG")
    mend(sheet)
    assert f"if it is on the camera: engine-pages file {folder} CAMERA-FOLDER\n" in run(shop, "file", str(sheet))
    (tmp_path / "IMG_0413.JPG").write_bytes(photo())
    (tmp_path / "IMG_0412.png").write_bytes(photo())
    said = run(shop, "file", str(sheet), str(tmp_path))
    assert "it is not among the photos given: IMG_0412.png, IMG_0413.JPG\n" in said
    assert f"{folder} waits still" in said


def test_where_git_refuses_a_draft_waits_as_it_lay(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = waits(shop, WRONG)
    folder = mend(sheet)
    before = {path.name: path.read_bytes() for path in sheet.parent.iterdir()}

    def refuses(*_: object) -> None:
        raise GitFailed("no room")

    monkeypatch.setattr(on_disk, "commit", refuses)
    with pytest.raises(GitFailed):
        settle(shop, folder, TODAY)
    assert {path.name: path.read_bytes() for path in sheet.parent.iterdir()} == before
    assert not (shop / STRIP).exists()


def test_a_difference_leaves_out_lines_that_hold_nothing(shop: Path) -> None:
    bare = "".join(f"  rotor-{n}:   # R-{n}\n    measured:\n      width:   # mm, max 80\n" for n in range(1, 99))
    (shop / STRIP).mkdir(parents=True)
    (shop / PATH).write_text(f"engine: E1\ndate: 2026-03-01\nby: AB\npositions:\n{bare}", encoding="utf-8")
    lines = take(shop, OTHER, TODAY).difference.splitlines()
    assert "-by: AB" in lines
    assert not [line for line in lines if line.startswith("-  ")]
    assert len(lines) < 20


def test_a_photo_that_lies_in_its_place_already_comes_in_with_the_draft_that_names_it(shop: Path) -> None:
    sheet = waits(shop, WRONG)
    (shop / STRIP).mkdir(parents=True)
    (shop / STRIP / "extra.jpg").write_bytes(from_camera())
    mend(sheet, "      - {file", "      - {file: extra.jpg, view: back}\n      - {file")
    settle(shop, mend(sheet), TODAY)
    held = git(shop, "ls-tree", "-r", "--name-only", "HEAD", STRIP).split()
    assert held == [f"{STRIP}/{name}" for name in ("rotor-1-back.jpg", "rotor-1-face.jpg", "teardown.yml")]
    assert git(shop, "status", "--porcelain") == f"?? {STRIP}/extra.jpg\n"


def test_the_whole_inbox_puts_each_draft_in_its_place_that_nothing_keeps_out(shop: Path) -> None:
    mended = mend(waits(shop, WRONG))
    other = {path.replace("03-01", "03-02"): one for path, one in teardown().items()}
    other[PATH.replace("03-01", "03-02")] = SHEET.replace("03-01", "03-02").replace("79.9610", "sixty").encode()
    sheet = waits(shop, zipped(other))
    half = mend(sheet, "sixty", "half mended")
    done = CliRunner().invoke(main, ["file", str(shop / "inbox"), "--records", str(shop)])
    assert (done.exit_code, f"{mended} is now {PATH}" in done.output) == (1, True)
    assert f"{half} waits still" in done.output
    assert "half mended" not in git(shop, "show", f"HEAD:{half}/sheet.yml")
    mend(sheet, "half mended", "79.96")
    done = CliRunner().invoke(main, ["file", str(shop / "inbox"), "--records", str(shop)])
    assert done.exit_code == 0, done.output
    assert "no record lies in this folder" not in done.output
    assert git(shop, "status", "--porcelain") == ""


def test_an_inbox_without_drafts_holds_no_record_to_be_filed(shop: Path) -> None:
    (shop / "inbox/kept").mkdir(parents=True)
    (shop / "inbox/kept/later.yml").write_text("engine: E1\n", encoding="utf-8")
    assert "inbox: no record lies in this folder" in run(shop, "file", str(shop / "inbox"))
    assert git(shop, "rev-list", "--count", "HEAD").strip() == "1"


def test_the_commit_of_a_draft_says_what_it_is_told_and_keeps_its_mark(shop: Path) -> None:
    sheet = waits(shop, WRONG)
    mend(sheet)
    run(shop, "file", str(sheet.parent), "-m", "E1 after the third round")
    said = git(shop, "log", "-1", "--format=%B")
    assert said.startswith("E1 after the third round\n\nHanded-over: sha256:")
    again = take(shop, WRONG, TODAY)
    assert (again.outcome, again.path) == ("already there", PATH)
