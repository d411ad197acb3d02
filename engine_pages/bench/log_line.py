"""Add a line to an engine's log, in date order, every byte that a person typed left as it is.

In: the shop's folder, the engine, the keys and values of the line as typed. Out: the file and the line's number. The
whole shop is read with the new line in its place before anything is written; what would be an error is refused.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path

from msgspec import Struct

from ..records.checks.all import read_checked
from ..records.load import EngineRecords, load_shop
from ..records.log import LogLine
from ..records.source import Problem
from ..records.tree import Folder
from .as_it_would_be import AsItWouldBe
from .log_place import ListInBracketsError, with_line
from .on_disk import alone, rewrite
from .quoted import plain_or_quoted

Value = str | Sequence[str] | Mapping[str, str]
KEYS = list(LogLine.model_fields)


class LogLineError(Exception):
    """The line cannot be added; the message says why, with what the records would say of it."""


class Added(Struct, frozen=True):
    """Where the line went, and what is doubted of it."""

    path: Path
    number: int
    text: str
    doubts: tuple[Problem, ...]


def add_line(folder: Path, engine: str, day: date, values: Mapping[str, Value]) -> Added:
    """Write one line into an engine's log. LogLineError where it would be an error; OSError where it cannot be written.

    `values` are as typed; they are written in the order of the log's own keys, the date first. BusyError, ChangedError
    where another hand writes there, or has written since it was read.
    """
    Folder(folder)  # what is no shop gets no lock either
    with alone(folder, commits=False) as aside:
        return _added(Folder(folder), folder, aside, engine, day, values)


def _added(tree: Folder, folder: Path, aside: Path, engine: str, day: date, values: Mapping[str, Value]) -> Added:
    shop = load_shop(tree)
    records = shop.engines.get(engine)
    if records is None:
        raise LogLineError(f"there is no engine {engine} in {folder}")
    line: dict[str, Value] = {"date": day.isoformat(), **values}
    text = f"- {{{', '.join(f'{key}: {_written(line[key])}' for key in sorted(line, key=KEYS.index))}}}"
    path, before = _place(records, day)
    _refuse(shop.problems, path)
    old = tree.read(path) if path in tree.paths() else None
    content, number = _placed(path, old or b"", text, before)
    checked = read_checked(AsItWouldBe(tree, {path: content}), datetime.now().date())
    own = _refuse(checked.problems, path)
    rewrite(folder / path, content, old, aside)
    doubts = tuple(problem for problem in own if problem.source.line == number)
    return Added(folder / path, number, text, doubts)


def _place(records: EngineRecords, day: date) -> tuple[str, int | None]:
    """The file that a line of a day belongs to, behind the last of that day, and the line of the entry after it."""
    before = [entry for entry in records.log if entry.line.date.day <= day]
    after = [entry for entry in records.log if entry.line.date.day > day]
    path = [*before[-1:], *after[:1]][0].source.path if records.log else f"engines/{records.id}/log.yml"
    return path, next((entry.source.line for entry in after if entry.source.path == path), None)


def _refuse(problems: Iterable[Problem], path: str) -> list[Problem]:
    """The problems of one file; LogLineError where there are errors among them."""
    own = [problem for problem in problems if problem.source.path == path]
    wrong = [str(problem) for problem in own if problem.level == "error"]
    if wrong:
        raise LogLineError("\n".join([*wrong, "nothing was written"]))
    return own


def _placed(path: str, old: bytes, text: str, before: int | None) -> tuple[bytes, int]:
    """The log's bytes with a line in front of the entry on line `before`, or at its end; and its number there."""
    try:
        return with_line(old, text, before)
    except ListInBracketsError:
        raise LogLineError(
            f"{path} is one list in brackets; write its entries as lines of their own, each with a dash in front, and "
            "run this again; nothing was written"
        ) from None
    except UnicodeEncodeError:
        raise LogLineError(
            "what was typed is no UTF-8 text; set the terminal to UTF-8 and type it again; nothing was written"
        ) from None


def _written(value: Value) -> str:
    """A value as a person would write it in a flow line."""
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{key}: {plain_or_quoted(words)}' for key, words in value.items())}}}"
    return (
        plain_or_quoted(value)
        if isinstance(value, str)
        else f"[{', '.join(plain_or_quoted(words) for words in value)}]"
    )
