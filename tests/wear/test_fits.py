"""Clearances of two parts."""

from collections.abc import Hashable

import pytest

from engine_pages.wear.fits import clearance, clearances, clearances_verdict
from engine_pages.wear.limits import Limit
from engine_pages.wear.measured import Measured

BORE = {"top": Measured(60.075, 1e-6), "low": Measured(60.065, 1e-6)}
JOURNAL = {"front": Measured(60.000, 1e-6), "rear": Measured(60.010, 1e-6)}


def test_one_gauge_on_one_sheet_leaves_no_zero_in_a_clearance() -> None:
    zero: dict[Hashable, float] = {("zero", "mic", "T-0412"): 0.005}
    gap = clearance(Measured(60.06, 1e-6, zero), Measured(60.00, 1e-6, zero))
    assert gap.value == pytest.approx(0.06)
    assert gap.u == pytest.approx(2e-6**0.5)


def test_two_gauges_leave_both_zeros_in_a_clearance() -> None:
    gap = clearance(Measured(60.06, 0.0, {"bore gauge": 0.003}), Measured(60.0, 0.0, {"mic": 0.004}))
    assert gap.u == pytest.approx(0.005)


def test_stations_give_the_largest_and_the_smallest_clearance() -> None:
    found = clearances(BORE, JOURNAL)
    assert found.largest.value == pytest.approx(0.075)
    assert found.largest_at == ("top", "front")
    assert found.smallest.value == pytest.approx(0.055)
    assert found.smallest_at == ("low", "rear")


def test_parts_read_once_have_one_clearance() -> None:
    found = clearances(Measured(60.07), Measured(60.0))
    assert found.largest == found.smallest
    assert found.largest_at == (None, None)


def test_each_end_meets_its_own_limit() -> None:
    found = clearances(BORE, JOURNAL)
    assert clearances_verdict(found, Limit(min=0.040, max=0.100)) == "within"
    assert clearances_verdict(found, Limit(max=0.070)) == "beyond"
    assert clearances_verdict(found, Limit(min=0.060, max=0.100)) == "beyond"
    assert clearances_verdict(found, Limit(min=0.054, max=0.100)) == "undecided"


def test_a_part_without_a_reading_has_no_clearance() -> None:
    with pytest.raises(ValueError, match="needed"):
        clearances({}, JOURNAL)
