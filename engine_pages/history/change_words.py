"""Whether a change helped, in words: a change told in, its verdict as a sentence and the whole answer as text out.

Sides are called by the fluid that was in: after a change back what came first in the calendar is not "before".
"""

import math
from typing import Final

from ..wear.fieller import Ratio
from ..wear.trend import Interval
from .told_changes import MAY_BE_CHANCE, ChangeStory, IntervalUsed, KindAnswer
from .told_parts import SheetRef

SAME_WEAR = "The change back is no question of its own: it compares the same wear."
TOGETHER = "Of several kinds one is called lower or higher where that holds for all of them together."
MOST_PARTS: Final = 4  # named in a line of what was left out
# How wear and exposure are read: the unit shown, and how many times smaller or larger it is.
_SMALLER: Final = {"mm": ("µm", 1000.0), "in": ("thou", 1000.0)}
_PER: Final = {"hours": ("h", 1.0), "km": ("1000 km", 1000.0), "starts": ("start", 1.0), "runs": ("run", 1.0)}
_SHORT: Final = {"hours": "h"}


def verdict_words(change: ChangeStory) -> str:
    """The verdict on all kinds together, and why where it cannot be told; where kinds do not agree, which."""
    answer, ratio = change.answer, _ratio_of(change)
    if change.apart:
        kinds = "; ".join(f"{one.called}: {_kind_verdict(one, change)}" for one in change.apart)
        return f"Kinds do not agree: {kinds}. One figure for all kinds says little.{ratio}"
    if answer.verdict == "cannot tell":
        return f"Cannot tell whether wear changed: {answer.why}.{ratio}"
    return f"Wear is {answer.verdict} on {change.after} than on {change.before}.{ratio}"


def _ratio_of(change: ChangeStory) -> str:
    fit = change.answer.fit
    if fit is None or fit.ratio.value is None:
        return ""
    of = "All together, on" if change.apart else "On"
    return f" {of} {change.after} it is {ratio_words(fit.ratio)} what it is on {change.before}."


def chance_words(change: ChangeStory) -> str:
    """The kinds that would have a verdict if nothing else had been looked at, and that they are picked; or nothing."""
    if not change.by_chance:
        return ""
    named = "; ".join(f"{one.called}: {_kind_verdict(one, change)}" for one in change.by_chance)
    return f"By itself {named}. Among {len(change.kinds)} kinds and dimensions that may be chance."


def _kind_verdict(one: KindAnswer, change: ChangeStory) -> str:
    answer = one.answer
    if answer.fit is None:
        return answer.verdict
    alone = "lower" if answer.fit.difference.value < 0.0 else "higher"
    said = alone if one in change.by_chance else answer.verdict
    return f"{said if said == 'cannot tell' else f'{said} on {change.after}'}, {ratio_words(answer.fit.ratio)}"


def ratio_words(ratio: Ratio) -> str:
    """A ratio with its interval, `0.72 (0.55 to 0.94) times`; where it lacks a bound it says so.

    >>> ratio_words(Ratio(0.72, 0.55, 0.94)), ratio_words(Ratio(1.91, 0.3, None)), ratio_words(Ratio(0.34, None, None))
    ('0.72 (0.55 to 0.94) times', '1.91 (0.30 or more) times', '0.34 (no bounds) times')
    """
    if ratio.value is None:
        return "not known"
    low, high = (_figure(end, 2) if end is not None else None for end in (ratio.low, ratio.high))
    ends = (
        f"{low or 'no bound'} to {high}" if high is not None else f"{low} or more" if low is not None else "no bounds"
    )
    return f"{_figure(ratio.value, 2)} ({ends}) times"


def left_out_parts(parts: tuple[str, ...], most: int = MOST_PARTS) -> list[str]:
    """The first of some parts by name, and how many more there are.

    >>> left_out_parts(("MB-1", "MB-2", "RB-1"), 2)
    ['MB-1', '2 more']
    """
    return list(parts) if len(parts) <= most else [*parts[: most - 1], f"{len(parts) - most + 1} more"]


