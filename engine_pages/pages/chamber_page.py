"""The page "Compression and leak-down" of an engine: how its chambers seal, over time and against each other.

In: an engine's story. Out: `ChamberPage`, the data of its template. It says what a low chamber is consistent with, as
common practice has it, and finds nothing.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct

from engine_pages.history.chamber_falls import falls_of
from engine_pages.history.story import EngineStory
from engine_pages.history.told_chambers import ChamberPoint, ChamberTrend
from engine_pages.pages.addresses import list_path
from engine_pages.pages.chamber_fall_words import alone_sentences, rule_sentence
from engine_pages.pages.chamber_tables import as_read_words, why_words
from engine_pages.pages.chamber_trends import ChamberSection, chamber_section, decimals_of, last_sheet
from engine_pages.pages.desk import Desk, Here, sheet_words
from engine_pages.pages.list_pages import list_head
from engine_pages.pages.pieces import Heading, Line, Lines, Link, PageHead
from engine_pages.pages.words import capital, count_words, day_words, ended, figure_words, small, unit_words

NAME: Final = "tests"  # of its file
FIRST: Final = ("compression", "leak_down")  # in this order; other tests follow as they are met
MOST_SAID: Final = 3  # clauses behind the claim; the sections have them all
NO_FINDING: Final = (
    "Common practice, and no finding: what is consistent with one cause may have another. A worn groove can still "
    "pass, and a test of sealing sees no fatigue. Test again, warm and with a full battery, before parts are ordered."
)
ONE_GO: Final = (
    "Chambers of one test are held against each other: cranking speed and warmth are the same for all of them."
)
SPEED: Final = (
    "Compression hangs on cranking speed. It is brought to the standard speed by the curve that the family gives, "
    "straight between its points and not at all outside them."
)
ORIFICE: Final = "Leak-downs compare only where tester and orifice are the same."
BANKS: Final = (
    "Cylinders count as neighbours by their numbers; where there are banks, look at which stand side by side."
)


class ChamberPage(Struct, frozen=True):
    """The page of an engine's tests: a section a test, what low chambers are consistent with, how to read it."""

    head: PageHead
    sections: tuple[ChamberSection, ...]
    consistent: Lines | None
    reading: Lines | None


def chamber_page(desk: Desk, engine: EngineStory) -> ChamberPage:
    """The page of an engine's tests; one that nobody tested says so."""
    here = Here(desk, list_path(engine.id, NAME))
    tests = _by_test(engine.chambers)
    claim, rest = _answer(engine, tests)
    return ChamberPage(
        list_head(here, engine, NAME, claim, rest),
        tuple(chamber_section(here, engine, trends) for trends in tests),
        _consistent(here, engine),
        _reading(engine, tests) if tests else None,
    )


def _by_test(trends: Sequence[ChamberTrend]) -> list[list[ChamberTrend]]:
    """Trends of one test together, compression first."""
    found: dict[str, list[ChamberTrend]] = {name: [] for name in FIRST}
    for trend in trends:
        found.setdefault(trend.test, []).append(trend)
    return [of for of in found.values() if of]


def _answer(engine: EngineStory, tests: Sequence[Sequence[ChamberTrend]]) -> tuple[str, str]:
    """The worst of the last sealing test, what is outside its limits in the last of each test, and what stands out."""
    if not tests:
        return "No test is written.", ""
    trends, sheet = tests[0], last_sheet(tests[0])
    at_last = [trend for trend in trends if trend.last.sheet.path == sheet]
    claim = _worst_of(trends, at_last)
    out = [*_outside(engine), *_standing_out(tests), *_fallen(tests)][:MOST_SAID]
    without = list(_without_figure(at_last))
    if out or without:
        return claim, " ".join([*out, *without])
    told = all(trend.last.stands.pattern == "even" for trend in at_last)
    return claim, "None stands out against the others." if told else ""


def _worst_of(trends: Sequence[ChamberTrend], at_last: Sequence[ChamberTrend]) -> str:
    """The worst figure of the last test; what is a bound, or could not be measured, is none."""
    first, day = at_last[0], day_words(at_last[0].last.sheet.day)
    read = [(figure, trend) for trend in at_last if (figure := trend.worst(trend.last)) is not None]
    if not read:
        return f"{first.test_name}: no figure, {day}."
    figure, worst = (min if first.worse == "down" else max)(read, key=lambda one: one[0])
    said = unit_words(figure_words(figure, decimals_of(trends)), worst.unit)
    which = "" if len(at_last) == 1 else f", {small(worst.name)}"
    word = "lowest" if first.worse == "down" else "highest"
    return f"{first.test_name}: {word} {said}{_at(worst)}{which}, {day}."


def _without_figure(at_last: Sequence[ChamberTrend]) -> Iterator[str]:
    """What was read, and is held against nothing, as it was written."""
    for trend in at_last:
        if not trend.last.known:
            bound = ", a bound, which is held against no other" if trend.last.chambers[0].bound else ""
            yield ended(f"{trend.name}: {as_read_words(trend.last.chambers, trend.unit, trend.last.read_in)}{bound}")


