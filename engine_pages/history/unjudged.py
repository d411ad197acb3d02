"""What nothing judges: dimensions and clearances without a limit, and of those what was never measured either.

In: the parts that stand in an engine, the rows of its family's limits. Out: sentences, each with the place in the
family where a limit would be written. What has a limit and was not measured is told elsewhere, part by part.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from ..records.source import Source
from .season_words import in_sets, sets_of
from .story import LimitRow, PartStory

MOST_NAMED: Final = 4  # rows in a sentence; of more the first are named
FIT: Final = "Fit"  # what the rows of clearances stand under, where those of dimensions have their kind


def never_read(parts: Sequence[PartStory], rows: Sequence[LimitRow]) -> Iterator[tuple[str, str, Source | None]]:
    """Kind by kind what has no limit and was never measured on a part: the kind, the sentence, the place."""
    places = {(row.kind_name, row.dimension): row.source for row in rows}
    kinds: dict[str, dict[str, list[PartStory]]] = {}
    for part in parts:
        for dimension in part.dimensions:
            if dimension.limit is None and not dimension.readings:
                kinds.setdefault(part.kind, {}).setdefault(dimension.name, []).append(part)
    for kind, unread in kinds.items():
        first = next(iter(unread))
        said = "; ".join(f"{who}: {', '.join(names)}" for who, names in _by_place(unread, parts).items())
        yield kind, f"{said}, never measured; no limit is written", places.get((unread[first][0].kind_name, first))


def _by_place(unread: Mapping[str, Sequence[PartStory]], parts: Sequence[PartStory]) -> dict[str, list[str]]:
    """The dimensions that are missing of the same places, under the names of these places."""
    out: dict[str, list[str]] = {}
    for name, here in unread.items():
        who = ", ".join(in_sets([part.slot_name for part in here], sets_of(parts)))
        out.setdefault(who, []).append(name.lower())
    return out


def no_limit(parts: Sequence[PartStory], rows: Sequence[LimitRow]) -> tuple[str, Source] | None:
    """In one sentence what of the kinds that stand in the engine has no limit, so that a new shop is not drowned."""
    here = {part.kind_name for part in parts} | ({FIT} if parts else set())
    judged = [row for row in rows if row.kind_name in here]
    bare = [row for row in judged if not row.limit]
    if not bare:
        return None
    names = [
        row.dimension.lower() if row.kind_name == FIT else f"{row.kind_name} {row.dimension}".lower() for row in bare
    ]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    are = "is" if len(bare) == 1 else "are"
    count = f"{len(bare)} of {len(judged)} dimensions and clearances {are} not judged"
    return f"no limit is written for {', '.join(names[:MOST_NAMED])}{more}: {count}", bare[0].source
