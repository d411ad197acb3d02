"""Read a whole shop: a tree of files in, every record with its place out, and every problem found on the way."""

import datetime
import re
from collections.abc import Callable, Iterator
from types import MappingProxyType
from typing import Any

from msgspec import Struct, field

from .engine import EngineFile, PartFile, Plan, Review
from .family import Family
from .fields import When
from .ids import ALLOWED, file_id, is_id
from .log import LogLine
from .model import Record, read_model
from .sheet import LOOKED_AT, Sheet, SheetKind
from .shop import Shares, ShopFile
from .slips import meant_path, without_copy_mark
from .source import Problem, Source, doubt, error
from .tree import Commit, Folder, NoFile, Tree
from .yaml_text import MAX_BYTES, Document, read_document, too_large

SHEET_FOLDERS: MappingProxyType[str, SheetKind] = MappingProxyType(
    {"builds": "build", "inspections": "inspection", "teardowns": "teardown"}
)
RECORD_ROOMS = ("families", "parts", "engines")  # only here a stray .yml file is likely a misspelt record
NOT_RECORDS = ("notes/", "site/", "inbox/", "mkdocs.yml")

_FAMILY = re.compile(r"families/([^/]+)\.yml")
_PART = re.compile(r"parts/([^/]+)\.yml")
_ENGINE = re.compile(r"engines/([^/]+)/(engine|plan|review)\.yml")
_LOG = re.compile(r"engines/([^/]+)/log(?:\.yml|/[^/]+\.yml)")
_SHEET = re.compile(r"engines/([^/]+)/(?:(builds|inspections)/([^/]+)\.yml|(teardowns)/([^/]+)/teardown\.yml)")
_STEPS_TO_PHOTOS = 4  # engines, the engine, the kind of sheet, the folder beside one sheet
_LAB = re.compile(r"engines/([^/]+)/lab/[^/]+\.yml")
_KINDS = (("log", _LOG), ("part", _PART), ("family", _FAMILY))
_LIKE_A_RECORD = re.compile(r"\.ya?ml([~.][^/]*)?$", re.IGNORECASE)  # also what an editor or a merge leaves beside it
_SHEET_NAME = re.compile(r"(\d{4}-\d{2}-\d{2})(?:-(\d{1,2}))?", re.ASCII)

_SHEET_NUMBERS = frozenset(str(number) for number in range(2, 100))  # of one day; the first has none


class SheetRecord(Struct, frozen=True):
    """A sheet with its engine, its kind and the name of its file or folder (`2026-10-12`, `2026-10-12-2`)."""

    kind: SheetKind
    engine: str
    name: str
    record: Record[Sheet]

    @property
    def it(self) -> Sheet:
        return self.record.it

    @property
    def path(self) -> str:
        return self.record.path

    @property
    def date(self) -> When:
        return self.record.it.date

    @property
    def day(self) -> datetime.date:
        return self.record.it.date.day

    @property
    def photo_folder(self) -> str:
        """Where the sheet's photos lie."""
        return photo_folder(self.kind, self.path)


def photo_folder(kind: SheetKind, path: str) -> str:
    """Where the photos of a sheet lie: beside a teardown sheet, in a folder of a build's or inspection's own name.

    >>> photo_folder("build", "engines/K-07/builds/2026-10-31.yml")
    'engines/K-07/builds/2026-10-31'
    """
    return path.rsplit("/", 1)[0] if kind == "teardown" else path.removesuffix(".yml")


def sheet_beside(path: str) -> str | None:
    """Where the sheet stands in whose photo folder a file lies; None for a file in no such folder.

    >>> sheet_beside("engines/K-07/builds/2026-10-31/stand.jpg"), sheet_beside("engines/K-07/builds/2026-10-31.yml")
    ('engines/K-07/builds/2026-10-31.yml', None)
    """
    steps = path.split("/")
    if len(steps) <= _STEPS_TO_PHOTOS:
        return None
    folder = "/".join(steps[:_STEPS_TO_PHOTOS])
    sheet = next((one for one in (f"{folder}.yml", f"{folder}/teardown.yml") if place_of_sheet(one)), None)
    return sheet if sheet != path else None


def place_of_sheet(path: str) -> tuple[str, SheetKind, str] | None:
    """Engine, kind, and the name of the file or folder, of a path where a sheet stands; None for any other path.

    >>> place_of_sheet("engines/K-07/teardowns/2026-10-12/teardown.yml"), place_of_sheet("shop.yml")
    (('K-07', 'teardown', '2026-10-12'), None)
    """
    match = _SHEET.fullmatch(path)
    if match is None:
        return None
    return match[1], SHEET_FOLDERS[match[2] or match[4]], match[3] or match[5]


def record_kind(path: str) -> str | None:
    """What kind of record is read from a path; None where none is.

    >>> record_kind("engines/K-07/log.yml"), record_kind("engines/K-07/builds/2026-10-31.yml"), record_kind("a.yml")
    ('log', 'build', None)
    """
    place = place_of_sheet(path)
    if place is not None:
        return place[1]
    if path in ("shop.yml", "shares.yml"):
        return path.removesuffix(".yml")
    match = _ENGINE.fullmatch(path)
    if match is not None:
        return match[2]
    return next((kind for kind, pattern in _KINDS if pattern.fullmatch(path)), None)


