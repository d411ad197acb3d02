"""Add a line to an engine's log, in date order, every byte that a person typed left as it is.

In: the shop's folder, the engine, the keys and values of the line as typed. Out: the file and the line's number. The
whole shop is read with the new line in its place before anything is written; what would be an error is refused.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from ..records.checks.all import read_checked
from ..records.load import EngineRecords, load_shop
from ..records.log import LogLine
from ..records.source import Problem
from ..records.tree import Folder, Tree
from .as_it_would_be import AsItWouldBe
from .on_disk import alone, rewrite
from .quoted import plain_or_quoted

Value = str | Sequence[str] | Mapping[str, str]
KEYS = list(LogLine.model_fields)


class LogLineError(Exception):
    """The line cannot be added; the message says why, with what the records would say of it."""


@dataclass(frozen=True, slots=True)
class Added:
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
    path, number, content = _placed(tree, records, day, text)
    checked = read_checked(AsItWouldBe(tree, {path: content}), datetime.now().date())
    own = [problem for problem in checked.problems if problem.source.path == path]
    wrong = [str(problem) for problem in own if problem.level == "error"]
    if wrong:
        raise LogLineError("\n".join([*wrong, "nothing was written"]))
    rewrite(folder / path, content, tree.read(path) if path in tree.paths() else None, aside)
    doubts = tuple(problem for problem in own if problem.source.line == number)
    return Added(folder / path, number, text, doubts)


def _placed(tree: Tree, records: EngineRecords, day: date, text: str) -> tuple[str, int, bytes]:
    """The file that the line belongs to, its number there, and the file's bytes with it: behind the last of its day."""
    before = [entry for entry in records.log if entry.line.date.day <= day]
    after = [entry for entry in records.log if entry.line.date.day > day]
    if not before and not after:
        path = f"engines/{records.id}/log.yml"
        old = tree.read(path) if path in tree.paths() else b""
        if old.strip() in (b"", b"[]"):
            old = b""
        content = old + (b"" if not old or old.endswith(b"\n") else b"\n") + f"{text}\n".encode()
        return path, content.count(b"\n"), content
    path = (before[-1] if before else after[0]).source.path
    lines = tree.read(path).splitlines(keepends=True)
    here = [entry for entry in after if entry.source.path == path]
    at = here[0].source.line - 1 if here else len(lines)
    ending = b"\r\n" if lines and lines[0].endswith(b"\r\n") else b"\n"
    if lines and not lines[-1].endswith(b"\n"):
        lines[-1] += ending
    return path, at + 1, b"".join([*lines[:at], text.encode() + ending, *lines[at:]])


def _written(value: Value) -> str:
    """A value as a person would write it in a flow line."""
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{key}: {plain_or_quoted(words)}' for key, words in value.items())}}}"
    return (
        plain_or_quoted(value)
        if isinstance(value, str)
        else f"[{', '.join(plain_or_quoted(words) for words in value)}]"
    )
