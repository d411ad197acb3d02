"""Known gaps: what nobody measured, looked at, wrote or sourced, each with the place where it would be written."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from ..records.family import Family, Kind
from ..records.load import EngineRecords
from ..records.moments import Moment
from ..records.slots import slots_of, title_of
from ..records.source import Problem, Source
from .book import Book
from .engine_words import limit_rows
from .lives import LAST
from .season_words import in_sets, sets_of
from .story import DimensionStory, FitStory, Gap, LimitRow, LogStory, PartStory, SheetStory
from .unjudged import never_read, no_limit

LEAST_COUNTED = 0.05  # hours; less is not shown, and nothing but the counter's last digit


def gaps_of(
    book: Book, family: Family, records: EngineRecords, parts: tuple[PartStory, ...], fits: tuple[FitStory, ...],
    sheets: tuple[SheetStory, ...], problems: tuple[Problem, ...], until: Moment = LAST,
) -> Iterator[Gap]:  # fmt: skip
    """Everything that is not known of an engine at a moment, in the order in which a builder would settle it."""
    for problem in problems:
        if problem.level == "doubt":
            yield Gap(problem.message, "doubt", problem.source)
    yield from _of_places(family, records, parts)
    yield from _of_parts(family, parts)
    yield from _differing(parts)
    for fit in fits:
        if fit.dimension.limit is not None and fit.dimension.state == "not measured":
            yield Gap(
                f"{fit.title}: clearance not measured since this pair stands together",
                "not measured",
                fit.dimension.limit_where,
            )
    yield from _unjudged(parts, limit_rows(book, family))
    for sheet in sheets:
        yield from _of_sheet(sheet)
    yield from _of_log(book, records, until)


def _unjudged(parts: tuple[PartStory, ...], rows: Sequence[LimitRow]) -> Iterator[Gap]:
    """What has no limit: in one line all of it, and kind by kind what was never measured either."""
    for _, what, place in never_read(parts, rows):
        yield Gap(what, "not measured", place)
    bare = no_limit(parts, rows)
    if bare is not None:
        yield Gap(bare[0], "no limit", bare[1])


def _of_places(family: Family, records: EngineRecords, parts: tuple[PartStory, ...]) -> Iterator[Gap]:
    """Places of the family that no sheet says anything of: nobody knows what is in them."""
    known = {part.slot for part in parts}
    empty = [
        position
        for position, slots in slots_of(family).by_position.items()
        if not any(slot.id in known for slot in slots) and not family.kinds.get(slots[0].kind, Kind()).whole
    ]
    if empty:
        names = ", ".join(title_of(position).lower() for position in empty)
        place = records.file.place("family") if records.file else None
        what = f"nothing is written of {names}: what stands there, and how it is, is not known"
        yield Gap(what, "not measured", place)


def _of_log(book: Book, records: EngineRecords, until: Moment) -> Iterator[Gap]:
    ledger = book.ledgers[records.id]
    for moment, exposure, source in ledger.from_counter:
        if moment <= until:
            yield Gap(
                f"{exposure.hours:.1f} h are known from the counter alone; the log does not say them", "log", source
            )
    short = [entry for moment, entry, exposure in ledger.lines if exposure.at_least and moment <= until]
    if short:
        family = book.checked.shop.family_of(records.id)
        unit = family.exposure if family else "hours"
        count = "one run" if len(short) == 1 else f"{len(short)} runs"
        yield Gap(f"no {unit} are written for {count}; every sum over them is at least", "log", short[0].source)
    if not any(sheet.kind == "build" and book.moment(sheet) <= until for sheet in records.sheets):
        place = records.file.place("engine") if records.file else None
        yield Gap("no build sheet is written: what was fitted, and when, is not known", "other", place)


def hours_without_a_run(log: Sequence[LogStory], total: float) -> tuple[float, ...]:
    """Hours (h) in the engine's sum that no line of its log accounts for: the counter alone shows them.

    log: its lines, the oldest first; total: the engine's hours now. One amount a line, of the time since the line
    before it, and a last one of the time since the last line; 0 where the log accounts for all.
    """
    after = [0.0, *(line.total_hours or 0.0 for line in log), total]
    logged = [*(line.exposure.hours for line in log), 0.0]
    counted = (now - before - run for (before, now), run in zip(pairwise(after), logged, strict=True))
    return tuple(hours if hours >= LEAST_COUNTED else 0.0 for hours in counted)


def _of_parts(family: Family, parts: Sequence[PartStory]) -> Iterator[Gap]:
    sets: dict[str, list[PartStory]] = {}
    for part in parts:
        sets.setdefault(part.slot.partition("/")[0], []).append(part)
    for members in sets.values():
        for part in members:
            kind = family.kinds.get(part.kind)
            if kind is None or not kind.whole:  # what is assembled as a whole has no serial and no life before
                yield from _of_identity(kind, part, part.spoken_of)
        yield from _of_set(members) if len(members) > 1 else _of_readings(members[0])


def _of_readings(part: PartStory) -> Iterator[Gap]:
    """Dimensions with a limit that nobody measured."""
    for dimension in part.not_measured:
        what = f"{part.slot_name}: {_called(dimension)} not measured{dimension.since_words}"
        yield Gap(what, "not measured", dimension.limit_where)


def _of_set(members: Sequence[PartStory]) -> Iterator[Gap]:
    """The same of a set, in one line: how much of it is measured, and what is missing of which members."""
    missing = [(part, dimension) for part in members for dimension in part.not_measured]
    if not missing:
        return
    judged = [dimension for part in members for dimension in part.dimensions if dimension.limit is not None]
    of: dict[tuple[str, str], list[str]] = {}
    for part, dimension in missing:
        of.setdefault((_called(dimension), dimension.since_words), []).append(part.slot.partition("/")[2])
    said = [f"{called} of {_who(here, len(members))}{since}" for (called, since), here in of.items()]
    name = sets_of(members)[0][0]
    measured = f"{len(judged) - len(missing) or 'none'} of {len(judged)} measured"
    yield Gap(f"{name}: {measured}; missing {'; '.join(said)}", "not measured", missing[0][1].limit_where)


def _called(dimension: DimensionStory) -> str:
    return dimension.name.lower()


def _who(here: Sequence[str], of: int) -> str:
    """Members by their names, or all of them at once.

    >>> _who(["a2"], 3), _who(["a1", "a2", "a3"], 4), _who(["a1", "a2", "a3"], 3)
    ('a2', 'a1, a2 and a3', 'all 3')
    """
    if len(here) == of:
        return f"all {of}"
    return " and ".join(filter(None, [", ".join(here[:-1]), here[-1]]))


def _differing(parts: Sequence[PartStory]) -> Iterator[Gap]:
    """Where the builder and the limits differ; members of a set of which the same holds are one line."""
    alike: dict[tuple[str, str], list[PartStory]] = {}
    for part in parts:
        if part.differs:
            alike.setdefault((part.slot.partition("/")[0], part.differs), []).append(part)
    for (_, said), here in alike.items():
        for name in in_sets([part.slot_name for part in here], sets_of(parts)):
            yield Gap(f"{name}: {said}", "differs", here[0].spoken_of)


def _of_identity(kind: Kind | None, part: PartStory, place: Source | None) -> Iterator[Gap]:
    if kind is not None and kind.serial and not part.named:
        yield Gap(f"{part.slot_name}: a serial is expected and none is written", "no serial", place)
    if part.prior == "unknown":
        yield Gap(
            f"{part.slot_name}, {part.id}: life before is unknown; every figure is at least",
            "unknown life",
            part.source or place,
        )
    if part.taken_as_new and part.named and part.source is None:
        where = part.stays[0].fitted if part.stays else None
        fitted = f" by {where.label}" if where else ""
        yield Gap(
            f"{part.slot_name}, {part.id}: no origin is written; taken as new when fitted{fitted}",
            "unknown life",
            place,
        )


def _of_sheet(sheet: SheetStory) -> Iterator[Gap]:
    unnamed = [reading for reading in sheet.gauged if reading.instrument is None]
    if unnamed:
        count = "one reading" if len(unnamed) == 1 else f"{len(unnamed)} readings"
        yield Gap(
            f"{sheet.ref.label}: no gauge is named for {count}; the uncertainty is assumed",
            "no gauge",
            unnamed[0].source,
        )
    if sheet.ref.kind == "teardown":
        undecided = [f for f in sheet.found if f.decision is None and not f.whole]
        if undecided:
            names = ", ".join(f.slot_name for f in undecided[:4]) + (" …" if len(undecided) > 4 else "")
            yield Gap(f"{sheet.ref.label}: no decision is written for {names}", "no decision", undecided[0].source)
    for test in sheet.tests:
        if test.not_corrected:
            said = f"{sheet.ref.label}: {test.name.lower()} as read, {test.not_corrected}"
            yield Gap(said, "other", test.source)
