"""From a story's figures to bars: what an allowance bar shows of a dimension, of a service, of what stops an engine.

In: stories of dimensions, things due and stoppers, lengths in the units to be shown. Out: lines of a list of bars, and
bars with the words that are read out in their place. A bar's lengths are shares; what they mean was settled before.
"""

from collections.abc import Mapping
from typing import Final

from markupsafe import Markup

from engine_pages.history.status import said_state
from engine_pages.history.story import DimensionStory, DueStory, ReadingKind, ReadingStory, State, Stopper
from engine_pages.pages.dimension_words import (
    due_left,
    due_reason,
    left_words,
    measured,
    near_words,
    reading_decimals,
    reading_label,
    reading_words,
    stopper_when,
    used_words,
)
from engine_pages.pages.marks import Bar, Ends, TwoSidedBar, allowance_bar, state_word
from engine_pages.pages.pieces import BarLine, Link
from engine_pages.pages.shown_units import beside
from engine_pages.pages.wear_words import NO_WEAR, amount_words
from engine_pages.pages.words import CANNOT_TELL, percent_words, small

BIG: Final = 26
ROW: Final = 22
MAP: Final = 14
MEMBER: Final = 8
_ENDS: Final[Mapping[ReadingKind, Ends]] = {"range": "range", "under": "under", "over": "over"}


def dimension_bar(dimension: DimensionStory, state: State, height: int) -> Markup:
    """The bar of a dimension; nothing at all where it has no limit to be drawn against."""
    if dimension.limit is None:
        return Markup("")
    value = used_words(dimension) or reading_label(dimension)
    label = state if value == state else f"{value}, {state}"
    if dimension.limit.min is not None and dimension.limit.max is not None:
        return allowance_bar(_between(dimension, dimension.limit.min, dimension.limit.max, state), height, label)
    return allowance_bar(_toward(dimension, state), height, label)


def reading_ends(reading: ReadingStory | None) -> Ends:
    """How a reading's ends are drawn: a whisker, brackets, an arrow to either side."""
    return "gauge" if reading is None else _ENDS.get(reading.kind, "gauge")


def _toward(dimension: DimensionStory, state: State) -> Bar:
    allowance, last = dimension.allowance, measured(dimension)
    if allowance is None:
        return Bar(state, None)
    return Bar(state, allowance.used, allowance.low, allowance.high, reading_ends(last), dimension.forecast)


def _between(dimension: DimensionStory, least: float, most: float, state: State) -> TwoSidedBar:
    def share(value: float | None) -> float | None:
        return None if value is None else (value - least) / (most - least)

    last = measured(dimension)
    value = None if last is None else (last.value_20c if last.value_20c is not None else last.value)
    new_low, new_high = dimension.new if dimension.new is not None else (None, None)
    return TwoSidedBar(
        state,
        share(value),
        as_built=share(dimension.baseline),
        new_low=share(new_low),
        new_high=share(new_high),
        low=share(last.low) if last is not None else None,
        high=share(last.high) if last is not None else None,
        forecast=share(_forecast_value(dimension, least, most)),
        ends=reading_ends(last),
    )


def _forecast_value(dimension: DimensionStory, least: float, most: float) -> float | None:
    """The value that a forecast share of the allowance stands for, between two limits."""
    if dimension.forecast is None or dimension.baseline is None or dimension.allowance is None:
        return None
    level = most if dimension.allowance.side == "max" else least
    return dimension.baseline + dimension.forecast * (level - dimension.baseline)


def dimension_line(
    dimension: DimensionStory, name: Link, under: str, height: int, also: str | None, keep: float | None = None
) -> BarLine:
    """A line of "where it stands": the last reading in large, the other system and the share used in small.

    `keep` is the chance of lasting the plan that is wanted: it may be what makes the dimension near its limit.
    """
    last = measured(dimension)
    if last is None:
        bar = dimension_bar(dimension, dimension.state, height)
        return BarLine(name, under, bar, "", _state_word(dimension), "")
    value = last.value_20c if last.value_20c is not None else last.value
    other = beside(value, dimension.unit, reading_decimals(last), also) if value is not None else None
    behind = [
        words for words in (other, used_words(dimension), *_when(dimension), near_words(dimension, keep)) if words
    ]
    return BarLine(
        name,
        under,
        dimension_bar(dimension, dimension.state, height),
        Markup('{} <span class="unit">{}</span>').format(reading_words(last), dimension.unit),
        _state_word(dimension),
        ", ".join(behind),
    )


def _state_word(dimension: DimensionStory) -> Markup:
    return state_word(dimension.state, said_state(dimension.state, has_limit=dimension.limit is not None))


def _when(dimension: DimensionStory) -> tuple[str, ...]:
    words = left_words(dimension) if dimension.limit is not None else ""
    return () if words in ("", CANNOT_TELL) else (words if words == NO_WEAR else f"limit {words}",)


def stopper_line(stopper: Stopper, name: Link, which: str, height: int = BIG, keep: float | None = None) -> BarLine:
    """A line of "what stops it first".

    `which` names the part or parts under the name; `keep` is as in `dimension_line`.
    """
    dimension = stopper.dimension
    if dimension is None:
        return _due_stopper(stopper, name, which, height)
    # A clearance's dimension bears the clearance's own name.
    named = "" if stopper.part is None else small(dimension.name)
    figure = percent_words(dimension.allowance.used) if dimension.allowance is not None else ""
    return BarLine(
        name,
        ", ".join(words for words in (which, named) if words),
        dimension_bar(dimension, stopper.state, height),
        figure,
        state_word(stopper.state),
        ", ".join(words for words in (stopper_when(stopper), near_words(dimension, keep)) if words),
    )


def _due_stopper(stopper: Stopper, name: Link, which: str, height: int) -> BarLine:
    if stopper.due is None:
        bar = allowance_bar(Bar(stopper.state, stopper.share), height, stopper.state)
        figure = percent_words(stopper.share) if stopper.share is not None else ""
        return BarLine(name, stopper.what, bar, figure, state_word(stopper.state), "")
    line = due_line(stopper.due, name, height)
    under = ", ".join(words for words in (which, f"{stopper.what} {line.under}") if words)
    return BarLine(name, under, line.bar, line.figure, line.state, line.small)


def due_bar(due: DueStory, height: int) -> Markup:
    """How much of an interval is used."""
    label = f"{percent_words(due.share)} used, {due.state}" if due.share is not None else due.state
    return allowance_bar(Bar(due.state, due.share), height, label)


def due_line(due: DueStory, name: Link, height: int = ROW) -> BarLine:
    """A line for a service: what is used since, what is left, when it falls due."""
    since = [amount_words(amount, unit) for unit, amount in due.since.items()]
    figure = since[0] if since and due.share is not None else ""
    left, reason = due_left(due), due_reason(due)
    under = f"{small(due.rule)}, {reason}" if reason and reason not in left else small(due.rule)
    return BarLine(name, under, due_bar(due, height), figure, state_word(due.state), left)
