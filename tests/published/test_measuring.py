"""Uncertainty, temperature, form and clearance against published budgets, tables and practice."""

import math

import pytest

from engine_pages.wear.fits import clearances, clearances_verdict
from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured, from_repeats, plus, scaled
from engine_pages.wear.stations import out_of_round, taper
from engine_pages.wear.temperature import to_20c

NM = 1e-6  # mm


def test_a_mean_of_repeats_against_gum_h1() -> None:
    # JCGM 100:2008, H.1.3.2, from memory: five comparisons with a pooled standard deviation of 13 nm leave 5.8 nm;
    # the comparator adds 3.9 nm of random and 6.7 nm of systematic effects, 9.7 nm in all.
    five = from_repeats([215 * NM] * 5, repeat=13 * NM, zero=6.7 * NM, zero_source="comparator")
    assert math.sqrt(five.independent) == pytest.approx(5.8 * NM, abs=0.05 * NM)
    assert plus(five, Measured(0.0, (3.9 * NM) ** 2)).u == pytest.approx(9.7 * NM, abs=0.05 * NM)


def test_a_whole_budget_against_gum_h1() -> None:
    # JCGM 100:2008, annex H.1, an end gauge by comparison: l = l_s + d − l_s (δα·θ + α_s·δθ) = 50.000838 mm, combined
    # standard uncertainty 32 nm (31.7 unrounded) in first order.
    standard, found = Measured(50.000623, (25 * NM) ** 2), Measured(215 * NM, (9.7 * NM) ** 2)
    theta, expansion = -0.1, 11.5e-6
    of_expansion = scaled(Measured(0.0, 0.58e-6**2), -standard.value * theta)
    of_temperature = scaled(Measured(0.0, 0.029**2), -standard.value * expansion)
    length = plus(plus(standard, found), plus(of_expansion, of_temperature))
    assert length.value == pytest.approx(50.000838, abs=5e-10)
    assert of_expansion.u == pytest.approx(2.9 * NM, abs=0.05 * NM)
    assert of_temperature.u == pytest.approx(16.6 * NM, abs=0.1 * NM)
    assert length.u == pytest.approx(31.7 * NM, abs=0.05 * NM)


@pytest.mark.parametrize(
    ("part", "gauge", "at_20c"),
    [
        (23.6e-6, 0.0, 85.979709),  # aluminium alloy 6061 against a scale at 20 °C
        (23.6e-6, 11.5e-6, 85.989596),  # and against a steel gauge as warm as the bore
        (11.5e-6, 11.5e-6, 86.0),  # steel against steel
        (10.8e-6, 0.0, 85.990713),  # grey iron, the lower of two tables
    ],
)
def test_a_warm_bore_against_iso_1_and_tables_of_expansion(part: float, gauge: float, at_20c: float) -> None:
    # ISO 1: lengths are stated at 20 °C. Expansions from public tables (steel as in GUM H.1); the lengths follow from
    # the definition of expansion, worked out apart from this code.
    assert to_20c(Measured(86.0), 30.0, part, gauge, "part", "gauge").value == pytest.approx(at_20c, abs=1e-6)


# Bores read in two directions at three depths, as service manuals have it: out of round is the difference of the two
# directions at one depth, taper the difference of the depths in one direction, the largest of each (common practice).
BORE_MM = {
    "top-thrust": 86.052,
    "top-axial": 86.031,
    "middle-thrust": 86.040,
    "middle-axial": 86.029,
    "bottom-thrust": 86.021,
    "bottom-axial": 86.018,
}


def test_out_of_round_and_taper_against_service_manual_practice() -> None:
    stations = {name: Measured(value) for name, value in BORE_MM.items()}
    oval, cone = out_of_round(stations), taper(stations)
    assert oval is not None
    assert cone is not None
    assert oval.value.value == pytest.approx(0.021, abs=1e-9)
    assert cone.value.value == pytest.approx(0.031, abs=1e-9)


def test_two_points_against_iso_12181_roundness() -> None:
    # ISO 12181 roundness is radial (from memory). An ellipse of 86.040 by 86.000 mm has 0.020 mm of it: ours is twice
    # that. Three lobes of amplitude 0.010 mm have 0.020 mm of it, and two points do not see them at all.
    ellipse = out_of_round({"top-long": Measured(86.040), "top-short": Measured(86.000)})
    assert ellipse is not None
    assert ellipse.value.value == pytest.approx(2 * 0.020, abs=1e-9)

    def radius(angle: float) -> float:
        return 43.0 + 0.010 * math.cos(3 * angle)

    lobed = {f"top-{axis}": Measured(radius(axis) + radius(axis + math.pi)) for axis in (0.0, math.pi / 3, math.pi / 2)}
    unseen = out_of_round(lobed)
    assert unseen is not None
    assert unseen.value.value == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("shaft", "smallest", "largest"),
    [((-0.025, -0.009), 0.009, 0.050), ((0.026, 0.042), -0.042, -0.001)],
    ids=["H7/g6", "H7/p6"],
)
def test_clearances_against_iso_286(shaft: tuple[float, float], smallest: float, largest: float) -> None:
    # ISO 286-2 at 50 mm: H7 is 0 to +25 µm, g6 −25 to −9 µm, p6 +26 to +42 µm; clearance 9 to 50 µm, or interference.
    hole = {"smallest": Measured(50.000), "largest": Measured(50.025)}
    journal = {"smallest": Measured(50.0 + shaft[0]), "largest": Measured(50.0 + shaft[1])}
    found = clearances(hole, journal)
    assert found.smallest.value == pytest.approx(smallest, abs=1e-9)
    assert found.largest.value == pytest.approx(largest, abs=1e-9)
    assert clearances_verdict(found, Limit(min=smallest, max=largest)) == "within"
