"""The crew's page of a change: did it help, what was compared, what was left out, what else changed meanwhile.

In: a change told. Out: `ListPage`, the data of the lists' template.
"""

from engine_pages.history.change_words import chance_words, left_out_parts, ratio_words, verdict_words
from engine_pages.history.told_changes import ChangeStory, IntervalOut, IntervalUsed, KindAnswer
from engine_pages.history.told_parts import SheetRef
from engine_pages.pages.addresses import change_path
from engine_pages.pages.charts.change_dots import ChangeDots, DotsRow, draw_change_dots
from engine_pages.pages.charts.interval_rows import IntervalRow, IntervalRows, draw_interval_rows
from engine_pages.pages.desk import Desk, Here, sheet_words, source_words
from engine_pages.pages.heads import commit_cell, foot, print_margin
from engine_pages.pages.list_pages import ListPage
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
from engine_pages.wear.change import FittedChange, SideCount
from engine_pages.wear.fieller import Ratio
from engine_pages.wear.trend import Interval

READ_RATIOS = (
    "A dot at 1 is as much wear on {1} as on {0}; left of it less. The line is the interval; where it has no end there "
    "is no bound. Each part is compared with itself, and a season that was hard on all parts counts as chance."
)
READ_DOTS = (
    "Of each kind the open dot is the rate on {}, the full one on {}, both of the same average part, in multiples of "
    "what the kind usually wears. Lines that overlap may still differ: it is the ratio that is judged."
)
READ_KINDS = (
    "Each kind by itself, rates of the same average part on both sides with their intervals. Who picks one of several "
    "kinds is more often wrong: lower or higher is said of a kind where it holds for all of them together, so that an "
    "interval may leave out 1 and still be chance."
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


SAME_WEAR = "An engine went back to {}: that is no question of its own, it compares the same wear."

MOST_NAMED = 4  # of what looked bad; the page lists all under the change itself
MOST_PARTS = 3  # named in a line of what was left out


def change_title(change: ChangeStory) -> str:
    """What the page is called: `Oil: mineral-10w60 to ester-15w50`."""
    back = ", and back" if change.back else ""
    return f"{capital(change.fluid.replace('_', ' '))}: {change.before} to {change.after}{back}"


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
            _side_cell(answer.before, change.before),
            _side_cell(answer.after, change.after),
            Cell("as of", day_words(story.as_of)),
            Cell("changed in", count_words(len(engines), "engine"), ", ".join(engines)),
            Cell("verdict", "kinds do not agree" if change.apart else answer.verdict),
            commit_cell(story.commit, False, here.desk.edition),
        ),
        claim=dated(verdict_words(change)),
        rest=" ".join(words for words in (chance_words(change), _selection(change), _back(change)) if words),
        more="Three intervals a side are the least of which anything is said.",
        says=(),
        foot=foot(story.as_of, story.commit, "", confidence),
        print_margin=print_margin("changes", story.as_of, story.commit),
    )


def _side_cell(side: SideCount, fluid: str) -> Cell:
    return Cell("intervals", str(side.intervals), f"on {fluid}, {count_words(side.increments, 'reading')}")


def _back(change: ChangeStory) -> str:
    return SAME_WEAR.format(change.before) if change.back else ""


def _selection(change: ChangeStory) -> str:
    """What looked bad before the change was made."""
    bad = [dated(one) for one in change.looked_bad]
    if len(bad) > MOST_NAMED:
        bad = [*bad[: MOST_NAMED - 1], f"{len(bad) - MOST_NAMED + 1} more"]
    return f"Before it: {list_words(bad)}." if bad else ""


def _chart(here: Here, change: ChangeStory) -> Charts | None:
    """The ratio of all kinds together and of each, and what they are the ratios of."""
    known = [(one.called, fit, False) for one in change.kinds if (fit := one.answer.fit) is not None]
    if change.answer.fit is not None:
        known.insert(0, ("all together", change.answer.fit, True))
    rows = [
        IntervalRow(name, fit.ratio.value, fit.ratio.low, fit.ratio.high, strong=strong)
        for name, fit, strong in known
        if strong or fit.ratio.value is not None
    ]
    if not any(row.value is not None for row in rows):
        return None
    data = IntervalRows(f"wear on {change.after} ÷ on {change.before}", tuple(rows), 1.0, "no change")
    figures = Figures(("", "ratio"), tuple((row.name, _ends(row)) for row in rows))
    title, read = f"Wear on {change.after} against {change.before}", READ_RATIOS.format(change.before, change.after)
    chart = here.desk.drawer.draw(data, draw_interval_rows, title, (), read, figures)
    return Charts(Heading("ratio", "Did it help", "ratio with its interval"), (chart, _dots(here, change, known)))


