"""The state of a part: the first that applies, and where the builder sees it differently."""

import pytest

from engine_pages.history.status import worst_of
from engine_pages.history.story import EngineStory, PartStory

from .shop_for_tests import engine, part, sheet, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing-1: bearing, shaft: shaft, seals: {kind: seal, names: [a1, a2]}}
    kinds:
      bearing:
        observe: [scoring, crack, lug_cracks]
        dimensions:
          inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.100}, instrument: mic}
          width: {unit: mm, wears: down, limit: {min: 20.0}, instrument: mic}
        service: {replace: {hours: 60}}
      shaft: {observe: [scoring, crack], dimensions: {journal: {unit: mm, wears: down, limit: {min: 59.0}}}}
      seal: {observe: [chipping], dimensions: {height: {unit: mm, wears: down, limit: {min: 7.5}}}}
    grades: {scoring: {3: felt with a nail, 4: metal moved}}
"""
SHOP = "instruments: {mic: {repeat: 0.001 mm, zero: 0.001 mm}}\n"
PLAN = "events: [{date: 2026-09-01, name: Race, hours: 5}]\nkeep: 0.90\n"


def bench(line: str, hours: float = 10, after: str = "", plan: str = "", file: str = "origin: new") -> EngineStory:
    """B-1 new in January, run so many hours, stripped in March with this line."""
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "parts/B-1.yml": f"serial: B-1\nkind: bearing\n{file}\n",
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", "bearing-1: {part: B-1, measured: {inside: 60.050}}"),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet("2026-03-01", f"bearing-1: {{part: B-1, {line}}}"),
        "engines/E1/log.yml": f"- {{date: 2026-02-01, kind: run, hours: {hours}}}\n",
    }
    if after:
        files["engines/E1/builds/2026-03-02.yml"] = f"engine: E1\ndate: 2026-03-02\n{after}\n"
    if plan:
        files["engines/E1/plan.yml"] = plan
    return engine(told(files))


def state(line: str, hours: float = 10, plan: str = "") -> str:
    return _bearing(bench(line, hours, plan=plan)).state


def _bearing(one: EngineStory) -> PartStory:
    return next(each for each in (*one.parts, *one.former_parts) if each.id == "B-1")


@pytest.mark.parametrize(
    ("line", "hours", "expected"),
    [
        ("measured: {inside: 60.070, width: 20.5}, decision: retire", 70, "retired"),
        ("measured: {inside: 60.110}, decision: replace", 70, "beyond limit"),
        ("measured: {inside: 60.070}, decision: reuse", 70, "overdue"),
        ("measured: {inside: 60.100}, decision: reuse", 56, "due"),
        ("measured: {inside: 60.100}, decision: reuse", 10, "undecided"),
        ("measured: {inside: 60.090}, decision: reuse", 10, "near limit"),
        ("observed: {scoring: 1}, decision: reuse", 10, "within"),
        ("measured: {inside: 60.060}, decision: reuse", 10, "within"),
    ],
)
def test_the_first_state_that_applies_counts(line: str, hours: float, expected: str) -> None:
    assert state(line, hours) == expected


def test_a_part_that_nobody_looked_at_is_not_measured() -> None:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", "bearing-1: {part: B-1}"),
    }
    bearing = part(told(files), "B-1")
    assert (bearing.state, bearing.state_why) == ("not measured", "no reading and no grade")


def test_a_part_that_was_looked_at_but_not_measured_says_so() -> None:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", "bearing-1: {part: B-1, observed: {scoring: 0}}"),
    }
    assert part(told(files), "B-1").state_why == "looked at, no reading"


def test_grade_four_is_beyond_limit_whatever_the_readings_say() -> None:
    bearing = _bearing(bench("measured: {inside: 60.052}, observed: {scoring: 4}, decision: replace"))
    assert (bearing.state, bearing.state_why) == ("beyond limit", "scoring grade 4")
    assert state("measured: {inside: 60.052}, observed: {scoring: 3}, decision: reuse") == "within"


@pytest.mark.parametrize("name", ["crack", "lug_cracks"])
def test_any_crack_is_beyond_limit(name: str) -> None:
    bearing = _bearing(bench(f"measured: {{inside: 60.052}}, observed: {{{name}: 1}}, decision: replace"))
    assert (bearing.state, bearing.state_why) == ("beyond limit", "cracked")
    assert state(f"measured: {{inside: 60.052}}, observed: {{{name}: 0}}, decision: reuse") == "within"


def test_a_part_whose_chance_is_under_what_is_wanted_is_near_its_limit() -> None:
    line = "measured: {inside: 60.080}, decision: reuse"  # 0.030 of 0.050 in 10 h, from a start within ± 0.010
    assert state(line) == "within"
    assert state(line, plan=PLAN.replace("hours: 5", "hours: 2")) == "within"
    assert state(line, plan=PLAN.replace("hours: 5", "hours: 7")) == "near limit"
    assert state(line, plan="events: [{date: 2026-09-01, hours: 7}]\n") == "within"  # no chance is wanted


def test_a_grade_stands_until_a_later_sheet_looks_again() -> None:
    again = "positions: {bearing-1: {part: B-1, observed: {scoring: 0}}}"
    one = bench("measured: {inside: 60.052}, observed: {scoring: 4}, decision: rework", after="rest: as before")
    assert _bearing(one).state == "beyond limit"
    one = bench("measured: {inside: 60.052}, observed: {scoring: 4}, decision: rework", after=again)
    assert _bearing(one).state == "within"


def test_machining_clears_a_grade_and_never_a_crack() -> None:
    work = "positions: {bearing-1: {part: B-1}}\nwork: [{part: B-1, did: bored, dimensions: [inside]}]"
    scored = bench("measured: {inside: 60.052}, observed: {scoring: 4}, decision: rework", after=work)
    assert _bearing(scored).state == "not measured"
    cracked = bench("measured: {inside: 60.052}, observed: {crack: 2}, decision: rework", after=work)
    assert _bearing(cracked).state == "beyond limit"


def test_a_grade_written_after_the_work_of_its_sheet_counts() -> None:
    work = "positions: {bearing-1: {part: B-1, measured: {inside: 60.052}, observed: {crack: 1}}}\n"
    work += "work: [{part: B-1, did: bored, dimensions: [inside]}]"
    assert _bearing(bench("decision: rework", after=work)).state == "beyond limit"


def test_of_a_set_each_member_has_its_own_grade_and_decision_wherever_it_went() -> None:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", "seals: {part: {a1: A-1, a2: A-2}}"),
        "engines/E1/teardowns/2026-03-01/teardown.yml": (
            "engine: E1\ndate: 2026-03-01\npositions:\n"
            "  seals:\n    part: {a1: A-1, a2: A-2}\n    measured: {height: 7.9}\n"
            "    observed: {chipping: {a1: 4, a2: 0}}\n    decision: reuse\n"
            "  seals/a1: {decision: replace, because: damaged}\n"
        ),
        # they change places
        "engines/E1/builds/2026-03-02.yml": sheet("2026-03-02", "seals: {part: {a1: A-2, a2: A-1}}"),
    }
    story = told(files)
    assert (part(story, "A-1").state, part(story, "A-2").state) == ("beyond limit", "within")
    assert (part(story, "A-1").decision, part(story, "A-2").decision) == (None, "reuse")  # A-1 went back in since


@pytest.mark.parametrize(
    ("line", "differs"),
    [
        ("measured: {inside: 60.110}, decision: reuse", "limits say beyond limit (inside); the builder decided reuse"),
        ("measured: {inside: 60.100}, decision: reuse", "limits say undecided (inside); the builder decided reuse"),
        ("observed: {crack: 2}, decision: reuse", "limits say beyond limit (cracked); the builder decided reuse"),
        (
            "measured: {inside: 60.052}, decision: replace, because: worn",
            "within every limit that was measured; the builder decided replace",
        ),
        (
            "measured: {inside: 60.052}, decision: retire, because: damaged",
            "within every limit that was measured; the builder decided retire",
        ),
        ("measured: {inside: 60.052}, decision: replace, because: hours", None),
        ("measured: {inside: 60.052}, decision: replace, because: precaution", None),
        ("measured: {inside: 60.110}, decision: replace, because: worn", None),
        ("measured: {inside: 60.052}, decision: reuse", None),
    ],
)
def test_where_decision_and_limits_differ_both_are_shown(line: str, differs: str | None) -> None:
    one = bench(line)
    assert _bearing(one).differs == differs
    assert [gap.what for gap in one.gaps if gap.kind == "differs"] == ([f"Bearing 1: {differs}"] if differs else [])


def bearing_with(family: str, build: str, strip: str = "") -> PartStory:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": family,
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", f"bearing-1: {{part: B-1, {build}}}"),
    }
    if strip:
        line = f"bearing-1: {{part: B-1, {strip}}}"
        files["engines/E1/teardowns/2026-03-01/teardown.yml"] = sheet("2026-03-01", line)
    return part(told(files), "B-1")


def test_a_part_without_a_limit_goes_out_without_contradicting_one() -> None:
    without = FAMILY.replace(", limit: {max: 60.100}", "").replace(", limit: {min: 20.0}", "")
    strip = "measured: {inside: 60.060}, decision: replace, because: worn"
    bearing = bearing_with(without, "measured: {inside: 60.050}", strip)
    assert (bearing.state, bearing.state_why, bearing.differs) == ("within", "no limit written", None)


def test_a_part_whose_only_limit_was_never_measured_against_is_not_measured() -> None:
    bearing = bearing_with(FAMILY.replace(", limit: {max: 60.100}", ""), "measured: {inside: 60.050}")  # width has one
    assert (bearing.state, bearing.state_why) == ("not measured", "no reading against its limit")


def test_an_interval_that_ran_out_later_does_not_speak_against_the_decision_before() -> None:
    files_after = "positions: {bearing-1: {part: B-1}}"
    one = bench("measured: {inside: 60.052}, decision: reuse", hours=70, after=files_after)
    assert _bearing(one).state == "overdue"
    assert _bearing(one).differs is None


def test_a_decision_to_replace_is_over_when_the_part_is_fitted_again() -> None:
    line = "measured: {inside: 60.052}, decision: replace, because: set"
    assert _bearing(bench(line)).decision == "replace"
    assert _bearing(bench(line, after="positions: {bearing-1: {part: B-1}}")).decision is None


def test_the_worst_of_an_engine_leaves_out_what_is_retired_or_not_measured() -> None:
    assert worst_of(["within", "near limit", "not measured", "retired"]) == "near limit"
    assert worst_of(["retired", "not measured"]) == "not measured"
    assert worst_of([]) == "not measured"


def test_an_engine_that_nobody_measured_is_not_within_because_nothing_is_due() -> None:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY + "    services: {oil: {hours: 5}}\n",
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 1}\n",
    }
    assert engine(told(files)).state == "not measured"
    files["engines/E1/log.yml"] = "- {date: 2026-02-01, kind: run, hours: 9}\n"
    assert engine(told(files)).state == "overdue"


UNLIMITED = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {rotor-1: rotor, shaft: shaft}
    kinds:
      rotor: {dimensions: {bore: {unit: mm}}, observe: [scoring]}
      shaft: {dimensions: {journal: {unit: mm}}, service: {replace: {hours: 60}}}
    fits: {seat: {outer: rotor-1.bore, inner: shaft.journal}}
    tests: {compression: {unit: kPa}}
    services: {oil: {hours: 50}}
"""
LIMITED = UNLIMITED.replace("bore: {unit: mm}", "bore: {unit: mm, limit: {max: 61}}")


