"""What a buyer asks, in the order of asking, answered from the record with facts and no score.

The questions are those that buyers of competition engines ask (common practice). Where the record does not say, the
answer is empty, and the page says that it is not written.
"""

from collections.abc import Iterator

from ..history.season_words import in_sets, sets_of
from ..history.series import NEAR
from ..history.shortlist import surely_left
from ..history.status import fit_said
from ..history.story import EngineStory, FitStory, PartStory, ReadingStory, State, Stopper, TestStory
from ..history.told_review import Fact
from ..history.told_sheets import ChamberReading
from ..wear.exposure import Exposure, total

UNITS = {"hours": "h", "km": "km"}
LEAST = 0.05  # of an amount that is shown to a tenth


def facts_of(story: EngineStory) -> tuple[Fact, ...]:
    """Every question with its answer."""
    return (
        Fact("Who built it, and when", tuple(_builds(story))),
        Fact("How much it has run", tuple(_run(story))),
        Fact("From which parts, with which life", tuple(_lives(story))),
        Fact("Why it was opened last", tuple(_opened(story))),
        Fact("Measured clearances", tuple(_clearance(fit, story) for fit in story.fits if fit.dimension.last)),
        Fact("Compression and leak-down", tuple(_tests(story))),
        Fact("What it ran on", tuple(_fluids(story))),
        Fact("What happened, and what was done after", tuple(_incidents(story))),
        Fact("What is due next", tuple(_due(story))),
        Fact("What stops it first", tuple(_stopper(one, story) for one in story.shortlist[:3])),
    )


def amount_words(spent: Exposure, unit: str) -> str:
    """An exposure in the family's unit: `41.2 h`, `at least 96.4 h`, `310 starts`."""
    amount = f"{spent.amount(unit):.1f} {UNITS[unit]}" if unit in UNITS else f"{spent.amount(unit):.0f} {unit}"
    return f"at least {amount}" if spent.is_bound(unit) else amount


def _builds(story: EngineStory) -> Iterator[str]:
    for sheet in reversed(story.sheets):
        if sheet.ref.kind == "build":
            by = story.people.get(sheet.by, sheet.by) if sheet.by else "nobody signed it"
            yield f"{sheet.ref.label}, {sheet.ref.day}: {by}"


def _run(story: EngineStory) -> Iterator[str]:
    yield f"{amount_words(story.total, story.exposure_unit)} in all"
    if story.since_build is not None and story.built is not None:
        yield f"{amount_words(story.since_build, story.exposure_unit)} since {story.built.label}"


def _lives(story: EngineStory) -> Iterator[str]:
    """Every part with its life; of a set, and of places without a number, those that lived alike together."""
    alike: dict[str, list[PartStory]] = {}
    for part in story.parts:
        alike.setdefault(_life(part, story), []).append(part)
    told: set[str] = set()
    for part in story.parts:
        if part.slot in told:
            continue
        life = _life(part, story)
        nameless = [one for one in alike[life] if one.kind == part.kind and not one.named]
        here = [part] if part.named else nameless
        told |= {one.slot for one in here}
        names = ", ".join(in_sets([one.slot_name for one in here], sets_of(story.parts)))
        yield f"{names}, {part.id}: {life}" if part.named else f"{names}: {life}"


def _life(part: PartStory, story: EngineStory) -> str:
    """`41.2 h since new, all in this engine`; of a donor's part how much of it, and whether more is known."""
    unit = story.exposure_unit
    here = total(stay.exposure for stay in part.stays if stay.engine == story.id)
    all_here = abs(here.amount(unit) - part.since_new.amount(unit)) < LEAST
    where = "all in this engine" if all_here else f"{amount_words(here, unit)} in this engine"
    before = "; life before is unknown" if part.prior == "unknown" else ""
    return f"{amount_words(part.since_new, unit)} since new, {where}{before}"


def _opened(story: EngineStory) -> Iterator[str]:
    sheet = next((one for one in reversed(story.sheets) if one.ref.kind == "teardown"), None)
    if sheet is not None:
        yield f"{sheet.ref.label}, {sheet.ref.day}: {sheet.reason or 'no reason is written'}"
        if sheet.note:
            yield sheet.note


def _clearance(fit: FitStory, story: EngineStory) -> str:
    reading = fit.dimension.last
    assert reading is not None
    value = f"{reading.value_20c:.{reading.decimals}f} {fit.dimension.unit}" if reading.value_20c else reading.written
    pair = " in ".join(reversed(fit.parts))
    used = fit.dimension.allowance.used if fit.dimension.allowance is not None else None
    said = _today(fit.state, used) or fit_said(fit)
    return f"{fit.title} ({pair}): {value}, {said}, {'; '.join(_how(fit, story))}"


def _today(state: State, used: float | None) -> str | None:
    """The word of what is near its limit by the plan alone: a buyer, who has no plan, reads that it is within."""
    by_plan = state == "near limit" and (used is None or used <= NEAR)
    return "within today, near its limit by the end of the plan" if by_plan else None


