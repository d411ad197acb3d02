"""What is installed: one top-level name, with the plugin, the templates and the demo shop inside it."""

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def names(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """The files of a wheel built from what git tracks, so that no leftover of this folder gets in."""
    source, out = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("wheel")
    listing = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True).stdout
    for name in filter(None, listing.decode().split("\0")):
        (source / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, source / name)
    command = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "-q",
        "--no-deps",
        "--no-build-isolation",
        "-w",
        str(out),
        str(source),
    ]
    subprocess.run(command, check=True, capture_output=True)
    with zipfile.ZipFile(next(out.glob("*.whl"))) as wheel:
        return set(wheel.namelist())


def test_one_top_level_name_is_installed(names: set[str]) -> None:
    assert {name.split("/")[0] for name in names if ".dist-info/" not in name} == {"engine_pages"}


def test_every_module_is_in_the_wheel(names: set[str]) -> None:
    own = {str(path.relative_to(ROOT)) for path in (ROOT / "engine_pages").rglob("*.py")}
    plugin = {f"engine_pages/plugins/{path.name}" for path in (ROOT / "plugins").glob("*.py")}
    assert own | plugin <= names


@pytest.mark.parametrize(("room", "inside"), [("site_template", "site_template"), ("records", "demo/shop")])
def test_every_file_of_a_mapped_room_is_in_the_wheel(names: set[str], room: str, inside: str) -> None:
    listing = subprocess.run(["git", "ls-files", "-z", room], cwd=ROOT, check=True, capture_output=True).stdout
    tracked = {name.removeprefix(f"{room}/") for name in listing.decode().split("\0") if name}
    assert tracked
    assert {f"engine_pages/{inside}/{name}" for name in tracked} <= names
