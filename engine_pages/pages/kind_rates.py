"""How fast the parts of a kind wear, dimension by dimension, and every part with its state, as sections of its page.

In: a kind told. Out: sections for the template, and the joint summaries of its pools as files of the site.
"""

import json
import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence

from msgspec.structs import replace

from engine_pages.history.status import part_said
from engine_pages.history.story import PartStory
from engine_pages.history.told_kinds import DimensionRates, KindStory, RateStory
from engine_pages.pages.addresses import summary_path
from engine_pages.pages.charts.rates_dots import RateRow, RatesDots, draw_rates_dots
from engine_pages.pages.desk import Here
from engine_pages.pages.kind_tables import MOST_ROWS, KindSection, called
from engine_pages.pages.kind_words import rank_words
from engine_pages.pages.marks import state_word
from engine_pages.pages.pieces import Chart, Column, Entry, Figures, Heading, Link, Table
from engine_pages.pages.shown_units import factor
from engine_pages.pages.wear_words import amount_words, exposure_words, signed_speed_words, speed_unit
from engine_pages.pages.words import capital, count_words, figure_words, list_words, range_words, small
from engine_pages.records.ids import file_id
from engine_pages.wear.pool.summary import JointSummary

IN_SYSTEM = {("mm", "in"): "in", ("µm", "in"): "thou", ("in", "mm"): "mm", ("thou", "mm"): "µm"}
BY_SEVERAL = "By oil, a part that ran on several under all of them"
FEW_PARTS = 5  # rates: of more, it is that they differ which makes the next part's rate uncertain
READ_RATES = (
    "How to read it: a dot is a part’s rate, its line the interval, wear to the right. Pale field: where the rate of "
    "any such part is expected. An interval that holds zero is no wear measurable yet."
)


def rates_sections(here: Here, kind: KindStory) -> tuple[KindSection, ...]:
    """A section a dimension that was read."""
    return tuple(_rates_section(here, kind, in_shown_unit(one, _first_unit(here))) for one in kind.rates)


def _first_unit(here: Here) -> str:
    return here.desk.engines[0].units[0] if here.desk.engines else "mm"


def in_shown_unit(one: DimensionRates, first: str) -> DimensionRates:
    """The rates in the system of lengths that the shop reads; what is no length stays as it is."""
    target = IN_SYSTEM.get((one.unit, first))
    if target is None:
        return one
    times = factor(one.unit, target)
    rates = tuple(replace(rate, rate=rate.rate.times(times)) for rate in one.rates)
    usual = None if one.usual is None else one.usual.times(times)
    return replace(one, unit=target, rates=rates, usual=usual)


def _rates_section(here: Here, kind: KindStory, one: DimensionRates) -> KindSection:
    name = f"{one.name}, {small(one.place)}" if one.place else one.name
    id = file_id(f"rate-{one.id}-{one.place}" if one.place else f"rate-{one.id}").replace(".", "-")
    heading = Heading(id, f"How fast: {small(name)}", f"{one.measured} of {one.of} measured")
    words = [*_bend_words(kind, one), *_usual_words(kind, one), *_rank_words(here, one), *_groups(kind, one)]
    if not one.rates:
        words.append("No part was read often enough for a rate of its own.")
    chart = (_rates_chart(here, kind, one),) if one.rates else ()
    return KindSection(heading, tuple(words), chart, _summary_link(here, kind, one))


def _bend_words(kind: KindStory, one: DimensionRates) -> Iterator[str]:
    """Whether a constant rate fits, or that it cannot be told."""
    if one.bend is None:
        yield "Whether a constant rate fits: cannot tell, fewer than four readings at three different ages."
    elif not one.bend.bends:
        yield f"A constant rate fits ({count_words(one.bend.readings, 'reading')})."
    else:
        yield (
            f"A constant rate does not fit: it {one.bend.rate} with use. Lines rest on readings from "
            f"{amount_words(one.since, kind.unit)} on, and hold from there."
        )


def _usual_words(kind: KindStory, one: DimensionRates) -> Iterator[str]:
    if one.usual is None:
        return
    if one.usual.holds(0.0) and one.wear_shows:
        why = "too few parts" if len(one.rates) <= FEW_PARTS else "parts differ too much"
        yield f"Wear shows in the parts measured; {why} to say for any such part."
    elif one.usual.holds(0.0):
        yield "Of any such part: no wear measurable yet."
    else:
        yield f"Any such part: {signed_speed_words(one.usual, one.unit, kind.unit)}."


def _rank_words(here: Here, one: DimensionRates) -> Iterator[str]:
    """The first and the last by their places, where there are several and they differ."""
    ranked = [rate for rate in one.rates if rate.rank is not None and rate.rank.shared_by == 1]
    ends = [rate for rate in ranked if rate.rank is not None and 1 in (rate.rank.place, rate.rank.from_below)]
    told = [f"{_row_name(here, rate)} is {rank_words(rate.rank)}" for rate in ends if rate.rank is not None]
    if told:
        first, last = one.rates[0].rate, one.rates[-1].rate
        chance = " Their intervals overlap: the order may be chance." if last.high >= first.low else ""
        yield f"{capital(list_words(told))}.{chance}"


def _groups(kind: KindStory, one: DimensionRates) -> Iterator[str]:
    """Rates by place and by oil, where there are several of these."""
    told = False
    for title, of in (
        ("By place", lambda rate: rate.slot_name),
        (BY_SEVERAL if any(len(rate.oils) > 1 for rate in one.rates) else "By oil", _oil_names),
    ):
        words = _by(kind, one, of)
        if words:
            told = True
            yield f"{title}: {words}."
    if told:
        yield "A difference between such groups is no cause by itself."


