"""A cache that never gives anything but what was put, keeps its size, and never stands in the way of a build."""

import doctest
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from engine_pages.pages import cache
from engine_pages.pages.cache import Cache, cache_folder, key_of

KEY = key_of("a photo")


def entries(root: Path) -> list[Path]:
    return sorted(path for path in root.glob("*/*/*") if path.is_file())


def test_what_was_put_is_given_back(tmp_path: Path):
    store = Cache(tmp_path)
    assert store.get("photo", KEY) is None
    store.put("photo", KEY, b"\xff\xd8 pixels")
    assert store.get("photo", KEY) == b"\xff\xd8 pixels"
    assert store.problem is None


def test_another_process_finds_it(tmp_path: Path):
    Cache(tmp_path).put("photo", KEY, b"pixels")
    assert Cache(tmp_path).get("photo", KEY) == b"pixels"


def test_no_bytes_are_something_too(tmp_path: Path):
    store = Cache(tmp_path)
    store.put("photo", KEY, b"")
    assert store.get("photo", KEY) == b""


def test_an_entry_is_held_from_its_put_until_it_goes(tmp_path: Path):
    cache = Cache(tmp_path / "cache")
    assert not cache.holds("photo", key_of("a"))
    cache.put("photo", key_of("a"), b"bytes")
    assert (cache.holds("photo", key_of("a")), cache.holds("chart", key_of("a"))) == (True, False)


def test_kinds_are_kept_apart(tmp_path: Path):
    store = Cache(tmp_path)
    store.put("photo", KEY, b"pixels")
    assert store.get("blob", KEY) is None


def test_nothing_is_created_before_the_first_put(tmp_path: Path):
    store = Cache(tmp_path / "not" / "yet")
    assert store.get("photo", KEY) is None
    assert not (tmp_path / "not").exists()


def test_the_folder_is_its_owners_alone(tmp_path: Path):
    Cache(tmp_path / "cache").put("photo", KEY, b"pixels")
    assert (tmp_path / "cache").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("kind", ["", "Photo", "../photo", "photo/large", ".hidden"])
def test_a_kind_is_a_plain_word(tmp_path: Path, kind: str):
    with pytest.raises(ValueError, match="a kind is a short lower-case word"):
        Cache(tmp_path).put(kind, KEY, b"pixels")


@pytest.mark.parametrize("key", ["", "abc", "../" + "0" * 61, "G" * 64, "0" * 65, "0" * 64 + "\n"])
def test_a_key_is_a_sum(tmp_path: Path, key: str):
    with pytest.raises(ValueError, match="a key comes from key_of"):
        Cache(tmp_path).get("photo", key)


# Damage


@pytest.mark.parametrize("left", [0, 1, 20, 40, 52, 53, 60])
def test_a_half_written_entry_is_absent_and_removed(tmp_path: Path, left: int):
    store = Cache(tmp_path)
    store.put("photo", KEY, b"pixels of a photo")
    (entry,) = entries(tmp_path)
    entry.write_bytes(entry.read_bytes()[:left])
    assert store.get("photo", KEY) is None
    assert entries(tmp_path) == []
    store.put("photo", KEY, b"pixels of a photo")
    assert store.get("photo", KEY) == b"pixels of a photo"


def test_one_wrong_bit_anywhere_is_noticed(tmp_path: Path):
    store = Cache(tmp_path)
    store.put("photo", KEY, b"pixels")
    (entry,) = entries(tmp_path)
    whole = entry.read_bytes()
    for place in range(len(whole)):
        damaged = bytearray(whole)
        damaged[place] ^= 1
        entry.write_bytes(bytes(damaged))
        assert store.get("photo", KEY) is None


def test_an_entry_under_another_name_is_absent(tmp_path: Path):
    store = Cache(tmp_path)
    store.put("photo", KEY, b"pixels")
    (entry,) = entries(tmp_path)
    other = key_of("another photo")
    place = tmp_path / "photo" / other[:2] / other
    place.parent.mkdir(exist_ok=True)
    entry.rename(place)
    assert store.get("photo", other) is None


# Size


def aged(root: Path, kind: str, key: str, hours: float) -> None:
    """As if last used so many hours ago."""
    then = time.time() - hours * 3600
    os.utime(root / kind / key[:2] / key, (then, then))


