"""What the builder wrote in review.yml beside the points that it means: answers, and points left out with the reason.

In: the points, the written review. Out: each point with what became of it, and what fits no point or lacks a signature.
"""

from collections.abc import Iterable, Iterator, Sequence

from ..history.told_review import Judged, Point, PointState, Written
from ..records.engine import Answer, Review
from ..records.model import Record
from ..records.source import Source, nearest
from .point_kinds import POINT_KINDS

LISTS: tuple[tuple[str, PointState], ...] = (("answers", "answered"), ("left_out", "left out"))


def judged(points: Sequence[Point], review: Record[Review] | None) -> tuple[Judged, ...]:
    """Each point, answered, left out or open. A point that is both answered and left out is left out."""
    written = {
        (one.point, one.where): (state, _written(one, place))
        for state, one, place in _lines(review)
        if _unsigned(one) is None
    }
    out = []
    for point in points:
        state, answer = written.get((point.kind, point.where)) or written.get((point.kind, None)) or ("open", None)
        out.append(Judged(point, state, answer))
    return tuple(out)


def unmatched(points: Sequence[Point], review: Record[Review] | None) -> Iterator[tuple[Source, str]]:
    """What is written and settles nothing, each with its place."""
    known = {(point.kind, point.where) for point in points}
    kinds = {point.kind for point in points}
    for _, one, place in _lines(review):
        lacking = _unsigned(one)
        if lacking is not None:
            yield place, f"{one.point}: {lacking} is missing; an answer is signed and dated"
        elif one.point not in POINT_KINDS:
            yield place, f"{one.point!r} is no point of a review; {nearest(one.point, POINT_KINDS)}"
        elif one.where is None and one.point not in kinds:
            yield place, f"{one.point}: nothing of that kind is open any more; the line can go"
        elif one.where is not None and (one.point, one.where) not in known:
            places = [where for kind, where in known if kind == one.point]
            yield place, f"{one.point}: nothing at {one.where}; {nearest(one.where, sorted(places))}"


def _lines(review: Record[Review] | None) -> Iterator[tuple[PointState, Answer, Source]]:
    if review is None:
        return
    for name, state in LISTS:
        items: Iterable[Answer] = getattr(review.it, name) or ()
        for index, one in enumerate(items):
            yield state, one, review.place(name, index)


def _unsigned(one: Answer) -> str | None:
    """What an answer lacks to count: words, initials, a day."""
    parts = (("answer or why", one.answer or one.why), ("by", one.by), ("date", one.date))
    missing = [name for name, value in parts if not value]
    return ", ".join(f"{name}:" for name in missing) or None


def _written(one: Answer, place: Source) -> Written:
    return Written(one.answer or one.why or "", one.by, one.date.day if one.date else None, place)
