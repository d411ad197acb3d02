"""A publishing that is cut off, by a kill or by a full disk, leaves every site as the old one or as the new one."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from interruptions_of_publishing import FEW, MANY, Scene, files_of, interrupted, scene, what_is_between

RUN = "from engine_pages.cli import main; main(prog_name='engine-pages')"
LIMIT = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({0}, {0})); "  # bytes of a file
AMPLE = 100_000_000  # bytes of a disk


@pytest.mark.parametrize(("times", "links"), [(4, FEW), (2, MANY)], ids=["one process", "several"])
def test_a_kill_at_any_instant_leaves_each_site_old_or_new(times: int, links: tuple[tuple[str, str], ...]) -> None:
    # A hundred by hand: python tests/interruptions_of_publishing.py
    cut, _, wrong = interrupted(times, 7, links)
    assert cut >= 1
    assert wrong == []


@pytest.fixture(scope="module")
def stage(tmp_path_factory: pytest.TempPathFactory) -> Scene:
    return scene(tmp_path_factory.mktemp("scene"), FEW)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path | None]:
    """A disk in memory; None where that is for root alone."""
    place = tmp_path / "disk"
    place.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={AMPLE}", "tmpfs", str(place)]
    mounted = os.name == "posix" and subprocess.run(command, capture_output=True, check=False).returncode == 0
    yield place if mounted else None
    if mounted:
        subprocess.run(["umount", str(place)], check=True)


def leave_room(disk: Path, room: int) -> None:
    """So many bytes are free from here on."""
    used = (lambda found: (found.f_blocks - found.f_bfree) * found.f_frsize)(os.statvfs(disk))
    subprocess.run(["mount", "-o", f"remount,size={used + room}", str(disk)], check=True)


def published(stage: Scene, tree: Path, first: str = "") -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", first + RUN, "publish", "--records", str(stage.shop), "--to", str(tree)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("room", [8_000, 100_000, 700_000])
def test_on_a_full_disk_the_old_tree_stands_and_the_command_says_so(
    stage: Scene, tmp_path: Path, small_disk: Path | None, room: int
) -> None:
    tree = Path(shutil.copytree(stage.tree, tmp_path / "disk/tree"))
    if small_disk is not None:
        leave_room(small_disk, room)
    done = published(stage, tree, "" if small_disk is not None else LIMIT.format(room // 100))
    assert done.returncode == 1
    assert re.search(r"could not be written: .*(No space left|File too large)|cannot be written: No space", done.stderr)
    assert "Traceback" not in done.stderr
    assert what_is_between(stage, tree) is None
    if small_disk is not None:
        assert [path.name for path in small_disk.iterdir()] == ["tree"]
        leave_room(small_disk, AMPLE)
    assert published(stage, tree).returncode == 0
    assert files_of(tree) == stage.new


@pytest.mark.parametrize("largest", [1_000, 20_000])
def test_where_no_file_may_grow_the_old_tree_stands(stage: Scene, tmp_path: Path, largest: int) -> None:
    tree = Path(shutil.copytree(stage.tree, tmp_path / "tree"))
    done = published(stage, tree, LIMIT.format(largest))
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert files_of(tree) == stage.old
