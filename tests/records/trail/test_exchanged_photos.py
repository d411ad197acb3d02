"""A photo that became another picture under its name is a turn of its sheet, told once, of who exchanged it."""

import pytest
from kept_history import NAMES, SHEET, KeptHistory, sheet

from engine_pages.records.trail import RecordTrail

PATH, NEW = SHEET.format("2026-03-01"), SHEET.format("2026-03-02")
BUILD = "engines/K-07/builds/2026-03-05.yml"
BEARING = "    photos: [{file: rb-2.jpg, view: loaded side}]\n"
SHOT = PATH.replace("teardown.yml", "rb-2.jpg")
LATER = "2026-03-03T12:00:00+01:00"


def strip(date: str = "2026-03-01", more: str = "", number: str = "T-0412") -> str:
    return sheet(date=date, more=BEARING + more, number=number)


def exchanges(record: RecordTrail) -> list[tuple[str, str]]:
    return [(turn.path, turn.commit.author) for turn in record.turns if turn.is_photo]


@pytest.fixture
def shot(history: KeptHistory) -> KeptHistory:
    """A sheet with its photo, of which nothing was exchanged."""
    history.commit({PATH: strip(), SHOT: "picture one", "shop.yml": "name: A\n"})
    return history


def forked(shot: KeptHistory) -> KeptHistory:
    """TM exchanged the photo on `side`; main, which is checked out, went on without it."""
    shot.git("checkout", "-q", "-b", "side")
    shot.commit({SHOT: "picture two"}, by="TM", at="2026-03-02T12:00:00+01:00")
    shot.git("checkout", "-q", "main")
    shot.commit({"shop.yml": "name: B\n"}, at=LATER)
    return shot


def test_a_photo_exchanged_under_its_name_is_a_turn_of_its_sheet(shot: KeptHistory) -> None:
    shot.commit({SHOT: "picture two"}, by="TM")
    record = shot.record(PATH)
    assert exchanges(record) == [(SHOT, NAMES["TM"])]
    (turn,) = record.turns
    assert (turn.what, turn.field) == ("photo exchanged", ("positions", "rotor-bearing-2", "photos", "rb-2.jpg"))
    assert (record.amendments, record.path, record.last and record.last.author) == ((), PATH, NAMES["RK"])


def test_a_photo_of_a_whole_build_lies_in_the_folder_of_its_sheets_name(history: KeptHistory) -> None:
    text = "engine: K-07\ndate: 2026-03-05\nphotos: [{file: more/stand.jpg}]\n"
    stand = BUILD.replace(".yml", "/more/stand.jpg")
    history.commit({BUILD: text, stand: "one"})
    history.commit({stand: "two"})
    (turn,) = history.record(BUILD).turns
    assert (turn.path, turn.field) == (stand, ("photos", "more/stand.jpg"))


def test_photos_that_came_went_or_stayed_are_not_exchanged(shot: KeptHistory) -> None:
    other = SHOT.replace("rb-2", "rb-3")
    more = strip().replace("view: loaded side}", "view: loaded side}, {file: rb-3.jpg}")
    shot.commit({PATH: more, other: "picture three"})
    shot.commit({PATH: strip(), other: None})
    assert shot.record(PATH).turns == ()


def test_a_photo_that_was_taken_out_and_came_back_as_another_picture_was_exchanged(shot: KeptHistory) -> None:
    shot.commit({SHOT: None})
    shot.commit({SHOT: "picture two"}, by="TM")
    assert exchanges(shot.record(PATH)) == [(SHOT, NAMES["TM"])]


def test_a_file_that_no_sheet_names_as_a_photo_is_none(shot: KeptHistory) -> None:
    beside = SHOT.replace("rb-2.jpg", "dyno.txt")
    shot.commit({beside: "one"})
    shot.commit({beside: "two"})
    assert shot.record(PATH).turns == ()


def test_a_photo_that_lay_there_before_its_sheet_is_the_sheets_all_the_same(history: KeptHistory) -> None:
    history.commit({SHOT: "picture one"})
    history.commit({PATH: strip()})
    history.commit({SHOT: "picture two", PATH: strip(more="note: Seen.")}, by="TM")
    assert exchanges(history.record(PATH)) == [(SHOT, NAMES["TM"])]


# ── branches ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_what_a_merge_brought_counts_once_and_is_not_the_mergers(shot: KeptHistory) -> None:
    forked(shot).merge("side", by="RK")
    assert exchanges(shot.record(PATH)) == [(SHOT, NAMES["TM"])]


def test_a_photo_exchanged_in_the_merge_itself_is_the_mergers(shot: KeptHistory) -> None:
    forked(shot).git("merge", "-q", "--no-ff", "--no-commit", "side")
    shot.commit({SHOT: "picture three"}, at="2026-03-04T12:00:00+01:00")
    assert exchanges(shot.record(PATH)) == [(SHOT, NAMES["TM"]), (SHOT, NAMES["RK"])]


def test_a_picture_that_a_merge_left_out_exchanged_nothing(shot: KeptHistory) -> None:
    forked(shot).merge("side", "-s", "ours")
    assert shot.record(PATH).turns == ()


def test_a_picked_commit_exchanges_once(shot: KeptHistory) -> None:
    forked(shot).git("cherry-pick", "side", by="RK", at=LATER)
    shot.merge("side", by="RK")
    assert exchanges(shot.record(PATH)) == [(SHOT, NAMES["TM"])]


def test_a_picture_that_was_put_back_is_told_with_both_exchanges(shot: KeptHistory) -> None:
    shot.commit({SHOT: "picture two"}, by="TM")
    shot.git("revert", "--no-edit", "HEAD", by="RK", at=LATER)
    assert exchanges(shot.record(PATH)) == [(SHOT, NAMES["TM"]), (SHOT, NAMES["RK"])]


@pytest.mark.parametrize(("kept", "told"), [("theirs", [(SHOT, NAMES["TM"])]), ("ours", [])])
def test_a_sheet_recorded_on_two_branches_has_the_picture_of_the_first(
    history: KeptHistory, kept: str, told: list[tuple[str, str]]
) -> None:
    history.commit({"shop.yml": "name: A\n"})
    history.git("checkout", "-q", "-b", "side")
    history.commit({PATH: strip(), SHOT: "picture two"}, by="TM", at=LATER)
    history.git("checkout", "-q", "main")
    history.commit({PATH: strip(), SHOT: "picture one"}, at="2026-03-02T12:00:00+01:00")
    history.merge("side", "-X", kept)
    assert exchanges(history.record(PATH)) == told


# ── sheets that move ─────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(("picture", "many"), [("picture one", 0), ("picture two", 1)])
def test_a_sheet_that_moved_took_its_photos_along(shot: KeptHistory, picture: str, many: int) -> None:
    there = NEW.replace("teardown.yml", "rb-2.jpg")
    shot.commit({PATH: None, SHOT: None, NEW: strip("2026-03-02"), there: picture})
    record = shot.record(NEW)
    assert [turn.path for turn in record.turns if turn.is_photo] == [there] * many
    assert [turn.what for turn in record.turns if not turn.is_photo] == ["moved"]


def test_a_sheet_that_came_where_another_lay_exchanged_none_of_its_photos(shot: KeptHistory) -> None:
    there = NEW.replace("teardown.yml", "rb-2.jpg")
    shot.commit(
        {PATH: strip(number="T-0413"), SHOT: "picture nine", NEW: strip("2026-03-02"), there: "picture one"}, by="TM"
    )
    assert [exchanges(shot.record(path)) for path in (PATH, NEW)] == [[], []]
