"""How often the intervals held the truth on drawn shops, as measured: nothing in, constants for the methods page out.

Made by `python tests/coverage_of_intervals.py 2000`, whose lines stand here as they were printed; after a change of the
model run it again and write its lines anew.
"""

from typing import Final

from msgspec import Struct

COMMAND: Final = "python tests/coverage_of_intervals.py 2000"
SHOPS: Final = 2000
WRONG_SHOPS: Final = 1000  # of each wrong kind
STANDARD_ERROR: Final = (0.3, 0.3, 0.6, 0.6, 0.3)  # of the first row's five shares, in points of per cent


class Coverage(Struct, frozen=True):
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


class Said(Struct, frozen=True):
    """Chances of lasting the season that were said between `low` and `high`: how many parts, the mean that was said,
    the share that lasted and its standard error, all in per cent."""

    low: int
    high: int
    parts: int
    said: float
    lasted: float
    error: float


STRATA: Final = (
    Coverage("all", 9916, 90.7, 91.0, 50.8, 51.5, 91.1, 13.7, 0.42, 0.52),
    Coverage("2 parts", 584, 92.3, 92.0, 55.0, 53.8, 92.6, 22.8, 0.51, 0.57),
    Coverage("3 parts", 900, 90.1, 90.8, 52.2, 52.2, 91.2, 13.8, 0.47, 0.49),
    Coverage("4 parts", 1072, 91.3, 91.9, 51.2, 51.7, 91.5, 16.6, 0.43, 0.48),
    Coverage("5 parts", 1465, 89.7, 90.4, 50.7, 51.0, 89.8, 13.0, 0.42, 0.48),
    Coverage("6 parts", 1794, 91.3, 92.2, 50.2, 51.4, 91.9, 13.3, 0.42, 0.55),
    Coverage("7 parts", 1981, 90.4, 90.3, 48.6, 49.6, 91.0, 13.2, 0.40, 0.51),
    Coverage("8 parts", 2120, 90.4, 90.6, 51.7, 52.5, 90.6, 10.8, 0.40, 0.56),
    Coverage("2 readings of it", 3289, 90.7, 91.1, 52.1, 52.2, 91.5, 19.8, 0.48, 0.74),
    Coverage("3 readings of it", 3326, 91.1, 91.5, 48.6, 49.4, 91.2, 12.1, 0.42, 0.50),
    Coverage("4 readings of it", 3301, 90.2, 90.5, 51.9, 52.8, 90.5, 9.2, 0.37, 0.37),
    Coverage("extra scatter 0 ×", 3420, 92.7, 93.0, 54.3, 54.7, 92.4, 8.4, 0.32, 0.45),
    Coverage("extra scatter 1 ×", 3204, 90.8, 90.8, 51.6, 51.8, 91.3, 10.2, 0.39, 0.48),
    Coverage("extra scatter 3 ×", 3292, 88.4, 89.2, 46.5, 47.8, 89.5, 22.5, 0.61, 0.67),
    Coverage("shared zero 0 ×", 2488, 90.6, 90.8, 51.9, 52.3, 90.7, 11.3, 0.34, 0.38),
    Coverage("shared zero 0.5 ×", 2507, 89.6, 90.0, 49.2, 49.3, 90.3, 14.6, 0.39, 0.52),
    Coverage("shared zero 1 ×", 2369, 90.3, 91.0, 51.3, 51.6, 90.3, 12.7, 0.41, 0.54),
    Coverage("shared zero 2 ×", 2552, 92.1, 92.4, 51.0, 52.6, 92.8, 16.0, 0.53, 0.66),
    Coverage("life before unknown", 1218, 90.3, 91.5, 50.4, 52.5, 91.3, 17.3, 0.44, 0.48),
)

WRONG: Final = (
    Coverage("gauge understated", 4925, 86.4, 87.2, 45.2, 45.0, 87.7, 13.4, 0.39, 0.47),
    Coverage("one wild: the others", 5000, 91.3, 92.3, 53.5, 53.3, 91.9, 19.6, 0.48, 0.55),
    Coverage("one wild: the wild one", 1000, 80.2, 81.4, 38.6, 40.7, 80.5, 2.5, 0.51, 0.06),
    Coverage("run-in", 4925, 83.1, 78.6, 39.1, 36.7, 63.8, 5.3, 0.52, 0.39),
    Coverage("skewed rates", 4925, 91.9, 91.7, 52.4, 52.4, 91.8, 13.5, 0.42, 0.58),
    Coverage("suspicious only", 4925, 87.3, 87.7, 47.5, 48.1, 88.6, 2.1, 0.37, 0.28),
    Coverage("run-in, where straight", 4906, 88.1, 86.4, 45.8, 45.8, 82.1, 15.9, 0.50, 0.41),
)

CHANCES: Final = (
    Said(0, 5, 2334, 0.5, 0.6, 0.2),
    Said(5, 20, 483, 11.7, 16.1, 1.7),
    Said(20, 40, 398, 29.8, 41.5, 2.6),
    Said(40, 60, 385, 50.2, 57.4, 2.7),
    Said(60, 80, 519, 70.3, 75.1, 2.0),
    Said(80, 95, 863, 88.7, 90.0, 1.1),
    Said(95, 100, 4934, 99.5, 99.5, 0.1),
)
