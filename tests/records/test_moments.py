"""The order of one day: builds, runs, inspections and strips, with and without times."""

from datetime import date, time

import pytest

from engine_pages.records.fields import When
from engine_pages.records.load import EngineRecords, LogEntry, SheetRecord
from engine_pages.records.log import LogLine
from engine_pages.records.model import Record
from engine_pages.records.moments import DayOrder
from engine_pages.records.sheet import Sheet, SheetKind
from engine_pages.records.yaml_text import Document, read_document

DAY = date(2026, 3, 7)


def sheet(kind: SheetKind, clock: str = "") -> SheetRecord:
    when = f"{DAY} {clock}".strip()
    it = Sheet.model_validate({"engine": "E1", "date": when, "positions": {}})
    document, _ = read_document(f"{kind}.yml", b"engine: E1\n")
    return SheetRecord(kind, "E1", str(DAY), Record(it, document))


def run(clock: str = "", index: int = 0) -> LogEntry:
    document: Document = read_document("log.yml", b"- {}\n")[0]
    line = LogLine.model_validate({"date": f"{DAY} {clock}".strip(), "kind": "run", "hours": "1"})
    return LogEntry(line, document.place(), document, index)


def order_of(*things: SheetRecord | LogEntry) -> list[str]:
    """The kinds of some sheets and runs of one day, in their order of time."""
    sheets = [thing for thing in things if isinstance(thing, SheetRecord)]
    log = [thing for thing in things if isinstance(thing, LogEntry)]
    order = DayOrder(EngineRecords("E1", log=log, sheets=sheets))
    moments = [(order.of_sheet(one), one.kind) for one in sheets]
    moments += [(order.of_log(one.line.date, one.index), "run") for one in log]
    return [kind for _, kind in sorted(moments)]


@pytest.mark.parametrize(
    ("things", "expected"),
    [
        ((sheet("build"), run()), ["build", "run"]),
        ((sheet("teardown"), run()), ["run", "teardown"]),
        ((sheet("inspection"), run()), ["run", "inspection"]),
        ((sheet("build"), sheet("teardown")), ["teardown", "build"]),
        ((sheet("inspection"), sheet("teardown"), run()), ["run", "inspection", "teardown"]),
        ((sheet("teardown"), sheet("build"), run()), ["run", "teardown", "build"]),
    ],
)
def test_without_times_a_run_counts_after_a_build_and_before_a_look(
    things: tuple[SheetRecord | LogEntry, ...], expected: list[str]
) -> None:
    assert order_of(*things) == expected


def test_times_decide_where_both_are_written() -> None:
    assert order_of(sheet("teardown", "09:00"), run("14:00")) == ["teardown", "run"]
    assert order_of(sheet("build", "16:30"), run("09:40")) == ["run", "build"]


def test_a_time_on_the_sheet_alone_does_not_move_the_days_runs() -> None:
    assert order_of(sheet("teardown", "09:00"), run()) == ["run", "teardown"]


def test_runs_of_one_day_keep_the_order_of_the_log() -> None:
    order = DayOrder(EngineRecords("E1", log=[run(index=0), run(index=1)]))
    assert order.of_log(When(DAY), 0) < order.of_log(When(DAY), 1)


def test_a_day_and_its_time_are_those_that_were_written() -> None:
    assert sheet("build", "09:40").date == When(DAY, time(9, 40))
