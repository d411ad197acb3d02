"""Every photo that a shop's sheets declare, with what is needed to draw it.

In: the folder of a shop's records. Out: a list of `Shot`, in the order of engines, dates and lines. The sheets are
read as plain text values (no number, date or truth value is guessed), and only for what a picture shows: kind, view,
grades, serial.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path

import yaml
from msgspec import Struct, field

from engine_pages.demo.wording import seen, stage_of

Map = Mapping[str, object]


class Shot(Struct, frozen=True):
    """One photo: where it goes and what it shows; `number` counts the photos of its sheet."""

    path: Path
    kind: str
    view: str
    grades: Mapping[str, int]
    label: str
    seed: str
    grain: str
    taken: datetime
    number: int


class Sheet(Struct, frozen=True):
    """A build, inspection or teardown sheet and the folder of its photos."""

    date: str
    kind: str
    body: Map
    folder: Path


class Engine(Struct):
    """An engine's family and, while its sheets are read in order, which part stands where and since when."""

    name: str
    family: Map
    fitted: dict[str, str] = field(default_factory=dict)
    since: dict[str, str] = field(default_factory=dict)
    kept: set[str] = field(default_factory=set)


def shots_of(records: Path) -> list[Shot]:
    """All declared photos under `records`; raises ValueError where a sheet names an unknown family or position."""
    families = {path.stem: load(path) for path in sorted((records / "families").glob("*.yml"))}
    shots: list[Shot] = []
    for path in sorted((records / "engines").glob("*/engine.yml")):
        own = load(path)
        family = families.get(str(own.get("family")))
        if family is None:
            raise ValueError(f"{path}: no family {own.get('family')!r} under families/")
        engine = Engine(path.parent.name, family)
        sheets = _sheets(path.parent)
        shots += _picture(path, own, engine, sheets)
        for sheet in sheets:
            shots += _sheet_shots(engine, sheet)
    return shots


def load(path: Path) -> Map:
    """A YAML file as text values."""
    return as_map(yaml.load(path.read_text(encoding="utf-8-sig"), Loader=yaml.BaseLoader))


def as_map(node: object) -> Map:
    """The node if it is a map, else an empty one."""
    return node if isinstance(node, dict) else {}


def _sheets(folder: Path) -> list[Sheet]:
    """An engine's sheets by date; on one day a teardown comes before a build."""
    found = [
        Sheet(path.parent.name, "teardown", load(path), path.parent) for path in folder.glob("teardowns/*/teardown.yml")
    ]
    for kind in ("build", "inspection"):
        found += [Sheet(path.stem, kind, load(path), path.with_suffix("")) for path in folder.glob(f"{kind}s/*.yml")]
    order = ("inspection", "teardown", "build")
    return sorted(found, key=lambda sheet: (sheet.date[:10], order.index(sheet.kind), sheet.date))


def _picture(path: Path, own: Map, engine: Engine, sheets: list[Sheet]) -> list[Shot]:
    """The engine's own picture, taken on the day of its first sheet."""
    if "picture" not in own or not sheets:
        return []
    kind, taken = _engine_kind(engine), moment(sheets[0].date[:10])
    file = path.parent / str(own["picture"])
    return [Shot(file, kind, "side", {}, engine.name, f"{engine.name}|picture", "picture", taken, 0)]


def _engine_kind(engine: Engine) -> str:
    return "rotary engine" if engine.family.get("architecture") == "rotary" else "piston engine"


def _sheet_shots(engine: Engine, sheet: Sheet) -> list[Shot]:
    shots: list[Shot] = []
    for photo in _photos(sheet.body):
        stage = stage_of(str(photo.get("caption", "")))
        view = f"{photo.get('view', '')} {stage}".strip()
        number = sheet_number(engine, sheet) if "filter" in view else engine.name
        seed = f"{engine.name}|{sheet.date}"
        shots.append(_shot(sheet, photo, _engine_kind(engine), view, {}, number, seed, len(shots)))
    for place, entry in as_map(sheet.body.get("positions")).items():
        body = as_map(entry)
        _fit(engine, sheet, place, body)
        for photo in _photos(body):
            shots.append(_part_shot(engine, sheet, place, body, photo, len(shots)))
    return shots