class LogEntry(Struct, frozen=True):
    """One line of a log with its place. Where `broken`, what is wrong with it has been left out of `line`."""

    line: LogLine
    source: Source
    document: Document
    index: int
    broken: bool = False


class EngineRecords(Struct):
    """All that is written of one engine."""

    id: str
    file: Record[EngineFile] | None = None
    plan: Record[Plan] | None = None
    review: Record[Review] | None = None
    log: list[LogEntry] = field(default_factory=list)
    sheets: list[SheetRecord] = field(default_factory=list)


class Shop(Struct):
    """A shop as written. `problems` holds what the reading found; the checks of `checks/` add to it.

    `unread` are the paths of record files of which nothing could be read, so that nobody says they are missing.
    """

    tree: Tree
    file: Record[ShopFile] | None = None
    shares: Record[Shares] | None = None
    families: dict[str, Record[Family]] = field(default_factory=dict)
    parts: dict[str, Record[PartFile]] = field(default_factory=dict)
    engines: dict[str, EngineRecords] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)

    def family_of(self, engine: str) -> Family | None:
        """The family of an engine, where both are written."""
        records = self.engines.get(engine)
        if records is None or records.file is None:
            return None
        family = self.families.get(records.file.it.family)
        return family.it if family else None


def load_shop(tree: Tree) -> Shop:
    """Read every record of a tree. Nothing is raised for what stands in a file: it becomes a problem."""
    shop = Shop(tree)
    for path in tree.paths():
        if path.startswith(NOT_RECORDS):
            continue
        reader = _reader_of(path)
        if reader is not None:
            _read_file(shop, path, reader)
        else:
            shop.problems.extend(_stray(tree, path))
    shop.problems.extend(_left_out(shop))
    for records in shop.engines.values():
        records.sheets.sort(key=lambda sheet: (sheet.day, sheet.kind, len(sheet.name), sheet.name))
    return shop


def _read_file(shop: Shop, path: str, reader: Callable[[Shop, str, Document], None]) -> None:
    try:
        size = shop.tree.size(path)
        raw = shop.tree.read(path) if size <= MAX_BYTES else b""
    except NoFile as bad:
        document, problems = Document(path, None), [error(Source(path, 1, 1), str(bad))]
    else:
        document, problems = (
            read_document(path, raw) if size <= MAX_BYTES else (Document(path, None), [too_large(path, size)])
        )
    shop.problems.extend(problems)
    if document.data is not None or not problems:
        reader(shop, path, document)
    else:
        shop.unread.add(path)


def _left_out(shop: Shop) -> Iterator[Problem]:
    """What lies where records lie and is not read: a link, a folder that cannot be opened, a name that is no text."""
    if not isinstance(shop.tree, Folder | Commit):
        return
    for left in shop.tree.left_out():
        if _reader_of(left.path) is not None:
            shop.unread.add(left.path)
            yield error(Source(left.path, 1, 1), f"not read: {left.why}")
        elif left.path.split("/", 1)[0] in RECORD_ROOMS:
            is_folder = "." not in left.path.rsplit("/", 1)[-1]  # records may lie in it: what it hides is not known
            told = error if is_folder else doubt
            yield told(Source(left.path, 1, 1), f"not read: {left.why}")


def _reader_of(path: str) -> Callable[[Shop, str, Document], None] | None:
    if path == "shop.yml":
        return _read_shop
    if path == "shares.yml":
        return _read_shares
    for pattern, reader in _READERS:
        if pattern.fullmatch(path):
            return reader
    return None


def _stray(tree: Tree, path: str) -> Iterator[Problem]:
    """A .yml that no rule of the folder reads is most likely a misspelt name; other files are the shop's own."""
    if not _LIKE_A_RECORD.search(path) or _LAB.fullmatch(path):
        return
    room, meant = path.split("/", 1)[0].lower(), meant_path(path)
    if meant is None and (room in RECORD_ROOMS or "/" not in path):
        yield doubt(Source(path, 1, 1), "no record is read from this place; see the folder's layout for its name")
    elif meant in tree.paths():
        message = f"no record is read from this place; if it is a copy of {meant}, keep it outside the records"
        yield doubt(Source(path, 1, 1), message)
    elif meant is not None:
        yield doubt(Source(path, 1, 1), f"no record is read from this place; did you mean {meant}?")


def _keep(shop: Shop, model: type[Any], document: Document) -> Record[Any] | None:
    it, problems = read_model(model, document, document.data)
    shop.problems.extend(problems)
    if it is None:
        shop.unread.add(document.path)
        return None
    return Record(it, document, broken=bool(problems))


def _read_shop(shop: Shop, _path: str, document: Document) -> None:
    shop.file = _keep(shop, ShopFile, document)


def _read_shares(shop: Shop, _path: str, document: Document) -> None:
    shop.shares = _keep(shop, Shares, document)


