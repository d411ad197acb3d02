"""Known gaps: what nobody measured, graded, decided, sourced or wrote down, each with its place."""

from datetime import date

from .shop_for_tests import engine, sheet, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing: bearing, seal: seal, engine: whole-engine}
    kinds:
      bearing:
        serial: yes
        dimensions: {inside: {unit: mm, wears: up, limit: {max: 60.1}}, width: {unit: mm, wears: down}}
      seal: {observe: [chipping]}
      whole-engine: {whole: yes, serial: yes, dimensions: {end_play: {unit: mm, limit: {max: 0.1}, source: line 1}}}
"""


def said(files: dict[str, str], day: date | None = None) -> dict[str, str | None]:
    """What is said → where it would be written."""
    return {gap.what: gap.source.line_text if gap.source else None for gap in engine(told(files, day)).gaps}


def shop(build: str, strip: str = "") -> dict[str, str]:
    files = {
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", build),
    }
    if strip:
        files["engines/E1/teardowns/2026-03-01/teardown.yml"] = sheet("2026-03-01", strip)
    return files


def test_a_dimension_with_a_limit_that_nobody_measured() -> None:
    gaps = said(shop("bearing: {part: B-1}"))
    assert gaps["Bearing: inside not measured"] == "families/single.yml:8"
    assert "Bearing: width not measured" not in gaps  # no limit is written for it


def test_what_has_no_limit_and_was_never_measured_is_named_kind_by_kind() -> None:
    gaps = said(shop("bearing: {part: B-1}"))
    assert gaps["Bearing: width, never measured; no limit is written"] == "families/single.yml:8"
    measured = said(shop("bearing: {part: B-1, measured: {width: 20.1}}"))
    assert not [what for what in measured if "never measured" in what]


def test_what_is_never_measured_of_a_set_is_one_gap_and_so_are_places_of_one_kind() -> None:
    family = SET.replace("seals-1: {", "seals-2: {kind: seal, names: [a1, a2, a3]}, seals-1: {")
    files = shop("seals-1: {part: {a1: A-1, a2: A-2, a3: A-3}}, seals-2: , pump: {measured: {gap: 0.1}}")
    gaps = said(files | {"families/single.yml": family.replace(", limit: {min: 7.5}", "")})
    assert "Seals 2, all 3, Seals 1, all 3: height, never measured; no limit is written" in gaps


def test_what_has_no_limit_is_one_gap() -> None:
    what = "no limit is written for bearing width: 1 of 3 dimensions and clearances is not judged"
    assert said(shop("bearing: {part: B-1, measured: {width: 20.1}}"))[what] == "families/single.yml:8"
    many = ", ".join(f"w{n}: {{unit: mm}}" for n in range(1, 7))
    family = FAMILY.replace("seal: {observe: [chipping]}", f"seal: {{dimensions: {{{many}}}}}")
    gaps = said(shop("bearing: , seal: ") | {"families/single.yml": family})
    assert (
        "no limit is written for bearing width, seal w1, seal w2, seal w3 and 3 more: "
        "7 of 9 dimensions and clearances are not judged"
    ) in gaps


def test_a_dimension_not_measured_since_it_was_machined() -> None:
    files = shop("bearing: {part: B-1, measured: {inside: 60.0}}")
    files["engines/E1/inspections/2026-02-01.yml"] = (
        "engine: E1\ndate: 2026-02-01\nwork: [{part: B-1, did: bored, dimensions: [inside]}]\n"
        "positions: {seal: {observed: {chipping: 0}}}\n"
    )
    assert "Bearing: inside not measured since bored, engines/E1/inspections/2026-02-01.yml:3" in said(files)


def test_a_serial_that_is_expected_and_not_written() -> None:
    gaps = said(shop("bearing: , seal: "))
    assert gaps["Bearing: a serial is expected and none is written"] == "engines/E1/builds/2026-01-01.yml:3"
    assert not [what for what in gaps if what.startswith("Seal: a serial")]
    assert not [what for what in gaps if what.startswith("Engine: a serial")]


def test_an_unknown_life_and_an_origin_that_nobody_wrote() -> None:
    gaps = said(shop("bearing: {part: B-1}"))
    assert "Bearing, B-1: no origin is written; taken as new when fitted by Build 2026-01-01" in gaps
    used = said(shop("bearing: {part: B-1, origin: used}"))
    assert "Bearing, B-1: life before is unknown; every figure is at least" in used
    assert not [what for what in used if "taken as new" in what]


def test_readings_without_a_gauge() -> None:
    gaps = said(shop("bearing: {part: B-1, measured: {inside: 60.0, width: 20.1}}"))
    assert gaps["Build 2026-01-01: no gauge is named for 2 readings; the uncertainty is assumed"] is not None


def test_a_strip_without_a_decision_and_never_of_the_whole_engine() -> None:
    gaps = said(
        shop(
            "bearing: {part: B-1}, seal: {part: A-1}",
            "bearing: {part: B-1, measured: {inside: 60.0}}, seal: {part: A-1, decision: reuse}, "
            "engine: {measured: {end_play: 0.05}}",
        )
    )
    assert [what for what in gaps if "no decision" in what] == [
        "Teardown 2026-03-01: no decision is written for Bearing"
    ]


def test_a_limit_without_a_source() -> None:
    gaps = said(shop("bearing: {part: B-1}"))
    assert "the limit of bearing.inside has no source; write source: beside it" in gaps


def test_a_decision_against_the_limits() -> None:
    gaps = said(shop("bearing: {part: B-1}", "bearing: {part: B-1, measured: {inside: 60.5}, decision: reuse}"))
    assert "Bearing: limits say beyond limit (inside); the builder decided reuse" in gaps


def test_hours_that_only_the_counter_knows_and_not_before_their_day() -> None:
    files = shop("bearing: {part: B-1}", "bearing: {part: B-1, decision: reuse}")
    files["engines/E1/builds/2026-01-01.yml"] += "counter: 10.0 h\n"
    files["engines/E1/teardowns/2026-03-01/teardown.yml"] += "counter: 14.0 h\n"
    what = "4.0 h are known from the counter alone; the log does not say them"
    assert said(files)[what] == "engines/E1/teardowns/2026-03-01/teardown.yml:4"
    assert what not in said(files, date(2026, 2, 1))
    assert not [gap for gap in said(files, date(2026, 2, 1)) if "decision" in gap]


def test_doubts_are_gaps_too_and_not_before_their_day() -> None:
    files = shop("bearing: {part: B-1, measured: {inside: 60.05}}")
    files["engines/E1/inspections/2026-02-01.yml"] = sheet("2026-02-01", "bearing: {measured: {inside: 60.00}}")
    what = "inside of B-1 shrank by 0.05 mm since 2026-01-01, against wear and beyond its uncertainty"
    assert said(files)[what] == "engines/E1/inspections/2026-02-01.yml:3"
    assert what not in said(files, date(2026, 1, 15))


def test_clearances_of_one_name_are_told_apart_by_their_rows() -> None:
    family = FAMILY.replace("{bearing: bearing,", "{bearing-1: bearing, bearing-2: bearing, shaft: shaft,").replace(
        "kinds:", "kinds:\n      shaft: {dimensions: {journal: {unit: mm, wears: down}}}"
    )
    family += """
    fits:
      running-1: {name: Running clearance, outer: bearing-1.inside, inner: shaft.journal, limit: {max: 0.1}}
      running-2: {name: Running clearance, outer: bearing-2.inside, inner: shaft.journal, limit: {max: 0.1}}
    """
    files = shop("bearing-1: {part: B-1}, bearing-2: {part: B-2}, shaft: {part: S-1}")
    gaps = said(files | {"families/single.yml": family})
    for row in (1, 2):
        assert f"Running clearance {row}: clearance not measured since this pair stands together" in gaps


SET = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {seals-1: {kind: seal, names: [a1, a2, a3]}, pump: pump}
    kinds:
      seal: {dimensions: {height: {unit: mm, limit: {min: 7.5}}}}
      pump: {dimensions: {gap: {unit: mm, limit: {max: 0.15}}}}
"""


