"""The lives of a kind's parts: the book in, lives and their curve and law out, with their intervals.

A strip shows a failure, it does not see it happen: it lies between the last sheet that looked at the part and found it
good, and the one that found it worn or damaged. For the same reason a part that runs counts as good up to the last
sheet that looked at it, and no further.
"""

from collections.abc import Sequence

from ..records.family import Family
from ..records.fitting import Fitted, PartEntry
from ..records.moments import Moment
from ..records.sheet import FAILED, GOES_OUT
from ..wear.lifetimes import FEWEST_FAILURES, Lifetime, failures
from ..wear.survival import Survival, survival
from ..wear.weibull import Weibull, fit_weibull
from .book import Book
from .looks import NOT_GOOD, Look, looks_at
from .told_kinds import Ending, LifeLeftOut, LifeStory, LivesStory

TENTH = 0.1  # of the parts have failed by the life that nine of ten reach


def lives_of(book: Book, family: Family, parts: Sequence[PartEntry], until: Moment, confidence: float) -> LivesStory:
    """The lives of these parts until a moment, and what they say of the kind."""
    found = [life for part in parts if (life := life_of(book, family, part, until)) is not None]
    lives = sorted((one for one in found if isinstance(one, LifeStory)), key=lambda one: (-one.run, one.part))
    left_out = tuple(one for one in found if isinstance(one, LifeLeftOut))
    failed = [one for one in lives if one.life.failed]
    events = {one.sheet.path for one in failed if one.sheet is not None}
    told = [one.life for one in lives]
    curve, no_curve = _curve(told, confidence)
    law, no_law = _law(told, confidence)
    reached = law.life_at(TENTH) if law is not None else None
    return LivesStory(tuple(lives), left_out, len(failed), len(events), curve, law, reached, no_law, no_curve)


def reached_by(lives: Sequence[tuple[float, str, Lifetime]], confidence: float) -> float | None:
    """The life that nine of ten reach, from (run, part, life) of each; None where too few failed to tell."""
    law, _ = _law([life for _, _, life in sorted(lives, key=lambda one: (-one[0], one[1]))], confidence)
    return law.life_at(TENTH).value if law is not None else None


def _curve(lives: Sequence[Lifetime], confidence: float) -> tuple[Survival | None, str]:
    """The curve, or why there is none where enough failed to draw one."""
    if failures(lives) < FEWEST_FAILURES:
        return None, ""
    try:
        return survival(lives, confidence), ""
    except ArithmeticError as trouble:  # as turnbull documents: the curve does not come to rest
        return None, str(trouble)


def _law(lives: Sequence[Lifetime], confidence: float) -> tuple[Weibull | None, str]:
    """The law, or why there is none."""
    if failures(lives) < FEWEST_FAILURES:
        return None, f"no curve is drawn through fewer than {FEWEST_FAILURES} failures"
    try:
        return fit_weibull(lives, confidence), ""
    except ValueError as trouble:  # as weibull documents: the likelihood has no maximum
        return None, str(trouble)


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
    looks, entered = looks_at(book, family, part, until), life.before.amount(family.exposure)
    decided = _decided(looks, stays[-1])
    ending = _ending(stays[-1], decided, looks, until)
    failed = decided if ending == "failed" else None
    if failed is not None and failed.exposure <= entered:
        return LifeLeftOut(part.id, "found bad before it ran")
    return LifeStory(
        part=part.id,
        named=part.named,
        engine=stays[-1].engine,
        slot_name=stays[-1].slot.name,
        run=spent.amount(family.exposure),
        life=_life(entered, looks, failed, decided if ending == "taken out" else None),
        ending=ending,
        because=decided.because if decided is not None else None,
        sheet=decided.sheet if decided is not None else None,
    )


def _life(entered: float, looks: Sequence[Look], failed: Look | None, taken_out: Look | None) -> Lifetime:
    """Good from where it came in up to the last look that found it so; one taken out for a reason of its own, to then.

    What was seen on the day of a failure says nothing of how long the part was good before.
    """
    ended = failed.exposure if failed is not None else None
    good = [look.exposure for look in looks if look.good and (ended is None or look.exposure < ended)]
    if taken_out is not None and not taken_out.bad and (taken_out.because is not None or taken_out.seen):
        good.append(taken_out.exposure)
    return Lifetime(max([entered, *good]), ended, entered)


def _decided(looks: Sequence[Look], last: Fitted) -> Look | None:
    """The builder's last word that a part is out, or not decided on; None where it was fitted again since."""
    for look in reversed(looks):
        if look.decision is not None:
            return look if look.decision in NOT_GOOD and look.stay is last else None
    return None


def _ending(last: Fitted, decided: Look | None, looks: Sequence[Look], until: Moment) -> Ending:
    if decided is not None and decided.decision in GOES_OUT:
        return "failed" if decided.because in FAILED else "taken out"
    if decided is not None:
        return "undecided"
    if last.ended is None or last.ended > until:
        return "running"
    since = [look for look in looks if look.stay is last and look.moment >= last.ended]
    if any(look.good for look in since):
        return "on the shelf"
    return "undecided" if any(look.said for look in since) else "taken out, nothing written"