def test_the_least_recently_used_entries_leave_first(tmp_path: Path):
    keys = [key_of(str(number)) for number in range(12)]
    for number, key in enumerate(keys):
        Cache(tmp_path).put("photo", key, bytes(900))
        aged(tmp_path, "photo", key, hours=24 - number)
    store = Cache(tmp_path, max_bytes=10_000)
    assert store.get("photo", keys[0]) is not None  # used just now, so the newest of all
    store.trim()
    kept = [number for number, key in enumerate(keys) if store.get("photo", key) is not None]
    assert kept == [0, *range(5, 12)]  # 12 entries of 0.95 kB: down to four fifths of the limit
    assert sum(path.stat().st_size for path in entries(tmp_path)) <= 8_000


def test_a_cache_within_its_limit_loses_nothing(tmp_path: Path):
    store = Cache(tmp_path, max_bytes=10_000)
    for number in range(10):
        store.put("photo", key_of(str(number)), bytes(900))
    store.trim()
    assert len(entries(tmp_path)) == 10


def test_a_cache_keeps_to_its_limit_by_itself(tmp_path: Path):
    store = Cache(tmp_path, max_bytes=10_000)
    for number in range(200):
        store.put("photo", key_of(str(number)), bytes(500))
    assert sum(path.stat().st_size for path in entries(tmp_path)) <= 10_000 * 1.25


def test_many_short_builds_keep_to_the_limit_too(tmp_path: Path):
    for number in range(60):
        Cache(tmp_path, max_bytes=10_000).put("photo", key_of(str(number)), bytes(500))
        assert sum(path.stat().st_size for path in entries(tmp_path)) <= 10_000 * 1.25


def test_a_short_build_does_not_walk_a_cache_that_others_filled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    Cache(tmp_path).put("photo", KEY, bytes(500))
    monkeypatch.setattr(Cache, "trim", lambda _: pytest.fail("the whole cache was walked"))
    for number in range(60):
        Cache(tmp_path).put("photo", key_of(str(number)), bytes(500))


def test_an_entry_larger_than_the_whole_cache_is_not_kept(tmp_path: Path):
    store = Cache(tmp_path, max_bytes=1_000)
    store.put("photo", KEY, bytes(1_001))
    assert entries(tmp_path) == []
    assert store.problem is None


def test_what_a_dead_process_left_half_written_is_cleared_and_a_live_ones_is_not(tmp_path: Path):
    Cache(tmp_path).put("photo", KEY, b"pixels")
    folder = tmp_path / "photo" / KEY[:2]
    dead, live = folder / ".engine-pages-part-dead", folder / ".engine-pages-part-live"
    dead.write_bytes(b"half")
    live.write_bytes(b"half")
    os.utime(dead, (time.time() - 7_200, time.time() - 7_200))
    Cache(tmp_path).trim()
    assert not dead.exists()
    assert live.exists()


def test_a_folder_given_by_mistake_loses_nothing_of_its_own(tmp_path: Path):
    own = [tmp_path / "thesis.txt", tmp_path / "photo" / "ab" / "holiday.jpg", tmp_path / "a" / "b" / ("0" * 64)]
    for path in own:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(bytes(5_000))
    store = Cache(tmp_path, max_bytes=1_000)
    store.put("photo", KEY, bytes(500))
    store.trim()
    assert all(path.exists() for path in own)


# Trouble


def failing(error: OSError) -> Callable[[str, str], None]:
    """Stands in for `os.replace` on a system where it fails."""

    def replace(_source: str, _target: str) -> None:
        raise error

    return replace


def test_a_folder_that_cannot_be_made_does_not_break_a_build(tmp_path: Path):
    (tmp_path / "file").write_text("in the way")
    store = Cache(tmp_path / "file" / "cache")
    assert store.get("photo", KEY) is None
    store.put("photo", KEY, b"pixels")
    assert store.problem is not None
    assert store.problem.startswith("no cache is kept: ")
    assert str(tmp_path / "file" / "cache") in store.problem
    assert store.get("photo", KEY) is None
    store.trim()


def test_a_disk_that_fills_up_leaves_nothing_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    store = Cache(tmp_path)
    store.put("photo", KEY, b"pixels")

    monkeypatch.setattr(os, "replace", failing(OSError(28, "No space left on device")))
    store.put("photo", key_of("another"), b"pixels")
    assert store.problem == f"no cache is kept: {tmp_path} cannot be written (No space left on device)"
    assert len(entries(tmp_path)) == 1
    assert store.get("photo", KEY) == b"pixels"  # what is there still serves


