"""The crew's page of a change: did it help, what was compared, what was left out, what else changed meanwhile.

In: a change told. Out: `ListPage`, the data of the lists' template.
"""

from engine_pages.history.change_words import ratio_words, verdict_words
from engine_pages.history.told_changes import ChangeStory, IntervalOut, IntervalUsed, KindAnswer
from engine_pages.history.told_parts import SheetRef
from engine_pages.pages.addresses import change_path
from engine_pages.pages.charts.change_dots import ChangeDots, DotsRow, draw_change_dots
from engine_pages.pages.charts.interval_rows import IntervalRow, IntervalRows, draw_interval_rows
from engine_pages.pages.desk import Desk, Here, sheet_words, source_words
from engine_pages.pages.heads import commit_cell, foot, print_margin
from engine_pages.pages.list_pages import ListPage
from engine_pages.pages.marks import shared_patterns
from engine_pages.pages.pieces import (
    Cell,
    Chart,
    Charts,
    Column,
    Entry,
    Figures,
    Heading,
    Line,
    Lines,
    Link,
    PageHead,
    Table,
)
from engine_pages.pages.wear_words import amount_words, interval_words, speed_unit
from engine_pages.pages.words import capital, count_words, dated, day_words, list_words, quoted_words, small
from engine_pages.wear.change import FittedChange
from engine_pages.wear.trend import Interval

READ_RATIOS = (
    "A dot at 1 is as much wear after as before; left of it less. The line is the interval; where it has no end there "
    "is no bound. Each part is compared with itself, and a season that was hard on all parts counts as chance."
)
READ_DOTS = (
    "Of each kind the open dot is the rate before, the full one after, both of the same average part, in multiples of "
    "what the kind usually wears. Lines that overlap may still differ: it is the ratio that is judged."
)
READ_KINDS = (
    "Each kind by itself, rates of the same average part on both sides with their intervals. Lower or higher is said "
    "where the interval of the ratio leaves out 1; of many kinds one in ten may do so by chance."
)
READ_INTERVALS = (
    "An interval is what an engine ran between two sheets on which a part was read that counts. Its parts share its "
    "season, so it counts once, however many readings it holds."
)
READ_OUT = (
    "Out is what holds run-in or more than one recipe (oil, premix, fuel, filter, injected), and then every part that "
    "is left on one side only: it cannot be compared with itself."
)
READ_MADE = (
    "After a finding that looked bad the next one looks better by itself. Where a reason, an incident since the strip "
    "before the last, or a part that went out worn or damaged says so, the verdict is withheld."
)
READ_MEANWHILE = (
    "Whatever stands here may have moved the wear as well as the change: the figures cannot tell them apart."
)


MOST_NAMED = 4  # of what looked bad; the page lists all under the change itself
MOST_PARTS = 3  # named in a line of what was left out


def change_title(change: ChangeStory) -> str:
    """What the page is called: `Oil: mineral-10w60 to ester-15w50`."""
    return f"{capital(change.fluid.replace('_', ' '))}: {change.before} to {change.after}"


def change_page(desk: Desk, number: int, change: ChangeStory) -> ListPage:
    """The page of one change."""
    here = Here(desk, change_path(change.fluid, number))
    chart = _chart(here, change)
    tables = (_kinds(change), _intervals(here, change), _left_out(here, change))
    return ListPage(
        _head(here, change),
        happened=chart,
        tables=tuple(table for table in tables if table is not None),
        lists=tuple(lines for lines in (_made(here, change), _meanwhile(change)) if lines is not None),
    )


