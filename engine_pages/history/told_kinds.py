"""A kind of part told over the whole shop: the lives of its parts, how often they are replaced, how fast they wear."""

from typing import Literal

from msgspec import Struct

from ..wear.among_like import Rank
from ..wear.bends import Bend
from ..wear.lifetimes import Lifetime
from ..wear.pool.summary import JointSummary
from ..wear.renewals import Growth
from ..wear.survival import Survival
from ..wear.trend import Interval
from ..wear.weibull import Weibull
from .told_parts import SheetRef

Ending = Literal["failed", "taken out", "running", "on the shelf", "undecided", "taken out, nothing written"]


class LifeStory(Struct, frozen=True):
    """One part's life since new, in the family's exposure.

    `run` is all that it ran. `life` is what is known of it: good at its last look, or failed between two of them.
    `ending` is how it stands: failed (out for good, worn or damaged), taken out for another reason, running, good on
    the shelf, out with no decision yet, or out with nothing written of it. `because` and `sheet` are those of the
    builder's word that ended it.
    """

    part: str
    named: bool
    engine: str
    slot_name: str
    run: float
    life: Lifetime
    ending: Ending
    because: str | None
    sheet: SheetRef | None


class LifeLeftOut(Struct, frozen=True):
    """A part whose life cannot be told, and why."""

    part: str
    why: str


class LivesStory(Struct, frozen=True):
    """The lives of a kind, the longest first.

    `events` are the sheets on which failures were found: parts that fail together are one thing that happened. `curve`
    and `law` are None where there are too few failures, or the lives say nothing of them: `no_law` then gives the
    reason, and `no_curve` where there were enough. `reached` is the life that nine of ten reach, by the law.
    """

    lives: tuple[LifeStory, ...]
    left_out: tuple[LifeLeftOut, ...]
    failures: int
    events: int
    curve: Survival | None
    law: Weibull | None
    reached: Interval | None
    no_law: str
    no_curve: str = ""


class RenewalsStory(Struct, frozen=True):
    """How many parts a place has used up by an engine's exposure, on average over the engines of the family.

    `growths` are for one place, of the `places` that all `engines` have; engines with more places weigh more. The
    engine is the unit of the interval, since its places are opened together. `replaced` in all, `left_out` the engines
    whose exposure is not known whole. The curve goes up to `until`, `beyond` of the replaced lie past it; where that is
    so because engines came apart there, had such a part replaced and have not run since, `stopped_by` names those.
    """

    places: int
    engines: tuple[str, ...]
    left_out: tuple[str, ...]
    replaced: int
    growths: tuple[Growth, ...]
    until: float
    beyond: int
    stopped_by: tuple[str, ...]


class RateStory(Struct, frozen=True):
    """How fast one part wears on its present baseline, wear counted upward, in the value's unit per exposure.

    `dimension` names it where the kind has several alike (journals). `slot_name` of `engine` is the place for most of
    that baseline; `oils` are all that were in the engine, with what was run on each, the longest first (no name: none
    is written).
    """

    part: str
    named: bool
    dimension: str
    engine: str
    slot_name: str
    oils: tuple[tuple[str, float], ...]
    rate: Interval
    readings: int
    rank: Rank | None


class DimensionRates(Struct, frozen=True):
    """The rates of one dimension, the fastest first.

    `place` where the family keeps places apart. `measured` parts were read of the `of` that there are. `usual` is the
    rate, with its interval, of a part still to be fitted; `wear_shows` is of the parts that were read. `bend` says
    whether a constant rate fits; where it does not, lines hold from `since` on. `summary` is the pool's joint summary.
    """

    id: str
    name: str
    place: str
    unit: str
    measured: int
    of: int
    rates: tuple[RateStory, ...]
    usual: Interval | None
    wear_shows: bool
    bend: Bend | None
    since: float
    summary: JointSummary | None


class KindStory(Struct, frozen=True):
    """One kind of one family, over all engines. `whole` is an assembly, new at every build: it has no life of its own.

    `parts` are all that the records know, `measured` how many of them were ever read. `unit` is the family's exposure.
    """

    family: str
    family_name: str
    kind: str
    name: str
    whole: bool
    parts: tuple[str, ...]
    measured: int
    unit: str
    confidence: float
    lives: LivesStory | None
    renewals: RenewalsStory | None
    rates: tuple[DimensionRates, ...]
    not_measured: tuple[str, ...]
