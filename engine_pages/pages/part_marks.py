"""What happened to a part, on its own clock: moves, machining, and the fluids and incidents of the engines it was in.

In: a part's story and those of the engines. Out: marks for its wear charts and the key to them. An engine's hours
become the part's: those at which it was fitted, and what the engine ran since. That serves for hours alone, since
changes and incidents are dated by the engine's hours; other exposures have moves and machining only.
"""

from collections.abc import Iterable, Iterator
from string import ascii_uppercase

from msgspec import Struct

from engine_pages.history.story import DimensionStory, EngineStory, PartStory, Stay
from engine_pages.pages.chart_signs import chart_sign
from engine_pages.pages.charts.wear_chart import Mark
from engine_pages.pages.charts.wear_data import MarkKind
from engine_pages.pages.pieces import KeyLine
from engine_pages.pages.wear_charts import baseline_start
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import capital, key_words, list_words

SAME_HOUR = 0.05  # h: what is written to a tenth lies at one place of the chart


class Happening(Struct, frozen=True):
    """Something at an exposure of the part, in words."""

    at: float
    kind: MarkKind
    words: str


def marks_of(
    part: PartStory, dimension: DimensionStory, engines: Iterable[EngineStory]
) -> tuple[tuple[Mark, ...], tuple[KeyLine, ...]]:
    """The marks of a part's chart and their key, in order of exposure."""
    unit = dimension.exposure_unit
    happenings = sorted(
        _happenings(part, dimension, {one.id: one for one in engines}), key=lambda one: (one.at, one.kind)
    )
    marks, keys, letters = [], [], iter(ascii_uppercase)
    for one in _merged(happenings):
        letter = "" if one.kind == "incident" else next(letters, "")
        marks.append(Mark(one.at, letter, one.kind))
        sign = letter or chart_sign(one.kind)
        keys.append(KeyLine(sign, f"{amount_words(one.at, unit)}: {one.words}"))
    return tuple(marks), tuple(keys)


def _merged(happenings: list[Happening]) -> list[Happening]:
    """Things of one kind at one place are one mark."""
    merged: list[Happening] = []
    for one in happenings:
        if merged and merged[-1].kind == one.kind and one.at - merged[-1].at <= SAME_HOUR:
            merged[-1] = Happening(merged[-1].at, one.kind, list_words([merged[-1].words, one.words]))
        else:
            merged.append(one)
    return merged


def _happenings(part: PartStory, dimension: DimensionStory, engines: dict[str, EngineStory]) -> Iterator[Happening]:
    if dimension.baseline_number > 0:
        yield Happening(baseline_start(part, dimension), "machined", dimension.baseline_why or "machined")
    unit = dimension.exposure_unit
    begun = starts_of(part, unit)
    before: Stay | None = None
    for stay, start in zip(part.stays, begun, strict=True):
        if before is not None and before.engine != stay.engine:
            yield Happening(start, "move", f"into {stay.engine}")
        before = stay
        if unit == "hours" and stay.engine in engines:
            yield from _of_engine(engines[stay.engine], stay, start)


def starts_of(part: PartStory, unit: str) -> list[float]:
    """The part's exposure at the beginning of each of its stays."""
    spent = sum(stay.exposure.amount(unit) for stay in part.stays)
    start = part.since_new.amount(unit) - spent
    out = []
    for stay in part.stays:
        out.append(start)
        start += stay.exposure.amount(unit)
    return out


def _of_engine(engine: EngineStory, stay: Stay, start: float) -> Iterator[Happening]:
    """Changes and incidents of an engine while the part was in it."""
    fitted = next((sheet.engine_hours for sheet in engine.sheets if sheet.ref == stay.fitted), None)
    if fitted is None:
        return
    end = fitted + stay.exposure.hours
    known = set()
    for span in engine.fluids:
        changed = span.fluid in known
        known.add(span.fluid)
        if changed and fitted < span.at_hours <= end:
            yield Happening(start + span.at_hours - fitted, "fluid", f"{key_words(span.fluid)} to {span.name}")
    for incident in engine.incidents:
        if incident.hours is not None and fitted < incident.hours <= end:
            words = capital(key_words(incident.what)) + (f", {incident.words}" if incident.words else "")
            yield Happening(start + incident.hours - fitted, "incident", words)
