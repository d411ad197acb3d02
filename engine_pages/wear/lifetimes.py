"""The life of one unit, as far as a strip can tell it: exposures in, lives and their columns of numbers out.

A part found worn at strip failed somewhere between the last time it was known good and then; one still running, or
taken out for another reason, has a life longer than it ran; a used part is seen only from where it came in.
"""

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from scipy.special import ndtri

Vector = NDArray[np.float64]

# No curve is drawn through fewer failures than this, and the raw lives are shown instead. The shop's rule, not a
# standard's: an estimate with two failures has an interval from nearly nothing to nearly everything, and the normal
# approximation behind it holds least just there.
FEWEST_FAILURES = 3

# Exposures are told apart to so many figures: a tenth of a second in ten million hours, far more than a log knows, far
# less than adding up tenths of an hour leaves behind. So one and the same exposure is a tie, however it was added up.
FIGURES = 12


class Lifetime(Struct, frozen=True):
    """One life in exposure since new (hours, km, starts: one unit for all lives that are looked at together).

    `good` is the largest exposure at which the unit is known to have been good, `failed_by` that at which it was found
    failed; equal, the failure is known to the hour. `failed_by` None: still running, or taken out while good (for its
    hours, as one of a set), at `good`. `entered` is the exposure with which it came under observation: above zero for a
    used part, of which nothing would be known had it failed before. A used part whose earlier exposure is unknown has
    no life that can be told, nor has a part that was found bad before it ran: leave them out, and name them.

    ValueError for an exposure that is not finite or below zero, `good` before `entered`, a failure before `good`, or
    one at an exposure that is not past `entered`.

    >>> Lifetime(good=40.0, failed_by=60.0).exact, Lifetime(good=120.0).failed, Lifetime(54.0, 54.0).ended
    (False, False, 54.0)
    """

    good: float
    failed_by: float | None = None
    entered: float = 0.0

    def __post_init__(self) -> None:
        ends = (self.good,) if self.failed_by is None else (self.good, self.failed_by)
        if not all(math.isfinite(x) and x >= 0.0 for x in (self.entered, *ends)):
            raise ValueError(f"exposures of a life are finite and not below zero: {self}")
        if self.good < self.entered:
            raise ValueError(f"a life is known good when it enters, at {self.entered}, and not up to {self.good} alone")
        if self.failed_by is not None and (self.failed_by < self.good or self.failed_by <= self.entered):
            raise ValueError(f"a unit fails after it entered and was last good, not by {self.failed_by}: {self}")

    @property
    def failed(self) -> bool:
        """Whether the unit was found failed."""
        return self.failed_by is not None

    @property
    def exact(self) -> bool:
        """Whether the unit is known to have failed at one exposure."""
        return self.failed_by == self.good

    @property
    def ended(self) -> float:
        """The exposure at which it was last looked at, good or failed."""
        return self.good if self.failed_by is None else self.failed_by


class Columns(Struct, frozen=True, eq=False):
    """Lives as columns of one length, in an order of their own, so that the order given changes nothing.

    `by` is infinite where a unit has not failed.
    """

    entered: Vector
    good: Vector
    by: Vector

    @property
    def failed(self) -> NDArray[np.bool_]:
        """Which were found failed."""
        return np.isfinite(self.by)

    @property
    def exact(self) -> NDArray[np.bool_]:
        """Which failed at a known exposure."""
        return np.equal(self.by, self.good)


class Tied(Columns, frozen=True, eq=False):
    """Lives that are all different, each with how many units had it: parts of a set share one, and so do many sets."""

    count: Vector


def columns_of(lives: Sequence[Lifetime]) -> Columns:
    """The lives' exposures, rounded to `FIGURES` so that ties are ties, shape (n,) each.

    >>> columns_of([Lifetime(0.1 + 0.2), Lifetime(0.1, 0.3)]).good.tolist()
    [0.1, 0.3]
    """
    rows = sorted((to_figures(one.entered), to_figures(one.good), to_figures(one.failed_by)) for one in lives)
    table = np.array(rows, dtype=np.float64).reshape(-1, 3)
    return Columns(table[:, 0], table[:, 1], table[:, 2])


def tied_lives(lives: Sequence[Lifetime]) -> Tied:
    """The same with what is alike put together, shape (different lives,) each.

    >>> tied_lives([Lifetime(40.0), Lifetime(40.0), Lifetime(30.0, 35.0)]).count.tolist()
    [1.0, 2.0]
    """
    lines = columns_of(lives)
    table, counts = np.unique(np.column_stack([lines.entered, lines.good, lines.by]), axis=0, return_counts=True)
    return Tied(table[:, 0], table[:, 1], table[:, 2], counts.astype(np.float64))


def failures(lives: Sequence[Lifetime]) -> int:
    """How many of the lives ended in a failure.

    >>> failures([Lifetime(120.0), Lifetime(40.0, 60.0)])
    1
    """
    return sum(one.failed for one in lives)


def normal_quantile(confidence: float) -> float:
    """Half the width of a two-sided normal interval in standard deviations; ValueError outside 0 < confidence < 1.

    >>> round(normal_quantile(0.95), 4)
    1.96
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"a confidence lies between 0 and 1, not at {confidence}")
    return float(ndtri(0.5 + confidence / 2.0))


def to_figures(exposure: float | None) -> float:
    """An exposure with the figures that count, `FIGURES`; infinite where there is none.

    >>> to_figures(0.1 + 0.2), to_figures(None)
    (0.3, inf)
    """
    return math.inf if exposure is None else float(f"{exposure:.{FIGURES}g}")