def differing(strip: str) -> list[str]:
    files = {
        "families/single.yml": SET,
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", "seals-1: , pump: "),
        "engines/E1/teardowns/2026-03-01/teardown.yml": sheet("2026-03-01", strip),
    }
    return [gap.what for gap in engine(told(files)).gaps if gap.kind == "differs"]


def test_where_builder_and_limits_differ_a_set_is_one_line() -> None:
    pump = "pump: {measured: {gap: 0.9}, decision: reuse}"
    low = "limits say beyond limit (height); the builder decided reuse"
    of_pump = "Pump: limits say beyond limit (gap); the builder decided reuse"
    whole = f"seals-1: {{measured: {{height: 7.0}}, decision: reuse}}, {pump}"
    assert differing(whole) == [f"Seals 1, all 3: {low}", of_pump]
    two = f"seals-1: {{measured: {{height: {{a1: 7.0, a2: 7.9, a3: 7.0}}}}, decision: reuse}}, {pump}"
    assert differing(two) == [f"Seals 1, a1 and a3: {low}", of_pump]


def missing(build: str, inspection: str = "") -> list[str]:
    family = SET.replace("{height:", "{bow: {unit: mm, limit: {max: 0.05}}, height:")
    files = {"families/single.yml": family, "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", build)}
    if inspection:
        files["engines/E1/inspections/2026-02-01.yml"] = inspection
    return [gap.what for gap in engine(told(files)).gaps if gap.kind == "not measured"]


def test_what_is_not_measured_of_a_set_is_one_line() -> None:
    of_pump = "Pump: gap not measured"
    assert missing("seals-1: , pump: ") == [
        "Seals 1: none of 6 measured; missing bow of all 3; height of all 3",
        of_pump,
    ]
    some = "seals-1: {measured: {bow: 0.01, height: {a1: 7.9, a3: 7.9}}}, pump: "
    assert missing(some) == ["Seals 1: 5 of 6 measured; missing height of a2", of_pump]
    assert missing("seals-1: {measured: {bow: 0.01, height: 7.9}}, pump: ") == [of_pump]


def test_what_is_not_measured_of_a_set_since_it_was_worked_on_says_so() -> None:
    ground = (
        "engine: E1\ndate: 2026-02-01\nwork: [{position: seals-1/a1, did: lapped, dimensions: [bow]}]\n"
        "positions: {pump: {measured: {gap: 0.1}}}\n"
    )
    build = "seals-1: {part: {a1: A-1, a2: A-2, a3: A-3}, measured: {bow: 0.01, height: 7.9}}, pump: "
    assert missing(build, ground) == [
        "Seals 1: 5 of 6 measured; missing bow of a1 since lapped, engines/E1/inspections/2026-02-01.yml:3"
    ]
