"""Which commit came before which: parents in, the sides of a merge and ancestry out."""

from collections.abc import Container, Sequence
from heapq import heappop, heappush


class CommitGraph:
    """Commits by their place in a list in which no child stands before its parents."""

    __slots__ = ("_at", "_ids", "_parents")

    def __init__(self, commits: Sequence[tuple[str, Sequence[str]]]) -> None:
        """`commits`: id and parents' ids, parents first. A parent that is not there counts as none."""
        self._ids = [id_ for id_, _ in commits]
        self._at = {id_: at for at, (id_, _) in enumerate(commits)}
        self._parents = [[self._at[one] for one in parents if one in self._at] for _, parents in commits]

    def is_before(self, one: str, other: str) -> bool:
        """Whether the first is an ancestor of the second."""
        wanted, start = self._at[one], self._at[other]
        waiting, seen = [start], {start}
        while waiting:
            for parent in self._parents[waiting.pop()]:
                if parent == wanted:
                    return True
                if parent > wanted and parent not in seen:
                    seen.add(parent)
                    waiting.append(parent)
        return False

    def reached(self, head: str, closed: Container[tuple[str, str]]) -> set[str]:
        """The commits that are found from a head, itself among them, when ways from a child to a parent are closed."""
        waiting, found = [self._at[head]], {head}
        while waiting:
            at = waiting.pop()
            for parent in self._parents[at]:
                id_ = self._ids[parent]
                if id_ not in found and (self._ids[at], id_) not in closed:
                    found.add(id_)
                    waiting.append(parent)
        return found

    def sides(self, merge: str) -> list[set[int]]:
        """Of a merge, for each parent, the places of the commits that it alone brings: of no other parent's past."""
        parents = self._parents[self._at[merge]]
        everyone = (1 << len(parents)) - 1
        marks: dict[int, int] = {}
        waiting: list[int] = []
        for nth, at in enumerate(parents):
            _mark(marks, waiting, at, 1 << nth)
        found: list[set[int]] = [set() for _ in parents]
        shared = 0  # how many of those that wait are everyone's: once all are, nothing older is one side's alone
        while waiting and shared < len(waiting):
            at = -heappop(waiting)
            mark = marks[at]
            shared -= mark == everyone
            if mark.bit_count() == 1:
                found[mark.bit_length() - 1].add(at)
            for parent in self._parents[at]:
                shared += _mark(marks, waiting, parent, mark) and marks[parent] == everyone
        return found


def _mark(marks: dict[int, int], waiting: list[int], at: int, mark: int) -> bool:
    """Marks a commit as seen from a parent; whether it thereby became everyone's or began to wait."""
    before = marks.get(at, 0)
    marks[at] = before | mark
    if not before:
        heappush(waiting, -at)
    return marks[at] != before
