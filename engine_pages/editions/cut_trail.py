"""An engine's trail cut to a reader: when its sheets were recorded, and corrections of what the table shows.

Names, addresses and messages stay with the crew, and so does every field that the table does not give. Texts are
blanked with the rest of the story.
"""

from dataclasses import replace

from ..history.story import Correction, EngineStory, ReviewStory, TrailStory, Written
from ..records.ids import file_id
from ..records.load import place_of_sheet, record_kind
from .given_fields import MODELS, is_given
from .table import Reader

_NEVER = frozenset(
    ("photos", "by", "picture", "crew_note", "crew_only", "file")
)  # of photos the files' names, of people


def cut_trail(story: EngineStory, reader: Reader) -> EngineStory:
    """The story with its trail cut; the review stands in the buyer's edition alone."""
    trail = story.trail
    if trail is None:
        return story
    own = {f"parts/{file_id(part.id)}.yml" for part in (*story.parts, *story.former_parts)}
    cut = TrailStory(
        sheets={path: replace(one, by=None, seal=None) for path, one in trail.sheets.items()},
        corrections=tuple(
            replace(one, by=None, message=None, why=one.why if _is_sheet(one) else ())
            for one in trail.corrections
            if _lies_in(one, story.id, own) and is_shown(one, reader)
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


def _lies_in(one: Correction, engine: str, parts: set[str]) -> bool:
    """Whether a record is this engine's own, its family, or a part's that stood in it."""
    return one.path.startswith((f"engines/{engine}/", "families/")) or one.path in parts


def _is_sheet(one: Correction) -> bool:
    """Whether what was written beside a correction is given: on a sheet it is, beside a line of the log it is not."""
    return place_of_sheet(one.path) is not None


def _says_no_more_than_a_place(one: Correction) -> bool:
    return one.field[:1] == ("positions",) and len(one.field) == 2 and not one.was and not one.now


def is_shown(one: Correction, reader: Reader) -> bool:
    """Whether a reader sees the field that was corrected."""
    kind, field = record_kind(one.path), one.field
    if _says_no_more_than_a_place(one):
        return True
    if not field or _NEVER.intersection(field):
        return False
    if kind == "family":
        return True
    if kind is None or kind not in MODELS or (kind == "plan" and reader != "owner"):
        return False
    return is_given(MODELS[kind], field[1:] if kind == "log" else field)
