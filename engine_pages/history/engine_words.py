"""What an engine's own records say beside its parts: identity, log, fluids, incidents, the family's limits."""

from collections.abc import Iterator
from datetime import date

from msgspec import Struct

from ..records.family import Dimension, Family, LimitLine, Range
from ..records.load import EngineRecords, SheetRecord
from ..records.moments import Moment
from ..records.quantity import Quantity
from ..records.resolve import fit_title, fit_unit
from ..records.shop import Instrument
from ..records.slots import kind_name, slots_of, title_of
from ..records.source import Source
from .book import Book, sheet_ref
from .story import EngineStory, FluidSpan, IncidentStory, LimitRow, LogStory, PhotoStory, SheetRef

FILLS = frozenset(("service", "change"))  # lines of the log on which a fluid's name says that it was filled in
LOG_WORDS = ("peak_rpm", "over_revs", "above_redline", "oil_pressure_min", "water_max", "counter_was", "counter")


def engine_identity(
    book: Book, records: EngineRecords, family: Family, present: frozenset[str], until: Moment
) -> EngineStory:
    """The engine's story with everything but its figures, as it stood at a moment."""
    shop = book.checked.shop
    assert records.file is not None
    it = records.file.it
    last_build, last_strip = (_last(book, records, kind, until) for kind in ("build", "teardown"))
    ledger = book.ledgers[records.id].ledger
    units = shop.file.it.units if shop.file else None
    instruments = shop.file.it.instruments if shop.file and shop.file.it.instruments else {}
    return EngineStory(
        id=records.id, name=it.name, family=family.family, family_name=family.name or title_of(family.family),
        architecture=family.architecture, rows=slots_of(family).rows, use=it.use, stamped=it.stamped,
        built_for=it.built_for, picture=_picture(records, present), state="not measured",
        as_of=date(1970, 1, 1), commit=None, uncommitted=(),
        confidence=0.9, exposure_unit=family.exposure, total=ledger.until(until),
        since_build=ledger.between(book.moment(last_build), until) if last_build else None,
        built=_ref(last_build), last_teardown=_ref(last_strip),
        assembled=last_build is not None and not _apart_since(book, records, family, last_build, until),
        parts=(), former_parts=(), fits=(),
        engine_map=(), shortlist=(), due=(), tests=(), sheets=(), log=(), fluids=(), incidents=(), plan=(), keep=None,
        gaps=(), limits=(), grades=_grades(family),
        instruments=tuple((key, gauge.name or key, _calibrated(gauge)) for key, gauge in instruments.items()),
        problems=(), units=((units.length if units and units.length else "mm"), units.also if units else None),
        people=dict(shop.file.it.people or {}) if shop.file else {},
    )  # fmt: skip


def _apart_since(book: Book, records: EngineRecords, family: Family, build: SheetRecord, until: Moment) -> bool:
    """Whether a whole strip came after the build, and it did not run since: else it was put back.

    A strip that opened a few places left the engine as it was.
    """
    whole = [sheet for sheet in records.sheets if sheet.kind == "teardown" and sheet.it.opened is None]
    after = [book.moment(sheet) for sheet in whole if book.nth[build.path] < book.nth[sheet.path]]
    strips = [moment for moment in after if moment <= until]
    if not strips:
        return False
    run = book.ledgers[records.id].ledger.between(max(strips), until)
    return run.amount(family.exposure) <= 0.0


def _calibrated(gauge: Instrument) -> str:
    return gauge.calibrated.day.isoformat() if gauge.calibrated else ""


def _ref(sheet: SheetRecord | None) -> SheetRef | None:
    return sheet_ref(sheet) if sheet is not None else None


def _last(book: Book, records: EngineRecords, kind: str, until: Moment) -> SheetRecord | None:
    """The last sheet of a kind, in the story's order: of two of one moment the second."""
    sheets = [sheet for sheet in records.sheets if sheet.kind == kind and book.moment(sheet) <= until]
    return max(sheets, key=lambda sheet: book.nth[sheet.path], default=None)


def _picture(records: EngineRecords, present: frozenset[str]) -> PhotoStory | None:
    assert records.file is not None
    name = records.file.it.picture
    if name is None:
        return None
    path = f"engines/{records.id}/{name}"
    source = records.file.place("picture")
    return PhotoStory(path, None, None, False, None, None, "Whole engine", 0, path in present, source)


def _grades(family: Family) -> tuple[tuple[str, tuple[tuple[int, str], ...]], ...]:
    return tuple(
        (name, tuple(sorted((int(grade), words) for grade, words in meanings.items() if grade.isdigit())))
        for name, meanings in (family.grades or {}).items()
    )


def log_stories(book: Book, records: EngineRecords, until: Moment) -> tuple[LogStory, ...]:
    """The log, oldest first, each line with the engine's hours after it."""
    ledger = book.ledgers[records.id]
    return tuple(
        LogStory(
            day=entry.line.date.day,
            clock=f"{entry.line.date.clock:%H:%M}" if entry.line.date.clock else None,
            kind=entry.line.kind,
            what=entry.line.what,
            exposure=exposure,
            total_hours=ledger.ledger.until(moment).hours,
            words=tuple(_log_words(entry.line)),
            fluids=tuple(entry.line.fluids.written().items()) if entry.line.fluids else (),
            note=entry.line.note or entry.line.why,
            source=entry.source,
        )
        for moment, entry, exposure in ledger.lines
        if moment <= until
    )


