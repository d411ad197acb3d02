"""What counts as an amendment: two versions of a record as YAML, the changes of fields that are told."""

import pytest

from engine_pages.records.amendments import FieldChange, field_changes, merged_changes
from engine_pages.records.yaml_text import Plain, read_document


def data(text: str) -> Plain:
    document, problems = read_document("a.yml", text.encode())
    assert not problems
    return document.data


def changes(old: str, new: str, **options: bool) -> list[tuple[str, str, str | None, str | None]]:
    found = field_changes(data(old), data(new), **options)
    return [(" ".join(one.field), one.kind, one.old, one.new) for one in found]


def one_change(old: str, new: str) -> FieldChange:
    (found,) = field_changes(data(old), data(new))
    return found


def test_a_reading_that_became_another_is_a_change() -> None:
    assert changes("measured: {bore: 60.061}", "measured: {bore: 60.016}") == [
        ("measured bore", "changed", "60.061", "60.016")
    ]


def test_a_field_filled_in_is_an_addition_and_one_taken_out_a_removal() -> None:
    assert changes("by: RK\nnote:\n", "by: RK\nnote: Oil clean.\n") == [("note", "added", None, "Oil clean.")]
    assert changes("by: RK\nnote: Oil clean.\n", "by: RK\n") == [("note", "removed", "Oil clean.", None)]


def test_a_key_with_nothing_after_it_says_as_little_as_no_key() -> None:
    assert changes("by: RK\nnote:\npositions: {a: , b: {}}\n", "by: RK\n") == []


@pytest.mark.parametrize(
    "spelt",
    [
        "measured: {height: 7.98, bore: 60.061}\nby: RK\n",
        "by: 'RK'\nmeasured:\n  bore: \"60.061\"\n  height: 7.98\n",
        "# read twice\nby: RK # himself\nmeasured: {bore: 60.061, height: 7.98}\n",
        "by: RK\r\nmeasured: {bore: 60.061, height: 7.98}\r\n",
        "\ufeffby: RK\nmeasured: {bore:   60.061,\n   height: 7.98}\n\n",
    ],
    ids=["order", "quotes and block form", "comments", "line ends", "byte-order mark and blanks"],
)
def test_how_yaml_spells_it_is_no_amendment(spelt: str) -> None:
    assert changes("by: RK\nmeasured: {bore: 60.061, height: 7.98}\n", spelt) == []


def test_a_last_nought_less_is_an_amendment_since_it_says_how_sure_the_reading_was() -> None:
    assert changes("gap: 0.050", "gap: 0.05") == [("gap", "changed", "0.050", "0.05")]


def test_texts_that_yaml_would_take_for_one_are_two() -> None:
    assert changes("serial: 00123\nswitch: no", "serial: 123\nswitch: false") == [
        ("serial", "changed", "00123", "123"),
        ("switch", "changed", "no", "false"),
    ]


def test_repeated_readings_are_one_field() -> None:
    assert changes("bore: [60.060, 60.061]", "bore:\n  - 60.060\n  - 60.016\n") == [
        ("bore", "changed", "[60.060, 60.061]", "[60.060, 60.016]")
    ]


def test_a_list_of_two_texts_is_told_from_one_text_with_a_comma() -> None:
    assert changes('did: ["a, b"]', "did: [a, b]") == [("did", "changed", '["a, b"]', "[a, b]")]


def test_a_reading_given_its_circumstances_is_not_another_reading() -> None:
    assert changes("bore: 60.061", "bore: {value: 60.061, by: RK}") == [("bore by", "added", None, "RK")]
    assert changes("bore: {value: 60.061, by: RK}", "bore: 60.016") == [
        ("bore value", "changed", "60.061", "60.016"),
        ("bore by", "removed", "RK", None),
    ]


def test_a_single_value_split_up_by_member_is_told_field_by_field() -> None:
    assert changes("height: 7.98", "height: {a1: 7.98, a2: 7.97}") == [
        ("height a1", "added", None, "7.98"),
        ("height a2", "added", None, "7.97"),
        ("height", "removed", "7.98", None),
    ]


def test_what_came_whole_names_the_whole_so_that_it_can_be_told_on_one_line() -> None:
    found = field_changes(data("positions: {a: {part: A}}"), data("positions: {a: {part: A}, b: {part: B, by: RK}}"))
    assert [(one.field, one.block) for one in found] == [
        (("positions", "b", "part"), ("positions", "b")),
        (("positions", "b", "by"), ("positions", "b")),
    ]


def test_a_place_named_on_a_build_sheet_was_fitted_though_nothing_stands_after_it() -> None:
    old, new = "positions: {a: {part: A}}", "positions:\n  a: {part: A}\n  b:\n"
    assert changes(old, new, bare_places=True) == [("positions b", "added", None, "")]
    assert changes(old, new) == []
    assert changes(new, "positions: {a: {part: A}, b: {part: B}}", bare_places=True) == [
        ("positions b part", "added", None, "B")
    ]


