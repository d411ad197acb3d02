"""A dimension over time: baselines, limits, verdicts, allowances, and when the line meets its limit."""

from datetime import date

import pytest

from engine_pages.history.story import DimensionStory
from engine_pages.wear.limits import Limit

from .shop_for_tests import doubts, engine, last, part, row, sheet, told

SHOP = """
    confidence: 0.90
    instruments: {mic: {repeat: 0.0010 mm, zero: 0.0010 mm, resolution: 0.001 mm, material: steel}}
"""
FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {shaft: shaft, bearing: bearing, housing: housing, bore: cylinder, engine: whole-engine}
    kinds:
      shaft:
        dimensions:
          journal: {unit: mm, wears: down, new: [59.980, 60.000], limit: {min: 59.950}, instrument: mic}
      bearing:
        dimensions:
          inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.100}, instrument: mic}
          play: {unit: mm, wears: up, limit: {max: 0.10}, instrument: mic}
      housing:
        dimensions:
          width:
            unit: mm
            wears: down
            stations: [plug, b, c]
            judge: each
            limit: {min: 79.900}
            instrument: mic
            loss: {difference: [plug, smallest, [b, c]], limit: {max: 0.06}}
      cylinder:
        dimensions:
          size:
            unit: mm
            wears: up
            stations: [top-thrust, top-pin, low-thrust, low-pin]
            limit: {max: 86.050}
            instrument: mic
            out_of_round: {limit: {max: 0.020}}
      whole-engine:
        whole: yes
        dimensions:
          end_play: {unit: mm, wears: either, new: [0.04, 0.06], limit: {min: 0.02, max: 0.10}, instrument: mic}
