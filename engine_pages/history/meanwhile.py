"""What else changed between the two sides of a change: other fluids, incidents, machining, kinds of run."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from ..wear.intervals import ChangeSide
from .book import Book
from .recipes import Run

Counted = tuple[Sequence[Run], ChangeSide, Mapping[str, frozenset[str]]]
SIDES: tuple[ChangeSide, ChangeSide] = ("before", "after")


def meanwhile_of(book: Book, fluid: str, counted: Sequence[Counted]) -> tuple[str, ...]:
    """Sentences that begin with what differs; empty where nothing else is written to have changed."""
    if not counted:
        return ()
    return (*_fluids(fluid, counted), *_engines(counted), *_happened(book, counted))


def _fluids(fluid: str, counted: Sequence[Counted]) -> Iterator[str]:
    """Other fluids whose names are not the same on both sides."""
    others = sorted({name for _, _, names in counted for name in names if name != fluid})
    for other in others:
        before, after = (
            sorted({name for _, of, names in counted if of == side for name in names.get(other, ())}) for side in SIDES
        )
        if before != after:
            yield f"{other}: {', '.join(before) or 'not written'} before, {', '.join(after) or 'not written'} after"


def _engines(counted: Sequence[Counted]) -> Iterator[str]:
    before, after = ({run.stretch[0] for runs, of, _ in counted if of == side for run in runs} for side in SIDES)
    if before != after:
        yield f"engines: {', '.join(sorted(before))} before, {', '.join(sorted(after))} after"


def _happened(book: Book, counted: Sequence[Counted]) -> Iterator[str]:
    """Incidents and machining in the engines while they ran on each side, where the two sides differ."""
    spans = {side: _spans(counted, side) for side in SIDES}
    incidents, work = ({side: list(found(book, spans[side])) for side in SIDES} for found in (_incidents, _work))
    for name, by_side in (("incidents", incidents), ("machining", work)):
        if by_side["before"] != by_side["after"]:
            said = (f"{', '.join(dict.fromkeys(by_side[side])) or 'none'} {side}" for side in SIDES)
            yield f"{name}: {', '.join(said)}"


def _spans(counted: Sequence[Counted], side: ChangeSide) -> dict[str, tuple[int, int]]:
    """The first and the last day that each engine ran on one side."""
    out: dict[str, tuple[int, int]] = {}
    for runs, of, _ in counted:
        for run in runs if of == side else ():
            first, last = out.get(run.stretch[0], (run.moment[0], run.moment[0]))
            out[run.stretch[0]] = min(first, run.moment[0]), max(last, run.moment[0])
    return out


def _incidents(book: Book, spans: Mapping[str, tuple[int, int]]) -> Iterator[str]:
    for engine, (first, last) in sorted(spans.items()):
        for moment, entry, _ in book.ledgers[engine].lines:
            if entry.line.kind == "incident" and first <= moment[0] <= last:
                what = (entry.line.what or "incident").replace("_", "-")
                yield f"{what} of {engine} on {date.fromordinal(moment[0]).isoformat()}"


def _work(book: Book, spans: Mapping[str, tuple[int, int]]) -> Iterator[str]:
    for engine, (first, last) in sorted(spans.items()):
        for sheet in book.checked.shop.engines[engine].sheets:
            if first <= sheet.day.toordinal() <= last:
                yield from (f"{work.part or work.position} {work.did}" for work in sheet.it.work or ())
