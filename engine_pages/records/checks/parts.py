"""Checks of parts: their files, their serials, their sizes, and the machining that is done to them."""

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

from ..family import Dimension, Family, Kind
from ..fields import wrong_kind
from ..fitting import Fitted, PartEntry
from ..ids import file_id
from ..load import SheetRecord
from ..model import Record
from ..quantity import Quantity
from ..resolve import sized_alone
from ..sheet import Work
from ..slots import Slots, slots_of
from ..source import Problem, Source, doubt, error, nearest, with_article
from ..tree import why_not_on_windows
from ..units import canonical, dimension_of
from .checked import Checked
from .engines import no_family


def check_part_files(checked: Checked) -> Iterator[Problem]:
    """A part's file is named by its serial, with '-' for what an id may not hold, so that it is found again."""
    for serial, record in sorted(checked.shop.parts.items()):
        name = record.path.rsplit("/", 1)[1].removesuffix(".yml")
        if name != file_id(serial):
            message = f"serial {serial} stands in {name}.yml; its file is named {file_id(serial)}.yml"
            yield error(record.place("serial"), message)


def check_windows(checked: Checked) -> Iterator[Problem]:
    """A serial names the part's page, and its file. It is the maker's, so that it is no error."""
    for serial, place in sorted(dict(_serial_places(checked)).items()):
        if (why := why_not_on_windows(file_id(serial))) is not None:
            yield doubt(place, f"serial {serial} can name no file or page on Windows: {why}")


def check_kinds(checked: Checked) -> Iterator[Problem]:
    """A part's kind stands in its family, or where it names none, in some family."""
    families = checked.shop.families
    for _, record in sorted(checked.shop.parts.items()):
        part, everywhere = record.it, list(chain.from_iterable(family.it.kinds for family in families.values()))
        if checked.is_unread("families/") or any(family.broken for family in families.values()):
            continue
        if part.family is not None and part.family not in families:
            yield error(record.place("family"), no_family(part.family, families))
            continue
        known = list(families[part.family].it.kinds) if part.family is not None else everywhere
        if part.kind not in known:
            where = f"family {part.family}" if part.family is not None else "any family"
            yield error(record.place("kind"), f"kind {part.kind!r} stands not in {where}; {nearest(part.kind, known)}")
        elif part.family is None and known.count(part.kind) > 1 and not _is_fitted(checked, part.serial):
            yield doubt(record.place("kind"), f"{part.kind} stands in several families; write family: beside it")


def check_sizes(checked: Checked) -> Iterator[Problem]:
    """An undersize or oversize is of a dimension that the part has, in a unit that fits it."""
    for serial, record in sorted(checked.shop.parts.items()):
        entry = checked.fitting.parts.get(serial)
        kind = _kind_of(checked, entry)
        if kind is not None:
            yield from _size_problems(record, ("size",), record.it.size, record.it.kind, kind.dimensions or {})
            yield from _nameless(record, ("size",), record.it.size, kind)
    for sheet in checked.sheets():
        family = checked.whole_family_of(sheet.engine)
        if family is None:
            continue
        for key, line in (sheet.it.positions or {}).items():
            slots = slots_of(family).named(key)
            kind = family.kinds.get(slots[0].kind) if slots else None
            if line is not None and line.size is not None and kind is not None:
                steps = ("positions", key, "size")
                yield from _size_problems(sheet.record, steps, line.size, slots[0].kind, kind.dimensions or {})
                yield from _nameless(sheet.record, steps, line.size, kind)


def check_put_back(checked: Checked) -> Iterator[Problem]:
    """A part that its strip decided to replace does not go in again; one that was retired is doubted by the fitting."""
    last: dict[str, Fitted] = {}
    for stay in checked.fitting.stays:
        before, sheet = last.get(stay.part.id), stay.fitted
        last[stay.part.id] = stay
        if before is None or before.decision != "replace" or before.removed is None or sheet is None:
            continue
        line = checked.resolved[sheet.path].lines.get(stay.slot.id)
        place = line.part_source if line is not None else None
        message = f"{stay.part.id} was to be replaced by the strip of {before.removed.day}, and is fitted again"
        yield doubt(place or sheet.record.place("positions"), f"{message} ({before.removed.path})")


def check_spelling(checked: Checked) -> Iterator[Problem]:
    """Two serials that differ in case alone are most likely one part, and some computers keep one file for both."""
    places = dict(_serial_places(checked))
    known: dict[str, Source | str] = {**checked.beyond.serials, **places}
    spelt: dict[str, str] = {}
    for serial in sorted(known):
        first = spelt.setdefault(serial.casefold(), serial)
        if first != serial and serial in places:
            yield doubt(places[serial], f"serial {serial} differs from {first} ({known[first]}) in case alone")


def check_work(checked: Checked) -> Iterator[Problem]:
    """Machining is done to a part that is known, on dimensions that it has: it opens a baseline for each."""
    for sheet in checked.sheets():
        family = checked.whole_family_of(sheet.engine)
        if family is None:
            continue
        for index, work in enumerate(sheet.it.work or ()):
            yield from _work_problems(checked, sheet, family, index, work)