"""
RAN_10 = "- {date: 2026-01-15, kind: run, hours: 10}\n"
NEW = {"shaft": "S-1", "bearing": "B-1", "housing": "H-1", "bore": "C-1"}


def life(place: str, dimension: str, *readings: str, origin: str = "origin: new", plan: str = "") -> DimensionStory:
    """A part read on its build and then on one inspection after each 10 h; an empty text is not read."""
    serial = NEW[place]
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        f"parts/{serial}.yml": f"serial: {serial}\nkind: {_kind(place)}\n{origin}\n",
    }
    log = []
    for nth, reading in enumerate(readings):
        day = f"2026-0{nth + 1}-01"
        said = f"{{part: {serial}, measured: {{{dimension}: {reading}}}}}"
        folder = "builds" if nth == 0 else "inspections"
        if reading or nth == 0:
            files[f"engines/E1/{folder}/{day}.yml"] = sheet(day, f"{place}: {said}")
        log.append(f"- {{date: 2026-0{nth + 1}-15, kind: run, hours: 10}}\n")
    files["engines/E1/log.yml"] = "".join(log[:-1]) or "[]\n"
    if plan:
        files["engines/E1/plan.yml"] = plan
    return row(told(files), serial, dimension)


def _kind(place: str) -> str:
    return {"bore": "cylinder"}.get(place, place)


@pytest.mark.parametrize(
    ("value", "verdict"),
    [("60.096", "within"), ("60.098", "undecided"), ("60.102", "undecided"), ("60.103", "beyond")],
)
def test_a_verdict_needs_the_whole_uncertainty_on_one_side_against_iso_14253_1(value: str, verdict: str) -> None:
    # ISO 14253-1: conformity where the value lies inside by U at least, nonconformity where it lies outside by U, else
    # neither. u = √(0.0010² + 0.0010²) = 1.414 µm; U = 1.645 u = 2.33 µm about the limit of 60.100.
    inside = life("bearing", "inside", "60.050", value)
    assert last(inside).verdict == verdict
    assert inside.state == {"within": "near limit", "undecided": "undecided", "beyond": "beyond limit"}[verdict]


def test_the_share_used_runs_from_the_reading_of_the_first_day() -> None:
    inside = life("bearing", "inside", "60.060", "60.080")
    assert inside.baseline_from == "reading"
    assert inside.allowance is not None
    assert inside.allowance.used == pytest.approx(0.5)  # (60.080 − 60.060) / (60.100 − 60.060)
    assert inside.allowance.low < 0.5 < inside.allowance.high


def test_with_no_reading_of_the_first_day_it_runs_from_the_middle_of_new() -> None:
    inside = life("bearing", "inside", "", "60.080")
    assert (inside.baseline, inside.baseline_from) == (pytest.approx(60.050), "new range")
    assert inside.allowance is not None
    assert inside.allowance.used == pytest.approx(0.6)  # 0.030 of 0.050
    assert inside.allowance.high - inside.allowance.low > 0.1  # where it started is not known


def test_with_nothing_to_start_from_no_share_is_given() -> None:
    play = life("bearing", "play", "", "0.05")
    assert (play.baseline, play.baseline_from, play.allowance) == (None, "unknown", None)
    assert play.state == "within"


def test_a_part_of_unknown_life_is_measured_against_new_and_its_line_starts_at_its_first_reading() -> None:
    inside = life("bearing", "inside", "60.080", "60.090", origin="prior: unknown")
    assert inside.baseline_from == "new range"
    assert inside.allowance is not None
    assert inside.allowance.used == pytest.approx(0.8)  # 0.040 of 0.050: it did not come new
    assert inside.state == "near limit"
    assert inside.line is not None
    assert inside.line.intercept == pytest.approx(60.080)
    assert inside.rate is not None
    assert inside.rate.value == pytest.approx(0.001)


def test_one_reading_on_the_first_day_claims_no_rate_and_no_bound() -> None:
    inside = life("bearing", "inside", "60.050")
    assert (inside.line, inside.rate, inside.to_limit, inside.chance) == (None, None, None, None)


def test_one_later_reading_with_no_new_range_claims_no_rate_and_no_bound() -> None:
    play = life("bearing", "play", "", "0.05")
    assert (play.line, play.rate, play.to_limit) == (None, None, None)


def test_one_later_reading_inside_the_new_range_shows_no_wear_and_has_no_latest_hour() -> None:
    inside = life("bearing", "inside", "", "60.052")
    assert inside.rate is not None
    assert inside.rate.holds(0.0)
    assert inside.to_limit is not None
    assert inside.to_limit.high is None
    assert inside.to_limit.low is not None  # but not before that


def test_a_line_through_exact_wear_meets_the_limit_where_arithmetic_says() -> None:
    # 60.050 at 0 h, 60.060 at 10 h, 60.070 at 20 h: 0.001 mm/h, and 0.050 mm to the limit: 50 h.
    inside = life("bearing", "inside", "60.050", "60.060", "60.070")
    assert inside.rate is not None
    assert inside.rate.value == pytest.approx(0.001)
    assert inside.to_limit is not None
    assert inside.to_limit.median == pytest.approx(50.0)
    assert inside.to_limit.low is not None
    assert inside.to_limit.high is not None
    assert inside.to_limit.low < 50.0 < inside.to_limit.high
    assert inside.now == pytest.approx(20.0)


def test_the_chance_of_lasting_the_plan_is_that_of_the_line_at_its_end() -> None:
    def chance(hours: int) -> DimensionStory:
        plan = f"events: [{{date: 2026-12-01, name: Race, hours: {hours}}}]\nkeep: 0.90\n"
        return life("bearing", "inside", "60.050", "60.060", "60.070", plan=plan)

    short, even, long = chance(5), chance(30), chance(60)
    assert short.chance is not None
    assert even.chance is not None
    assert long.chance is not None
    assert short.chance > 0.99
    assert even.chance == pytest.approx(0.5, abs=1e-6)
    assert long.chance < 0.02
    assert (short.state, long.state) == ("within", "near limit")


def reground(on: str) -> dict[str, str]:
    """A journal worn to 59.952, ground 0.25 mm under on a teardown (after its readings) or on the build after it."""
    work = "work: [{part: S-1, did: ground, dimensions: [journal], size: -0.25 mm}]\n"
    strip = sheet("2026-02-01", "shaft: {part: S-1, measured: {journal: 59.952}, decision: rework}")
    build = sheet("2026-02-10", "shaft: {part: S-1, measured: {journal: 59.740}}")
    return {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "parts/S-1.yml": "serial: S-1\nkind: shaft\norigin: new\n",
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", "shaft: {part: S-1, measured: {journal: 59.990}}"),
        "engines/E1/teardowns/2026-02-01/teardown.yml": strip + (work if on == "teardown" else ""),
        "engines/E1/builds/2026-02-10.yml": build + (work if on == "build" else ""),
        "engines/E1/teardowns/2026-04-01/teardown.yml": (
            sheet("2026-04-01", "shaft: {part: S-1, measured: {journal: 59.735}, decision: reuse}")
        ),
        "engines/E1/log.yml": RAN_10 + "- {date: 2026-03-15, kind: run, hours: 20}\n",
    }


@pytest.mark.parametrize("on", ["teardown", "build"])
def test_a_regrind_opens_a_new_baseline_and_moves_range_and_limit(on: str) -> None:
    journal = row(told(reground(on)), "S-1", "journal")
    assert journal.baseline_number == 1
    assert journal.limit == Limit(min=pytest.approx(59.700))
    assert journal.new == (pytest.approx(59.730), pytest.approx(59.750))
    assert (journal.baseline, journal.baseline_from) == (pytest.approx(59.740), "reading")
    assert [(r.baseline, r.exposure, r.verdict) for r in journal.readings] == [
        (0, 0.0, "within"),
        (0, 10.0, "undecided"),
        (1, 0.0, "within"),
        (1, 20.0, "within"),
    ]
    assert journal.now == pytest.approx(20.0)
    assert journal.rate is not None
    assert journal.rate.low < -0.005 / 20 < journal.rate.high
    assert journal.rate.value == pytest.approx(-0.005 / 20, rel=0.05)


@pytest.mark.parametrize("on", ["teardown", "build"])
def test_machining_never_resets_a_life(on: str) -> None:
    assert part(told(reground(on)), "S-1").since_new.hours == 30.0


@pytest.mark.parametrize("on", ["teardown", "build"])
def test_a_part_that_was_not_read_after_grinding_starts_from_its_new_range(on: str) -> None:
    files = reground(on)
    files["engines/E1/builds/2026-02-10.yml"] = files["engines/E1/builds/2026-02-10.yml"].replace(
        ", measured: {journal: 59.740}", ""
    )
    journal = row(told(files), "S-1", "journal")
    assert (journal.baseline, journal.baseline_from) == (pytest.approx(59.740), "new range")
    assert last(journal).exposure == 20.0


def test_as_of_a_day_before_the_grinding_nothing_of_it_is_known() -> None:
    journal = row(told(reground("build"), date(2026, 2, 5)), "S-1", "journal")
    assert (journal.baseline_number, journal.limit) == (0, Limit(min=59.950))
    assert len(journal.readings) == 2
    assert journal.state == "undecided"
    assert journal.now == 10.0


def test_a_second_strip_sheet_of_a_day_comes_after_the_work_of_the_first() -> None:
    files = reground("teardown")
    files["engines/E1/teardowns/2026-02-01-2/teardown.yml"] = sheet(
        "2026-02-01", "shaft: {part: S-1, measured: {journal: 59.741}, decision: reuse}"
    )
    journal = row(told(files), "S-1", "journal")
    assert [(r.value, r.baseline) for r in journal.readings[1:3]] == [(59.952, 0), (59.741, 1)]


def test_ground_and_polished_on_one_sheet_is_one_new_beginning() -> None:
    files = reground("build")
    path = "engines/E1/builds/2026-02-10.yml"
    files[path] = files[path].replace("}]\n", "}, {part: S-1, did: polished, dimensions: [journal]}]\n")
    journal = row(told(files), "S-1", "journal")
    assert (journal.baseline_number, journal.limit) == (1, Limit(min=pytest.approx(59.700)))
    assert journal.baseline_why is not None
    assert journal.baseline_why.startswith("ground, polished, ")


def test_a_bought_undersize_moves_range_and_limit_too() -> None:
    journal = life("shaft", "journal", "59.490", origin="origin: new\nsize: {journal: -0.50 mm}")
    assert journal.limit == Limit(min=pytest.approx(59.450))
    assert last(journal).verdict == "within"


@pytest.mark.parametrize("on", ["teardown", "build"])
def test_a_sheet_before_the_grinding_shows_the_limit_of_its_time(on: str) -> None:
    sheets = {one.ref.day: one for one in engine(told(reground(on))).sheets}
    then, now = (sheets[day].measured[0].dimension for day in (date(2026, 2, 1), date(2026, 4, 1)))
    assert (then.limit, now.limit) == (Limit(min=59.950), Limit(min=pytest.approx(59.700)))


def test_a_size_that_can_be_of_one_dimension_alone_needs_no_name() -> None:
    journal = life("shaft", "journal", "59.490", origin="origin: new\nsize: -0.50 mm")
    assert journal.limit == Limit(min=pytest.approx(59.450))


def test_a_size_that_may_be_of_several_dimensions_moves_none_and_is_doubted() -> None:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "parts/B-1.yml": "serial: B-1\nkind: bearing\norigin: new\nsize: 0.25 mm\n",
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", "bearing: {part: B-1, measured: {inside: 60.050}}"),
    }
    story = told(files)
    assert row(story, "B-1", "inside").limit == Limit(max=60.100)
    assert any("which dimension is 0.25 mm of" in one and "inside, play" in one for one in doubts(story))


def test_judged_each_station_has_its_own_row_and_the_difference_one_more() -> None:
    width = "{plug: 79.990, b: 79.960, c: 79.935}"
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": (
            sheet("2026-01-01", f"housing: {{part: H-1, measured: {{width: {width}}}}}")
        ),
    }
    housing = part(told(files), "H-1")
    assert {d.id: last(d).value for d in housing.dimensions} == {
        "width@plug": 79.990,
        "width@b": 79.960,
        "width@c": 79.935,
        "width.loss": pytest.approx(0.055),
    }
    loss = housing.dimensions[-1]
    assert last(loss).station == "plug − c"
    assert last(loss).u == pytest.approx(0.0010 * 2**0.5)  # one micrometer, one zero: it cancels
    assert last(loss).worked_out


def test_of_the_stations_the_largest_bore_meets_the_limit_and_out_of_round_is_two_point() -> None:
    # Two-point and diametral: for an oval twice the roundness of ISO 12181, by our definition.
    size = "{top-thrust: 86.031, top-pin: 86.010, low-thrust: 86.012, low-pin: 86.008}"
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": (sheet("2026-01-01", f"bore: {{part: C-1, measured: {{size: {size}}}}}")),
    }
    cylinder = {d.id: d for d in part(told(files), "C-1").dimensions}
    assert (last(cylinder["size"]).value, last(cylinder["size"]).station) == (86.031, "top-thrust")
    assert last(cylinder["size.out_of_round"]).value == pytest.approx(0.021)
    assert cylinder["size.out_of_round"].state == "undecided"
    assert last(cylinder["size.taper"]).value == pytest.approx(0.019)
    assert cylinder["size.taper"].limit is None


def test_of_readings_and_bounds_at_stations_the_worst_meets_the_limit() -> None:
    size = "{top-thrust: 86.031, top-pin: over 86.060, low-thrust: 86.012, low-pin: 86.008}"
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": (sheet("2026-01-01", f"bore: {{part: C-1, measured: {{size: {size}}}}}")),
    }
    assert row(told(files), "C-1", "size").state == "beyond limit"


def test_what_is_assembled_as_a_whole_has_a_new_baseline_at_every_build() -> None:
    def read(day: str, play: str) -> str:
        return sheet(day, f"engine: {{measured: {{end_play: {play}}}}}")

    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": read("2026-01-01", "0.050"),
        "engines/E1/inspections/2026-02-01.yml": read("2026-02-01", "0.070"),
        "engines/E1/teardowns/2026-03-01/teardown.yml": read("2026-03-01", "0.080"),
        "engines/E1/builds/2026-03-10.yml": read("2026-03-10", "0.050"),
        "engines/E1/log.yml": RAN_10 + "- {date: 2026-02-15, kind: run, hours: 10}\n",
    }
    story = told(files)
    first, second = (row(story, f"E1.engine.{nth}", "end_play") for nth in (1, 2))
    assert [r.value for r in first.readings] == [0.050, 0.070, 0.080]
    assert [r.exposure for r in first.readings] == [0.0, 10.0, 20.0]
    assert [(r.value, r.exposure) for r in second.readings] == [(0.050, 0.0)]


def test_a_change_carries_its_own_uncertainty_and_names_the_reading_before() -> None:
    inside = life("bearing", "inside", "60.050", "60.060")
    first, second = inside.readings
    assert (first.change, first.change_u) == (None, None)
    assert second.change == pytest.approx(0.010)
    assert second.change_u == pytest.approx(1.645 * 0.002)  # two sheets, two zeros: √(4 · 0.001²)


def test_a_dimension_that_does_not_wear_has_no_line() -> None:
    files = {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY.replace("wears: up, limit: {max: 0.10}", "wears: none, limit: {max: 0.10}"),
        "engines/E1/builds/2026-01-01.yml": sheet("2026-01-01", "bearing: {part: B-1, measured: {play: 0.04}}"),
        "engines/E1/inspections/2026-02-01.yml": sheet("2026-02-01", "bearing: {part: B-1, measured: {play: 0.05}}"),
        "engines/E1/log.yml": "- {date: 2026-01-15, kind: run, hours: 10}\n",
    }
    assert row(told(files), "B-1", "play").line is None
