"""The lives of a kind's parts and how often its places are renewed: the book in, curves with their intervals out.

A strip shows a failure, it does not see it happen: it lies between the last sheet that looked at the part and found it
good, and the one that found it worn or damaged. For the same reason a part that runs counts as good up to the last
sheet that looked at it, and no further.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ..records.family import Family
from ..records.fitting import Fitted, PartEntry
from ..records.moments import Moment
from ..records.sheet import FAILED, GOES_OUT
from ..wear.lifetimes import FEWEST_FAILURES, Lifetime
from ..wear.renewals import EngineHistory, Growth, mean_cumulative
from ..wear.survival import Survival, survival
from ..wear.weibull import Weibull, fit_weibull
from .book import Book, sheet_ref
from .lives import Life
from .told_kinds import Ending, LifeLeftOut, LifeStory, LivesStory, RenewalsStory
from .told_parts import SheetRef

NOT_GOOD = (*GOES_OUT, "undecided")  # decisions after which a part is not known to have been good
TENTH = 0.1  # of the parts have failed by the life that nine of ten reach
FEWEST_RENEWALS = 3  # in all: below, no place is replaced again and again


@dataclass(frozen=True, slots=True)
class Look:
    """One sheet's look at a part: when, what it had run by then, what was decided and why."""

    moment: Moment
    exposure: float
    decision: str | None
    because: str | None
    sheet: SheetRef


@dataclass(frozen=True, slots=True)
class Watched:
    """One engine: in how many places it has held such parts, and when they were renewed; None if that is not known."""

    engine: str
    places: int
    history: EngineHistory | None


def lives_of(book: Book, family: Family, parts: Sequence[PartEntry], until: Moment, confidence: float) -> LivesStory:
    """The lives of these parts until a moment, and what they say of the kind."""
    told = [found for part in parts if (found := life_of(book, family, part, until)) is not None]
    lives = sorted((one for one in told if isinstance(one, LifeStory)), key=lambda one: (-one.run, one.part))
    left_out = tuple(one for one in told if isinstance(one, LifeLeftOut))
    failed = [one for one in lives if one.life.failed]
    events = {one.sheet.path for one in failed if one.sheet is not None}
    curve, law, no_law = _laws([one.life for one in lives], len(failed), confidence)
    reached = law.life_at(TENTH) if law is not None else None
    return LivesStory(tuple(lives), left_out, len(failed), len(events), curve, law, reached, no_law)


def _laws(lives: Sequence[Lifetime], failed: int, confidence: float) -> tuple[Survival | None, Weibull | None, str]:
    """The curve, the law, and why there is none."""
    if failed < FEWEST_FAILURES:
        return None, None, f"no curve is drawn through fewer than {FEWEST_FAILURES} failures"
    try:
        curve = survival(lives, confidence)
    except ArithmeticError as trouble:  # as turnbull documents: the curve does not come to rest
        return None, None, str(trouble)
    try:
        return curve, fit_weibull(lives, confidence), ""
    except ValueError as trouble:  # as weibull documents: the likelihood has no maximum
        return curve, None, str(trouble)


def life_of(book: Book, family: Family, part: PartEntry, until: Moment) -> LifeStory | LifeLeftOut | None:
    """One part's life; None for one that was never fitted, a reason where its life cannot be told."""
    life = book.lives.of(part.id)
    stays = [stay for stay in life.stays if stay.began <= until]
    if not stays:
        return None
    if life.unknown_before:
        return LifeLeftOut(part.id, "life before the records unknown")
    spent = book.lives.exposure(part.id, until)
    if spent.is_bound(family.exposure):
        return LifeLeftOut(part.id, f"{family.exposure} not written whole")
    return _told(part, life, stays, tuple(looks_at(book, family, part, until)), spent.amount(family.exposure), family)


def _told(
    part: PartEntry, life: Life, stays: Sequence[Fitted], looks: Sequence[Look], run: float, family: Family
) -> LifeStory | LifeLeftOut:
    entered = life.before.amount(family.exposure)
    last = stays[-1]
    decided = _decided(looks, last)
    ending = _ending(last, decided, looks)
    failed = decided if ending == "failed" else None
    good = [look.exposure for look in looks if look is not failed and look.decision not in NOT_GOOD]
    if ending == "taken out" and decided is not None:
        good.append(decided.exposure)
    known = max([entered, *good])
    if failed is not None and failed.exposure <= entered:
        return LifeLeftOut(part.id, "found bad before it ran")
    ended = None if failed is None else failed.exposure
    lifetime = Lifetime(known if ended is None else min(known, ended), ended, entered)
    because = decided.because if decided is not None else None
    sheet = decided.sheet if decided is not None else None
    return LifeStory(part.id, part.named, last.engine, last.slot.name, run, lifetime, ending, because, sheet)


