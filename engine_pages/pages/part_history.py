"""Where a part was, how it looked, what each sheet found on it and decided.

In: a part's story. Out: the life strip with its list, photos of the same view side by side, and lines sheet by sheet.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from msgspec import Struct

from engine_pages.history.story import FoundStory, PartStory, PhotoStory, SheetRef, Stay
from engine_pages.pages.charts.life_strip import LifeStrip, Span, draw_life_strip
from engine_pages.pages.desk import Here, sheet_words, source_words
from engine_pages.pages.photo_figures import photo_figure
from engine_pages.pages.pieces import Chart, Heading, Line, Lines, Link, PhotoFigure, Photos, PhotoSection
from engine_pages.pages.sheet_sections import grade_words
from engine_pages.pages.wear_words import amount_words, exposure_words
from engine_pages.pages.words import capital, count_words, day_words, ended, list_words, quoted_words, small, span_words


class LifeLine(Struct, frozen=True):
    """A stretch of the part's life: its number in the strip, where it was, when and for how long."""

    number: str
    place: Link
    quiet: str


class LifeSection(Struct, frozen=True):
    """The life strip and its list; no strip for a single stay."""

    heading: Heading
    strip: Chart | None
    lines: tuple[LifeLine, ...]


def life_section(here: Here, part: PartStory, as_of: date) -> LifeSection | None:
    """Where the part was; None for a part that was never fitted and has no life before."""
    lines = tuple(_life_lines(here, part))
    if not lines:
        return None
    spans = tuple(_spans(part, as_of))
    # One stay is said in one line; a strip of it would show nothing more.
    strip = here.desk.drawer.draw(LifeStrip(spans), draw_life_strip, "Where it was") if len(spans) > 1 else None
    engines = list(dict.fromkeys(stay.engine for stay in part.stays))
    right = f"{exposure_words(part.since_new, _unit(part))} in {count_words(len(engines), 'engine')}"
    return LifeSection(Heading("life", "Where it was", right if engines else ""), strip, lines)


def _unit(part: PartStory) -> str:
    return part.dimensions[0].exposure_unit if part.dimensions else "hours"


def _spans(part: PartStory, as_of: date) -> Iterator[Span]:
    before: date | None = None
    for number, stay in enumerate(part.stays, 1):
        if stay.began is None:
            continue
        end = stay.ended or max(as_of, stay.began)
        if before is not None and (stay.began - before).days > 1:
            yield Span(before + timedelta(days=1), stay.began - timedelta(days=1), "", "", "shelf")
        hours = amount_words(stay.exposure.amount(_unit(part)), _unit(part))
        yield Span(stay.began, end, str(number), hours, "this" if stay.engine == part.engine else "other")
        before = end


def _life_lines(here: Here, part: PartStory) -> Iterator[LifeLine]:
    unit = _unit(part)
    spent = sum(stay.exposure.amount(unit) for stay in part.stays)
    prior = part.since_new.amount(unit) - spent
    if part.prior == "unknown":
        yield LifeLine("", Link("before these records"), "unknown")
    elif prior > 0.05:
        yield LifeLine("", Link("before these records"), amount_words(prior, unit))
    before: Stay | None = None
    for number, stay in enumerate(part.stays, 1):
        moved = before is not None and (before.engine, before.slot) != (stay.engine, stay.slot)
        if moved and before and before.ended and stay.began and (stay.began - before.ended).days > 1:
            yield LifeLine("", Link("on the shelf"), span_words(before.ended, stay.began))
        words = [span_words(stay.began, stay.ended), exposure_words(stay.exposure, unit)]
        if stay.put_back_unwritten:
            words.append("put back, as no build sheet says")
        place = Link(", ".join(filter(None, (stay.engine, small(stay.slot_name)))), here.engine(stay.engine))
        yield LifeLine(str(number), place, ", ".join(words))
        before = stay


def photo_section(here: Here, part: PartStory) -> PhotoSection | None:
    """Photos of the same view in a row, the oldest first, each with the hours it was taken at."""
    rows: dict[str, list[PhotoFigure]] = {}
    for sheet, found in part.found:
        for photo in found.photos:
            rows.setdefault(photo.view or "", []).append(_figure(here, sheet, found, photo))
    if not rows:
        return None
    count = sum(len(figures) for figures in rows.values())
    ordered = sorted(rows.items(), key=lambda row: -len(row[1]))
    single = len(ordered) == 1
    heading = Heading("looked", "How it looked", ordered[0][0] if single else count_words(count, "photo"))
    return PhotoSection(
        heading,
        tuple(
            ("" if single else capital(view or "no view named"), Photos(tuple(figures))) for view, figures in ordered
        ),
    )


def _figure(here: Here, sheet: SheetRef, found: FoundStory, photo: PhotoStory) -> PhotoFigure:
    worst = max((grade.grade for grade in found.grades), default=None)
    hours = amount_words(found.part_hours, "hours") if found.part_hours is not None else ""
    right = ", ".join(words for words in (hours, f"grade {worst}" if worst is not None else "") if words)
    return photo_figure(
        here, sheet.engine, sheet, photo, left=day_words(sheet.day), right=right, text=found.finding or ""
    )


def found_section(here: Here, part: PartStory) -> Lines | None:
    """What each sheet found on the part and what was decided, the newest first."""
    lines = tuple(
        line for sheet, found in reversed(part.found) if (line := _found_line(here, sheet, found)) is not None
    )
    return Lines(Heading("found", "What was found and decided", "the newest first"), lines) if lines else None


def _found_line(here: Here, sheet: SheetRef, found: FoundStory) -> Line | None:
    words = [ended(found.finding)] if found.finding else []
    if found.grades:
        words.append(ended(capital("; ".join(grade_words(grade) for grade in found.grades))))
    if found.decision:
        because = f" ({found.because})" if found.because else ""
        why = f": {quoted_words(found.why)}" if found.why else "."
        words.append(f"Decided: {found.decision}{because}{why}")
    words += [ended(f"Corrected: {text}") for text in found.corrections]
    if found.crew_note:
        words.append(ended(f"Crew: {found.crew_note}"))
    if not words:
        return None
    hours = f", {amount_words(found.part_hours, 'hours')}" if found.part_hours is not None else ""
    several = f" Of {list_words([here.part_name(one) for one in found.parts])}." if len(found.parts) > 1 else ""
    return Line(
        f"{day_words(sheet.day)}{hours}:",
        " ".join(words) + several,
        source=source_words(found.source, sheet.path),
        link=Link(sheet_words(sheet), here.sheet(sheet)),
    )
