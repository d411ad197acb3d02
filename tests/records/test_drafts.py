"""A record that git's own settings hide is a draft: it is read, and stands in no commit."""

from datetime import date
from pathlib import Path

import pytest
from review.shop_for_review import CLEAN, STRIP, Shop, clean_shop, open_points

from engine_pages.history.tell import tell_one
from engine_pages.records.checks.all import read_checked
from engine_pages.records.drafts import drafts_in, left_behind
from engine_pages.records.git import repository_of, run_git
from engine_pages.records.tree import Folder

IGNORED = "engines/E1/inspections/2026-05-20.yml"
SHEET = "engine: E1\ndate: 2026-05-20\nby: RK\npositions: {bearing: {observed: {}}}\n"
EDITED = CLEAN[STRIP].replace("60.023", "60.013")


def drafts(shop: Shop) -> frozenset[str]:
    repo = repository_of(shop.folder)
    assert repo is not None
    return drafts_in(repo)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return clean_shop(tmp_path / "shop")


def test_what_is_committed_is_no_draft(shop: Shop) -> None:
    assert drafts(shop) == frozenset()


def test_a_sheet_that_git_ignores_is_a_draft_and_what_is_no_record_is_not(shop: Shop) -> None:
    shop.write({".gitignore": "inspections/\nscratch.txt\n"}).commit("2026-05-11")
    shop.write({IGNORED: SHEET, "engines/E1/scratch.txt": "not a record"})
    assert drafts(shop) == {IGNORED}
    checked = read_checked(Folder(shop.folder), date(2026, 6, 1), repository_of(shop.folder))
    engine, _ = tell_one(checked, "E1")
    assert [sheet.ref.path for sheet in engine.sheets if sheet.uncommitted] == [IGNORED]
    assert ("not-committed", IGNORED) in open_points(shop.review())


@pytest.mark.parametrize("flag", ["--assume-unchanged", "--skip-worktree"])
def test_an_edit_that_git_was_told_not_to_look_at_is_a_draft(shop: Shop, flag: str) -> None:
    run_git(shop.folder, "update-index", flag, STRIP)
    assert drafts(shop) == frozenset()  # not looked at, and as it was committed
    shop.write({STRIP: EDITED})
    assert drafts(shop) == {STRIP}
    assert ("not-committed", STRIP) in open_points(shop.review())


def test_a_shop_in_a_larger_repository_has_its_own_drafts_alone(tmp_path: Path) -> None:
    outer = Shop(tmp_path / "outer").write(
        {"shop/shop.yml": "name: The shop\n", "shop/engines/E1/engine.yml": "a: 1\n"}
    )
    outer.write({".gitignore": "hidden/\n"}).commit("2026-05-11")
    for path in ("shop/shop.yml", "shop/engines/E1/engine.yml"):
        run_git(outer.folder, "update-index", "--assume-unchanged", path)
    outer.write({"shop/engines/E1/engine.yml": "a: 2\n", "hidden/engines/E1/log.yml": "[]\n"})
    repo = repository_of(outer.folder / "shop")
    assert repo is not None
    assert drafts_in(repo) == {"engines/E1/engine.yml"}


def test_what_a_share_is_not_made_from_is_not_missing_in_it(shop: Shop) -> None:
    photo = "engines/E1/teardowns/2026-05-02/late.jpg"
    shop.write({"codes/E1-owner.svg": "<svg/>", "site/index.html": "", STRIP: EDITED, photo: ""})
    repo = repository_of(shop.folder)
    assert repo is not None
    assert left_behind(repo) == {STRIP, photo}