def _log_words(line: object) -> Iterator[tuple[str, str]]:
    for name in LOG_WORDS:
        value = getattr(line, name)
        if isinstance(value, Quantity):
            yield title_of(name).lower(), value.written
        elif value is not None:
            yield title_of(name).lower(), str(value)
    did = getattr(line, "did", None)
    if did:
        yield "did", ", ".join(did)


def fluid_spans(book: Book, records: EngineRecords, until: Moment) -> tuple[FluidSpan, ...]:
    """Which fluid was in from when to when, with the hours run on it."""
    changes: dict[str, list[tuple[Moment, str, Source]]] = {}
    for moment, fluids, source in sorted(fluid_lines(book, records), key=lambda item: item[0]):
        for fluid, name in fluids.items():
            known = changes.get(fluid, [])
            if moment <= until and (not known or known[-1][1] != name):
                changes.setdefault(fluid, []).append((moment, name, source))
    ledger = book.ledgers[records.id].ledger
    return tuple(
        FluidSpan(
            fluid, name, date.fromordinal(moment[0]), date.fromordinal(after[0]) if after else None,
            ledger.between(moment, after or until).hours, ledger.until(moment).hours, source,
        )
        for fluid, known in changes.items()
        for (moment, name, source), after in zip(known, [*(k[0] for k in known[1:]), None], strict=True)
    )  # fmt: skip


def fluid_lines(book: Book, records: EngineRecords) -> Iterator[tuple[Moment, dict[str, str], Source]]:
    """Every line of a sheet or the log that says what went in: when, the fluids by name, where it is written."""
    for sheet in records.sheets:
        if sheet.it.fluids is not None:
            yield book.moment(sheet), sheet.it.fluids.written(), sheet.record.place("fluids")
    for moment, entry, _ in book.ledgers[records.id].lines:
        if entry.line.fluids is not None:
            yield moment, entry.line.fluids.written(), entry.source


class Filling(Struct, frozen=True):
    """A fluid that went in fresh, and where that is written."""

    moment: Moment
    fluid: str
    source: Source


def fillings(book: Book, records: EngineRecords) -> tuple[Filling, ...]:
    """Every fresh filling, in order of time.

    Whoever names a fluid on a build, a service or a change has filled it in, though it be the same as before. Anywhere
    else (a run, an inspection, a strip) a name says what was in it: there only another name is a filling.
    """
    out, known = [], dict[str, str]()
    fresh = {sheet.record.place("fluids") for sheet in records.sheets if sheet.kind == "build"}
    fresh |= {entry.source for _, entry, _ in book.ledgers[records.id].lines if entry.line.kind in FILLS}
    for moment, fluids, source in sorted(fluid_lines(book, records), key=lambda line: line[0]):
        for fluid, name in fluids.items():
            if source in fresh or known.get(fluid, name) != name:
                out.append(Filling(moment, fluid, source))
            known[fluid] = name
    return tuple(out)


def incidents_of(book: Book, records: EngineRecords, until: Moment) -> tuple[IncidentStory, ...]:
    """Every incident of the log, and the first sheet after it."""
    ledger = book.ledgers[records.id]
    out = []
    for moment, entry, _ in ledger.lines:
        if entry.line.kind != "incident" or moment > until:
            continue
        after = [s for s in records.sheets if s.kind != "build" and moment < book.moment(s) <= until]
        first = min(after, key=book.moment, default=None)
        words = ", ".join(
            [*(f"{k} {v}" for k, v in _log_words(entry.line)), *([entry.line.note] if entry.line.note else [])]
        )
        what = entry.line.what or "other"
        out.append(
            IncidentStory(
                entry.line.date.day, what, words, ledger.ledger.until(moment).hours, _ref(first), entry.source
            )
        )
    return tuple(out)


def limit_rows(book: Book, family: Family) -> tuple[LimitRow, ...]:
    """Every limit of the family with where it comes from."""
    record = next(record for record in book.checked.shop.families.values() if record.it is family)
    rows = []
    for kind_id, kind in family.kinds.items():
        for name, dimension in (kind.dimensions or {}).items():
            place = record.place("kinds", kind_id, "dimensions", name)
            rows.append(_limit_row(kind_name(family, kind_id), dimension.name or title_of(name), dimension, place))
    for name, fit in (family.fits or {}).items():
        rows.append(
            LimitRow(
                "Fit",
                fit_title(family, name),
                fit_unit(family, name) or "mm",
                _range(fit.new),
                _limit(fit.limit),
                fit.source,
                record.place("fits", name),
            )
        )
    for name, rule in (family.tests or {}).items():
        rows.append(
            LimitRow(
                "Test",
                rule.name or title_of(name),
                rule.unit or "",
                "",
                _limit(rule.limit),
                rule.source,
                record.place("tests", name),
            )
        )
    return tuple(rows)


def _limit_row(kind: str, name: str, dimension: Dimension, place: Source) -> LimitRow:
    return LimitRow(kind, name, dimension.unit, _range(dimension.new), _limit(dimension.limit), dimension.source, place)


def _range(written: Range | None) -> str:
    return f"{written[0].written} to {written[1].written}" if written else ""


def _limit(line: LimitLine | None) -> str:
    if line is None:
        return ""
    ends = [f"min {line.min.written}" if line.min else "", f"max {line.max.written}" if line.max else ""]
    return ", ".join(end for end in ends if end)
