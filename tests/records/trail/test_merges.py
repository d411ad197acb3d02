"""Branches: what was written on one is told once, of who wrote it, whichever way it came to the other."""

import random

import pytest
from kept_history import NAMES, SHEET, KeptHistory, initials, sheet, told

from engine_pages.records.commit_graph import CommitGraph

PATH, NEW = SHEET.format("2026-03-01"), SHEET.format("2026-03-02")
READING = "positions rotor-bearing-2 measured inside_diameter"
FINDING = "positions rotor-bearing-2 finding"
CRACKED = sheet().replace("Two light scratches on the loaded side", "Cracked")


@pytest.fixture
def forked(history: KeptHistory) -> KeptHistory:
    """A sheet on main, and TM's reading of it on the branch `side`; main is checked out."""
    history.commit({PATH: sheet("60.061"), "shop.yml": "name: A\n"})
    history.git("checkout", "-q", "-b", "side")
    history.commit({PATH: sheet("60.016")}, "Read again", by="TM", at="2026-03-02T12:00:00+01:00")
    history.git("checkout", "-q", "main")
    return history


def main_goes_on(history: KeptHistory) -> str:
    return history.commit({"shop.yml": "name: B\n"}, at="2026-03-03T12:00:00+01:00")


def settle(history: KeptHistory, files: dict[str, str], by: str = "RK") -> None:
    """A merge of `side` that stops before its commit, and these files in it."""
    history.git("merge", "-q", "--no-ff", "--no-commit", "-s", "ours", "side")
    history.commit(files, "Settled", by=by, at="2026-03-04T12:00:00+01:00")


def test_a_merge_is_not_the_author_of_what_it_brought(forked: KeptHistory) -> None:
    main_goes_on(forked)
    forked.merge("side", by="RK")
    assert told(forked.record(PATH)) == [(READING, "changed", "60.061", "60.016", "TM")]


def test_one_file_edited_on_both_sides_has_each_authors_field(forked: KeptHistory) -> None:
    text = sheet("60.061", more="note: Seen by the owner.\nby: RK\n" + "# a line between\n" * 3)
    both = forked.commit({PATH: text}, at="2026-03-03T12:00:00+01:00")
    settle(forked, {PATH: text.replace("60.061", "60.016")})
    record = forked.record(PATH)
    assert sorted(told(record)) == [
        ("by", "added", None, "RK", "RK"),
        ("note", "added", None, "Seen by the owner.", "RK"),
        (READING, "changed", "60.061", "60.016", "TM"),
    ]
    assert {one.commit.id for one in record.amendments if initials(one) == "RK"} == {both}
    assert not any(one.left_out for one in record.amendments)


def test_an_edit_made_in_the_merge_itself_is_the_mergers_and_counts_once(forked: KeptHistory) -> None:
    main_goes_on(forked)
    settle(forked, {PATH: sheet("60.016").replace("Two light scratches on the loaded side", "Cracked")})
    assert told(forked.record(PATH)) == [
        (READING, "changed", "60.061", "60.016", "TM"),
        (FINDING, "changed", "Two light scratches on the loaded side", "Cracked", "RK"),
    ]


def test_a_conflict_settled_by_a_third_text_names_both_others(forked: KeptHistory) -> None:
    forked.commit({PATH: sheet("60.062")}, at="2026-03-03T12:00:00+01:00")
    settle(forked, {PATH: sheet("60.060")})
    record = forked.record(PATH)
    assert told(record)[-1] == (READING, "changed", "60.062", "60.060", "RK")
    assert record.amendments[-1].others == ("60.016",)
    assert not any(one.left_out for one in record.amendments)


def test_a_conflict_settled_for_one_side_says_that_the_other_does_not_stand(forked: KeptHistory) -> None:
    forked.commit({PATH: sheet("60.062")}, at="2026-03-03T12:00:00+01:00")
    settle(forked, {PATH: sheet("60.062")})
    theirs, ours = forked.record(PATH).amendments
    assert (theirs.new, theirs.left_out and theirs.left_out.subject) == ("60.016", "Settled")
    assert (ours.new, ours.left_out) == ("60.062", None)


