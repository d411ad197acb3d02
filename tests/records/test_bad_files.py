"""Mistakes that a whole file makes: empty, misnamed, in the wrong folder, on the wrong day; and photos that are none.

Each row changes one file of a small shop that has no problems, or adds one.
"""

import os
from datetime import date
from io import BytesIO
from pathlib import Path
from zlib import crc32

import pytest
from PIL import Image

from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import repository_of, run_git
from engine_pages.records.source import Problem
from engine_pages.records.tree import Commit, Folder

TODAY = date(2026, 11, 5)
K = "engines/K-07"
B, T, L = f"{K}/builds/2026-02-20.yml", f"{K}/teardowns/2026-10-12/teardown.yml", f"{K}/log.yml"
F, P, PHOTO = "families/twin-rotor.yml", "parts/RB-101.yml", f"{K}/teardowns/2026-10-12/loaded.png"
Files = dict[str, str | bytes | None]

GOOD: Files = {
    "shop.yml": "name: Third Bay\n",
    F: """\
family: twin-rotor
architecture: rotary
exposure: hours
positions: {rotor-1: rotor, rotor-bearing-1: rotor-bearing}
kinds:
  rotor:
  rotor-bearing: {dimensions: {inside_diameter: {unit: mm}}}
services: {oil: {hours: 5}}
""",
    P: "serial: RB-101\nkind: rotor-bearing\n",
    f"{K}/engine.yml": "engine: K-07\nfamily: twin-rotor\n",
    L: "- {date: 2026-03-20, kind: service, did: oil}\n",
    B: "engine: K-07\ndate: 2026-02-20\npositions: {rotor-1: {part: R-1}, rotor-bearing-1: {part: RB-101}}\n",
    T: """\
engine: K-07
date: 2026-10-12
positions:
  rotor-bearing-1:
    measured: {inside_diameter: 60.061}
    photos:
      - {file: loaded.png, crew_only: no}
    decision: reuse
""",
}
INSPECTION = "engine: K-07\ndate: 2026-04-01\npositions: {rotor-bearing-1: {measured: {inside_diameter: 60.06}}}\n"


