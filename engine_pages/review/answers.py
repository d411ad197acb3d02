"""What the builder wrote in review.yml beside the points that it means: answers, and points left out with the reason.

In: the points, the written review, today. Out: each point with what became of it, and what fits no point, lacks its
signature, or is older than what it would settle: nobody has answered yet what came after an answer.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from ..history.told_review import Judged, Point, PointState, Written
from ..records.engine import Answer, Review
from ..records.model import Record
from ..records.source import Source, nearest
from .point_kinds import POINT_KINDS

LISTS: tuple[tuple[str, PointState], ...] = (("answers", "answered"), ("left_out", "left out"))


class _Line(NamedTuple):
    """A line of review.yml with its place, and what it makes of a point."""

    state: PointState
    it: Answer
    place: Source

    @property
    def day(self) -> date | None:
        return self.it.date.day if self.it.date else None

    def means(self, point: Point) -> bool:
        return self.it.point == point.kind and self.it.where in (point.where, None)

    def is_older(self, point: Point) -> bool:
        """Whether the point tells of a change that came after this was written."""
        return self.day is not None and point.since is not None and self.day < point.since


def judged(points: Sequence[Point], review: Record[Review] | None, today: date) -> tuple[Judged, ...]:
    """Each point, answered, left out or open. A point that is both answered and left out is left out."""
    lines = [line for line in _lines(review) if _lacking(line, today) is None]
    return tuple(_judged(point, lines) for point in points)


def _judged(point: Point, lines: Sequence[_Line]) -> Judged:
    """By the line that names the point's place, else by one of its kind; of several the newest."""
    counting = [line for line in lines if line.means(point) and not line.is_older(point)]
    if not counting:
        return Judged(point, "open")
    line = max(counting, key=lambda one: (one.it.where is not None, one.state == "left out", one.day or date.min))
    written = Written(line.it.answer or line.it.why or "", line.it.by, line.day, line.place)
    return Judged(point, line.state, written)


def unmatched(points: Sequence[Judged], review: Record[Review] | None, today: date) -> Iterator[tuple[Source, str]]:
    """What is written and settles nothing, each with its place. `points`: as they were judged."""
    known = {(one.point.kind, one.point.where) for one in points}
    kinds = {kind for kind, _ in known}
    for line in _lines(review):
        one, lacking = line.it, _lacking(line, today)
        if lacking is not None:
            yield line.place, f"{one.point}: {lacking}"
        elif one.point not in POINT_KINDS:
            yield line.place, f"{one.point!r} is no point of a review; {nearest(one.point, POINT_KINDS)}"
        elif one.where is None and one.point not in kinds:
            yield line.place, f"{one.point}: nothing of that kind is open any more; the line can go"
        elif one.where is not None and (one.point, one.where) not in known:
            places = [where for kind, where in known if kind == one.point]
            yield line.place, f"{one.point}: nothing at {one.where}; {nearest(one.where, sorted(places))}"
        else:
            yield from _too_old(line, points)


def _too_old(line: _Line, points: Sequence[Judged]) -> Iterator[tuple[Source, str]]:
    for one in points:
        point = one.point
        if one.state == "open" and line.means(point) and line.is_older(point):
            yield (
                line.place,
                f"{point.kind}: written on {line.day}, before what came at {point.where} on {point.since}; "
                "answer that too, with its day",
            )


def _lines(review: Record[Review] | None) -> Iterator[_Line]:
    if review is None:
        return
    for name, state in LISTS:
        items: Iterable[Answer] = getattr(review.it, name) or ()
        for index, one in enumerate(items):
            yield _Line(state, one, review.place(name, index))


def _lacking(line: _Line, today: date) -> str | None:
    """Why a line does not count: it lacks words, initials or a day, or its day is still to come."""
    one = line.it
    parts = (("answer or why", one.answer or one.why), ("by", one.by), ("date", one.date))
    missing = [name for name, value in parts if not value]
    if missing:
        return f"{', '.join(f'{name}:' for name in missing)} is missing; an answer is signed and dated"
    return f"{line.day} is still to come: today is {today}" if line.day is not None and line.day > today else None
