"""A blank sheet for one engine: its family's places in order, with everything that the bench wants beside each line.

In: an engine told, its family, the kind of sheet and the day. Out: YAML text. A line with nothing after it means "not
looked at", so that a half-filled sheet is a valid one. What stands behind `#` is for the eye alone: the unit, the last
value and its sheet, the limit, the gauge, the grades as the family writes them.
"""

import re
from collections.abc import Iterable, Iterator

from ..history.story import FitStory
from ..records.family import Fit, TestRule
from ..records.fields import REASONS
from ..records.resolve import fit_unit
from .blank_lines import aside, behind, line
from .blank_places import Blank, limit_words, place_lines, written_limit
from .quoted import plain_or_quoted

TEST_HEAD = ("rpm", "temperature")
_NUMBER = re.compile(r"(.*?)(\d+)(?:-[bcdfghjkmnpqrstvwxz]{4})?")  # a sheet begun on a phone has letters of its own
_TO_BUILD = "what is named is fitted; a place behind # stays as it is: take the # away from what you fit"


def blank_sheet(blank: Blank) -> str:
    """The sheet as text, with a newline at the end."""
    positions = line(0, "positions", _TO_BUILD if blank.kind == "build" else "")
    return (
        "\n".join([*_head(blank), positions, *place_lines(blank), *_fits(blank), *_tests(blank), *_foot(blank)]) + "\n"
    )


def next_number(labels: Iterable[str]) -> str | None:
    """The number after the highest: `T-0413` after `T-0412`; None where none is numbered.

    >>> next_number(["T-0099", "T-0412", "rebuild"]), next_number(["T-0412-kvbn"]), next_number([])
    ('T-0413', 'T-0413', None)
    """
    found = [(int(match[2]), match[1], len(match[2])) for label in labels if (match := _NUMBER.fullmatch(label))]
    if not found:
        return None
    number, before, digits = max(found)
    return f"{before}{number + 1:0{digits}d}"


def _head(blank: Blank) -> Iterator[str]:
    engine = blank.engine
    yield f"engine: {engine.id}"
    yield f"date: {blank.day.isoformat()}"
    number = plain_or_quoted(blank.number) if blank.number else None
    yield f"sheet: {number}" if number else line(0, "sheet", "a number of its own, if your shop has them")
    if blank.kind != "build":
        yield line(0, "reason", ", ".join(REASONS))
    yield line(0, "by", ", ".join(engine.people) or "initials")
    least = "at least " if engine.total.is_bound("hours") else ""
    yield line(0, "counter", f"hours; the log says {least}{engine.total.hours:.1f} h to this day")
    yield line(0, "temperature", "°C of parts and gauges")
    yield from _gauges(blank)
    yield line(0, "note", "what the owner may read")


def _gauges(blank: Blank) -> Iterator[str]:
    """A line put aside that shows how a gauge is named which is not the usual one."""
    kinds = blank.family.kinds.items()
    measured, dimension = next(
        ((f"{kind}.{name}", one) for kind, it in kinds for name, one in (it.dimensions or {}).items()), (None, None)
    )
    if dimension is None or not blank.gauges:
        return
    gauge = dimension.instrument or blank.gauges[0]
    start = next(aside([f"instruments: {{{measured}: {gauge}}}"]))
    yield start + behind(start, f"where it was not the usual one; the shop has {', '.join(blank.gauges)}")


def _foot(blank: Blank) -> Iterator[str]:
    if blank.kind == "build":
        yield line(0, "rest", "'as before' puts back every place not named whose part was to be reused")
        yield line(0, "torque", "what: value, as you write it")
        now = ", ".join(f"{span.fluid} {span.name}" for span in blank.engine.fluids if span.ended is None)
        yield line(0, "fluids", f"in it now: {now}" if now else "oil, fuel, premix, injected, coolant, filter")
    if blank.kind == "teardown":
        yield line(0, "work", "- {part: …, did: ground, dimensions: […], size: …}")


def _fits(blank: Blank) -> Iterator[str]:
    """Clearances that may be measured directly."""
    if not blank.family.fits:
        return
    told = {fit.id: fit for fit in blank.engine.fits}
    yield "fits:"
    for id, fit in blank.family.fits.items():
        yield line(2, id, _fit(fit, fit_unit(blank.family, id) or "mm", told.get(id)))


def _fit(fit: Fit, unit: str, told: FitStory | None) -> str:
    """Unit, limit and gauge of a clearance, and the last that was read or worked out of the pair that stands there."""
    ends = written_limit(fit.limit) if told is None else limit_words(told.dimension.limit, told.dimension.decimals)
    words = ", ".join([unit, *ends, *([fit.instrument] if fit.instrument else [])])
    last = told.dimension.last if told is not None else None
    if told is None or last is None:
        return words
    figure = last.value if last.worked_out else None
    written = last.written if figure is None else f"{figure:.{told.dimension.decimals}f} {last.written}"
    return f"{words}; last {written}, {last.sheet.label}"


def _tests(blank: Blank) -> Iterator[str]:
    if not blank.family.tests or blank.kind == "build":
        return
    yield "tests:"
    for name, rule in blank.family.tests.items():
        yield line(2, name, _rule(rule))
        yield from (line(4, key) for key in TEST_HEAD)
        last = next((test for test in reversed(blank.engine.tests) if test.test == name), None)
        for key, _, chambers in last.rows if last is not None else ():
            yield line(4, key, f"last {', '.join(one.written for one in chambers)}")


def _rule(rule: TestRule) -> str:
    unit, speed = [rule.unit] if rule.unit else [], [f"at {rule.at.written}"] if rule.at else []
    return ", ".join([*unit, *written_limit(rule.limit), *speed])