def _work_problems(checked: Checked, sheet: SheetRecord, family: Family, index: int, work: Work) -> Iterator[Problem]:
    at = ("work", index)
    if work.part is None and work.position is None:
        yield error(sheet.record.place(*at), "work wants part: (a serial) or position:, so that it is known on what")
        return
    kind_name = ""
    if work.part is not None:
        entry = checked.fitting.parts.get(work.part)
        if (entry is None or not entry.named) and not (checked.is_unread("engines/") or checked.is_unread("parts/")):
            known = sorted(part.id for part in checked.fitting.parts.values() if part.named)
            message = f"part {work.part!r} stands nowhere in the records; {nearest(work.part, known)}"
            yield error(sheet.record.place(*at, "part"), message)
        kind_name, kind = (entry.kind if entry else ""), _kind_of(checked, entry)
    else:
        slots, position = slots_of(family), work.position or ""
        message_or_none = _position_problem(slots, position)
        if message_or_none is not None:
            yield error(sheet.record.place(*at, "position"), message_or_none)
        kind_name = slots.by_id[position].kind if position in slots.by_id else ""
        kind = family.kinds.get(kind_name)
    if kind is not None:
        yield from _worked_dimensions(sheet, at, work, kind_name, kind)


def _position_problem(slots: Slots, position: str) -> str | None:
    if position in slots.by_id:
        return None
    if position in slots.by_position:
        members = ", ".join(slot.id for slot in slots.by_position[position])
        return f"{position} is a set; write one line for each member: {members}"
    return f"position {position!r} stands nowhere in the family; {nearest(position, slots.by_id)}"


def _worked_dimensions(
    sheet: SheetRecord, at: tuple[str | int, ...], work: Work, kind_name: str, kind: Kind
) -> Iterator[Problem]:
    known = kind.dimensions or {}
    for index, name in enumerate(work.dimensions or ()):
        if name not in known:
            message = f"{with_article(kind_name)} has no dimension {name!r}; {nearest(name, known)}"
            yield error(sheet.record.place(*at, "dimensions", index), message)
    if isinstance(work.size, Quantity) and not work.dimensions:
        yield doubt(sheet.record.place(*at, "size"), "a size with no dimensions: beside it counts for none")
    else:
        named = {name: known[name] for name in work.dimensions or () if name in known} or known
        yield from _size_problems(sheet.record, (*at, "size"), work.size, kind_name, named)


def _size_problems(
    record: Record[Any], steps: tuple[str | int, ...], size: object, kind_name: str, known: dict[str, Dimension]
) -> Iterator[Problem]:
    """Each amount of a size beside its dimension; one amount alone stands beside all that it may be of."""
    if isinstance(size, Quantity):
        units = [unit for dimension in known.values() if (unit := canonical(dimension.unit))]
        if units and not any(_fits(size, unit) for unit in units):
            yield error(record.place(*steps), wrong_kind(size, dimension_of(units[0])))
        return
    for name, amount in size.items() if isinstance(size, dict) else ():
        if name not in known:
            message = f"{with_article(kind_name)} has no dimension {name!r}; {nearest(name, known)}"
            yield error(record.document.key_place(*steps, name), message)
        elif (unit := canonical(known[name].unit)) and not _fits(amount, unit):
            yield error(record.place(*steps, name), wrong_kind(amount, dimension_of(unit)))


def _nameless(record: Record[Any], steps: tuple[str | int, ...], size: object, kind: Kind) -> Iterator[Problem]:
    """One amount that may be of several dimensions is of none."""
    if isinstance(size, Quantity) and sized_alone(kind) is None:
        names = ", ".join(kind.dimensions or {}) or "none are written"
        message = f"which dimension is {size.written} of? It counts for none; write {{name: {size.written}}}"
        yield doubt(record.place(*steps), f"{message}, with one of: {names}")


def _fits(amount: Quantity, unit: str) -> bool:
    return amount.unit is None or dimension_of(amount.unit) == dimension_of(unit)


def _kind_of(checked: Checked, entry: PartEntry | None) -> Kind | None:
    family = checked.shop.families.get(entry.family) if entry is not None else None
    if entry is None or family is None or family.broken:
        return None
    return family.it.kinds.get(entry.kind)


def _is_fitted(checked: Checked, serial: str) -> bool:
    return any(stay.part.id == serial for stay in checked.fitting.stays)


def serial_places(checked: Checked) -> dict[str, Source]:
    """Where each serial is named first: in its own file, else on the first sheet that names it."""
    return dict(_serial_places(checked))


def _serial_places(checked: Checked) -> Iterable[tuple[str, Source]]:
    """Every serial with the place that names it first: its own file's, else a sheet's."""
    for sheet in reversed(list(checked.sheets())):
        resolved = checked.resolved.get(sheet.path)
        for line in resolved.lines.values() if resolved else ():
            if line.part is not None and line.part_source is not None:
                yield line.part, line.part_source
    for serial, record in checked.shop.parts.items():
        yield serial, record.place("serial")
