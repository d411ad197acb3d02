"""One change seen kind by kind: who looks at four kinds is not fooled four times as often.

A false alarm is any kind called lower or higher, or kinds said not to agree, where nothing changed; at most 10 % are
promised for all kinds of a shop together. Bonferroni's inequality (Boole 1854; Dunn 1961, J. Am. Stat. Assoc. 56,
52–64, from memory) is what the promise rests on. Of 200 drawn shops the share strays by √(0.1 · 0.9 / 200) = 2.1 %.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from engine_pages.wear.change import ChangeAnswer, weigh_change
from engine_pages.wear.change_by_kind import standing_apart, weigh_by_kind
from engine_pages.wear.intervals import Increment

from .test_change_on_drawn_shops import Shop, drawn

SHOPS = 200
KINDS = 4
PROMISED = 0.10
BY_CHANCE = 3.0 * math.sqrt(PROMISED * (1.0 - PROMISED) / SHOPS)
CONFIDENCE = 0.9


def by_kind(shop: Shop, number: int, halved: int | None = None) -> dict[int, list[Increment]]:
    """A drawn shop's increments by kind, one part each; of one kind wear is halved where that is asked for."""
    kinds: dict[int, list[Increment]] = {n: [] for n in range(KINDS)}
    plain = drawn(shop, np.random.default_rng([11, number]))
    less = drawn(replace(shop, ratio=0.5), np.random.default_rng([11, number]))
    for one, other in zip(plain, less, strict=True):
        assert isinstance(one.part, tuple)
        kind = one.part[1] % KINDS
        kinds[kind].append(other if kind == halved else one)
    return kinds


def answers(kinds: dict[int, list[Increment]]) -> tuple[dict[int, ChangeAnswer], ChangeAnswer]:
    whole = weigh_change([one for those in kinds.values() for one in those], CONFIDENCE)
    return weigh_by_kind(kinds, CONFIDENCE), whole


@pytest.mark.parametrize(
    "shop",
    [Shop(parts=KINDS, season=0.2), Shop(parts=KINDS, own=0.3)],
    ids=["seasons", "scatter"],
)
def test_where_nothing_changed_no_kind_is_picked_more_often_than_promised(shop: Shop) -> None:
    found, picked = 0, 0
    for number in range(SHOPS):
        kinds, whole = answers(by_kind(shop, number))
        apart = any(kinds[kind].verdict == "cannot tell" for kind in standing_apart(kinds, whole, CONFIDENCE))
        found += apart or any(one.verdict != "cannot tell" for one in kinds.values())
        picked += any(one.fit is not None and not one.fit.difference.holds(0.0) for one in kinds.values())
    assert found / SHOPS <= PROMISED + BY_CHANCE
    assert picked > 2 * found  # what the intervals of each alone would give


def test_one_kind_that_wears_half_as_fast_is_named() -> None:
    named = 0
    for number in range(60):
        kinds, whole = answers(by_kind(Shop(parts=KINDS, own=0.1), number, halved=1))
        named += 1 in standing_apart(kinds, whole, CONFIDENCE)
    assert named >= 0.9 * 60


def test_a_kind_alone_has_the_verdict_of_all() -> None:
    increments = drawn(Shop(ratio=0.5), np.random.default_rng(3))
    (alone,) = weigh_by_kind({"bearing": increments}).values()
    whole = weigh_change(increments)
    assert (alone.verdict, alone.fit) == (whole.verdict, whole.fit)
    assert standing_apart({"bearing": alone}, whole, CONFIDENCE) == ()


def test_a_kind_that_only_its_own_interval_would_call_lower_is_said_to_be_one_of_several() -> None:
    doubtful = []
    for number in range(40):
        kinds, _ = answers(by_kind(Shop(parts=KINDS, own=0.3), number))
        doubtful += [one for one in kinds.values() if one.why == "one of several kinds, it may be chance"]
    assert doubtful
    assert all(one.verdict == "cannot tell" for one in doubtful)
    assert all(one.fit is not None and not one.fit.difference.holds(0.0) for one in doubtful)


def test_a_withheld_verdict_sets_no_kind_apart() -> None:
    kinds = by_kind(Shop(parts=KINDS, own=0.05), 1, halved=1)
    withheld = weigh_by_kind(kinds, CONFIDENCE, selected=kinds)
    whole = weigh_change([one for those in kinds.values() for one in those], CONFIDENCE, selected=True)
    assert standing_apart(withheld, whole, CONFIDENCE) == ()


def test_of_two_kinds_a_verdict_stands_just_where_it_does_at_95_per_cent() -> None:
    """At 90 % over two kinds each is held at 95 %: the same answer as where that is asked for outright."""
    for number in range(20):
        increments = drawn(Shop(own=0.3, parts=1, ratio=0.7), np.random.default_rng([5, number]))
        two = weigh_by_kind({"a": increments, "b": increments}, 0.90)
        assert two["a"].verdict == weigh_change(increments, 0.95).verdict
