"""The answer at the head of an engine's page: what stops it first, whether anything is due, what is not measured.

In: an engine's story. Out: the claim, what follows from it, and the smaller sentence under both, as plain words.
"""

from collections.abc import Iterator
from datetime import date
from math import inf

from engine_pages.history.season_words import OPEN_IT, in_sets, sets_of
from engine_pages.history.story import STATES, DueStory, EngineStory, PartStory, Stopper
from engine_pages.pages.dimension_words import MEETS, due_left, due_words
from engine_pages.pages.season_section import advice_words
from engine_pages.pages.sets import sets_joined, stoppers_joined
from engine_pages.pages.wear_words import amount_words, reach_words
from engine_pages.pages.words import CANNOT_TELL, capital, count_words, day_words, figure_words, list_words, small
from engine_pages.records.sheet import GOES_OUT

MOST_NAMED = 3
BEFORE_IT_RUNS = "Before it runs again"


def engine_answer(engine: EngineStory) -> tuple[str, str]:
    """The claim and what follows from it; of one that lies apart first that it does."""
    claim, apart = engine_claim(engine), apart_words(engine)
    if not apart:
        return claim, f"{_plan_words(engine)} {_advice(engine)}".strip() if engine.plan else ""
    rest = " ".join(filter(None, _of_one_apart(engine)))
    if engine.state == "beyond limit":
        return f"{capital(apart)}; {small(claim)}", rest
    as_it_is = claim if claim.startswith(BEFORE_IT_RUNS) else f"As it lies, {small(claim)}"
    return f"{capital(apart)}.", f"{as_it_is} {rest}".strip()


def _of_one_apart(engine: EngineStory) -> Iterator[str]:
    """What waits for a decision, and whether it would last the plan as it is."""
    path = engine.last_teardown.path if engine.last_teardown is not None else None
    for gap in engine.gaps:
        if gap.kind == "no decision" and gap.source is not None and gap.source.path == path:
            yield gap.what if gap.what.endswith("…") else f"{gap.what}."
    if engine.plan:
        yield _plan_words(engine)
        advice = _advice(engine)
        yield f"Put together so: {small(advice)}" if advice.startswith(OPEN_IT) else advice


def apart_words(engine: EngineStory) -> str:
    """Since when it lies apart, and what is to go out: `apart since 9 May 2026, rotor bearing 2 to be replaced`.

    Nothing where it is together, or was never stripped.
    """
    if engine.assembled or engine.last_teardown is None:
        return ""
    since, out = f"apart since {day_words(engine.last_teardown.day)}", to_be_replaced(engine)
    return f"{since}, {shortened(out)} to be replaced" if out else since


def to_be_replaced(engine: EngineStory) -> list[str]:
    """What is decided to go out of an engine, a whole set as one."""
    out = [part.slot_name for part in engine.parts if part.decision in GOES_OUT]
    return [small(name) for name in in_sets(out, sets_of(engine.parts))]


def engine_claim(engine: EngineStory) -> str:
    """What is the worst of it, in one sentence: beyond a limit, overdue, or what stops it first."""
    beyond = [small(part.slot_name) for part in engine.parts if part.state == "beyond limit"]
    beyond += [small(fit.title) for fit in engine.fits if fit.state == "beyond limit"]
    beyond += [small(test.name) for test in engine.tests_now if test.state == "beyond limit"]
    if beyond:
        return f"{capital(shortened(beyond))} {'is' if len(beyond) == 1 else 'are'} beyond the limit."
    if any(due.state == "overdue" for due in engine.due):
        named = shortened(overdue_words(engine))
        return f"Overdue: {named}." if engine.assembled else f"{BEFORE_IT_RUNS}: {named}."
    tested = _tested_claim(engine)
    if tested is not None:
        return tested
    if not engine.shortlist:
        return "What stops it first: cannot tell. Nothing was measured against a limit."
    return stopper_claim(stoppers_joined(engine.shortlist)[0][0])


