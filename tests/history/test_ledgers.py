"""An engine's ledger: what its log adds up to, and where the counter speaks instead."""

import pytest

from .shop_for_tests import doubts, engine, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {rotor-1: rotor}
    kinds: {rotor: {observe: [scoring]}}
"""
BUILD = """
    engine: E1
    date: 2026-01-10
    counter: 10.0 h
    positions: {rotor-1: {part: R-1}}
"""
PART = "serial: R-1\nkind: rotor\norigin: new\n"
SHOP = {"families/single.yml": FAMILY, "parts/R-1.yml": PART, "engines/E1/builds/2026-01-10.yml": BUILD}


def with_log(*lines: str) -> dict[str, str]:
    return {**SHOP, "engines/E1/log.yml": "".join(f"- {line}\n" for line in lines)}


def test_hours_and_minutes_km_starts_and_runs_add_up() -> None:
    story = told(
        with_log(
            "{date: 2026-02-01, kind: run, what: dyno, hours: 1.5, starts: 3}",
            "{date: 2026-02-08, kind: run, what: race, minutes: 45, km: 61, starts: 2, over_revs: 1}",
            "{date: 2026-02-09, kind: run, what: practice, minutes: 30, runs: 4, km: 10 mi}",
        )
    )
    total = engine(story).total
    assert total.hours == pytest.approx(2.75)
    assert total.km == pytest.approx(61 + 16.09344)  # a mile is 1.609344 km, NIST SP 811
    assert (total.starts, total.runs, total.over_revs, total.at_least) == (5, 6, 1, False)


def test_any_kind_of_line_may_add_hours() -> None:
    story = told(with_log("{date: 2026-02-01, kind: incident, what: other, minutes: 6, note: ran on the stand}"))
    assert engine(story).total.hours == pytest.approx(0.1)
    assert engine(story).total.runs == 0


def test_the_counter_serves_where_no_run_is_written() -> None:
    story = told(
        with_log("{date: 2026-06-01, kind: service, did: [oil], counter: 14.2 h}")
        | {"families/single.yml": FAMILY + "    services: {oil: {hours: 5}}\n"}
    )
    assert engine(story).total.hours == pytest.approx(4.2)
    assert [gap.what for gap in engine(story).gaps if gap.kind == "log"] == [
        "4.2 h are known from the counter alone; the log does not say them"
    ]


def test_the_counter_serves_for_a_run_without_hours() -> None:
    story = told(
        with_log(
            "{date: 2026-02-01, kind: run, hours: 1.0, counter: 11.0 h}",
            "{date: 2026-02-08, kind: run, counter: 12.5 h}",
        )
    )
    assert engine(story).total.hours == pytest.approx(2.5)
    assert not engine(story).total.at_least


def test_a_run_without_hours_and_without_a_counter_leaves_the_sum_at_least() -> None:
    story = told(with_log("{date: 2026-02-01, kind: run}", "{date: 2026-02-08, kind: run, hours: 1.0}"))
    assert engine(story).total.hours == 1.0
    assert engine(story).total.at_least
    assert any(gap.what.startswith("no hours are written for one run") for gap in engine(story).gaps)


def test_the_log_counts_where_the_counter_disagrees_and_the_doubt_says_so() -> None:
    story = told(with_log("{date: 2026-02-01, kind: run, hours: 2.0, counter: 13.5 h}"))
    assert engine(story).total.hours == 2.0
    assert any(
        "the counter says 3.50 h" in doubt and "the log 2.00 h; the log counts" in doubt for doubt in doubts(story)
    )


def test_a_counter_that_reads_tenths_agrees_within_its_last_digits() -> None:
    # Both readings are rounded to 0.1 h, half of it each, and minutes are written whole: 0.1 h and half a minute.
    assert not doubts(told(with_log("{date: 2026-02-01, kind: run, hours: 2.0, counter: 12.1 h}")))
    assert doubts(told(with_log("{date: 2026-02-01, kind: run, hours: 2.0, counter: 12.2 h}")))


def test_a_counter_running_backward_is_a_doubt_and_adds_nothing() -> None:
    story = told(with_log("{date: 2026-02-01, kind: service, did: [], counter: 9.0 h}"))
    assert engine(story).total.hours == 0.0
    assert any("the counter runs backward: 9 h after 10 h" in doubt for doubt in doubts(story))


def test_a_new_counter_starts_anew_and_a_run_of_the_same_day_counts_once() -> None:
    story = told(
        with_log(
            "{date: 2026-02-01, kind: run, hours: 2.0, counter: 12.0 h}",
            "{date: 2026-03-01, kind: change, counter_was: 12.0 h, counter: 0.0 h, why: new instrument}",
            "{date: 2026-03-01, kind: run, hours: 1.5, counter: 1.5 h}",
        )
    )
    assert engine(story).total.hours == pytest.approx(3.5)
    assert not doubts(story)


def test_lines_of_two_log_files_make_one_ledger() -> None:
    files = SHOP | {
        "engines/E1/log/2026.yml": "- {date: 2026-02-01, kind: run, hours: 2.0}\n",
        "engines/E1/log/2027.yml": "- {date: 2027-02-01, kind: run, hours: 1.0}\n",
    }
    assert [line.total_hours for line in engine(told(files)).log] == [2.0, 3.0]


@pytest.mark.parametrize(
    ("unit", "written"), [("km", "km: 120"), ("starts", "starts: 5"), ("runs", "note: three laps")]
)
def test_a_family_may_reckon_in_km_starts_or_runs(unit: str, written: str) -> None:
    files = with_log(f"{{date: 2026-02-01, kind: run, hours: 2.0, {written}}}")
    story = told(files | {"families/single.yml": FAMILY.replace("exposure: hours", f"exposure: {unit}")})
    assert not engine(story).total.at_least
    assert engine(story).total.amount(unit) == {"km": 120, "starts": 5, "runs": 1}[unit]


def test_a_run_without_km_leaves_an_engine_that_is_reckoned_in_km_at_least() -> None:
    files = with_log("{date: 2026-02-01, kind: run, hours: 2.0}")
    assert engine(
        told(files | {"families/single.yml": FAMILY.replace("exposure: hours", "exposure: km")})
    ).total.at_least
