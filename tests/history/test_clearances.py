"""Clearances of parts that stand together: worked out, measured directly, and begun anew when a pair parts."""

import math
from datetime import date

import pytest

from engine_pages.history.story import FitStory, ShopStory

from .shop_for_tests import engine, fit, last, told

SHOP = """
    instruments:
      mic: {repeat: 0.001 mm, zero: 0.001 mm, resolution: 0.001 mm, material: steel}
      bore: {repeat: 0.001 mm, zero: 0.001 mm, resolution: 0.001 mm, material: steel}
      feeler: {resolution: 0.01 mm}
"""
FAMILY = """
    family: single
    architecture: piston
    exposure: hours
    positions: {bearing-1: bearing, shaft: shaft, cylinder-1: cylinder, piston-1: piston}
    kinds:
      bearing: {dimensions: {inside: {unit: mm, wears: up, new: [50.000, 50.025], instrument: bore}}}
      shaft: {dimensions: {journal: {unit: mm, wears: down, new: [49.975, 49.991], instrument: mic}}}
      cylinder:
        dimensions:
          size: {unit: mm, wears: up, stations: [top-thrust, mid-thrust, low-thrust], judge: each, instrument: bore}
      piston: {dimensions: {skirt: {unit: mm, wears: down, instrument: mic}}}
    fits:
      running: {name: Running clearance, outer: bearing-1.inside, inner: shaft.journal, limit: {min: 0.009, max: 0.080}}
      piston-to-bore-1: {outer: cylinder-1.size@mid-thrust, inner: piston-1.skirt, limit: {max: 0.100}}
      piston-anywhere-1: {outer: cylinder-1.size, inner: piston-1.skirt, limit: {min: 0.030, max: 0.100}}
"""


def shop(**sheets: str) -> dict[str, str]:
    """Sheets by name: `build_0101`, `teardown_0301` …, each the lines under its head; 10 h run each half month."""
    files = {"shop.yml": SHOP, "families/single.yml": FAMILY}
    for name, body in sheets.items():
        kind, day = name.split("_")[:2]
        on = f"2026-{day[:2]}-{day[2:]}"
        path = f"teardowns/{on}/teardown.yml" if kind == "teardown" else f"{kind}s/{on}.yml"
        files[f"engines/E1/{path}"] = f"engine: E1\ndate: {on}\n{body}\n"
    files["engines/E1/log.yml"] = "".join(f"- {{date: 2026-{m:02}-15, kind: run, hours: 10}}\n" for m in range(1, 5))
    return files


def told_fit(story: ShopStory) -> FitStory:
    return next(one for one in engine(story).fits if one.id == "running")


def both(inside: str, journal: str, more: str = "") -> str:
    return (
        f"positions:\n  bearing-1: {{part: B-1, measured: {{inside: {inside}}}{more}}}\n"
        f"  shaft: {{part: S-1, measured: {{journal: {journal}}}{more}}}"
    )


@pytest.mark.parametrize(
    ("inside", "journal", "clearance"),
    [("50.000", "49.991", 0.009), ("50.025", "49.975", 0.050), ("50.012", "49.983", 0.029)],
)
def test_a_running_fit_of_50_mm_against_iso_286(inside: str, journal: str, clearance: float) -> None:
    # ISO 286-2: 50 H7 is +25/0 µm and 50 g6 is −9/−25 µm, so that their clearance lies between 9 and 50 µm.
    running = fit(told(shop(build_0101=both(inside, journal))), "running")
    assert last(running).value == pytest.approx(clearance, abs=1e-9)


def test_the_clearance_of_two_new_parts_follows_from_their_ranges_against_iso_286() -> None:
    running = fit(told(shop(build_0101=both("50.010", "49.980"))), "running")
    assert running.new == (pytest.approx(0.009), pytest.approx(0.050))


def test_two_gauges_add_their_uncertainties() -> None:
    reading = last(fit(told(shop(build_0101=both("50.010", "49.980"))), "running"))
    assert reading.u == pytest.approx(math.sqrt(4) * 0.001)
    assert reading.worked_out


def test_a_side_read_before_serves_while_it_has_not_run_since() -> None:
    build = "positions:\n  bearing-1: {part: B-2, measured: {inside: 50.004}}\nrest: as before"
    story = told(
        shop(
            build_0101=both("50.010", "49.980"),
            teardown_0301=both("50.030", "49.976", ", decision: reuse").replace(
                "inside: 50.030}, decision: reuse", "inside: 50.030}, decision: replace, because: worn"
            ),
            build_0302=build,
        )
    )
    running = fit(story, "running")
    assert [(r.sheet.day.isoformat(), r.value) for r in running.readings] == [("2026-03-02", pytest.approx(0.028))]


def test_a_side_that_has_run_since_it_was_read_serves_no_more() -> None:
    story = told(
        shop(
            build_0101=both("50.010", "49.980"),
            inspection_0301="positions: {bearing-1: {measured: {inside: 50.020}}}",
        )
    )
    assert len(fit(story, "running").readings) == 1


