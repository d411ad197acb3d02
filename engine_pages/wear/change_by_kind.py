"""One change seen kind by kind: increments of several kinds in, an answer for each and the kinds that stand apart out.

Whoever looks at k kinds and picks the one that moved is wrong k times as often. So verdicts on kinds, and that two do
not agree, rest on intervals so wide that all k hold their true ratios together with the confidence asked for
(Bonferroni: 1 − (1 − confidence) ÷ k each): any such word is then wrong no more often than a single answer. The figures
of each kind keep the interval of the confidence asked for, as if nothing else had been looked at.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from typing import TypeVar

from msgspec.structs import replace
from scipy.special import stdtrit

from engine_pages.wear.change import ChangeAnswer, FittedChange, weigh_change
from engine_pages.wear.fieller import Ratio, fieller
from engine_pages.wear.intervals import Increment
from engine_pages.wear.trend import Interval

Kind = TypeVar("Kind")

JUDGED = (None, "no change is not ruled out", "one of several kinds, it may be chance")  # nothing withholds a verdict


def weigh_by_kind(
    increments: Mapping[Kind, Sequence[Increment]], confidence: float = 0.9, selected: Collection[Kind] = ()
) -> dict[Kind, ChangeAnswer]:
    """The answer of each of k kinds by itself: figures with `confidence`, verdicts that all hold together with it.

    `increments` as `weigh_change` takes them, which also gives the method; `selected` are the kinds for which the
    change was made because they looked bad. Assumes nothing of how the kinds hang together. ValueError as
    `weigh_change`.

    >>> weigh_by_kind({})
    {}
    """
    answers = {kind: weigh_change(those, confidence, kind in selected) for kind, those in increments.items()}
    return {kind: _among(len(answers), one, confidence) for kind, one in answers.items()}


def standing_apart(answers: Mapping[Kind, ChangeAnswer], whole: ChangeAnswer, confidence: float) -> tuple[Kind, ...]:
    """The kinds that do not agree: with a verdict that all together have not, or whose ratios exclude another's.

    `answers` as of `weigh_by_kind`, `whole` of all kinds together, both with `confidence`. One kind alone never stands
    apart; an answer whose verdict is withheld, or rests on too little, says nothing here.

    >>> standing_apart({}, weigh_change([]), 0.9)
    ()
    """
    if len(answers) < 2 or whole.why not in JUDGED:
        return ()
    ends = {
        kind: _ends(_widened(one.fit, len(answers), confidence)[1])
        for kind, one in answers.items()
        if one.fit is not None and one.why in JUDGED
    }
    return tuple(
        kind
        for kind, (low, high) in ends.items()
        if answers[kind].verdict not in ("cannot tell", whole.verdict)
        or any(high < other_low or other_high < low for other_low, other_high in ends.values())
    )


def _among(kinds: int, answer: ChangeAnswer, confidence: float) -> ChangeAnswer:
    """An answer as one of several: its verdict stands where it does with the wider interval too."""
    if answer.fit is None or answer.verdict == "cannot tell":
        return answer
    if _widened(answer.fit, kinds, confidence)[0].holds(0.0):
        return replace(answer, verdict="cannot tell", why="one of several kinds, it may be chance")
    return answer


def _widened(fit: FittedChange, kinds: int, confidence: float) -> tuple[Interval, Ratio]:
    """The difference and the ratio with intervals that as many kinds hold together with the confidence of the fit's."""
    given, wider = (float(stdtrit(fit.dof, 1.0 - (1.0 - confidence) / 2.0 / n)) for n in (1, kinds))
    before, after, both = (((one.high - one.value) / given) ** 2 for one in (fit.before, fit.after, fit.difference))
    common = (before + after - both) / 2.0
    reach, middle = wider * math.sqrt(both), fit.difference.value
    ratio = fieller(fit.after.value, fit.before.value, ((after, common), (common, before)), wider)
    return Interval(middle, middle - reach, middle + reach), ratio


def _ends(ratio: Ratio) -> tuple[float, float]:
    return -math.inf if ratio.low is None else ratio.low, math.inf if ratio.high is None else ratio.high
