"""Every dimension of one part as a story: baselines opened by machining, limits moved by undersizes."""

from collections.abc import Sequence
from dataclasses import dataclass

from ..records.family import Dimension, Family, LimitLine, Range
from ..records.fitting import PartEntry
from ..records.moments import Moment
from ..records.quantity import Quantity
from ..records.resolve import sized_alone
from ..records.source import Source
from ..wear.limits import Limit
from .amounts import amount_in
from .book import Book, Reset, sheet_ref, size_of
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
    until = outlook.until
    points = [p for p in book.points.get(part.id, {}).get(subject.id, []) if p.moment <= until]
    if subject.form is not None and not points and subject.form.limit is None:
        return None  # worked out, never read: with no limit and no figures there is nothing to say
    life = book.lives.of(part.id)
    resets = book.machinings(part.id, subject.dimension_id, until)
    unit = family.exposure
    sizes = _sizes(family, life, part, subject, resets)
    baseline = _baseline(life, points, resets, unit)
    rows = [_dated(book, part, subject, point, sizes, unit) for point in points]
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
        now=book.lives.exposure(part.id, until).amount(unit),
        plan=outlook.plan,
        known_start=not baseline.unseen,
    )
    return dimension_story(frame, rows, baseline)


def _baseline(life: Life, points: Sequence[Point], resets: Sequence[Reset], unit: str) -> Baseline:
    """The present baseline: the last machining, else new, else (unknown life) the first reading."""
    if resets:
        starts = [reset.exposure for reset in resets]
        first = _first(points, unit) if life.unknown_before else 0.0
        return Baseline(
            number=len(resets),
            start=starts[-1].amount(unit),
            why=f"{resets[-1].why}, {resets[-1].source.line_text}",
            hours=starts[-1].hours,
            earlier=(first, *(start.amount(unit) for start in starts[:-1])),
        )
    if life.unknown_before:
        start = _first(points, unit) if points else None
        return Baseline(0, start, "life before unknown", unseen=True)
    return Baseline(0, 0.0, None)


def _first(points: Sequence[Point], unit: str) -> float:
    return points[0].exposure.amount(unit) if points else 0.0


def _dated(book: Book, part: PartEntry, subject: Subject, point: Point, sizes: Sequence[float], unit: str) -> Dated:
    exposure = point.exposure
    number = book.baseline_on(part.id, subject.dimension_id, point.sheet)
    return Dated(
        point.read, sheet_ref(point.sheet), point.slot, exposure.amount(unit), exposure.hours, number,
        _limit(subject, sizes[number]), None, _correction(point),
    )  # fmt: skip


def _correction(point: Point) -> str | None:
    """What stands beside a figure that was changed later: on the line of its place, or of its set."""
    lines = point.sheet.it.positions or {}
    written = [line for key in (point.slot, point.slot.split("/")[0]) if (line := lines.get(key)) is not None]
    texts = dict.fromkeys(text for line in written for text in line.correction or ())
    return "; ".join(texts) or None


def _sizes(family: Family, life: Life, part: PartEntry, subject: Subject, resets: Sequence[Reset]) -> list[float]:
    """How far from standard on each baseline, in the dimension's unit; a form has no size."""
    if subject.form is not None:
        return [0.0] * (len(resets) + 1)
    unit = subject.dimension.unit
    kind = family.kinds.get(part.kind)
    alone = kind is not None and sized_alone(kind) == subject.dimension_id
    first = size_of(part.file.it.size, subject.dimension_id, unit, alone=alone) if part.file else None
    if first is None and life.stays:
        first = size_of(life.stays[0].size, subject.dimension_id, unit, alone=alone)
    sizes = [first or 0.0]
    for reset in resets:
        sizes.append(reset.size if reset.size is not None else sizes[-1])
    return sizes


def _limit(subject: Subject, size: float) -> Limit | None:
    line = subject.form.limit if subject.form else subject.dimension.limit
    return limit_in(line, subject.dimension.unit, size)


def limit_in(line: LimitLine | None, unit: str, size: float = 0.0) -> Limit | None:
    """A written limit in a dimension's unit, moved by an undersize or oversize; None for one that cannot be read."""
    if line is None:
        return None
    low, high = (None if (end := amount_in(amount, unit)) is None else end + size for amount in (line.min, line.max))
    if (low is None and high is None) or (low is not None and high is not None and low > high):
        return None
    return Limit(low, high)


def _new(subject: Subject, size: float) -> tuple[float, float] | None:
    written = subject.form.new if subject.form else subject.dimension.new
    return range_in(written, subject.dimension.unit, size)


def range_in(written: Range | None, unit: str, size: float = 0.0) -> tuple[float, float] | None:
    """A written range of new parts in a dimension's unit, moved by an undersize or oversize."""
    low, high = (amount_in(amount, unit) for amount in written or (None, None))
    if low is None or high is None or low > high:
        return None
    return low + size, high + size


def new_of(book: Book, family: Family, part: PartEntry, dimension_id: str, number: int) -> tuple[float, float] | None:
    """The range of a new part's dimension on one of its baselines, in the dimension's own unit."""
    kind = family.kinds.get(part.kind)
    dimension = (kind.dimensions or {}).get(dimension_id) if kind else None
    if dimension is None:
        return None
    subject = Subject(dimension_id, dimension_id, dimension_id, dimension, None)
    sizes = _sizes(family, book.lives.of(part.id), part, subject, book.machinings(part.id, dimension_id)[:number])
    return _new(subject, sizes[-1])


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
