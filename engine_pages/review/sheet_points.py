"""Points of sheets, tests, fluids and the log: what was not signed, decided, named or written."""

from collections.abc import Iterator

from ..history.ledgers import RUNS_BACKWARD
from ..history.story import EngineStory, Gap, SheetStory
from ..history.told_review import Point
from ..records.source import Problem

SEALING = ("compression", "leak_down")  # what shows from outside whether an engine seals
NAMED = 4  # places in a sentence; of more the first are named
ELSEWHERE_TOLD = ("has no source; write source", "it is blanked where this is shared", "is in no commit and not staged")


def from_engine(story: EngineStory, path: str) -> str:
    """A path as review.yml names it: from the engine's folder."""
    return path.removeprefix(f"engines/{story.id}/")


def sheet_points(story: EngineStory) -> Iterator[Point]:
    """Every point of what is written of the engine, sheet by sheet, then of the engine."""
    for sheet in story.sheets:
        yield from _of_sheet(story, sheet)
    yield from _of_engine(story)
    yield from _of_log([gap for gap in story.gaps if gap.kind == "log"], story)
    for incident in story.incidents:
        if incident.answered is None:
            what = f"{incident.what.replace('_', ' ')} on {incident.day}, and no inspection since"
            yield Point("incident", f"{incident.what}.{incident.day}", what, incident.source, since=incident.day)
    yield from _doubts(story)


def _of_sheet(story: EngineStory, sheet: SheetStory) -> Iterator[Point]:
    where, label, place, day = from_engine(story, sheet.ref.path), sheet.ref.label, sheet.source, sheet.ref.day
    if sheet.by is None:
        yield Point("unsigned", where, f"{label}: nobody signed it", place, since=day)
    unnamed = [reading for reading in sheet.gauged if reading.instrument is None]
    if unnamed:
        count = "one reading" if len(unnamed) == 1 else f"{len(unnamed)} readings"
        yield Point("no-gauge", where, f"{label}: no gauge is named for {count}", unnamed[0].source, since=day)
    if sheet.gauged and sheet.temperature is None:
        yield Point("no-temperature", where, f"{label}: no temperature is written", place, since=day)
    if sheet.ref.kind == "build" and not sheet.torque:
        yield Point("no-torque", where, f"{label}: no torque is written", place, since=day)
    undecided = [found for found in sheet.found if found.decision is None and not found.whole]
    if sheet.ref.kind == "teardown" and undecided:
        more = " …" if len(undecided) > NAMED else ""
        names = ", ".join(found.slot_name for found in undecided[:NAMED]) + more
        yield Point(
            "no-decision", where, f"{label}: no decision is written for {names}", undecided[0].source, since=day
        )


def _of_engine(story: EngineStory) -> Iterator[Point]:
    if story.built is None:
        yield Point("no-build", "engine.yml", "no build sheet is written", None)
    if story.stamped is None:
        yield Point("no-stamp", "engine.yml", "the number on the metal is not written", None)
    if not any(span.fluid == "oil" for span in story.fluids):
        yield Point("no-fluid", "log.yml", "no oil is written of any time", None)
    if story.built is not None and not any(test.test in SEALING for test in story.tests_now):
        what = f"neither compression nor leak-down is written since {story.built.label}"
        yield Point("no-test", from_engine(story, story.built.path), what, None)


def _of_log(gaps: list[Gap], story: EngineStory) -> Iterator[Point]:
    for gap in gaps:
        kind = "hours-unwritten" if gap.what.startswith("no ") else "log-gap"
        where = from_engine(story, gap.source.path) if gap.source else "log.yml"
        yield Point(kind, where, gap.what, gap.source)


def _doubts(story: EngineStory) -> Iterator[Point]:
    """What the checks and the figures doubt; several of one file are one point, answered together."""
    by_file: dict[tuple[str, str], list[Problem]] = {}
    for problem in story.problems:
        if problem.level == "doubt" and not any(said in problem.message for said in ELSEWHERE_TOLD):
            kind = "counter-backward" if problem.message.startswith(RUNS_BACKWARD) else "doubt"
            by_file.setdefault((kind, from_engine(story, problem.source.path)), []).append(problem)
    for (kind, where), here in by_file.items():
        texts = "; ".join(dict.fromkeys(problem.message for problem in here))
        yield Point(kind, where, texts, here[0].source)
