"""Slips in the names of files and folders: copies, misspelt records, names that other computers cannot keep.

Each row adds files to a small shop that has no problems.
"""

import unicodedata
from datetime import date
from pathlib import Path

import pytest

from engine_pages.records.checks.all import read_checked
from engine_pages.records.slips import meant_path, without_copy_mark
from engine_pages.records.source import Problem
from engine_pages.records.tree import Folder, why_not_on_windows

TODAY = date(2026, 11, 5)
E = "engines/E1"
B, LOOKS, T, L = (f"{E}/{name}" for name in ("builds/2026-01-01.yml", "inspections", "teardowns", "log.yml"))
FAMILY = "family: single\narchitecture: piston\nexposure: hours\npositions: {pump: pump}\nkinds: {pump: }\n"
ENGINE = "engine: E1\nfamily: single\n"
RUN = "- {date: 2026-02-01, kind: run, hours: 1}\n"
SHEET = "engine: E1\ndate: 2026-01-01\npositions: {pump: {part: P-1}}\n"
LOOKED = "engine: E1\ndate: 2026-03-01\npositions: {pump: {crew_note: clean}}\n"
GOOD = {
    "shop.yml": "name: Third Bay\n",
    "families/single.yml": FAMILY,
    "parts/P-1.yml": "serial: P-1\nkind: pump\n",
    f"{E}/engine.yml": ENGINE,
    L: RUN,
    B: SHEET,
}


def problems(root: Path, added: dict[str, str]) -> tuple[Problem, ...]:
    for path, text in {**GOOD, **added}.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    return read_checked(Folder(root), TODAY).problems


def test_a_good_shop_has_no_problems(tmp_path: Path) -> None:
    assert problems(tmp_path, {}) == ()


@pytest.mark.parametrize(
    ("path", "meant"),
    [
        ("engines/E2/engin.yml", "engines/E2/engine.yml"),
        (f"{E}/Plans.yml", f"{E}/plan.yml"),
        (f"{E}/reveiw.yml", f"{E}/review.yml"),
        (f"{E}/review.yaml", f"{E}/review.yml"),
        ("share.yml", "shares.yml"),
        ("family/twin.yml", "families/twin.yml"),
        ("part/P-2.yml", "parts/P-2.yml"),
        ("parts/P-2.yaml", "parts/P-2.yml"),
        ("engine/E2/engine.yml", "engines/E2/engine.yml"),
        (f"{E}/logs/2026.yml", f"{E}/log/2026.yml"),
        (f"{E}/build/2026-02-01.yml", f"{E}/builds/2026-02-01.yml"),
        (f"{E}/build-2026.yml", f"{E}/builds/DATE.yml"),
        (f"{E}/inspection 2026-03-01.yml", f"{LOOKS}/2026-03-01.yml"),
        (f"{T}/2026-03-01.yml", f"{T}/2026-03-01/teardown.yml"),
        (f"{T}/2026-03-01/teardwon.yml", f"{T}/2026-03-01/teardown.yml"),
        (f"{E}/teardown.yml", f"{T}/DATE/teardown.yml"),
    ],
)
def test_a_misspelt_name_is_answered_with_the_nearest_right_one(tmp_path: Path, path: str, meant: str) -> None:
    message = f"{path}:1:1: doubt: no record is read from this place; did you mean {meant}?"
    assert message in [str(one) for one in problems(tmp_path, {path: "note: x\n"})]


@pytest.mark.parametrize(
    ("path", "original"),
    [
        ("shops.yml", "shop.yml"),
        (f"{E}/log (1).yml", L),
        (f"{E}/log - Copy.yml", L),
        (f"{E}/log copy 2.yml", L),
        (f"{E}/log.yml.bak", L),
        (f"{E}/log.yml~", L),
        (f"{E}/log.yml.orig", L),
        (f"{E}/Log.YML.old", L),
        (f"{B}.bak", B),
        (f"{E}/engine(2).yml", f"{E}/engine.yml"),
    ],
)
def test_a_copy_beside_a_record_names_the_record(tmp_path: Path, path: str, original: str) -> None:
    [problem] = problems(tmp_path, {path: "note: x\n"})
    assert str(problem.source) == f"{path}:1:1"
    assert problem.level == "doubt"
    assert problem.message.endswith(f"if it is a copy of {original}, keep it outside the records")


