"""Checks of what a family measures against: units, limits, ranges of new parts, and where each comes from."""

from collections.abc import Iterator

from msgspec import Struct

from ..family import Family, Form, LimitLine
from ..fields import wrong_kind
from ..model import Record
from ..quantity import Quantity, in_unit
from ..resolve import fit_side, fit_unit
from ..slots import slots_of
from ..source import Problem, doubt, error, with_article
from ..units import UNITS, canonical, dimension_of, nearest_unit, two_meanings
from .checked import Checked
from .tests import BUILT_IN


class Limited(Struct, frozen=True):
    """One thing with a limit: `steps` lead to it in its family's file; `unit` None where it is not known."""

    record: Record[Family]
    steps: tuple[str, ...]
    unit: str | None
    limit: LimitLine | None
    new: tuple[Quantity, Quantity] | None
    source: str | None

    def amounts(self) -> Iterator[tuple[tuple[str | int, ...], Quantity]]:
        """Every number of the limit and of the new range, with the steps to it."""
        for side in ("min", "max"):
            amount = getattr(self.limit, side) if self.limit else None
            if amount is not None:
                yield (*self.steps, "limit", side), amount
        for index, amount in enumerate(self.new or ()):
            yield (*self.steps, "new", index), amount

    def has_limit(self) -> bool:
        return self.limit is not None and (self.limit.min is not None or self.limit.max is not None)

    def fits(self, amount: Quantity) -> bool:
        """Whether an amount can be brought to the unit."""
        return self.unit is not None and (amount.unit is None or dimension_of(amount.unit) == dimension_of(self.unit))

    def in_unit(self, amount: Quantity) -> Quantity:
        assert self.unit is not None
        return Quantity(in_unit(amount, self.unit, self.unit), self.unit, amount.written, amount.decimals)


def check_units(checked: Checked) -> Iterator[Problem]:
    """A unit is one that is known: every figure of the dimension is reckoned in it."""
    for record in checked.families():
        written: list[tuple[tuple[str, ...], str | None]] = [
            (("kinds", kind, "dimensions", name, "unit"), dimension.unit)
            for kind, it in record.it.kinds.items()
            for name, dimension in (it.dimensions or {}).items()
        ]
        written += [(("fits", name, "unit"), fit.unit) for name, fit in (record.it.fits or {}).items()]
        written += [(("tests", name, "unit"), test.unit) for name, test in (record.it.tests or {}).items()]
        for steps, unit in written:
            if unit is not None and canonical(unit) is None:
                yield error(record.place(*steps), no_unit(unit))


def no_unit(text: str) -> str:
    """The message for a text that is no unit, with what was most likely meant."""
    near, meanings = nearest_unit(text), two_meanings(text)
    if meanings:
        return f"{text!r} is {meanings[0]} to some and {meanings[1]} to others; write one of them"
    if near:
        return f"{text!r} is no unit here; did you mean {near}?"
    return f"{text!r} is no unit here; the units are {', '.join(unit.name for unit in UNITS)}"


def check_kinds_of_unit(checked: Checked) -> Iterator[Problem]:
    """Limits, new ranges, spreads and both sides of a fit measure what their dimension measures."""
    for one in _limited(checked):
        for steps, amount in one.amounts():
            if one.unit is not None and not one.fits(amount):
                yield error(one.record.place(*steps), wrong_kind(amount, dimension_of(one.unit)))
    for record in checked.families():
        for name, test in (record.it.tests or {}).items():
            unit = _known(test.unit or BUILT_IN.get(name))
            for side in ("chambers", "rows"):
                spread: Quantity | None = getattr(test.spread, side) if test.spread else None
                if spread is not None and unit and spread.unit and dimension_of(spread.unit) != dimension_of(unit):
                    yield error(record.place("tests", name, "spread", side), wrong_kind(spread, dimension_of(unit)))
        for name, fit in (record.it.fits or {}).items():
            outer, inner = _side_unit(record.it, fit.outer), _side_unit(record.it, fit.inner)
            if outer and inner and dimension_of(outer) != dimension_of(inner):
                message = f"outer is measured in {outer}, inner in {inner}: one cannot be taken from the other"
                yield error(record.place("fits", name, "inner"), message)
            own = _known(fit.unit)
            if own and outer and dimension_of(own) != dimension_of(outer):
                yield error(
                    record.place("fits", name, "unit"), f"{own} where {with_article(dimension_of(outer))} is wanted"
                )


def check_order(checked: Checked) -> Iterator[Problem]:
    """Least before most, across units too. A new part that lies beyond its limit can be true, and is a doubt."""
    for one in _limited(checked):
        amounts = {steps[-2:]: amount for steps, amount in one.amounts()}
        if not all(one.fits(amount) for amount in amounts.values()):
            continue
        brought = {end: one.in_unit(amount) for end, amount in amounts.items()}
        least, most = brought.get(("limit", "min")), brought.get(("limit", "max"))
        low, high = brought.get(("new", 0)), brought.get(("new", 1))
        if least and most and least.number > most.number:
            message = f"the limit is the wrong way round: min {least.written} is above max {most.written}"
            yield error(one.record.place(*one.steps, "limit"), message)
            continue
        if low and high and low.number > high.number:
            message = f"the range is the wrong way round: {low.written} is above {high.written}"
            yield error(one.record.place(*one.steps, "new"), message)
            continue
        for bound, new in ((most, high), (least, low)):
            beyond = bound and new and (new.number > bound.number if bound is most else new.number < bound.number)
            if beyond and bound and new:
                message = f"a new part may measure {new.written}, beyond the limit of {bound.written}"
                yield doubt(one.record.place(*one.steps, "limit"), message)


def check_sources(checked: Checked) -> Iterator[Problem]:
    """Every limit carries its own source: published limits disagree, and a buyer may ask."""
    for one in _limited(checked):
        if one.has_limit() and one.source is None:
            place = one.record.document.key_place(*one.steps, "limit")
            yield doubt(place, f"the limit of {_said(one.steps)} has no source; write source: beside it")


def _said(steps: tuple[str, ...]) -> str:
    return ".".join(step for step in steps[1:] if step != "dimensions")


def _limited(checked: Checked) -> Iterator[Limited]:
    for record in checked.families():
        for kind, it in record.it.kinds.items():
            for name, dimension in (it.dimensions or {}).items():
                steps = ("kinds", kind, "dimensions", name)
                unit = _known(dimension.unit)
                yield Limited(record, steps, unit, dimension.limit, dimension.new, dimension.source)
                forms: dict[str, Form | None] = {"out_of_round": dimension.out_of_round, "taper": dimension.taper}
                for word, form in (forms | dict(dimension.differences or {})).items():
                    if form is not None:
                        yield Limited(record, (*steps, word), unit, form.limit, form.new, form.source)
        for name, fit in (record.it.fits or {}).items():
            unit = _known(fit_unit(record.it, name))
            yield Limited(record, ("fits", name), unit, fit.limit, fit.new, fit.source)
        for name, test in (record.it.tests or {}).items():
            unit = _known(test.unit or BUILT_IN.get(name))
            yield Limited(record, ("tests", name), unit, test.limit, None, test.source)


def _known(unit: str | None) -> str | None:
    return canonical(unit) if unit is not None else None


def _side_unit(family: Family, text: str) -> str | None:
    side = fit_side(family, text)
    slot = slots_of(family).by_id.get(side[0]) if side else None
    kind = family.kinds.get(slot.kind) if slot else None
    dimension = (kind.dimensions or {}).get(side[1]) if kind and side else None
    return _known(dimension.unit) if dimension else None
