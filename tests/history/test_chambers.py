"""Tests over time: a trend a face where faces are marked, else the lowest; what the last one is consistent with."""

import pytest

from engine_pages.history.chamber_falls import falls_of
from engine_pages.history.told_chambers import ChamberTrend

from .shop_for_tests import engine, told

FAMILY = """
    family: single
    architecture: {architecture}
    exposure: hours
    positions: {positions}
    kinds: {{rotor: {{}}, cylinder: {{}}}}
    tests:
      compression: {{unit: kPa, at: 250 rpm, limit: {{min: 500}}, spread: {{chambers: 100, rows: 150}}{curve}}}
"""
CURVE = ", curve: [[200, 0.9], [250, 1.0], [300, 1.05]]"
ROTOR = "{rotor-1: {kind: rotor, row: 1}}"
FOUR = "{" + ", ".join(f"cylinder-{n}: {{kind: cylinder, row: {n}}}" for n in range(1, 5)) + "}"


def trends(
    *tests: str, architecture: str = "rotary", positions: str = ROTOR, curve: str = CURVE
) -> tuple[ChamberTrend, ...]:
    """The trends of an engine with one inspection after each 10 h; `tests` are what each says of its compression."""
    first = positions.split(":")[0].strip("{ ")
    files = {
        "families/single.yml": FAMILY.format(architecture=architecture, positions=positions, curve=curve),
        "engines/E1/builds/2026-01-01.yml": f"engine: E1\ndate: 2026-01-01\npositions: {{{first}: }}\n",
        "engines/E1/log.yml": "".join(f"- {{date: 2026-0{n}-10, kind: run, hours: 10}}\n" for n in range(1, 7)),
    }
    for n, test in enumerate(tests, start=1):
        files[f"engines/E1/inspections/2026-0{n}-20.yml"] = (
            f"engine: E1\ndate: 2026-0{n}-20\ntests: {{compression: {{{test}}}}}\n"
        )
    return engine(told(files)).chambers


def test_marked_faces_have_a_line_each_in_their_own_order() -> None:
    (trend,) = trends(
        "rpm: 250, faces: marked, rotor-1: [812, 806, 799]", "rpm: 250, faces: marked, rotor-1: [805, 800, 790]"
    )
    assert trend.by_face
    assert [point.values for point in trend.points] == [(812.0, 806.0, 799.0), (805.0, 800.0, 790.0)]
    assert [(point.hours, point.since_build) for point in trend.points] == [(10.0, 10.0), (20.0, 20.0)]
    assert [point.sheet.day.isoformat() for point in trend.points] == ["2026-01-20", "2026-02-20"]
    assert [point.apart for point in trend.points] == [13.0, 15.0]


def test_faces_that_are_not_marked_are_told_by_the_lowest() -> None:
    (trend,) = trends("rpm: 250, rotor-1: [812, 806, 799]", "rpm: 250, faces: marked, rotor-1: [805, 800, 790]")
    assert not trend.by_face
    assert [trend.worst(point) for point in trend.points] == [799.0, 790.0]
    assert [point.apart for point in trend.points] == [13.0, 15.0]


def test_readings_are_brought_to_the_cranking_speed_by_the_familys_curve() -> None:
    (trend,) = trends("rpm: 300, faces: marked, rotor-1: [840, 840, 840]")
    assert trend.points[0].values == (pytest.approx(800.0),) * 3  # ÷ 1.05, exact at the curve's point
    assert trend.points[0].corrected
    assert trend.points[0].as_read is None


@pytest.mark.parametrize(
    ("test", "curve", "why"),
    [
        ("rpm: 400, rotor-1: [800, 800, 800]", CURVE, "400 rpm lies outside the curve, 200 to 300 rpm"),
        ("rotor-1: [800, 800, 800]", CURVE, "no cranking speed is written"),
        ("rpm: 280, rotor-1: [800, 800, 800]", "", "the family gives no curve for the cranking speed"),
        (
            "rotor-1: [800, 800, 800]",
            "",
            "no cranking speed is written, and the family gives no curve for the cranking speed",
        ),
        ("rpm: 250, rotor-1: [800, 800, 800]", "", None),
    ],
)
def test_what_was_not_corrected_is_said_with_the_reason(test: str, curve: str, why: str | None) -> None:
    (trend,) = trends(test, curve=curve)
    assert trend.points[0].as_read == why
    assert not trend.points[0].corrected


