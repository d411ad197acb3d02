"""Patterns that undermine a record: one figure throughout, round figures throughout, every grade 0, a photo twice.

Each is a question and no accusation: some parts do come alike out of one machine, and some engines do look as new.
"""

import re
from collections.abc import Callable, Iterator

from ..history.story import EngineStory, PhotoStory, SheetStory
from ..history.told_review import Point
from .sheet_points import from_engine

Content = Callable[[str], str | None]
FEWEST_ALIKE = 4  # parts with one figure: of three, two gauges' steps apart at most, it happens by itself
FEWEST_ROUND = 8  # readings that end in 0 or 5: of eight, one sheet in 390,000 would by itself (1 in 5 each)
ENGINE = "engine"
FEWEST_GRADES = 6  # what a strip of any engine looks at


def pattern_points(story: EngineStory, content: Content) -> Iterator[Point]:
    """Every pattern of the engine's sheets. `content`: what tells one photo's bytes from others, if it can be read."""
    for sheet in story.sheets:
        yield from _same_figures(story, sheet)
        yield from _round_figures(story, sheet)
        yield from _every_grade_0(story, sheet)
    yield from _photos(story, content)


def _same_figures(story: EngineStory, sheet: SheetStory) -> Iterator[Point]:
    """Of one dimension on one sheet, every part's reading the same; a plain nothing (0.000) is often just that."""
    written: dict[tuple[str, str], list[str]] = {}
    for row in sheet.measured:
        if row.reading.by_gauge and row.part is not None:
            written.setdefault((row.dimension.id, row.dimension.name), []).append(row.reading.written)
    for (_, name), texts in written.items():
        if len(texts) >= FEWEST_ALIKE and len(set(texts)) == 1 and any(sign in "123456789" for sign in texts[0]):
            what = f"{sheet.ref.label}: {name.lower()} reads {texts[0]} on all {len(texts)}"
            yield Point("same-figures", from_engine(story, sheet.ref.path), what, sheet.source, since=sheet.ref.day)


def _round_figures(story: EngineStory, sheet: SheetStory) -> Iterator[Point]:
    read = [reading for reading in sheet.gauged if reading.decimals > 0 and reading.repeats == 1]
    last = [reading.written.split()[0][-1:] for reading in read]
    if len(last) >= FEWEST_ROUND and set(last) <= {"0", "5"}:
        what = f"{sheet.ref.label}: all {len(last)} readings end in 0 or 5"
        yield Point("round-figures", from_engine(story, sheet.ref.path), what, read[0].source, since=sheet.ref.day)


def _every_grade_0(story: EngineStory, sheet: SheetStory) -> Iterator[Point]:
    """Of parts that have run: on the bench before a build every grade may well be 0."""
    grades = [grade for found in sheet.found for grade in found.grades]
    if sheet.ref.kind != "build" and len(grades) >= FEWEST_GRADES and not any(grade.grade for grade in grades):
        what = f"{sheet.ref.label}: all {len(grades)} grades are 0"
        yield Point("every-grade-0", from_engine(story, sheet.ref.path), what, grades[0].source, since=sheet.ref.day)


def _photos(story: EngineStory, content: Content) -> Iterator[Point]:
    first: dict[str, PhotoStory] = {}
    for sheet in story.sheets:
        for photo in sheet.all_photos:
            if not photo.present:
                what = f"{sheet.ref.label}: the photo of {photo.slot_name or 'the engine'} is not there"
                yield Point("photo-missing", _name(story, photo), what, photo.source, since=sheet.ref.day)
                continue
            same = first.setdefault(content(photo.path) or photo.path, photo)
            if same is not photo and not (_names(photo, same) or _names(same, photo)):
                what = f"{sheet.ref.label}: one picture stands for {_subject(same)} and for {_subject(photo)}"
                yield Point("photo-twice", _name(story, photo), what, photo.source, since=sheet.ref.day)


def _name(story: EngineStory, photo: PhotoStory) -> str:
    """The sheet, the place and the number: an edition shows no photo's file name."""
    return f"{from_engine(story, photo.source.path)}, {photo.slot or 'engine'} {photo.number}"


def _names(photo: PhotoStory, other: PhotoStory) -> bool:
    """Whether a photo's caption names the other's place: then it says itself that it shows both.

    Of one place on two days it can say no such thing: a picture shows one of them.
    """
    if photo.slot == other.slot:
        return False
    said = (photo.caption or "").casefold()
    places = (other.slot or ENGINE, other.slot_name or ENGINE)
    return any(re.search(rf"\b{re.escape(place.casefold())}\b", said) for place in places)


def _subject(photo: PhotoStory) -> str:
    return " ".join(word for word in (photo.slot_name or f"the {ENGINE}", photo.view) if word)
