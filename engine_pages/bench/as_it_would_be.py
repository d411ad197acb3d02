"""A shop with some of its files as they would be: read and checked whole before anything is written."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from msgspec import Struct

from ..records.checks.all import read_checked
from ..records.source import Problem
from ..records.tree import Tree


class AsItWouldBe(Struct, frozen=True):
    """A tree with these files in the place of its own, or besides them."""

    tree: Tree
    files: Mapping[str, bytes]

    @property
    def label(self) -> str:
        return self.tree.label

    def paths(self) -> Sequence[str]:
        return sorted({*self.tree.paths(), *self.files})

    def read(self, path: str) -> bytes:
        return self.files[path] if path in self.files else self.tree.read(path)

    def size(self, path: str) -> int:
        return len(self.files[path]) if path in self.files else self.tree.size(path)


def problems_with(
    tree: Tree, files: Mapping[str, bytes], today: date, now: Iterable[Problem] | None = None
) -> list[Problem]:
    """What these files bring that the shop has not now: problems on them, and new ones elsewhere. `now`: the shop's
    problems without them, where they are known already."""
    before = set(read_checked(tree, today).problems if now is None else now)
    then = read_checked(AsItWouldBe(tree, files), today).problems
    return [problem for problem in then if problem.source.path in files or problem not in before]