def test_a_strip_and_a_rebuild_do_not_part_a_pair() -> None:
    story = told(
        shop(
            build_0101=both("50.010", "49.980"),
            teardown_0301=both("50.020", "49.978", ", decision: reuse"),
            build_0302="rest: as before",
            teardown_0401=both("50.024", "49.977", ", decision: reuse"),
        )
    )
    running = fit(story, "running")
    assert [(r.exposure, r.value) for r in running.readings] == [
        (0.0, pytest.approx(0.030)),
        (20.0, pytest.approx(0.042)),
        (30.0, pytest.approx(0.047)),
    ]
    assert (running.baseline_from, running.baseline) == ("reading", pytest.approx(0.030))
    assert running.wears == "up"
    assert told_fit(story).later is None


def test_a_pair_that_parts_and_comes_back_begins_anew() -> None:
    story = told(
        shop(
            build_0101=both("50.010", "49.980"),
            teardown_0201=both("50.014", "49.979", ", decision: reuse"),
            build_0202="positions: {bearing-1: {part: B-2, measured: {inside: 50.002}}}\nrest: as before",
            teardown_0301="positions:\n  bearing-1: {part: B-2, measured: {inside: 50.006}, decision: replace}\n"
            "  shaft: {part: S-1, measured: {journal: 49.977}, decision: reuse}",
            build_0302="positions: {bearing-1: {part: B-1}}\nrest: as before",
            teardown_0501=both("50.030", "49.970", ", decision: reuse"),
        )
    )
    running = fit(story, "running")
    # What was read while the other bearing stood there is not of this pair, nor what was read before it went.
    assert [(r.sheet.day.isoformat(), r.exposure, r.value) for r in running.readings] == [
        ("2026-05-01", 20.0, pytest.approx(0.060))
    ]
    assert running.now == pytest.approx(20.0)


def test_each_sheet_shows_the_clearance_of_the_pair_that_stood_then() -> None:
    story = told(
        shop(
            build_0101=both("50.010", "49.980"),
            teardown_0201=both("50.014", "49.979", ", decision: replace"),
            build_0202=both("50.001", "49.990").replace("B-1", "B-2").replace("S-1", "S-2"),
        )
    )
    found = {
        sheet.ref.name: row.reading.value
        for sheet in engine(story).sheets
        for row in sheet.measured
        if row.slot == "running"
    }
    assert found == {
        "2026-01-01": pytest.approx(0.030),
        "2026-02-01": pytest.approx(0.035),
        "2026-02-02": pytest.approx(0.011),
    }


def test_grinding_a_journal_begins_the_clearance_anew_and_leaves_the_old_sheets_as_they_were() -> None:
    work = "\nwork: [{part: S-1, did: ground, dimensions: [journal], size: -0.25 mm}]"
    story = told(
        shop(
            build_0101=both("50.010", "49.980"),
            teardown_0201=both("50.014", "49.979", ", decision: reuse") + work,
            build_0202=both("50.014", "49.960"),
        )
    )
    running = fit(story, "running")
    assert [(r.value, r.exposure) for r in running.readings] == [(pytest.approx(0.054), 0.0)]
    strip = next(sheet for sheet in engine(story).sheets if sheet.ref.kind == "teardown")
    before = [row.reading.value for row in strip.measured if row.slot == "running"]
    assert before == [pytest.approx(0.035)]


def test_a_clearance_measured_directly_goes_before_one_worked_out() -> None:
    body = both("50.010", "49.980") + "\nfits: {running: 0.02..0.03 mm}"
    reading = last(fit(told(shop(build_0101=body)), "running"))
    assert (reading.kind, reading.low, reading.high, reading.verdict) == ("range", 0.02, 0.03, "within")


def test_a_gauge_named_for_the_fit_is_used_for_it() -> None:
    body = both("50.010", "49.980") + "\nfits: {running: 0.03}"
    files = shop(build_0101=body)
    files["families/single.yml"] = FAMILY.replace("inner: shaft.journal,", "inner: shaft.journal, instrument: feeler,")
    assert last(fit(told(files), "running")).instrument == "feeler"


BORE = "{top-thrust: 86.040, mid-thrust: 86.020, low-thrust: 86.010}"
PISTON = f"positions:\n  cylinder-1: {{measured: {{size: {BORE}}}}}\n  piston-1: {{measured: {{skirt: 85.955}}}}"


def test_a_fit_at_one_station_takes_that_station_alone() -> None:
    # The dimension is judged station by station, and its fits still find it.
    assert last(fit(told(shop(build_0101=PISTON)), "piston-to-bore-1")).value == pytest.approx(0.065)


def test_with_stations_the_largest_meets_the_max_and_the_smallest_the_min() -> None:
    anywhere = fit(told(shop(build_0101=PISTON)), "piston-anywhere-1")
    assert last(anywhere).value == pytest.approx(0.085)
    assert last(anywhere).station == "top-thrust"
    assert last(anywhere).verdict == "within"
    tight = fit(told(shop(build_0101=PISTON.replace("85.955", "85.985"))), "piston-anywhere-1")
    assert last(tight).verdict == "beyond"  # 86.010 − 85.985 = 0.025, under the least of 0.030


