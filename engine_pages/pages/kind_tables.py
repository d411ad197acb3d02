"""How long the parts of a kind last and how often their places are renewed, as sections of its page.

In: a kind told. Out: sections for the template, each with a line on how it is to be read. No threshold is set here.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from engine_pages.history.told_kinds import KindStory, LifeStory, LivesStory, RenewalsStory
from engine_pages.pages.charts.life_rows import LifeRow, LifeRows, draw_life_rows
from engine_pages.pages.charts.lives_curve import (
    LivesCurve,
    Piece,
    RenewalsCurve,
    draw_lives_curve,
    draw_renewals_curve,
)
from engine_pages.pages.desk import Here
from engine_pages.pages.pieces import Chart, Figures, Heading, Link
from engine_pages.pages.wear_words import amount_words, interval_words
from engine_pages.pages.words import capital, count_words, list_words, range_words, small, unit_words

MOST_ROWS = 40  # of a chart: more are not read; the figures under it hold all
SAMPLES = 60  # points of a drawn law
READ_LIVES = (
    "How to read it: a full bar is known good. Hatched: it was good at the last look and failed by the end of the bar. "
    "Pale: run since it was last found good. A part taken out for its hours, as one of a set, as a precaution or for "
    "an upgrade has not failed; its life would have been longer."
)
READ_CURVE = (
    "How to read it: of a hundred such parts so many are still good after so long; the pale field is the interval. "
    "Where the line is dashed the drop lies somewhere between two strips. Dotted: Weibull’s law."
)
READ_RENEWALS = (
    "How to read it: how many parts one place has used up, on average, by the engine’s own figure. Straight: parts are "
    "renewed at a steady pace. Bending up: faster with age. The interval (a pale upright) takes an engine as one, "
    "since its places are opened together; with one engine, or with engines that are alike so far, there is none. The "
    "curve ends where the first engine came apart, had a part renewed, and has not run since."
)
TOO_NARROW = (
    "With few failures such intervals are too narrow: on drawn shops of eight lives 90 % ones held the truth 80 to "
    "84 % of the time."
)


class KindSection(Struct, frozen=True):
    """A section of the page: sentences, charts with their figures, and a file in small."""

    heading: Heading
    words: tuple[str, ...]
    charts: tuple[Chart, ...]
    small: Link | None = None


def lives_section(here: Here, kind: KindStory) -> KindSection | None:
    """Lives so far, and from three failures on the curve and Weibull's law; None for an assembly."""
    told = kind.lives
    if told is None:
        return None
    charts = []
    if told.curve is not None:
        charts.append(_curve_chart(here, kind, told))
    if told.lives:
        charts.append(_life_chart(here, kind, told.lives))
    words = [*_law_words(kind, told), *_left_out_words(here, told)]
    failed = count_words(told.failures, "failure")
    return KindSection(Heading("lives", "How long they last", failed), tuple(words), tuple(charts))


def _law_words(kind: KindStory, told: LivesStory) -> Iterator[str]:
    """What is known of the kind's life, or that it cannot be told."""
    if told.failures and told.events < told.failures:
        found = "one sheet" if told.events == 1 else count_words(told.events, "sheet")
        yield (
            f"{capital(count_words(told.failures, 'failure'))} found on {found}: what fails together is one thing that "
            "happened, and intervals that take each part by itself are too narrow."
        )
    if told.no_curve:
        yield f"No curve is drawn: {told.no_curve}."
    if told.law is None:
        yield f"How long they last: cannot tell, {told.no_law}. Their lives so far are shown as they are."
        return
    assert told.reached is not None
    unit = short(kind.unit)
    shape = interval_words(told.law.shape, "")
    yield (
        f"9 of 10 reach {interval_words(told.reached, unit)}. Weibull shape {shape}, {_shape_words(told)}; "
        f"scale {interval_words(told.law.scale, unit)}, by which 63 of 100 have failed. {TOO_NARROW}"
    )


def _shape_words(told: LivesStory) -> str:
    """What a shape says, where its interval leaves one side of 1."""
    assert told.law is not None
    if told.law.shape.low > 1.0:
        return "above 1: they wear out"
    return "below 1: early failures" if told.law.shape.high < 1.0 else "which may be wear or chance alike"


def _left_out_words(here: Here, told: LivesStory) -> Iterator[str]:
    """The parts whose lives are not told, by reason."""
    by_why: dict[str, list[str]] = defaultdict(list)
    for one in told.left_out:
        by_why[one.why].append(called(here, one.part))
    for why, parts in by_why.items():
        yield f"Left out: {count_words(len(parts), 'part')}, {why}: {list_words(parts)}."


