"""An engine's trail, told, as plain values: when each sheet was recorded, and what was corrected since."""

from collections.abc import Mapping
from datetime import date
from typing import Literal

from msgspec import Struct, field

from ..records.source import Source
from .told_parts import SheetRef


class Recorded(Struct, frozen=True):
    """The first commit of a sheet. `after`: days from the work to it; `seal`: what its signature is worth, in words.

    odd: what speaks against the date, in words. before: whether it may be older, where the clone's history begins.
    """

    day: date
    after: int | None
    by: str | None
    commit: str
    seal: str | None
    odd: str | None
    before: bool


class Correction(Struct, frozen=True):
    """One amendment: `place` names the field as a person reads it; `was` and `now` are texts as written.

    why: what the builder wrote beside it, and on which day where that came later. message and by: of its commit, for
    the crew alone. matters: whether it is of a figure, an identity or a date. field: the keys on the way.
    """

    path: str
    record: str
    sheet: SheetRef | None
    field: tuple[str, ...]
    place: str
    kind: Literal["added", "changed", "removed"]
    was: str | None
    now: str | None
    day: date
    commit: str
    by: str | None
    message: str | None
    why: tuple[str, ...]
    matters: bool
    source: Source | None
    why_day: date | None = None


class TurnStory(Struct, frozen=True):
    """What befell a record's file as a whole, or a photo. `was`: where it lay before, of one that moved; `sheet`: if
    it is there.

    message and by: of the commit, for the crew alone. photo: what was exchanged, as a person reads it; empty where the
    reader is not given it. why, why_day: as of a correction; captioned: whether the photo's caption tells of it.
    """

    path: str
    record: str
    sheet: SheetRef | None
    what: Literal["moved", "removed", "restored", "unreadable", "left out", "photo exchanged"]
    was: str
    day: date
    commit: str
    by: str | None
    message: str | None
    photo: str = ""
    why: tuple[str, ...] = ()
    why_day: date | None = None
    captioned: bool = False


class TrailStory(Struct, frozen=True):
    """What git knows of an engine's records. `cautions`: what it does not, in words; corrections and turns,
    newest first.

    entries_late, lines_late: days from its day to each figure that was added to a sheet, and to each line of the log,
    long after. changed: paths of records that differ from the last commit: drafts.
    """

    sheets: Mapping[str, Recorded] = field(default_factory=dict)
    corrections: tuple[Correction, ...] = ()
    turns: tuple[TurnStory, ...] = ()
    entries_late: tuple[int, ...] = ()
    lines_late: tuple[int, ...] = ()
    cautions: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
