"""What sheets saw of a part: the book in, one look a sheet out, each with whether it found the part good.

A line on which nothing is filled in is no look: it says neither that the part was good nor that it was bad.
"""

from collections import defaultdict
from collections.abc import Mapping

from msgspec import Struct

from ..records.family import Family
from ..records.fitting import Fitted, PartEntry
from ..records.moments import Moment
from ..records.resolve import SlotLine
from ..records.sheet import GOES_BACK, GOES_OUT
from .book import Book, Mention, sheet_ref
from .gathering import subjects_of
from .rows import row_of
from .series import verdict_of
from .sheets import says
from .status import WORST_GRADE, is_crack
from .told_parts import SheetRef, Verdict

NOT_GOOD = (*GOES_OUT, "undecided")  # decisions after which a part is not known to have been good


class Look(Struct, frozen=True):
    """One sheet's look at a part: in which stay, what it had run by then, what was decided and why.

    `seen` whether anything was measured or observed, `bad` whether any of that is beyond a limit, grade 4 or a crack;
    `said` whether anything at all is written there, be it a finding or a photo.
    """

    stay: Fitted
    moment: Moment
    exposure: float
    decision: str | None
    because: str | None
    seen: bool
    bad: bool
    said: bool
    sheet: SheetRef

    @property
    def good(self) -> bool:
        """Whether it found the part good: it was fitted or to go back in, or what was seen is nowhere bad."""
        fitted = self.sheet.kind == "build" and not self.bad
        return self.decision in GOES_BACK or fitted or (self.decision not in NOT_GOOD and self.seen and not self.bad)


def looks_at(book: Book, family: Family, part: PartEntry, until: Moment) -> tuple[Look, ...]:
    """Every sheet that speaks of a part until a moment, in the order of its stays."""
    beyond = _beyond(book, family, part, until)
    mentions = [one for one in book.mentions.get(part.id, []) if one.moment <= until]
    return tuple(_look(book, family, mention, beyond) for mention in mentions)


def _look(book: Book, family: Family, mention: Mention, beyond: Mapping[tuple[str, str], bool]) -> Look:
    resolved = book.checked.resolved[mention.path]
    line = resolved.lines[mention.slot]
    stay = book.checked.fitting.seen[mention.path, mention.slot]
    measured = beyond.get((mention.path, mention.slot))
    return Look(
        stay=stay,
        moment=mention.moment,
        exposure=book.lives.exposure_in(stay, mention.moment).amount(family.exposure),
        decision=line.decision,
        because=line.because,
        seen=measured is not None or bool(line.observed),
        bad=bool(measured) or _looks_bad(line),
        said=any(says(resolved, key) for key in line.keys),
        sheet=sheet_ref(resolved.sheet),
    )


def _looks_bad(line: SlotLine) -> bool:
    grades = [(name, grade) for name, (grade, _) in line.observed.items()]
    return any(grade >= WORST_GRADE or (grade > 0 and is_crack(name)) for name, grade in grades)


def _beyond(book: Book, family: Family, part: PartEntry, until: Moment) -> dict[tuple[str, str], bool]:
    """Whether anything lay beyond its limit, by sheet and slot at which a reading was taken; a likely slip is none."""
    verdicts: dict[tuple[str, str], list[Verdict]] = defaultdict(list)
    kind = family.kinds.get(part.kind)
    for subject in subjects_of(kind) if kind is not None else ():
        for dated in row_of(book, family, part, subject, until).dated:
            if dated.read.figure is not None and not dated.in_doubt:
                verdicts[dated.sheet.path, dated.slot].append(verdict_of(dated))
    return {place: "beyond" in found for place, found in verdicts.items()}
