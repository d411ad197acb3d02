"""An engine's trail cut to a reader: when its sheets were recorded, and corrections of what the table shows.

Names, addresses and messages stay with the crew, and so does every text that the table does not give: the trail is cut
before anything is told of it, so that no table and no sentence can be made of the rest. That a figure was changed is
told even where its texts are not. Texts are blanked with the rest of the story.
"""

import dataclasses

from msgspec.structs import replace

from ..history.story import Correction, EngineStory, ReviewStory, TrailStory, TurnStory, Written
from ..history.trail_asked import EngineTrail
from ..records.amendments import Field
from ..records.ids import file_id
from ..records.load import place_of_sheet, record_kind
from ..records.strands import Turn
from ..records.trail import Amendment, RecordTrail
from .given_fields import MODELS, is_given
from .kept_back import crew_only_photos
from .table import Reader

Photos = frozenset[tuple[str, str]]  # a sheet's path and a file's name
_NEVER = frozenset(
    ("photos", "by", "picture", "crew_note", "crew_only", "file")
)  # of photos the files' names, of people


def cut_amendments(trail: EngineTrail | None, reader: Reader, given: Photos) -> EngineTrail | None:
    """The trail in which an amendment of what the reader is not given has lost its texts, and a photo its path.

    given: the photos that the reader has, each with its sheet. No photo keeps its name: a camera, or somebody, gave it.
    """

    def cut(records: tuple[RecordTrail, ...]) -> tuple[RecordTrail, ...]:
        return tuple(_without_photos(_without_texts(record, reader), given) for record in records)

    if trail is None:
        return None
    return replace(trail, sheets=cut(trail.sheets), others=cut(trail.others), leans_on=cut(trail.leans_on))


def _without_texts(record: RecordTrail, reader: Reader) -> RecordTrail:
    told = tuple(
        one if _is_bare(one) or is_shown(one.record, one.field, reader) else replace(one, old=None, new=None, others=())
        for one in record.amendments
    )
    return dataclasses.replace(record, amendments=told)


def _without_photos(record: RecordTrail, given: Photos) -> RecordTrail:
    """A photo that was exchanged has its sheet's path where the reader is given it now and it was never the crew's
    alone, else none. Where the sheet names it stays, by which its reasons are found; nobody is told it."""
    never = {file for content in record.contents for file in crew_only_photos(content)}

    def cut(turn: Turn) -> Turn:
        shown = (record.path, turn.field[-1]) in given and turn.field[-1] not in never
        return replace(turn, path=record.path if shown else "")

    return dataclasses.replace(record, turns=tuple(cut(one) if one.is_photo else one for one in record.turns))


def _is_bare(one: Amendment) -> bool:
    """Whether there is no text in it: a place that a build sheet names, and says nothing of."""
    return not any((one.old, one.new, *one.others))


def cut_trail(story: EngineStory, reader: Reader) -> EngineStory:
    """The story with its trail cut; the review stands in the buyer's edition alone."""
    trail = story.trail
    if trail is None:
        return story
    own = {f"parts/{file_id(part.id)}.yml" for part in (*story.parts, *story.former_parts)}
    cut = TrailStory(
        sheets={path: replace(one, by=None, seal=None) for path, one in trail.sheets.items()},
        corrections=tuple(
            replace(one, by=None, message=None, why=_why(one))
            for one in trail.corrections
            if _lies_in(one, story.id, own)
        ),
        entries_late=trail.entries_late,
        lines_late=trail.lines_late,
        turns=tuple(
            replace(one, by=None, message=None, was="" if one.was.startswith("engines/") else one.was)
            for one in trail.turns
            if _lies_in(one, story.id, own)
        ),
        cautions=trail.cautions,
    )
    return replace(story, trail=cut, review=_cut_review(story) if reader == "buyer" else None)


def _cut_review(story: EngineStory) -> ReviewStory | None:
    """What a buyer reads of the review: every point but those that were left out, which are counted."""
    review = story.review
    if review is None:
        return None
    shown = [one for one in review.points if one.state != "left out"]
    return replace(
        review,
        points=tuple(replace(one, written=_signed(one.written, story)) for one in shown),
        left_out=len(review.points) - len(shown),
        unmatched=(),
    )


def _signed(written: Written | None, story: EngineStory) -> Written | None:
    """An answer with its initials; who signed with anything else is not named."""
    return written if written is None or written.by in story.people else replace(written, by=None)


def _lies_in(one: Correction | TurnStory, engine: str, parts: set[str]) -> bool:
    """Whether a record is this engine's own, its family, or a part's that stood in it; a photo that is not named is."""
    return not one.path or one.path.startswith((f"engines/{engine}/", "families/")) or one.path in parts


def is_shown(path: str, field: Field, reader: Reader) -> bool:
    """Whether a reader is given the field of the record at a path."""
    kind = record_kind(path)
    if not field or _NEVER.intersection(field):
        return False
    if kind == "family":
        return True
    if kind is None or kind not in MODELS or (kind == "plan" and reader != "owner"):
        return False
    return is_given(MODELS[kind], field[1:] if kind == "log" else field)


def _why(one: Correction) -> tuple[str, ...]:
    """What was written beside a correction: on a sheet it is given, beside a line of the log it is not."""
    return one.why if place_of_sheet(one.path) is not None else ()
