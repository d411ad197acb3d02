"""Checked records: a shop loaded, resolved and fitted once, with every problem found. History begins from here."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Final

from msgspec import Struct, field

from ..family import Family
from ..fitting import Fitting
from ..git import Repo
from ..load import EngineRecords, SheetRecord, Shop
from ..model import Record
from ..moments import DayOrder
from ..names import Names
from ..resolve import Resolved
from ..source import Problem


class Beyond(Struct, frozen=True):
    """Of a shop whose engines are not all read here, what the checks want of the others.

    `names`: those of the whole shop, these engines' too; None where nothing is beyond. `numbers`: sheets elsewhere by
    their number, the first of each as (day, path). `serials`: where a serial elsewhere is named first.
    """

    names: Names | None = None
    numbers: Mapping[str, tuple[date, str]] = field(default_factory=dict)
    serials: Mapping[str, str] = field(default_factory=dict)


NOTHING_BEYOND: Final = Beyond()


class Checked(Struct, frozen=True):
    """All that the checks and the history need of a shop. `resolved` by sheet path, `orders` by engine."""

    shop: Shop
    resolved: Mapping[str, Resolved]
    fitting: Fitting
    orders: Mapping[str, DayOrder]
    today: date
    repo: Repo | None
    problems: tuple[Problem, ...] = ()
    inbox: tuple[str, ...] = ()
    beyond: Beyond = NOTHING_BEYOND

    def engines(self) -> Iterator[EngineRecords]:
        """All engines by name."""
        yield from (self.shop.engines[name] for name in sorted(self.shop.engines))

    def sheets(self) -> Iterator[SheetRecord]:
        """All sheets, by engine and day."""
        for records in self.engines():
            yield from records.sheets

    def families(self) -> Iterator[Record[Family]]:
        """All families by name."""
        yield from (self.shop.families[name] for name in sorted(self.shop.families))

    def whole_family_of(self, engine: str) -> Family | None:
        """The family of an engine, where its file has no errors: only then can a name be said to stand nowhere."""
        records = self.shop.engines.get(engine)
        if records is None or records.file is None:
            return None
        record = self.shop.families.get(records.file.it.family)
        return record.it if record is not None and not record.broken else None

    def is_unread(self, folder: str) -> bool:
        """Whether anything in a folder (`engines/K-07/builds/`) could not be read, so that nothing is said missing."""
        return any(path.startswith(folder) for path in self.shop.unread)
