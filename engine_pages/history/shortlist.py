"""What stops the engine first: limits and dues, nearest first. What was never measured is not in it."""

import math
from collections.abc import Iterable, Iterator

from ..records.sheet import GOES_OUT
from .story import STATES, DimensionStory, DueStory, FitStory, PartStory, Stopper

NOW_STATES = ("beyond limit", "overdue")
ANY_TIME = ("due", "undecided", "near limit")
FAR = 1e12  # exposures; sorts after every real one
WHOLE_FROM = 10.0  # exposures; what is left is told to a tenth below


def shortlist_of(parts: Iterable[PartStory], fits: Iterable[FitStory], unit: str) -> tuple[Stopper, ...]:
    """Candidates in the order in which they would stop the engine, by the middle of what is known of each.

    A part has one row, that of its worst state, then of whichever of its limits and dues comes first. What is decided
    to go out stops nothing.
    """
    rows: list[Stopper] = []
    out: set[str] = set()
    for part in parts:
        if part.decision in GOES_OUT:
            out.add(part.id)
            continue
        own = [*_dimensions(part), *_dues(part, unit)]
        if own:
            rows.append(min(own, key=lambda row: (STATES.index(row.state), rank(row))))
    staying = [fit for fit in fits if not out.intersection(fit.parts)]
    rows += [_stopper(None, fit.title, fit.dimension) for fit in staying if _counts(fit.dimension)]
    return tuple(sorted(rows, key=rank))


def rank(row: Stopper) -> tuple[float, float, float]:
    """Beyond and overdue first; then by what is left, else by what would be left at the average rate so far.

    What is due, undecided or near its limit with no figure to say when may come at any time: it stands before the rest.
    """
    now = 0.0 if row.state in NOW_STATES else 1.0
    if row.left is not None:
        left = row.left
    elif row.dimension is not None and row.share and row.share > 0 and row.dimension.now:
        left = row.dimension.now * max(1.0 - row.share, 0.0) / row.share
    elif row.state in ANY_TIME:
        left = 0.0
    else:
        left = FAR
    return now, left, -(row.share or 0.0)


def surely_left(low: float) -> tuple[float, int]:
    """A lower bound of what is left as it may be told, rounded down, and its decimals: whole from ten on, else a tenth.

    >>> surely_left(6.99), surely_left(11.9), surely_left(0.04)
    ((6.9, 1), (11.0, 0), (0.0, 1))
    """
    return (float(math.floor(low)), 0) if low >= WHOLE_FROM else (math.floor(low * 10.0) / 10.0, 1)


def _counts(dimension: DimensionStory) -> bool:
    return dimension.limit is not None and dimension.state != "not measured"


def _dimensions(part: PartStory) -> Iterator[Stopper]:
    for dimension in part.dimensions:
        if _counts(dimension):
            yield _stopper(part.id, part.slot_name, dimension)


def _stopper(part: str | None, slot_name: str, dimension: DimensionStory) -> Stopper:
    # what stands on its kind's line alone was never measured: when it stops is not this part's figure
    own = dimension.line is not None and dimension.line.n > 0
    crossing, now = dimension.to_limit if own else None, dimension.now or 0.0
    low, middle, high = (
        (None, None, None) if crossing is None else tuple(
            None if x is None else max(x - now, 0.0) for x in (crossing.low, crossing.median, crossing.high)
        )
    )  # fmt: skip
    if dimension.state == "beyond limit":
        middle = 0.0
    share = dimension.allowance.used if dimension.allowance else None
    return Stopper(part, slot_name, dimension.name, dimension.state, share, dimension, None, low, middle, high)


def _dues(part: PartStory, unit: str) -> Iterator[Stopper]:
    """Replacements by rule, and whatever is overdue or due: an inspection that is not due stops nothing."""
    for due in part.due:
        if due.what == "replace" or due.state in ("due", "overdue"):
            yield _due(part, due, unit)


def _due(part: PartStory, due: DueStory, unit: str) -> Stopper:
    left = due.left.get(unit)
    left = None if left is None else max(left, 0.0)
    return Stopper(part.id, part.slot_name, due.what, due.state, due.share, None, due, left, left, left)
