"""Put a blank sheet into the shop's folder. Never overwrites: what is there stays."""

from datetime import date
from pathlib import Path

from ..history.tell import tell_one
from ..records.checks.checked import Checked
from ..records.schemas import file_name
from ..records.sheet import SheetKind
from .blank_places import Blank
from .blank_sheet import blank_sheet, next_number
from .new_shop import SCHEMAS, schema_line
from .on_disk import alone, put_new

PLACES: dict[SheetKind, str] = {
    "build": "builds/{}.yml",
    "inspection": "inspections/{}.yml",
    "teardown": "teardowns/{}/teardown.yml",
}


class SheetThereError(Exception):
    """A sheet of that kind and day is there already; the message says where."""


def write_blank(
    checked: Checked, folder: Path, kind: SheetKind, engine: str, day: date, *, again: bool = False
) -> Path:
    """Write a blank sheet and return its path. `again` writes a second one of the day beside the first.

    SheetThereError where the sheet is there already; KeyError for an engine without a family; OSError where the folder
    cannot be written, and nothing is then; BusyError, GitFailed.
    """
    story, _ = tell_one(checked, engine, day)  # what is dated later was not known on the sheet's day
    family = checked.shop.family_of(engine)
    assert family is not None  # the story was told of it
    labels = [sheet.it.sheet for sheet in checked.sheets() if sheet.kind == kind and sheet.it.sheet]
    gauges = tuple((checked.shop.file.it.instruments if checked.shop.file else None) or {})
    text = blank_sheet(Blank(story, family, kind, day, next_number(labels), checked.resolved, gauges))
    with alone(folder, commits=False) as aside:
        path = _free(folder / "engines" / engine, kind, day, again=again)
        name = path.relative_to(folder).as_posix()
        put_new(folder, aside, {name: f"{_schema(folder, name, kind)}{text}".encode()}, name)
    return path


def _schema(folder: Path, name: str, kind: SheetKind) -> str:
    """The line by which an editor finds the sheet's schema, where the shop has one."""
    there = (folder / SCHEMAS / file_name(kind)).is_file()
    return schema_line(name, kind) if there else ""


def _free(folder: Path, kind: SheetKind, day: date, *, again: bool) -> Path:
    """The path of a new sheet."""
    first = folder / PLACES[kind].format(day.isoformat())
    if not first.exists():
        return first
    if not again:
        raise SheetThereError(f"{first} is there already; for a second sheet of that day say --again")
    number = 2
    while (path := folder / PLACES[kind].format(f"{day.isoformat()}-{number}")).exists():
        number += 1
    return path
