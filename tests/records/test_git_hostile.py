"""A repository's own configuration starts no program and changes no answer, whatever it says."""

import os
import subprocess
from pathlib import Path

import pytest

from engine_pages.records.git import repository_of

PERSON = {f"GIT_{role}_{what}": "bench" for role in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
DATES = {f"GIT_{role}_DATE": "2026-01-01T12:00:00+0000" for role in ("AUTHOR", "COMMITTER")}


def git(top: Path, *arguments: str) -> str:
    command = ["git", "-C", str(top), *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=True, env={**os.environ, **PERSON, **DATES})
    return done.stdout.strip()


@pytest.fixture(autouse=True)
def no_configuration_of_this_machine(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))


@pytest.fixture
def top(tmp_path: Path) -> Path:
    """A repository with one commit: a shop in a subfolder, and attributes that name a filter."""
    top = tmp_path / "repository"
    (top / "shop").mkdir(parents=True)
    (top / "shop" / "shop.yml").write_text("1")
    (top / ".gitattributes").write_text("*.yml filter=trap diff=trap\n")
    git(top, "init", "-q", "-b", "main")
    git(top, "add", "-A")
    git(top, "commit", "-q", "-m", "not read")
    return top


@pytest.fixture
def trapped(top: Path, tmp_path: Path) -> tuple[Path, Path]:
    """A repository whose own configuration starts a program at whatever a plain git would start one for."""
    mark, trap = tmp_path / "sprung", tmp_path / "trap.sh"
    trap.write_text(f'#!/bin/sh\necho sprung >> "{mark}"\ncat\n')
    trap.chmod(0o755)
    signed = (
        f"tree {git(top, 'write-tree')}\nparent {git(top, 'rev-parse', 'HEAD')}\nauthor b <b> 1772323200 +0000\n"
        "committer b <b> 1772323200 +0000\ngpgsig -----BEGIN PGP SIGNATURE-----\n \n AAAA\n"
        " -----END PGP SIGNATURE-----\n\nnot read\n"
    )
    (top / ".git" / "raw").write_text(signed)
    git(top, "update-ref", "HEAD", git(top, "hash-object", "-t", "commit", "-w", ".git/raw"))
    hook = top / ".git" / "hooks" / "post-index-change"
    hook.parent.mkdir(exist_ok=True)
    hook.symlink_to(trap)
    for name in (
        "filter.trap.clean",
        "filter.trap.smudge",
        "diff.trap.command",
        "diff.trap.textconv",
        "diff.external",
        "core.pager",
        "core.fsmonitor",
        "gpg.program",
        "core.sshCommand",
    ):
        git(top, "config", name, str(trap))
    git(top, "config", "filter.trap.required", "true")
    git(top, "config", "log.showSignature", "true")
    (top / "shop" / "shop.yml").write_text("2")
    mark.unlink(missing_ok=True)
    return top, mark


@pytest.mark.parametrize("plain", [["status"], ["log", "-1"], ["-c", "core.fsmonitor=false", "status"]])
def test_the_traps_are_set(trapped: tuple[Path, Path], plain: list[str]) -> None:
    top, mark = trapped
    git(top, *plain)
    assert mark.exists()


def test_a_hostile_configuration_starts_nothing(trapped: tuple[Path, Path]) -> None:
    top, mark = trapped
    repo = repository_of(top / "shop")
    assert repo is not None
    assert repo.head() == git(top, "rev-parse", "HEAD")
    assert not repo.is_shallow()
    assert repo.changed() == {"shop.yml"}
    assert repo.tracked() == repo.in_commit() == set(repo.last_touches()) == {"shop.yml"}
    assert not mark.exists()


def test_settings_of_taste_change_no_answer(top: Path) -> None:
    """What people set for their own eyes: each of these changes what a bare `git log` or `git status` prints."""
    first = git(top, "rev-parse", "HEAD")
    (top / "shop" / "new.yml").write_text("1")
    for name, value in {
        "log.showRoot": "false",
        "log.date": "relative",
        "diff.renames": "copies",
        "diff.relative": "true",
        "diff.orderFile": "nowhere",
        "format.pretty": "oneline",
        "status.relativePaths": "true",
        "status.showUntrackedFiles": "no",
        "status.branch": "true",
        "status.short": "true",
        "core.quotePath": "true",
        "color.ui": "always",
    }.items():
        git(top, "config", name, value)
    repo = repository_of(top / "shop")
    assert repo is not None
    assert repo.last_touch(["shop.yml"]) == (first, "2026-01-01")
    assert repo.changed() == {"new.yml"}
