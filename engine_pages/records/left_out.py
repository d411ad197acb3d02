"""What a merge left out: something that one side had written, and that its result neither keeps nor amends.

Such a text was never corrected by anybody, and yet it does not stand in the record: the trail says where it went.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from .amendments import Field, field_changes, merged_changes
from .commits import CommitFacts
from .parsed import Version
from .strands import Held, Step, Strand, Turn

Found = Callable[[int], Held | None]


class Side(NamedTuple):
    """A record that one side of a merge touched: as that side holds it, and the ids of the side's own commits."""

    record: int
    held: Held
    commits: frozenset[str]


def note_left_out(
    merge: CommitFacts, sides: Sequence[Side], strands: Sequence[Strand], found: Found, versions: Mapping[str, Version]
) -> None:
    """Marks the fields and the records. `found`: what the merge's result holds of a record."""
    for record, held, commits in sides:
        strand, after = strands[record], found(record)
        if after is None and held.blob and strand.recorded.id in commits:
            strand.turns.append(Turn("left out", merge, next(reversed(strand.paths))))
        if after is None or not (after.blob and held.blob) or after.readable == held.readable:
            continue
        lost = _differing(Step(merge, "", (held.readable,), after.readable), versions)
        for step in (one for one in strand.steps if one.commit is merge):
            lost -= _differing(step, versions)
        for step in (one for one in strand.steps if one.commit.id in commits):
            step.lost.update(dict.fromkeys(lost, merge))


def _differing(step: Step, versions: Mapping[str, Version]) -> set[Field]:
    if not step.new or not all(step.olds):
        return set()
    olds, new = [versions[old].data for old in step.olds], versions[step.new].data
    changes = field_changes(olds[0], new) if len(olds) == 1 else merged_changes(olds, new)
    return {one.field for one in changes}