def _head(here: Here, change: ChangeStory) -> PageHead:
    answer, story = change.answer, here.desk.story
    engines = list(dict.fromkeys(one.engine for one in change.made))
    confidence = here.desk.engines[0].confidence if here.desk.engines else 0.9
    return PageHead(
        id=capital(change.fluid.replace("_", " ")),
        under=(f"from {change.before}", f"to {change.after}"),
        cells=(
            Cell("intervals before", str(answer.before.intervals), count_words(answer.before.increments, "reading")),
            Cell("intervals after", str(answer.after.intervals), count_words(answer.after.increments, "reading")),
            Cell("as of", day_words(story.as_of)),
            Cell("changed in", count_words(len(engines), "engine"), ", ".join(engines)),
            Cell("verdict", answer.verdict),
            commit_cell(story.commit, False, here.desk.edition),
        ),
        claim=dated(verdict_words(change)),
        rest=_selection(change),
        more="Three intervals a side are the least of which anything is said.",
        says=(),
        foot=foot(story.as_of, story.commit, "", confidence),
        print_margin=print_margin("changes", story.as_of, story.commit),
        patterns=shared_patterns(),
    )


def _selection(change: ChangeStory) -> str:
    """What looked bad before the change was made."""
    bad = [dated(one) for one in change.looked_bad]
    if len(bad) > MOST_NAMED:
        bad = [*bad[: MOST_NAMED - 1], f"{len(bad) - MOST_NAMED + 1} more"]
    return f"Before it: {list_words(bad)}." if bad else ""


def _chart(here: Here, change: ChangeStory) -> Charts | None:
    """The ratio of all kinds together and of each, and what they are the ratios of."""
    known = [
        (f"{one.name}, {one.dimension}", fit, False) for one in change.kinds if (fit := one.answer.fit) is not None
    ]
    if change.answer.fit is not None:
        known.insert(0, ("all together", change.answer.fit, True))
    rows = [
        IntervalRow(name, fit.ratio.value, fit.ratio.low, fit.ratio.high, strong=strong)
        for name, fit, strong in known
        if strong or fit.ratio.value is not None
    ]
    if not any(row.value is not None for row in rows):
        return None
    data = IntervalRows("wear after ÷ wear before", tuple(rows), 1.0, "no change")
    figures = Figures(("", "ratio"), tuple((row.name, _ends(row)) for row in rows))
    chart = here.desk.drawer.draw(data, draw_interval_rows, "Wear after against before", (), READ_RATIOS, figures)
    return Charts(Heading("ratio", "Did it help", "ratio with its interval"), (chart, _dots(here, known)))


def _dots(here: Here, known: list[tuple[str, FittedChange, bool]]) -> Chart:
    rows = tuple(DotsRow(name, _rate(fit.before), _rate(fit.after), strong) for name, fit, strong in known)
    figures = Figures(
        ("", "before", "after"),
        tuple((name, interval_words(fit.before, ""), interval_words(fit.after, "")) for name, fit, _ in known),
    )
    data = ChangeDots("wear as multiple of the usual", rows)
    return here.desk.drawer.draw(data, draw_change_dots, "Wear before and after", (), READ_DOTS, figures)


def _rate(rate: Interval) -> tuple[float, float, float]:
    return rate.value, rate.low, rate.high


def _ends(row: IntervalRow) -> str:
    ends = [f"{end:.2f}" if end is not None else "no bound" for end in (row.low, row.high)]
    return "not known" if row.value is None else f"{row.value:.2f} ({ends[0]} to {ends[1]})"


def _kinds(change: ChangeStory) -> Table | None:
    if not change.kinds:
        return None
    columns = (Column("kind"), Column("before and after", "num"), Column("ratio", "num"), Column("verdict"))
    rows = tuple(_kind(one, change) for one in change.kinds)
    return Table(Heading("kinds", "Kind by kind", "each by itself"), columns, rows, note=READ_KINDS)