def looks_at(book: Book, family: Family, part: PartEntry, until: Moment) -> Iterator[Look]:
    """Every sheet that speaks of a part, oldest first."""
    for mention in book.mentions.get(part.id, []):
        if mention.moment > until:
            continue
        resolved = book.checked.resolved[mention.path]
        line = resolved.lines[mention.slot]
        stay = book.checked.fitting.seen[mention.path, mention.slot]
        exposure = book.lives.exposure_in(stay, mention.moment).amount(family.exposure)
        yield Look(mention.moment, exposure, line.decision, line.because, sheet_ref(resolved.sheet))


def _decided(looks: Sequence[Look], last: Fitted) -> Look | None:
    """The builder's last word that a part is out, or not decided on; None where it was fitted again since."""
    for look in reversed(looks):
        if look.decision is not None:
            return look if look.decision in NOT_GOOD and last.began <= look.moment else None
    return None


def _ending(last: Fitted, decided: Look | None, looks: Sequence[Look]) -> Ending:
    if decided is not None and decided.decision in GOES_OUT:
        return "failed" if decided.because in FAILED else "taken out"
    if decided is not None:
        return "undecided"
    inside = last.ended is None or not any(look.moment >= last.ended for look in looks)
    return "running" if inside else "on the shelf"


def renewals_of(book: Book, family: Family, kind: str, until: Moment, confidence: float) -> RenewalsStory | None:
    """How often the places of a kind are renewed; None with fewer than `FEWEST_RENEWALS` in all.

    A renewal is a part taken out for good, at the exposure of its engine then; one that goes back in, or into another
    engine, is none. The unit is the engine: its places are opened together, so that they are no separate witnesses.
    """
    of_family = [one for one in book.checked.engines() if book.checked.shop.family_of(one.id) is family]
    watched = [one for engine in of_family if (one := _watched(book, family, engine.id, kind, until)) is not None]
    whole = [one for one in watched if one.history is not None]
    histories = [one.history for one in whole if one.history is not None]
    replaced = sum(len(one.replaced_at) for one in histories)
    if replaced < FEWEST_RENEWALS:
        return None
    curve, places = mean_cumulative(histories, confidence), max(one.places for one in whole)
    return RenewalsStory(
        places=places,
        engines=tuple(one.engine for one in whole),
        left_out=tuple(one.engine for one in watched if one.history is None),
        replaced=replaced,
        growths=tuple(_a_place(one, places) for one in curve.growths),
        until=curve.until,
    )


def _watched(book: Book, family: Family, engine: str, kind: str, until: Moment) -> Watched | None:
    """One engine's history; None where it never ran or never held such a part."""
    ledger = book.ledgers[engine].ledger
    ran = ledger.until(until)
    of_engine = [stays for (of, _), stays in book.in_slot.items() if of == engine]
    stays = [stay for each in of_engine for stay in each if stay.slot.kind == kind and stay.began <= until]
    if ran.amount(family.exposure) <= 0.0 or not stays:
        return None
    places = len({stay.slot.id for stay in stays})
    if ran.is_bound(family.exposure):
        return Watched(engine, places, None)
    ends = [stay.ended for stay in stays if stay.ended is not None and _used_up(stay, until)]
    at = sorted(ledger.until(ended).amount(family.exposure) for ended in ends)
    return Watched(engine, places, EngineHistory(tuple(x for x in at if x > 0.0), ran.amount(family.exposure)))


def _used_up(stay: Fitted, until: Moment) -> bool:
    """Whether a stay ended, by then, with the part's end."""
    return stay.ended is not None and stay.ended <= until and stay.decision in GOES_OUT


def _a_place(growth: Growth, places: int) -> Growth:
    ends = (None if end is None else end / places for end in (growth.low, growth.high))
    low, high = ends
    return replace(growth, mean=growth.mean / places, low=low, high=high)
