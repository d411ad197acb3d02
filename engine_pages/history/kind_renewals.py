"""How often the places of a kind are renewed as its engines run: the book in, a mean curve with its intervals out.

A renewal is a part taken out for good, at the exposure of its engine then; one that goes back in, or into another
engine, is none. The unit is the engine: its places are opened together, so that they are no separate witnesses.
"""

from collections.abc import Mapping, Sequence

from ..records.family import Family
from ..records.fitting import Fitted
from ..records.moments import Moment
from ..records.sheet import GOES_OUT
from ..wear.renewals import EngineHistory, mean_cumulative
from .book import Book
from .told_kinds import RenewalsStory

FEWEST_RENEWALS = 3  # in all: below, no place is replaced again and again


def renewals_of(book: Book, family: Family, kind: str, until: Moment, confidence: float) -> RenewalsStory | None:
    """How often the places of a kind are renewed; None with fewer than `FEWEST_RENEWALS` in all."""
    watched = _watched(book, family, kind, until)
    histories = {engine: history for engine, history in watched.items() if history is not None}
    replaced = sum(len(history.replaced_at) for history in histories.values())
    if replaced < FEWEST_RENEWALS:
        return None
    curve = mean_cumulative(list(histories.values()), confidence)
    return RenewalsStory(
        places=sum(history.places for history in histories.values()),
        engines=tuple(histories),
        left_out=tuple(engine for engine in watched if engine not in histories),
        replaced=replaced,
        growths=curve.growths,
        until=curve.until,
        beyond=curve.beyond,
        stopped_by=tuple(engine for engine, history in histories.items() if history.stops_at(curve.until)),
    )


def _watched(book: Book, family: Family, kind: str, until: Moment) -> Mapping[str, EngineHistory | None]:
    """The engines of the family that ran and ever held such a part; None for one whose exposure is not known whole."""
    of_family = [one.id for one in book.checked.engines() if book.checked.shop.family_of(one.id) is family]
    out: dict[str, EngineHistory | None] = {}
    for engine in of_family:
        ran = book.ledgers[engine].ledger.until(until)
        of_engine = [stays for (of, _), stays in book.in_slot.items() if of == engine]
        held = [stay for stays in of_engine for stay in stays if stay.slot.kind == kind and stay.began <= until]
        if held and ran.amount(family.exposure) > 0.0:
            out[engine] = None if ran.is_bound(family.exposure) else _history(book, family, held, until)
    return out


def _history(book: Book, family: Family, held: Sequence[Fitted], until: Moment) -> EngineHistory:
    """One engine's renewals, and how far it was watched: to what it has run by then."""
    ledger = book.ledgers[held[0].engine].ledger
    ended = [stay.ended for stay in held if stay.decision in GOES_OUT]
    at = sorted(ledger.until(one).amount(family.exposure) for one in ended if one is not None and one <= until)
    places = len({stay.slot.id for stay in held})
    watched_to = ledger.until(until).amount(family.exposure)
    return EngineHistory(tuple(x for x in at if x > 0.0), watched_to, places=places)
