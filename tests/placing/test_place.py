"""A site takes its place whole, or not at all: plain files stand for a site here, and a kill may come at any step."""

import fcntl
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from engine_pages.placing.place import WRITTEN, PlaceError, in_its_place

OLD = {"index.html": "old", "engines/K-07/index.html": "old", "parts/RB-1.html": "old"}
NEW = {"index.html": "new", "engines/K-07/index.html": "new", "engines/K-08/index.html": "new"}

# Each step that changes a folder is announced to an audit hook before it happens: the build is killed at the n-th.
KILLED = """
import json, os, sys
from pathlib import Path
from engine_pages.placing import exchange
from engine_pages.placing.place import in_its_place

if sys.argv[4] == "by renames":  # as on a system that cannot exchange two folders
    exchange._swapped = lambda one, other: False
to, site, last = Path(sys.argv[1]), json.loads(sys.argv[2]), int(sys.argv[3])
steps = 0

def count(event, _):
    global steps
    steps += event in ("os.mkdir", "os.rename", "os.remove", "os.rmdir")
    if steps == last:
        os._exit(9)

sys.addaudithook(count)
with in_its_place(to) as new:
    for path, text in site.items():
        (new / path).parent.mkdir(parents=True, exist_ok=True)
        (new / path).write_text(text)
"""


class BrokenOffError(Exception):
    """What stops a build here."""


def put(folder: Path, files: Mapping[str, str]) -> None:
    for path, text in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")


def built(to: Path, files: Mapping[str, str]) -> Path:
    with in_its_place(to) as new:
        put(new, files)
    return to


def built_half(to: Path, stop: type[BaseException]) -> None:
    with in_its_place(to) as new:
        put(new, {"index.html": "half"})
        raise stop


def content(folder: Path) -> dict[str, str]:
    """All files but the list."""
    found = {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()}
    return {name: path.read_text(encoding="utf-8") for name, path in found.items() if name != WRITTEN}


def test_a_new_site_replaces_the_old_one_and_leaves_nothing_beside(tmp_path: Path) -> None:
    put(tmp_path, {"letter.txt": "mine"})
    to = built(tmp_path / "out", OLD)
    assert content(built(to, NEW)) == NEW
    assert sorted(os.listdir(tmp_path)) == ["letter.txt", "out"]


def test_the_list_names_every_file_and_is_the_same_for_the_same_site(tmp_path: Path) -> None:
    one, other = built(tmp_path / "one", OLD) / WRITTEN, built(tmp_path / "two", dict(reversed(OLD.items()))) / WRITTEN
    assert json.loads(one.read_text(encoding="ascii")) == sorted([*OLD, WRITTEN])
    assert one.read_bytes() == other.read_bytes()


@pytest.mark.parametrize("stop", [BrokenOffError, KeyboardInterrupt, OSError])
def test_a_build_that_is_stopped_leaves_the_old_site_and_nothing_beside(
    tmp_path: Path, stop: type[BaseException]
) -> None:
    to = built(tmp_path / "out", OLD)
    with pytest.raises(stop):
        built_half(to, stop)
    assert content(to) == OLD
    assert os.listdir(tmp_path) == ["out"]


def test_a_first_build_that_is_stopped_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(BrokenOffError), in_its_place(tmp_path / "out"):
        raise BrokenOffError
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("how", ["in one step", "by renames"])
def test_killed_at_any_step_the_old_site_or_the_new_one_is_whole_and_the_next_build_tidies_up(
    tmp_path: Path, how: str
) -> None:
    seen, last, code = set(), 0, 9
    while code == 9:
        last += 1
        parent = tmp_path / str(last)
        to = built(parent / "out", OLD)
        asked = [sys.executable, "-c", KILLED, str(to), json.dumps(NEW), str(last), how]
        code = subprocess.run(asked, check=False).returncode
        there = to.exists()
        if there:
            assert content(to) in (OLD, NEW), last
        with pytest.raises(BrokenOffError), in_its_place(to):
            raise BrokenOffError
        assert content(to) == (OLD if not there else content(to))
        assert content(to) in (OLD, NEW), last
        assert os.listdir(parent) == ["out"], last
        seen.add((there, content(to) == NEW))
    assert code == 0
    between = {(False, False)} if how == "by renames" else set()
    assert seen == {(True, False), (True, True)} | between  # before and after, and between the two renames


