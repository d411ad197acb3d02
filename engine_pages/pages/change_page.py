"""The crew's page of a change: did it help, what was compared, what was left out, what else changed meanwhile.

In: a change told. Out: `ListPage`, the data of the lists' template.
"""

from engine_pages.history.change_words import ratio_words, verdict_words
from engine_pages.history.told_changes import ChangeStory, KindAnswer
from engine_pages.pages.addresses import change_path
from engine_pages.pages.charts.interval_rows import IntervalRow, IntervalRows, draw_interval_rows
from engine_pages.pages.desk import Desk, Here, source_words
from engine_pages.pages.heads import commit_cell, foot, print_margin
from engine_pages.pages.list_pages import ListPage
from engine_pages.pages.marks import shared_patterns
from engine_pages.pages.pieces import Cell, Charts, Column, Entry, Figures, Heading, Line, Lines, Link, PageHead, Table
from engine_pages.pages.wear_words import amount_words, signed_speed_words
from engine_pages.pages.words import capital, count_words, dated, day_words, list_words, quoted_words, small

HOW_TO_READ = (
    "A dot at 1 is as much wear after as before; left of it less. The line is the interval; where it has no end there "
    "is no bound. Each part is compared with itself, and a season that was hard on all parts counts as chance."
)


MOST_NAMED = 4  # of what looked bad; the page lists all under the change itself


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
    fit = change.answer.fit
    rows = (
        []
        if fit is None
        else [IntervalRow("all together", fit.ratio.value, fit.ratio.low, fit.ratio.high, strong=True)]
    )
    for one in change.kinds:
        if one.answer.fit is not None and one.answer.fit.ratio.value is not None:
            ratio = one.answer.fit.ratio
            rows.append(IntervalRow(f"{one.name}, {one.dimension}", ratio.value, ratio.low, ratio.high))
    if not any(row.value is not None for row in rows):
        return None
    data = IntervalRows("wear after ÷ wear before", tuple(rows), 1.0, "no change")
    figures = Figures(("", "ratio"), tuple((row.name, _ends(row)) for row in rows))
    chart = here.desk.drawer.draw(data, draw_interval_rows, "Wear after against before", (), HOW_TO_READ, figures)
    return Charts(Heading("ratio", "Did it help", "ratio with its interval"), (chart,))


def _ends(row: IntervalRow) -> str:
    ends = [f"{end:.2f}" if end is not None else "no bound" for end in (row.low, row.high)]
    return "not known" if row.value is None else f"{row.value:.2f} ({ends[0]} to {ends[1]})"


def _kinds(change: ChangeStory) -> Table | None:
    if not change.kinds:
        return None
    columns = (
        Column("kind"),
        Column("before", "num", optional=True),
        Column("after", "num", optional=True),
        Column("ratio", "num"),
        Column("verdict"),
    )
    rows = tuple(_kind(one, change.unit) for one in change.kinds)
    note = "Rates of the same average part on both sides, with their intervals."
    return Table(Heading("kinds", "Kind by kind", "each by itself"), columns, rows, note=note)


def _kind(one: KindAnswer, unit: str) -> tuple[Entry, ...]:
    fit = one.answer.fit
    name = Entry(one.name, (one.dimension,), strong=True)
    if fit is None:
        return name, Entry(""), Entry(""), Entry(""), Entry(one.answer.verdict, (one.answer.why or "",))
    before, after = (rate.times(abs(one.usual)) for rate in (fit.before, fit.after))  # without the sign of what shrinks
    why = one.answer.why if one.answer.why not in (None, "no change is not ruled out") else ""
    return (
        name,
        Entry(signed_speed_words(before, one.unit, unit)),
        Entry(signed_speed_words(after, one.unit, unit)),
        Entry(ratio_words(fit.ratio).removesuffix(" times")),
        Entry(one.answer.verdict, (why,) if why else ()),
    )


def _intervals(here: Here, change: ChangeStory) -> Table | None:
    if not change.intervals:
        return None
    columns = (
        Column("engine"),
        Column("from"),
        Column("to", optional=True),
        Column("on"),
        Column("run", "num"),
        Column("readings", "num", optional=True),
    )
    rows = tuple(
        (
            Entry(one.engine, href=here.engine(one.engine)),
            Entry(day_words(one.began)),
            Entry(day_words(one.ended)),
            Entry(change.before if one.side == "before" else change.after),
            Entry(amount_words(one.run, change.unit)),
            Entry(str(one.increments)),
        )
        for one in change.intervals
    )
    return Table(Heading("intervals", "What was compared", "an engine’s runs between two sheets"), columns, rows)


def _left_out(here: Here, change: ChangeStory) -> Table | None:
    if not change.left_out:
        return None
    columns = (Column("part"), Column("from", optional=True), Column("to"), Column("why"))
    rows = tuple(
        (
            Entry(one.part, (one.dimension.replace("_", " "),), href=here.part(one.part)),
            Entry(day_words(one.began)),
            Entry(day_words(one.ended)),
            Entry(one.why),
        )
        for one in change.left_out
    )
    heading = Heading("left-out", "What was left out", count_words(len(rows), "reading"))
    unknown = "; ".join(small(one) for one in change.unknown_rate)
    return Table(
        heading, columns, rows, note=f"No wear measurable yet, and not compared: {unknown}." if unknown else ""
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
    return Lines(Heading("made", "When it was made, and why"), lines) if lines else None


def _meanwhile(change: ChangeStory) -> Lines:
    heading = Heading("meanwhile", "What else changed meanwhile")
    if not change.meanwhile:
        return Lines(heading, (Line(text="Nothing else is written to have changed."),))
    return Lines(heading, tuple(Line(text=f"{capital(dated(one))}.") for one in change.meanwhile))