def _read_family(shop: Shop, path: str, document: Document) -> None:
    record = _keep(shop, Family, document)
    if record is None:
        return
    name = path.rsplit("/", 1)[1][:-4]
    if record.it.family != name:
        shop.problems.append(
            error(record.place("family"), f"family {record.it.family} stands in a file named {name}.yml")
        )
    shop.families[name] = record


def _read_part(shop: Shop, _path: str, document: Document) -> None:
    record = _keep(shop, PartFile, document)
    if record is None:
        return
    first = shop.parts.setdefault(record.it.serial, record)
    if first is not record:  # the file that bears the serial's name is the part's
        one, other = (first, record) if _bears_its_serial(first) else (record, first)
        shop.parts[record.it.serial] = one
        message = f"part {one.it.serial} has a file already: {one.path}"
        shop.problems.append(error(other.place("serial"), message))


def _bears_its_serial(record: Record[PartFile]) -> bool:
    return record.path == f"parts/{file_id(record.it.serial)}.yml"


def _engine(shop: Shop, path: str) -> EngineRecords:
    name = path.split("/")[1]
    if name not in shop.engines:
        shop.engines[name] = EngineRecords(name)
        if not is_id(name):
            shop.problems.append(error(Source(path, 1, 1), f"the folder {name!r} is no id; an id has {ALLOWED}"))
    return shop.engines[name]


def _read_engine_file(shop: Shop, path: str, document: Document) -> None:
    records = _engine(shop, path)
    which = path.rsplit("/", 1)[1]
    if which == "engine.yml":
        records.file = _keep(shop, EngineFile, document)
        if records.file is not None and records.file.it.engine != records.id:
            _disagrees(shop, records.file, "engine", records.file.it.engine, records.id)
    elif which == "plan.yml":
        records.plan = _keep(shop, Plan, document)
    else:
        records.review = _keep(shop, Review, document)


def _read_log(shop: Shop, path: str, document: Document) -> None:
    records = _engine(shop, path)
    if document.data is None:
        return
    original = f"{without_copy_mark(path.removesuffix('.yml'))}.yml"
    if original != path and original in shop.tree.paths():
        message = f"it looks like a copy of {original}, and every line in it counts; take it away, or give it a name"
        shop.problems.append(doubt(Source(path, 1, 1), message))
    if not isinstance(document.data, list):
        shop.unread.add(path)
        shop.problems.append(error(document.place(), "a log is a list: one `- {date: …, kind: …}` a line"))
        return
    for index, item in enumerate(document.data):
        line, problems = read_model(LogLine, document, item, index)
        shop.problems.extend(problems)
        if line is not None:
            records.log.append(LogEntry(line, document.place(index), document, index, broken=bool(problems)))


def _read_sheet(shop: Shop, path: str, document: Document) -> None:
    records = _engine(shop, path)
    place = place_of_sheet(path)
    assert place is not None  # its pattern led here
    _, kind, name = place
    record = _keep(shop, Sheet, document)
    if record is None:
        return
    sheet = SheetRecord(kind, records.id, name, record)
    if record.it.engine != records.id:
        _disagrees(shop, record, "engine", record.it.engine, records.id)
    named = _SHEET_NAME.fullmatch(name)
    if named is None:
        original = without_copy_mark(name)
        copied = f"; if it is a copy of {original}, take it away" if original != name else ""
        message = f"{name!r} is no sheet's name; write its date, 2026-03-07 or 2026-03-07-2{copied}"
        shop.problems.append(error(Source(path, 1, 1), message))
    elif named[1] != record.it.date.day.isoformat():
        _disagrees(shop, record, "date", str(record.it.date), named[1])
    elif named[2] is not None and named[2] not in _SHEET_NUMBERS:
        meant = _numbered(shop.tree, path, named[1], int(named[2]))
        message = f"{name} counts as a sheet of its own; if it is no copy, name it {meant}"
        shop.problems.append(doubt(Source(path, 1, 1), message))
    if not record.it.model_fields_set.intersection(LOOKED_AT):  # a key with nothing after it is a blank sheet's
        shop.problems.append(error(record.place(), "a sheet wants positions, fits or tests"))
    records.sheets.append(sheet)


def _numbered(tree: Tree, path: str, day: str, number: int) -> str:
    """The name of a sheet with an odd number: the day's first where there is none, else the next that is free."""
    folder, taken = path.split(f"/{day}")[0], tree.paths()
    for name in ([day] if number < 2 else []) + [f"{day}-{free}" for free in range(max(number, 2), 100)]:
        if not {f"{folder}/{name}.yml", f"{folder}/{name}/teardown.yml"} & set(taken):
            return name
    return f"{day}-{number}"


def _disagrees(shop: Shop, record: Record[Any], key: str, written: str, folder: str) -> None:
    shop.problems.append(error(record.place(key), f"{key} {written} does not agree with the folder, {folder}"))


_READERS: tuple[tuple[re.Pattern[str], Callable[[Shop, str, Document], None]], ...] = (
    (_SHEET, _read_sheet),
    (_PART, _read_part),
    (_LOG, _read_log),
    (_ENGINE, _read_engine_file),
    (_FAMILY, _read_family),
)