@pytest.mark.parametrize(
    ("family", "line", "expected"),
    [
        (UNLIMITED, "rotor-1: {measured: {bore: 60.05}}, shaft: {measured: {journal: 60.0}}", "not measured"),
        (UNLIMITED, "rotor-1: {observed: {scoring: 1}}", "within"),
        (LIMITED, "rotor-1: , shaft: ", "not measured"),
        (LIMITED, "rotor-1: {measured: {bore: 60.05}}", "within"),
        (UNLIMITED.replace("shaft.journal}", "shaft.journal, limit: {max: 1}}"),
         "rotor-1: {measured: {bore: 60.05}}, shaft: {measured: {journal: 60.0}}", "within"),
        (UNLIMITED.replace("{unit: kPa}", "{unit: kPa, limit: {min: 600}}"), "rotor-1: ", "within"),
    ],
)  # fmt: skip
def test_an_engine_is_within_only_by_what_was_judged(family: str, line: str, expected: str) -> None:
    files = {
        "families/single.yml": family,
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", line),
        "engines/E1/inspections/2026-02-01.yml": sheet("2026-02-01", "", "tests: {compression: {rotor-1: [800]}}"),
    }
    one = engine(told(files))
    assert one.state == expected
    assert [test.test for test in one.tests_now] == ["compression"]
