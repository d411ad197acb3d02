"""Photos that were exchanged, and why: a record's trail in; each exchange with what was written about it out.

A reason is a `correction:` of the same commit or a later one, at that place or on its sheet, or the photo's caption
written anew. A later correction that came with a change of its own speaks of that change alone.
"""

from collections.abc import Iterator
from datetime import date

from msgspec import Struct

from ..history.trail_asked import SHEETS
from ..history.trail_days import told_day
from ..history.trail_words import field_words
from ..records.amendments import Field
from ..records.strands import Turn
from ..records.trail import Amendment, RecordTrail
from .amended import reasons_of

_OF_A_PHOTO = 2  # the last steps of its field: `photos` and its file, which no edition names
_CAPTION = "caption"


class Exchanged(Struct, frozen=True):
    """One exchange and its reason. `why_day`: the day on which that was written, where it came later; `captioned`:
    whether the photo's caption was written anew with it or since."""

    turn: Turn
    why: tuple[str, ...] = ()
    why_day: date | None = None
    captioned: bool = False

    @property
    def explained(self) -> bool:
        """Whether anybody wrote why."""
        return bool(self.why) or self.captioned


def exchanged(record: RecordTrail) -> tuple[Exchanged, ...]:
    """Every photo of a sheet that was exchanged, oldest first."""
    turns = [turn for turn in record.turns if turn.is_photo] if record.kind in SHEETS else []
    return tuple(_with_reason(record, turn) for turn in turns)


def place_words(field: Field) -> str:
    """Where a photo belongs, without its name.

    >>> place_words(("positions", "rotor-bearing-2", "photos", "a.jpg")), place_words(("photos", "b.jpg"))
    ('rotor-bearing-2', 'the engine')
    """
    place = field[:-_OF_A_PHOTO]
    return field_words(place) if place else "the engine"


def _with_reason(record: RecordTrail, turn: Turn) -> Exchanged:
    reasons = [*_reasons(record, turn)]
    later = reasons[-1].commit if reasons and all(one.commit.id != turn.commit.id for one in reasons) else None
    return Exchanged(
        turn,
        tuple(one.new for one in reasons if one.new is not None),
        told_day(later) if later is not None else None,
        any(_is_caption(one, turn) for one in record.amendments),
    )


def _reasons(record: RecordTrail, turn: Turn) -> Iterator[Amendment]:
    for one, is_later in reasons_of(record):
        place = one.field[:-1]
        same = one.commit.id == turn.commit.id
        if turn.field[: len(place)] == place and (same or (is_later and one.commit.nth < turn.commit.nth)):
            yield one


def _is_caption(one: Amendment, turn: Turn) -> bool:
    """Whether the photo's caption was written by then. Of its texts nothing is asked: an edition has them elsewhere."""
    stands = one.kind != "removed" and one.left_out is None
    return stands and one.field == (*turn.field, _CAPTION) and one.commit.nth <= turn.commit.nth
