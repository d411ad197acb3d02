"""What is due: services by the log, replacements and inspections of parts, and what incidents ask for."""

from datetime import date

import pytest

from engine_pages.history.story import DueStory, ShopStory

from .shop_for_tests import engine, part, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing-1: bearing, rotor-1: rotor}
    kinds:
      bearing:
        observe: [scoring]
        dimensions: {inside: {unit: mm, limit: {max: 60.1}}}
        service:
          replace: {hours: 60, months: 36}
          inspect: {hours: 20}
          after: {over_rev: inspect, low_oil_pressure: replace}
      rotor: {observe: [crack]}
    services: {oil: {hours: 5, months: 6}, plugs: {starts: 60}}
"""
BUILD = "engine: E1\ndate: 2026-01-31\npositions: {bearing-1: {part: B-1}, rotor-1: {part: R-1}}\n"


def shop(*log: str, part_file: str = "origin: new", **more: str) -> dict[str, str]:
    files = {
        "families/single.yml": FAMILY,
        "parts/B-1.yml": f"serial: B-1\nkind: bearing\n{part_file}\n",
        "engines/E1/builds/2026-01-31.yml": BUILD,
        "engines/E1/log.yml": "".join(f"- {line}\n" for line in log) or "[]\n",
    }
    for name, body in more.items():
        kind, day = name.split("_")
        on = f"2026-{day[:2]}-{day[2:]}"
        path = f"teardowns/{on}/teardown.yml" if kind == "teardown" else f"{kind}s/{on}.yml"
        files[f"engines/E1/{path}"] = f"engine: E1\ndate: {on}\n{body}\n"
    return files


def due(story: ShopStory, name: str) -> DueStory:
    return next(one for one in engine(story).due if one.name.lower() == name)


def bearing_due(story: ShopStory, what: str) -> DueStory:
    return next(one for one in part(story, "B-1").due if one.what == what)


def test_a_service_counts_since_the_log_last_says_that_it_was_done() -> None:
    story = told(
        shop(
            "{date: 2026-02-01, kind: run, hours: 3, starts: 4}",
            "{date: 2026-02-10, kind: service, did: [oil]}",
            "{date: 2026-03-01, kind: run, hours: 2, starts: 3}",
        ),
        date(2026, 3, 10),
    )
    oil, plugs = due(story, "oil"), due(story, "plugs")
    assert (oil.since["hours"], oil.left["hours"], oil.last) == (2.0, 3.0, date(2026, 2, 10))
    assert (plugs.since["starts"], plugs.left["starts"], plugs.because) == (7.0, 53.0, "never written as done")
    assert (oil.id, oil.state, oil.rule) == ("oil", "within", "every 5 h, 6 months")


@pytest.mark.parametrize(
    ("done", "due_on"), [("2026-08-31", "2027-02-28"), ("2027-08-31", "2028-02-29"), ("2026-03-15", "2026-09-15")]
)
def test_months_run_on_the_calendar_and_hold_back_to_the_end_of_a_shorter_month(done: str, due_on: str) -> None:
    story = told(shop(f"{{date: {done}, kind: service, did: [oil]}}"), date.fromisoformat(done))
    assert due(story, "oil").due_on == date.fromisoformat(due_on)


def test_a_month_is_over_on_its_day_and_not_before() -> None:
    files = shop("{date: 2026-03-15, kind: service, did: [oil]}")
    assert due(told(files, date(2026, 9, 15)), "oil").state == "due"
    assert due(told(files, date(2026, 9, 16)), "oil").state == "overdue"
    assert engine(told(files, date(2026, 9, 16))).state == "overdue"


def test_what_falls_before_the_end_of_the_next_event_is_due() -> None:
    files = shop("{date: 2026-02-10, kind: service, did: [oil]}", "{date: 2026-03-01, kind: run, hours: 2}")
    plan = {
        "engines/E1/plan.yml": "events: [{date: 2026-04-18, name: Round 1, hours: 3}, {date: 2026-05-18, hours: 9}]\n"
    }
    assert due(told(files, date(2026, 3, 10)), "oil").state == "within"
    assert due(told(files | plan, date(2026, 3, 10)), "oil").state == "due"


def test_what_is_used_up_to_its_last_tenth_is_due() -> None:
    files = shop("{date: 2026-02-10, kind: service, did: [oil]}", "{date: 2026-03-01, kind: run, minutes: 270}")
    assert due(told(files, date(2026, 3, 10)), "oil").state == "due"  # 4.5 of 5 h


def test_an_interval_in_another_unit_is_brought_to_hours() -> None:
    files = shop("{date: 2026-02-10, kind: service, did: [oil]}", "{date: 2026-03-01, kind: run, hours: 2}")
    files["families/single.yml"] = FAMILY.replace("oil: {hours: 5,", "oil: {hours: 300 min,")
    oil = due(told(files, date(2026, 3, 10)), "oil")
    assert (oil.left["hours"], oil.rule) == (3.0, "every 5 h, 6 months")


def test_a_part_is_replaced_by_its_hours_since_new_wherever_it_ran() -> None:
    files = shop("{date: 2026-03-01, kind: run, hours: 10}", part_file="origin: used\nprior: {hours: 45}")
    replace = bearing_due(told(files, date(2026, 3, 10)), "replace")
    assert (replace.since["hours"], replace.left["hours"], replace.state) == (55.0, 5.0, "due")
    assert replace.due_on is None  # how old it was when it was fitted is not known


def test_a_new_part_counts_its_months_from_its_first_fitting() -> None:
    assert bearing_due(told(shop(), date(2026, 3, 10)), "replace").due_on == date(2029, 1, 31)


def test_an_unknown_life_is_said_beside_what_is_due() -> None:
    replace = bearing_due(told(shop(part_file="prior: unknown"), date(2026, 3, 10)), "replace")
    assert replace.because == "life before unknown"


def test_within_an_interval_is_not_said_of_a_life_that_nobody_knows() -> None:
    story = told(shop("{date: 2026-03-01, kind: run, hours: 10}", part_file="prior: unknown"), date(2026, 3, 10))
    replace = bearing_due(story, "replace")
    assert (replace.since["hours"], replace.state) == (10.0, "undecided")
    assert (part(story, "B-1").state, part(story, "B-1").state_why) == ("undecided", "replace, life before unknown")


def test_starts_that_nobody_wrote_are_not_none() -> None:
    written = told(shop("{date: 2026-03-01, kind: run, hours: 10, starts: 4}"), date(2026, 3, 10))
    silent = told(
        shop(
            "{date: 2026-02-27, kind: service, did: [plugs]}",
            "{date: 2026-03-01, kind: run, hours: 10, starts: 4}",
            "{date: 2026-03-02, kind: run, hours: 2}",
        ),
        date(2026, 3, 10),
    )
    assert (due(written, "plugs").since["starts"], due(written, "plugs").state) == (4.0, "within")
    plugs = due(silent, "plugs")
    assert (plugs.since["starts"], plugs.state, plugs.because) == (
        4.0,
        "undecided",
        "not every run has its starts written",
    )
    assert part(silent, "B-1").since_new.at_least is False  # its hours are all written


def test_months_since_a_known_day_do_not_need_the_hours() -> None:
    service = "{date: 2026-02-27, kind: service, did: [oil]}"
    oil = due(told(shop(service, "{date: 2026-03-01, kind: run, starts: 2}"), date(2026, 8, 20)), "oil")
    assert (oil.state, oil.due_on) == ("due", date(2026, 8, 27))  # due by its months, however many hours it ran


def test_an_inspection_counts_since_a_sheet_measured_graded_or_found_something() -> None:
    strip = "positions: {bearing-1: {part: B-1, observed: {scoring: 1}, decision: reuse}, rotor-1: {decision: reuse}}"
    story = told(
        shop(
            "{date: 2026-02-20, kind: run, hours: 15}",
            "{date: 2026-03-20, kind: run, hours: 8}",
            teardown_0301=strip,
            build_0302="rest: as before",
        ),
        date(2026, 4, 1),
    )
    inspect = bearing_due(story, "inspect")
    assert (inspect.since["hours"], inspect.last) == (8.0, date(2026, 3, 1))


def test_a_decision_alone_is_no_inspection_and_a_rebuild_is_none_either() -> None:
    story = told(
        shop(
            "{date: 2026-02-20, kind: run, hours: 15}",
            "{date: 2026-03-20, kind: run, hours: 8}",
            teardown_0301="positions: {bearing-1: {part: B-1, decision: reuse}, rotor-1: {decision: reuse}}",
            build_0302="rest: as before",
        ),
        date(2026, 4, 1),
    )
    inspect = bearing_due(story, "inspect")
    assert (inspect.since["hours"], inspect.state, inspect.last) == (23.0, "overdue", None)


def test_after_a_look_an_unknown_life_does_not_matter_to_the_inspection() -> None:
    story = told(
        shop(
            "{date: 2026-02-20, kind: run, hours: 4}",
            part_file="prior: unknown",
            inspection_0215="positions: {bearing-1: {observed: {scoring: 0}}}",
        ),
        date(2026, 4, 1),
    )
    inspect = bearing_due(story, "inspect")
    assert (inspect.since["hours"], inspect.because, inspect.state) == (4.0, None, "within")


OVER_REV = "{date: 2026-02-21, kind: incident, what: over_rev, peak_rpm: 10400}"


def test_an_incident_asks_for_an_inspection_until_a_sheet_shows_it() -> None:
    def inspection_after(**sheets: str) -> list[str]:
        story = told(shop("{date: 2026-02-20, kind: run, hours: 1}", OVER_REV, **sheets), date(2026, 4, 1))
        return [one.rule for one in part(story, "B-1").due if one.because == "over rev on 2026-02-21"]

    assert inspection_after() == ["after over rev"]
    assert inspection_after(inspection_0210="positions: {bearing-1: {observed: {scoring: 0}}}") == ["after over rev"]
    assert inspection_after(inspection_0301="positions: {rotor-1: {observed: {crack: 0}}}") == ["after over rev"]
    assert inspection_after(inspection_0301="positions: {bearing-1: {observed: {scoring: 0}}}") == []


def test_it_is_due_at_once_and_overdue_when_it_has_run_on() -> None:
    files = shop("{date: 2026-02-20, kind: run, hours: 1}", OVER_REV)
    assert part(told(files, date(2026, 4, 1)), "B-1").state == "due"
    files["engines/E1/log.yml"] += "- {date: 2026-03-01, kind: run, hours: 1}\n"
    assert part(told(files, date(2026, 4, 1)), "B-1").state == "overdue"
    assert part(told(files, date(2026, 4, 1)), "B-1").state_why == "inspect, over rev on 2026-02-21"


def test_a_strip_at_which_nobody_looked_at_the_part_settles_nothing() -> None:
    story = told(
        shop(
            OVER_REV,
            "{date: 2026-03-20, kind: run, hours: 2}",
            teardown_0301="positions: {bearing-1: {part: B-1, decision: reuse}, rotor-1: {decision: reuse}}",
            build_0302="rest: as before",
        ),
        date(2026, 4, 1),
    )
    assert part(story, "B-1").state == "overdue"


def test_a_part_takes_what_an_incident_asks_of_it_to_another_engine() -> None:
    files = shop(
        OVER_REV,
        teardown_0301="positions: {bearing-1: {part: B-1, decision: reuse}, rotor-1: {decision: reuse}}",
    )
    files["engines/E2/builds/2026-03-05.yml"] = "engine: E2\ndate: 2026-03-05\npositions: {bearing-1: {part: B-1}}\n"
    bearing = part(told(files, date(2026, 4, 1)), "B-1")
    assert (bearing.engine, bearing.state) == ("E2", "due")


def test_a_demand_to_replace_stands_until_the_part_is_out() -> None:
    low = "{date: 2026-02-21, kind: incident, what: low_oil_pressure}"
    seen = shop(low, inspection_0301="positions: {bearing-1: {observed: {scoring: 0}}}")
    assert bearing_due(told(seen, date(2026, 4, 1)), "replace").rule == "every 60 h, 36 months"
    assert [one.rule for one in part(told(seen, date(2026, 4, 1)), "B-1").due if one.what == "replace"] == [
        "every 60 h, 36 months",
        "after low oil pressure",
    ]
    out = shop(low, teardown_0301="positions: {bearing-1: {part: B-1, decision: replace, because: precaution}}")
    assert part(told(out, date(2026, 4, 1)), "B-1").due == ()


def test_an_over_rev_in_a_run_counts_and_asks_for_nothing() -> None:
    story = told(shop("{date: 2026-02-20, kind: run, hours: 1, over_revs: 1}"), date(2026, 4, 1))
    assert engine(story).total.over_revs == 1
    assert part(story, "B-1").state != "due"


def test_a_part_on_the_bench_that_is_to_go_back_is_overdue_there_too() -> None:
    story = told(
        shop(
            "{date: 2026-02-20, kind: run, hours: 70}",
            teardown_0301="positions: {bearing-1: {part: B-1, measured: {inside: 60.05}, decision: reuse}}",
        ),
        date(2026, 4, 1),
    )
    bearing = part(story, "B-1")
    assert (bearing.fitted_now, bearing.state) == (False, "overdue")
    assert bearing.differs == "limits say overdue (bearing 1, replace); the builder decided reuse"
    assert bearing.since_fitted is None


# ── a service that bears a fluid's name is done by filling that fluid ────────────────────────────────────────────────


def oil_after(*log: str, **sheets: str) -> DueStory:
    return due(told(shop("{date: 2026-02-01, kind: run, hours: 4}", *log, **sheets), date(2026, 4, 1)), "oil")


@pytest.mark.parametrize("kind", ["change", "service"])
def test_a_line_that_names_the_new_oil_is_an_oil_change(kind: str) -> None:
    found = oil_after(
        f"{{date: 2026-02-10, kind: {kind}, fluids: {{oil: ester-15w50}}}}", "{date: 2026-03-01, kind: run, hours: 1}"
    )
    assert (found.last, found.since["hours"], found.because) == (date(2026, 2, 10), 1.0, None)
    assert found.source is not None
    assert found.source.path == "engines/E1/log.yml"


def test_a_build_that_names_the_oil_fills_the_engine_though_it_be_the_same_oil() -> None:
    build = "positions: {}\nrest: as before\nfluids: {oil: mineral}"
    found = oil_after(
        "{date: 2026-02-02, kind: change, fluids: {oil: mineral}}",
        "{date: 2026-02-05, kind: run, hours: 6}",
        "{date: 2026-03-01, kind: run, hours: 2}",
        teardown_0210="positions: {bearing-1: {decision: reuse}, rotor-1: {decision: reuse}}",
        build_0212=build,
    )
    assert (found.last, found.since["hours"]) == (date(2026, 2, 12), 2.0)
    assert found.source is not None
    assert found.source.path == "engines/E1/builds/2026-02-12.yml"


def test_a_run_or_an_inspection_that_names_the_oil_in_use_is_no_oil_change() -> None:
    found = oil_after(
        "{date: 2026-02-10, kind: change, fluids: {oil: mineral}}",
        "{date: 2026-03-01, kind: run, hours: 1, fluids: {oil: mineral}}",
        inspection_0305="positions: {rotor-1: {observed: {crack: 0}}}\nfluids: {oil: mineral}",
    )
    assert (found.last, found.since["hours"]) == (date(2026, 2, 10), 1.0)


def test_another_oil_than_before_went_in_wherever_it_is_written() -> None:
    found = oil_after(
        "{date: 2026-02-10, kind: change, fluids: {oil: mineral}}",
        "{date: 2026-03-01, kind: run, hours: 1, fluids: {oil: ester}}",
    )
    assert found.last == date(2026, 3, 1)


def test_another_fluid_is_no_oil_change() -> None:
    found = oil_after("{date: 2026-02-10, kind: change, fluids: {premix: 1 to 80}}")
    assert (found.last, found.because) == (None, "never written as done")