@pytest.mark.parametrize("path", [f"{E}/quotes.yml", "parts/old/P-2.yml", "customers.yml", f"{E}/2026-01-01.yml"])
def test_a_name_that_is_like_none_is_offered_none(tmp_path: Path, path: str) -> None:
    [problem] = problems(tmp_path, {path: "note: x\n"})
    assert problem.message == "no record is read from this place; see the folder's layout for its name"


@pytest.mark.parametrize("path", ["notes/engin.yml", "tools/x.yml", f"{E}/lab/oil.yml", "drawings/engine.yml"])
def test_files_of_the_shops_own_are_left_alone(tmp_path: Path, path: str) -> None:
    assert problems(tmp_path, {path: "note: x\n"}) == ()


@pytest.mark.parametrize(
    ("name", "others", "meant"),
    [
        ("2026-03-01-00", ["2026-03-01"], "2026-03-01-2"),
        ("2026-03-01-1", ["2026-03-01", "2026-03-01-2"], "2026-03-01-3"),
        ("2026-03-01-01", [], "2026-03-01"),
        ("2026-03-01-04", [], "2026-03-01-4"),
    ],
)
def test_an_odd_number_behind_a_sheets_day_is_answered_with_the_name_it_should_have(
    tmp_path: Path, name: str, others: list[str], meant: str
) -> None:
    found = problems(tmp_path, {f"{LOOKS}/{sheet}.yml": LOOKED for sheet in (name, *others)})
    message = f"{name} counts as a sheet of its own; if it is no copy, name it {meant}"
    assert [str(one) for one in found] == [f"{LOOKS}/{name}.yml:1:1: doubt: {message}"]


@pytest.mark.parametrize("path", [f"{LOOKS}/2026-03-01 (1).yml", f"{T}/2026-03-01 - Copy/teardown.yml"])
def test_a_copied_sheet_is_an_error_since_its_lines_would_count_twice(tmp_path: Path, path: str) -> None:
    [problem] = [one for one in problems(tmp_path, {path: LOOKED}) if one.level == "error"]
    assert str(problem.source) == f"{path}:1:1"
    assert problem.message.endswith("if it is a copy of 2026-03-01, take it away")


def test_a_copied_log_in_the_logs_folder_is_named_with_its_original(tmp_path: Path) -> None:
    files = {f"{E}/log/2026.yml": RUN, f"{E}/log/2026 (1).yml": RUN}
    assert any(
        str(one.source) == f"{E}/log/2026 (1).yml:1:1" and f"a copy of {E}/log/2026.yml" in one.message
        for one in problems(tmp_path, files)
    )


@pytest.mark.parametrize(
    ("added", "name", "first"),
    [
        ({"engines/e1/engine.yml": ENGINE.replace("E1", "e1")}, "engines/e1", "engines/E1"),
        ({"parts/p-1.yml": "serial: p-1\nkind: pump\n"}, "parts/p-1.yml", "parts/P-1.yml"),
        ({"families/Single.yml": FAMILY.replace("single", "Single")}, "families/single.yml", "families/Single.yml"),
        ({f"{E}/Builds/2026-01-01/side.jpg": ""}, f"{E}/builds", f"{E}/Builds"),
    ],
)
def test_names_that_differ_in_capitals_alone_are_an_error_that_names_both(
    tmp_path: Path, added: dict[str, str], name: str, first: str
) -> None:
    told = [one for one in problems(tmp_path, added) if "capitals or accents alone" in one.message]
    assert [(one.level, one.message.split(";")[0]) for one in told] == [
        ("error", f"{name} differs from {first} in capitals or accents alone")
    ]


def test_an_accent_is_written_in_two_ways_and_is_one_name(tmp_path: Path) -> None:
    one, other = (unicodedata.normalize(form, "engines/É1/note.txt") for form in ("NFC", "NFD"))
    assert one != other
    told = [one for one in problems(tmp_path, {one: "", other: ""}) if "capitals or accents alone" in one.message]
    assert [problem.level for problem in told] == ["error"]


def test_photos_that_differ_in_capitals_alone_are_a_doubt(tmp_path: Path) -> None:
    folder = f"{E}/builds/2026-01-01"
    [problem] = problems(tmp_path, {f"{folder}/side.JPG": "", f"{folder}/side.jpg": ""})
    assert (problem.level, str(problem.source)) == ("doubt", f"{folder}/side.jpg:1:1")


# Microsoft Learn, "Naming Files, Paths, and Namespaces", from memory: devices with any ending, the signs, and the end.
@pytest.mark.parametrize(
    "name", ["CON", "nul.yml", "Com1", "LPT9.jpg", "COM¹", "K-07.", "K-07 ", *(f"a{sign}b" for sign in '<>:"|?*\\\x1f')]
)
def test_names_that_windows_does_not_take_against_microsofts_list(name: str) -> None:
    assert why_not_on_windows(name) is not None


