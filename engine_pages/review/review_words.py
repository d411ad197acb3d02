"""A review in words for a terminal, and as plain data for JSON."""

from collections.abc import Iterator
from itertools import groupby
from typing import Any, Final

from ..history.told_review import Judged, Point, PointState, ReviewStory, Written
from ..records.source import Source, printable
from .point_kinds import POINT_KINDS

NOT_WRITTEN = "not written"
_SETTLED: Final[tuple[tuple[PointState, str], ...]] = (
    ("answered", "Answered"),
    ("left out", "Left out of the buyer's edition"),
)


def review_text(review: ReviewStory) -> str:
    """Facts first, then the points that are open by kind, then what was answered; ends without a newline."""
    lines = [f"{printable(review.engine)}: before a sale, as of {review.as_of}", "", *_facts(review)]
    open_points = review.in_state("open")
    lines += ["", f"{_count(len(open_points), 'point')} open"]
    for kind, points in groupby(open_points, key=lambda one: one.point.kind):
        about = POINT_KINDS[kind]
        here = list(points)
        lines += ["", f"{about.title}: {about.why}."]
        for one in here:
            lines += [f"  {_place(one.point.source)}{printable(one.point.what)}"]
        settle = dict.fromkeys(one.point.settle or about.settle for one in here)
        lines += [f"  To settle: {'; '.join(settle)}. Or answer in review.yml:"]
        lines += [f"    {answer_line(one.point)}" for one in here]
    for state, title in _SETTLED:
        told = review.in_state(state)
        lines += ["", title, *(line for one in told for line in _settled(one))] if told else []
    if review.unmatched:
        lines += ["", "In review.yml, and settles nothing"]
        lines += [f"  {_place(source)}{printable(what)}" for source, what in review.unmatched]
    return "\n".join(lines)


def _facts(review: ReviewStory) -> Iterator[str]:
    for fact in review.facts:
        yield f"{fact.question}:"
        yield from (f"  {printable(line)}" for line in fact.lines or (NOT_WRITTEN,))


def _settled(one: Judged) -> Iterator[str]:
    yield f"  {one.point.kind}: {_place(one.point.source)}{printable(one.point.what)}"
    if one.written is not None:
        yield f"    {printable(written_words(one.written))}"


def written_words(written: Written) -> str:
    """An answer with its signature: `“same bore gauge as October” (RK, 2026-11-02)`."""
    return f"“{written.text}” ({written.by}, {written.day})"


def _place(source: Source | None) -> str:
    return f"{source.line_text}  " if source is not None else ""


def answer_line(point: Point) -> str:
    """The line under `answers:` in review.yml that answers a point, with what is to be filled in.

    >>> answer_line(Point("unsigned", "builds/2026-03-07.yml", "Nobody signed it.", None))
    '- {point: unsigned, where: builds/2026-03-07.yml, answer: …, by: …, date: …}'
    """
    return f"- {{point: {point.kind}, where: {_typed(point.where)}, answer: …, by: …, date: …}}"


def _typed(where: str) -> str:
    """As YAML reads it inside braces: what holds a comma stands in quotes."""
    return f'"{where}"' if "," in where else where


def _count(number: int, thing: str) -> str:
    return f"{number or 'no'} {thing}{'' if number == 1 else 's'}"


def review_figures(review: ReviewStory) -> dict[str, Any]:
    """Names are kept from release to release."""
    return {
        "engine": review.engine,
        "as_of": review.as_of.isoformat(),
        "ready": review.is_ready,
        "facts": [{"question": fact.question, "lines": list(fact.lines)} for fact in review.facts],
        "points": [_point(one) for one in review.points],
        "settles_nothing": [{"source": source.line_text, "what": what} for source, what in review.unmatched],
    }


def _point(one: Judged) -> dict[str, Any]:
    point, about = one.point, POINT_KINDS[one.point.kind]
    told: dict[str, Any] = {
        "point": point.kind,
        "where": point.where,
        "what": point.what,
        "source": point.source.line_text if point.source is not None else None,
        "why": about.why,
        "settle": point.settle or about.settle,
        "state": one.state,
    }
    if one.written is not None:
        day = one.written.day.isoformat() if one.written.day is not None else None
        told |= {"answer": one.written.text, "by": one.written.by, "date": day}
    return told
