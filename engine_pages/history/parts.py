"""One part, told: where it is, its lives, its rows of figures, what was found on it, its state."""

from collections.abc import Iterator, Sequence
from datetime import date

from ..records.family import Family
from ..records.fitting import Fitted, PartEntry
from ..records.slots import Slot, kind_name
from .book import Book, sheet_ref
from .dimensions import Outlook, dimensions_of
from .dues import Now, part_dues
from .lives import Life
from .status import Standing, differs, state_of
from .story import FoundStory, GradeStory, PartStory, SheetRef, Stay


def part_story(book: Book, family: Family, part: PartEntry, outlook: Outlook, now: Now) -> PartStory:
    """Everything of one part, across all its engines."""
    life = book.lives.of(part.id)
    stays = [stay for stay in life.stays if stay.began <= now.until]
    last = stays[-1] if stays else None
    inside = last is not None and (last.ended is None or last.ended > now.until)
    found = tuple(_found(book, part, now))
    dimensions = dimensions_of(book, family, part, outlook)
    dues = part_dues(book, family, last, now) if last is not None and inside else ()
    decided = next(((ref, f) for ref, f in reversed(found) if _decision(book, part, ref, f)), None)
    decision = _decision(book, part, *decided) if decided else None
    if decided and last and last.fitted and last.fitted.day > decided[0].day and decision in ("replace", "retire"):
        decided, decision = None, None  # fitted again since: that decision was about the time before
    state, why = state_of(
        Standing(
            retired_on=decided[0].day.isoformat() if decided and decision == "retire" else None,
            dimensions=dimensions,
            grades=_standing_grades(found, part, last.slot if last else None, book),
            due=dues,
            looked_at=any(f.grades for _, f in found),
        )
    )
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
        because=decided[1].because if decided else None,
        decision_why=decided[1].why if decided else None,
        decided_on=decided[0] if decided else None,
        differs=differs(state, why, decision, decided[1].because if decided else None),
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
    """One stay of a part, as pages show it."""
    return Stay(
        part=stay.part.id,
        engine=stay.engine,
        slot=stay.slot.id,
        slot_name=stay.slot.name,
        fitted=sheet_ref(stay.fitted) if stay.fitted else None,
        removed=sheet_ref(stay.removed) if stay.removed else None,
        began=date.fromordinal(stay.began[0]),
        ended=date.fromordinal(stay.ended[0]) if stay.ended else None,
        exposure=book.lives.stay_exposure(stay, now.until),
        put_back_unwritten=stay.put_back_unwritten,
    )


def _found(book: Book, part: PartEntry, now: Now) -> Iterator[tuple[SheetRef, FoundStory]]:
    """What each sheet said of this part, oldest first."""
    told: set[str] = set()
    for mention in book.mentions.get(part.id, []):
        if mention.moment > now.until or mention.path in told:
            continue
        told.add(mention.path)
        ref = sheet_ref(book.checked.resolved[mention.path].sheet)
        yield from ((ref, found) for found in book.found[mention.path] if part.id in found.parts)


def _decision(book: Book, part: PartEntry, ref: SheetRef, found: FoundStory) -> str | None:
    """The decision on this very part: a member's own word before that of its set."""
    for mention in book.mentions.get(part.id, []):
        line = book.checked.resolved[mention.path].lines.get(mention.slot) if mention.path == ref.path else None
        if line is not None and line.decision is not None:
            return line.decision
    return found.decision


def _standing_grades(
    found: Sequence[tuple[SheetRef, FoundStory]], part: PartEntry, slot: Slot | None, book: Book
) -> tuple[GradeStory, ...]:
    """The last grade of each name: it stands until a later sheet looks again. Of a set's grades, this member's own."""
    grades: dict[str, GradeStory] = {}
    for _, line in found:
        for grade in line.grades:
            name, _, member = grade.name.partition(", ")
            if not member or slot is None or member == slot.member:
                grades[name] = GradeStory(name, grade.grade, grade.meaning, grade.source)
    last_work = max((r[-1].moment for r in book.resets.get(part.id, {}).values() if r), default=None)
    if last_work is not None and found and found[-1][0].day.toordinal() <= last_work[0]:
        return ()  # machined since it was last graded
    return tuple(grades.values())
