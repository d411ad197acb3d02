"""What a page says of a reading, a dimension, a limit and of what is due, in the trade's words.

In: stories of readings, dimensions and things due, lengths in the units to be shown. Out: plain text. Every verdict,
share and date stands in the story already; this chooses digits and words.
"""

from typing import Final

from engine_pages.history.series import NEAR
from engine_pages.history.story import DimensionStory, DueStory, ReadingStory, Stopper
from engine_pages.pages.wear_words import NO_WEAR, amount_words, reach_words
from engine_pages.pages.words import (
    CANNOT_TELL,
    chance_words,
    dated,
    day_words,
    figure_words,
    key_words,
    list_words,
    needed_decimals,
    percent_words,
    small,
    unit_words,
    value_decimals,
)
from engine_pages.wear.limits import ONE_SIDED_95, Limit

MEETS: Final = ("in about", "any time from now, in")  # how a time begins at which a limit is met
CHANCE: Final = "the chance of lasting the plan"


def measured(dimension: DimensionStory) -> ReadingStory | None:
    """The last reading that says something; "not measurable" does not."""
    for reading in reversed(dimension.readings):
        if reading.kind != "not measurable":
            return reading
    return None


def reading_decimals(reading: ReadingStory) -> int:
    """Decimals that a reading is shown with."""
    uncertainty = None if reading.u is None else ONE_SIDED_95 * reading.u
    return value_decimals(uncertainty, reading.decimals)


def reading_words(reading: ReadingStory) -> str:
    """A reading's figure without its unit, at 20 °C where it was brought there: `60.061`, `0.36..0.42`, `under 0.05`.

    A range keeps its ends as they were read.
    """
    decimals = reading.decimals
    if reading.kind == "not measurable":
        return "not measurable"
    if reading.kind == "range" and reading.low is not None and reading.high is not None:
        return f"{figure_words(reading.low, decimals)}..{figure_words(reading.high, decimals)}"
    value = reading.value_20c if reading.value_20c is not None else reading.value
    if value is None:
        return reading.written
    if reading.kind in ("under", "over"):
        return f"{reading.kind} {figure_words(value, decimals)}"
    return figure_words(value, reading_decimals(reading))


def limit_words(limit: Limit | None, decimals: int) -> str:
    """A limit without its unit: `max 60.105`, `min 7.50`, `0.040 to 0.090`, `no limit`. No digit of it is cut off."""
    if limit is None:
        return "no limit"
    decimals = max(decimals, *(needed_decimals(end) for end in (limit.min, limit.max) if end is not None), 0)
    if limit.min is not None and limit.max is not None:
        return f"{figure_words(limit.min, decimals)} to {figure_words(limit.max, decimals)}"
    if limit.max is not None:
        return f"max {figure_words(limit.max, decimals)}"
    return f"min {figure_words(limit.min or 0.0, decimals)}"


def used_words(dimension: DimensionStory) -> str:
    """How much of the allowance is used, `67 % used`; empty where that is not known."""
    return f"{percent_words(dimension.allowance.used)} used" if dimension.allowance is not None else ""


def near_words(dimension: DimensionStory, keep: float | None) -> str:
    """What makes a dimension near its limit: the share that is used, or its chance of lasting the plan.

    `keep` is the chance that the plan wants. Empty in every other state.
    """
    if dimension.state != "near limit":
        return ""
    if dimension.allowance is not None and dimension.allowance.used > NEAR:
        return f"near because over {percent_words(NEAR)} is used"
    if dimension.chance is None or keep is None:
        return ""
    chance, wanted = chance_words(dimension.chance), percent_words(keep)
    known = f"just under the {wanted} that are wanted" if chance == wanted else f"{chance}, wanted {wanted}"
    return f"near because {CHANCE} is {known}"


def reading_label(dimension: DimensionStory) -> str:
    """The last reading with its unit, as it is read out: `60.061 mm`, `not measured`."""
    last = measured(dimension)
    return unit_words(reading_words(last), dimension.unit) if last is not None else "not measured"


def left_words(dimension: DimensionStory) -> str:
    """When the line meets its limit, counted from now: `in about 11–29 h`, `no wear measurable yet`, `cannot tell`."""
    if dimension.rate is not None and dimension.rate.holds(0.0):
        clear = _from_now(dimension, dimension.to_limit.low if dimension.to_limit is not None else None)
        return reach_words(clear, None, None, dimension.exposure_unit) if clear is not None and clear > 0.0 else NO_WEAR
    crossing = dimension.to_limit
    if crossing is None:
        return CANNOT_TELL
    low, middle, high = (_from_now(dimension, end) for end in (crossing.low, crossing.median, crossing.high))
    return reach_words(low, middle, high, dimension.exposure_unit)


def _from_now(dimension: DimensionStory, exposure: float | None) -> float | None:
    """An exposure since the baseline, counted from where the part stands now."""
    return None if exposure is None or dimension.now is None else exposure - dimension.now


def stopper_when(stopper: Stopper) -> str:
    """When a stopper stops the engine: `limit met in about 11–29 h`, `no wear measurable yet`, `cannot tell`."""
    dimension = stopper.dimension
    if dimension is None:
        return due_left(stopper.due) if stopper.due is not None else CANNOT_TELL
    words = reach_words(stopper.left_low, stopper.left, stopper.left_high, dimension.exposure_unit)
    if dimension.rate is not None and dimension.rate.holds(0.0):
        return f"{NO_WEAR}, {words}" if words.startswith("not before") else NO_WEAR
    return f"limit {words}" if words.startswith(MEETS) else words


def due_words(due: DueStory) -> str:
    """What is due, inside a sentence: `oil`, `replace rotor bearing 2`."""
    return f"{due.what} {small(due.slot_name)}" if due.slot_name is not None else small(due.name)


def due_reason(due: DueStory) -> str:
    """Why it is asked for, or why its figure is a lower bound: `over-rev on 31 May 2026`, `life before unknown`."""
    return small(dated(key_words(due.because))) if due.because else ""


def due_left(due: DueStory) -> str:
    """What is left: `in 2.9 h or on 24 Apr 2027`, `0.6 h over`, `cannot tell`."""
    amounts = {unit: left for unit, left in due.left.items() if unit != "months" or due.due_on is None}
    if due.because and due.left and not any(due.left.values()):  # asked for by an incident
        return f"since {due_reason(due)}" if due.state == "overdue" else "before it runs again"
    over = [f"{amount_words(-left, unit)} over" for unit, left in amounts.items() if left < 0]
    if over:
        return list_words(over)
    words = [f"in {amount_words(left, unit)}" for unit, left in amounts.items()]
    if due.due_on is not None:
        words.append(f"on {day_words(due.due_on)}")
    if words:
        return " or ".join(words)
    return due_reason(due) or CANNOT_TELL
