"""First and last commits, and what a history cannot tell: real repositories, asked for the trail of one sheet."""

import subprocess
from pathlib import Path

import pytest
from kept_history import NAMES, SHEET, KeptHistory, sheet, told

from engine_pages.pages.cache import Cache
from engine_pages.records.commits import LATE_DAYS
from engine_pages.records.git import repository_of
from engine_pages.records.trail import read_trail

PATH = SHEET.format("2026-03-01")
READING = "positions rotor-bearing-2 measured inside_diameter"


def test_the_first_commit_is_the_recording_and_no_amendment(history: KeptHistory) -> None:
    history.commit({"shop.yml": "name: A shop\n"})
    first = history.commit({PATH: sheet()}, "Strip\n\nIn a hurry.", by="TM", at="2026-03-02T18:00:00-05:00")
    record = history.record(PATH)
    assert record.recorded is not None
    assert (record.recorded.id, record.recorded.author, record.recorded.email) == (
        first,
        NAMES["TM"],
        "tm@shop.example",
    )
    assert (record.recorded.authored, record.recorded.committed) == ("2026-03-02T18:00:00-05:00",) * 2
    assert (record.recorded.subject, record.recorded.message) == ("Strip", "Strip\n\nIn a hurry.")
    assert (record.kind, record.number, record.date, record.amendments) == ("teardown", "T-0412", "2026-03-01", ())


