"""Fits: clearances of two parts that stand together, told as the rows of figures that they are."""

from collections.abc import Mapping

from msgspec.structs import replace

from ..records.family import Family
from ..records.fitting import Fitted
from ..records.load import SheetRecord
from ..records.slots import row_of, title_of
from .book import Book
from .dimensions import Outlook
from .pairs import Pair, exposure_of_pair, later_figure, new_pair, pairs_of, readings_of_pair
from .series import Baseline, Frame, dimension_story
from .story import STATES, FitStory, State, Verdict


def fits_of(
    book: Book,
    family: Family,
    engine: str,
    inside: Mapping[str, Fitted],
    outlook: Outlook,
    sheet: SheetRecord | None = None,
) -> tuple[FitStory, ...]:
    """Every fit of the family whose two parts are known; `inside` and `sheet` as of `pairs_of`.

    The story of a pair is the same for all its sheets.
    """
    out, told = [], book.pairs.setdefault(engine, {})
    for pair in pairs_of(book, family, engine, inside, outlook.until, sheet):
        if pair.key not in told:
            told[pair.key] = _fit_story(book, family, pair, outlook)
        out.append(told[pair.key])
    return tuple(out)


def _fit_story(book: Book, family: Family, pair: Pair, outlook: Outlook) -> FitStory:
    fit, unit = pair.fit, pair.unit
    rows = list(readings_of_pair(book, family, pair, outlook.until))
    name = fit.name or title_of(pair.fit_id)
    record = book.checked.shop.families.get(family.family)
    until = outlook.until if pair.ended is None else min(pair.ended, outlook.until)
    frame = Frame(
        id=pair.fit_id,
        name=name,
        unit=unit,
        decimals=max((row.read.decimals for row in rows), default=3),
        limit=pair.limit,
        limit_source=fit.source,
        limit_where=record.place("fits", pair.fit_id) if record else None,
        new=new_pair(book, family, pair),
        wears=pair.wears,
        confidence=outlook.confidence,
        keep=outlook.keep,
        exposure_unit=family.exposure,
        now=exposure_of_pair(book, pair, until).amount(family.exposure),
        plan=outlook.plan,
    )
    wear = outlook.pools.of_pair(family, pair).wear_of(pair.key, 0, frame)
    dimension = dimension_story(frame, rows, Baseline(0, 0.0, None), wear)
    row = fit.row if fit.row is not None else pair.outer.stay.slot.row or row_of(pair.fit_id)
    parts = pair.outer.part, pair.inner.part
    later = later_figure(book, family, pair, rows[-1].sheet, until) if rows else None
    if later is not None:
        dimension = replace(dimension, state=_worse(dimension.state, later.verdict))
    sides = pair.outer.dimension_id, pair.inner.dimension_id
    return FitStory(pair.fit_id, name, parts, row, dimension, dimension.state, later, _between(pair), sides)


def _between(pair: Pair) -> tuple[str, str] | None:
    """The dimensions whose difference the fit is, where one figure stands for each side."""
    plain = all(side.station is None and not side.dimension.stations for side in pair.sides)
    alike = {side.dimension.unit for side in pair.sides} == {pair.unit}
    return (pair.outer.dimension_id, pair.inner.dimension_id) if plain and alike else None


def _worse(state: State, verdict: Verdict) -> State:
    """The worse of what the last figure of both sides gives and the verdict on the newest reading of each."""
    found: State = "beyond limit" if verdict == "beyond" else "undecided" if verdict == "undecided" else "within"
    return min(state, found, key=STATES.index)
