"""On drawn shops intervals hold the truth as often as they say; the full tables are by tests/coverage_of_intervals.py.

500 shops with fixed seeds. The bands are those that are promised for 2,000 shops, widened by 3.5 standard errors of 500
(parts of one shop are one cluster): a method that just keeps its promise fails one of these tests once in 1,000 draws.
"""

import numpy as np
import pytest
from coverage_of_intervals import Table, measured, reliability

SIGMAS = 3.5
SHOPS = 500


@pytest.fixture(scope="module")
def table() -> Table:
    return measured(SHOPS, seed=1)


@pytest.mark.parametrize(
    ("interval", "least", "most"),
    [
        ("line_90", 0.88, 0.92),
        ("crossing_90", 0.88, 0.92),
        ("line_50", 0.47, 0.53),
        ("crossing_50", 0.47, 0.53),
    ],
)
def test_intervals_hold_the_truth_as_often_as_they_say(table: Table, interval: str, least: float, most: float) -> None:
    share, se = table.share(interval)
    assert least - SIGMAS * se <= share <= most + SIGMAS * se


def test_the_chance_of_lasting_is_what_it_says(table: Table) -> None:
    said, (lasted, se) = float(table["chance"].mean()), table.share("lasted")
    assert said == pytest.approx(lasted, abs=0.02 + SIGMAS * se)
    # A quarter of the score of one who knows how many last, and no more.
    assert table.brier < 0.25 * lasted * (1.0 - lasted)
    # Cautious in the middle, never bold: of parts said to last, as many do.
    sure = table.where(table["chance"] >= 0.95)
    lasted, se = sure.share("lasted")
    assert lasted >= float(sure["chance"].mean()) - SIGMAS * max(se, 0.002)
    assert len(list(reliability(table))) == 7


def test_an_interval_is_not_right_by_being_endless(table: Table) -> None:
    assert float(np.isinf(table["crossing_width"]).mean()) < 0.2
    assert float(np.median(table["line_width"])) < 0.5
