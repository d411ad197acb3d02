"""What a build may propose: whether the part that stands in a place by the record goes in there, and why not.

In: a part as told, or none. Out: yes or no, and a few words. Blank sheets and the bench page propose by the same rule.
"""

from ..history.story import PartStory
from ..records.sheet import GOES_BACK


def stands(part: PartStory | None) -> bool:
    """Whether a build that names its place means this very part: in there by its serial, or out and to go back.

    A part without a serial that is in there stays so only where the build does not name its place.
    """
    if part is None:
        return False
    return part.named if part.fitted_now else _goes_back(part)


def _goes_back(part: PartStory) -> bool:
    """Whether the strip that took it out, and no earlier one, decided that it goes back in."""
    out = part.stays[-1].ended
    return part.decision in GOES_BACK and part.decided_on is not None and out is not None and part.decided_on.day >= out


def stay_words(part: PartStory) -> str:
    """What a builder should know of a part: whether it is in there, or what was decided when it came out."""
    if part.fitted_now:
        return "" if part.named else "in there, without a serial"
    ended = part.stays[-1].ended
    decided = part.decision if part.decision not in GOES_BACK or _goes_back(part) else None
    return f"out since {ended}: {decided or 'nothing decided'}"
