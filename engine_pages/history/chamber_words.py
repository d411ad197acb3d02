"""What a pattern of low chambers is consistent with, in words.

In: a pattern, and whether it is of a rotor's faces or of cylinders. Out: a clause for a page. Common practice of the
trade, from memory: an apex seal and its corner seals part two chambers and show in both, a side seal belongs to one
face; a head gasket that leaks from cylinder to cylinder shows in both, rings and valves in one. Never a finding.
"""

from typing import Final, Literal

from ..wear.chambers import LowChambers

What = Literal["face", "cylinder"]
Worse = Literal["down", "up"]

_ONE: Final[dict[What, str]] = {"face": "its side seal", "cylinder": "its rings or valves"}
_TWO: Final[dict[What, str]] = {
    "face": "the apex or corner seal between them",
    "cylinder": "a leak between them, as at the head gasket",
}
_ALL: Final = "wear all round, or with how the test was made: a cold engine, a weak battery, a closed throttle"


def pattern_words(what: What, worse: Worse, found: LowChambers, count: int) -> str:
    """What stands out among `count` faces or cylinders, and what it is consistent with; empty where nothing does.

    >>> from engine_pages.wear.chambers import LowChambers
    >>> pattern_words("face", "down", LowChambers("one low", (2,)), 3)
    'face 3 low against the others: consistent with its side seal'
    """
    if not found.low:
        return ""
    how = "low" if worse == "down" else "losing more"
    if found.pattern == "one low":
        return f"{what} {found.low[0] + 1} {how} {_against(worse)}: consistent with {_ONE[what]}"
    if found.pattern == "two neighbours low":
        return f"neighbouring {what}s {_numbers(found.low)} {how}: consistent with {_TWO[what]}"
    if found.pattern == "all low":
        beyond = "under" if worse == "down" else "over"
        return f"all {count} {what}s {beyond} the limit, none apart: consistent with {_ALL}"
    return f"{what}s {_numbers(found.low)} {how} {_against(worse)}: no one cause stands out"


def _against(worse: Worse) -> str:
    return "against the others" if worse == "down" else "than the others"


def _numbers(low: tuple[int, ...]) -> str:
    numbers = [str(place + 1) for place in low]
    return f"{', '.join(numbers[:-1])} and {numbers[-1]}"
