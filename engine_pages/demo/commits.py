"""The demo shop as a repository of its own, with its commits as they were made, corrections and all.

In: the demo's folder, whose `.demo/commits.yml` says what each commit held. Out: a stream for `git fast-import`: the
same folder gives the same commits, to the id.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

import yaml
from msgspec import Struct

OWN: Final = ".demo"  # what says how the demo came about, and is no part of it
LEFT_OUT: Final = frozenset({OWN, "site", ".cache", "README.md"})


class Commit(Struct, frozen=True):
    """One commit: who, when, what it says, and the files that it wrote, whole."""

    name: str
    email: str
    at: datetime
    message: str
    files: Mapping[str, bytes]


def demo_commits(demo: Path) -> list[Commit]:
    """The demo's commits, the first first. ValueError where a correction's text does not stand in its file."""
    plan = yaml.safe_load((demo / OWN / "commits.yml").read_text(encoding="utf-8"))
    commits: Sequence[Mapping[str, Any]] = plan["commits"]
    named = {path for commit in commits for path in commit["files"]}
    rest = sorted(path for path in _files(demo) if path not in named)
    out = []
    for number, commit in enumerate(commits):
        paths = [*commit["files"], *(rest if commit.get("the_rest") else ())]
        later = [one for after in commits[number + 1 :] for one in after.get("was", ())]
        files = {path: _as_it_was(demo, path, later, _last_day(path, commits[: number + 1])) for path in paths}
        hand = plan["hands"][commit["hand"]]
        out.append(Commit(hand["name"], hand["email"], commit["date"], commit["message"], files))
    return out


def _files(demo: Path) -> Iterator[str]:
    for path in demo.rglob("*"):
        steps = path.relative_to(demo).parts
        if path.is_file() and not LEFT_OUT.intersection(steps) and "__pycache__" not in steps:
            yield "/".join(steps)


def _last_day(path: str, commits: Sequence[Mapping[str, Any]]) -> date | None:
    """The day that a log had reached by then; None for what is no log, and for a log that nothing cuts."""
    if not path.endswith("/log.yml"):
        return None
    return next((one["upto"] for one in reversed(commits) if path in one["files"] and "upto" in one), None)


def _as_it_was(demo: Path, path: str, later: Sequence[Mapping[str, str]], until: date | None) -> bytes:
    content = (demo / path).read_bytes()
    own = [one for one in reversed(later) if one["path"] == path]
    if not own and until is None:
        return content
    text = content.decode("utf-8")
    for one in own:
        if one["new"] not in text:
            raise ValueError(f"{path}: the demo's history wants {one['new']!r}, which does not stand there")
        text = text.replace(one["new"], one["old"])
    return (text if until is None else _log_until(text, until)).encode()


def _log_until(text: str, until: date) -> str:
    """A log's lines up to the last entry of that day or before, with the comments between them."""
    lines = text.splitlines(keepends=True)
    kept = 0
    for number, line in enumerate(lines, start=1):
        if line.startswith("- ") and _day_of(line) <= until:
            kept = number
    return "".join(lines[:kept])


def _day_of(line: str) -> date:
    written: datetime | date = yaml.safe_load(line)[0]["date"]
    return date.fromisoformat(str(written)[:10])


def import_stream(commits: Sequence[Commit], branch: str) -> bytes:
    """What `git fast-import` reads: the format of its manual page, git-fast-import(1)."""
    parts: list[bytes] = []
    for commit in commits:
        at = f"{int(commit.at.timestamp())} +0000"
        parts += [f"commit refs/heads/{branch}\n".encode()]
        parts += [f"{role} {commit.name} <{commit.email}> {at}\n".encode() for role in ("author", "committer")]
        parts.append(_data(commit.message.encode() + b"\n"))
        for path, content in commit.files.items():
            parts += [f"M 100644 inline {path}\n".encode(), _data(content)]
    return b"".join(parts)


def _data(content: bytes) -> bytes:
    return b"data %d\n" % len(content) + content + b"\n"
