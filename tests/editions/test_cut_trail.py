"""What of a record's trail and review leaves the crew: corrections of what the table shows, and points for a buyer."""

from datetime import date
from pathlib import Path

import pytest
from review.shop_for_review import BUILD, CLEAN, LOG, PHOTO, STRIP, Shop, clean_shop

from engine_pages.editions.edition import tell_edition
from engine_pages.editions.given_fields import is_given
from engine_pages.editions.table import SHOWN
from engine_pages.history.story import EngineStory
from engine_pages.records.checks.all import read_checked
from engine_pages.records.engine import EngineFile
from engine_pages.records.git import repository_of
from engine_pages.records.sheet import PositionLine, Sheet, Work
from engine_pages.records.tree import Commit
from engine_pages.review.asked import ask_review

TODAY = date(2026, 6, 1)
ANSWERS = "engines/E1/review.yml"
SILENT = CLEAN[STRIP].replace("60.023", "60.013")
FAMILY = "families/single.yml"


def told(shop: Shop, edition: str) -> EngineStory:
    checked = read_checked(Commit(shop.folder, "HEAD"), TODAY, repository_of(shop.folder))
    (engine,) = tell_edition(checked, "E1", edition).engines  # type: ignore[arg-type]  # owner and buyer are editions
    return engine


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with something to ask: a figure changed, a sheet unsigned, a limit without a source."""
    files = {
        STRIP: SILENT,
        BUILD: CLEAN[BUILD].replace("by: RK", ""),
        FAMILY: CLEAN[FAMILY].replace("source: manual, instrument", "instrument"),
    }
    return clean_shop(tmp_path / "shop").write(files).commit("2026-05-20", "Nobody need know why")


def test_a_buyer_reads_every_point_that_the_crews_review_found(shop: Shop) -> None:
    checked = read_checked(Commit(shop.folder, "HEAD"), TODAY, repository_of(shop.folder))
    crews = {(one.point.kind, one.point.where) for one in ask_review(checked, "E1").points}
    review = told(shop, "buyer").review
    assert review is not None
    assert {(one.point.kind, one.point.where) for one in review.points} == crews
    assert {kind for kind, _ in crews} == {"figure-changed", "unsigned", "no-limit-source"}


@pytest.mark.parametrize("edition", ["owner", "buyer"])
def test_a_correction_is_told_with_both_figures_its_day_and_commit_and_without_a_name(shop: Shop, edition: str) -> None:
    trail = told(shop, edition).trail
    assert trail is not None
    (reading,) = [one for one in trail.corrections if one.path == STRIP]
    assert (reading.was, reading.now, reading.day, len(reading.commit)) == ("60.023", "60.013", date(2026, 5, 20), 7)
    assert all(one.by is None and one.message is None for one in trail.corrections)
    assert all(one.by is None and one.seal is None for one in trail.sheets.values())


def test_an_owner_gets_no_review(shop: Shop) -> None:
    assert told(shop, "owner").review is None


@pytest.mark.parametrize("edition", ["tag", "bench"])
def test_the_plate_and_the_bench_get_neither(shop: Shop, edition: str) -> None:
    engine = told(shop, edition)
    assert (engine.trail, engine.review) == (None, None)


def test_a_point_that_is_left_out_is_counted_and_not_told(shop: Shop) -> None:
    line = "{point: unsigned, where: builds/2026-03-07.yml, why: Our own engine., by: RK, date: 2026-05-21}"
    shop.write({ANSWERS: f"left_out: [{line}]\n"}).commit("2026-05-21")
    review = told(shop, "buyer").review
    assert review is not None
    assert review.left_out == 1
    assert {one.point.kind for one in review.points} == {"figure-changed", "no-limit-source"}


def test_an_answer_reaches_the_buyer_with_initials_alone(shop: Shop) -> None:
    line = "{point: unsigned, answer: Rikke Kalverd built it., by: Rikke Kalverd, date: 2026-05-21}"
    shop.write({ANSWERS: f"answers: [{line}]\n"}).commit("2026-05-21")
    review = told(shop, "buyer").review
    assert review is not None
    (answered,) = review.in_state("answered")
    assert answered.written is not None
    assert (answered.written.text, answered.written.by) == ("▒▒▒ built it.", None)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("stamped: ORW 0001", "stamped: ORW 0001\ncrew_note: She pays late."),
        ("stamped: ORW 0001", "stamped: ORW 0001\nowners: [{name: Ann Ox, contact: ann@ox.example}]"),
        ("stamped: ORW 0001", "stamped: ORW 0001\nbuilt_for: Ann Ox"),
    ],
)
def test_what_stays_with_the_crew_is_no_correction_for_others(tmp_path: Path, old: str, new: str) -> None:
    path = "engines/E1/engine.yml"
    shop = clean_shop(tmp_path / "shop").write({path: CLEAN[path].replace(old, new)}).commit("2026-05-20")
    shop.write({path: CLEAN[path]}).commit("2026-05-21")
    for edition in ("owner", "buyer"):
        trail = told(shop, edition).trail
        assert trail is not None
        assert trail.corrections == ()


def test_another_engines_serial_in_an_earlier_version_is_blanked(tmp_path: Path) -> None:
    other = CLEAN[BUILD].replace("engine: E1", "engine: E2").replace("B-1", "B-9").replace("bearing.jpg", "b9.jpg")
    others = {
        "engines/E2/engine.yml": "engine: E2\nfamily: single\nstamped: ORW 0002\n",
        BUILD.replace("E1", "E2"): other,
        "parts/B-9.yml": "serial: B-9\nkind: bearing\norigin: new\n",
    }
    shop = clean_shop(tmp_path / "shop").write({BUILD: CLEAN[BUILD].replace("B-1", "B-9")}).commit("2026-05-18")
    shop.write({**others, BUILD: CLEAN[BUILD]}).commit("2026-05-19")
    trail = told(shop, "buyer").trail
    assert trail is not None
    changed = [(one.was, one.now) for one in trail.corrections if one.field[-1] == "part"]
    assert changed == [("▒▒▒", "B-1"), ("B-1", "▒▒▒")]


WORK = "work: [{{part: B-1, did: {did}, dimensions: [inside], by: outside shop, note: {note}}}]\n"


def test_what_was_noted_of_outside_work_is_no_correction_for_others(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({STRIP: CLEAN[STRIP]})
    for day, did, note in (("18", "bored", "paid cash"), ("19", "honed", "paid by the club"), ("20", "honed", "owed")):
        shop.write({STRIP: CLEAN[STRIP] + WORK.format(did=did, note=note)}).commit(f"2026-05-{day}")
    for edition in ("owner", "buyer"):
        trail = told(shop, edition).trail
        assert trail is not None
        assert {one.field[-1] for one in trail.corrections} == {"part", "did", "dimensions"}
        assert ("bored", "honed") in {(one.was, one.now) for one in trail.corrections}


def test_what_was_written_beside_a_line_of_the_log_is_no_reason_for_others(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    new = CLEAN[LOG].replace("hours: 1.5", "hours: 1.6, correction: Club read it wrong")
    shop.write({LOG: new}).commit("2026-05-20")
    for edition in ("owner", "buyer"):
        trail = told(shop, edition).trail
        assert trail is not None
        assert [(one.was, one.now, one.why) for one in trail.corrections] == [("1.5", "1.6", ())]


def test_every_field_of_a_record_is_given_at_any_depth_as_the_table_says() -> None:
    nested = [("work", "x", name) for name in Work.model_fields]
    nested += [("positions", "x", name) for name in PositionLine.model_fields]
    given = {field[2] for field in nested if is_given(Sheet, field)}
    assert given == (SHOWN[Work] | SHOWN[PositionLine]) - {"photos"}  # records of their own
    assert not is_given(EngineFile, ("owners", "Ann Ox", "name"))
    assert not is_given(Sheet, ("work",))
    assert not is_given(Sheet, ("fluids", "a key that no model knows"))


READ_BY = CLEAN[STRIP].replace("inside: 60.023", "inside: {value: 60.023, by: Anders Bruun}")


def test_who_read_a_figure_is_named_to_nobody_when_that_was_changed(tmp_path: Path) -> None:
    """A name that is none of the shop's initials: the change is told, whose it was and became is not."""
    shop = clean_shop(tmp_path / "shop").write({STRIP: READ_BY}).commit("2026-05-18")
    shop.write({STRIP: READ_BY.replace("Anders Bruun", "Zoltan Vex")}).commit("2026-05-20")
    engine = told(shop, "buyer")
    assert "Bruun" not in repr(engine)
    assert "Vex" not in repr(engine)
    assert engine.review is not None
    assert [one.point.what for one in engine.review.points if one.point.kind == "figure-changed"] == [
        "teardowns/2026-05-02/teardown.yml: bearing › inside › by: changed on 2026-05-20, and no correction is written"
    ]