# ── corrections ──────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_correction_beside_the_reading_goes_with_it() -> None:
    found = field_changes(
        data("positions: {a: {measured: {bore: 60.061}}, b: {part: B}}"),
        data("positions: {a: {measured: {bore: 60.016}, correction: Wrong line read.}, b: {part: C}}"),
    )
    assert {one.field: one.correction for one in found} == {
        ("positions", "a", "measured", "bore"): ("Wrong line read.",),
        ("positions", "a", "correction"): ("Wrong line read.",),
        ("positions", "b", "part"): (),
    }


def test_a_correction_on_the_sheet_explains_what_has_none_of_its_own() -> None:
    assert one_change("a: 1\ncorrection: Old one.", "a: 2\ncorrection: Old one.").correction == ()
    first, _ = field_changes(
        data("a: 1\ncorrection: [Old one.]"), data("a: 2\ncorrection: [Old one., Read off the wrong gauge.]")
    )
    assert first.correction == ("Read off the wrong gauge.",)


# ── lists ────────────────────────────────────────────────────────────────────────────────────────────────────────────

LOG = """
- {date: 2026-03-02, kind: run, what: dyno, hours: 2.4}
- {date: 2026-03-14, kind: run, what: race, minutes: 35}
"""


def test_a_line_put_in_above_moves_the_others_and_changes_none() -> None:
    new = LOG.replace("- {date: 2026-03-14", "- {date: 2026-03-08, kind: service, did: [oil]}\n- {date: 2026-03-14")
    assert changes(LOG, new) == [
        ("2026-03-08 service date", "added", None, "2026-03-08"),
        ("2026-03-08 service kind", "added", None, "service"),
        ("2026-03-08 service did", "added", None, "[oil]"),
    ]


def test_a_log_line_is_known_by_its_date() -> None:
    assert changes(LOG, LOG.replace("minutes: 35", "minutes: 53")) == [
        ("2026-03-14 race minutes", "changed", "35", "53")
    ]
    assert changes(LOG, LOG.replace("what: race", "what: practice")) == [
        ("2026-03-14 practice what", "changed", "race", "practice")
    ]


def test_a_log_line_whose_date_was_put_right_is_the_same_line() -> None:
    assert changes(LOG, LOG.replace("2026-03-14", "2026-03-15")) == [
        ("2026-03-15 race date", "changed", "2026-03-14", "2026-03-15")
    ]


def test_of_two_lines_on_one_date_what_stands_beside_it_tells_which() -> None:
    old = (
        "- {date: 2026-03-14, kind: run, what: practice, minutes: 20}\n"
        "- {date: 2026-03-14, kind: run, what: race, minutes: 35}\n"
    )
    new = (
        "- {date: 2026-03-14, kind: run, what: race, minutes: 36}\n"
        "- {date: 2026-03-14, kind: run, what: practice, minutes: 20}\n"
    )
    assert changes(old, new) == [("2026-03-14 race minutes", "changed", "35", "36")]


def test_two_lines_that_say_the_same_of_one_date_are_numbered() -> None:
    old = "- {date: 2026-03-14, kind: run, minutes: 20}\n- {date: 2026-03-14, kind: run, minutes: 35}\n"
    assert changes(old, old.replace("35", "36")) == [("2026-03-14 run (2) minutes", "changed", "35", "36")]


def test_photos_are_known_by_their_file_and_work_by_its_part() -> None:
    work = "\nwork: [{part: CS-88, did: ground, size: -0.25 mm}]"
    old = "photos: [{file: a.jpg, view: front}, {file: b.jpg, view: rear}]" + work
    new = "photos: [{file: b.jpg, view: top}, {file: a.jpg, view: front}]" + work.replace("0.25", "0.50")
    assert changes(old, new) == [
        ("photos b.jpg view", "changed", "rear", "top"),
        ("work CS-88 ground size", "changed", "-0.25 mm", "-0.50 mm"),
    ]


def test_a_link_is_never_named_by_its_token() -> None:
    old, new = "shares: []", "shares: [{engine: K-07, edition: owner, made: 2026-11-02, token: secret}]"
    assert {field for field, *_ in changes(old, new)} == {
        f"shares K-07 owner 2026-11-02 {key}" for key in ("engine", "edition", "made", "token")
    }


# ── merges ───────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_of_a_merge_only_what_differs_from_every_parent_was_edited_in_it() -> None:
    ours, theirs = data("a: 2\nb: 1\nc: 1\nd: 1"), data("a: 1\nb: 2\nc: 2\nd: 1")
    (found,) = merged_changes([ours, theirs], data("a: 2\nb: 2\nc: 3\nd: 1"))
    assert (found.field, found.old, found.new, found.others) == (("c",), "1", "3", ("2",))


def test_what_one_parent_did_not_have_and_the_other_said_otherwise_is_a_change() -> None:
    (found,) = merged_changes([data("a: 1"), data("a: 1\nb: 2")], data("a: 1\nb: 3"))
    assert (found.field, found.kind, found.old, found.new, found.others) == (("b",), "changed", "2", "3", (None,))