def test_a_side_that_a_merge_threw_away_is_said(forked: KeptHistory) -> None:
    main_goes_on(forked)
    forked.git("checkout", "-q", "side")
    forked.commit({NEW: sheet(date="2026-03-02", number="T-0413")}, by="TM")
    forked.git("checkout", "-q", "main")
    forked.merge("side", "-s", "ours", by="RK")
    (amended,) = forked.record(PATH).amendments
    assert amended.left_out is not None
    assert amended.left_out.author == NAMES["RK"]
    lost = forked.record(NEW)
    assert (lost.here, [turn.what for turn in lost.turns]) == (False, ["left out"])


def test_a_sheet_moved_on_one_side_and_amended_on_the_other(forked: KeptHistory) -> None:
    forked.commit({PATH: None, NEW: sheet("60.061", date="2026-03-02")}, at="2026-03-03T12:00:00+01:00")
    forked.merge("side", by="RK")
    record = forked.record(NEW)
    assert sorted(told(record)) == [
        ("date", "changed", "2026-03-01", "2026-03-02", "RK"),
        (READING, "changed", "60.061", "60.016", "TM"),
    ]
    assert [turn.what for turn in record.turns] == ["moved"]
    assert [one.path for one in forked.trail().records] == [NEW, "shop.yml"]