def _how(fit: FitStory, story: EngineStory) -> Iterator[str]:
    """Each sheet that the figure rests on, with the gauges there and how warm it was.

    A clearance is worked out of both sides; where one was read again the other's last reading serves, of its own sheet.
    """
    last = fit.dimension.last
    assert last is not None
    sides = [last] if not last.worked_out else [row for side in (0, 1) for row in _side(fit, side, last, story)]
    by_sheet: dict[str, list[ReadingStory]] = {}
    for one in (last, *sides):
        by_sheet.setdefault(one.sheet.path, []).append(one)
    for rows in by_sheet.values():
        gauges = ", ".join(dict.fromkeys(one.instrument for one in rows if one.instrument)) or "no gauge named"
        warm = next((f"{one.temperature:g} °C" for one in rows if one.temperature is not None), None)
        yield f"{rows[0].sheet.label} of {rows[0].day}, {gauges}, {warm or 'temperature not written'}"


def _side(fit: FitStory, side: int, last: ReadingStory, story: EngineStory) -> list[ReadingStory]:
    """The readings of one side that a clearance was worked out of: those on its sheet, else on the last before."""
    rows = [
        reading
        for part in (*story.parts, *story.former_parts)
        if part.id == fit.parts[side]
        for dimension in part.dimensions
        if fit.sides is None or dimension.id.split(".")[0].split("@")[0] == fit.sides[side]
        for reading in dimension.readings
        if reading.day <= last.day and not reading.worked_out
    ]
    here = [one for one in rows if one.sheet.path == last.sheet.path]
    before = max(rows, key=lambda one: one.day, default=last)
    return here or [one for one in rows if one.sheet.path == before.sheet.path]


def _tests(story: EngineStory) -> Iterator[str]:
    last: dict[str, TestStory] = {}
    for test in story.tests:
        last[test.test] = test
    now = {id(test) for test in story.tests_now}
    for test in last.values():
        values = ", ".join(
            f"{name} {_chambers(chambers)}" if name else _chambers(chambers) for _, name, chambers in test.rows
        )
        before = "" if id(test) in now else ", before the last build"
        yield f"{test.name}: {values} {test.unit}{_speed(test)}, {test.sheet.label} of {test.sheet.day}{before}"


def _speed(test: TestStory) -> str:
    """At which speed figures hold, and what was read where they were brought to it."""
    as_read = f" as read at {test.rpm:g} rpm" if test.rpm is not None else " as read"
    if test.not_corrected is not None:
        return as_read
    if test.rpm is None or test.at_rpm is None or test.rpm == test.at_rpm:
        return f" at {test.rpm:g} rpm" if test.rpm is not None else ""
    read = ", ".join(" / ".join(map(_as_read, chambers)) for _, _, chambers in test.rows)
    return f" at {test.at_rpm:g} rpm ({read}{as_read})"


def _chambers(chambers: tuple[ChamberReading, ...]) -> str:
    """Each chamber as pages show it: at the standard speed, to the digit that was read."""
    return " / ".join(
        one.written if one.corrected is None or one.value is None else f"{one.corrected:.{_decimals(one)}f}"
        for one in chambers
    )


def _as_read(one: ChamberReading) -> str:
    """The middle of a chamber's readings, to the digit that was read."""
    return one.written if one.value is None else f"{one.value:.{_decimals(one)}f}"


def _decimals(one: ChamberReading) -> int:
    return len(one.written.split()[0].partition(".")[2])


def _fluids(story: EngineStory) -> Iterator[str]:
    for span in story.fluids:
        if span.fluid in ("oil", "premix", "fuel"):
            when = f"from {span.began} to {span.ended}" if span.ended is not None else f"since {span.began}"
            yield f"{span.fluid}: {span.name}, {span.hours:.1f} h {when}"


def _incidents(story: EngineStory) -> Iterator[str]:
    if story.log and not story.incidents:
        yield "no incident is written in the log"
    for one in story.incidents:
        after = f"{one.answered.label} of {one.answered.day}" if one.answered is not None else "nothing is written"
        what = one.what.replace("_", " ")
        yield f"{what} on {one.day}{f' ({one.words})' if one.words else ''}: {after}"


def _due(story: EngineStory) -> Iterator[str]:
    for due in [one for one in story.due if one.share is not None][:3]:
        name = f"{due.slot_name}: {due.what}" if due.slot_name else due.name
        left = ", ".join(f"{amount:.1f} {unit}" for unit, amount in sorted(due.left.items()))
        yield f"{name}, in {left}" if due.state != "overdue" else f"{name}, overdue"


def _stopper(one: Stopper, story: EngineStory) -> str:
    share = f", {one.share:.0%} used" if one.share is not None else ""
    unit = UNITS.get(story.exposure_unit, story.exposure_unit)
    left, decimals = surely_left(one.left_low or 0.0)
    low = f", not before {left:.{decimals}f} {unit} more" if left > 0.0 else ""
    return f"{one.slot_name}, {one.what}: {_today(one.state, one.share) or one.state}{share}{low}"