def _kind(one: KindAnswer, change: ChangeStory) -> tuple[Entry, ...]:
    fit = one.answer.fit
    unit, times = speed_unit(one.unit, change.unit)
    said = (None, change.answer.why, "no change is not ruled out")  # what is said of all need not be said of each
    why = () if one.answer.why in said else (one.answer.why or "",)
    name, verdict = Entry(one.name, (f"{one.dimension}, {unit}", *why), strong=True), Entry(one.answer.verdict)
    if fit is None:
        return name, Entry(""), Entry(""), verdict
    # a size, without the sign of a part that shrinks
    before, after = (interval_words(rate.times(abs(one.usual) * times), "") for rate in (fit.before, fit.after))
    ratio, _, ends = ratio_words(fit.ratio).removesuffix(" times").partition(" ")
    return name, Entry(before, (f"then {after}",)), Entry(ratio, (ends,)), verdict


def _intervals(here: Here, change: ChangeStory) -> Table | None:
    if not change.intervals:
        return None
    columns = (
        Column("engine"),
        Column("from"),
        Column("to"),
        Column("on"),
        Column("run", "num"),
        Column("readings", "num", optional=True),
    )
    rows = tuple(_interval(here, change, one) for one in change.intervals)
    heading = Heading("intervals", "What was compared", "engines’ runs between two sheets")
    return Table(heading, columns, rows, note=READ_INTERVALS)


def _interval(here: Here, change: ChangeStory, one: IntervalUsed) -> tuple[Entry, ...]:
    return (
        Entry(one.engine, href=here.engine(one.engine)),
        _sheet(here, one.first),
        _sheet(here, one.last),
        Entry(change.before if one.side == "before" else change.after),
        Entry(amount_words(one.run, change.unit)),
        Entry(str(one.increments)),
    )


def _sheet(here: Here, sheet: SheetRef | None) -> Entry:
    """A sheet by its day, under it its number."""
    if sheet is None:
        return Entry("no sheet")
    return Entry(day_words(sheet.day), (sheet_words(sheet),), href=here.sheet(sheet))


def _left_out(here: Here, change: ChangeStory) -> Table | None:
    if not change.intervals_out:
        return None
    columns = (Column("engine"), Column("from"), Column("to"), Column("why"), Column("readings", "num", optional=True))
    rows = tuple(_interval_out(here, one) for one in change.intervals_out)
    heading = Heading("left-out", "What was left out", count_words(len(change.left_out), "reading"))
    unknown = "; ".join(small(one) for one in change.unknown_rate)
    note = f"{READ_OUT} No wear measurable yet, and not compared: {unknown}." if unknown else READ_OUT
    return Table(heading, columns, rows, note=note)


def _interval_out(here: Here, one: IntervalOut) -> tuple[Entry, ...]:
    parts = [here.part_called(part) for part in one.parts[:MOST_PARTS]]
    if len(one.parts) > MOST_PARTS:
        parts = [*parts[:-1], f"{len(one.parts) - MOST_PARTS + 1} more"]
    why = f"{one.why}: {one.more}" if one.more else one.why.removeprefix("its part counts ")
    return (
        Entry(one.first.engine, href=here.engine(one.first.engine)),
        _sheet(here, one.first),
        _sheet(here, one.last),
        Entry(why, (list_words(list(dict.fromkeys(parts))),)),
        Entry(str(one.increments)),
    )


def _made(here: Here, change: ChangeStory) -> Lines | None:
    lines = tuple(
        Line(
            f"{one.engine}, {day_words(one.day)}:",
            quoted_words(one.why) if one.why else "no reason is written",
            quiet=f"before it: {', '.join(dated(words) for words in one.looked_bad)}" if one.looked_bad else "",
            source=source_words(one.source),
            link=Link("fluids", here.listing(one.engine, "fluids")),
        )
        for one in change.made
    )
    return Lines(Heading("made", "When it was made, and why"), lines, note=READ_MADE) if lines else None


def _meanwhile(change: ChangeStory) -> Lines:
    heading = Heading("meanwhile", "What else changed meanwhile")
    if not change.meanwhile:
        return Lines(heading, (Line(text="Nothing else is written to have changed."),))
    lines = tuple(Line(text=f"{capital(dated(one))}.") for one in change.meanwhile)
    return Lines(heading, lines, note=READ_MEANWHILE)
