"""The lives of parts: what each has been through until any moment, across engines and moves."""

from collections import defaultdict
from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from ..records.engine import PRIOR_UNITS, Prior
from ..records.fitting import Fitted, Fitting, PartEntry
from ..records.moments import Moment
from ..records.quantity import Quantity
from ..wear.exposure import NOTHING, Exposure, total
from .amounts import amount_in
from .ledgers import EngineLedger

FIRST = (0, 0, 0)  # a moment before every other
LAST = (10**9, 0, 0)  # a moment after every other


class Life(Struct, frozen=True):
    """One part's stays, and its life before the records: `before` is what is known of it."""

    part: PartEntry
    stays: tuple[Fitted, ...]
    before: Exposure
    unknown_before: bool
    taken_as_new: bool


class Lives:
    """Every part's exposure, by the ledgers of the engines that it was in; `units` are what each family reckons in."""

    def __init__(self, fitting: Fitting, ledgers: dict[str, EngineLedger], units: Mapping[str, str]) -> None:
        self._ledgers = ledgers
        self._stays_in: dict[str, list[Fitted]] = defaultdict(list)
        self._known: dict[tuple[str, Moment | None], Exposure] = {}
        stays: dict[str, list[Fitted]] = defaultdict(list)
        for stay in fitting.stays:
            stays[stay.part.id].append(stay)
            self._stays_in[stay.engine].append(stay)
        self._lives = {
            part.id: _life(part, tuple(stays[part.id]), units.get(part.family, "hours"))
            for part in fitting.parts.values()
        }

    def of(self, part: str) -> Life:
        return self._lives[part]

    def all(self) -> tuple[Life, ...]:
        return tuple(self._lives.values())

    def stay_exposure(self, stay: Fitted, until: Moment | None = None) -> Exposure:
        """What a part went through in one stay, until a moment; of a part that was found in place, "at least"."""
        spent = self._within(stay, None, until)
        if was_found(stay) and self._lives[stay.part.id].unknown_before:
            return replace(spent, at_least=True)
        return spent

    def exposure(self, part: str, until: Moment | None = None) -> Exposure:
        """All that a part went through since new, until a moment; "at least" where its life before is unknown."""
        key = (part, until)
        if key not in self._known:
            life = self._lives[part]
            begun = [n for n, stay in enumerate(life.stays, 1) if until is None or stay.began <= until]
            self._known[key] = self._since_new(life, max(begun, default=0), until)
        return self._known[key]

    def exposure_in(self, stay: Fitted, until: Moment) -> Exposure:
        """As `exposure`, for what was read on a part in one of its stays: what it ran in later ones is not counted.

        A part that was stripped from one engine and ran in another on the same day was read before that run.
        """
        life = self._lives[stay.part.id]
        return self._since_new(life, next(n for n, one in enumerate(life.stays, 1) if one is stay), until)

    def _since_new(self, life: Life, stays: int, until: Moment | None) -> Exposure:
        """The life before the records and so many stays, the last of them until a moment, those before it whole.

        Moments of one day in two engines do not compare: a part that is in the second has left the first.
        """
        spent = total(self._within(stay, None, None) for stay in life.stays[: max(stays - 1, 0)])
        spent += total(self._within(stay, None, until) for stay in life.stays[max(stays - 1, 0) : stays])
        return replace(life.before + spent, at_least=True) if life.unknown_before else life.before + spent

    def between(self, part: str, start: Moment, until: Moment) -> Exposure:
        """What a part went through from one moment to another, in whatever engines; its life before does not matter."""
        return total(self._within(stay, start, until) for stay in self._lives[part].stays)

    def _within(self, stay: Fitted, start: Moment | None, until: Moment | None) -> Exposure:
        """What one stay gave between two moments (None: since it began, until it ended)."""
        if until is not None and until < stay.began:
            return NOTHING
        began, ended = self._began(stay), stay.ended
        began = began if start is None else max(began, start)
        ended = until if ended is None or (until is not None and until < ended) else ended
        if ended is not None and ended <= began:
            return NOTHING
        return self._ledgers[stay.engine].ledger.between(began, ended)

    def _began(self, stay: Fitted) -> Moment:
        """When a stay began; a part that was found in place was there since the engine was last opened or closed."""
        if not was_found(stay):
            return stay.began
        handled = [other.began for other in self._stays_in[stay.engine] if other.fitted is not None]
        handled += [other.ended for other in self._stays_in[stay.engine] if other.ended is not None]
        return max((moment for moment in handled if moment < stay.began), default=FIRST)


def was_found(stay: Fitted) -> bool:
    """Whether a part was found in a place that no build sheet filled."""
    return stay.fitted is None and not stay.put_back_unwritten


def _life(part: PartEntry, stays: tuple[Fitted, ...], unit: str) -> Life:
    """A part's life, in a family that reckons in `unit`: a prior that does not say that unit leaves it unknown."""
    prior = part.file.it.prior if part.file else None
    origin = part.file.it.origin if part.file and part.file.it.origin else (stays[0].origin if stays else None)
    if isinstance(prior, Prior):
        before = _prior(prior.known or {})
        return Life(part, stays, before, before.is_bound(unit), False)
    unknown = origin in ("used", "unknown") or (bool(stays) and was_found(stays[0]))
    return Life(part, stays, NOTHING, unknown, origin is None and not unknown)


def _prior(known: dict[str, Quantity]) -> Exposure:
    """What is known of a life before; a unit that was not written, or cannot be read, is unknown and never zero."""
    before = Exposure(unwritten=frozenset(PRIOR_UNITS))
    for unit, written in known.items():
        amount = _amount(unit, written)
        before = before if amount is None else before.with_amount(unit, amount)
    return before


def _amount(unit: str, written: Quantity) -> float | None:
    symbol = {"hours": "h", "km": "km"}.get(unit)
    return amount_in(written, symbol) if symbol is not None else float(written.number)
