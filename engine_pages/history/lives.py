"""The lives of parts: what each has been through until any moment, across engines and moves."""

from collections import defaultdict
from dataclasses import dataclass

from ..records.engine import Prior
from ..records.fitting import Fitted, Fitting, PartEntry
from ..records.moments import Moment
from ..records.quantity import Quantity, in_unit
from ..wear.exposure import NOTHING, Exposure, total
from .ledgers import EngineLedger

LAST = (10**9, 0, 0)  # a moment after every other


@dataclass(frozen=True, slots=True)
class Life:
    """One part's stays, and its life before the records (`prior` None: taken as new)."""

    part: PartEntry
    stays: tuple[Fitted, ...]
    before: Exposure
    unknown_before: bool
    taken_as_new: bool


class Lives:
    """Every part's exposure, by the ledgers of the engines that it was in."""

    def __init__(self, fitting: Fitting, ledgers: dict[str, EngineLedger]) -> None:
        self._ledgers = ledgers
        stays: dict[str, list[Fitted]] = defaultdict(list)
        for stay in fitting.stays:
            stays[stay.part.id].append(stay)
        self._lives = {part.id: _life(part, tuple(stays[part.id])) for part in fitting.parts.values()}

    def of(self, part: str) -> Life:
        return self._lives[part]

    def all(self) -> tuple[Life, ...]:
        return tuple(self._lives.values())

    def stay_exposure(self, stay: Fitted, until: Moment | None = None) -> Exposure:
        """What a part went through in one stay, until a moment."""
        end = stay.ended
        if until is not None and (end is None or until < end):
            end = until
        if end is not None and end <= stay.began:
            return NOTHING
        return self._ledgers[stay.engine].ledger.between(stay.began, end)

    def exposure(self, part: str, until: Moment | None = None) -> Exposure:
        """All that a part went through since new, until a moment; "at least" where its life before is unknown."""
        life = self._lives[part]
        spent = total(self.stay_exposure(s, until) for s in life.stays if until is None or s.began < until)
        whole = life.before + spent
        if life.unknown_before:
            return Exposure(whole.hours, whole.km, whole.starts, whole.runs, whole.over_revs, whole.above_redline, True)
        return whole


def _life(part: PartEntry, stays: tuple[Fitted, ...]) -> Life:
    prior = part.file.it.prior if part.file else None
    origin = part.file.it.origin if part.file and part.file.it.origin else (stays[0].origin if stays else None)
    found = bool(stays) and stays[0].fitted is None and not stays[0].put_back_unwritten
    if isinstance(prior, Prior):
        if prior.known is None:
            return Life(part, stays, NOTHING, True, False)
        return Life(part, stays, _prior(prior.known), False, False)
    unknown = origin in ("used", "unknown") or found
    return Life(part, stays, NOTHING, unknown, origin is None and not unknown)


def _prior(known: dict[str, Quantity]) -> Exposure:
    hours = known.get("hours")
    km = known.get("km")
    counts = {name: float(known[name].number) if name in known else 0.0 for name in ("starts", "runs", "over_revs")}
    return Exposure(
        hours=float(in_unit(hours, "h", "h")) if hours else 0.0,
        km=float(in_unit(km, "km", "km")) if km else 0.0,
        starts=counts["starts"],
        runs=counts["runs"],
        over_revs=counts["over_revs"],
    )