@pytest.mark.parametrize(
    ("faces", "words"),
    [
        ("[812, 640, 806]", "consistent with its side seal"),
        ("[650, 640, 806]", "consistent with the apex or corner seal between them"),
        ("[812, 806, 790]", ""),
    ],
)
def test_one_low_face_and_two_low_neighbours_are_told_apart_as_common_practice_has_it(faces: str, words: str) -> None:
    # Common practice of the rotary trade: an apex seal and its corner seals part two chambers, a side seal serves one.
    (trend,) = trends(f"rpm: 250, faces: marked, rotor-1: {faces}")
    assert words in trend.last.stands.words
    assert bool(words) == bool(trend.last.stands.words)


def test_faces_that_are_not_marked_point_to_nothing() -> None:
    (trend,) = trends("rpm: 250, rotor-1: [812, 640, 806]")
    assert trend.last.stands.words == ""
    assert trend.last.stands.pattern == "cannot tell"


def test_two_neighbouring_cylinders_point_between_them_and_one_to_itself() -> None:
    # Common practice: a gasket that leaks between two cylinders shows in both.
    def low(values: list[int]) -> list[str]:
        test = "rpm: 250, " + ", ".join(f"cylinder-{n}: {value}" for n, value in enumerate(values, 1))
        return [trend.last.stands.words for trend in trends(test, architecture="piston", positions=FOUR)]

    assert [bool(one) for one in low([1400, 1000, 1010, 1390])] == [False, True, True, False]
    assert "a leak between them" in low([1400, 1000, 1010, 1390])[1]
    assert "cylinder 3 low against the others: consistent with its rings or valves" in low([1400, 1395, 1010, 1390])[2]


def test_cylinders_are_neighbours_by_their_place_and_not_by_the_order_of_the_sheet() -> None:
    test = "rpm: 250, cylinder-4: 1390, cylinder-1: 1000, cylinder-3: 1400, cylinder-2: 1010"
    said = {trend.key: trend.last.stands.words for trend in trends(test, architecture="piston", positions=FOUR)}
    assert "neighbouring cylinders 1 and 2 low" in said["cylinder-1"]
    assert said["cylinder-3"] == said["cylinder-4"] == ""


def test_a_limit_at_another_cranking_speed_says_nothing_of_what_is_as_read() -> None:
    # Under 500 kPa at 250 rpm is the limit; at 400 rpm, where the curve does not reach, it is not held against it.
    (slow,) = trends("rpm: 250, faces: marked, rotor-1: [480, 470, 475]")
    (fast,) = trends("rpm: 400, faces: marked, rotor-1: [480, 470, 475]")
    assert slow.last.stands.pattern == "all low"
    assert fast.last.stands.pattern == "even"


def test_a_leak_down_gets_worse_upwards_and_one_that_loses_more_stands_out() -> None:
    family = FAMILY.replace(
        "compression:", "leak_down: {{unit: '%', limit: {{max: 12}}, spread: {{rows: 10}}}}\n      compression:"
    )
    files = {
        "families/single.yml": family.format(architecture="piston", positions=FOUR, curve=""),
        "engines/E1/builds/2026-01-01.yml": "engine: E1\ndate: 2026-01-01\npositions: {cylinder-1: }\n",
        "engines/E1/inspections/2026-02-01.yml": (
            "engine: E1\ndate: 2026-02-01\n"
            "tests: {leak_down: {supply: 100 psi, unit: psi, orifice: 1 mm, "
            "cylinder-1: 95, cylinder-2: 94, cylinder-3: 75, cylinder-4: 95}}\n"
        ),
    }
    told_trends = engine(told(files)).chambers
    assert {trend.worse for trend in told_trends} == {"up"}
    assert [trend.worst(trend.last) for trend in told_trends] == pytest.approx([5.0, 6.0, 25.0, 5.0])
    assert told_trends[2].last.stands.words == (
        "cylinder 3 losing more than the others: consistent with its rings or valves"
    )
    assert (told_trends[0].last.read_in, told_trends[0].last.orifice) == ("psi", "1 mm")


def test_a_bound_takes_no_part_in_what_stands_out_and_what_could_not_be_measured_is_told() -> None:
    test = "rpm: 250, cylinder-1: 1400, cylinder-2: over 900, cylinder-3: 1390, cylinder-4: not measurable"
    found = trends(test, architecture="piston", positions=FOUR)
    assert [one.last.stands.words for one in found] == [""] * 4
    assert [one.worst(one.last) for one in found] == [1400.0, None, 1390.0, None]
    assert [one.last.chambers[0].written for one in found] == ["1400", "over 900", "1390", "not measurable"]


FALLING = ("[800, 805, 798]", "[775, 780, 762]", "[768, 771, 741]", "[752, 758, 690]")


