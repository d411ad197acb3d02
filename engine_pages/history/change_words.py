"""Whether a change helped, in words: a change told in, its verdict as a sentence and the whole answer as text out."""

from ..wear.fieller import Ratio
from .told_changes import ChangeStory, KindAnswer

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
    """A ratio with its interval: `0.72 (0.55 to 0.94) times`; without a bound it says so."""
    if ratio.value is None:
        return "not known"
    ends = [f"{end:.2f}" if end is not None else "no bound" for end in (ratio.low, ratio.high)]
    return f"{ratio.value:.2f} ({ends[0]} to {ends[1]}) times"


def change_text(change: ChangeStory) -> str:
    """The answer as a terminal shows it."""
    answer, unit = change.answer, "h" if change.unit == "hours" else change.unit
    lines = [f"{change.fluid}: {change.before} to {change.after}", *(_made(change)), "", verdict_words(change)]
    lines.append(
        f"{answer.before.intervals} intervals with {answer.before.increments} readings before, "
        f"{answer.after.intervals} with {answer.after.increments} after, of {answer.parts} parts and dimensions."
    )
    lines += ["", *(_kind(one) for one in change.kinds)]
    lines += ["", "Intervals used:"]
    lines += [
        f"  {one.engine}  {one.began} to {one.ended}  {one.side:6}  {one.run:.1f} {unit}, {one.increments} readings"
        for one in change.intervals
    ]
    lines += _left_out(change)
    lines += [f"Meanwhile {one}." for one in change.meanwhile]
    return "\n".join([*lines, HOW_SURE])


def _made(change: ChangeStory) -> list[str]:
    said = []
    for one in change.made:
        why = f", “{one.why}”" if one.why else ""
        bad = f"; before it: {', '.join(one.looked_bad)}" if one.looked_bad else ""
        said.append(f"  {one.engine} on {one.day}{why}{bad}")
    return said


def _kind(one: KindAnswer) -> str:
    fit = one.answer.fit
    ratio = "no figure" if fit is None else ratio_words(fit.ratio)
    return f"  {one.name}, {one.dimension}: {ratio}: {one.answer.verdict}"


def _left_out(change: ChangeStory) -> list[str]:
    counts: dict[str, int] = {}
    for one in change.left_out:
        counts[one.why] = counts.get(one.why, 0) + 1
    said = [f"Left out: {count} readings, {why}." for why, count in sorted(counts.items())]
    if change.unknown_rate:
        said.append(f"No wear measurable yet, and not compared: {'; '.join(change.unknown_rate)}.")
    return said
