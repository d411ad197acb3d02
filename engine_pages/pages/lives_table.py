"""The lives of an engine's parts in one table: since new, in this engine, how long they may live, what was before.

In: an engine's story. Out: a table; parts of one kind that lived alike stand in one row.
"""

from engine_pages.history.story import EngineStory, PartStory, Stay
from engine_pages.pages.engine_map import serial_words
from engine_pages.pages.pieces import Column, Entry, Heading, Table
from engine_pages.pages.wear_words import amount_words, exposure_words
from engine_pages.pages.words import capital, count_words, small
from engine_pages.wear.exposure import Exposure, total

Life = tuple[str, str, str, str]


def lives_table(engine: EngineStory) -> Table | None:
    """What stands in the engine now, kind by kind."""
    rows: dict[tuple[str, Life], list[PartStory]] = {}
    for part in engine.parts:
        rows.setdefault((part.kind_name, _life(engine, part)), []).append(part)
    if not rows:
        return None
    columns = (Column("part"), Column("since new", "num"), Column("in this engine", "num"), Column("may live", "num"))
    told = tuple(_row(kind, life, parts) for (kind, life), parts in rows.items())
    return Table(Heading("lives", "Lives", count_words(len(engine.parts), "part")), columns, told)


def _life(engine: EngineStory, part: PartStory) -> Life:
    unit = engine.exposure_unit
    here = exposure_words(in_engine(part, engine.id), unit)
    rule = next((due for due in part.due if due.what == "replace" and unit in due.every), None)
    may = amount_words(rule.every[unit], unit) if rule is not None else "no interval written"
    return exposure_words(part.since_new, unit), here, may, _before(engine, part)


def in_engine(part: PartStory, engine: str) -> Exposure:
    """What a part went through in one engine."""
    return total(stay.exposure for stay in part.stays if stay.engine == engine)


def _before(engine: EngineStory, part: PartStory) -> str:
    if part.prior == "unknown":
        return "unknown before"
    elsewhere = [stay for stay in part.stays if stay.engine != engine.id]
    if elsewhere:
        return f"another engine, {exposure_words(total(stay.exposure for stay in elsewhere), engine.exposure_unit)}"
    first = _first(part)
    words = f"new at {small(first.fitted.label)}" if first is not None and first.fitted is not None else "from new"
    return f"taken as {words}" if part.taken_as_new and part.named else words


def _first(part: PartStory) -> Stay | None:
    return part.stays[0] if part.stays else None


def _row(kind: str, life: Life, parts: list[PartStory]) -> tuple[Entry, ...]:
    new, here, may, before = life
    name = parts[0].slot_name if len(parts) == 1 else f"{kind}, {len(parts)}"
    serials = [part.id for part in parts if part.named]
    return (
        Entry(capital(name), (*((serial_words(serials),) if serials else ()), before), strong=True),
        Entry(new),
        Entry(here),
        Entry(may),
    )
