"""A new shop: an empty folder in, a repository that works at once out."""

import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from importlib.metadata import version
from pathlib import Path
from typing import Final

from ..demo.commits import demo_commits, import_stream
from ..records.git import repository_of, run_git
from ..records.schemas import KINDS, file_name, schema_text
from ..shipped import shipped

BRANCH: Final = "main"
BEGUN: Final = ".new-"  # before the name of the folder in which a shop is made, in its own
HOOKS: Final = ".githooks"
SCHEMAS: Final = "schemas"
DOT: Final = "dot-"  # before a name that begins with a dot: what packs the program would leave such a file behind
# Starter files that no record leans on, so that none is committed with one.
BY_ITSELF: Final = frozenset({".gitattributes", ".gitignore", f"{HOOKS}/pre-commit", "mkdocs.yml"})
# Where each kind of record lies, as an editor's settings name it.
PLACES: Final = {
    "shop": "shop.yml",
    "shares": "shares.yml",
    "family": "families/*.yml",
    "part": "parts/*.yml",
    "engine": "engines/*/engine.yml",
    "plan": "engines/*/plan.yml",
    "review": "engines/*/review.yml",
    "log": "engines/*/log.yml",
    "build": "engines/*/builds/*.yml",
    "inspection": "engines/*/inspections/*.yml",
    "teardown": "engines/*/teardowns/*/teardown.yml",
}


class NotEmptyError(Exception):
    """The folder holds something, and nothing in it is touched."""


def start(folder: Path, *, demo: bool = False) -> tuple[str, ...]:
    """Make a shop in a folder that is empty or not there yet; the paths of its files.

    `demo` fills it with the demo's records, each commit as it was made. The last commit waits for the builder's own
    name where git knows none. Raises NotEmptyError, GitFailed, OSError: the folder is as it was then.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise NotEmptyError(f"{folder} is not empty; a new shop begins in an empty folder{_of_a_cut_off(folder)}")
    there = folder.exists()
    folder.mkdir(parents=True, exist_ok=True)
    new = Path(tempfile.mkdtemp(prefix=BEGUN, dir=folder))
    try:
        files = _fill(new, demo=demo)
        for one in sorted(new.iterdir(), reverse=True):  # what begins with a dot last: git's own files
            os.rename(one, folder / one.name)
        new.rmdir()
    except BaseException:  # Ctrl-C too
        shutil.rmtree(new)
        if not there:
            folder.rmdir()
        raise
    return files


def _of_a_cut_off(folder: Path) -> str:
    """What a start that was killed has left, and what to do about it; nothing where that is not it."""
    found = sorted(folder.iterdir()) if folder.is_dir() else []
    left = [one.name for one in found if one.name.startswith(BEGUN) and one.is_dir()]
    if not left:
        return ""
    beside = ", and what it put beside that," if len(found) > len(left) else ""
    return f". A start that was cut off has left {', '.join(left)} there: remove it{beside} and start again"


def starter_waits(folder: Path) -> bool:
    """Whether starter files are staged still, as `start` left them, and in no commit. GitFailed."""
    repository = repository_of(folder)
    staged = BY_ITSELF & repository.tracked() if repository is not None else None
    return bool(repository and staged and staged - repository.in_commit())


def _fill(folder: Path, *, demo: bool) -> tuple[str, ...]:
    """The shop's files and its repository; the paths of the files."""
    run_git(folder, "init", "--quiet", "--initial-branch", BRANCH)
    run_git(folder, "config", "core.hooksPath", HOOKS)
    if demo:
        run_git(folder, "fast-import", "--quiet", stdin=import_stream(demo_commits(shipped("demo")), BRANCH))
        run_git(folder, "reset", "--quiet", "--hard")
    files = {path: content for path, content in _starter().items() if not (folder / path).exists()}
    if demo:  # the demo has families of its own
        files = {path: content for path, content in files.items() if not path.startswith("families/")}
    for path, content in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    os.chmod(folder / HOOKS / "pre-commit", 0o755)
    run_git(folder, "add", "--", *files)
    run_git(folder, "update-index", "--chmod=+x", "--", f"{HOOKS}/pre-commit")
    return tuple(sorted(files))


def _starter() -> Mapping[str, bytes]:
    """The starter's files by their paths in a shop, and a schema for each kind of record."""
    root = shipped("site_template") / "starter" / "shop"
    files = {
        "/".join(_plain(step) for step in path.relative_to(root).parts): path.read_bytes()
        for path in sorted(root.rglob("*"))
        if path.is_file()
    }
    files["requirements.txt"] = files["requirements.txt"].replace(b"{version}", version("engine-pages").encode())
    for kind in KINDS:
        files[f"{SCHEMAS}/{file_name(kind)}"] = schema_text(kind).encode()
    files[".vscode/settings.json"] = _editor().encode()
    return dict(_with_schema_lines(files))


def _plain(step: str) -> str:
    return f".{step.removeprefix(DOT)}" if step.startswith(DOT) else step


def _editor() -> str:
    """An editor's settings that tie every record to the schema of its kind."""
    tied = {f"./{SCHEMAS}/{file_name(kind)}": place for kind, place in PLACES.items()}
    return json.dumps({"yaml.schemas": tied, "yaml.yamlVersion": "1.2"}, indent=2) + "\n"


def _with_schema_lines(files: Mapping[str, bytes]) -> Iterator[tuple[str, bytes]]:
    """The record files with the line that names their schema to other editors."""
    for path, content in files.items():
        kind = {"shop.yml": "shop"}.get(path, "family" if path.startswith("families/") else None)
        yield path, content if kind is None else schema_line(path, kind).encode() + content


def schema_line(path: str, kind: str) -> str:
    """The comment by which an editor finds the schema of a file, with a newline at its end.

    >>> schema_line("engines/K-07/builds/2026-10-31.yml", "build")
    '# yaml-language-server: $schema=../../../schemas/build.schema.json\\n'
    """
    return f"# yaml-language-server: $schema={'../' * path.count('/')}{SCHEMAS}/{file_name(kind)}\n"
