"""Each engine's ledger: its log lines as exposures, and the counter where the log does not reach.

Where both log and counter stand, the log counts, and a disagreement beyond half the counter's last digit at both ends
plus half a minute a line is a doubt. Where no run is logged between two counter readings, their difference serves,
"from the counter".
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise

from ..records.load import EngineRecords, LogEntry
from ..records.log import LogLine
from ..records.moments import DayOrder, Moment
from ..records.quantity import Quantity, in_unit
from ..records.source import Problem, Source, doubt
from ..wear.exposure import Exposure, Ledger

HALF_MINUTE = 0.5 / 60  # hours; minutes are written whole


@dataclass(frozen=True, slots=True)
class CounterReading:
    """The engine's own counter at a moment, in hours; `fresh` after a new counter was fitted."""

    moment: Moment
    hours: float
    last_digit: float
    source: Source
    fresh: bool


@dataclass(slots=True)
class EngineLedger:
    """One engine's exposure over time, and what was odd about it. `from_counter` lists stretches without a log."""

    ledger: Ledger
    lines: list[tuple[Moment, LogEntry, Exposure]] = field(default_factory=list)
    from_counter: list[tuple[Moment, Exposure, Source]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def exposure_of(line: LogLine) -> Exposure:
    """What one log line adds. A run with neither hours nor minutes leaves the hours "at least"."""
    hours = _hours(line.hours, "h") + _hours(line.minutes, "min")
    is_run = line.kind == "run"
    return Exposure(
        hours=hours,
        km=float(in_unit(line.km, "km", "km")) if line.km else 0.0,
        starts=float(line.starts or 0),
        runs=float(line.runs if line.runs is not None else is_run),
        over_revs=float(line.over_revs or 0),
        above_redline=float(in_unit(line.above_redline, "s", "s")) if line.above_redline else 0.0,
        at_least=is_run and line.hours is None and line.minutes is None,
    )


def _hours(amount: Quantity | None, unit: str) -> float:
    return float(in_unit(amount, "h", unit)) if amount is not None else 0.0


def ledger_of(records: EngineRecords, order: DayOrder) -> EngineLedger:
    """The ledger of one engine, the counter filling in where no run is written."""
    lines = [(order.of_log(e.line.date, e.index), e, exposure_of(e.line)) for e in records.log]
    lines.sort(key=lambda line: line[0])
    out = EngineLedger(Ledger([]), lines)
    readings = sorted(_counters(records, order), key=lambda reading: reading.moment)
    for first, second in pairwise(readings):
        if not second.fresh:
            _compare(out, first, second)
    rows = [(moment, exposure) for moment, _, exposure in lines]
    out.ledger = Ledger([*rows, *((moment, exposure) for moment, exposure, _ in out.from_counter)])
    return out


def _counters(records: EngineRecords, order: DayOrder) -> Iterator[CounterReading]:
    for sheet in records.sheets:
        if sheet.it.counter is not None:
            yield _reading(order.of_sheet(sheet), sheet.it.counter, sheet.record.place("counter"))
    for entry in records.log:
        line, moment = entry.line, order.of_log(entry.line.date, entry.index)
        place = entry.document.place(entry.index, "counter")
        if line.counter_was is not None:
            yield _reading(moment, line.counter_was, entry.document.place(entry.index, "counter_was"))
            moment = (moment[0], moment[1], moment[2] + 1)
        if line.counter is not None:
            yield _reading(moment, line.counter, place, fresh=line.counter_was is not None)


def _reading(moment: Moment, counter: Quantity, source: Source, *, fresh: bool = False) -> CounterReading:
    last_digit = Quantity(Decimal(1).scaleb(-counter.decimals), counter.unit, "", counter.decimals)
    hours = float(in_unit(counter, "h", "h"))
    return CounterReading(moment, hours, float(in_unit(last_digit, "h", "h")), source, fresh)


def _compare(out: EngineLedger, first: CounterReading, second: CounterReading) -> None:
    between = [line for line in out.lines if first.moment < line[0] <= second.moment]
    runs = [line for line in between if line[1].line.kind == "run"]
    logged = sum(line[2].hours for line in runs)
    by_counter = second.hours - first.hours
    if by_counter < 0:
        message = f"the counter runs backward: {second.hours:g} h after {first.hours:g} h ({first.source.line_text})"
        out.problems.append(
            doubt(second.source, message + "; write a new counter as {kind: change, counter_was: …, counter: …}")
        )
        return
    if not runs:
        if by_counter > 0:
            out.from_counter.append((second.moment, Exposure(hours=by_counter), second.source))
        return
    # each of the two readings is rounded, so half a digit counts at both ends
    allowed = (first.last_digit + second.last_digit) / 2 + HALF_MINUTE * len(runs)
    if abs(by_counter - logged) > allowed + 1e-9 and not any(line[2].at_least for line in runs):
        counter = f"the counter says {by_counter:.2f} h since {first.source.line_text}"
        message = f"{counter}, the log {logged:.2f} h; the log counts"
        out.problems.append(doubt(second.source, message))
