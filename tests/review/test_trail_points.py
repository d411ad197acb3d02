"""Points of the trail: what was recorded late, changed without a word why, or is in no commit."""

import subprocess
from pathlib import Path

import pytest

from engine_pages.history.trail_asked import ask_trail
from engine_pages.history.trail_days import days_late
from engine_pages.history.trail_figures import trail_figures
from engine_pages.history.trail_words import trail_text
from engine_pages.records.git import repository_of
from engine_pages.records.trail import read_trail

from .shop_for_review import BUILD, CLEAN, LOG, PHOTO, REBUILD, STRIP, Shop, clean_shop, open_points

CHANGED = {STRIP: CLEAN[STRIP].replace("60.023", "60.013")}


def test_a_figure_that_was_changed_is_told_with_both_values_until_somebody_writes_why(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write(CHANGED).commit("2026-05-20")
    found = open_points(shop.review())
    assert list(found) == [("figure-changed", "teardowns/2026-05-02/teardown.yml")]
    (what,) = found.values()
    assert "bearing › inside: 60.023 → 60.013 on 2026-05-20, and no correction is written" in what


def test_a_correction_beside_the_figure_in_the_same_commit_settles_it(tmp_path: Path) -> None:
    why = CHANGED[STRIP].replace("{measured: {inside: 60.013},", "{measured: {inside: 60.013}, correction: One turn.,")
    assert open_points(clean_shop(tmp_path / "shop").write({STRIP: why}).commit("2026-05-20").review()) == {}


def test_a_note_that_is_worded_better_is_no_changed_figure(tmp_path: Path) -> None:
    noted = CLEAN[STRIP].replace("reason: planned", "reason: planned\n        note: Clean.")
    shop = clean_shop(tmp_path / "shop").write({STRIP: noted}).commit("2026-05-20")
    assert (
        open_points(shop.write({STRIP: noted.replace("Clean.", "Clean inside.")}).commit("2026-05-21").review()) == {}
    )


def test_a_limit_that_was_moved_in_the_family_is_a_changed_figure(tmp_path: Path) -> None:
    family = "families/single.yml"
    moved = CLEAN[family].replace("60.100", "60.200")
    found = open_points(clean_shop(tmp_path / "shop").write({family: moved}).commit("2026-05-20").review())
    assert ("figure-changed", family) in found
    assert "60.100 → 60.200" in found["figure-changed", family]


def test_hours_that_were_taken_off_a_run_are_a_changed_figure(tmp_path: Path) -> None:
    shop = (
        clean_shop(tmp_path / "shop").write({LOG: CLEAN[LOG].replace("hours: 2.0", "hours: 1.0")}).commit("2026-05-20")
    )
    assert "hours: 2.0 → 1.0" in open_points(shop.review())["figure-changed", "log.yml"]


def test_lines_that_are_added_to_the_log_change_no_figure(tmp_path: Path) -> None:
    more = CLEAN[LOG] + "- {date: 2026-05-23, kind: run, hours: 0.5}\n"
    assert open_points(clean_shop(tmp_path / "shop").write({LOG: more}).commit("2026-05-24").review()) == {}


@pytest.mark.parametrize(("day", "late"), [("2026-03-21", False), ("2026-03-22", True)])
def test_a_sheet_is_late_from_fifteen_days_after_the_work(tmp_path: Path, day: str, late: bool) -> None:
    shop = (
        Shop(tmp_path / "shop").write({path: text for path, text in CLEAN.items() if "2026-05" not in path}).commit(day)
    )
    found = open_points(shop.review())
    assert (("recorded-late", "builds/2026-03-07.yml") in found) is late


def test_sheets_that_came_in_one_commit_are_one_point(tmp_path: Path) -> None:
    found = open_points(Shop(tmp_path / "shop").write(CLEAN).commit("2026-12-01").review())
    assert [what for (kind, _), what in found.items() if kind == "recorded-late"] == [
        "3 sheets were recorded in one commit, 206 to 269 days after the work",
        "log.yml: 2026-03-14 race, 2026-04-11 run written 234 to 262 days after the day",
    ]


def test_what_is_not_committed_is_said(tmp_path: Path) -> None:
    found = open_points(clean_shop(tmp_path / "shop").write({BUILD: CLEAN[BUILD].replace("40 Nm", "42 Nm")}).review())
    assert list(found) == [("not-committed", BUILD)]


def test_without_git_nobody_can_say_when_a_figure_was_written(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    subprocess.run(["rm", "-r", str(shop.folder / ".git")], check=True)
    assert list(open_points(shop.review())) == [("no-trail", "git")]


def test_a_clone_that_is_cut_says_so(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    where = tmp_path / "cut"
    subprocess.run(["git", "clone", "-q", "--depth=1", shop.folder.as_uri(), str(where)], check=True)
    shop.folder = where
    assert "this clone's history is cut" in open_points(shop.review())["no-trail", "git"]


def test_a_strip_and_a_log_that_were_taken_out_are_told_until_somebody_answers(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({STRIP: None, LOG: None}).commit("2026-05-20")
    found = {where: what for (kind, where), what in open_points(shop.review()).items() if kind == "record-gone"}
    assert list(found) == ["log.yml", "teardowns/2026-05-02/teardown.yml"]
    assert found["log.yml"] == "log.yml: recorded on 2026-03-15, and taken out on 2026-05-20"


def test_a_sheet_that_was_filed_anew_under_another_day_and_number_leaves_a_gap(tmp_path: Path) -> None:
    """Neither its number nor its place says that it is the same sheet: then the first one is gone."""
    numbered = CLEAN[REBUILD].replace("by: RK", "by: RK\n        sheet: B-1")
    shop = clean_shop(tmp_path / "shop").write({REBUILD: numbered}).commit("2026-05-11")
    other = numbered.replace("B-1", "B-2").replace("2026-05-09", "2026-05-08")
    shop.write({REBUILD: None, REBUILD.replace("09", "08"): other.replace("{part: B-2}", "{part: B-1}")})
    assert ("record-gone", "builds/2026-05-09.yml") in open_points(shop.commit("2026-05-20").review())


def test_a_sheet_that_went_to_another_engine_is_gone_from_this_one(tmp_path: Path) -> None:
    other = {"engines/E2/engine.yml": "engine: E2\nfamily: single\nstamped: ORW 0002\n"}
    shop = clean_shop(tmp_path / "shop").write(other).commit("2026-05-11")
    shop.write({STRIP: None, STRIP.replace("E1", "E2"): CLEAN[STRIP].replace("engine: E1", "engine: E2")})
    assert ("record-gone", "teardowns/2026-05-02/teardown.yml") in open_points(shop.commit("2026-05-20").review())


# ── written long after ───────────────────────────────────────────────────────────────────────────────────────────────

BLANK = CLEAN[STRIP].replace("{measured: {inside: 60.023}, decision: reuse}", "")


def test_figures_that_came_to_a_blank_strip_months_later_are_late(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({STRIP: BLANK}).commit("2026-05-04")
    shop.write({STRIP: CLEAN[STRIP]}).commit("2026-11-20")
    found = open_points(shop.review())["recorded-late", "teardowns/2026-05-02/teardown.yml"]
    assert found.endswith("bearing › inside, bearing › decision written 202 days after the work")


def test_figures_that_came_late_with_a_word_from_what_are_explained(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({STRIP: BLANK}).commit("2026-05-04")
    why = CLEAN[STRIP].replace("60.023}, decision: reuse", "60.023}, decision: reuse, correction: From the diary.")
    still_open = open_points(shop.write({STRIP: why}).commit("2026-11-20").review())
    assert "recorded-late" not in {kind for kind, _ in still_open}


def test_a_service_that_was_written_into_the_log_nine_months_later_is_late(tmp_path: Path) -> None:
    more = CLEAN[LOG] + "- {date: 2026-02-14, kind: service, did: [oil]}\n"
    shop = clean_shop(tmp_path / "shop").write({LOG: more}).commit("2026-11-20")
    found = open_points(shop.review())["recorded-late", "log.yml"]
    assert found == "log.yml: 2026-02-14 service written 279 days after the day"


# ── softened ─────────────────────────────────────────────────────────────────────────────────────────────────────────

CRACKED = CLEAN[STRIP].replace("{observed: {scoring: 1}, decision: reuse}", "{finding: Crack by the oil hole.}")


@pytest.mark.parametrize(
    ("path", "old", "new"),
    [
        (STRIP, "finding: Crack by the oil hole.", "observed: {scoring: 1}, decision: reuse"),
        (STRIP, "Crack by the oil hole.", "A mark by the oil hole."),
        (STRIP, "reason: failure", "reason: planned"),
        (STRIP, "note: Black all over.", ""),
        (STRIP, "correction: Was 60.030.", ""),
        (STRIP, "correction: Was 60.030.", "correction: Read wrong."),
        (BUILD, "40 Nm", "90 Nm"),
        (BUILD, "ester-15w50", "mineral-10w40"),
        (BUILD, "by: RK", ""),
        (BUILD, "did: line bored", "did: washed"),
        (LOG, "water_max: 131 °C", "water_max: 95 °C"),
        (LOG, "did: [oil]", "did: [plugs]"),
    ],
)  # fmt: skip
def test_bad_news_that_was_softened_is_told(tmp_path: Path, path: str, old: str, new: str) -> None:
    worse = {
        STRIP: CRACKED.replace(
            "reason: planned", "reason: failure\n        note: Black all over.\n        correction: Was 60.030."
        ),
        BUILD: CLEAN[BUILD].replace("torque:", "work: [{part: B-1, did: line bored}]\n        torque:"),
        LOG: CLEAN[LOG].replace("hours: 1.5", "hours: 1.5, water_max: 131 °C, did: [oil]"),
    }
    shop = clean_shop(tmp_path / "shop")
    shop.write(worse).commit("2026-05-11")
    assert old in worse[path]
    where = path.removeprefix("engines/E1/")
    before = open_points(shop.review()).get(("figure-changed", where), "")
    shop.write({path: worse[path].replace(old, new)}).commit("2026-05-20")
    after = open_points(shop.review())["figure-changed", where]
    assert "on 2026-05-20" in after
    assert "on 2026-05-20" not in before


def test_one_more_reason_takes_none_away(tmp_path: Path) -> None:
    one = CLEAN[STRIP].replace("reason: planned", "reason: planned\n        correction: [Was 60.030.]")
    shop = clean_shop(tmp_path / "shop").write({STRIP: one}).commit("2026-05-11")
    shop.write({STRIP: one.replace("[Was 60.030.]", "[Was 60.030., Read twice.]")}).commit("2026-05-12")
    assert open_points(shop.review()) == {}


# ── explained later ──────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("{measured: {inside: 60.013},", "{measured: {inside: 60.013}, correction: One turn.,"),
        ("reason: planned", "reason: planned\n        correction: One turn."),
    ],
    ids=["at the place", "on the sheet"],
)
def test_a_correction_of_a_later_commit_settles_what_was_changed_before_it(tmp_path: Path, old: str, new: str) -> None:
    shop = clean_shop(tmp_path / "shop").write(CHANGED).commit("2026-05-20")
    assert open_points(shop.write({STRIP: CHANGED[STRIP].replace(old, new)}).commit("2026-05-25").review()) == {}


def test_a_correction_that_came_with_another_change_does_not_settle_an_earlier_one(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write(CHANGED).commit("2026-05-20")
    other = CHANGED[STRIP].replace("reason: planned", "reason: failure\n        correction: Put right.")
    found = open_points(shop.write({STRIP: other}).commit("2026-05-25").review())
    (what,) = found.values()
    assert "60.023 → 60.013" in what
    assert "failure" not in what


def test_a_correction_settles_nothing_that_was_changed_after_it(tmp_path: Path) -> None:
    why = CLEAN[STRIP].replace("reason: planned", "reason: planned\n        correction: One turn.")
    shop = clean_shop(tmp_path / "shop").write({STRIP: why}).commit("2026-05-20")
    shop.write({STRIP: why.replace("60.023", "60.013")}).commit("2026-05-25")
    assert list(open_points(shop.review())) == [("figure-changed", "teardowns/2026-05-02/teardown.yml")]


@pytest.mark.parametrize(
    ("authored", "committed", "days"),
    [("2029-03-12", "2026-03-11", 4), ("2026-03-08", "2026-10-29", 236)],
    ids=["a clock years ahead", "a date long before its commit"],
)
def test_days_are_counted_to_the_commit_where_the_authors_date_proves_nothing(
    tmp_path: Path, authored: str, committed: str, days: int
) -> None:
    shop = Shop(tmp_path / "shop").write({path: text for path, text in CLEAN.items() if path not in (STRIP, REBUILD)})
    shop.commit(authored, committed=committed)
    repo = repository_of(shop.folder)
    assert repo is not None
    trail = ask_trail(repo, read_trail(repo), "E1")
    (build,) = trail.sheets
    assert days_late(build) == days
    assert f"{committed}  recorded {days} days after the work by" in trail_text(trail)
    points = open_points(shop.review())
    assert (("recorded-late", "builds/2026-03-07.yml") in points) is (days > 14)


# ── photos exchanged ─────────────────────────────────────────────────────────────────────────────────────────────────

AT_THE_PLACE = CLEAN[BUILD].replace("bearing: {part: B-1,", "bearing: {part: B-1, correction: The first was blurred.,")
ON_THE_SHEET = CLEAN[BUILD].replace("by: RK", "by: RK\n        correction: The first was blurred.")
ELSEWHERE = CLEAN[REBUILD].replace("bearing: {part: B-1}", "bearing: {part: B-1, correction: Of another photo.}")
CAPTIONED = CLEAN[BUILD].replace("view: whole}", "view: whole, caption: Drawn again.}")
EXCHANGED = ("photo-exchanged", "photos")


@pytest.mark.parametrize(
    ("said", "settled"),
    [
        ({BUILD: AT_THE_PLACE}, True),
        ({BUILD: ON_THE_SHEET}, True),
        ({BUILD: CAPTIONED}, True),
        ({REBUILD: ELSEWHERE}, False),
        ({BUILD: AT_THE_PLACE.replace("60.011", "60.012")}, False),  # it speaks of the change that it came with
    ],
)
def test_an_exchanged_photo_is_settled_by_a_later_word_at_its_place_and_nowhere_else(
    tmp_path: Path, said: dict[str, str], settled: bool
) -> None:
    shop = clean_shop(tmp_path / "shop").write({PHOTO: "another"}).commit("2026-05-20")
    assert list(open_points(shop.review())) == [EXCHANGED]
    assert (EXCHANGED not in open_points(shop.write(said).commit("2026-05-21").review())) is settled


@pytest.mark.parametrize("said", [AT_THE_PLACE, ON_THE_SHEET, CAPTIONED])
def test_a_word_in_the_same_commit_settles_an_exchanged_photo(tmp_path: Path, said: str) -> None:
    shop = clean_shop(tmp_path / "shop").write({PHOTO: "another", BUILD: said}).commit("2026-05-20")
    assert open_points(shop.review()) == {}


def test_a_word_that_was_written_before_settles_no_photo_that_was_exchanged_later(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({BUILD: CAPTIONED}).commit("2026-05-19")
    assert list(open_points(shop.write({PHOTO: "another"}).commit("2026-05-20").review())) == [EXCHANGED]


def test_the_trail_names_an_exchanged_photo(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write({PHOTO: "another"}).commit("2026-05-20", "Better light")
    repo = repository_of(shop.folder)
    assert repo is not None
    asked = ask_trail(repo, read_trail(repo), "E1")
    line = f"2026-05-20  photo exchanged: {PHOTO} is another picture under the same name, Rikke Kalverd: Better light"
    assert line in trail_text(asked)
    (record,) = [one for one in trail_figures(asked)["sheets"] if one["path"] == BUILD]
    (turn,) = record["turns"]
    assert (turn["what"], turn["path"]) == ("photo exchanged", PHOTO)
    assert turn["field"] == ["positions", "bearing", "photos", "bearing.jpg"]
