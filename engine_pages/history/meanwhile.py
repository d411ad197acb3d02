"""What else changed between the two sides of a change: other fluids, incidents, machining, kinds of run."""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from operator import itemgetter

from ..records.moments import Moment
from ..wear.intervals import ChangeSide
from .book import Book
from .recipes import SIDES, On, Run

Counted = tuple[Sequence[Run], ChangeSide, Mapping[str, frozenset[str]]]
Ran = Sequence[tuple[Moment, ChangeSide]]  # an engine's runs that count, in order of time


def meanwhile_of(book: Book, fluid: str, counted: Sequence[Counted], on: On) -> tuple[str, ...]:
    """Sentences that begin with what differs; empty where nothing else is written to have changed.

    `on` says of either side what its engines ran on.
    """
    if not counted:
        return ()
    incidents, work = _incidents(book, counted, on), _work(book, counted, on)
    return (*_fluids(fluid, counted, on), *_engines(counted, on), *incidents, *work)


def _differ(what: str, of: Mapping[ChangeSide, Sequence[str]], on: On, nothing: str) -> Iterator[str]:
    """What stands on each side, where that is not the same."""
    if of["before"] != of["after"]:
        said = (f"{', '.join(dict.fromkeys(of[side])) or nothing} {on[side]}" for side in SIDES)
        yield f"{what}: {', '.join(said)}"


def _fluids(fluid: str, counted: Sequence[Counted], on: On) -> Iterator[str]:
    """Other fluids whose names are not the same on both sides."""
    for other in sorted({name for _, _, names in counted for name in names if name != fluid}):
        of = {side: _names(other, counted, side) for side in SIDES}
        yield from _differ(other, of, on, "not written")


def _names(fluid: str, counted: Sequence[Counted], side: ChangeSide) -> list[str]:
    return sorted({one for _, at, names in counted if at == side for one in names.get(fluid, ())})


def _engines(counted: Sequence[Counted], on: On) -> Iterator[str]:
    of = {side: sorted({run.stretch[0] for runs, of, _ in counted if of == side for run in runs}) for side in SIDES}
    yield from _differ("engines", of, on, "none")


def _ran(counted: Sequence[Counted]) -> dict[str, Ran]:
    """The runs of every engine with their sides, in order of time."""
    found: dict[str, dict[Moment, ChangeSide]] = {}
    for runs, side, _ in counted:
        for run in runs:
            found.setdefault(run.stretch[0], {})[run.moment] = side
    return {engine: sorted(of.items()) for engine, of in sorted(found.items())}


def _around(ran: Ran, moment: Moment) -> tuple[ChangeSide, ChangeSide] | None:
    """The sides of the runs before and after a moment; None for a day before the first or after the last."""
    if not ran[0][0][0] <= moment[0] <= ran[-1][0][0]:
        return None
    n = bisect_left(ran, moment, key=itemgetter(0))
    return ran[max(n - 1, 0)][1], ran[min(n, len(ran) - 1)][1]


def _incidents(book: Book, counted: Sequence[Counted], on: On) -> Iterator[str]:
    """Incidents on each side: one belongs to the run that it was written after."""
    of: dict[ChangeSide, list[str]] = {side: [] for side in SIDES}
    for engine, ran in _ran(counted).items():
        for moment, entry, _ in book.ledgers[engine].lines:
            around = _around(ran, moment)
            if entry.line.kind == "incident" and around is not None:
                what = (entry.line.what or "incident").replace("_", "-")
                of[around[0]].append(f"{what} of {engine} on {date.fromordinal(moment[0]).isoformat()}")
    yield from _differ("incidents", of, on, "none")


def _work(book: Book, counted: Sequence[Counted], on: On) -> Iterator[str]:
    """Machining on each side, and at the change itself: between a run of one side and one of the other."""
    of: dict[ChangeSide, list[str]] = {side: [] for side in SIDES}
    between: list[str] = []
    for engine, ran in _ran(counted).items():
        for sheet in book.checked.shop.engines[engine].sheets:
            around = _around(ran, book.moment(sheet))
            if around is not None:
                did = [f"{work.part or work.position} {work.did}" for work in sheet.it.work or ()]
                (of[around[0]] if around[0] == around[1] else between).extend(did)
    yield from _differ("machining", of, on, "none")
    if between:
        yield f"machining at the change: {', '.join(dict.fromkeys(between))}"
