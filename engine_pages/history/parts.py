"""One part, told: where it is, its lives, its rows of figures, what was found on it, its state."""

from collections.abc import Iterator
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from ..records.family import Family
from ..records.fitting import Fitted, PartEntry
from ..records.moments import Moment
from ..records.sheet import GOES_OUT
from ..records.slots import kind_name
from .book import READING_RANK, Book, sheet_ref
from .dimensions import Outlook, dimensions_of
from .dues import Now, part_dues
from .lives import Life
from .status import Standing, differs, is_crack, state_of
from .story import DueStory, FoundStory, GradeStory, PartStory, SheetRef, Stay

OUT = (*GOES_OUT, "undecided")  # decisions that are over once the part has been fitted again


class Decided(Struct, frozen=True):
    """What a builder last decided of a part, where, and why."""

    moment: Moment
    sheet: SheetRef
    decision: str
    because: str | None
    why: str | None


def part_story(book: Book, family: Family, part: PartEntry, outlook: Outlook, now: Now) -> PartStory:
    """Everything of one part, across all its engines."""
    life = book.lives.of(part.id)
    stays = [stay for stay in life.stays if stay.began <= now.until]
    last = stays[-1] if stays else None
    inside = last is not None and (last.ended is None or last.ended > now.until)
    found = tuple(_found(book, part, now))
    dimensions = dimensions_of(book, family, part, outlook)
    decided = _decided(book, part, last, now)
    decision = decided.decision if decided else None
    grades = _standing_grades(book, part, now)
    dues = _dues(book, family, last, decision, now)
    standing = Standing(None, dimensions, grades, dues, bool(grades))
    figures, figures_why = state_of(standing)
    retired = decided.sheet.day.isoformat() if decided and decision == "retire" else None
    state, why = state_of(replace(standing, retired_on=retired))
    run_since = decided is not None and last is not None and last.began >= decided.moment
    because = decided.because if decided else None
    return PartStory(
        id=part.id,
        named=part.named,
        kind=part.kind,
        kind_name=kind_name(family, part.kind),
        engine=last.engine if last else None,
        slot=last.slot.id if last else "",
        slot_name=last.slot.name if last else "",
        row=last.slot.row if last else None,
        fitted_now=inside,
        state=state,
        state_why=why,
        decision=decision,
        because=because,
        decision_why=decided.why if decided else None,
        decided_on=decided.sheet if decided else None,
        differs=differs(figures, figures_why, decision, because, run_since=run_since),
        origin=_origin(life),
        batch=part.file.it.batch if part.file else None,
        note=part.file.it.note if part.file else None,
        prior="unknown" if life.unknown_before else "known",
        taken_as_new=life.taken_as_new,
        since_new=book.lives.exposure(part.id, now.until),
        since_fitted=book.lives.stay_exposure(last, now.until) if last and inside else None,
        stays=tuple(stay_story(book, stay, now) for stay in stays),
        dimensions=dimensions,
        found=found,
        due=dues,
        source=part.file.document.place("serial") if part.file else None,
        path=part.file.path if part.file else None,
    )


def _origin(life: Life) -> str | None:
    if life.part.file and life.part.file.it.origin:
        return life.part.file.it.origin
    return life.stays[0].origin if life.stays else None


def stay_story(book: Book, stay: Fitted, now: Now) -> Stay:
    """One stay of a part, as pages show it; what ended it later than now is not known yet."""
    ended = stay.ended if stay.ended is not None and stay.ended <= now.until else None
    return Stay(
        part=stay.part.id,
        engine=stay.engine,
        slot=stay.slot.id,
        slot_name=stay.slot.name,
        fitted=sheet_ref(stay.fitted) if stay.fitted else None,
        removed=sheet_ref(stay.removed) if stay.removed and ended else None,
        began=date.fromordinal(stay.began[0]),
        ended=date.fromordinal(ended[0]) if ended else None,
        exposure=book.lives.stay_exposure(stay, now.until),
        put_back_unwritten=stay.put_back_unwritten,
    )


def counts_here(book: Book, stay: Fitted, until: Moment) -> bool:
    """A part counts while it is in, and after a strip until the next build; one that is now elsewhere does not."""
    if stay.ended is None or stay.ended > until:
        return True
    later = (s.began for s in book.lives.of(stay.part.id).stays if s is not stay and s.began >= stay.ended)
    builds = (book.moment(sheet) for sheet in book.checked.shop.engines[stay.engine].sheets if sheet.kind == "build")
    rebuilt = any(stay.ended < moment <= until for moment in builds)
    return not rebuilt and not any(moment <= until for moment in later)


def _dues(book: Book, family: Family, last: Fitted | None, decision: str | None, now: Now) -> tuple[DueStory, ...]:
    """Nothing falls due on a part that is out for good."""
    if last is None or decision in GOES_OUT or not counts_here(book, last, now.until):
        return ()
    return part_dues(book, family, last, now)


def _found(book: Book, part: PartEntry, now: Now) -> Iterator[tuple[SheetRef, FoundStory]]:
    """What each sheet said of this part, oldest first."""
    told: set[str] = set()
    for mention in book.mentions.get(part.id, []):
        if mention.moment > now.until or mention.path in told:
            continue
        told.add(mention.path)
        ref = sheet_ref(book.checked.resolved[mention.path].sheet)
        yield from ((ref, found) for found in book.found[mention.path] if part.id in found.parts)


def _decided(book: Book, part: PartEntry, last: Fitted | None, now: Now) -> Decided | None:
    """The last decision on this very part: a member's own word before that of its set."""
    for mention in reversed(book.mentions.get(part.id, [])):
        resolved = book.checked.resolved[mention.path]
        line = resolved.lines[mention.slot]
        if mention.moment > now.until or line.decision is None:
            continue
        if line.decision in OUT and last is not None and last.began > mention.moment:
            return None  # fitted again since: that decision was about the time before
        return Decided(mention.moment, sheet_ref(resolved.sheet), line.decision, line.because, line.why)
    return None


def _standing_grades(book: Book, part: PartEntry, now: Now) -> tuple[GradeStory, ...]:
    """The last grade of each name: it stands until a later sheet looks again, or the part is machined.

    A crack stands until somebody looks again: no grinding takes it out.
    """
    grades: dict[str, tuple[tuple[int, int], GradeStory]] = {}
    for mention in book.mentions.get(part.id, []):
        if mention.moment > now.until:
            continue
        resolved = book.checked.resolved[mention.path]
        family = book.checked.shop.family_of(resolved.sheet.engine)
        meanings = (family.grades if family else None) or {}
        for name, (grade, source) in resolved.lines[mention.slot].observed.items():
            place = (book.nth[mention.path], READING_RANK)
            grades[name] = place, GradeStory(name, grade, meanings.get(name, {}).get(str(grade)), source)
    resets = [reset for row in book.resets.get(part.id, {}).values() for reset in row if reset.moment <= now.until]
    machined = max(((reset.nth, reset.rank) for reset in resets), default=(-1, 0))
    return tuple(grade for name, (place, grade) in grades.items() if place > machined or is_crack(name))
