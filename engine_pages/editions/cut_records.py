"""Records cut to what may leave the crew: a checked shop in, the same shop without a word that stays with the crew out.

The cut is made before anything is told, so that no figure, doubt or sentence can be worked out of what was cut away.
What the table does not name is gone, be it a field that is added tomorrow.
"""

from collections.abc import Callable
from decimal import Decimal
from typing import Any, Final, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from ..records.checks.all import check_shop, placed
from ..records.checks.checked import Checked
from ..records.engine import Prior
from ..records.fields import When
from ..records.load import EngineRecords, LogEntry, Shop
from ..records.measurement import Reading
from ..records.model import Model, Record
from ..records.quantity import Bracket, NotMeasurable, OneSided, Quantity
from ..records.sheet import Photo, TestRun
from .forbidden import Forbidden, photo_files
from .table import CLOSED, Reader, of_another, of_this_engine

M = TypeVar("M", bound=Model)
SIGNED: Final = "by"  # initials; whoever signs with anything else is not named outside the crew
PICTURE: Final = "picture"  # of the engine: a photo like any other
FIGURES: Final = (Quantity, Bracket, OneSided, NotMeasurable, When, Prior, Decimal, int, float, type(None))
GONE: Final = object()  # what an item of a list becomes that does not stay


class _Knife(Struct, frozen=True):
    """How one engine's records are cut: which fields stay, what becomes of free words, which photos go."""

    fields: Callable[[type[Model]], frozenset[str]]
    words: Callable[[str], str]
    initials: frozenset[str]
    is_crew_only: Callable[[str, Photo], bool]

    def record(self, record: Record[M]) -> Record[M]:
        return replace(record, it=self.model(record.it, record.path))

    def model(self, it: M, path: str) -> M:
        """The model with the fields that stay, and nothing in the others."""
        kept = self.fields(type(it))
        return it.model_copy(
            update={
                name: self.field(name, getattr(it, name), path) if name in kept else None
                for name in type(it).model_fields
            }
        )

    def field(self, name: str, value: Any, path: str) -> Any:
        if name == SIGNED:
            return value if value in self.initials else None
        if name == PICTURE and value is not None and self.is_crew_only(path, Photo(file=value)):
            return None
        return value if name in CLOSED else self.value(value, path)

    def value(self, value: Any, path: str) -> Any:
        """Words without what must not be read, figures as they are. TypeError for what nobody has thought of."""
        if isinstance(value, Photo) and self.is_crew_only(path, value):
            return GONE
        if isinstance(value, Model):
            return self.model(value, path)
        if isinstance(value, str):
            return self.words(value)
        if isinstance(value, dict):
            return {key: self.value(inner, path) for key, inner in value.items()}
        if isinstance(value, list | tuple):
            return type(value)(kept for inner in value if (kept := self.value(inner, path)) is not GONE)
        if isinstance(value, Reading):
            return replace(value, by=self.field(SIGNED, value.by, path))
        if isinstance(value, TestRun):
            about = {name: text for name, text in value.circumstances.items() if name != SIGNED}
            return TestRun(self.value(about, path), self.value(value.readings, path))
        if isinstance(value, FIGURES):
            return value
        raise TypeError(f"{type(value).__name__} is nothing that an edition knows how to cut")


def cut_records(checked: Checked, engine: str, reader: Reader, forbidden: Forbidden) -> Checked:
    """The shop as a reader of one engine may know it; all that is dated and measured counts as before.

    Doubts are those of the whole records that the cut ones show too: what is missing here may well be written.
    """
    shop = checked.shop
    initials = frozenset((shop.file.it.people or {}) if shop.file is not None else ())
    own = _Knife(of_this_engine, forbidden.blanked, initials, forbidden.is_crew_only)
    other = _Knife(of_another, str, initials, lambda _path, _photo: True)
    in_it = {stay.part.id for stay in checked.fitting.stays if stay.engine == engine}
    engines = {
        name: _engine(records, own, reader) if name == engine else _engine(records, other, None)
        for name, records in shop.engines.items()
    }
    cut = Shop(
        tree=shop.tree,
        file=_shop_file(own, shop),
        families=shop.families,
        parts={name: (own if name in in_it else other).record(part) for name, part in shop.parts.items()},
        engines=engines,
        unread=shop.unread,
    )
    rechecked, said = check_shop(cut, checked.today, checked.repo, checked.beyond), set(checked.problems)
    return replace(rechecked, problems=tuple(one for one in rechecked.problems if one in said), inbox=())


def photos_given(cut: Checked, engine: str) -> frozenset[tuple[str, str]]:
    """The photos that a reader has of one engine: of each its sheet's path and its file's name. `cut`: see above."""
    sheets = cut.shop.engines[engine].sheets
    return frozenset((sheet.path, file) for sheet in sheets for file in photo_files(sheet.it))


def cut_elsewhere(checked: Checked) -> Checked:
    """The shop as a reader of none of its engines may know it: figures, and no words. Nothing is checked anew."""
    shop = checked.shop
    initials = frozenset((shop.file.it.people or {}) if shop.file is not None else ())
    own = _Knife(of_this_engine, str, initials, lambda _path, _photo: True)
    other = _Knife(of_another, str, initials, lambda _path, _photo: True)
    cut = Shop(
        tree=shop.tree,
        file=_shop_file(own, shop),
        families=shop.families,
        parts={name: other.record(part) for name, part in shop.parts.items()},
        engines={name: _engine(records, other, None) for name, records in shop.engines.items()},
        unread=shop.unread,
    )
    return placed(cut, checked.today, checked.repo, checked.beyond)


def _engine(records: EngineRecords, knife: _Knife, reader: Reader | None) -> EngineRecords:
    """What is planned is the owner's, what was answered before a sale the buyer's; of another engine neither is."""
    plan = records.plan if reader == "owner" else None
    review = records.review if reader == "buyer" else None
    return EngineRecords(
        id=records.id,
        file=knife.record(records.file) if records.file is not None else None,
        plan=knife.record(plan) if plan is not None else None,
        review=knife.record(review) if review is not None else None,
        log=[_line(entry, knife) for entry in records.log],
        sheets=[replace(sheet, record=knife.record(sheet.record)) for sheet in records.sheets],
    )


def _line(entry: LogEntry, knife: _Knife) -> LogEntry:
    return replace(entry, line=knife.model(entry.line, entry.document.path))


def _shop_file(knife: _Knife, shop: Shop) -> Record[Any] | None:
    """The shop's name, units and gauges; of its people their initials, by which sheets are signed."""
    if shop.file is None:
        return None
    cut = knife.record(shop.file)
    initials = {name: name for name in shop.file.it.people or {}}
    return replace(cut, it=cut.it.model_copy(update={"people": initials or None}))
