"""Checks of tests on a sheet: compression, leak-down, oil pressure and what else a family names."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from ..family import Family
from ..fields import wrong_kind
from ..load import SheetRecord
from ..measurement import leaves
from ..quantity import Quantity
from ..resolve import quantities_of
from ..sheet import TEST_CIRCUMSTANCES, TestRun
from ..slots import slots_of
from ..source import Problem, Source, doubt, error, nearest, with_article
from ..units import UNITS, Dimension, canonical, convert, dimension_of
from .checked import Checked

BUILT_IN: Mapping[str, str] = MappingProxyType({"compression": "kPa", "leak_down": "%", "oil_pressure": "kPa"})
"""Tests that every shop makes, whether its family has limits for them or not, with the unit of a bare number."""

WHOLE_ENGINE = "engine"  # may be read where a family has no position of that name: an oil pressure has no row
MOST_COMPRESSION = 5000  # kPa; a diesel cranks to about 3000. Trade fact, from memory
FACES = 3  # chambers of one rotor of a trochoid rotary engine: one a flank


def check_tests(checked: Checked) -> Iterator[Problem]:
    """A test stands in the family, or is one that every shop makes."""
    for sheet, family, name, _ in _tests(checked):
        known = [*(family.tests or {}), *BUILT_IN]
        if name not in known:
            place = sheet.record.document.key_place("tests", name)
            yield error(place, f"test {name!r} stands nowhere in the family; {nearest(name, known)}")


def check_positions(checked: Checked) -> Iterator[Problem]:
    """A reading is of a rotor or a cylinder, a position with a row, or of the whole engine."""
    for sheet, family, name, test in _tests(checked):
        slots = slots_of(family)
        rows = [key for key in slots.keys if slots.named(key)[0].row is not None]
        whole = [slot.id for slot in slots.by_id.values() if _is_whole(family, slot.kind)]
        for key in test.readings:
            if key in rows or key in whole or key == WHOLE_ENGINE:
                continue
            place = sheet.record.document.key_place("tests", name, key)
            if slots.named(key):
                yield error(place, f"position {key!r} has no row; {nearest(key, [*rows, *whole])}")
                continue
            message = f"{key!r} is no word that stands beside a test, and no position of the family with a row"
            yield error(place, f"{message}; {nearest(key, [*TEST_CIRCUMSTANCES, *rows, *whole])}")


def check_units(checked: Checked) -> Iterator[Problem]:
    """A reading measures what its test measures; of a leak-down, what is left or the loss."""
    for sheet, family, name, test in _tests(checked):
        rule = (family.tests or {}).get(name)
        written = test.circumstances.get("unit")
        unit = (rule.unit if rule else None) or BUILT_IN.get(name)
        allowed: list[Dimension] = [dimension_of(unit)] if unit and canonical(unit) else []
        if name == "leak_down":
            allowed = ["share", "pressure"]
        if written is not None and canonical(written) is None:
            message = f"{written!r} is no unit here; {nearest(written, [one.name for one in UNITS])}"
            yield error(sheet.record.place("tests", name, "unit"), message)
        elif written is not None and allowed and dimension_of(written) not in allowed:
            message = f"{written} where {' or '.join(with_article(one) for one in allowed)} is wanted"
            yield error(sheet.record.place("tests", name, "unit"), message)
        for place, amount in _amounts(sheet, test):
            if amount.unit is not None and allowed and dimension_of(amount.unit) not in allowed:
                yield error(place, wrong_kind(amount, allowed[0]))
            elif name == "leak_down" and _is_pressure(amount, written) and "supply" not in test.circumstances:
                yield doubt(place, f"{amount.written} is left, but of what? write supply: beside it")


def check_chambers(checked: Checked) -> Iterator[Problem]:
    """A list is a rotor's chambers in order, three at most; on a piston engine it is repeats. No names stand here."""
    for sheet, family, name, test in _tests(checked):
        for key, tree in test.readings.items():
            for names, reading in leaves(tree):
                place = sheet.record.place("tests", name, key)
                if names:
                    message = f"{names[0]!r}: readings of a test are one number, or a list in order"
                    yield error(sheet.record.document.key_place("tests", *reading.steps), message)
                elif family.architecture == "rotary" and name == "compression" and len(reading.values) > FACES:
                    yield doubt(place, f"{len(reading.values)} chambers; a rotor has {FACES}")


def check_values(checked: Checked) -> Iterator[Problem]:
    """A figure that hardly an engine has can be true, and is a doubt: a slipped digit, or another unit."""
    for sheet, family, name, test in _tests(checked):
        rule = (family.tests or {}).get(name)
        written = test.circumstances.get("unit") or (rule.unit if rule else None) or BUILT_IN.get(name)
        for place, amount in _amounts(sheet, test):
            unit = canonical(amount.unit or written or "")
            if unit is None:
                continue
            odd = _odd_loss(test, amount, unit) if name == "leak_down" else _odd_pressure(name, amount, unit)
            if odd is not None:
                yield doubt(place, odd)


def _odd_pressure(name: str, amount: Quantity, unit: str) -> str | None:
    if name not in BUILT_IN or dimension_of(unit) != "pressure":
        return None
    if amount.number < 0:
        return f"{amount.written} is below 0: a gauge shows what lies above the atmosphere's pressure"
    if name == "compression" and convert(amount.number, unit, "kPa") > MOST_COMPRESSION:
        said = amount.written if amount.unit is not None else f"{amount.written} {unit}"
        return f"{said}: no engine cranks to {MOST_COMPRESSION} kPa"
    return None


def _odd_loss(test: TestRun, amount: Quantity, unit: str) -> str | None:
    if dimension_of(unit) == "share":
        percent = convert(amount.number, unit, "%")
        return None if 0 <= percent <= 100 else f"{amount.written}: a loss lies between 0 and 100 %"
    supply = test.amount("supply")
    fed = canonical(supply.unit or unit) if supply is not None else None
    if supply is None or fed is None or not dimension_of(unit) == dimension_of(fed) == "pressure":
        return None
    if amount.number >= 0 and convert(amount.number, unit, fed) <= supply.number:
        return None
    return f"{amount.written} is left of {supply.written}: what is left lies between 0 and the supply"


def _tests(checked: Checked) -> Iterator[tuple[SheetRecord, Family, str, TestRun]]:
    for sheet in checked.sheets():
        family = checked.whole_family_of(sheet.engine)
        if family is not None:
            yield from ((sheet, family, name, test) for name, test in (sheet.it.tests or {}).items())


def _amounts(sheet: SheetRecord, test: TestRun) -> Iterator[tuple[Source, Quantity]]:
    for _, reading in leaves(test.readings):
        for index, value in enumerate(reading.values):
            steps = (*reading.steps, index) if len(reading.values) > 1 else reading.steps
            yield from ((sheet.record.place("tests", *steps), amount) for amount in quantities_of(value))


def _is_pressure(amount: Quantity, test_unit: str | None) -> bool:
    unit = amount.unit or (canonical(test_unit) if test_unit else None)
    return unit is not None and dimension_of(unit) == "pressure"


def _is_whole(family: Family, kind: str) -> bool:
    written = family.kinds.get(kind)
    return written is not None and written.whole is True