def test_a_fit_measured_at_stations_is_judged_by_both_ends() -> None:
    body = PISTON + "\nfits: {piston-anywhere-1: {top-thrust: 0.09, low-thrust: 0.01}}"
    reading = last(fit(told(shop(build_0101=body)), "piston-anywhere-1"))
    assert (reading.value, reading.station, reading.verdict) == (0.09, "top-thrust", "beyond")


def test_sides_in_two_units_are_brought_to_one() -> None:
    files = shop(build_0101=both("50.010", "1.9677"))
    files["families/single.yml"] = FAMILY.replace(
        "{unit: mm, wears: down, new: [49.975, 49.991], instrument: mic}", "{unit: in, wears: down, instrument: mic}"
    )
    # 1.9677 in is 49.97958 mm.
    assert last(fit(told(files), "running")).value == pytest.approx(0.03042, abs=1e-9)


def test_a_pair_of_which_one_part_is_missing_has_no_clearance() -> None:
    story = told(shop(build_0101="positions: {shaft: {part: S-1, measured: {journal: 49.980}}}"))
    assert not [one for one in engine(story).fits if one.id == "running"]


def test_a_fit_that_nobody_measured_is_a_gap() -> None:
    story = told(shop(build_0101="positions: {shaft: {part: S-1}, bearing-1: {part: B-1}}"))
    assert fit(story, "running").state == "not measured"
    said = [gap.what for gap in engine(story).gaps]
    assert "Running clearance 1: clearance not measured since this pair stands together" in said


def test_a_pair_that_was_ground_at_the_strip_and_not_built_since_is_told_too() -> None:
    work = "\nwork: [{part: S-1, did: ground, dimensions: [journal], size: -0.25 mm}]"
    story = told(
        shop(build_0101=both("50.010", "49.980"), teardown_0301=both("50.030", "49.976", ", decision: reuse") + work)
    )
    running = fit(story, "running")
    assert (running.readings, running.state) == ((), "not measured")


# ── one side read again alone: the other has run on, and its wear goes one way ───────────────────────────────────────


def read_alone(second: str, first: str = both("50.010", "49.980"), **more: str) -> FitStory:
    return told_fit(told(shop(build_0101=first, inspection_0301=f"positions: {{{second}}}", **more)))


def test_a_side_read_alone_gives_the_newest_clearance_with_both_days() -> None:
    found = read_alone("bearing-1: {measured: {inside: 50.020}}").later
    assert found is not None
    assert found.value == pytest.approx(0.040)
    assert found.read == (("B-1", date(2026, 3, 1)), ("S-1", date(2026, 1, 1)))
    assert (found.bound, found.verdict) == ("at the least", "within")  # the journal can but have lost since


def test_what_ran_on_says_whether_it_is_the_least_or_the_most() -> None:
    grows = read_alone("shaft: {measured: {journal: 49.975}}").later
    assert grows is not None
    assert grows.bound == "at the least"  # the bearing, which was not read, opens it
    files = shop(
        build_0101=both("50.010", "49.980"), inspection_0301="positions: {shaft: {measured: {journal: 49.97}}}"
    )
    files["families/single.yml"] = FAMILY.replace("inside: {unit: mm, wears: up", "inside: {unit: mm, wears: down")
    shrinks = told_fit(told(files)).later
    assert shrinks is not None
    assert shrinks.bound == "at the most"


def test_the_worse_of_the_pair_and_of_the_newest_reading_of_each_is_its_state() -> None:
    past = read_alone("bearing-1: {measured: {inside: 50.070}}")  # 0.090, at the least, and 0.080 is allowed
    assert (past.state, past.dimension.state) == ("beyond limit", "beyond limit")
    near = read_alone("bearing-1: {measured: {inside: 50.060}}")  # 0.080 on the limit
    assert near.state == "undecided"
    inside = read_alone("bearing-1: {measured: {inside: 50.020}}")
    assert inside.state == "within"


def test_a_clearance_at_the_least_so_much_is_not_beyond_its_least_for_certain() -> None:
    tight = both("50.002", "49.990")  # 0.012; 0.009 is the least
    found = read_alone("bearing-1: {measured: {inside: 49.993}}", tight)
    assert found.later is not None
    assert (found.later.value, found.later.verdict) == (pytest.approx(0.003), "undecided")


def test_a_side_read_after_it_went_elsewhere_says_nothing_of_the_pair_it_left() -> None:
    story = told(
        shop(
            build_0101=both("50.010", "49.980"),
            teardown_0201=both("50.014", "49.979", ", decision: reuse"),
            build_0202="positions: {bearing-1: {part: B-2}}\nrest: as before",
            inspection_0301="positions: {bearing-1: {measured: {inside: 50.020}}}",
        )
    )
    assert told_fit(story).later is None  # the new pair was never read on both sides
    old = [row for sheet in engine(story).sheets for row in sheet.measured if row.slot == "running"]
    assert [row.state for row in old] == ["within", "within"]
