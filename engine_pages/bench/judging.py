"""What keeps a draft out of its place: what is wrong in it, and how it differs from a sheet that is there already.

In: a shop's files, the draft, and what lies where it belongs. Out: problems at the lines where the draft itself lies,
since it is mended there, and the difference in words.
"""

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from ..records.sheet import SheetKind
from ..records.source import Problem, Source, error
from ..records.tree import Tree
from ..records.yaml_text import read_document
from .as_it_would_be import problems_with
from .inbox import Draft

_COMMENT: Final = re.compile(r"(?:^|\s+)#.*$")
_BARE: Final = re.compile(r"\s*[^\s#'\"{\[-][^:]*:")  # a key with nothing behind it
NONE_ALONG: Final[Mapping[str, bytes]] = MappingProxyType({})
PLACE_INDENT: Final = 2  # blanks before a place's name, as sheets are written


class Judged(Struct, frozen=True):
    """Problems by the paths where the files belong, and the difference; empty where there is none."""

    draft: Draft
    problems: tuple[Problem, ...]
    difference: str

    @property
    def stays_out(self) -> bool:
        """Whether anything keeps it out of its place."""
        return bool(self.difference) or any(problem.level == "error" for problem in self.problems)

    @property
    def in_inbox(self) -> tuple[Problem, ...]:
        """The problems, those of the draft's own files at the paths where they wait."""
        return tuple(map(self._moved, self.problems))

    @property
    def words(self) -> list[str]:
        """All that is to be settled."""
        return [*([self.difference] if self.difference else []), *map(str, self.in_inbox)]

    def _moved(self, one: Problem) -> Problem:
        """A problem, and the command that it advises, where the draft waits."""
        path = self.draft.lies(one.source.path)
        message = one.message.replace(
            f"engine-pages file {self.draft.sheet_path} ", f"engine-pages file {self.draft.folder} "
        )
        return replace(one, source=replace(one.source, path=path), message=message)


def judged(
    tree: Tree, draft: Draft, there: Mapping[str, bytes], today: date, now: Iterable[Problem] | None = None,
    along: Mapping[str, bytes] = NONE_ALONG,
) -> Judged:  # fmt: skip
    """A draft held against the records. `there`: what the shop holds where its files belong; `now`: the shop's problems
    without it, where they are known; `along`: records that are committed with it."""
    problems = (*_in_the_way(draft, there), *problems_with(tree, {**draft.files, **along}, today, now))
    return Judged(draft, problems, _difference(tree, draft, there.get(draft.sheet_path)))


def what_is_there(tree: Tree, draft: Draft) -> dict[str, bytes]:
    """What lies already where the draft's files belong."""
    return {path: tree.read(path) for path in set(tree.paths()).intersection(draft.files)}


def _in_the_way(draft: Draft, there: Mapping[str, bytes]) -> list[Problem]:
    """Photos that are there by the name of one that was handed over, and are others."""
    photos = [path for path in sorted(there) if path != draft.sheet_path and there[path] != draft.files[path]]
    message = "another photo has this name already; give one of them another, in its sheet too"
    return [error(Source(path, 1, 1), message) for path in photos]


def _difference(tree: Tree, draft: Draft, old: bytes | None) -> str:
    """Line by line, what the draft says otherwise than the sheet that is there; empty where there is none, or the
    same."""
    path = draft.sheet_path
    if old is None or old == draft.files[path]:
        return ""
    where = "is there already" if path in tree.paths() else "is in git, though deleted in the folder"
    new = draft.files[path]
    lines = _changes(draft, _said(old, draft.kind), _said(new, draft.kind))
    if not lines and not _is_same(old, new):
        lines = _changes(draft, _lines(old), _lines(new))
    settle = f"merge what is right, then remove this folder; a second sheet of that day: rename it {_second(draft)}"
    return "\n".join([f"{path} {where}; {settle}", *(lines or ["they differ in comments and blank lines alone"])])


def _changes(draft: Draft, there: Sequence[str], new: Sequence[str]) -> list[str]:
    return list(difflib.unified_diff(there, new, draft.sheet_path, draft.sheet, lineterm="", n=1))


def _is_same(there: bytes, new: bytes) -> bool:
    """Whether two sheets say the same where they are read: within a block of text a # is no comment."""
    (one, one_wrong), (other, other_wrong) = read_document("", there), read_document("", new)
    return one.data == other.data and not one_wrong and not other_wrong


def _second(draft: Draft) -> str:
    """The folder's name with which the draft would be a sheet of its own of that day."""
    day, number = draft.name[:10], draft.name[11:] or "1"
    return draft.folder.replace(f"-{draft.name}-", f"-{day}-{int(number) + 1}-")


def _said(sheet: bytes, kind: SheetKind) -> list[str]:
    """The lines of a sheet that say something: without comments, and without keys that hold nothing.

    A build fits the places that it names, so that there a bare place says something.

    >>> _said(b"positions:\\n  rotor-1:   # R-1\\n    measured:\\n      width: 79.9  # mm\\n  rotor-2:\\n", "teardown")
    ['positions:', '  rotor-1:', '    measured:', '      width: 79.9']
    """
    kept: list[str] = []  # from the last line to the first
    for line in reversed(_lines(sheet)):
        text = (line if "'" in line or '"' in line else _COMMENT.sub("", line)).rstrip()
        names_place = kind == "build" and _indent(text) <= PLACE_INDENT
        if text and (names_place or not _BARE.fullmatch(text) or (kept and _is_held(kept[-1], text))):
            kept.append(text)
    return kept[::-1]


def _lines(sheet: bytes) -> list[str]:
    return sheet.decode("utf-8", "replace").splitlines()


def _is_held(below: str, key: str) -> bool:
    """Whether a line is what the key above it holds; an item of a list may stand as far out as its key."""
    return _indent(below) > _indent(key) or (_indent(below) == _indent(key) and below.lstrip().startswith("- "))


def _indent(text: str) -> int:
    return len(text) - len(text.lstrip())
