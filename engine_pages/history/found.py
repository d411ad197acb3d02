"""What sheets say in words and pictures: grades with their written meaning, findings, decisions, photos."""

from collections.abc import Iterator, Sequence
from typing import Any

from ..records.family import Family
from ..records.fitting import Fitting
from ..records.load import SheetRecord
from ..records.moments import Moment
from ..records.resolve import Resolved
from ..records.sheet import Photo, PositionLine
from ..records.slots import kind_name, slots_of, title_of
from .lives import Lives
from .story import FoundStory, GradeStory, PhotoStory


def found_on(
    fitting: Fitting, lives: Lives, family: Family, resolved: Resolved, moment: Moment, present: frozenset[str]
) -> tuple[FoundStory, ...]:
    """Every line of a sheet beside its readings, as written: a set stays one line. `present`: files that are there."""
    sheet = resolved.sheet
    out = []
    for key, line in resolved.written:
        stays = [fitting.seen.get((sheet.path, slot.id)) for slot in slots_of(family).named(key)]
        known = [stay for stay in stays if stay is not None]
        parts = tuple(stay.part.id for stay in known)
        hours = lives.exposure_in(known[0], moment).hours if known else None
        out.append(_line(family, sheet, key, line, parts, hours, present))
    return tuple(out)


def _line(
    family: Family, sheet: SheetRecord, key: str, line: PositionLine, parts: tuple[str, ...], hours: float | None,
    present: frozenset[str],
) -> FoundStory:  # fmt: skip
    slots = slots_of(family).named(key)
    name = title_of(slots[0].position) if len(slots) > 1 else slots[0].name
    return FoundStory(
        key=key,
        slot_name=name,
        parts=parts,
        kind=kind_name(family, slots[0].kind),
        row=slots[0].row,
        grades=tuple(grades_of(family, sheet, key, line)),
        finding=line.finding,
        decision=line.decision,
        because=line.because,
        why=line.why,
        photos=tuple(photos_of(sheet, line.photos or (), key, name, present)),
        corrections=tuple(line.correction or ()),
        crew_note=line.crew_note,
        part_hours=hours,
        source=sheet.record.document.key_place("positions", key),
        whole=bool(family.kinds[slots[0].kind].whole) if slots[0].kind in family.kinds else False,
    )


def grades_of(family: Family, sheet: SheetRecord, key: str, line: PositionLine) -> Iterator[GradeStory]:
    """The grades of one line; of a set's members, each under `name, member`."""
    for name, value in (line.observed or {}).items():
        grades: dict[str, Any] = value if isinstance(value, dict) else {"": value}
        meanings = (family.grades or {}).get(name, {})
        for member, grade in grades.items():
            steps = ("positions", key, "observed", name) + ((member,) if member else ())
            shown = f"{name}, {member}" if member else name
            yield GradeStory(shown, grade, meanings.get(str(grade)), sheet.record.place(*steps))


def photos_of(
    sheet: SheetRecord, photos: Sequence[Photo], key: str | None, name: str, present: frozenset[str]
) -> Iterator[PhotoStory]:
    """The photos of one line (key None: of the whole engine), numbered in the order written."""
    for index, photo in enumerate(photos):
        path = f"{sheet.photo_folder}/{photo.file}"
        steps: tuple[str | int, ...] = ("photos", index) if key is None else ("positions", key, "photos", index)
        yield PhotoStory(
            path=path,
            view=photo.view,
            caption=photo.caption,
            crew_only=bool(photo.crew_only),
            taken=str(photo.taken) if photo.taken else None,
            slot=key,
            slot_name=name,
            number=index + 1,
            present=path in present,
            source=sheet.record.place(*steps),
        )
