"""A taking that is cut off, by a kill or by a full disk, leaves the shop as before or as after."""

import os
import subprocess
from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from pathlib import Path

import pytest
from bench.handed import git, shop_in, zipped
from interruptions_of_taking import files, interrupted, what_is_between

from engine_pages.bench.taking import take
from engine_pages.records.git import GitFailed


def test_a_kill_at_any_instant_leaves_the_shop_as_before_or_as_after() -> None:
    # A thousand by hand: python tests/interruptions_of_taking.py
    cut, wrong = interrupted(30, seed=1)
    assert cut >= 10
    assert wrong == []


@pytest.fixture
def small_disk(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Path]:
    """A disk of so many kilobytes, in memory."""
    place = tmp_path / "disk"
    place.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={request.param}k", "tmpfs", str(place)]
    if os.name != "posix" or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("a small disk can be mounted by root alone")
    yield place
    subprocess.run(["umount", str(place)], check=True)


@pytest.mark.parametrize("small_disk", [196, 204, 212, 220, 228, 236, 252, 268, 400], indirect=True)
def test_a_full_disk_leaves_the_shop_as_before_or_as_after(small_disk: Path) -> None:
    shop = shop_in(small_disk / "shop")
    wanted = files()
    with suppress(OSError, GitFailed):
        take(shop, zipped(wanted), date(2026, 3, 2))
    assert what_is_between(shop, wanted) is None
    assert git(shop, "status", "--porcelain") == ""
    assert git(shop, "fsck", "--connectivity-only", "--no-dangling") == ""
    subprocess.run(["mount", "-o", "remount,size=4m", str(small_disk)], check=True)
    assert take(shop, zipped(wanted), date(2026, 3, 2)).outcome in ("taken in", "already there")