def marked(*faces: str) -> list[str]:
    return [f"rpm: 250, faces: marked, rotor-1: {one}" for one in faces]


def test_a_face_that_falls_by_itself_over_several_tests_is_told_beside_its_neighbours() -> None:
    falls = falls_of(trends(*marked(*FALLING)))
    assert [(one.name, one.change, one.others) for one in falls] == [
        ("face 1", 48.0, 77.5),
        ("face 2", 47.0, 78.0),
        ("face 3", 108.0, 47.5),
    ]
    assert {(one.of, one.hours, one.tests, one.assemblies) for one in falls} == {("Rotor 1", 30.0, 4, 1)}
    assert [one.alone for one in falls] == [False, False, True]


def test_faces_that_fall_together_and_scatter_of_a_test_stand_out_from_nothing() -> None:
    # Common practice, from memory: two cranking tests of one warm engine differ by up to 5 %.
    together = falls_of(trends(*marked("[800, 805, 798]", "[770, 775, 768]", "[700, 705, 698]")))
    assert [one.alone for one in together] == [False] * 3
    scatter = falls_of(trends(*marked("[800, 805, 798]", "[800, 805, 798]", "[800, 805, 760]")))
    assert [one.alone for one in scatter] == [False] * 3


@pytest.mark.parametrize(
    "tests",
    [
        marked(*FALLING[:2]),  # two tests: the difference may be the scatter of one
        [one.replace("faces: marked, ", "") for one in marked(*FALLING)],
        [one.replace("rpm: 250", "rpm: 400") for one in marked(*FALLING)],  # as read, each at a speed of its own
    ],
)
def test_what_does_not_compare_has_no_fall(tests: list[str]) -> None:
    assert falls_of(trends(*tests)) == ()


def test_tests_across_builds_are_told_with_how_many_assemblies_they_are_of() -> None:
    files = {"families/single.yml": FAMILY.format(architecture="rotary", positions=ROTOR, curve=CURVE)}
    for month, faces in enumerate(("[800, 805, 798]", "[768, 771, 741]", "[752, 758, 690]"), start=1):
        test = f"tests: {{compression: {{rpm: 250, faces: marked, rotor-1: {faces}}}}}"
        files[f"engines/E1/builds/2026-0{month}-01.yml"] = (
            f"engine: E1\ndate: 2026-0{month}-01\npositions: {{rotor-1: }}\n"
        )
        files[f"engines/E1/teardowns/2026-0{month}-20/teardown.yml"] = f"engine: E1\ndate: 2026-0{month}-20\n{test}\n"
    falls = falls_of(engine(told(files)).chambers)
    assert {(one.tests, one.assemblies) for one in falls} == {(3, 3)}


def test_a_cylinder_is_held_against_the_others() -> None:
    rows = ([1400, 1390, 1400, 1410], [1390, 1300, 1390, 1400], [1380, 1200, 1390, 1395])
    tests = ("rpm: 250, " + ", ".join(f"cylinder-{n}: {value}" for n, value in enumerate(row, 1)) for row in rows)
    falls = falls_of(trends(*tests, architecture="piston", positions=FOUR))
    assert [(one.name, one.change) for one in falls if one.alone] == [("Cylinder 2", 190.0)]
    assert falls[1].others == pytest.approx(15.0)


def test_a_test_before_a_strip_and_one_after_the_build_are_of_two_assemblies_at_the_same_hours() -> None:
    files = {
        "families/single.yml": FAMILY.format(architecture="rotary", positions=ROTOR, curve=CURVE),
        "engines/E1/builds/2026-01-01.yml": "engine: E1\ndate: 2026-01-01\npositions: {rotor-1: }\n",
        "engines/E1/log.yml": "- {date: 2026-02-10, kind: run, hours: 10}\n",
        "engines/E1/teardowns/2026-03-01/teardown.yml": (
            "engine: E1\ndate: 2026-03-01\npositions: {rotor-1: {decision: reuse}}\n"
            "tests: {compression: {rpm: 250, faces: marked, rotor-1: [700, 700, 700]}}\n"
        ),
        "engines/E1/builds/2026-04-01.yml": (
            "engine: E1\ndate: 2026-04-01\npositions: {rotor-1: }\n"
            "tests: {compression: {rpm: 250, faces: marked, rotor-1: [800, 800, 800]}}\n"
        ),
    }
    (trend,) = engine(told(files)).chambers
    assert [(point.hours, point.since_build) for point in trend.points] == [(10.0, 10.0), (10.0, 0.0)]
    assert [point.build.name for point in trend.points if point.build] == ["2026-01-01", "2026-04-01"]
