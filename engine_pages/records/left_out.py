"""What a merge left out: something that one side had written, and that its result neither keeps nor amends.

Such a text was never corrected by anybody, and yet it does not stand in the record: the trail says where it went. A
field's text comes to a merge from each parent that holds the same, so a way that carries it no further is closed; an
amendment that cannot be reached from the newest commit by the open ways does not stand.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from .amendments import Field, field_changes, merged_changes
from .commit_graph import CommitGraph
from .commits import CommitFacts
from .parsed import Version
from .strands import Held, Step, Strand, Turn

Found = Callable[[int], Held | None]


class Side(NamedTuple):
    """A record that one side of a merge touched: as that side's parent holds it, and the ids of its own commits."""

    record: int
    parent: str
    held: Held
    commits: frozenset[str]


def note_left_out(
    merge: CommitFacts, sides: Sequence[Side], strands: Sequence[Strand], found: Found, versions: Mapping[str, Version]
) -> Iterator[int]:
    """Closes the ways, and gives the records that it did so for. `found`: what the merge's result holds of one."""
    for record, parent, held, commits in sides:
        strand, after = strands[record], found(record)
        if after is None and held.blob and strand.recorded.id in commits:
            strand.turns.append(Turn("left out", merge, next(reversed(strand.paths))))
        if after is None or not (after.blob and held.blob) or after.readable == held.readable:
            continue
        lost = _differing(Step(merge, "", (held.readable,), after.readable), versions)
        for step in (one for one in strand.steps if one.commit is merge):
            lost -= _differing(step, versions)
        for field in lost:
            strand.closed.setdefault(field, {})[merge.id, parent] = merge
        for step in (one for one in strand.steps if one.commit.id in commits):
            for field in lost:
                step.lost.setdefault(field, merge)
        if lost:
            yield record


def left_out_of(strand: Strand, head: str, graph: CommitGraph) -> Callable[[Step, Field], CommitFacts | None]:
    """Which merge, if any, left out what a step of this strand made of a field, as seen from the newest commit."""
    standing = {field: graph.reached(head, closed) for field, closed in strand.closed.items()}

    def left_out(step: Step, field: Field) -> CommitFacts | None:
        if field not in standing or step.commit.id in standing[field]:
            return None
        return step.lost.get(field) or next(iter(strand.closed[field].values()))

    return left_out


def _differing(step: Step, versions: Mapping[str, Version]) -> set[Field]:
    if not step.new or not all(step.olds):
        return set()
    olds, new = [versions[old].data for old in step.olds], versions[step.new].data
    changes = field_changes(olds[0], new) if len(olds) == 1 else merged_changes(olds, new)
    return {one.field for one in changes}
