"""The answer at the head of a part's page: how much is used, how fast it wears, when it meets its limit.

In: a part's story. Out: the claim, what follows from it, and the smaller sentence under both, as plain words.
"""

from engine_pages.history.story import DimensionStory, DueStory, EngineStory, PartStory
from engine_pages.pages.dimension_words import MEETS, due_left, left_words
from engine_pages.pages.shown_units import shown
from engine_pages.pages.wear_words import NO_WEAR, amount_words, speed_words
from engine_pages.pages.words import (
    CANNOT_TELL,
    capital,
    chance_words,
    count_words,
    dated,
    day_words,
    percent_words,
    quoted_words,
    small,
)


def part_answer(part: PartStory, units: tuple[str, str | None]) -> tuple[str, str]:
    """The claim and what follows from it."""
    if part.state == "retired":
        return "Retired.", ""
    worst = part.worst
    due = next((one for one in part.due if one.state == part.state and part.state in ("overdue", "due")), None)
    if due is not None:
        return _due_claim(due), _worn(shown(worst, units[0])) if worst is not None and worst.readings else ""
    if worst is None or worst.state == "not measured":
        return _never_read(part)
    return _worn(shown(worst, units[0])), _graded(part)


def _due_claim(due: DueStory) -> str:
    what = {"replace": "To be replaced", "inspect": "To be inspected", "service": "To be serviced"}[due.what]
    return f"{what}: {due_left(due)}."


def _never_read(part: PartStory) -> tuple[str, str]:
    limited = any(one.limit is not None for one in part.dimensions)
    if part.state == "beyond limit":
        return f"Beyond the limit: {dated(part.state_why)}.", ""
    if limited:
        return "Not measured.", "When it meets a limit: cannot tell."
    return ("Looked at; no limit in figures is written for it." if part.found else "Nothing is written of it yet."), ""


def _worn(dimension: DimensionStory) -> str:
    """How far along it is, how fast it goes, when it gets there."""
    name = capital(dimension.name)
    if dimension.state == "beyond limit":
        return f"{name} is beyond its limit."
    used = (
        f"{percent_words(dimension.allowance.used)} of its allowance is used" if dimension.allowance is not None else ""
    )
    if dimension.state == "undecided":
        return f"{name}: whether it is inside its limit cannot be decided."
    rate, left = dimension.rate, left_words(dimension)
    if rate is None:
        how = f"how fast it wears: {CANNOT_TELL}{_since_words(dimension)}"
    elif rate.holds(0.0):
        how = NO_WEAR if left == NO_WEAR else f"{NO_WEAR}, its limit {left}"
    else:
        speed = speed_words(rate, dimension.unit, dimension.exposure_unit)
        how = f"it wears {speed}" + (f" and meets its limit {left}" if left.startswith(MEETS) else f"; limit: {left}")
    if dimension.limit is None:
        how = how.split("; limit")[0]
    return f"{name}: {used}; {how}." if used else f"{name}: {how}."


def _since_words(dimension: DimensionStory) -> str:
    """Why a part has no rate though its kind has one: the kind's first hours are of another rate."""
    wear = dimension.wear
    if wear.line is not None or wear.bend is None or not wear.bend.bends:
        return ""
    from_then = amount_words(wear.since, dimension.exposure_unit)
    rate = "runs in" if wear.bend.rate == "falls" else "wears faster with use"
    return f", as its kind {rate}: readings count from {from_then} on alone"


def _graded(part: PartStory) -> str:
    """That a grade, not a figure, makes the part what it is."""
    worst = part.worst
    if part.state == "beyond limit" and worst is not None and worst.state != "beyond limit":
        return f"Beyond the limit: {dated(part.state_why)}."
    return ""


def part_more(part: PartStory, engine: EngineStory | None) -> str:
    """How many readings stand behind it, the chance of lasting the plan, and what the builder decided."""
    words = []
    worst = part.worst
    if worst is not None and worst.readings:
        words.append(f"{count_words(len(worst.readings), 'reading')} of {small(worst.name)}.")
    if worst is not None and worst.chance is not None:
        wanted = f"; wanted: {percent_words(engine.keep)}" if engine is not None and engine.keep is not None else ""
        words.append(f"Chance of lasting the plan: {chance_words(worst.chance)}{wanted}.")
    if part.decision and part.decided_on is not None:
        why = f": {quoted_words(part.decision_why)}" if part.decision_why else "."
        words.append(f"The builder decided {part.decision} on {day_words(part.decided_on.day)}{why}")
    return " ".join(words)
