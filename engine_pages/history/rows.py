"""A part's figures of one dimension as a row in order of time: machining opens baselines, undersizes move limits.

Readings of the book come in, out comes a `Row`: what is told of the part, and what its pool is fitted to.
"""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from ..records.family import Dimension, Family, LimitLine, Range
from ..records.fitting import PartEntry
from ..records.moments import Moment
from ..records.quantity import Quantity
from ..records.resolve import sized_alone
from ..wear.limits import Limit
from .amounts import amount_in
from .book import Book, Reset, sheet_ref, size_of
from .gathering import Point, Subject
from .lives import Life
from .plausible import far_off
from .series import Baseline, Dated

Span = tuple[float, float]


class Row(Struct, frozen=True):
    """One dimension of one part: its readings of all baselines, and for each baseline its limit and its new range."""

    subject: Subject
    dated: tuple[Dated, ...]
    baseline: Baseline
    limits: tuple[Limit | None, ...]
    news: tuple[Span | None, ...]
    sizes: tuple[float, ...]
    decimals: int

    @property
    def limit(self) -> Limit | None:
        """That of the present baseline."""
        return self.limits[self.baseline.number]

    @property
    def new(self) -> Span | None:
        """That of the present baseline."""
        return self.news[self.baseline.number]


def row_of(book: Book, family: Family, part: PartEntry, subject: Subject, until: Moment) -> Row:
    """All readings of one part's dimension until a moment."""
    points = [p for p in book.points.get(part.id, {}).get(subject.id, []) if p.moment <= until]
    life, unit = book.lives.of(part.id), family.exposure
    resets = book.machinings(part.id, subject.dimension_id, until)
    sizes = tuple(_sizes(family, life, part, subject, resets))
    row = Row(
        subject=subject,
        dated=(),
        baseline=_baseline(life, points, resets, unit),
        limits=tuple(limit_of(subject, size) for size in sizes),
        news=tuple(new_in(subject, size) for size in sizes),
        sizes=sizes,
        decimals=max((point.read.decimals for point in points), default=_decimals_of(subject.dimension)),
    )
    return replace(row, dated=tuple(_dated(book, row, part, point, unit) for point in points))


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


def _dated(book: Book, row: Row, part: PartEntry, point: Point, unit: str) -> Dated:
    exposure = point.exposure
    number = book.baseline_on(part.id, row.subject.dimension_id, point.sheet)
    new, limit = row.news[number], row.limits[number]
    raw = point.read.raw
    slipped = raw is not None and far_off(raw.value, new, limit, row.subject.wears)
    return Dated(
        point.read, sheet_ref(point.sheet), point.slot, exposure.amount(unit), exposure.hours, number,
        limit, None, _correction(point), slipped,
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


def limit_of(subject: Subject, size: float = 0.0) -> Limit | None:
    """A subject's limit, moved by an undersize or oversize."""
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


def new_in(subject: Subject, size: float = 0.0) -> Span | None:
    """A subject's range of new parts, moved by an undersize or oversize."""
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
    return new_in(subject, sizes[-1])


def _decimals_of(dimension: Dimension) -> int:
    written: list[Quantity] = [*(dimension.new or ())]
    if dimension.limit is not None:
        written += [q for q in (dimension.limit.min, dimension.limit.max) if q is not None]
    return max((q.decimals for q in written), default=3)
