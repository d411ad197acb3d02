"""A shop's repository under a test's own folder: commits by the hands and on the days that the test gives."""

import os
import subprocess
from pathlib import Path

import pytest

from engine_pages.records.git import repository_of
from engine_pages.records.trail import Amendment, RecordTrail, Trail, read_trail

SHEET = "engines/K-07/teardowns/{}/teardown.yml"
NAMES = {"RK": "Rikke Kalverd", "TM": "Tomas Mellingen"}


class KeptHistory:
    """`at` is the author's date and, unless `committed` says otherwise, the commit's."""

    def __init__(self, top: Path) -> None:
        self.top = top
        top.mkdir(parents=True, exist_ok=True)
        self.git("init", "-q", "-b", "main")
        self.git("config", "core.autocrlf", "false")

    def git(
        self, *arguments: str, by: str = "RK", at: str = "2026-03-01T12:00:00+01:00", committed: str | None = None
    ) -> str:
        person = {}
        for role in ("AUTHOR", "COMMITTER"):
            person |= {f"GIT_{role}_NAME": NAMES[by], f"GIT_{role}_EMAIL": f"{by.lower()}@shop.example"}
        environ = {**os.environ, **person, "GIT_AUTHOR_DATE": at, "GIT_COMMITTER_DATE": committed or at}
        done = subprocess.run(
            ["git", "-C", str(self.top), *arguments], capture_output=True, text=True, check=True, env=environ
        )
        return done.stdout.strip()

    def commit(
        self, files: dict[str, str | None], message: str = "As measured", *, by: str = "RK",
        at: str = "2026-03-01T12:00:00+01:00", committed: str | None = None,
    ) -> str:  # fmt: skip
        """Commit these files (None removes one) and give the id."""
        for path, text in files.items():
            place = self.top / path
            if text is None:
                place.unlink()
            else:
                place.parent.mkdir(parents=True, exist_ok=True)
                place.write_bytes(text.encode())
        self.git("add", "--all")
        self.git("commit", "-q", "--allow-empty", "-m", message, by=by, at=at, committed=committed)
        return self.git("rev-parse", "HEAD")

    def merge(self, branch: str, *options: str, by: str = "TM", at: str = "2026-03-20T12:00:00+01:00") -> str:
        self.git("merge", "-q", "--no-ff", "--no-edit", *options, branch, by=by, at=at)
        return self.git("rev-parse", "HEAD")

    def trail(self, revision: str | None = None) -> Trail:
        repo = repository_of(self.top)
        assert repo is not None
        return read_trail(repo, revision)

    def record(self, path: str) -> RecordTrail:
        (found,) = [one for one in self.trail().records if one.path == path]
        return found


def told(record: RecordTrail) -> list[tuple[str, str, str | None, str | None, str]]:
    """Each amendment: the field's steps joined, kind, old, new, initials of the author."""
    return [(" ".join(one.field), one.kind, one.old, one.new, initials(one)) for one in record.amendments]


def initials(one: Amendment) -> str:
    return next(short for short, name in NAMES.items() if name == one.commit.author)


def sheet(diameter: str = "60.061", *, date: str = "2026-03-01", number: str | None = "T-0412", more: str = "") -> str:
    """A teardown sheet with one reading."""
    lines = ["engine: K-07", f"date: {date}", *([f"sheet: {number}"] if number else []), "positions:"]
    lines += ["  rotor-bearing-2:", "    part: RB-1042", f"    measured: {{inside_diameter: {diameter}}}"]
    return "\n".join([*lines, "    finding: Two light scratches on the loaded side", more]).rstrip() + "\n"


def without_own_configuration(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """This machine's own git settings, cache and keys do not come into a test."""
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "GNUPGHOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