def _curve_chart(here: Here, kind: KindStory, told: LivesStory) -> Chart:
    curve, law = told.curve, told.law
    assert curve is not None
    ends = sorted({curve.since, curve.until, *(x for step in curve.steps for x in (step.after, step.by))})
    pieces = []
    for start, end in pairwise(ends):
        share = curve.at((start + end) / 2.0)
        inside = any(step.after <= start and end <= step.by for step in curve.steps)
        if share is not None:
            pieces.append(Piece(start, end, share.value, share.low, share.high, not inside))
    xs = [curve.until * n / SAMPLES for n in range(SAMPLES + 1)]
    points = tuple((x, law.reliability(x).value) for x in xs) if law is not None else ()
    reached = told.reached
    ends_of = None if reached is None else (reached.value, reached.low, min(reached.high, 2.0 * curve.until))
    data = LivesCurve(f"{kind.unit} since new", tuple(pieces), points, ends_of)
    rows = [
        (
            f"after {amount_words(step.after, kind.unit)}, by {amount_words(step.by, kind.unit)}",
            f"{step.survival.value * 100:.0f}",
            f"{step.survival.low * 100:.0f}",
            f"{step.survival.high * 100:.0f}",
            str(step.at_risk),
        )
        for step in curve.steps
    ]
    figures = Figures(("drops", "still good, %", "from", "to", "known good up to it"), tuple(rows))
    return here.desk.drawer.draw(data, draw_lives_curve, "The share still good", (), READ_CURVE, figures)


def _life_chart(here: Here, kind: KindStory, lives: Sequence[LifeStory]) -> Chart:
    """A bar for each life; those alike in everything share one."""
    alike: dict[tuple[object, ...], list[LifeStory]] = defaultdict(list)
    for one in lives:
        alike[one.life, one.ending, one.because, round(one.run, 3)].append(one)
    rows = []
    for several in alike.values():
        first = several[0]
        name = called(here, first.part) + (f" and {len(several) - 1} more" if len(several) > 1 else "")
        failed = first.ending == "failed"
        rows.append(LifeRow(name, _ending_words(kind, first), first.life.entered, first.life.good, first.run, failed))
    shown = rows[:MOST_ROWS]
    more = f" The {MOST_ROWS} longest of {len(rows)} are drawn." if len(rows) > MOST_ROWS else ""
    figures = Figures(
        ("part", "last in", "ran", "known good to", "how it stands"),
        tuple(
            (
                called(here, one.part),
                f"{one.engine} {small(one.slot_name)}",
                amount_words(one.run, kind.unit),
                amount_words(one.life.good, kind.unit),
                _standing_words(one),
            )
            for one in lives
        ),
    )
    data = LifeRows(f"{kind.unit} since new", tuple(shown))
    return here.desk.drawer.draw(data, draw_life_rows, "Lives so far", (), READ_LIVES + more, figures)


def _standing_words(one: LifeStory) -> str:
    reason = f", {one.because}" if one.because else ""
    return f"{one.ending}{reason}"


def _ending_words(kind: KindStory, one: LifeStory) -> str:
    """How a life stands, at the end of its bar."""
    if one.ending == "failed":
        return f"{one.because}, {unit_words(range_words(one.life.good, one.run, 1), short(kind.unit))}"
    out = {"taken out": f"out: {one.because or 'no reason'}", "taken out, nothing written": "out: nothing written"}
    words = out.get(one.ending, one.ending)
    return f"{words}, {amount_words(one.run, kind.unit)}"


def renewals_section(here: Here, kind: KindStory) -> KindSection | None:
    """How many parts a place uses up; None where no place is renewed again and again."""
    told = kind.renewals
    if told is None:
        return None
    steps = tuple((one.exposure, one.mean, one.low, one.high) for one in told.growths)
    data = RenewalsCurve(f"{kind.unit} of the engine", steps, told.until)
    rows = tuple(
        (
            amount_words(one.exposure, kind.unit),
            f"{one.mean:.2f}",
            "" if one.low is None else f"{one.low:.2f}",
            "" if one.high is None else f"{one.high:.2f}",
            str(one.watched),
        )
        for one in told.growths
    )
    figures = Figures(("by", "parts a place", "from", "to", "engines watched"), rows)
    chart = here.desk.drawer.draw(data, draw_renewals_curve, "Parts used up by a place", (), READ_RENEWALS, figures)
    heading = Heading("renewals", "How often a place is renewed", count_words(told.replaced, "part"))
    return KindSection(heading, tuple(_renewal_words(kind, told)), (chart,))


def _renewal_words(kind: KindStory, told: RenewalsStory) -> Iterator[str]:
    last = told.growths[-1]
    parts, places = count_words(told.replaced, "part"), count_words(told.places, "place")
    ends = f" ({last.low:.1f} to {last.high:.1f})" if last.low is not None and last.high is not None else ""
    yield (
        f"{capital(parts)} taken out for good from {places} of {list_words(told.engines)}: {last.mean:.1f}{ends} a "
        f"place by {amount_words(last.exposure, kind.unit)}."
    )
    if told.stopped_by and told.beyond:
        have = "has" if len(told.stopped_by) == 1 else "have"
        yield (
            f"It is told no further: {list_words(told.stopped_by)} came apart there and {have} not run since. "
            f"{capital(count_words(told.beyond, 'part'))} went out later."
        )
    if told.left_out:
        yield f"Left out, {kind.unit} not written whole: {list_words(told.left_out)}."


def called(here: Here, part: str) -> str:
    """A part by its serial; one without, by its place and engine."""
    story = here.desk.by_id.get(part)
    if story is None or story.named:
        return part
    return f"{story.engine} {small(story.slot_name)}, no. {part.rsplit('.', 1)[-1]}"


def short(unit: str) -> str:
    """An exposure's unit as it stands behind a figure."""
    return amount_words(2.0, unit).split("\u00a0")[1]
