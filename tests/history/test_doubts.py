"""Doubts that only the figures can show: slips of the pen and of the gauge, and parts that grew."""

import pytest

from engine_pages.history.sight import Sight
from engine_pages.history.tell import tell_one
from engine_pages.records.checks.all import read_checked

from .shop_for_tests import TODAY, doubts, sheet, texts, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing: bearing, shaft: shaft, seal: seal}
    kinds:
      bearing:
        dimensions:
          inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.105}, instrument: mic}
          inside_in: {unit: in, wears: up, new: [2.3638, 2.3646], limit: {max: 2.3663}, instrument: mic}
      shaft:
        dimensions: {journal: {unit: mm, wears: down, new: [59.985, 60.000], limit: {min: 59.965}, instrument: mic}}
      seal: {dimensions: {height: {unit: mm, wears: down, new: [7.980, 8.010], limit: {min: 7.500}, instrument: mic}}}
"""
PARTS = {"bearing": "B-1", "shaft": "S-1", "seal": "A-1"}


def doubted(place: str, dimension: str, *readings: str) -> list[str]:
    """What is doubted of a part that is read on its build, and then once a month after 10 h."""
    files = {
        "shop.yml": "instruments: {mic: {repeat: 0.001 mm, zero: 0.001 mm}}\n",
        "families/single.yml": FAMILY,
    }
    log = ""
    for nth, reading in enumerate(readings, 1):
        folder = "builds" if nth == 1 else "inspections"
        line = f"{place}: {{part: {PARTS[place]}, measured: {{{dimension}: {reading}}}}}"
        files[f"engines/E1/{folder}/2026-0{nth}-01.yml"] = f"engine: E1\ndate: 2026-0{nth}-01\npositions: {{{line}}}\n"
        log += f"- {{date: 2026-0{nth}-15, kind: run, hours: 10}}\n"
    files["engines/E1/log.yml"] = log
    return doubts(told(files))


@pytest.mark.parametrize(
    ("place", "dimension", "reading", "guess"),
    [
        ("bearing", "inside", "6.0061", "is the decimal point in its place?"),
        ("bearing", "inside", "600.61", "is the decimal point in its place?"),
        ("bearing", "inside", "60061", "is the decimal point in its place?"),
        ("bearing", "inside", "2.3646", "was it read in inches?"),
        ("bearing", "inside_in", "60.061", "was it read in millimetres?"),
        # One turn of a metric micrometer's thimble is 0.5 mm, of an inch one 0.025 in (trade practice).
        ("bearing", "inside", "60.561", "off by about one turn of a metric micrometer?"),
        ("bearing", "inside", "59.561", "off by about one turn of a metric micrometer?"),
        ("bearing", "inside", "60.696", "off by about one turn of an inch micrometer (0.025 in)?"),
        ("bearing", "inside_in", "2.3896", "off by about one turn of an inch micrometer (0.025 in)?"),
        ("shaft", "journal", "59.490", "off by about one turn of a metric micrometer?"),
        ("seal", "height", "8.490", "off by about one turn of a metric micrometer?"),
        ("bearing", "inside", "65.0", "is it the right line?"),
    ],
)
def test_a_reading_far_outside_the_new_range_is_doubted_with_a_guess(
    place: str, dimension: str, reading: str, guess: str
) -> None:
    (doubt,) = doubted(place, dimension, reading)
    assert doubt.endswith(guess)
    assert PARTS[place] in doubt


@pytest.mark.parametrize(
    ("place", "reading"),
    [("bearing", "60.050"), ("bearing", "60.150"), ("bearing", "60.020"), ("shaft", "59.900"), ("seal", "7.400")],
)
def test_a_part_that_is_only_worn_is_not_doubted(place: str, reading: str) -> None:
    assert doubted(place, {"bearing": "inside", "shaft": "journal", "seal": "height"}[place], reading) == []


def test_a_journal_that_grew_is_doubted_on_the_sheet_that_says_so() -> None:
    # Each change carries two zeros and two repeats of 1 µm: U = 1.645 · 2 µm = 3.3 µm.
    assert doubted("shaft", "journal", "59.980", "59.983") == []
    (doubt,) = doubted("shaft", "journal", "59.980", "59.984")
    assert doubt == ("journal of S-1 grew by 0.004 mm since 2026-01-01, against wear and beyond its uncertainty")


def test_a_bearing_that_closed_up_is_doubted() -> None:
    (doubt,) = doubted("bearing", "inside", "60.060", "60.070", "60.065")
    assert doubt.startswith("inside of B-1 shrank by 0.005 mm since 2026-02-01")


def test_wear_is_no_doubt() -> None:
    assert doubted("bearing", "inside", "60.050", "60.070", "60.090") == []


def test_a_reading_that_could_not_be_had_hides_no_doubt() -> None:
    (doubt,) = doubted("shaft", "journal", "59.980", "not measurable", "59.990")
    assert "since 2026-01-01" in doubt


def test_a_ground_journal_is_measured_against_its_undersize() -> None:
    files = {
        "shop.yml": "instruments: {mic: {repeat: 0.001 mm, zero: 0.001 mm}}\n",
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": """
            engine: E1
            date: 2026-01-01
            work: [{part: S-1, did: ground, dimensions: [journal], size: -0.50 mm}]
            positions: {shaft: {part: S-1, measured: {journal: 59.490}}}
        """,
    }
    assert doubts(told(files)) == []


def test_a_change_many_times_that_of_its_kind_is_doubted_on_the_sheet_that_wrote_it() -> None:
    files = {
        "shop.yml": "instruments: {mic: {repeat: 0.001 mm, zero: 0.001 mm}}\n",
        "families/single.yml": FAMILY.replace(
            "bearing: bearing,", ", ".join(f"b-{k}: bearing" for k in range(1, 8)) + ","
        ),
    }
    files["engines/E1/log.yml"] = "".join(f"- {{date: 2026-0{n}-15, kind: run, hours: 10}}\n" for n in (1, 2))
    steady = [(f"60.0{48 + k}", f"60.0{53 + k}", f"60.0{58 + k}") for k in range(6)]  # 0.5 µm an hour, all of them
    worn = [*steady, ("60.049", "60.054", "60.098")]
    for nth, folder in enumerate(("builds", "inspections", "inspections")):
        lines = ", ".join(f"b-{k}: {{part: B-{k}, measured: {{inside: {r[nth]}}}}}" for k, r in enumerate(worn, 1))
        day = f"2026-0{nth + 1}-01"
        files[f"engines/E1/{folder}/{day}.yml"] = f"engine: E1\ndate: {day}\npositions: {{{lines}}}\n"
    found = doubts(told(files))
    assert len(found) == 1
    assert found[0].startswith("inside of B-7 moved by +0.044 mm since 2026-02-01, ")
    assert "times the spread of its kind" in found[0]


def test_a_reader_of_one_engine_gets_the_doubt_without_how_the_kind_moves() -> None:
    """The kind wears in another engine: one alone may not stand behind a figure, yet the doubt stays."""
    files = {
        "shop.yml": "instruments: {mic: {repeat: 0.001 mm, zero: 0.001 mm}}\n",
        "families/single.yml": FAMILY.replace(
            "bearing: bearing,", ", ".join(f"b-{k}: bearing" for k in range(1, 7)) + ","
        ),
    }
    steady = [(f"60.0{48 + k}", f"60.0{53 + k}", f"60.0{58 + k}") for k in range(6)]
    for of, worn in (("E1", [("60.049", "60.054", "60.098")]), ("E2", steady)):
        files[f"engines/{of}/log.yml"] = "".join(f"- {{date: 2026-0{n}-15, kind: run, hours: 10}}\n" for n in (1, 2))
        for nth, folder in enumerate(("builds", "inspections", "inspections")):
            lines = [f"b-{k}: {{part: {of}-B-{k}, measured: {{inside: {r[nth]}}}}}" for k, r in enumerate(worn, 1)]
            day = f"2026-0{nth + 1}-01"
            files[f"engines/{of}/{folder}/{day}.yml"] = sheet(day, ", ".join(lines), of=of)
    own, pools = tell_one(read_checked(texts(files), TODAY), "E1", sight=Sight("E1"))
    moved = "inside of E1-B-1 moved by +0.044 mm since 2026-02-01: the right line, or did something happen?"
    assert [one.message for one in own.problems if " moved by " in one.message] == [moved]
    assert all(one.wear.of <= 1 for part in own.parts for one in part.dimensions)
    assert {candidate.engines for pool in pools.all().values() for candidate in pool.candidates} == {frozenset({"E1"})}
