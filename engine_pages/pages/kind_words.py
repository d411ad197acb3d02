"""What a part's like say of it, in words: its place among their rates, whether a constant rate fits, what was selected.

In: a dimension's story in the unit to be shown. Out: plain sentences; empty where there is nothing to say.
"""

from engine_pages.history.story import DimensionStory
from engine_pages.pages.wear_words import amount_words, rate_words
from engine_pages.pages.words import count_words
from engine_pages.wear.among_like import Rank

ENOUGH_ALONE = 2  # readings: more show their own scatter
ORDINALS = {2: "second", 3: "third"}


def kind_words(dimension: DimensionStory) -> str:
    """Everything that the kind says of one dimension's rate."""
    words = (bend_words(dimension), leaning_words(dimension), among_words(dimension), selection_words(dimension))
    return " ".join(one for one in words if one)


def rank_words(rank: Rank) -> str:
    """A place among like rates: `the fastest of 6`, `the third fastest of 6`; of twenty and more what share is slower.

    >>> rank_words(Rank(1, 6, 1)), rank_words(Rank(6, 6, 1)), rank_words(Rank(3, 6, 2))
    ('the fastest of 6', 'the slowest of 6', 'with another the third fastest of 6')
    >>> rank_words(Rank(5, 24, 1))
    'the 5th fastest of 24, faster than 83 % of them'
    """
    shared = (
        "" if rank.shared_by == 1 else "with another " if rank.shared_by == 2 else f"with {rank.shared_by - 1} others "
    )
    if rank.place == 1:
        place = "the fastest"
    elif rank.from_below == 1:
        place = "the slowest"
    else:
        place = f"the {ORDINALS.get(rank.place) or f'{rank.place}th'} fastest"
    share = rank.percentile
    more = "" if share is None or rank.place == 1 or rank.from_below == 1 else f", faster than {share:.0f} % of them"
    return f"{shared}{place} of {rank.of}{more}"


def among_words(dimension: DimensionStory) -> str:
    """Its place, and how many of its kind were measured at all: those are often the ones that look bad."""
    wear = dimension.wear
    rank = f"Its rate is {rank_words(wear.rank)}." if wear.rank is not None and wear.rank.of > 1 else ""
    some = f" {wear.parts} of {wear.of} of its kind were measured." if 0 < wear.parts < wear.of else ""
    return f"{rank}{some}".strip()


def leaning_words(dimension: DimensionStory) -> str:
    """Where a line has few readings of its own: whose readings it leans on, or that nothing checks it."""
    line = dimension.line
    if line is None or line.n > ENOUGH_ALONE:
        return ""
    if line.n == 0:
        return "It was not measured on this baseline: the line is that of its kind."
    if dimension.parts_in_fit > 1:
        others = count_words(dimension.parts_in_fit - 1, "like part")
        return f"With {count_words(line.n, 'reading')} of its own it leans on {others}."
    return "Two readings make a line and leave nothing to check it with." if line.n == ENOUGH_ALONE else ""


def bend_words(dimension: DimensionStory) -> str:
    """Where a constant rate does not fit the kind."""
    wear = dimension.wear
    if wear.bend is None or not wear.bend.bends:
        return ""
    words = f"A constant rate does not fit: it {wear.bend.rate} with use."
    if wear.line is None:
        return f"{words} Nothing is carried on from its first hours."
    return f"{words} The line rests on readings from {amount_words(wear.since, dimension.exposure_unit)} on."


def selection_words(dimension: DimensionStory) -> str:
    """What the answer would be without the sheets that were written because something looked bad."""
    found = dimension.wear.selection
    if found is None:
        return ""
    told = "Without the sheets of incidents and failures"
    if found.rate_without is None:
        return f"{told} nothing is left to tell its rate by."
    rate = rate_words(found.rate_without, dimension.unit, dimension.exposure_unit, 0).rsplit(",", 1)[0]
    return f"{told} the answer is another: {rate}."
