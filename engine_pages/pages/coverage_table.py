"""How often the intervals held the truth on drawn shops, as measured: nothing in, constants for the methods page out.

Made by `python tests/coverage_of_intervals.py 2000`, whose lines stand here as they were printed; after a change of the
model run it again and write its lines anew.
"""

from dataclasses import dataclass
from typing import Final

COMMAND: Final = "python tests/coverage_of_intervals.py 2000"
SHOPS: Final = 2000
WRONG_SHOPS: Final = 1000  # of each wrong kind
STANDARD_ERROR: Final = (0.3, 0.3, 0.6, 0.6, 0.3)  # of the first row's five shares, in points of per cent


@dataclass(frozen=True, slots=True)
class Coverage:
    """A group of drawn parts: how many, and how often, in per cent, intervals that say 90 or 50 held the truth.

    `line` at the end of the season, `crossing` when it meets its limit, `rate`. `unbounded`: the share, in per cent, of
    crossings without an upper bound. Median widths: `line_width` in ways from new to the limit, `crossing_width` in
    service lives.
    """

    group: str
    parts: int
    line_90: float
    crossing_90: float
    line_50: float
    crossing_50: float
    rate_90: float
    unbounded: float
    line_width: float
    crossing_width: float


@dataclass(frozen=True, slots=True)
class Said:
    """Chances of lasting the season that were said between `low` and `high`: how many parts, the mean that was said,
    the share that lasted and its standard error, all in per cent."""

    low: int
    high: int
    parts: int
    said: float
    lasted: float
    error: float


STRATA: Final = (
    Coverage("all", 9916, 90.7, 91.1, 50.8, 51.5, 91.1, 13.7, 0.42, 0.52),
    Coverage("2 parts", 584, 92.5, 92.0, 55.3, 53.8, 92.6, 22.8, 0.51, 0.57),
    Coverage("3 parts", 900, 90.0, 90.8, 52.3, 52.2, 91.2, 13.8, 0.47, 0.49),
    Coverage("4 parts", 1072, 91.3, 92.0, 51.1, 51.6, 91.5, 16.6, 0.43, 0.48),
    Coverage("5 parts", 1465, 89.7, 90.4, 50.7, 51.1, 89.7, 13.0, 0.42, 0.48),
    Coverage("6 parts", 1794, 91.3, 92.2, 50.2, 51.4, 91.9, 13.4, 0.42, 0.55),
    Coverage("7 parts", 1981, 90.4, 90.3, 48.5, 49.7, 91.0, 13.2, 0.40, 0.51),
    Coverage("8 parts", 2120, 90.4, 90.6, 51.7, 52.5, 90.8, 10.8, 0.40, 0.56),
    Coverage("2 readings of it", 3289, 90.8, 91.1, 52.1, 52.1, 91.5, 19.8, 0.48, 0.74),
    Coverage("3 readings of it", 3326, 91.1, 91.5, 48.6, 49.5, 91.3, 12.1, 0.42, 0.50),
    Coverage("4 readings of it", 3301, 90.1, 90.5, 51.9, 52.9, 90.5, 9.2, 0.37, 0.37),
    Coverage("extra scatter 0 ×", 3420, 92.7, 93.0, 54.3, 54.7, 92.4, 8.4, 0.32, 0.45),
    Coverage("extra scatter 1 ×", 3204, 90.8, 90.8, 51.7, 51.8, 91.3, 10.2, 0.39, 0.48),
    Coverage("extra scatter 3 ×", 3292, 88.4, 89.2, 46.4, 47.8, 89.5, 22.5, 0.61, 0.66),
    Coverage("shared zero 0 ×", 2488, 90.6, 90.8, 52.0, 52.3, 90.7, 11.3, 0.34, 0.38),
    Coverage("shared zero 0.5 ×", 2507, 89.7, 90.1, 49.2, 49.4, 90.3, 14.6, 0.39, 0.52),
    Coverage("shared zero 1 ×", 2369, 90.3, 91.0, 51.2, 51.5, 90.4, 12.7, 0.41, 0.54),
    Coverage("shared zero 2 ×", 2552, 92.0, 92.4, 50.9, 52.7, 92.9, 16.0, 0.53, 0.66),
    Coverage("life before unknown", 1218, 90.3, 91.6, 50.3, 52.6, 91.2, 17.3, 0.44, 0.48),
)

WRONG: Final = (
    Coverage("gauge understated", 4925, 86.4, 87.2, 45.1, 45.1, 87.6, 13.4, 0.39, 0.46),
    Coverage("one wild: the others", 5000, 91.3, 92.4, 53.5, 53.3, 91.9, 19.7, 0.48, 0.55),
    Coverage("one wild: the wild one", 1000, 80.1, 81.6, 38.7, 40.5, 80.1, 2.5, 0.51, 0.06),
    Coverage("run-in", 4925, 83.2, 78.7, 39.1, 36.8, 63.8, 5.4, 0.52, 0.39),
    Coverage("skewed rates", 4925, 91.9, 91.7, 52.3, 52.3, 91.7, 13.6, 0.42, 0.58),
    Coverage("suspicious only", 4925, 87.3, 87.7, 47.6, 48.2, 88.5, 2.1, 0.37, 0.28),
    Coverage("run-in, where straight", 4910, 88.2, 86.7, 45.9, 45.9, 82.2, 17.3, 0.51, 0.42),
)

CHANCES: Final = (
    Said(0, 5, 2335, 0.5, 0.6, 0.2),
    Said(5, 20, 481, 11.7, 16.0, 1.7),
    Said(20, 40, 400, 29.8, 41.5, 2.6),
    Said(40, 60, 386, 50.3, 57.8, 2.7),
    Said(60, 80, 518, 70.4, 75.1, 2.0),
    Said(80, 95, 860, 88.7, 90.1, 1.1),
    Said(95, 100, 4936, 99.5, 99.5, 0.1),
)