def change_text(change: ChangeStory) -> str:
    """The answer as a terminal shows it."""
    answer = change.answer
    of_kind = f", {change.kind} alone" if change.kind is not None else ""
    lines = [f"{change.fluid}: {change.before} to {change.after}{', and back' if change.back else ''}{of_kind}"]
    lines += [*_made(change), *([f"  {SAME_WEAR}"] if change.back else []), "", verdict_words(change)]
    lines += [chance_words(change)] if change.by_chance else []
    lines.append(
        f"{_count(answer.before.intervals, 'interval')} with {_count(answer.before.increments, 'reading')} on "
        f"{change.before}, {answer.after.intervals} with {answer.after.increments} on {change.after}, "
        f"of {answer.parts} parts and dimensions."
    )
    lines += _rates(change)
    lines += ["", "Intervals used:" if change.intervals else "Intervals used: none."]
    lines += [_interval(one, change) for one in change.intervals]
    lines += ["", *_left_out(change)]
    lines += [f"Meanwhile {one}." for one in change.meanwhile]
    return "\n".join([*lines, _how_sure(change)])


def _how_sure(change: ChangeStory) -> str:
    together = f" {TOGETHER}" if len(change.kinds) > 1 else ""
    return (
        "Rates are compared within parts; seasons count as chance, three intervals a side are the least, and a ratio "
        f"under 1 is less wear on {change.after}.{together}"
    )


def _rates(change: ChangeStory) -> list[str]:
    """Rates on both sides within parts: of all kinds in multiples of the usual rate, of each in its own unit."""
    fit = change.answer.fit
    lines = ["", f"Wear on {change.before}, then on {change.after}, within parts:"] if change.kinds else []
    if fit is not None and len(change.kinds) > 1:
        together = "All kinds" if change.kind is None else "All dimensions"
        lines.append(f"  {together}: {_number(fit.before)}, then {_number(fit.after)} times the usual rate")
    return lines + [_kind(one) for one in change.kinds]


def _number(rate: Interval) -> str:
    """A rate with its ends, in the digits that its width supports."""
    width = rate.high - rate.low
    decimals = max(0, 1 - math.floor(math.log10(width))) if width > 0.0 else 3
    value, low, high = (_figure(end, decimals) for end in (rate.value, rate.low, rate.high))
    return f"{value} ({low} to {high})"


def _figure(number: float, decimals: int) -> str:
    """A number with a minus that reads as one; no minus before nothing."""
    written = f"{number:.{decimals}f}"
    return written.removeprefix("-") if float(written) == 0.0 else written.replace("-", "−")


def _interval(one: IntervalUsed, change: ChangeStory) -> str:
    between = f"{_sheet(one.first)} to {_sheet(one.last)}"
    unit, decimals = _SHORT.get(one.per, one.per), 1 if one.per == "hours" else 0
    ran = f"{one.run:.{decimals}f} {unit} from {one.began} to {one.ended}, {_count(one.increments, 'reading')}"
    return f"  {one.engine}  {between}  on {change.before if one.side == 'before' else change.after}  {ran}"


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _sheet(sheet: SheetRef | None) -> str:
    return "no sheet" if sheet is None else sheet.label


def _made(change: ChangeStory) -> list[str]:
    said = []
    for one in change.made:
        way = f", back to {change.before}" if one.back else ""
        why = f", “{one.why}”" if one.why else ""
        bad = f"; before it: {', '.join(one.looked_bad)}" if one.looked_bad else ""
        said.append(f"  {one.engine} on {one.day}{way}{why}{bad}")
    return said


def _kind(one: KindAnswer) -> str:
    fit = one.answer.fit
    if fit is None:
        return f"  {one.called}: no figure: {one.answer.verdict}"
    (shown, smaller), (per, times) = _SMALLER.get(one.unit, (one.unit, 1.0)), _PER[one.per]
    before, after = (_number(rate.times(abs(one.usual) * smaller * times)) for rate in (fit.before, fit.after))
    return f"  {one.called}: {before}, then {after} {shown}/{per}: {ratio_words(fit.ratio)}: {_verdict(one)}"


def _verdict(one: KindAnswer) -> str:
    """A kind's verdict, and why where it would have one alone."""
    why = f", {one.answer.why}" if one.answer.why == MAY_BE_CHANCE else ""
    return f"{one.answer.verdict}{why}"


def _left_out(change: ChangeStory) -> list[str]:
    said = ["Left out:"] if change.intervals_out else []
    for one in change.intervals_out:
        why = f"{one.why} ({one.more})" if one.more else one.why
        between = f"{one.first.engine}  {one.first.label} to {one.last.label}"
        said.append(
            f"  {between}  {why}: {_count(one.increments, 'reading')} of {', '.join(left_out_parts(one.parts))}"
        )
    if change.unknown_rate:
        said.append(f"No wear measurable yet, and not compared: {'; '.join(change.unknown_rate)}.")
    return said
