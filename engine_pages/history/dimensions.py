"""Every dimension of one part as a story: baselines opened by machining, limits moved by undersizes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..records.family import Dimension, Family, LimitLine, Range
from ..records.fitting import PartEntry
from ..records.moments import Moment
from ..records.quantity import Quantity, in_unit
from ..records.source import Source
from ..wear.limits import Limit
from .book import READING_RANK, Book, Reset, sheet_ref, size_of
from .gathering import Point, Subject, subjects_of
from .lives import Life
from .series import Baseline, Dated, Frame, dimension_story
from .story import DimensionStory


@dataclass(frozen=True, slots=True)
class Outlook:
    """What the shop and the plan ask of every row of figures."""

    confidence: float
    keep: float | None
    plan: float
    until: Moment


def dimensions_of(book: Book, family: Family, part: PartEntry, outlook: Outlook) -> tuple[DimensionStory, ...]:
    """All rows of figures of one part, measured or not, in the family's order."""
    kind = family.kinds.get(part.kind)
    if kind is None:
        return ()
    return tuple(
        story for subject in subjects_of(kind) if (story := _one(book, family, part, subject, outlook)) is not None
    )


def _one(book: Book, family: Family, part: PartEntry, subject: Subject, outlook: Outlook) -> DimensionStory | None:
    points = book.points.get(part.id, {}).get(subject.id, [])
    if subject.form is not None and not points and subject.form.limit is None:
        return None  # worked out, never read: with no limit and no figures there is nothing to say
    life = book.lives.of(part.id)
    resets = book.resets.get(part.id, {}).get(subject.dimension_id, [])
    unit = family.exposure
    sizes = _sizes(life, part, subject, resets)
    baseline = _baseline(book, life, points, resets, unit)
    rows = [_dated(book, part, subject, point, resets, sizes, unit) for point in points]
    decimals = max((point.read.decimals for point in points), default=_decimals_of(subject.dimension))
    frame = Frame(
        id=subject.id,
        name=subject.name,
        unit=subject.dimension.unit,
        decimals=decimals,
        limit=_limit(subject, sizes[baseline.number]),
        limit_source=subject.form.source if subject.form else subject.dimension.source,
        limit_where=limit_place(book, family, part.kind, subject),
        new=_new(subject, sizes[baseline.number]),
        wears=subject.wears,
        confidence=outlook.confidence,
        keep=outlook.keep,
        exposure_unit=unit,
        now=book.lives.exposure(part.id, outlook.until).amount(unit),
        plan=outlook.plan,
        known_start=not life.unknown_before or baseline.number > 0,
    )
    return dimension_story(frame, rows, baseline)


def _baseline(book: Book, life: Life, points: Sequence[Point], resets: Sequence[Reset], unit: str) -> Baseline:
    """The present baseline: the last machining, else new, else (unknown life) the first reading."""
    if resets:
        last = resets[-1]
        start = book.lives.exposure(life.part.id, last.moment).amount(unit)
        return Baseline(len(resets), start, f"{last.why}, {last.source.line_text}")
    if life.unknown_before:
        if not points:
            return Baseline(0, None, "life before unknown")
        start = book.lives.exposure(life.part.id, points[0].moment).amount(unit)
        return Baseline(0, start, "life before unknown")
    return Baseline(0, 0.0, None)


def _number(point_moment: Moment, resets: Sequence[Reset]) -> int:
    return sum((reset.moment, reset.rank) < (point_moment, READING_RANK) for reset in resets)


def _dated(
    book: Book,
    part: PartEntry,
    subject: Subject,
    point: Point,
    resets: Sequence[Reset],
    sizes: Sequence[float],
    unit: str,
) -> Dated:
    exposure = book.lives.exposure(part.id, point.moment)
    number = _number(point.moment, resets)
    line = (point.sheet.it.positions or {}).get(point.slot) or (point.sheet.it.positions or {}).get(
        point.slot.split("/")[0]
    )
    correction = "; ".join(line.correction) if line is not None and line.correction else None
    return Dated(
        point.read, sheet_ref(point.sheet), point.slot, exposure.amount(unit), exposure.hours, number,
        _limit(subject, sizes[number]), None, correction,
    )  # fmt: skip


def _sizes(life: Life, part: PartEntry, subject: Subject, resets: Sequence[Reset]) -> list[float]:
    """How far from standard on each baseline, in the dimension's unit; a form has no size."""
    if subject.form is not None:
        return [0.0] * (len(resets) + 1)
    unit = subject.dimension.unit
    first = size_of(part.file.it.size, subject.dimension_id, unit) if part.file else None
    if first is None and life.stays:
        first = size_of(life.stays[0].size, subject.dimension_id, unit)
    sizes = [first or 0.0]
    for reset in resets:
        sizes.append(reset.size if reset.size is not None else sizes[-1])
    return sizes


def _limit(subject: Subject, size: float) -> Limit | None:
    line = subject.form.limit if subject.form else subject.dimension.limit
    return limit_in(line, subject.dimension.unit, size)


def limit_in(line: LimitLine | None, unit: str, size: float = 0.0) -> Limit | None:
    """A written limit in a dimension's unit, moved by an undersize or oversize."""
    if line is None or (line.min is None and line.max is None):
        return None
    return Limit(_moved(line.min, unit, size), _moved(line.max, unit, size))


def _moved(amount: Quantity | None, unit: str, size: float) -> float | None:
    return float(in_unit(amount, unit, unit)) + size if amount is not None else None


def _new(subject: Subject, size: float) -> tuple[float, float] | None:
    written = subject.form.new if subject.form else subject.dimension.new
    return range_in(written, subject.dimension.unit, size)


def range_in(written: Range | None, unit: str, size: float = 0.0) -> tuple[float, float] | None:
    """A written range of new parts in a dimension's unit, moved by an undersize or oversize."""
    if written is None:
        return None
    low, high = (float(in_unit(q, unit, unit)) + size for q in written)
    return low, high


def _decimals_of(dimension: Dimension) -> int:
    written: list[Quantity] = [*(dimension.new or ())]
    if dimension.limit is not None:
        written += [q for q in (dimension.limit.min, dimension.limit.max) if q is not None]
    return max((q.decimals for q in written), default=3)


def limit_place(book: Book, family: Family, kind: str, subject: Subject) -> Source | None:
    """Where a limit is written in its family's file."""
    record = book.checked.shop.families.get(family.family)
    if record is None:
        return None
    steps: tuple[str, ...] = ("kinds", kind, "dimensions", subject.dimension_id)
    if subject.form is not None:
        steps = (*steps, subject.id.rsplit(".", 1)[1])
    return record.place(*steps)


def limited(stories: Sequence[DimensionStory]) -> Iterator[DimensionStory]:
    """Those that a limit is written for: they alone can stop an engine."""
    return (story for story in stories if story.limit is not None)