@pytest.mark.parametrize("name", ["CONROD", "K-07", ".con", "COM0", "com10", "null", "K.07.yml", "a b"])
def test_names_that_windows_takes_against_microsofts_list(name: str) -> None:
    assert why_not_on_windows(name) is None


@pytest.mark.parametrize(("engine", "why"), [("CON", "a device"), ("E2.", "a point"), ("aux.7", "a device")])
def test_an_engine_that_no_folder_on_windows_can_be_named_by_is_an_error(tmp_path: Path, engine: str, why: str) -> None:
    [problem] = problems(tmp_path, {f"engines/{engine}/engine.yml": ENGINE.replace("E1", engine)})
    assert (str(problem.source), problem.level) == (f"engines/{engine}/engine.yml:1:9", "error")
    assert f"{engine} can be no file or folder on Windows" in problem.message
    assert why in problem.message


@pytest.mark.parametrize("sign", list('<>:"|?* '))
def test_an_engine_has_no_sign_that_windows_does_not_take(tmp_path: Path, sign: str) -> None:
    engine = f"E{sign}2"
    files = {f"engines/{engine}/engine.yml": f"engine: 'E{sign}2'\nfamily: single\n"}
    assert any(one.level == "error" and "is no id" in one.message for one in problems(tmp_path, files))


def test_a_family_that_windows_cannot_keep_is_an_error(tmp_path: Path) -> None:
    [problem] = problems(tmp_path, {"families/aux.yml": FAMILY.replace("single", "aux")})
    assert (str(problem.source), problem.level) == ("families/aux.yml:1:9", "error")


def test_a_serial_that_windows_cannot_keep_is_a_doubt_at_its_place(tmp_path: Path) -> None:
    [problem] = problems(tmp_path, {"parts/NUL.yml": "serial: NUL\nkind: pump\n"})
    assert (str(problem.source), problem.level) == ("parts/NUL.yml:1:9", "doubt")
    [problem] = problems(tmp_path / "sheet", {B: SHEET.replace("P-1", "COM3")})
    assert (str(problem.source), problem.level) == (f"{B}:3:26", "doubt")


def test_a_serial_with_signs_that_windows_does_not_take_has_a_file_without_them(tmp_path: Path) -> None:
    assert problems(tmp_path, {"parts/P-2-.yml": "serial: 'P:2?'\nkind: pump\n"}) == ()


def test_a_photo_that_windows_cannot_keep_is_a_doubt_once(tmp_path: Path) -> None:
    folder = f"{E}/builds/2026-01-01/front: left"
    [problem] = problems(tmp_path, {f"{folder}/a.jpg": "", f"{folder}/b.jpg": ""})
    assert (str(problem.source), problem.level) == (f"{folder}/a.jpg:1:1", "doubt")
    assert "front: left can be no file or folder on Windows: it holds :" in problem.message


@pytest.mark.parametrize("name", ["", "(1)", " copy", "RB-1042", "K-07-2", "photocopy"])
def test_a_name_without_a_copys_mark_stays_as_it_is(name: str) -> None:
    assert without_copy_mark(name) == name


@pytest.mark.parametrize("path", sorted(GOOD))
def test_the_path_of_a_record_means_itself(path: str) -> None:
    assert meant_path(path) == path


@pytest.mark.parametrize(
    ("line", "allowed"),
    [
        ("kind: incident, what: xyz", "over_rev, overheat, low_oil_pressure, detonation, fire, other"),
        ("kind: run, what: xyz", "dyno, practice, race, street, other"),
        ("kind: incident, what: race", "over_rev, overheat, low_oil_pressure, detonation, fire, other"),
    ],
)
def test_a_log_lines_what_is_answered_with_the_words_of_its_kind_alone(tmp_path: Path, line: str, allowed: str) -> None:
    found = problems(tmp_path, {L: f"- {{date: 2026-02-01, hours: 1, {line}}}\n"})
    [message] = [one.message for one in found if one.level == "error"]
    assert message.endswith(f"; allowed: {allowed}")


def test_a_service_with_an_unknown_what_is_an_error_still(tmp_path: Path) -> None:
    [problem] = problems(tmp_path, {L: "- {date: 2026-02-01, kind: change, what: xyz}\n"})
    assert (problem.level, str(problem.source)) == ("error", f"{L}:1:42")
