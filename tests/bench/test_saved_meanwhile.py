"""What was saved in an editor while a sheet was being filed stays, and nothing is half done."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from bench.handed import BUILD, STRIP, git, photo, shop_in, zipped

from engine_pages.bench import filing, judging, on_disk
from engine_pages.bench.filing import FilingError, file_in
from engine_pages.bench.on_disk import ChangedError
from engine_pages.bench.settling import settle
from engine_pages.bench.taking import take
from engine_pages.records.git import GitFailed

TODAY = date(2026, 3, 2)
TYPED = """engine: E1
date: 2026-03-01
positions:
  rotor-1:
    part: R-1
    photos:
      - {file: IMG_0412.JPG, view: face}
"""
PLACED = "engines/E1/inspections/2026-03-05.yml"
SECOND = "engine: E1\ndate: 2026-03-05\npositions: {rotor-1: {part: R-1, measured: {width: 79.96}}}\n"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shop = shop_in(tmp_path / "shop")
    (shop / STRIP).mkdir(parents=True)
    (shop / STRIP / "teardown.yml").write_text(TYPED, encoding="utf-8")
    (tmp_path / "IMG_0412.JPG").write_bytes(photo())
    return shop


def save_before(monkeypatch: pytest.MonkeyPatch, step: str, path: Path, text: str) -> None:
    """Save a file directly before a step of the filing."""
    the_step = getattr(filing, step)

    def with_it(*arguments: Any, **more: Any) -> Any:
        path.write_text(text, encoding="utf-8")
        return the_step(*arguments, **more)

    monkeypatch.setattr(filing, step, with_it)


@pytest.mark.parametrize("step", ["load_shop", "from_camera", "problems_with", "put_and_commit"])
def test_what_was_saved_in_the_editor_meanwhile_stays(shop: Path, monkeypatch: pytest.MonkeyPatch, step: str) -> None:
    sheet = shop / STRIP / "teardown.yml"
    saved = TYPED.replace("photos:\n", "finding: scored\n    photos:\n      - {file: new.jpg, view: back}\n")
    save_before(monkeypatch, step, sheet, saved)
    with pytest.raises(FilingError, match=r"was changed meanwhile; .* run it again"):
        file_in(shop, [sheet, shop.parent / "IMG_0412.JPG"], TODAY)
    assert sheet.read_text(encoding="utf-8") == saved
    assert [path.name for path in sheet.parent.iterdir()] == ["teardown.yml"]
    assert git(shop, "rev-list", "--count", "HEAD").strip() == "1"


def test_a_record_that_stays_as_it_is_is_committed_as_it_was_checked(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = shop / "engines/E1/log.yml"
    log.write_text("- {date: 2026-02-01, kind: run, hours: 1.30}\n", encoding="utf-8")
    save_before(monkeypatch, "put_and_commit", log, "- {date: 2026-0")
    with pytest.raises(FilingError, match="was changed meanwhile"):
        file_in(shop, [log], TODAY)
    assert log.read_text(encoding="utf-8") == "- {date: 2026-0"


def test_a_save_between_the_rewriting_and_a_commit_that_fails_stays(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = shop / STRIP / "teardown.yml"

    def saved_then_failed(*_: object) -> None:
        sheet.write_text("engine: E1 # saved\n", encoding="utf-8")
        raise GitFailed("no room")

    monkeypatch.setattr("engine_pages.bench.on_disk.commit", saved_then_failed)
    with pytest.raises(GitFailed, match="no room"):
        file_in(shop, [sheet, shop.parent / "IMG_0412.JPG"], TODAY)
    assert sheet.read_text(encoding="utf-8") == "engine: E1 # saved\n"


def test_a_sheet_that_was_edited_while_its_commit_failed_stays(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = PLACED.removesuffix(".yml")

    def edited_then_failed(*_: object) -> None:
        (shop / PLACED).write_text("engine: E1 # saved\n", encoding="utf-8")
        raise GitFailed("no key")

    monkeypatch.setattr("engine_pages.bench.on_disk.commit", edited_then_failed)
    named = SECOND.replace("}}}", "}, photos: [{file: rotor-1-face.jpg, view: face}]}}")
    with pytest.raises(GitFailed, match="no key"):
        take(shop, zipped({PLACED: named.encode(), f"{folder}/rotor-1-face.jpg": photo()}), TODAY)
    assert (shop / PLACED).read_text(encoding="utf-8") == "engine: E1 # saved\n"
    assert not (shop / folder).exists()
    assert not git(shop, "ls-files", PLACED)


def test_what_was_copied_beside_a_sheet_whose_commit_fails_stays(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    beside = shop / "engines/E1/inspections/2026-03-01/IMG_0500.JPG"

    def copied_then_failed(*_: object) -> None:
        beside.write_bytes(photo())
        raise GitFailed("no room")

    monkeypatch.setattr("engine_pages.bench.on_disk.commit", copied_then_failed)
    place = "engines/E1/inspections/2026-03-01"
    sheet = TYPED.replace("IMG_0412.JPG", "rotor-1-face.jpg").encode()
    with pytest.raises(GitFailed, match="no room"):
        take(shop, zipped({f"{place}.yml": sheet, f"{place}/rotor-1-face.jpg": photo()}), TODAY)
    assert [path.name for path in (shop / "engines/E1/inspections").rglob("*") if path.is_file()] == ["IMG_0500.JPG"]


@pytest.mark.parametrize("links", [True, False])
def test_a_sheet_that_was_saved_while_another_of_its_name_came_in_stays(
    shop: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    path = "engines/E1/builds/2026-03-05.yml"
    flush = on_disk._flush_folders

    def saved_then_flushed(aside: Path) -> None:
        (shop / path).write_text("engine: E1 # saved\n", encoding="utf-8")
        flush(aside)

    def no_link(*_: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(on_disk, "_flush_folders", saved_then_flushed)
    if not links:
        monkeypatch.setattr("os.link", no_link)
    with pytest.raises(FileExistsError, match="was saved meanwhile; that stays"):
        take(shop, zipped({path: BUILD.replace("2026-01-01", "2026-03-05").encode()}), TODAY)
    assert (shop / path).read_text(encoding="utf-8") == "engine: E1 # saved\n"
    assert git(shop, "rev-list", "--count", "HEAD").strip() == "1"


def test_a_disk_without_links_takes_sheets_too(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_link(*_: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr("os.link", no_link)
    path = "engines/E1/builds/2026-03-05.yml"
    assert take(shop, zipped({path: BUILD.replace("2026-01-01", "2026-03-05").encode()}), TODAY).outcome == "taken in"


@pytest.mark.parametrize("by", ["file", "take"])
def test_a_line_that_was_added_to_a_draft_while_it_was_judged_stays(
    shop: Path, monkeypatch: pytest.MonkeyPatch, by: str
) -> None:
    data = zipped({PLACED: SECOND.replace("79.96", "79,96").encode()})
    draft = shop / take(shop, data, TODAY).path
    draft.write_text(SECOND, encoding="utf-8")
    judge = judging.problems_with

    def saved_then_judged(*arguments: Any) -> Any:
        draft.write_text(f"{SECOND}note: cracked at the lug\n", encoding="utf-8")
        return judge(*arguments)

    monkeypatch.setattr(judging, "problems_with", saved_then_judged)
    with pytest.raises((FilingError, ChangedError), match="was changed meanwhile"):
        settle(shop, draft.parent.relative_to(shop).as_posix(), TODAY) if by == "file" else take(shop, data, TODAY)
    assert "cracked at the lug" in draft.read_text(encoding="utf-8")
    assert not (shop / PLACED).exists()