def test_a_place_that_another_process_holds_open_is_no_problem(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    store = Cache(tmp_path)
    store.put("photo", KEY, b"pixels")

    monkeypatch.setattr(os, "replace", failing(PermissionError(13, "The file is open in another process")))
    store.put("photo", KEY, b"pixels")
    assert store.problem is None
    assert len(entries(tmp_path)) == 1


def test_a_user_without_a_home_has_no_cache_and_is_told(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(cache, "cache_folder", lambda: None)
    store = Cache()
    store.put("photo", KEY, b"pixels")
    store.trim()
    assert store.get("photo", KEY) is None
    assert store.problem == "no cache is kept: this user has no home folder"


PUT_AND_GET = """
import sys
from pathlib import Path
from engine_pages.pages.cache import Cache, key_of

root, first = Path(sys.argv[1]), int(sys.argv[2])
store, found, wrong = Cache(root, max_bytes=30_000), 0, 0
for step in range(300):
    number = (first + step * 7) % 40
    store.put("photo", key_of(str(number)), str(number).encode() * 700)
    asked = (number + 33) % 40
    got = store.get("photo", key_of(str(asked)))
    found += got is not None
    wrong += got not in (None, str(asked).encode() * 700)
print(wrong, store.problem, found > 0)
"""


def test_two_processes_share_a_small_cache_without_a_wrong_byte(tmp_path: Path):
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    running = [
        subprocess.Popen(
            [sys.executable, "-c", PUT_AND_GET, str(tmp_path), first], stdout=subprocess.PIPE, env=environment
        )
        for first in ("0", "20")
    ]
    assert [process.communicate(timeout=60)[0].strip() for process in running] == [b"0 None True"] * 2
    assert all(not path.name.startswith(".") for path in entries(tmp_path))


# Where it stands


@pytest.mark.parametrize(
    ("platform", "environ", "expected"),
    [
        ("linux", {}, "/home/rk/.cache/engine-pages"),
        ("linux", {"XDG_CACHE_HOME": "/var/fast"}, "/var/fast/engine-pages"),
        # XDG Base Directory Specification 0.8: a relative path is invalid and to be ignored; empty is as unset.
        ("linux", {"XDG_CACHE_HOME": "fast"}, "/home/rk/.cache/engine-pages"),
        ("linux", {"XDG_CACHE_HOME": ""}, "/home/rk/.cache/engine-pages"),
        ("darwin", {"XDG_CACHE_HOME": "/var/fast"}, "/home/rk/Library/Caches/engine-pages"),
        ("win32", {"LOCALAPPDATA": "/local"}, "/local/engine-pages"),
        ("win32", {}, "/home/rk/AppData/Local/engine-pages"),
    ],
)
def test_the_cache_stands_where_each_system_keeps_caches_against_xdg_0_8(platform, environ, expected):
    assert cache_folder(platform, environ, Path("/home/rk")) == Path(expected)


# Keys


def test_a_key_tells_parts_apart_wherever_they_are_cut():
    lists = [("ab",), ("a", "b"), ("", "ab"), ("ab", ""), (b"ab",), (b"a", "b"), ("b", "a"), ()]
    assert len({key_of(*parts) for parts in lists}) == len(lists)


def test_a_key_is_the_same_tomorrow():
    """SHA-256 (FIPS 180-4) of the type, the length and the part; the sum is that of GNU sha256sum 9.1."""
    assert key_of("photo") == "199d228a060be736d4d867b042e420fbcb378c953e5fab80c6dba6f96e8ff3d3"


def test_a_file_name_that_is_no_text_has_a_key():
    assert len(key_of(os.fsdecode(b"\xff.jpg"))) == 64


def test_the_examples_of_the_module_run():
    assert doctest.testmod(cache).failed == 0


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes with names there")
@pytest.mark.parametrize("what", ["folder", "pipe", "link"])
def test_what_lies_where_it_counts_is_neither_written_to_nor_waited_for(tmp_path: Path, what: str):
    root, precious = tmp_path / "cache", tmp_path / "precious"
    precious.write_bytes(b"precious")
    root.mkdir()
    if what == "folder":
        (root / "written").mkdir()
    elif what == "pipe":
        os.mkfifo(root / "written")
    else:
        (root / "written").symlink_to(precious)
    store = Cache(root, max_bytes=10_000)
    for number in range(20):
        store.put("photo", key_of(str(number)), bytes(900))
    assert store.problem is None
    assert precious.read_bytes() == b"precious"
    assert (root / "written").is_file()
    assert sum(path.stat().st_size for path in entries(root)) <= 10_000 * 1.25