def _dots(here: Here, change: ChangeStory, known: list[tuple[str, FittedChange, bool]]) -> Chart:
    rows = tuple(DotsRow(name, _rate(fit.before), _rate(fit.after), strong) for name, fit, strong in known)
    sides = (f"on {change.before}", f"on {change.after}")
    figures = Figures(
        ("", *sides),
        tuple((name, interval_words(fit.before, ""), interval_words(fit.after, "")) for name, fit, _ in known),
    )
    data = ChangeDots("wear as multiple of the usual", rows, sides)
    read = READ_DOTS.format(change.before, change.after)
    return here.desk.drawer.draw(data, draw_change_dots, f"Wear {' and '.join(sides)}", (), read, figures)


def _rate(rate: Interval) -> tuple[float, float, float]:
    return rate.value, rate.low, rate.high


def _ends(row: IntervalRow) -> str:
    return ratio_words(Ratio(row.value, row.low, row.high)).removesuffix(" times")


def _kinds(change: ChangeStory) -> Table | None:
    if not change.kinds:
        return None
    columns = (Column("kind"), Column("wear", "num"), Column("ratio", "num"), Column("verdict"))
    rows = tuple(_kind(one, change) for one in change.kinds)
    return Table(
        Heading("kinds", "Kind by kind", f"on {change.before}, then on {change.after}"), columns, rows, note=READ_KINDS
    )


def _kind(one: KindAnswer, change: ChangeStory) -> tuple[Entry, ...]:
    fit = one.answer.fit
    unit, times = speed_unit(one.unit, one.per)
    said = (None, change.answer.why, "no change is not ruled out")  # what is said of all need not be said of each
    why = () if one.answer.why in said else (one.answer.why or "",)
    family = (one.family_name,) if one.family_name else ()
    name, verdict = Entry(one.name, (f"{one.dimension}, {unit}", *family), strong=True), Entry(one.answer.verdict, why)
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
        Entry(amount_words(one.run, one.per), (count_words(one.increments, "reading"),)),
    )


def _sheet(here: Here, sheet: SheetRef | None) -> Entry:
    """A sheet by its day, under it its number."""
    if sheet is None:
        return Entry("no sheet")
    return Entry(day_words(sheet.day), (sheet_words(sheet),), href=here.sheet(sheet))


def _left_out(here: Here, change: ChangeStory) -> Table | None:
    if not change.intervals_out:
        return None
    columns = (Column("engine"), Column("from"), Column("to"), Column("why"))
    rows = tuple(_interval_out(here, one) for one in change.intervals_out)
    heading = Heading("left-out", "What was left out", count_words(len(change.left_out), "reading"))
    unknown = "; ".join(small(one) for one in change.unknown_rate)
    note = f"{READ_OUT} No wear measurable yet, and not compared: {unknown}." if unknown else READ_OUT
    return Table(heading, columns, rows, note=note)


def _interval_out(here: Here, one: IntervalOut) -> tuple[Entry, ...]:
    parts = left_out_parts(tuple(dict.fromkeys(here.part_called(part) for part in one.parts)), MOST_PARTS)
    why = f"{one.why}: {one.more}" if one.more else one.why.removeprefix("its part counts ")
    return (
        Entry(one.first.engine, href=here.engine(one.first.engine)),
        _sheet(here, one.first),
        _sheet(here, one.last),
        Entry(why, (f"{count_words(one.increments, 'reading')} of {list_words(parts)}",)),
    )


def _made(here: Here, change: ChangeStory) -> Lines | None:
    lines = tuple(
        Line(
            f"{one.engine}, {day_words(one.day)}{f', back to {change.before}' if one.back else ''}:",
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