def _tested_claim(engine: EngineStory) -> str | None:
    """What a test says, where that and no part or clearance makes the engine's state."""
    said = {"near limit": "is near its limit", "undecided": "cannot be decided"}.get(engine.state)
    test = next((one for one in engine.tests_now if one.state == engine.state), None)
    others = {*(part.state for part in engine.parts), *(fit.state for fit in engine.fits)}
    if said is None or test is None or engine.state in others:
        return None
    return f"{capital(test.name)} {said}."


def overdue_words(engine: EngineStory) -> list[str]:
    """What is overdue, each thing once and a set as one, what is furthest over first."""
    return list(dict.fromkeys(due_words(due) for due in sets_joined(engine.due) if due.state == "overdue"))


def stopper_claim(stopper: Stopper) -> str:
    """What stops it first, and when, in one sentence."""
    name = capital(stopper.slot_name)
    if stopper.due is not None:
        stops = "stop" if ", all " in name else "stops"
        return f"{name} {stops} it first: {stopper.due.what} {due_left(stopper.due)}."
    dimension = stopper.dimension
    if dimension is None:
        return f"{name} stops it first."
    when = reach_words(stopper.left_low, stopper.left, stopper.left_high, dimension.exposure_unit)
    if stopper.state == "undecided":
        return f"{name} comes first: whether it is inside its limit cannot be decided."
    if when.startswith(MEETS):
        return f"{name} stops it first, {when}."
    used = f"{figure_words(stopper.share * 100, 0)}\u00a0% used" if stopper.share is not None else ""
    if when.startswith("not before"):
        # others may be further along: it comes first by the time that is left to it
        return f"{name} may stop it first: {when}{f' ({used})' if used else ''}."
    return f"{name} is furthest along{f', {used}' if used else ''}; when it stops: {CANNOT_TELL}."


def _plan_words(engine: EngineStory) -> str:
    """What the plan still asks for."""
    unit = engine.exposure_unit
    asked = amount_words(sum(event.exposure.amount(unit) for event in engine.plan), unit)
    last = engine.plan[-1]
    return f"The plan asks for {asked} more, until {last.name} on {day_words(last.day)}."


def _advice(engine: EngineStory) -> str:
    """Whether the engine lasts the plan."""
    return "" if engine.season is None else advice_words(engine.season)


def engine_more(engine: EngineStory) -> str:
    """What is due next, and how many parts were never measured."""
    words = []
    due = next_due(engine)
    if due is not None and due.state != "overdue":
        words.append(f"Next due: {due_words(due)}, {due_left(due)}.")
    return " ".join((*words, *_missing(engine)))


def _missing(engine: EngineStory) -> Iterator[str]:
    """How many parts have no reading at all, and of how many parts, sets and clearances some are missing: the gaps page
    lists those."""
    unread, of = sum(not_measured(part) for part in engine.parts), count_words(len(engine.parts), "part")
    if unread:
        yield f"{unread} of {of} {'has' if unread == 1 else 'have'} no reading against a limit."
    gaps = sum(gap.kind == "not measured" for gap in engine.gaps)
    if gaps:
        yield f"{capital(count_words(gaps, 'thing'))} to be measured {'is' if gaps == 1 else 'are'} missing."


def next_due(engine: EngineStory) -> DueStory | None:
    """What falls due next, a set as one."""
    return next(iter(sets_joined(dues_in_order(engine))), None)


def dues_in_order(engine: EngineStory) -> tuple[DueStory, ...]:
    """What is due in the order in which it comes: by state, by what is left, by date, by the share that is used."""
    unit = engine.exposure_unit

    def comes(due: DueStory) -> tuple[int, float, date, float, str]:
        left = due.left.get(unit, inf)
        return STATES.index(due.state), left, due.due_on or date.max, -(due.share or 0.0), due.name

    return tuple(sorted(engine.due, key=comes))


def not_measured(part: PartStory) -> bool:
    """Whether a limit is written for the part and nothing was ever read against one."""
    limited = [one for one in part.dimensions if one.limit is not None]
    return bool(limited) and all(one.state == "not measured" for one in limited)


def shortened(names: list[str]) -> str:
    """Names in a row, the first few of many."""
    if len(names) <= MOST_NAMED:
        return list_words(names)
    return list_words([*names[: MOST_NAMED - 1], f"{len(names) - MOST_NAMED + 1} more"])
