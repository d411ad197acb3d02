"""Each engine's ledger: its log lines as exposures, and the counter where the log does not reach.

Where both log and counter stand, the log counts, and a disagreement beyond half the counter's last digit at both ends
plus half a minute a line is a doubt. Where no run is logged between two counter readings, or a run without its hours,
their difference serves, "from the counter".
"""

from collections.abc import Iterator
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from ..records.load import EngineRecords, LogEntry
from ..records.log import LogLine
from ..records.moments import DayOrder, Moment
from ..records.quantity import Quantity
from ..records.source import Problem, Source, doubt
from ..wear.exposure import Exposure, Ledger
from .amounts import amount_in, hours_in

RUNS_BACKWARD = "the counter runs backward"  # how its doubt begins
HALF_MINUTE = 0.5 / 60  # hours; minutes are written whole
COUNTED_BY_HAND = frozenset(("km", "starts", "runs"))  # a counter counts hours alone


class CounterReading(Struct, frozen=True):
    """The engine's own counter at a moment, in hours; `fresh` after a new counter was fitted."""

    moment: Moment
    hours: float
    last_digit: float
    source: Source
    fresh: bool


class EngineLedger(Struct):
    """One engine's exposure over time, and what was odd about it. `from_counter` lists stretches without a log.

    `openings` are its builds and strips; `uncertain` marks where hours cannot be given to the parts that ran them.
    """

    ledger: Ledger
    lines: list[tuple[Moment, LogEntry, Exposure]] = field(default_factory=list)
    from_counter: list[tuple[Moment, Exposure, Source]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    openings: list[tuple[Moment, str]] = field(default_factory=list)
    uncertain: list[tuple[Moment, Exposure]] = field(default_factory=list)


def exposure_of(line: LogLine, unit: str = "hours") -> Exposure:
    """What one log line adds. A run that lacks the exposure which the family reckons in leaves it "at least"."""
    is_run = line.kind == "run"
    written = {"hours": line.hours or line.minutes, "km": line.km, "starts": line.starts}
    lacking = frozenset(name for name, amount in written.items() if is_run and amount is None)
    return Exposure(
        hours=hours_in(line.hours, line.minutes),
        km=amount_in(line.km, "km") or 0.0,
        starts=float(line.starts or 0),
        runs=float(line.runs if line.runs is not None else is_run),
        over_revs=float(line.over_revs or 0),
        above_redline=amount_in(line.above_redline, "s") or 0.0,
        at_least=unit in lacking,
        unwritten=lacking - {unit},
    )


def ledger_of(records: EngineRecords, order: DayOrder, unit: str = "hours") -> EngineLedger:
    """The ledger of one engine whose family reckons in `unit`, the counter filling in where no run is written."""
    lines = [(order.of_log(e.line.date, e.index), e, exposure_of(e.line, unit)) for e in records.log]
    lines.sort(key=lambda line: line[0])
    out = EngineLedger(Ledger([]), lines)
    out.openings = sorted((order.of_sheet(s), s.kind) for s in records.sheets if s.kind != "inspection")
    readings = sorted(_counters(records, order), key=lambda reading: reading.moment)
    for first, second in pairwise(readings):
        if not second.fresh:
            _compare(out, first, second, unit)
    rows = [(moment, exposure) for moment, _, exposure in out.lines]
    counted = [(moment, exposure) for moment, exposure, _ in out.from_counter]
    out.ledger = Ledger([*rows, *counted, *out.uncertain])
    return out


def _counters(records: EngineRecords, order: DayOrder) -> Iterator[CounterReading]:
    """Every counter reading; of a new counter, what the old one said stands before what the new one says."""
    for sheet in records.sheets:
        if sheet.it.counter is not None:
            yield _reading(order.of_sheet(sheet), sheet.it.counter, sheet.record.place("counter"))
    for entry in records.log:
        line, moment = entry.line, order.of_log(entry.line.date, entry.index)
        if line.counter_was is not None:
            yield _reading(moment, line.counter_was, entry.document.place(entry.index, "counter_was"))
        if line.counter is not None:
            place = entry.document.place(entry.index, "counter")
            yield _reading(moment, line.counter, place, fresh=line.counter_was is not None)


def _reading(moment: Moment, counter: Quantity, source: Source, *, fresh: bool = False) -> CounterReading:
    last_digit = Quantity(counter.last_digit, counter.unit, "", counter.decimals)
    hours, step = (amount_in(amount, "h") or 0.0 for amount in (counter, last_digit))
    return CounterReading(moment, hours, step, source, fresh)


def _compare(out: EngineLedger, first: CounterReading, second: CounterReading, unit: str) -> None:
    between = [n for n, line in enumerate(out.lines) if first.moment < line[0] <= second.moment]
    runs = [n for n in between if out.lines[n][1].line.kind == "run" or out.lines[n][2].hours > 0]
    logged = sum(out.lines[n][2].hours for n in between)
    by_counter = second.hours - first.hours
    if by_counter < 0:
        message = f"{RUNS_BACKWARD}: {second.hours:g} h after {first.hours:g} h ({first.source.line_text})"
        out.problems.append(
            doubt(second.source, message + "; write a new counter as {kind: change, counter_was: …, counter: …}")
        )
        return
    # each of the two readings is rounded, so half a digit counts at both ends
    allowed = (first.last_digit + second.last_digit) / 2 + HALF_MINUTE * len(runs) + 1e-9
    silent = [n for n in runs if out.lines[n][1].line.hours is None and out.lines[n][1].line.minutes is None]
    if (silent or not runs) and by_counter >= logged - allowed:
        _fill(out, first, second, max(by_counter - logged, 0.0), silent, unit)
    elif abs(by_counter - logged) > allowed:
        counter = f"the counter says {by_counter:.2f} h since {first.source.line_text}"
        message = f"{counter}, the log {logged:.2f} h; the log counts"
        out.problems.append(doubt(second.source, message))


def _fill(
    out: EngineLedger, first: CounterReading, second: CounterReading, hours: float, silent: list[int], unit: str
) -> None:
    """The counter's hours where the log has none; of km and starts that nobody wrote the counter knows nothing.

    Where the engine was opened between the two readings, they were run before the strip if it was not built since;
    else nobody knows how many of them were run before it and how many after: the engine has them, and its parts' own
    hours are "at least", with a doubt.
    """
    strips = [moment for moment, kind in out.openings if kind == "teardown" and first.moment < moment <= second.moment]
    builds = [moment for moment, kind in out.openings if kind == "build" and first.moment < moment < second.moment]
    split = bool(strips) and any(build > strips[0] for build in builds) and second.moment not in strips
    moment = min(strips, default=second.moment)
    if hours > 0 and split:
        apart = (moment[0], moment[1], moment[2] + 1)  # after the strip: in the engine's sum, in no part's
        out.from_counter.append((apart, Exposure(hours=hours), second.source))
        out.uncertain += [(moment, Exposure(at_least=True)), (second.moment, Exposure(at_least=True))]
        message = f"{hours:.1f} h by the counter since {first.source.line_text}, and the engine was opened between"
        out.problems.append(doubt(second.source, message + "; whose hours they are is not known: write the runs"))
        return
    if hours > 0:
        unknown = unit != "hours" and not silent
        lacking = frozenset() if silent else COUNTED_BY_HAND - {unit}
        out.from_counter.append((moment, Exposure(hours=hours, at_least=unknown, unwritten=lacking), second.source))
    for n in silent:
        moment, entry, exposure = out.lines[n]
        known = replace(exposure, unwritten=exposure.unwritten - {"hours"})
        out.lines[n] = moment, entry, replace(known, at_least=False) if unit == "hours" else known
