"""Cranking compression, leak-down and other tests as tables: place by place, chamber by chamber, judged.

In: the tests of a sheet. Out: one table a test, with how it was made and what is allowed beneath it.
"""

from collections.abc import Iterator

from engine_pages.history.story import ChamberReading, SheetStory, TestStory
from engine_pages.pages.desk import source_words
from engine_pages.pages.dimension_words import limit_words
from engine_pages.pages.marks import state_word
from engine_pages.pages.pieces import Column, Entry, Heading, Table, Text
from engine_pages.pages.words import capital, ended, figure_words, unit_words, written_decimals


def chamber_tables(sheet: SheetStory, within: str) -> tuple[Table, ...]:
    """One table a test: every place with its chambers, brought to the standard speed where the curve reaches."""
    return tuple(_test_table(test, within) for test in sheet.tests)


def _test_table(test: TestStory, within: str) -> Table:
    corrected = test.at_rpm is not None and test.rpm is not None and any(_moved(row[2]) for row in test.rows)
    columns = [Column("place"), Column("as read", "fig")]
    if corrected:
        columns.append(Column(f"{test.unit} at {figure_words(test.at_rpm or 0.0, 0)} rpm", "fig"))
    columns.append(Column("verdict"))
    rows, decimals = [], test_decimals(test)
    for _, name, chambers in test.rows:
        entries = [Entry(name), Entry(", ".join(chamber.written for chamber in chambers), strong=not corrected)]
        if corrected:
            entries.append(Entry(", ".join(_corrected(chamber, decimals) for chamber in chambers), strong=True))
        rows.append((*entries, Entry(_worst_verdict(chambers))))
    heading = Heading(f"test-{test.test.replace('_', '-')}", test.name, source_words(test.source, within))
    return Table(heading, tuple(columns), tuple(rows), note=" ".join(_test_note(test, corrected)))


def test_decimals(test: TestStory) -> int:
    """Decimals of a test's figures: as many as its readings were written with."""
    return max((written_decimals(one.written) for row in test.rows for one in row[2]), default=0)


def _moved(chambers: tuple[ChamberReading, ...]) -> bool:
    return any(one.corrected is not None and one.corrected != one.value for one in chambers)


def _corrected(chamber: ChamberReading, decimals: int) -> str:
    return figure_words(chamber.corrected, decimals) if chamber.corrected is not None else "not corrected"


def _worst_verdict(chambers: tuple[ChamberReading, ...]) -> Text:
    verdicts = [chamber.verdict for chamber in chambers]
    if "beyond" in verdicts:
        return state_word("beyond limit")
    if "undecided" in verdicts:
        return state_word("undecided")
    return state_word("within") if "within" in verdicts else "no limit"


def _test_note(test: TestStory, corrected: bool) -> Iterator[str]:
    """How the test was made, what is allowed, how far apart chambers and places lie."""
    decimals = test_decimals(test)
    if test.limit is not None:
        yield f"Allowed: {limit_words(test.limit, decimals)} {test.unit}."
        yield f"Source: {test.limit_source}." if test.limit_source else "No source is written for it."
    if corrected and test.rpm is not None:
        yield f"Cranked at {figure_words(test.rpm, 0)} rpm."
    elif test.not_corrected is not None:
        yield ended(f"Shown as read: {test.not_corrected}")
    for what, spread, most in (
        ("chambers of one place", test.spread_chambers, test.spread_limits[0]),
        ("places", test.spread_rows, test.spread_limits[1]),
    ):
        if spread is not None:
            allowed = f", at most {figure_words(most, decimals)}" if most is not None else ""
            yield f"Between {what}: {unit_words(figure_words(spread, decimals), test.unit)}{allowed}."
    if test.faces_marked:
        yield "Faces are marked."
    if test.why and test.state != "within":
        yield ended(capital(test.why))