def _by(kind: KindStory, one: DimensionRates, of: Callable[[RateStory], str]) -> str:
    groups: dict[str, list[float]] = defaultdict(list)
    unit, times = speed_unit(one.unit, kind.unit)
    for rate in one.rates:
        groups[of(rate)].append(rate.rate.value * times)
    if not 1 < len(groups) < len(one.rates):
        return ""
    decimals = _decimals([value for values in groups.values() for value in values])
    told = (
        f"{small(name)}: {_ends(values, decimals)} ({count_words(len(values), 'rate')})"
        for name, values in sorted(groups.items())
    )
    return f"{'; '.join(told)} {unit}"


def _ends(values: Sequence[float], decimals: int) -> str:
    low, high = min(values), max(values)
    if figure_words(low, decimals) == figure_words(high, decimals):
        return figure_words(low, decimals)
    return range_words(low, high, decimals)


def _decimals(values: Sequence[float]) -> int:
    """Decimals that show three figures of the largest."""
    most = max(abs(value) for value in values)
    return max(0, 2 - math.floor(math.log10(most))) if most > 0.0 else 2


def _rates_chart(here: Here, kind: KindStory, one: DimensionRates) -> Chart:
    unit, times = speed_unit(one.unit, kind.unit)
    rows = [
        RateRow(
            _row_name(here, rate),
            _beside(rate),
            *(end * times for end in (rate.rate.value, rate.rate.low, rate.rate.high)),
        )
        for rate in one.rates
    ]
    usual = (
        None if one.usual is None else tuple(end * times for end in (one.usual.value, one.usual.low, one.usual.high))
    )
    assert usual is None or len(usual) == 3
    data = RatesDots(f"wear, {unit}", tuple(rows[:MOST_ROWS]), usual)
    figures = Figures(
        ("part", "where", "oil", f"rate, {unit}", "readings", "among them"),
        tuple(
            (
                _row_name(here, rate),
                f"{rate.engine} {small(rate.slot_name)}",
                _oil_words(rate, kind.unit),
                signed_speed_words(rate.rate, one.unit, kind.unit).rsplit("\u00a0", 1)[0],
                str(rate.readings),
                rank_words(rate.rank) if rate.rank is not None else "alone",
            )
            for rate in one.rates
        ),
    )
    more = f" The {MOST_ROWS} fastest of {len(rows)} are drawn." if len(rows) > MOST_ROWS else ""
    return here.desk.drawer.draw(data, draw_rates_dots, one.name, (), READ_RATES + more, figures)


def _beside(rate: RateStory) -> str:
    """Where a part ran and on what; of one without a serial its name says where."""
    where = f"{rate.engine} {small(rate.slot_name)}" if rate.named else ""
    oils = f"{len(rate.oils)} oils" if len(rate.oils) > 1 else "".join(oil for oil, _ in rate.oils)
    return ", ".join(words for words in (where, oils) if words)


def _oil_names(rate: RateStory) -> str:
    """Every oil that a part ran on, by name: parts that ran on the same ones stand together."""
    return list_words(sorted(oil or "oil not written" for oil, _ in rate.oils)) or "oil not written"


def _oil_words(rate: RateStory, unit: str) -> str:
    """The oil that a part ran on; of several how much on each."""
    if len(rate.oils) < 2:
        return "".join(oil for oil, _ in rate.oils) or "not written"
    return ", ".join(f"{oil or 'not written'} {amount_words(run, unit)}" for oil, run in rate.oils)


def _row_name(here: Here, rate: RateStory) -> str:
    return ", ".join(words for words in (called(here, rate.part), small(rate.dimension)) if words)


def _summary_link(here: Here, kind: KindStory, one: DimensionRates) -> Link | None:
    if one.summary is None:
        return None
    return Link("joint summary of these parts, as JSON", here.file(_summary_path(kind, one, one.summary)))


def _summary_path(kind: KindStory, one: DimensionRates, summary: JointSummary) -> str:
    name = f"{one.id}-{one.place}" if one.place else one.id
    return summary_path(kind.family, kind.kind, name, summary.digest)


def summary_files(kinds: Sequence[KindStory]) -> dict[str, Callable[[], bytes]]:
    """The joint summaries of all pools of these kinds, as files of the site: path, and what makes the bytes."""
    return {
        _summary_path(kind, one, one.summary): _writer(one.summary)
        for kind in kinds
        for one in kind.rates
        if one.summary is not None
    }


def _writer(summary: JointSummary) -> Callable[[], bytes]:
    """The canonical JSON of which the file's name is the digest."""
    return lambda: json.dumps(summary.to_json(), sort_keys=True, separators=(",", ":"), allow_nan=False).encode()


def parts_table(here: Here, kind: KindStory) -> Table:
    """Every part of the kind: where it is, what it ran, how it stands."""
    columns = (Column("part"), Column("where"), Column("since new", "num"), Column("state"))
    stories = [here.desk.by_id[part] for part in kind.parts if part in here.desk.by_id]
    rows = tuple(_part_row(here, kind, part) for part in sorted(stories, key=lambda one: (not one.fitted_now, one.id)))
    return Table(Heading("parts", "The parts", "those in engines first"), columns, rows)


def _part_row(here: Here, kind: KindStory, part: PartStory) -> tuple[Entry, ...]:
    where = f"{part.engine} {small(part.slot_name)}" if part.engine else "not fitted yet"
    out = "" if part.fitted_now or part.engine is None else "out"
    return (
        Entry(part.id if part.named else part.slot_name, strong=True, href=here.part(part.id)),
        Entry(where, (out,) if out else ()),
        Entry(exposure_words(part.since_new, kind.unit)),
        Entry(state_word(part.state, part_said(part)), (f"decided: {part.decision}",) if part.decision else ()),
    )
