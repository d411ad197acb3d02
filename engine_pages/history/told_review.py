"""A review, told, as plain values: the facts a buyer asks for, and the points that are open, answered or left out."""

from datetime import date
from typing import Literal

from msgspec import Struct

from ..records.source import Source

PointState = Literal["open", "answered", "left out"]


class Point(Struct, frozen=True):
    """One thing that a buyer would stop at. `kind` and `where` together name it in review.yml, and no other.

    where: a sheet's path from the engine's folder, a place, a place and its dimension, a commit. what: the finding in
    a sentence. source: where it is written, or would be. settle: how, where the kind's own way does not fit. since: the
    day of the newest change that it tells of, if it tells of any.
    """

    kind: str
    where: str
    what: str
    source: Source | None
    settle: str | None = None
    since: date | None = None


class Written(Struct, frozen=True):
    """What the builder wrote to a point in review.yml, signed."""

    text: str
    by: str | None
    day: date | None
    source: Source


class Judged(Struct, frozen=True):
    """A point with what became of it. `written` is the answer, or why it is left out."""

    point: Point
    state: PointState
    written: Written | None = None


class Fact(Struct, frozen=True):
    """A question that a buyer asks, and the record's answer: lines, or none where the record does not say."""

    question: str
    lines: tuple[str, ...]


class ReviewStory(Struct, frozen=True):
    """One engine reviewed. `unmatched`: what in review.yml answers no point, or lacks its signature.

    left_out: how many points the reader is not shown, by a choice that is written and dated in review.yml.
    """

    engine: str
    as_of: date
    facts: tuple[Fact, ...]
    points: tuple[Judged, ...]
    unmatched: tuple[tuple[Source, str], ...] = ()
    left_out: int = 0

    def in_state(self, state: PointState) -> tuple[Judged, ...]:
        return tuple(one for one in self.points if one.state == state)

    @property
    def is_ready(self) -> bool:
        """Whether nothing is open."""
        return not self.in_state("open") and not self.unmatched