def _png(pixels: int = 12) -> bytes:
    """A grey picture; of so many pixels by its header, however small it is."""
    out = BytesIO()
    Image.new("RGB", (4, 3), (90, 90, 90)).save(out, "PNG")
    raw = bytearray(out.getvalue())
    if pixels > 12:
        raw[16:24] = (pixels // 10_000).to_bytes(4, "big") + (10_000).to_bytes(4, "big")
        raw[29:33] = crc32(raw[12:29]).to_bytes(4, "big")
    return bytes(raw)


def _teardown(old: str, new: str) -> Files:
    text = GOOD[T]
    assert isinstance(text, str)
    assert text.count(old) == 1
    return {T: text.replace(old, new)}


def _inspection(day: str) -> Files:
    return {f"{K}/inspections/{day}.yml": INSPECTION.replace("2026-04-01", day)}


PHOTO_LINE = "      - {file: loaded.png, crew_only: no}\n"
SECOND_BUILD = "engine: K-07\ndate: 2026-10-12\npositions: {rotor-1: {part: R-1}}\n"
RUN = "- {date: 2026-10-12, kind: run, hours: 1}\n"

# fmt: off
BROKEN: tuple[tuple[str, Files, str, str, str], ...] = (
    ("not UTF-8", {T: b"engine: K-07\nnote: caf\xe9\n"}, f"{T}:2:10", "error", "0xe9 | UTF-8"),
    ("a file over 1 MiB", {L: "# " + "x" * (1 << 20) + "\n"}, f"{L}:1:1", "error", "1048579 bytes | 1048576"),
    ("an empty sheet", {T: "\n"}, f"{T}:1:1", "error", "empty"),
    ("a sheet that is a list", {T: "- engine: K-07\n"}, f"{T}:1:1", "error", "a map"),
    ("a log that is a map", {L: "date: 2026-03-02\nkind: run\n"}, f"{L}:1:1", "error", "a list"),
    ("a required key left out", _teardown("engine: K-07\n", ""), f"{T}:1:1", "error", "engine is missing"),
    ("a sheet with nothing on it", {T: "engine: K-07\ndate: 2026-10-12\nnote: stripped\n"}, f"{T}:1:1", "error",
     "positions, fits or tests"),
    ("a family under another name", {F: None, "families/twin.yml": GOOD[F]}, "families/twin.yml:1:9", "error",
     "twin-rotor | twin.yml"),
    ("no family", {F: None}, f"{K}/engine.yml:2:9", "error", "'twin-rotor' | families/"),
    ("no engine.yml", {f"{K}/engine.yml": None}, f"{K}/engine.yml:1:1", "error", "K-07 has no engine.yml"),
    ("an engine's folder that is no id", {"engines/K 8/engine.yml": "engine: K-8\nfamily: twin-rotor\n"},
     "engines/K 8/engine.yml:1:1", "error", "'K 8' is no id"),
    ("a misspelt file name", {f"{K}/plans.yml": "events:\n"}, f"{K}/plans.yml:1:1", "doubt", "no record is read"),
    ("another ending", {"parts/RB-9.yaml": "serial: RB-9\n"}, "parts/RB-9.yaml:1:1", "doubt", "no record is read"),
    ("a part under another name", {P: None, "parts/RB-110.yml": GOOD[P]}, "parts/RB-110.yml:1:9", "error",
     "RB-101 | RB-110.yml | RB-101.yml"),
    ("two files of one part", {"parts/RB-101-b.yml": GOOD[P]}, "parts/RB-101-b.yml:1:9", "error",
     "RB-101 | a file already | parts/RB-101.yml"),
    ("a part of the wrong kind", {"parts/R-1.yml": "serial: R-1\nkind: rotor-bearing\n"}, f"{B}:3:29", "error",
     "R-1 is a rotor-bearing (parts/R-1.yml) | rotor-1 takes a rotor"),
    ("a sheet's name that is no date", {f"{K}/inspections/spring.yml": INSPECTION}, f"{K}/inspections/spring.yml:1:1",
     "error", "'spring' | 2026-03-07"),
    ("a sheet of tomorrow", _inspection("2026-11-06"), f"{K}/inspections/2026-11-06.yml:2:7", "doubt", "still to come"),
    ("a log line of tomorrow", {L: "- {date: 2027-03-20, kind: change}\n"}, f"{L}:1:10", "doubt", "still to come"),
    ("a sheet before the build", _inspection("2026-02-19"), f"{K}/inspections/2026-02-19.yml:2:7", "doubt", B),
    ("a log line before the build", {L: "- {date: 2025-03-20, kind: service, did: oil}\n"}, f"{L}:1:10", "doubt", B),
    ("a teardown, a build and runs on one day", {f"{K}/builds/2026-10-12.yml": SECOND_BUILD, L: RUN},
     f"{K}/builds/2026-10-12.yml:2:7", "doubt", "on one day | 2026-10-12 09:40"),
    ("two sheets with one number", {**_teardown("date: 2026-10-12\n", "date: 2026-10-12\nsheet: T-4\n"),
     B: f"sheet: T-4\n{GOOD[B]}"}, f"{T}:3:8", "doubt", f"T-4 | {B}"),
    ("runs after a teardown with no build", {L: RUN.replace("12", "20")}, f"{L}:1:3", "doubt", f"no build sheet | {T}"),
    ("a photo that is missing", _teardown("loaded", "laoded"), f"{T}:7:16", "error", "did you mean loaded.png"),
    ("a photo above its folder", _teardown("loaded", "../loaded"), f"{T}:7:16", "error", "outside its folder"),
    ("a photo by its full path", _teardown("loaded.png", "/etc/hostname"), f"{T}:7:16", "error", "outside its folder"),
    ("a photo by a drive", _teardown("loaded.png", r"'C:\loaded.png'"), f"{T}:7:16", "error", "outside its folder"),
    ("a photo that is text", {PHOTO: b"loaded side\n"}, f"{T}:7:16", "error", "loaded.png: this is text | JPEG"),
    ("a photo that is cut short", {PHOTO: _png()[:-20]}, f"{T}:7:16", "error", "loaded.png | cut short"),
    ("a photo that is damaged", {PHOTO: _png()[:20] + b"\0" * 60 + _png()[-12:]}, f"{T}:7:16", "error", "damaged"),
    ("a photo with too many pixels", {PHOTO: _png(100_000_000)}, f"{T}:7:16", "error", "loaded.png | megapixels"),
    ("a photo over 40 MB", {PHOTO: b"\xff\xd8\xff" + bytes(40_000_000)}, f"{T}:7:16", "error", "loaded.png | MB"),
    ("one photo twice on a sheet", _teardown(PHOTO_LINE, PHOTO_LINE * 2), f"{T}:8:16", "doubt", "twice | line 7"),
    ("a checksum that is none", _teardown("crew_only: no", "original: sha256:1a"), f"{T}:7:38", "error", "64 signs"),
    ("neither yes nor no", _teardown("crew_only: no", "crew_only: false"), f"{T}:7:39", "error", "'false' | yes or no"),
    ("a picture that is missing", {f"{K}/engine.yml": "engine: K-07\nfamily: twin-rotor\npicture: k07.jpg\n"},
     f"{K}/engine.yml:3:10", "error", "'k07.jpg'"),
)

# fmt: on

NO_PROBLEM: tuple[tuple[str, Files], ...] = (
    ("a second sheet on one day", {f"{K}/inspections/2026-04-01-2.yml": INSPECTION}),
    ("a log in a folder of its own", {L: None, f"{K}/log/2026.yml": GOOD[L]}),
    ("an empty log and an empty plan", {L: "", f"{K}/plan.yml": "# to come\n"}),
    ("an event that has passed", {f"{K}/plan.yml": "events: [{date: 2026-04-18, hours: 1}]\n"}),
    (
        "a teardown, a build and a run with times",
        {
            **_teardown("2026-10-12", "2026-10-12 08:00"),
            L: RUN.replace(",", " 16:00,", 1),
            f"{K}/builds/2026-10-12.yml": SECOND_BUILD.replace("12\n", "12 12:00\n"),
        },
    ),
    ("a teardown and a build on one day", {f"{K}/builds/2026-10-12.yml": SECOND_BUILD}),
    (
        "runs that meet",
        {L: "- {date: 2026-03-02 09:00, kind: run, minutes: 60}\n- {date: 2026-03-02 10:00, kind: run, hours: 1}\n"},
    ),
    ("two runs of one day", {L: RUN.replace("10-12", "10-02") * 2}),
    (
        "km where wear is reckoned in km",
        {L: "- {date: 2026-03-02, kind: run, km: 40}\n", F: str(GOOD[F]).replace("hours\n", "km\n")},
    ),
    ("initials where the shop lists nobody", _teardown("engine: K-07\n", "engine: K-07\nby: RX\n")),
    (
        "tests that no family needs to name",
        _teardown("positions:", "tests: {leak_down: {rotor-1: 8 %}, oil_pressure: {engine: 4 bar}}\npositions:"),
    ),
    (
        "a photo in a folder inside",
        {PHOTO: None, PHOTO.replace("loaded", "rb/loaded"): _png(), **_teardown("loaded", "rb/loaded")},
    ),
    ("a full checksum", _teardown("crew_only: no", f"original: sha256:{'0a' * 32}")),
    (
        "machining that is known by its position",
        _teardown("positions:", "work: [{position: rotor-bearing-1, did: lapped}]\npositions:"),
    ),
    ("files of the shop's own", {"README.md": "x", ".checks.yml": "a: b", "notes/x.yml": "[", "inbox/draft.yml": "["}),
    ("a serial that no file may be named by", {"parts/RB-10-42.yml": "serial: RB/10 42\nkind: rotor-bearing\n"}),
)


def _shop(root: Path, changes: Files) -> Folder:
    for path, content in {**GOOD, PHOTO: _png(), **changes}.items():
        if content is not None:
            file = root / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(content.encode() if isinstance(content, str) else content)
    return Folder(root)


def _found(problems: tuple[Problem, ...], at: str, level: str, words: str) -> None:
    here = [problem for problem in problems if str(problem.source) == at and problem.level == level]
    wanted = words.split(" | ")
    assert any(all(word in problem.message for word in wanted) for problem in here), "\n".join(map(str, problems))


def test_a_good_shop_has_no_problems(tmp_path: Path) -> None:
    assert read_checked(_shop(tmp_path, {}), TODAY).problems == ()


@pytest.mark.parametrize(("changes", "at", "level", "words"), [row[1:] for row in BROKEN], ids=[r[0] for r in BROKEN])
def test_a_file_that_is_wrong_is_named(tmp_path: Path, changes: Files, at: str, level: str, words: str) -> None:
    _found(read_checked(_shop(tmp_path, changes), TODAY).problems, at, level, words)


@pytest.mark.parametrize("changes", [row[1] for row in NO_PROBLEM], ids=[row[0] for row in NO_PROBLEM])
def test_what_can_well_be_is_no_problem(tmp_path: Path, changes: Files) -> None:
    assert read_checked(_shop(tmp_path, changes), TODAY).problems == ()


def test_drafts_in_the_inbox_are_named_and_not_read(tmp_path: Path) -> None:
    checked = read_checked(_shop(tmp_path, {"inbox/2026-11-04/teardown.yml": "engine: K-07\n\t"}), TODAY)
    assert (checked.inbox, checked.problems) == (("inbox/2026-11-04/teardown.yml",), ())


def test_a_photo_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    _shop(tmp_path, {})
    (tmp_path / PHOTO).unlink()
    os.symlink(tmp_path / "shop.yml", tmp_path / PHOTO)
    _found(read_checked(Folder(tmp_path), TODAY).problems, f"{T}:7:16", "error", "loaded.png | symbolic link")


def test_a_record_that_is_a_link_is_an_error(tmp_path: Path) -> None:
    _shop(tmp_path, {L: None})
    (tmp_path / "elsewhere.txt").write_text(str(GOOD[L]))
    os.symlink(tmp_path / "elsewhere.txt", tmp_path / L)
    _found(read_checked(Folder(tmp_path), TODAY).problems, f"{L}:1:1", "error", "symbolic link")


def test_a_photo_in_no_commit_and_not_staged_is_a_doubt(tmp_path: Path) -> None:
    shop = _shop(tmp_path, {})
    run_git(tmp_path, "init", "--quiet")
    _found(read_checked(shop, TODAY, repository_of(tmp_path)).problems, f"{T}:7:16", "doubt", f"in no commit | {PHOTO}")
    run_git(tmp_path, "add", PHOTO)
    assert read_checked(shop, TODAY, repository_of(tmp_path)).problems == ()


def test_photos_of_a_commit_are_not_asked_for_again(tmp_path: Path) -> None:
    _shop(tmp_path, {})
    run_git(tmp_path, "init", "--quiet")
    run_git(tmp_path, "add", ".")
    who = {"user.name": "RK", "user.email": "rk@shop.example"}
    run_git(tmp_path, "commit", "--quiet", "--message", "strip", settings=who)
    run_git(tmp_path, "rm", "--quiet", "--cached", PHOTO)
    assert read_checked(Commit(tmp_path, "HEAD"), TODAY, repository_of(tmp_path)).problems == ()