def _fallen(tests: Sequence[Sequence[ChamberTrend]]) -> Iterator[str]:
    """What got worse by itself over several tests."""
    for trends in tests:
        yield from alone_sentences(falls_of(trends), decimals_of(trends))


def _outside(engine: EngineStory) -> Iterator[str]:
    """The last of each test that is not within what is allowed."""
    last = {test.test: test for test in engine.tests}  # in order of time: the last of each name stays
    for test in last.values():
        if test.state not in ("within", "not measured"):
            yield ended(f"{test.name}: {why_words(test) or test.state}")


def _standing_out(tests: Sequence[Sequence[ChamberTrend]]) -> Iterator[str]:
    """What stands out in the last of each test."""
    for trends in tests:
        sheet = last_sheet(trends)
        for trend in trends:
            if trend.last.sheet.path == sheet and trend.last.stands.words:
                yield capital(f"{_of(trend, trend.last)}{trend.last.stands.words}.")


def _at(trend: ChamberTrend) -> str:
    if trend.last.as_read is not None:
        return " as read"
    return f" at {figure_words(trend.at_rpm, 0)} rpm" if trend.at_rpm is not None else ""


def _consistent(here: Here, engine: EngineStory) -> Lines | None:
    """What tests are consistent with, the newest first; a pattern of several cylinders is said once."""
    said: dict[tuple[str, str, str], list[tuple[ChamberTrend, ChamberPoint]]] = {}
    for trend in engine.chambers:
        for point in trend.points:
            if point.stands.words:
                key = (point.sheet.path, trend.test, _of(trend, point) + point.stands.words)
                said.setdefault(key, []).append((trend, point))
    if not said:
        return None
    met = sorted(said.values(), key=lambda rows: -rows[0][1].nth)
    lines = tuple(
        Line(
            f"{rows[0][0].test_name}, {day_words(rows[0][1].sheet.day)}:",
            f"{_of(*rows[0])}{rows[0][1].stands.words}.",
            link=Link(sheet_words(rows[0][1].sheet), here.sheet(rows[0][1].sheet)),
        )
        for rows in met
    )
    return Lines(Heading("consistent", "What stands out", count_words(len(lines), "test")), lines, NO_FINDING)


def _of(trend: ChamberTrend, point: ChamberPoint) -> str:
    """The rotor whose faces are meant; a cylinder's words name it themselves."""
    return f"{small(trend.name)}, " if len(point.chambers) > 1 else ""


def _reading(engine: EngineStory, tests: Sequence[Sequence[ChamberTrend]]) -> Lines:
    """How to read the page: what is held against what, and how much counts as low."""
    rules = (rule_sentence(of[0].test, small(of[0].test_name), of[0].unit) for of in tests)
    lines = [ONE_GO, *_margins(engine, tests), *(rule for rule in rules if rule), SPEED]
    names = {trends[0].test for trends in tests}
    if engine.architecture == "rotary":
        lines.append("One low face is consistent with its side seal, two low neighbours with the apex or corner seal.")
    else:
        lines.append(
            "One low cylinder is consistent with its rings or valves, two neighbours with a leak between them."
        )
        lines.append(BANKS)
    if "leak_down" in names:
        lines.append(ORIFICE)
    shown = tuple(Line(text=line) for line in lines)
    return Lines(Heading("reading", "How to read it"), shown)


def _margins(engine: EngineStory, tests: Sequence[Sequence[ChamberTrend]]) -> Iterator[str]:
    """How far below the highest counts as low, by the family's own spread; where nothing can be told, why."""
    for trends in tests:
        if trends[0].test not in FIRST:
            continue
        last = max((trend.last for trend in trends), key=lambda point: point.nth)
        margin, name = last.stands.margin, small(trends[0].test_name)
        why = list(_untold(engine, last))
        if margin is None or why:
            yield f"Which chambers stand out in {name} cannot be told: {' and '.join(why)}."
            continue
        decimals, unit = decimals_of(trends), trends[0].unit
        far, half = (unit_words(figure_words(part, decimals), unit) for part in (margin, margin / 2))
        beyond = "under the limit" if trends[0].worse == "down" else "over the limit"
        best = "the highest" if trends[0].worse == "down" else "the lowest"
        yield (
            f"{capital(name)}: low is what lies more than {far} from {best}, as far apart as the family allows; or "
            f"{beyond} and more than half of that, {half}, from {best}, while that one is inside."
        )


def _untold(engine: EngineStory, last: ChamberPoint) -> Iterator[str]:
    """Why nothing can stand out in a test, and what would have to be written."""
    rotary = engine.architecture == "rotary"
    if rotary and not last.faces_marked:
        yield "the sheet does not say that faces are marked (faces: marked)"
    if last.stands.margin is None:
        yield f"the family gives no spread of {'chambers' if rotary else 'rows'} for it"
