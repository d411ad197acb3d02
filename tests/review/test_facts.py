"""What a buyer is told of what is left: the same figures as on the pages."""

import pytest
from msgspec.structs import replace

from engine_pages.pages.wear_words import reach_words
from engine_pages.review.facts import facts_of

from ..pages.story_for_tests import engine


def stops_first(low: float | None) -> str:
    told = engine()
    stopper = replace(told.shortlist[0], left_low=low, left=None, left_high=None)
    facts = {fact.question: fact.lines for fact in facts_of(replace(told, shortlist=(stopper,)))}
    return facts["What stops it first"][0]


@pytest.mark.parametrize(("low", "said"), [(6.97, "6.9 h"), (1.86, "1.8 h"), (11.9, "11 h")])
def test_a_lower_bound_of_what_is_left_is_never_rounded_up(low: float, said: str) -> None:
    assert stops_first(low).endswith(f", not before {said} more")
    assert reach_words(low, None, None, "hours").replace("\xa0", " ") == f"not before {said}"


@pytest.mark.parametrize("low", [None, 0.0, 0.04])
def test_a_bound_that_says_nothing_is_left_out(low: float | None) -> None:
    assert "not before" not in stops_first(low)
