"""Every dimension of one part as a story: its row of figures, and what its like over the whole shop say of it."""

from msgspec import Struct

from ..records.family import Family
from ..records.fitting import PartEntry
from ..records.moments import Moment
from ..records.source import Source
from .book import Book
from .gathering import Subject, subjects_of
from .pools import Pools
from .rows import row_of
from .series import Frame, dimension_story
from .story import DimensionStory


class Outlook(Struct, frozen=True):
    """What the shop and the plan ask of every row of figures."""

    confidence: float
    keep: float | None
    plan: float
    until: Moment
    pools: Pools


def dimensions_of(book: Book, family: Family, part: PartEntry, outlook: Outlook) -> tuple[DimensionStory, ...]:
    """All rows of figures of one part, measured or not, in the family's order."""
    kind = family.kinds.get(part.kind)
    if kind is None:
        return ()
    return tuple(
        story for subject in subjects_of(kind) if (story := _one(book, family, part, subject, outlook)) is not None
    )


def _one(book: Book, family: Family, part: PartEntry, subject: Subject, outlook: Outlook) -> DimensionStory | None:
    row = row_of(book, family, part, subject, outlook.until)
    if subject.form is not None and not row.dated and row.limit is None:
        return None  # worked out, never read: with no limit and no figures there is nothing to say
    frame = Frame(
        id=subject.id,
        name=subject.name,
        unit=subject.dimension.unit,
        decimals=row.decimals,
        limit=row.limit,
        limit_source=subject.form.source if subject.form else subject.dimension.source,
        limit_where=limit_place(book, family, part.kind, subject),
        new=row.new,
        wears=subject.wears,
        confidence=outlook.confidence,
        keep=outlook.keep,
        exposure_unit=family.exposure,
        now=book.lives.exposure(part.id, outlook.until).amount(family.exposure),
        plan=outlook.plan,
    )
    pool = outlook.pools.of_part(family, part, subject)
    return dimension_story(
        frame, row.dated, row.baseline, pool.wear_of((part.id, subject.id), row.baseline.number, frame)
    )


def limit_place(book: Book, family: Family, kind: str, subject: Subject) -> Source | None:
    """Where a limit is written in its family's file."""
    record = book.checked.shop.families.get(family.family)
    if record is None:
        return None
    steps: tuple[str, ...] = ("kinds", kind, "dimensions", subject.dimension_id)
    if subject.form is not None:
        steps = (*steps, subject.id.rsplit(".", 1)[1])
    return record.place(*steps)