def test_a_sheet_amended_on_main_and_moved_on_the_side(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061")})
    history.git("checkout", "-q", "-b", "side")
    history.commit({PATH: None, NEW: sheet("60.061", date="2026-03-02")}, by="TM", at="2026-03-02T12:00:00+01:00")
    history.git("checkout", "-q", "main")
    history.commit({PATH: sheet("60.016")}, at="2026-03-03T12:00:00+01:00")
    history.merge("side", by="RK")
    (record,) = history.trail().records
    assert record.path == NEW
    assert sorted(told(record)) == [
        ("date", "changed", "2026-03-01", "2026-03-02", "TM"),
        (READING, "changed", "60.061", "60.016", "RK"),
    ]


def test_a_sheet_removed_on_one_side_alone_was_removed_by_who_did_it(forked: KeptHistory) -> None:
    forked.git("checkout", "-q", "side")
    forked.commit({PATH: None}, by="TM", at="2026-03-03T12:00:00+01:00")
    forked.git("checkout", "-q", "main")
    main_goes_on(forked)
    forked.merge("side", by="RK")
    record = forked.record(PATH)
    assert [(turn.what, turn.commit.author) for turn in record.turns] == [("removed", NAMES["TM"])]
    assert not record.here


def test_a_sheet_typed_in_on_two_branches_is_one_record(history: KeptHistory) -> None:
    history.commit({"shop.yml": "name: A\n"})
    history.git("checkout", "-q", "-b", "side")
    history.commit({PATH: sheet("60.061")}, by="TM", at="2026-03-02T12:00:00+01:00")
    history.git("checkout", "-q", "main")
    history.commit({PATH: sheet("60.061")}, at="2026-03-03T12:00:00+01:00")
    history.merge("side")
    history.commit({PATH: sheet("60.016")}, at="2026-03-30T12:00:00+01:00")
    record = history.record(PATH)
    assert record.recorded is not None
    assert record.recorded.author == NAMES["TM"]
    assert told(record) == [(READING, "changed", "60.061", "60.016", "RK")]


@pytest.mark.parametrize(("kept", "left_out"), [("60.013", False), ("60.019", True)])
def test_a_sheet_typed_in_otherwise_on_two_branches_tells_both_readings(
    history: KeptHistory, kept: str, left_out: bool
) -> None:
    history.commit({"shop.yml": "name: A\n"})
    history.git("checkout", "-q", "-b", "side")
    history.commit({PATH: sheet("60.013")}, by="TM", at="2026-03-03T12:00:00+01:00")
    history.git("checkout", "-q", "main")
    history.commit({PATH: sheet("60.019")}, at="2026-03-02T12:00:00+01:00")
    settle(history, {PATH: sheet(kept)})
    record = history.record(PATH)
    assert record.recorded is not None
    assert record.recorded.author == NAMES["RK"]
    assert told(record) == [(READING, "changed", "60.019", "60.013", "TM")]
    assert (record.amendments[0].left_out is not None) is left_out


def test_a_picked_commit_amends_once_and_names_both(forked: KeptHistory) -> None:
    main_goes_on(forked)
    forked.git("cherry-pick", "side", by="RK", at="2026-03-03T12:00:00+01:00")
    picked = forked.git("rev-parse", "HEAD")
    assert told(forked.record(PATH)) == [(READING, "changed", "60.061", "60.016", "TM")]
    forked.merge("side", by="RK")
    record = forked.record(PATH)
    assert told(record) == [(READING, "changed", "60.061", "60.016", "TM")]
    assert record.amendments[0].again == (picked,)


def test_a_commit_taken_back_and_picked_once_more_amends_three_times(forked: KeptHistory) -> None:
    forked.git("merge", "-q", "--ff-only", "side")
    forked.git("revert", "--no-edit", "HEAD", at="2026-03-03T12:00:00+01:00")
    forked.git("cherry-pick", "side", by="RK", at="2026-03-04T12:00:00+01:00")
    assert [(one.old, one.new) for one in forked.record(PATH).amendments] == [
        ("60.061", "60.016"),
        ("60.016", "60.061"),
        ("60.061", "60.016"),
    ]


def test_a_rebased_commit_keeps_its_author_and_says_how_old_it_is(forked: KeptHistory) -> None:
    main_goes_on(forked)
    forked.git("checkout", "-q", "side")
    forked.git("rebase", "-q", "main", by="RK", at="2026-04-20T12:00:00+01:00")
    record = forked.record(PATH)
    assert told(record) == [(READING, "changed", "60.061", "60.016", "TM")]
    commit = record.amendments[0].commit
    assert (commit.committer, commit.late) == (NAMES["RK"], True)


def test_a_squash_is_one_amendment_by_who_squashed(forked: KeptHistory) -> None:
    forked.git("checkout", "-q", "side")
    forked.commit({PATH: sheet("60.017")}, by="TM")
    forked.git("checkout", "-q", "main")
    forked.git("merge", "-q", "--squash", "side")
    forked.git("commit", "-q", "-m", "TM's readings", by="RK")
    assert told(forked.record(PATH)) == [(READING, "changed", "60.061", "60.017", "RK")]


def test_three_branches_merged_at_once(forked: KeptHistory) -> None:
    forked.git("checkout", "-q", "-b", "third")
    forked.commit({NEW: sheet(date="2026-03-02", number="T-0413")}, at="2026-03-03T12:00:00+01:00")
    forked.git("checkout", "-q", "main")
    main_goes_on(forked)
    forked.merge("side", "third", by="RK")
    assert told(forked.record(PATH)) == [(READING, "changed", "60.061", "60.016", "TM")]
    record = forked.record(NEW)
    assert (record.amendments, record.turns) == ((), ())


def test_histories_that_began_apart_and_were_joined(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061")})
    history.git("checkout", "-q", "--orphan", "other")
    history.git("rm", "-rfq", ".")
    history.commit({"shop.yml": "name: A\n"}, by="TM", at="2026-03-02T12:00:00+01:00")
    history.git("checkout", "-q", "main")
    history.merge("other", "--allow-unrelated-histories")
    assert [(one.path, one.recorded and one.recorded.author) for one in history.trail().records] == [
        (PATH, NAMES["RK"]),
        ("shop.yml", NAMES["TM"]),
    ]


# ── sides of a merge ─────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_sides_of_a_merge_are_each_parents_own_commits() -> None:
    """Against the definition, commit by commit: in the past of one parent and of no other, gitrevisions(7) `^@`."""
    rng = random.Random(20260301)
    for _ in range(300):
        size = rng.randint(3, 25)
        parents = [rng.sample(range(at), min(at, rng.choice((1, 1, 2, 3)))) for at in range(size)]
        pasts: list[set[int]] = []
        for at, own in enumerate(parents):
            pasts.append({at}.union(*(pasts[one] for one in own)))
        graph = CommitGraph([(str(at), [str(one) for one in own]) for at, own in enumerate(parents)])
        for at, own in enumerate(parents):
            alone = [pasts[one].difference(*(pasts[other] for other in own if other != one)) for one in own]
            if len(own) > 1:
                assert graph.sides(str(at)) == alone
            for other in range(at):
                assert graph.is_before(str(other), str(at)) == (other in pasts[at])
