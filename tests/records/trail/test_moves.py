"""A sheet that moved is the same sheet: by its number, by its place, by git's finding that it is mostly the same."""

from kept_history import NAMES, SHEET, KeptHistory, sheet, told

from engine_pages.records.trail import RecordTrail

OLD, NEW, OTHER = (SHEET.format(day) for day in ("2026-03-01", "2026-03-02", "2026-03-03"))
READING = "positions rotor-bearing-2 measured inside_diameter"


def moves(record: RecordTrail) -> list[tuple[str, str, str]]:
    return [(turn.what, turn.was, turn.path) for turn in record.turns]


def test_a_corrected_date_is_an_amendment_of_the_same_sheet(history: KeptHistory) -> None:
    first = history.commit({OLD: sheet("60.061")})
    history.commit({OLD: None, NEW: sheet("60.061", date="2026-03-02")}, by="TM")
    (record,) = history.trail().records
    assert record.recorded is not None
    assert (record.path, record.recorded.id, record.paths) == (NEW, first, (OLD, NEW))
    assert moves(record) == [("moved", OLD, NEW)]
    assert told(record) == [("date", "changed", "2026-03-01", "2026-03-02", "TM")]


def test_a_date_taken_back_is_the_sheets_date_again(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061")})
    history.commit({OLD: None, NEW: sheet("60.061", date="2026-03-02")})
    history.git("revert", "--no-edit", "HEAD", by="TM")
    (record,) = history.trail().records
    assert (record.path, record.date) == (OLD, "2026-03-01")
    assert [(turn.was, turn.path) for turn in record.turns] == [(OLD, NEW), (NEW, OLD)]
    assert [one[2:] for one in told(record)] == [("2026-03-01", "2026-03-02", "RK"), ("2026-03-02", "2026-03-01", "TM")]


def test_by_its_number_a_sheet_is_known_though_nothing_else_stayed(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061")})
    history.commit({OLD: None, NEW: "engine: K-07\ndate: 2026-03-02\nsheet: T-0412\nby: RK\n"})
    (record,) = history.trail().records
    assert moves(record) == [("moved", OLD, NEW)]
    assert (READING, "removed", "60.061", None, "RK") in told(record)


def test_a_sheet_without_a_number_is_known_by_what_it_says(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061", number=None)})
    history.commit({OLD: None, NEW: sheet("60.061", number=None, date="2026-03-02")})
    (record,) = history.trail().records
    assert moves(record) == [("moved", OLD, NEW)]
    assert told(record) == [("date", "changed", "2026-03-01", "2026-03-02", "RK")]


def test_two_sheets_of_two_numbers_are_two_however_alike(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061", number="T-0412")})
    history.commit({OLD: None, NEW: sheet("60.061", number="T-0413", date="2026-03-02")})
    old, new = history.trail().records
    assert (old.path, old.here, moves(old)) == (OLD, False, [("removed", "", OLD)])
    assert (new.path, new.amendments, new.turns) == (NEW, (), ())


def test_two_sheets_that_changed_places_kept_their_trails(history: KeptHistory) -> None:
    one, other = sheet("1", number="T-1"), sheet("2", number="T-2", date="2026-03-02")
    history.commit({OLD: one, NEW: other})
    history.commit({OLD: other.replace("03-02", "03-01"), NEW: one.replace("03-01", "03-02")})
    found = {record.number: record for record in history.trail().records}
    assert (found["T-1"].path, found["T-2"].path) == (NEW, OLD)
    assert told(found["T-1"]) == [("date", "changed", "2026-03-01", "2026-03-02", "RK")]
    assert told(found["T-2"]) == [("date", "changed", "2026-03-02", "2026-03-01", "RK")]


def test_a_sheet_that_came_to_the_place_of_one_that_moved_is_a_new_one(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061", number="T-1")})
    history.commit({OLD: sheet("60.099", number="T-2"), NEW: sheet("60.061", number="T-1", date="2026-03-02")})
    found = {record.number: record for record in history.trail().records}
    assert (found["T-1"].path, moves(found["T-1"])) == (NEW, [("moved", OLD, NEW)])
    assert (found["T-2"].path, found["T-2"].amendments, found["T-2"].turns) == (OLD, (), ())


def test_a_new_sheet_later_at_the_place_of_one_that_moved_is_a_new_one(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061", number=None)})
    history.commit({OLD: None, NEW: sheet("60.061", number=None, date="2026-03-02")})
    history.commit({OLD: sheet("60.099", number=None)}, by="TM")
    old, new = history.trail().records
    assert (old.path, old.amendments, old.recorded and old.recorded.author) == (OLD, (), NAMES["TM"])
    assert (new.path, len(new.amendments)) == (NEW, 1)


def test_a_number_put_right_in_place_is_an_amendment(history: KeptHistory) -> None:
    history.commit({OLD: sheet(number="T-0421")})
    history.commit({OLD: sheet(number="T-0412")})
    (record,) = history.trail().records
    assert told(record) == [("sheet", "changed", "T-0421", "T-0412", "RK")]
    history.commit({NEW: sheet(number="T-0421", date="2026-03-02")})
    assert len(history.trail().records) == 2


def test_a_move_in_two_commits_the_new_file_first(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061")})
    history.commit({NEW: sheet("60.061", date="2026-03-02")}, by="TM")
    assert [record.amendments for record in history.trail().records] == [(), ()]
    history.commit({OLD: None})
    history.commit({NEW: sheet("60.016", date="2026-03-02")})
    (record,) = history.trail().records
    assert moves(record) == [("moved", OLD, NEW)]
    assert told(record) == [
        ("date", "changed", "2026-03-01", "2026-03-02", "TM"),
        (READING, "changed", "60.061", "60.016", "RK"),
    ]


def test_a_move_in_two_commits_the_old_file_first(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061"), "shop.yml": "name: A\n"})
    history.commit({OLD: None})
    history.commit({NEW: sheet("60.061", date="2026-03-02")}, by="TM")
    record = history.record(NEW)
    assert [turn.what for turn in record.turns] == ["removed", "restored"]
    assert told(record) == [("date", "changed", "2026-03-01", "2026-03-02", "TM")]


def test_a_copy_that_keeps_the_number_does_not_take_the_sheets_trail(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061")})
    history.commit({NEW: sheet("60.099")})
    history.commit({OLD: sheet("60.016")})
    found = {record.path: told(record) for record in history.trail().records}
    assert found == {OLD: [(READING, "changed", "60.061", "60.016", "RK")], NEW: []}


def test_capitals_put_right_in_an_engines_folder_amend_nothing(history: KeptHistory) -> None:
    lower = {path.replace("K-07", "k-07"): sheet("1", number=None) for path in (OLD, NEW)}
    history.commit({**lower, "engines/k-07/log.yml": "- {date: 2026-03-01, kind: run}\n"})
    right = {path.replace("k-07", "K-07"): text.replace("Two light", "2 light") for path, text in lower.items()}
    history.git("mv", "engines/k-07", "engines/moving")
    history.git("mv", "engines/moving", "engines/K-07")
    history.commit(right)
    records = history.trail().records
    assert [record.path for record in records] == ["engines/K-07/log.yml", OLD, NEW]
    assert [[turn.what for turn in record.turns] for record in records] == [["moved"]] * 3
    assert [len(record.amendments) for record in records] == [0, 1, 1]


def test_a_whole_engine_renamed_keeps_every_trail(history: KeptHistory) -> None:
    files = {OLD: sheet("1"), NEW: sheet("2", number=None, date="2026-03-02"), "engines/K-07/plan.yml": "keep: 0.90\n"}
    history.commit(files)
    history.git("mv", "engines/K-07", "engines/K-08")
    moved = {path.replace("K-07", "K-08"): text.replace("K-07", "K-08") for path, text in files.items()}
    history.commit(moved)
    records = history.trail().records
    assert [record.path for record in records] == sorted(moved)
    assert [[one[0] for one in told(record)] for record in records] == [[], ["engine"], ["engine"]]


def test_a_parts_file_is_no_sheets_new_name(history: KeptHistory) -> None:
    text = "serial: RB-1\nkind: rotor-bearing\nfamily: twin-rotor\norigin: new\n"
    history.commit({"engines/K-07/engine.yml": text})
    history.commit({"engines/K-07/engine.yml": None, "parts/RB-1.yml": text})
    assert [(record.path, record.turns != ()) for record in history.trail().records] == [
        ("engines/K-07/engine.yml", True),
        ("parts/RB-1.yml", False),
    ]


def test_a_serial_put_right_moves_the_parts_file(history: KeptHistory) -> None:
    text = "serial: RB-1024\nkind: rotor-bearing\nfamily: twin-rotor\norigin: new\nprior: {hours: 12}\n"
    history.commit({"parts/RB-1024.yml": text})
    history.commit({"parts/RB-1024.yml": None, "parts/RB-1042.yml": text.replace("1024", "1042")})
    (record,) = history.trail().records
    assert told(record) == [("serial", "changed", "RB-1024", "RB-1042", "RK")]


# ── one number in two engines ────────────────────────────────────────────────────────────────────────────────────────

OTHER = OLD.replace("K-07", "K-08")


def of_other(text: str) -> str:
    return text.replace("K-07", "K-08")


def test_a_number_that_another_engine_bears_too_joins_no_histories(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061", number="T-1"), "shop.yml": "name: A\n"})
    history.commit({OTHER: of_other(sheet("60.099", number="T-1"))}, by="TM")
    history.commit({OLD: None})
    one, other = history.record(OLD), history.record(OTHER)
    assert (one.here, moves(one), one.amendments) == (False, [("removed", "", OLD)], ())
    assert (other.amendments, other.turns, other.recorded and other.recorded.author) == ((), (), NAMES["TM"])


def test_of_one_number_in_two_engines_each_sheet_moves_within_its_own(history: KeptHistory) -> None:
    history.commit({OLD: sheet("1", number="T-1"), OTHER: of_other(sheet("2", number="T-1"))})
    new, newer = sheet("1", number="T-1", date="2026-03-02"), of_other(sheet("2", number="T-1", date="2026-03-02"))
    history.commit({OLD: None, OTHER: None, NEW: new, NEW.replace("K-07", "K-08"): newer})
    assert [[one[0] for one in told(record)] for record in history.trail().records] == [["date"], ["date"]]


def test_a_number_that_was_another_engines_long_ago_brings_nothing_of_it_back(history: KeptHistory) -> None:
    history.commit({OLD: sheet("60.061", number="T-1"), "shop.yml": "name: A\n"})
    history.commit({OLD: None})
    history.commit({OTHER: of_other(sheet("60.099", number="T-1"))}, by="TM")
    assert (history.record(OTHER).amendments, history.record(OTHER).turns) == ((), ())
