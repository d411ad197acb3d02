"""The README's minute: what a new builder types, typed as it stands there."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
RUN = "from engine_pages.cli import main; main()"
SECTION = re.compile(r"## Your own shop in a minute\n(.*?)\n## ", re.DOTALL)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop made by the section's own lines."""
    project, programs = tmp_path / "project", tmp_path / "bin"
    project.mkdir()
    programs.mkdir()
    command = programs / "engine-pages"
    command.write_text(f"#!/bin/sh\nexec '{sys.executable}' -c '{RUN}' \"$@\"\n", encoding="utf-8")
    command.chmod(0o755)
    section = SECTION.search((ROOT / "README.md").read_text(encoding="utf-8"))
    assert section is not None
    first = re.findall(r"```sh\n(.*?)```", section[1], re.DOTALL)[0]
    lines = [line for line in first.splitlines() if "activate" not in line]  # the tests' own environment serves
    path = {**os.environ, "PATH": f"{programs}:{os.environ['PATH']}"}
    subprocess.run(["bash", "-euc", "\n".join(lines)], cwd=project, check=True, capture_output=True, env=path)
    for name, text in re.findall(r"`(engines/[^`]+)`[^\n]*\n\n```yaml\n(.*?)```", section[1], re.DOTALL):
        (tmp_path / "shop" / name).write_text(text, encoding="utf-8")
    return tmp_path / "shop"


def command(*words: str, shop: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-c", RUN, *words], cwd=shop, capture_output=True, text=True, check=False)


def test_the_minute_shop_has_no_error_and_builds_its_site(shop: Path, tmp_path: Path) -> None:
    checked = command("check", shop=shop)
    assert checked.returncode == 0, checked.stdout
    built = command("site", "--to", str(tmp_path / "site"), shop=shop)
    assert built.returncode == 0, built.stderr
    page = (tmp_path / "site/engines/E-01/index.html").read_text(encoding="utf-8")
    assert "RB-1" in page
    assert not (shop / "site").exists()


def test_the_minute_shop_still_builds_from_a_clone(shop: Path, tmp_path: Path) -> None:
    me = ["-c", "user.name=RK", "-c", "user.email=rk@shop.example"]
    for words in (["add", "."], [*me, "commit", "-q", "-m", "First build"]):
        subprocess.run(["git", *words], cwd=shop, check=True, capture_output=True)
    subprocess.run(["git", "clone", "-q", str(shop), str(tmp_path / "clone")], check=True, capture_output=True)
    built = command("site", "--to", str(tmp_path / "site"), shop=tmp_path / "clone")
    assert built.returncode == 0, built.stderr
