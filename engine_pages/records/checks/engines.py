"""Checks of engines: each has its file and its family, its plan asks for something.

And of the names of files and folders, engines' above all: other computers must be able to keep them, side by side.
"""

import unicodedata
from collections.abc import Iterable, Iterator

from ..load import RECORD_ROOMS
from ..source import Problem, Source, doubt, error, nearest
from ..tree import shown, why_not_on_windows
from .checked import Checked


def check_engine_files(checked: Checked) -> Iterator[Problem]:
    """A folder under engines/ holds engine.yml: without it nobody knows which family's limits count."""
    folders = {path.split("/")[1] for path in checked.shop.tree.paths() if path.count("/") > 1 and _in_engines(path)}
    for name in sorted(folders):
        records = checked.shop.engines.get(name)
        path = f"engines/{name}/engine.yml"
        if (records is None or records.file is None) and path not in checked.shop.unread:
            yield error(Source(path, 1, 1), f"engine {name} has no engine.yml; write engine: {name} and family: …")


def check_families(checked: Checked) -> Iterator[Problem]:
    """An engine's family has a file: positions, dimensions and limits stand there."""
    for records in checked.engines():
        if records.file is None:
            continue
        family = records.file.it.family
        if family not in checked.shop.families and f"families/{family}.yml" not in checked.shop.unread:
            yield error(records.file.place("family"), no_family(family, checked.shop.families))


def no_family(name: str, families: Iterable[str]) -> str:
    """The message for a family that has no file, with what to write."""
    known = sorted(families)
    if not known:
        return f"family {name!r}: no family file is there yet; write families/{name}.yml"
    return f"family {name!r} has no file under families/; {nearest(name, known)}"


def check_plans(checked: Checked) -> Iterator[Problem]:
    """An event to come asks for hours, km, starts or runs: one that asks for nothing wears nothing.

    That an event has passed is no problem: a plan grows old by itself, and nobody has mistyped anything.
    """
    for records in checked.engines():
        if records.plan is None:
            continue
        for index, event in enumerate(records.plan.it.events or ()):
            amounts = (event.hours, event.minutes, event.km, event.starts, event.runs)
            if all(amount is None for amount in amounts):
                name = event.name or str(event.date)
                message = f"{name} asks for no hours, km, starts or runs, and counts as nothing"
                yield doubt(records.plan.place("events", index), message)


def check_alike(checked: Checked) -> Iterator[Problem]:
    """Two names that differ in capitals alone are one name to most computers, and one address in the site."""
    spelt: dict[str, str] = {}
    said = set()
    for path in _in_rooms(checked):
        steps = path.split("/")
        for depth in range(1, len(steps) + 1):
            name = "/".join(steps[:depth])
            first = spelt.setdefault(unicodedata.normalize("NFC", name).casefold(), name)
            if first != name:
                if name not in said:
                    said.add(name)
                    told = error if depth < len(steps) or name.casefold().endswith(".yml") else doubt
                    message = f"{name} differs from {first} in capitals or accents alone; other computers keep only one"
                    yield told(Source(path, 1, 1), message)
                break


def check_windows(checked: Checked) -> Iterator[Problem]:
    """A name that Windows does not take stops whoever clones the shop there; ids are names that the shop can choose."""
    for family in checked.families():
        if (why := why_not_on_windows(family.it.family)) is not None:
            yield error(family.place("family"), _no_name(family.it.family, why))
    for records in checked.engines():
        if (why := why_not_on_windows(records.id)) is not None:
            place = Source(f"engines/{records.id}", 1, 1) if records.file is None else records.file.place("engine")
            yield error(place, _no_name(records.id, why))
    said = set()
    for path in _in_rooms(checked):
        steps = path.split("/")
        known = 1 + (steps[0] == "engines" or path.endswith(".yml"))  # the name of a record, which is looked at as such
        for depth, step in enumerate(steps[known:], known + 1):
            name, why = "/".join(steps[:depth]), why_not_on_windows(step)
            if why is not None and name not in said:
                said.add(name)
                yield doubt(Source(path, 1, 1), _no_name(shown(step), why))


def _no_name(name: str, why: str) -> str:
    return f"{name} can be no file or folder on Windows: {why}"


def _in_rooms(checked: Checked) -> Iterator[str]:
    """All files where records lie, photos and all."""
    yield from (path for path in checked.shop.tree.paths() if path.split("/", 1)[0].lower() in RECORD_ROOMS)


def _in_engines(path: str) -> bool:
    return path.startswith("engines/")
