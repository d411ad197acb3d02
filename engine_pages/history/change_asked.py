"""Which changes are asked for: a fluid, a kind of part, two names in; the shop's changes that match, told, out."""

from collections.abc import Iterable, Sequence
from datetime import date

from msgspec import Struct

from ..records.checks.checked import Checked
from ..records.checks.known_by import known_by
from ..records.source import nearest
from .book import open_book
from .changes import weighed
from .changes_made import ChangeQuestion, questions_of
from .pools import Pools
from .tell import confidence_of, until_of
from .told_changes import ChangeStory


class ChangeError(Exception):
    """There is no such change; the message says what there is."""


class AskedChange(Struct, frozen=True):
    """A fluid, and where they are given the kind of part, the name before and the name after."""

    fluid: str
    kind: str | None = None
    before: str | None = None
    after: str | None = None


def ask_changes(checked: Checked, asked: AskedChange, day: date | None = None) -> tuple[ChangeStory, ...]:
    """Every change that was asked for, of one kind where it is named. ChangeError where there is none.

    Names are looked up before anything is weighed, and only what was asked for is.
    """
    book = open_book(known_by(checked, day or checked.today))
    questions = _questions(questions_of(book), asked)
    families = [record.it for record in book.checked.shop.families.values()]
    _known(asked.kind, (kind for family in families for kind in family.kinds), "no {} counts on both sides of a change")
    return weighed(book, Pools(book, until_of(day or checked.today)), confidence_of(book), questions, asked.kind)


def _questions(questions: Sequence[ChangeQuestion], asked: AskedChange) -> list[ChangeQuestion]:
    """The questions that match; one that was changed back matches either way."""
    _known(asked.fluid, (one.fluid for one in questions), "no change of {} is written")
    of_fluid = [one for one in questions if one.fluid == asked.fluid]
    made = [one for question in of_fluid for one in question.made]
    _known(asked.before, (one.before for one in made), f"no {asked.fluid} was changed from {{}}")
    _known(asked.after, (one.filled.name for one in made), f"no {asked.fluid} was changed to {{}}")
    found = [one for one in of_fluid if one.goes(asked.before, asked.after)]
    if not found:
        raise ChangeError(f"no {asked.fluid} was changed from {asked.before} to {asked.after}")
    return found


def _known(name: str | None, names: Iterable[str], words: str) -> None:
    known = sorted(set(names))
    if name is not None and name not in known:
        raise ChangeError(f"{words.format(name)}; {nearest(name, known) if known else 'there is none at all'}")
