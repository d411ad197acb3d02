"""What came first on one day: builds, runs, inspections and teardowns, with times and without."""

from collections.abc import Sequence
from itertools import permutations

import pytest
from written_shop import Written

from engine_pages.records.load import EngineRecords, load_shop
from engine_pages.records.moments import DayOrder

DAY = "2026-03-02"
FOLDERS = {"build": "builds", "inspection": "inspections", "teardown": "teardowns"}


def _engine(happened: Sequence[str]) -> EngineRecords:
    """An engine of which sheets and runs of one day are written, each with a time behind it or without."""
    files, log = Written(), ""
    for number, item in enumerate(happened):
        what, _, clock = item.partition(" ")
        when = f"{DAY} {clock}".strip()
        if what == "run":
            log += f"- {{date: {when}, kind: run, hours: 1, note: {item}}}\n"
            continue
        name = DAY if number == 0 else f"{DAY}-{number + 1}"
        path = f"{FOLDERS[what]}/{name}/teardown.yml" if what == "teardown" else f"{FOLDERS[what]}/{name}.yml"
        sheet = f"engine: K-07\ndate: {when}\nnote: {item}\npositions:\n  rotor-1:\n"
        files[f"engines/K-07/{path}"] = sheet.encode()
    files["engines/K-07/log.yml"] = log.encode()
    return load_shop(files).engines["K-07"]


def _order(*happened: str) -> list[str]:
    records = _engine(happened)
    order = DayOrder(records)
    dated = [(order.of_sheet(sheet), sheet.it.note or "") for sheet in records.sheets]
    dated += [(order.of_log(entry.line.date, entry.index), entry.line.note or "") for entry in records.log]
    return [note for _, note in sorted(dated, key=lambda pair: pair[0])]


ORDERS = [
    # without times: after a build, before an inspection or a teardown; a teardown before a build
    ("build", "run"),
    ("run", "inspection"),
    ("run", "teardown"),
    ("run", "teardown 23:00", "build"),
    ("run", "inspection", "teardown"),
    ("build", "inspection"),
    ("teardown", "build"),
    ("run", "teardown", "build"),
    # with times on all: the clock alone
    ("teardown 08:00", "build 12:00", "run 16:30"),
    ("build 08:00", "run 09:00", "teardown 16:30"),
    ("run 07:00", "teardown 08:00", "build 09:00", "run 10:00", "inspection 11:00"),
    ("build 00:00", "run 23:59"),
    # in one minute, as without times
    ("build 09:00", "run 09:00"),
    ("run 16:30", "inspection 16:30", "teardown 16:30"),
    ("teardown 09:00", "build 09:00"),
    # with times on some: what has none is put beside what has
    ("build 15:00", "run"),
    ("run", "inspection 09:00"),
    ("run", "teardown 09:00"),
    ("build 09:00", "run", "teardown 17:00"),
    ("build 13:00", "run", "teardown 17:00"),
    ("run", "teardown 09:00", "build 15:00"),
    ("teardown 09:00", "build", "run 15:00"),
    ("teardown", "build 15:00", "run 16:00"),
    ("run", "teardown", "build 10:00"),
    ("build", "run 10:00", "inspection"),
    ("run 10:00", "run 15:00", "teardown", "build"),
]


@pytest.mark.parametrize("happened", ORDERS, ids=[", ".join(one) for one in ORDERS])
def test_the_order_of_a_day_does_not_hang_on_the_order_of_writing(happened: tuple[str, ...]) -> None:
    for written in permutations(happened):
        runs_in_order = [one for one in written if one.startswith("run")] == [
            one for one in happened if one.startswith("run")
        ]
        if runs_in_order:
            assert _order(*written) == list(happened), written


def test_lines_of_the_log_keep_their_order_within_a_day() -> None:
    log = "".join(f"- {{date: {DAY}, kind: run, minutes: 5, note: {number}}}\n" for number in range(30))
    records = load_shop(Written({"engines/K-07/log.yml": log.encode()})).engines["K-07"]
    order = DayOrder(records)
    moments = [order.of_log(entry.line.date, entry.index) for entry in records.log]
    assert moments == sorted(moments)
    assert len(set(moments)) == 30


def test_a_leap_day_lies_between_its_neighbours() -> None:
    days = ("2028-02-28", "2028-02-29", "2028-03-01")
    log = "".join(f"- {{date: {day}, kind: run, hours: 1}}\n" for day in days)
    records = load_shop(Written({"engines/K-07/log.yml": log.encode()})).engines["K-07"]
    order = DayOrder(records)
    ordinals = [order.of_log(entry.line.date, entry.index)[0] for entry in records.log]
    assert ordinals == [ordinals[0], ordinals[0] + 1, ordinals[0] + 2]


def test_a_sheet_of_one_day_lies_before_all_of_the_next() -> None:
    files = Written(
        {
            "engines/K-07/teardowns/2026-03-02/teardown.yml": b"engine: K-07\ndate: 2026-03-02\nfits: {}\n",
            "engines/K-07/builds/2026-03-03.yml": b"engine: K-07\ndate: 2026-03-03\npositions: {rotor-1: }\n",
            "engines/K-07/log.yml": b"- {date: 2026-03-03 00:00, kind: run, hours: 1}\n",
        }
    )
    records = load_shop(files).engines["K-07"]
    order = DayOrder(records)
    build, teardown = sorted(records.sheets, key=lambda sheet: sheet.kind)
    assert order.of_sheet(teardown) < order.of_sheet(build) < order.of_log(records.log[0].line.date, 0)
