"""Cranking compression, leak-down and other tests as tables: place by place, chamber by chamber, judged.

In: the tests of a sheet. Out: one table a test, with how it was made and what is allowed beneath it.
"""

import re
from collections.abc import Iterator, Sequence
from typing import Final

from engine_pages.history.status import NO_LIMIT
from engine_pages.history.story import ChamberReading, SheetStory, TestStory
from engine_pages.pages.desk import source_words
from engine_pages.pages.dimension_words import limit_words
from engine_pages.pages.marks import state_word
from engine_pages.pages.pieces import Column, Entry, Heading, Table, Text
from engine_pages.pages.words import HARD_BLANK, capital, ended, figure_words, unit_words, written_decimals

_APART: Final = {"chambers": "chambers of one place", "rows": "places"}
_FIGURE: Final = r"(?:\d+(?:\.\d+)?|\.\d+)"
_SIDE: Final = re.compile(r"(?:under|over|[<>])\s*")
_BETWEEN: Final = re.compile(r"\s*(?:,|\.\.)\s*")
_BARE: Final = re.compile(rf"(?:{_SIDE.pattern})?{_FIGURE}(?:{_BETWEEN.pattern}{_FIGURE})*")


def chamber_tables(sheet: SheetStory, within: str) -> tuple[Table, ...]:
    """One table a test: every place with its chambers, brought to the standard speed where the curve reaches."""
    return tuple(_test_table(test, within) for test in sheet.tests)


def _test_table(test: TestStory, within: str) -> Table:
    corrected = test.at_rpm is not None and test.rpm is not None and any(_moved(row[2]) for row in test.rows)
    columns = [Column("place"), Column("as read", "figs")]
    if corrected:
        columns.append(Column(f"at {figure_words(test.at_rpm or 0.0, 0)} rpm", "figs"))
    columns.append(Column("verdict"))
    rows, decimals = [], test_decimals(test)
    for _, name, chambers in test.rows:
        entries = [Entry(name), Entry(as_read_words(chambers, test.unit, test.read_in), strong=not corrected)]
        if corrected:
            entries.append(Entry(_corrected(chambers, test.unit, decimals), strong=True))
        rows.append((*entries, Entry(_worst_verdict(chambers))))
    heading = Heading(f"test-{test.test.replace('_', '-')}", test.name, source_words(test.source, within))
    return Table(heading, tuple(columns), tuple(rows), note=" ".join(_test_note(test, corrected)))


def test_decimals(test: TestStory) -> int:
    """Decimals of a test's figures: as many as its readings were written with."""
    return max((written_decimals(one.written) for row in test.rows for one in row[2]), default=0)


def _moved(chambers: tuple[ChamberReading, ...]) -> bool:
    return any(one.corrected is not None and one.corrected != one.value for one in chambers)


def as_read_words(chambers: Sequence[ChamberReading], unit: str, read_in: str | None) -> str:
    """What was written, chamber by chamber, with its unit: once behind figures that follow each other in one unit.

    `unit` is the test's own, `read_in` that in which the sheet's bare readings are taken (None: the test's).
    """
    read_in = read_in or unit
    if read_in == unit and all(_is_bare(one) for one in chambers):
        return unit_words(", ".join(one.written for one in chambers), unit)
    return ", ".join(_read_words(one, unit, read_in) for one in chambers)


def _read_words(chamber: ChamberReading, unit: str, read_in: str) -> str:
    """One reading with its unit; one written in another unit than the test's is given in the test's own as well."""
    if not _is_bare(chamber):
        return chamber.written.replace(" ", HARD_BLANK)
    written = unit_words(chamber.written, read_in)
    if read_in == unit or chamber.value is None:
        return written
    worked_out = unit_words(figure_words(chamber.value, max(1, written_decimals(chamber.written))), unit)
    return f"{worked_out} (written {written})"


def _is_bare(chamber: ChamberReading) -> bool:
    """Whether nothing but figures was written: `812`, `812, 806`, `0.36..0.42`; `4.1 bar` has its unit."""
    return _BARE.fullmatch(chamber.written) is not None


def _corrected(chambers: Sequence[ChamberReading], unit: str, decimals: int) -> str:
    known = [figure_words(one.corrected, decimals) for one in chambers if one.corrected is not None]
    if len(known) == len(chambers):
        return unit_words(", ".join(known), unit)
    return ", ".join(
        unit_words(figure_words(one.corrected, decimals), unit) if one.corrected is not None else "no figure"
        for one in chambers
    )


def _worst_verdict(chambers: tuple[ChamberReading, ...]) -> Text:
    verdicts = [chamber.verdict for chamber in chambers]
    if "beyond" in verdicts:
        return state_word("beyond limit")
    if "undecided" in verdicts:
        return state_word("undecided")
    return state_word("within") if "within" in verdicts else NO_LIMIT


def _test_note(test: TestStory, corrected: bool) -> Iterator[str]:
    """How the test was made, what is allowed, how far apart chambers and places lie."""
    decimals = test_decimals(test)
    if test.limit is not None:
        yield f"Allowed: {unit_words(limit_words(test.limit, decimals), test.unit)}."
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
            allowed = f", at most {unit_words(figure_words(most, decimals), test.unit)}" if most is not None else ""
            yield f"Between {what}: {unit_words(figure_words(spread, decimals), test.unit)}{allowed}."
    if test.faces_marked:
        yield "Faces are marked."
    if test.why and test.state != "within":
        yield ended(capital(why_words(test)))


def why_words(test: TestStory) -> str:
    """Why a test is not within; what lies too far apart is given with its unit."""
    spreads = (test.spread_chambers, test.spread_rows)
    for what, spread, most in zip(("chambers", "rows"), spreads, test.spread_limits, strict=True):
        if test.why.startswith(f"{what} ") and spread is not None and most is not None:
            apart, allowed = (unit_words(figure_words(one, test_decimals(test)), test.unit) for one in (spread, most))
            return f"{_APART[what]} {apart} apart, at most {allowed}"
    return test.why