def test_an_amendment_says_who_when_and_why(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061")})
    last = history.commit({PATH: sheet("60.016")}, "Digits swapped", by="TM", at="2026-03-09T08:00:00+01:00")
    record = history.record(PATH)
    (one,) = record.amendments
    assert (one.record, " ".join(one.field), one.kind, one.old, one.new) == (
        PATH, READING, "changed", "60.061", "60.016",
    )  # fmt: skip
    assert (one.commit.id, one.commit.author, one.commit.authored, one.commit.subject) == (
        last, NAMES["TM"], "2026-03-09T08:00:00+01:00", "Digits swapped",
    )  # fmt: skip
    assert record.last == one.commit


def test_a_commit_that_spells_the_file_anew_amends_nothing_and_is_its_last(history: KeptHistory) -> None:
    history.commit({PATH: sheet()})
    last = history.commit({PATH: sheet().replace("\n", "\r\n").replace("60.061", "'60.061'")})
    record = history.record(PATH)
    assert record.amendments == ()
    assert record.last is not None
    assert record.last.id == last


def test_a_revert_is_an_amendment_back(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061")})
    history.commit({PATH: sheet("60.016")})
    history.git("revert", "--no-edit", "HEAD", by="TM")
    assert told(history.record(PATH)) == [
        (READING, "changed", "60.061", "60.016", "RK"),
        (READING, "changed", "60.016", "60.061", "TM"),
    ]


def test_a_record_that_was_removed_keeps_its_trail(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061"), "shop.yml": "name: A\n"})
    history.commit({PATH: sheet("60.016")})
    history.commit({PATH: None}, by="TM")
    record = history.record(PATH)
    assert not record.here
    assert [(turn.what, turn.commit.author) for turn in record.turns] == [("removed", NAMES["TM"])]
    assert len(record.amendments) == 1


def test_a_record_that_was_put_back_is_held_against_what_it_said(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061"), "shop.yml": "name: A\n"})
    history.commit({PATH: None})
    history.commit({PATH: sheet("60.016")}, by="TM")
    record = history.record(PATH)
    assert record.here
    assert [turn.what for turn in record.turns] == ["removed", "restored"]
    assert told(record) == [(READING, "changed", "60.061", "60.016", "TM")]


def test_a_version_that_cannot_be_read_is_said_and_the_next_is_held_against_the_last(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061")})
    history.commit({PATH: sheet("60.016") + "<<<<<<< HEAD\n"}, by="TM")
    history.commit({PATH: sheet("60.016")})
    record = history.record(PATH)
    (turn,) = record.turns
    assert (turn.what, turn.commit.author) == ("unreadable", NAMES["TM"])
    assert turn.why.startswith("line 9: merge-conflict marker")
    assert told(record) == [(READING, "changed", "60.061", "60.016", "RK")]


def test_drafts_and_notes_have_no_trail(history: KeptHistory) -> None:
    history.commit({"inbox/a.yml": "a: 1\n", "notes/n.md": "x", "mkdocs.yml": "a: 1\n", PATH: sheet()})
    assert [record.path for record in history.trail().records] == [PATH]


def test_a_draft_that_was_settled_is_recorded_when_it_comes_to_its_place(history: KeptHistory) -> None:
    history.commit({"inbox/draft.yml": sheet("60.0")})
    settled = history.commit({"inbox/draft.yml": None, PATH: sheet()})
    record = history.record(PATH)
    assert record.recorded is not None
    assert record.recorded.id == settled
    assert record.amendments == ()


def test_a_shop_deep_in_its_repository_has_paths_of_its_own(history: KeptHistory) -> None:
    history.commit({f"shop/{PATH}": sheet(), "other/shop.yml": "a: 1\n"})
    history.commit({f"shop/{PATH}": sheet("60.016")})
    repo = repository_of(history.top / "shop")
    assert repo is not None
    (record,) = read_trail(repo).records
    assert (record.path, len(record.amendments)) == (PATH, 1)


def test_the_trail_at_an_earlier_commit_knows_nothing_later(history: KeptHistory) -> None:
    first = history.commit({PATH: sheet("60.061")})
    history.commit({PATH: sheet("60.016")})
    (record,) = history.trail(first).records
    assert (record.amendments, record.changed) == ((), False)


# ── what is not known ────────────────────────────────────────────────────────────────────────────────────────────────


def test_before_the_first_commit_every_record_is_uncommitted(history: KeptHistory) -> None:
    (history.top / "shop.yml").write_text("name: A\n", encoding="utf-8")
    trail = history.trail()
    assert trail.head is None
    assert [(one.path, one.recorded, one.changed) for one in trail.records] == [("shop.yml", None, True)]


def test_what_is_not_committed_is_said_and_not_told(history: KeptHistory) -> None:
    history.commit({PATH: sheet("60.061")})
    (history.top / PATH).write_text(sheet("60.016"), encoding="utf-8")
    (history.top / "shop.yml").write_text("name: A\n", encoding="utf-8")
    found = {one.path: one for one in history.trail().records}
    assert (found[PATH].changed, found[PATH].amendments) == (True, ())
    assert (found["shop.yml"].changed, found["shop.yml"].recorded) == (True, None)


def test_a_cut_clone_says_that_the_record_may_be_older(history: KeptHistory, tmp_path: Path) -> None:
    history.commit({PATH: sheet("60.061")})
    history.commit({PATH: sheet("60.016")})
    history.commit({PATH: sheet("60.017")})
    clone = tmp_path / "clone"
    subprocess.run(
        ["git", "clone", "-q", "--depth", "2", history.top.as_uri(), str(clone)], check=True, capture_output=True
    )
    trail = KeptHistory(clone).trail()
    (record,) = trail.records
    assert (trail.shallow, record.before_cut) == (True, True)
    assert [(one.old, one.new) for one in record.amendments] == [("60.016", "60.017")]
    whole = history.record(PATH)
    assert (history.trail().shallow, whole.before_cut) == (False, False)


def test_an_authors_date_long_before_its_commit_is_late_and_a_weeks_tidying_is_not(history: KeptHistory) -> None:
    assert LATE_DAYS == 7.0
    history.commit({PATH: sheet("1")}, at="2026-03-01T12:00:00+01:00", committed="2026-03-08T12:00:00+01:00")
    history.commit({PATH: sheet("2")}, at="2026-03-01T12:00:00+01:00", committed="2026-03-08T12:00:01+01:00")
    history.commit({PATH: sheet("3")}, at="2026-03-12T12:00:00+01:00", committed="2026-03-09T12:00:00+01:00")
    record = history.record(PATH)
    assert record.recorded is not None
    commits = [record.recorded, *(one.commit for one in record.amendments)]
    assert [(one.late, one.ahead) for one in commits] == [(False, False), (True, False), (False, True)]
    assert commits[2].gap == pytest.approx(-3.0)


def test_a_link_in_a_records_place_is_no_record(history: KeptHistory) -> None:
    history.commit({PATH: sheet(), "shop.yml": "name: A\n"})
    (history.top / PATH).unlink()
    (history.top / PATH).symlink_to("/etc/hostname")
    history.git("add", "--all")
    history.git("commit", "-q", "-m", "A link")
    record = history.record(PATH)
    assert (record.here, [turn.what for turn in record.turns]) == (False, ["removed"])


def test_names_and_messages_that_are_not_utf8_are_still_told(history: KeptHistory) -> None:
    history.git("config", "i18n.commitEncoding", "ISO-8859-1")
    (history.top / "shop.yml").write_text("name: A\n", encoding="utf-8")
    history.git("add", "--all")
    message = history.top.parent / "message"
    message.write_bytes("Öl geprüft".encode("latin-1"))
    history.git("commit", "-q", "-F", str(message))
    (record,) = history.trail().records
    assert record.recorded is not None
    assert record.recorded.subject == "Öl geprüft"


# ── kept from run to run ─────────────────────────────────────────────────────────────────────────────────────────────


def test_what_was_parsed_once_is_not_read_again_and_says_the_same(history: KeptHistory, tmp_path: Path) -> None:
    history.commit({PATH: sheet("60.061")})
    history.commit({PATH: sheet("[60.016, 60.017]") + "\tbad"})
    history.commit({PATH: sheet("[60.016, 60.018]")})
    repo, cache = repository_of(history.top), Cache(tmp_path / "cache")
    assert repo is not None
    cold, warm = read_trail(repo, kept=cache), read_trail(repo, kept=cache)
    assert cold == warm == read_trail(repo)
    (tmp_path / "cache").rename(tmp_path / "lost")
    assert read_trail(repo, kept=cache) == cold


def test_what_is_kept_is_taken_for_what_git_holds(history: KeptHistory, monkeypatch: pytest.MonkeyPatch) -> None:
    shelf: dict[tuple[str, str], bytes] = {}

    class Shelf:
        def get(self, kind: str, key: str) -> bytes | None:
            return shelf.get((kind, key))

        def put(self, kind: str, key: str, data: bytes) -> None:
            shelf[kind, key] = data

    history.commit({PATH: sheet("60.061")})
    history.commit({PATH: sheet("60.016")})
    repo = repository_of(history.top)
    assert repo is not None
    cold = read_trail(repo, kept=Shelf())

    def never(*_: object) -> None:
        raise AssertionError("a blob is parsed a second time")

    monkeypatch.setattr("engine_pages.records.parsed.read_document", never)
    assert read_trail(repo, kept=Shelf()) == cold
