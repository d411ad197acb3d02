"""The sections of a sheet's page beside its readings: photos, findings, what was fitted, decided and machined.

In: a sheet's story. Out: sections for the template; None where the sheet says nothing of the kind. Line numbers are of
the sheet's own file, which the page names at its foot.
"""

from engine_pages.history.story import FoundStory, GradeStory, SheetStory, Stay
from engine_pages.pages.desk import Here, source_words
from engine_pages.pages.part_marks import starts_of
from engine_pages.pages.photo_figures import photo_figure
from engine_pages.pages.pieces import (
    Column,
    Entry,
    Heading,
    Line,
    Lines,
    Photos,
    PhotoSection,
    Table,
)
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import (
    capital,
    count_words,
    ended,
    figure_words,
    key_words,
    list_words,
    quoted_words,
    small,
)

PLAIN_DECISION = "reuse"  # decided without a remark, these are only counted


def grade_words(grade: GradeStory) -> str:
    """A grade with what it means in the family's own words: `overlay 1: light scratches, overlay whole`."""
    words = f"{key_words(grade.name)} {grade.grade}"
    return f"{words}: {grade.meaning}" if grade.meaning else words


def found_photos(here: Here, sheet: SheetStory) -> PhotoSection | None:
    """Every photo of the sheet: of the whole engine first, then place by place with what was found there."""
    figures = [
        photo_figure(here, sheet.ref.engine, sheet.ref, photo, left=photo.view or "engine", right="")
        for photo in sheet.photos
    ]
    for found in sheet.found:
        for index, photo in enumerate(found.photos):
            left = f"{found.slot_name}, {photo.view}" if photo.view else found.slot_name
            right = amount_words(found.part_hours, "hours") if found.part_hours is not None else ""
            strong, text = _said(found) if index == 0 else ("", "")
            figures.append(
                photo_figure(here, sheet.ref.engine, sheet.ref, photo, left=left, right=right, strong=strong, text=text)
            )
    if not figures:
        return None
    heading = Heading("photos", "What was seen", count_words(len(figures), "photo"))
    return PhotoSection(heading, (("", Photos(tuple(figures), "by-two")),))


def _said(found: FoundStory) -> tuple[str, str]:
    """What a photo's place is said to be: its worst grade, then the finding."""
    grades = sorted(found.grades, key=lambda grade: -grade.grade)
    strong = capital(grade_words(grades[0])) if grades and grades[0].grade > 0 else ""
    return strong, found.finding or ""


def found_lines(here: Here, sheet: SheetStory, within: str) -> Lines | None:
    """Every place that was looked at, with its grades, its finding and the crew's own remark."""
    lines = []
    for found in sheet.found:
        grades = "; ".join(grade_words(grade) for grade in found.grades)
        words = [found.finding or "", capital(grades), *(f"Corrected: {text}" for text in found.corrections)]
        if found.crew_note:
            words.append(f"Crew: {found.crew_note}")
        text = " ".join(ended(word) for word in words if word)
        if text:
            part = found.parts[0] if found.parts else None
            lines.append(
                Line(f"{found.slot_name}:", text, source=source_words(found.source, within), link=here.part_link(part))
            )
    if not lines:
        return None
    return Lines(Heading("found", "What was found", count_words(len(lines), "place")), tuple(lines))


def decided_lines(sheet: SheetStory, within: str) -> Lines | None:
    """What was decided: each that says why or is not reused, then how many more are reused without a remark."""
    decided = [found for found in sheet.found if found.decision]
    if not decided:
        return None
    lines, plain = [], []
    for found in decided:
        if found.decision == PLAIN_DECISION and not found.why and not found.because:
            plain.append(found)
            continue
        because = f", {'a precaution' if found.because == 'precaution' else found.because}" if found.because else ""
        why = f": {quoted_words(found.why)}" if found.why else "."
        lines.append(
            Line(
                capital(found.decision or ""),
                f"{small(found.slot_name)}{because}{why}",
                source=source_words(found.source, within),
            )
        )
    if plain:
        more = f"{len(plain)} more, without a remark." if lines else f"all {len(plain)}, without a remark."
        lines.append(Line(capital(PLAIN_DECISION), more, quiet=list_words([small(found.slot_name) for found in plain])))
    right = f"by {sheet.by}" if sheet.by else ""
    return Lines(Heading("decided", "What was decided", right), tuple(lines))


def fitted_table(here: Here, sheet: SheetStory) -> Table | None:
    """What a build sheet put where, with the hours that each part came with."""
    if not sheet.fitted:
        return None
    columns = (Column("place"), Column("part"), Column("hours before", "num"), Column("came as", optional=True))
    rows = tuple(_fitted(here, sheet, stay) for stay in sheet.fitted)
    note = "Hours that the part had when it was fitted. “Taken as new”: no origin is written."
    return Table(Heading("fitted", "What was fitted", count_words(len(rows), "place")), columns, rows, note=note)


def _fitted(here: Here, sheet: SheetStory, stay: Stay) -> tuple[Entry, ...]:
    part = here.desk.by_id.get(stay.part)
    origin, hours = "", None
    if part is not None:
        first = part.stays[0].fitted == sheet.ref
        origin = ("taken as new" if part.taken_as_new else part.origin or "") if first else "had run before"
        begun = zip(part.stays, starts_of(part, "hours"), strict=True)
        hours = next((start for one, start in begun if one.fitted == sheet.ref and one.slot == stay.slot), None)
    return (
        Entry(stay.slot_name),
        Entry(here.part_name(stay.part), strong=True, href=here.part(stay.part)),
        Entry(figure_words(hours, 1) if hours is not None else ""),
        Entry("put back, not written" if stay.put_back_unwritten else origin),
    )


def work_lines(here: Here, sheet: SheetStory, within: str) -> Lines | None:
    """Machining: it opens a new baseline for the dimensions it names, and never resets a part's life."""
    if not sheet.work:
        return None
    lines = tuple(
        Line(
            f"{here.part_name(part) if part in here.desk.by_id else part}:", words, source=source_words(source, within)
        )
        for part, words, source in sheet.work
    )
    note = "A dimension that was machined begins anew; the part’s hours do not."
    return Lines(Heading("work", "Machined"), lines, note)


def rest_lines(sheet: SheetStory) -> Lines | None:
    """Torque, fluids from this sheet on, corrections, and the places of a teardown that nothing was written of."""
    lines = []
    if sheet.torque:
        lines.append(Line("Torque:", _pairs(sheet.torque)))
    if sheet.fluids:
        lines.append(Line("Fluids from here on:", _pairs(sheet.fluids)))
    lines += [Line("Corrected:", text) for text in sheet.corrections]
    if sheet.not_looked_at:
        lines.append(Line("Not looked at:", f"{list_words([small(name) for name in sheet.not_looked_at])}."))
    return Lines(Heading("rest", "Also on this sheet"), tuple(lines)) if lines else None


def _pairs(pairs: tuple[tuple[str, str], ...]) -> str:
    return ", ".join(f"{key_words(key).replace('-', ' ')} {value}" for key, value in pairs) + "."
