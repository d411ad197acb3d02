"""Take in what the bench page hands over: a zip in, the sheet and its photos in their place and committed, out.

A draft that does not check yet, or whose sheet is there already with other figures, is kept in `inbox/` for the
builder: never refused, never published, never lost. The same zip again is answered by its content.
"""

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final, Literal

from ..records.git import GitFailed, repository_of, run_git
from ..records.source import Problem
from ..records.tree import Folder
from ..records.yaml_text import read_document
from .as_it_would_be import problems_with
from .handed_over import HandedOver, ZipRefusedError, read_handed_over
from .on_disk import alone, put_and_commit

PROBLEMS: Final = "problems.txt"  # what kept a draft in the inbox, beside it
SHEET: Final = "sheet.yml"  # a draft's sheet in its folder of the inbox
MARK: Final = "Handed-over: sha256:"  # in the commit's message, by which the same zip is known again

Outcome = Literal["taken in", "kept in the inbox", "already there"]


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a zip: where its sheet lies, in which commit (None: the shop is no repository, or it held nothing
    new), its receipt, what was found, and how it differs from the sheet that was there already."""

    outcome: Outcome
    path: str
    commit: str | None
    receipt: str
    problems: tuple[Problem, ...] = ()
    difference: str = ""


def take(shop: Path, data: bytes, today: date) -> Taken:
    """Take in one zip. Raises ZipRefusedError, BusyError, GitFailed, OSError, NoTree, and nothing was written then."""
    handed = read_handed_over(data)
    tree = Folder(shop)
    if f"engines/{handed.engine}/engine.yml" not in tree.paths():
        raise ZipRefusedError(f"there is no engine {handed.engine} in {shop}")
    _refuse_another_engine(handed)
    with alone(shop) as aside:
        found = _found_again(shop, handed)
        if found is not None:
            return found
        old = tree.read(handed.sheet_path) if handed.sheet_path in tree.paths() else None
        if old == handed.sheet and _photos_agree(tree, handed):
            return _placed(shop, aside, handed, (), again=True)  # an earlier hand was killed before it committed
        problems = tuple(problems_with(tree, handed.files, today))
        if old is not None:
            return _kept(shop, aside, handed, problems, _difference(handed, old) or "its photos differ")
        if any(problem.level == "error" for problem in problems):
            return _kept(shop, aside, handed, problems, "")
        return _placed(shop, aside, handed, problems)


def _refuse_another_engine(handed: HandedOver) -> None:
    """A sheet that says another engine than its folder is no draft to be mended: it may be the wrong phone's."""
    document, _ = read_document(handed.sheet_path, handed.sheet)
    written = document.data.get("engine") if isinstance(document.data, dict) else None
    if isinstance(written, str) and written != handed.engine:
        raise ZipRefusedError(f"the sheet is of engine {written!r}, and its folder is that of {handed.engine}")


def _found_again(shop: Path, handed: HandedOver) -> Taken | None:
    """The same content, taken in by an earlier commit, wherever the builder has moved or changed it since."""
    if repository_of(shop) is None:
        return None
    try:
        mark = f"{MARK}{handed.checksum}"
        commits = run_git(shop, "log", "--all", "--format=%h", "-1", "--fixed-strings", f"--grep={mark}").split()
    except GitFailed as trouble:
        if "does not have any commits" in str(trouble):
            return None
        raise
    return Taken("already there", handed.sheet_path, commits[0].decode("ascii"), handed.receipt) if commits else None


def _photos_agree(tree: Folder, handed: HandedOver) -> bool:
    """Whether no photo lies in the sheet's folder by a name handed over with other content."""
    there = set(tree.paths()).intersection(handed.files)
    return all(tree.read(path) == handed.files[path] for path in there)


def _placed(shop: Path, aside: Path, handed: HandedOver, problems: Sequence[Problem], *, again: bool = False) -> Taken:
    done = put_and_commit(shop, aside, handed.files, handed.sheet_path, _message(handed))
    return Taken("already there" if again else "taken in", handed.sheet_path, done, handed.receipt, tuple(problems))


def _kept(shop: Path, aside: Path, handed: HandedOver, problems: Sequence[Problem], difference: str) -> Taken:
    """The draft in a folder of its own in the inbox, with what is to be settled beside it."""
    folder = f"inbox/{handed.engine}-{handed.kind}-{handed.name}-{handed.receipt.replace('-', '')}"
    why = [str(problem) for problem in problems]
    if difference:
        why = [f"{handed.sheet_path} is there already; merge what is right, then remove this folder", difference, *why]
    files = {f"{folder}/{path.rpartition('/')[2]}": content for path, content in handed.files.items()}
    files[f"{folder}/{SHEET}"] = files.pop(f"{folder}/{handed.sheet_path.rpartition('/')[2]}")
    files[f"{folder}/{PROBLEMS}"] = ("\n".join(why) + "\n").encode()
    path = f"{folder}/{SHEET}"
    done = put_and_commit(shop, aside, files, path, _message(handed, ", to be settled"))
    return Taken("kept in the inbox", path, done, handed.receipt, tuple(problems), difference)


def _message(handed: HandedOver, more: str = "") -> str:
    return f"{handed.engine}: {handed.kind} of {handed.name}{more}\n\n{MARK}{handed.checksum}\n"


def _difference(handed: HandedOver, old: bytes) -> str:
    """Line by line, what the sheet that was handed over has otherwise than the one that is there."""
    there, new = (text.decode("utf-8", "replace").splitlines() for text in (old, handed.sheet))
    return "\n".join(difflib.unified_diff(there, new, handed.sheet_path, "handed over", lineterm="", n=1))


def taken_text(taken: Taken, zip_name: str) -> str:
    """What became of a zip, for the person who took it in; the receipt last, since that is typed in on the phone."""
    where = f"{taken.path}, commit {taken.commit}" if taken.commit else f"{taken.path}, in no commit"
    lines = [f"{zip_name}: {taken.outcome}: {where}", *(f"  {problem}" for problem in taken.problems)]
    if taken.difference:
        lines.append(taken.difference)
    return "\n".join([*lines, f"receipt: {taken.receipt}"])
