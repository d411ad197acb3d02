"""Readings at 20 °C, and what is not known of the materials."""

import pytest

from engine_pages.wear.measured import Measured, minus
from engine_pages.wear.temperature import EXPANSION_PER_K, to_20c

STEEL, ALUMINIUM = EXPANSION_PER_K["steel"], EXPANSION_PER_K["aluminium"]
OF_STEEL, OF_ALUMINIUM = ("expansion", "steel"), ("expansion", "aluminium")


def aluminium_at(value: float, temperature_c: float) -> Measured:
    return to_20c(Measured(value, 1e-6), temperature_c, ALUMINIUM, STEEL, OF_ALUMINIUM, OF_STEEL)


def test_at_20_degrees_nothing_changes() -> None:
    assert aluminium_at(86.0, 20.0) == Measured(86.0, 1e-6)


def test_a_warm_aluminium_bore_is_smaller_at_20_degrees() -> None:
    assert aluminium_at(86.0, 30.0).value < 86.0 < aluminium_at(86.0, 10.0).value


def test_a_tenth_of_each_expansion_is_carried() -> None:
    bore = aluminium_at(86.0, 30.0)
    assert bore.shared[OF_ALUMINIUM] == pytest.approx(-86.0 * 10.0 * 2.2e-6, rel=1e-3)
    assert bore.shared[OF_STEEL] == pytest.approx(86.0 * 10.0 * 1.15e-6, rel=1e-3)


def test_the_contribution_is_what_a_tenth_more_expansion_does() -> None:
    bore = aluminium_at(86.0, 35.0)
    more = to_20c(Measured(86.0), 35.0, ALUMINIUM * 1.1, STEEL, OF_ALUMINIUM, OF_STEEL)
    assert bore.shared[OF_ALUMINIUM] == pytest.approx(more.value - bore.value, rel=1e-3)


def test_part_and_gauge_of_one_steel_leave_nothing_unknown() -> None:
    journal = to_20c(Measured(60.0, 1e-6), 35.0, STEEL, STEEL, OF_STEEL, OF_STEEL)
    assert journal.value == 60.0
    assert journal.shared == {}


def test_two_bores_at_one_temperature_share_what_is_unknown() -> None:
    loss = minus(aluminium_at(86.01, 30.0), aluminium_at(86.0, 30.0))
    assert loss.u == pytest.approx(2e-6**0.5, rel=1e-3)


def test_what_a_reading_shares_is_kept_and_scaled() -> None:
    bore = to_20c(Measured(86.0, 0.0, {"zero": 0.001}), 30.0, ALUMINIUM, STEEL, OF_ALUMINIUM, OF_STEEL)
    assert bore.shared["zero"] == pytest.approx(0.001, rel=1e-3)
