"""A commit by its engines: git's own name for all that each engine's folder holds, and the files around them.

In: a shop's folder and a revision. Out: what differs from another commit, without a list of every file of every engine;
the files of the engines that are asked for. A name of git's follows from what a folder holds and nothing else.
"""

import os
import stat
from collections.abc import Collection, Iterator, Sequence
from functools import cached_property
from pathlib import Path
from typing import Final

from .git import GitFailed, run_git
from .tree import Commit, NoTree, is_passed_over, shown, why_left_out

ENGINES: Final = "engines"
PARTS, ENDING = "parts/", ".yml"
MOST_ASKED: Final = 24  # askings; a shop of which more is wanted is listed whole, once


class Outline:
    """What stands at the top of a shop at a commit, and by engine git's name for its folder.

    `around`: every file but those of engines, the parts' own among them.
    """

    def __init__(self, root: Path, revision: str) -> None:
        """NoTree, as `Commit`."""
        self._nothing = Commit(root, revision, only=())
        self._asked = 0
        try:
            top = list(self._children(""))
        except GitFailed as trouble:
            raise NoTree(f"{shown(revision)}: the shop's folder is not in that commit ({trouble})") from trouble
        inside = list(self._children(ENGINES)) if any(path == ENGINES and is_tree for path, is_tree, _ in top) else []
        read = {path for path, is_tree, _ in inside if is_tree and not why_left_out(path, stat.S_IFDIR)}
        self.engines = {path.removeprefix(f"{ENGINES}/"): id for path, _, id in inside if path in read}
        beside = [path for path, _, _ in inside if path not in read]  # what may not be read is left out there, and told
        self.around = self._listed([*(path for path, is_tree, _ in top if path != ENGINES or not is_tree), *beside])

    @property
    def commit(self) -> str:
        return self._nothing.commit

    @cached_property
    def parts(self) -> dict[str, str]:
        """The parts' own files by their names."""
        paths = (path for path in self.around.paths() if path.startswith(PARTS) and path.endswith(ENDING))
        return {path[len(PARTS) : -len(ENDING)]: path for path in paths if path.count("/") == 1}

    @cached_property
    def others(self) -> list[str]:
        """Every file that is neither an engine's nor a part's."""
        parts = set(self.parts.values())
        return [path for path in self.around.paths() if path not in parts]

    def of_engines(self, names: Collection[str]) -> Commit:
        """The files of some engines. GitFailed."""
        known = [name for name in sorted(names) if name in self.engines]
        self._asked += 1
        if self._asked <= MOST_ASKED:
            return self._listed([f"{ENGINES}/{name}" for name in known])
        paths = (path for name in known for path in self._by_engine.get(name, ()))
        return self.whole.part(paths, tuple(f"{ENGINES}/{name}/" for name in known))

    @cached_property
    def whole(self) -> Commit:
        """Every file of the commit."""
        return self._nothing.with_files(None)

    @cached_property
    def _by_engine(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for path in self.whole.paths():
            room, _, rest = path.partition("/")
            if room == ENGINES and "/" in rest:
                found.setdefault(rest.partition("/")[0], []).append(path)
        return found

    def _listed(self, only: Sequence[str]) -> Commit:
        return self._nothing.with_files(only)

    def _children(self, folder: str) -> Iterator[tuple[str, bool, str]]:
        """Path, whether it is a folder, and git's name, of what stands in a folder."""
        listing = run_git(self._nothing.root, "ls-tree", "-z", "--full-tree", self._nothing.place_of(folder))
        for entry in listing.split(b"\0")[:-1]:
            meta, _, name = entry.partition(b"\t")
            mode, _, id = meta.decode("ascii").split()
            path = os.fsdecode(name if not folder else os.fsencode(folder) + b"/" + name)
            if not is_passed_over(path):
                yield path, stat.S_ISDIR(int(mode, 8)), id
