"""What is due as a table: what is used since it was last done, what is left, and on which day it falls due.

In: services, replacements and inspections of an engine's story. Out: `DueTable`, whose rows fold on a phone and whose
dates a few lines of script mark once they have passed.
"""

from collections.abc import Sequence

from markupsafe import Markup
from msgspec import Struct

from engine_pages.history.story import DueStory
from engine_pages.pages.bars import ROW, due_bar
from engine_pages.pages.desk import Here, source_words
from engine_pages.pages.dimension_words import due_reason
from engine_pages.pages.marks import state_word
from engine_pages.pages.pieces import Heading, Link
from engine_pages.pages.sets import sets_joined
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import day_words


class DueLine(Struct, frozen=True):
    """One interval. `day` is the day it falls due, as it is read and as a machine reads it (`day_iso`)."""

    name: Link
    under: tuple[str, ...]
    bar: Markup
    since: tuple[str, ...]
    left: tuple[str, ...]
    day: str
    day_iso: str
    state: Markup
    source: str


class DueTable(Struct, frozen=True):
    """Everything due, the furthest along first."""

    heading: Heading
    rows: tuple[DueLine, ...]
    note: str
    more: Link | None


def due_table(
    here: Here, dues: Sequence[DueStory], heading: Heading, within: str | None, note: str = "", more: Link | None = None
) -> DueTable | None:
    """The table of what is due; None where no rule is written. `within`: the folder whose records are named short; None
    where none is named."""
    if not dues:
        return None
    return DueTable(heading, tuple(_line(here, due, within) for due in sets_joined(dues)), note, more)


def _line(here: Here, due: DueStory, within: str | None) -> DueLine:
    last = f"last done {day_words(due.last)}" if due.last is not None else ""
    # With a day to name, the months that are left would say the same again, and worse.
    left = {unit: amount for unit, amount in due.left.items() if unit != "months" or due.due_on is None}
    since = {unit: amount for unit, amount in due.since.items() if unit in left or due.due_on is None}
    return DueLine(
        name=Link(due.name, here.part(due.part)),
        under=tuple(words for words in (due.rule, due_reason(due), last) if words),
        bar=due_bar(due, ROW),
        since=tuple(amount_words(amount, unit) for unit, amount in since.items()),
        left=tuple(_left(amount, unit) for unit, amount in left.items()),
        day=day_words(due.due_on) if due.due_on is not None else "",
        day_iso=due.due_on.isoformat() if due.due_on is not None else "",
        state=state_word(due.state),
        source=source_words(due.source, within) if within is not None else "",
    )


def _left(amount: float, unit: str) -> str:
    return f"{amount_words(-amount, unit)} over" if amount < 0 else amount_words(amount, unit)