@pytest.mark.parametrize(
    ("files", "named"),
    [
        ({"readme.txt": "mine"}, "readme.txt"),
        ({"CNAME": "engines.example"}, "CNAME"),
        ({".git/config": "", ".git/HEAD": ""}, ".git/"),
        ({"engines/K-07/mine.html": "", "drawings/a.pdf": ""}, "drawings/, engines/K-07/mine.html"),
        ({f"{name}.txt": "" for name in "abcdefg"}, "a.txt, b.txt, c.txt, d.txt, e.txt and 2 more"),
    ],
)
def test_a_site_in_which_others_put_files_is_not_replaced(tmp_path: Path, files: dict[str, str], named: str) -> None:
    to = built(tmp_path / "out", OLD)
    put(to, files)
    with pytest.raises(PlaceError) as refused, in_its_place(to):
        pytest.fail("nothing may be built")
    assert f"no build of ours wrote: {named}. Nothing was touched. Move it away" in str(refused.value)
    assert content(to) == {**OLD, **files}
    assert os.listdir(tmp_path) == ["out"]


def test_a_file_that_is_put_there_while_the_site_is_built_is_kept_too(tmp_path: Path) -> None:
    to = built(tmp_path / "out", OLD)
    with pytest.raises(PlaceError, match=r"CNAME"), in_its_place(to):
        put(to, {"CNAME": "engines.example"})
    assert content(to) == {**OLD, "CNAME": "engines.example"}


def test_a_link_that_somebody_put_into_a_site_is_somebodys_own(tmp_path: Path) -> None:
    to = built(tmp_path / "out", OLD)
    (to / "drawings").symlink_to(tmp_path)
    with pytest.raises(PlaceError, match="wrote: drawings"), in_its_place(to):
        pytest.fail("nothing may be built")


def test_what_a_file_manager_leaves_behind_is_nobodys(tmp_path: Path) -> None:
    to = built(tmp_path / "out", OLD)
    put(to, {".DS_Store": "", "engines/Thumbs.db": ""})
    assert content(built(to, NEW)) == NEW


@pytest.mark.parametrize("listed", [None, "{", '"index.html"'])
def test_a_folder_without_a_list_that_can_be_read_is_no_site_of_ours(tmp_path: Path, listed: str | None) -> None:
    to = tmp_path / "out"
    put(to, OLD if listed is None else {**OLD, WRITTEN: listed})
    with pytest.raises(PlaceError, match="not empty and no site of ours"), in_its_place(to):
        pytest.fail("nothing may be built")


def test_an_empty_folder_becomes_the_site_and_keeps_who_may_enter(tmp_path: Path) -> None:
    to = tmp_path / "out"
    to.mkdir(mode=0o750)
    assert content(built(to, NEW)) == NEW
    assert to.stat().st_mode & 0o777 == 0o750


def test_a_mount_point_is_refused_before_anything_is_built(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    to = tmp_path / "out"
    to.mkdir()
    monkeypatch.setattr(os.path, "ismount", lambda path: path == to)
    with pytest.raises(PlaceError, match=r"is a mount point.*name a folder in it"), in_its_place(to):
        pytest.fail("nothing may be built")


def test_a_folder_that_cannot_be_moved_is_named_and_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    to = built(tmp_path / "out", OLD)

    def busy(path: Path, target: Path) -> Path:
        raise OSError(16, "Device or resource busy", str(path), None, str(target))

    monkeypatch.setattr(Path, "rename", busy)
    with pytest.raises(PlaceError, match=r"out cannot be exchanged.*resource busy"):
        built(to, NEW)
    assert content(to) == OLD
    assert os.listdir(tmp_path) == ["out"]


def test_a_file_in_the_place_of_the_folder_beside_is_named_and_kept(tmp_path: Path) -> None:
    put(tmp_path, {".out.engine-pages": "mine"})
    with (
        pytest.raises(PlaceError, match=r"\.out\.engine-pages cannot be written"),
        in_its_place(tmp_path / "out"),
    ):
        pytest.fail("nothing may be built")
    assert content(tmp_path) == {".out.engine-pages": "mine"}


def test_two_builds_to_one_place_do_not_mix(tmp_path: Path) -> None:
    to = tmp_path / "out"
    with in_its_place(to) as new:
        put(new, NEW)
        with pytest.raises(PlaceError, match="another build"), in_its_place(to):
            pytest.fail("nothing may be built")
    assert content(to) == NEW
    assert os.listdir(tmp_path) == ["out"]


def test_the_lock_of_a_build_that_was_killed_holds_nobody_up(tmp_path: Path) -> None:
    put(tmp_path / ".out.engine-pages", {"lock": "", "new/index.html": "half"})
    with (tmp_path / ".out.engine-pages/lock").open() as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
    assert content(built(tmp_path / "out", NEW)) == NEW
    assert os.listdir(tmp_path) == ["out"]
