"""Whether a change helped, in words: a change told in, its verdict as a sentence and the whole answer as text out."""

from ..wear.fieller import Ratio
from ..wear.trend import Interval
from .told_changes import ChangeStory, IntervalUsed, KindAnswer
from .told_parts import SheetRef

HOW_SURE = (
    "Rates are compared within parts; seasons count as chance, three intervals a side are the least, and a ratio under "
    "1 is less wear after."
)


def verdict_words(change: ChangeStory) -> str:
    """The verdict on all kinds together, and why where it cannot be told."""
    answer, fit = change.answer, change.answer.fit
    ratio = (
        "" if fit is None or fit.ratio.value is None else f" Wear after is {ratio_words(fit.ratio)} what it was before."
    )
    if answer.verdict == "cannot tell":
        return f"Cannot tell whether wear changed: {answer.why}.{ratio}"
    return f"Wear is {answer.verdict} after the change.{ratio}"


def ratio_words(ratio: Ratio) -> str:
    """A ratio with its interval, `0.72 (0.55 to 0.94) times`; where it lacks a bound it says so.

    >>> ratio_words(Ratio(0.72, 0.55, 0.94)), ratio_words(Ratio(1.91, 0.3, None)), ratio_words(Ratio(0.34, None, None))
    ('0.72 (0.55 to 0.94) times', '1.91 (0.30 or more) times', '0.34 (no bounds) times')
    """
    if ratio.value is None:
        return "not known"
    low, high = (f"{end:.2f}".replace("-", "−") if end is not None else None for end in (ratio.low, ratio.high))
    ends = (
        f"{low or 'no bound'} to {high}" if high is not None else f"{low} or more" if low is not None else "no bounds"
    )
    return f"{ratio.value:.2f} ({ends}) times"


def change_text(change: ChangeStory) -> str:
    """The answer as a terminal shows it."""
    answer, unit = change.answer, "h" if change.unit == "hours" else change.unit
    lines = [f"{change.fluid}: {change.before} to {change.after}", *(_made(change)), "", verdict_words(change)]
    lines.append(
        f"{_count(answer.before.intervals, 'interval')} with {_count(answer.before.increments, 'reading')} before, "
        f"{answer.after.intervals} with {answer.after.increments} after, of {answer.parts} parts and dimensions."
    )
    lines += _rates(change, unit)
    lines += ["", "Intervals used:" if change.intervals else "Intervals used: none."]
    lines += [_interval(one, unit) for one in change.intervals]
    lines += ["", *_left_out(change)]
    lines += [f"Meanwhile {one}." for one in change.meanwhile]
    return "\n".join([*lines, HOW_SURE])


def _rates(change: ChangeStory, unit: str) -> list[str]:
    """Rates before and after within parts: of all kinds in multiples of the usual rate, of each in its own unit."""
    fit = change.answer.fit
    lines = ["", "Wear before and after, within parts:"] if change.kinds else []
    if fit is not None and len(change.kinds) > 1:
        lines.append(f"  All kinds: {_number(fit.before)}, then {_number(fit.after)} times the usual rate")
    return lines + [_kind(one, unit) for one in change.kinds]


def _number(rate: Interval, times: float = 1.0) -> str:
    return f"{rate.value * times:.3g} ({rate.low * times:.3g} to {rate.high * times:.3g})"


def _interval(one: IntervalUsed, unit: str) -> str:
    between = f"{_sheet(one.first)} to {_sheet(one.last)}"
    ran = f"{one.run:.1f} {unit} from {one.began} to {one.ended}, {_count(one.increments, 'reading')}"
    return f"  {one.engine}  {between}  {one.side:6}  {ran}"


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _sheet(sheet: SheetRef | None) -> str:
    return "no sheet" if sheet is None else sheet.label


def _made(change: ChangeStory) -> list[str]:
    said = []
    for one in change.made:
        why = f", “{one.why}”" if one.why else ""
        bad = f"; before it: {', '.join(one.looked_bad)}" if one.looked_bad else ""
        said.append(f"  {one.engine} on {one.day}{why}{bad}")
    return said


def _kind(one: KindAnswer, unit: str) -> str:
    fit = one.answer.fit
    if fit is None:
        return f"  {one.name}, {one.dimension}: no figure: {one.answer.verdict}"
    shown, times = ("µm", 1000.0) if one.unit == "mm" else (one.unit, 1.0)
    before, after = (_number(rate, abs(one.usual) * times) for rate in (fit.before, fit.after))
    rates = f"{before}, then {after} {shown}/{unit}"
    return f"  {one.name}, {one.dimension}: {rates}: {ratio_words(fit.ratio)}: {one.answer.verdict}"


def _left_out(change: ChangeStory) -> list[str]:
    said = ["Left out:"] if change.intervals_out else []
    for one in change.intervals_out:
        why = f"{one.why} ({one.more})" if one.more else one.why
        between = f"{one.first.engine}  {one.first.label} to {one.last.label}"
        said.append(f"  {between}  {why}, {_count(one.increments, 'reading')} of {_count(len(one.parts), 'part')}")
    if change.unknown_rate:
        said.append(f"No wear measurable yet, and not compared: {'; '.join(change.unknown_rate)}.")
    return said
