"""Checks of gauges and initials: both are written in full in shop.yml, and named everywhere else."""

from collections.abc import Iterator

from ..family import Family
from ..load import SheetRecord
from ..measurement import Measurement, leaves
from ..sheet import TestRun
from ..source import Problem, Source, doubt, error, nearest, with_article
from ..units import canonical, dimension_of
from .checked import Checked

Named = tuple[Source, str]


def check_instruments(checked: Checked) -> Iterator[Problem]:
    """A gauge that is named stands in shop.yml: without it a reading has no uncertainty."""
    if "shop.yml" in checked.shop.unread or (checked.shop.file and checked.shop.file.broken):
        return
    known = (checked.shop.file.it.instruments if checked.shop.file else None) or {}
    for place, name in _instruments(checked):
        if name not in known:
            yield error(place, f"instrument {name!r} stands nowhere in shop.yml; {nearest(name, known)}")
    for sheet in checked.sheets():
        family = checked.whole_family_of(sheet.engine)
        keys = list(sheet.it.instruments or {})
        if family is not None and keys:
            yield from _instrument_keys(sheet, family, keys)


def check_figures(checked: Checked) -> Iterator[Problem]:
    """What a gauge resolves and how far it scatters is above zero, and of the kind that it measures."""
    record = checked.shop.file
    measured: dict[str, set[str]] = {}
    for family in checked.families():
        for kind in family.it.kinds.values():
            for dimension in (kind.dimensions or {}).values():
                if dimension.instrument is not None and canonical(dimension.unit) is not None:
                    measured.setdefault(dimension.instrument, set()).add(dimension_of(dimension.unit))
    for name, gauge in ((record.it.instruments if record else None) or {}).items():
        for key in ("resolution", "repeat", "zero", "uncertainty"):
            amount = getattr(gauge, key)
            if amount is None or record is None:
                continue
            place = record.place("instruments", name, key)
            if amount.number < 0:
                yield error(place, f"{amount.written}: the {key} of a gauge is not below zero")
            elif amount.unit is not None and measured.get(name) and dimension_of(amount.unit) not in measured[name]:
                wanted = " or ".join(with_article(one) for one in sorted(measured[name]))
                yield error(place, f"{amount.written} has the wrong kind of unit; {name} measures {wanted}")


def check_initials(checked: Checked) -> Iterator[Problem]:
    """Initials stand under `people` in shop.yml, where the shop lists its people at all."""
    people = checked.shop.file.it.people if checked.shop.file else None
    if people is None:
        return
    for place, initials in _initials(checked):
        if initials not in people:
            yield doubt(place, f"{initials!r} stands nowhere under people in shop.yml; {nearest(initials, people)}")


def _instruments(checked: Checked) -> Iterator[Named]:
    for record in checked.families():
        for kind, it in record.it.kinds.items():
            for name, dimension in (it.dimensions or {}).items():
                if dimension.instrument is not None:
                    yield record.place("kinds", kind, "dimensions", name, "instrument"), dimension.instrument
        for name, fit in (record.it.fits or {}).items():
            if fit.instrument is not None:
                yield record.place("fits", name, "instrument"), fit.instrument
    for sheet in checked.sheets():
        for key, name in (sheet.it.instruments or {}).items():
            yield sheet.record.place("instruments", key), name
        yield from _beside_readings(sheet, "instrument")
        yield from _beside_tests(sheet, "instrument")


def _initials(checked: Checked) -> Iterator[Named]:
    for sheet in checked.sheets():
        if sheet.it.by is not None:
            yield sheet.record.place("by"), sheet.it.by
        yield from _beside_readings(sheet, "by")
        yield from _beside_tests(sheet, "by")
    for records in checked.engines():
        if records.review is None:
            continue
        for key in ("answers", "left_out"):
            for index, answer in enumerate(getattr(records.review.it, key) or ()):
                if answer.by is not None:
                    yield records.review.place(key, index, "by"), answer.by


def _beside_readings(sheet: SheetRecord, word: str) -> Iterator[Named]:
    """What is written beside readings under `word`, each place once: it may stand round many readings."""
    found: dict[Source, str] = {}
    for steps, tree in _trees(sheet):
        for _, reading in leaves(tree):
            name = getattr(reading, word)
            if name is not None:
                found.setdefault(_where(sheet, (*steps, *reading.steps), word), name)
    yield from found.items()


def _trees(sheet: SheetRecord) -> Iterator[tuple[tuple[str, ...], Measurement]]:
    for key, line in (sheet.it.positions or {}).items():
        if line is not None and line.measured:
            yield ("positions", key, "measured"), line.measured
    if sheet.it.fits:
        yield ("fits",), sheet.it.fits
    for test in (sheet.it.tests or {}).values():
        yield ("tests",), test.readings


def _where(sheet: SheetRecord, steps: tuple[str | int, ...], word: str) -> Source:
    """Beside the innermost `value` on the way to a reading that has `word` beside it."""
    reached = sheet.record.place(*steps)
    for length in range(len(steps), 0, -1):
        if steps[length - 1] == "value" and sheet.record.document.has(*steps[: length - 1], word):
            return sheet.record.place(*steps[: length - 1], word)
    return reached


def _beside_tests(sheet: SheetRecord, word: str) -> Iterator[Named]:
    tests: dict[str, TestRun] = sheet.it.tests or {}
    for name, test in tests.items():
        if word in test.circumstances:
            yield sheet.record.place("tests", name, word), test.circumstances[word]


def _instrument_keys(sheet: SheetRecord, family: Family, keys: list[str]) -> Iterator[Problem]:
    """`rotor-bearing.inside_diameter`, or a dimension's name alone for every kind that has it; or a fit's name."""
    full = [f"{kind}.{name}" for kind, it in family.kinds.items() for name in it.dimensions or {}]
    known = dict.fromkeys([*full, *(name.rsplit(".", 1)[1] for name in full), *(family.fits or {})])
    for key in keys:
        if key not in known:
            place = sheet.record.document.key_place("instruments", key)
            yield error(place, f"{key!r} is no dimension of the family; {nearest(key, known)}")