# ── photos exchanged ─────────────────────────────────────────────────────────────────────────────────────────────────

HIDDEN = CLEAN[BUILD].replace("view: whole}", "view: whole, crew_only: yes}")
EXCHANGED = ("photo-exchanged", "photos")


def test_an_exchanged_photo_that_a_reader_is_given_is_told_with_its_place_and_without_its_name(tmp_path: Path) -> None:
    engine = told(clean_shop(tmp_path / "shop").write({PHOTO: "another"}).commit("2026-05-20"), "buyer")
    assert engine.trail is not None
    assert engine.review is not None
    (turn,) = engine.trail.turns
    assert (turn.what, turn.path, turn.photo, turn.by, turn.message) == (
        "photo exchanged",
        BUILD,
        "bearing",
        None,
        None,
    )
    (point,) = [one.point for one in engine.review.points]
    assert (point.kind, point.where) == EXCHANGED
    assert point.what == ("builds/2026-03-07.yml: a photo of bearing was exchanged on 2026-05-20, and nothing says why")
    assert "bearing.jpg" not in repr((turn, point))


@pytest.mark.parametrize(
    ("first", "then"),
    [
        (HIDDEN, HIDDEN),
        (HIDDEN, CLEAN[BUILD]),  # the crew's once
        (CLEAN[BUILD], HIDDEN),
        (CLEAN[BUILD], CLEAN[BUILD].replace(", photos: [{file: bearing.jpg, view: whole}]", "")),  # named no more
    ],
)
@pytest.mark.parametrize("edition", ["owner", "buyer"])
def test_of_a_photo_that_stays_with_the_crew_nothing_is_told_but_the_day(
    tmp_path: Path, first: str, then: str, edition: str
) -> None:
    shop = clean_shop(tmp_path / "shop").write({BUILD: first}).commit("2026-05-12")
    shop.write({PHOTO: "another"}).commit("2026-05-20").write({BUILD: then}).commit("2026-05-21")
    engine = told(shop, edition)
    assert engine.trail is not None
    (turn,) = engine.trail.turns
    assert (turn.day, turn.path, turn.record, turn.sheet, turn.photo) == (date(2026, 5, 20), "", "", None, "")
    assert (turn.commit, turn.by, turn.message, turn.why) == ("", None, None, ())
    if engine.review is not None:
        (point,) = [one.point for one in engine.review.points if one.point.kind == "photo-exchanged"]
        assert (point.where, point.source) == ("photos", None)
        assert point.what == "a photo was exchanged on 2026-05-20, and nothing says why"


def test_a_crews_answer_to_an_exchanged_photo_is_the_buyers_too(tmp_path: Path) -> None:
    line = "{point: photo-exchanged, where: photos, answer: Blurred., by: RK, date: 2026-05-21}"
    shop = clean_shop(tmp_path / "shop").write({BUILD: HIDDEN}).commit("2026-05-12")
    shop.write({PHOTO: "another", ANSWERS: f"answers: [{line}]\n"}).commit("2026-05-20")
    review = told(shop, "buyer").review
    assert review is not None
    assert [one.point.kind for one in review.in_state("answered")] == ["photo-exchanged"]
