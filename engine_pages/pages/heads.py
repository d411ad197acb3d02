"""The opening and the close of a page: doubts, where its figures come from, and what they are not.

In: an engine's, a part's or the shop's date, commit and problems. Out: the lines of a page's foot, its printed margin,
the cell of the commit, and doubts ready to be set.
"""

from collections.abc import Iterable
from datetime import date

from markupsafe import Markup, escape

from engine_pages.history.story import EngineStory
from engine_pages.pages.desk import source_words
from engine_pages.pages.pieces import Cell
from engine_pages.pages.words import capital, count_words, dated, day_words, percent_words
from engine_pages.records.ids import file_id
from engine_pages.records.source import Problem

COMMIT_LETTERS = 7  # as git shortens an id
MOST_SAID = 3  # doubts at the head of a page: more would push the page itself away
NO_CERTIFICATE = "What was found and measured; no certificate of fitness."
MAKER_FIRST = "The engine maker’s data and the rules of the event come before anything on this page."


def short_commit(commit: str | None) -> str:
    """A commit's id as people write it; without one, that there is none."""
    return commit[:COMMIT_LETTERS] if commit else "none"


def commit_cell(commit: str | None, uncommitted: bool, small: str) -> Cell:
    """The cell that says at which commit the figures stand."""
    return Cell("commit", short_commit(commit), "and changes" if uncommitted else small)


def foot(
    as_of: date,
    commit: str | None,
    where: str,
    confidence: float | None,
    *,
    uncommitted: bool = False,
    maker: bool = False,
) -> tuple[str, ...]:
    """The lines at a page's foot. `where` names the record or folder whose line numbers the page gives;
    `confidence` is that of its intervals, where it has any."""
    of = f"Figures of {day_words(as_of)}, " + (f"commit {short_commit(commit)}" if commit else "in no commit")
    lines = [f"{of}, with changes that are in no commit." if uncommitted and commit else f"{of}."]
    if where:
        lines.append(where)
    if confidence is not None:
        lines.append(f"Intervals are {percent_words(confidence)}.")
    lines.append(NO_CERTIFICATE)
    if maker:
        lines.append(MAKER_FIRST)
    return tuple(lines)


def engine_foot(engine: EngineStory, where: str, *, maker: bool = False, has_intervals: bool = True) -> tuple[str, ...]:
    """The foot of a page of an engine."""
    confidence, uncommitted = engine.confidence if has_intervals else None, bool(engine.uncommitted)
    return foot(engine.as_of, engine.commit, where, confidence, uncommitted=uncommitted, maker=maker)


def print_margin(id: str, as_of: date, commit: str | None) -> str:
    """The text at the foot of a printed sheet. It goes into a style sheet: only an id's letters get there."""
    plain = day_words(as_of).replace("\u00a0", " ")
    return f"{file_id(id)}, as of {plain}, commit {file_id(short_commit(commit))}"


def says(
    problems: Iterable[Problem], paths: Iterable[str], within: str = "", all_of_them: str | None = None
) -> tuple[Markup, ...]:
    """The doubts that stand in these record files, with the place of each; of many the first, and the way to all."""
    wanted = set(paths)
    found = [say(problem, within) for problem in problems if problem.source.path in wanted]
    if len(found) <= MOST_SAID:
        return tuple(found)
    rest = count_words(len(found) - MOST_SAID + 1, "more doubt")
    more = Markup('<a href="{}">{}</a>').format(all_of_them, rest) if all_of_them else Markup(escape(rest))
    return (*found[: MOST_SAID - 1], more)


def say(problem: Problem, within: str = "") -> Markup:
    """One doubt."""
    words = Markup('{} <span class="source">{}</span>')
    return words.format(capital(dated(problem.message)), source_words(problem.source, within))