def _photos(body: Map) -> Iterator[Map]:
    photos = body.get("photos")
    return (as_map(photo) for photo in (photos if isinstance(photos, list) else []) if as_map(photo).get("file"))


def _fit(engine: Engine, sheet: Sheet, place: str, body: Map) -> None:
    """Follow which part stands where: a serial names it; without one each build fits a new part, unless it was kept."""
    part = body.get("part")
    if sheet.kind == "build" and (part or place not in engine.kept):
        engine.fitted.pop(place, None)
        engine.since[place] = sheet.date
    if part:
        engine.fitted[place] = _serial(part)
    if sheet.kind == "teardown":
        (engine.kept.add if body.get("decision") == "reuse" else engine.kept.discard)(place)


def _serial(part: object) -> str:
    """A serial; of a set the first in full and of the others what follows the hyphen."""
    if not isinstance(part, dict):
        return str(part)
    first, *others = [str(serial) for serial in part.values()]
    return "/".join([first, *(serial.rpartition("-")[2] for serial in others)])


def _part_shot(engine: Engine, sheet: Sheet, place: str, body: Map, photo: Map, number: int) -> Shot:
    kind, members = _kind_of(engine, place)
    view = str(photo.get("view", ""))
    words = [str(photo.get("caption", "")), str(body.get("finding", ""))]
    grades = seen(as_map(body.get("observed")), as_map(body.get("measured")), words, members)
    label = engine.fitted.get(place, place.replace("-", " ").upper())
    seed = f"{label}|{view}" if place in engine.fitted else f"{engine.name}|{place}|{engine.since.get(place)}|{view}"
    if "filter" in view:
        label, seed = sheet_number(engine, sheet), f"{engine.name}|{sheet.date}|filter"
    return _shot(sheet, photo, kind, view, grades, label, seed, number)


def _kind_of(engine: Engine, place: str) -> tuple[str, list[str]]:
    """The kind of a position, the architecture before it on a rotary engine, and the members of a set."""
    positions = as_map(engine.family.get("positions"))
    base = place.partition("/")[0]
    if base not in positions:
        raise ValueError(f"{engine.name}: no position {place!r} in family {engine.family.get('family')!r}")
    entry = positions[base]
    kind = str(as_map(entry).get("kind", "")) if isinstance(entry, dict) else str(entry)
    names = as_map(entry).get("names")
    if as_map(as_map(engine.family.get("kinds")).get(kind)).get("whole") == "yes":
        kind = _engine_kind(engine)
    elif engine.family.get("architecture") == "rotary":
        kind = f"rotary {kind}"
    return kind, [str(name) for name in names] if isinstance(names, list) else []


def sheet_number(engine: Engine, sheet: Sheet) -> str:
    """The number on the sheet, which the card beside a filter carries."""
    return str(sheet.body.get("sheet", engine.name))


def _shot(
    sheet: Sheet, photo: Map, kind: str, view: str, grades: Mapping[str, int], label: str, seed: str, number: int
) -> Shot:
    file = str(photo["file"])
    taken = moment(str(photo.get("taken") or sheet.body.get("date") or sheet.date[:10]))
    return Shot(sheet.folder / file, kind, view, grades, label, seed, f"{sheet.folder.name}|{file}", taken, number)


def moment(text: str) -> datetime:
    """`2026-10-12 17:05`, or noon of `2026-10-12`.

    >>> moment("2026-10-12").isoformat()
    '2026-10-12T12:00:00'
    """
    return datetime.strptime(text if " " in text else f"{text} 12:00", "%Y-%m-%d %H:%M")
