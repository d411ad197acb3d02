"""The engine map: kinds of part down, rows (rotors or cylinders, front to back) across; the whole engine spans."""

from collections.abc import Sequence

from ..records.family import Family
from ..records.slots import Slot, kind_name, slots_of
from .story import FitStory, MapCell, MapRow, PartStory


def map_of(family: Family, parts: Sequence[PartStory], fits: Sequence[FitStory]) -> tuple[MapRow, ...]:
    """One row a kind, in the family's order; kinds that belong to the whole engine last."""
    by_slot = {part.slot: part for part in parts}
    kinds: dict[tuple[str, bool], list[Slot]] = {}
    for slot in slots_of(family).by_id.values():
        kinds.setdefault((slot.kind, slot.row is None), []).append(slot)
    rows = [_row(family, kind, spans, slots, by_slot, slots_of(family).rows) for (kind, spans), slots in kinds.items()]
    return (*(r for r in rows if not r.spans), *(r for r in rows if r.spans), *_fit_rows(fits, slots_of(family).rows))


def _row(
    family: Family, kind: str, spans: bool, slots: Sequence[Slot], by_slot: dict[str, PartStory], rows: int
) -> MapRow:
    numbers: Sequence[int | None] = [None] if spans else range(1, rows + 1)
    cells = tuple(
        MapCell(number, tuple(by_slot[slot.id] for slot in slots if slot.row == number and slot.id in by_slot))
        for number in numbers
    )
    name = next((d.name for cell in cells for part in cell.parts if (d := part.worst) is not None), None)
    return MapRow(kind, kind_name(family, kind), name, cells, spans)


def _fit_rows(fits: Sequence[FitStory], rows: int) -> tuple[MapRow, ...]:
    """Clearances of one name, across the rows."""
    names: dict[str, list[FitStory]] = {}
    for fit in fits:
        if fit.row is not None:
            names.setdefault(fit.name, []).append(fit)
    return tuple(
        MapRow(
            f"fit:{name}",
            name,
            None,
            tuple(MapCell(n, (), tuple(f for f in same if f.row == n)) for n in range(1, rows + 1)),
            False,
        )
        for name, same in names.items()
    )
