"""What every command does: read a shop, stop on its errors, name what there is not, print."""

import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path

import click

from ..placing.one_file import check_file
from ..placing.place import PlaceError
from ..records.checks.all import read_checked
from ..records.checks.checked import Checked
from ..records.drafts import left_behind
from ..records.git import GitFailed, repository_of
from ..records.source import nearest, printable
from ..records.tree import Commit, Folder, NoTree

MOST_NAMED = 3  # files, in a line that says what is not in a commit
records_option = click.option(
    "--records",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=".",
    show_default="the current folder",
    help="The shop's folder.",
)
revision_option = click.option("--at", "revision", metavar="REV", help="Read the records as they were at a commit.")


def say(text: str, nl: bool = True) -> None:
    """Print, or say on the other stream why that was not possible. Who closes a pipe has read enough: quiet."""
    try:
        click.echo(text, nl=nl)
    except BrokenPipeError:
        raise  # click ends quietly on it
    except OSError as trouble:
        # What could not be written would be tried again at the end, and fail again there.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise click.ClickException(f"the output could not be written: {trouble.strerror}") from None


def read_shop(folder: Path, revision: str | None) -> Checked:
    try:
        tree = Folder(folder) if revision is None else Commit(folder, revision)
    except NoTree as bad:
        raise click.ClickException(str(bad)) from None
    checked = read_checked(tree, datetime.now().date(), repository_of(folder))
    if checked.shop.file is None and not checked.shop.engines:
        raise click.ClickException(f"{folder} is no shop: there is no shop.yml and no engine in it")
    return checked


@contextmanager
def whole_history() -> Iterator[None]:
    """What leaves the crew is told from every version: where git does not hold them all, nothing is told."""
    try:
        yield
    except GitFailed as trouble:
        raise click.ClickException(str(trouble)) from None


def stop_on_errors(checked: Checked, undone: str) -> None:
    """Print the errors of the records and end; `undone` says what therefore did not happen."""
    errors = [problem for problem in checked.problems if problem.level == "error"]
    if errors:
        for problem in errors:
            click.echo(str(problem), err=True)
        raise click.ClickException(f"{count_words(len(errors), 'error')} in the records; {undone}")


def stop_unless_free(out: Path, folder: Path, kind: str, is_ours: Callable[[Path], bool]) -> None:
    """Stop where a file cannot go to `out`: among the records in `folder`, or over one that is none of this kind."""
    try:
        check_file(out, folder, kind, is_ours)
    except (PlaceError, OSError) as trouble:
        raise click.ClickException(str(trouble)) from None


def known_engine(checked: Checked, engine: str) -> None:
    """Stop where there is no such engine, or none that can be told: its family is not written."""
    known = [each for each in checked.shop.engines if checked.shop.family_of(each) is not None]
    if engine not in known:
        raise click.ClickException(f"there is no engine {engine}; {nearest(engine, known)}")


def day_of(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        if len(text) != len("2026-11-02"):
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise click.ClickException(f"{text} is no date; write 2026-11-02") from None


def say_uncommitted(checked: Checked) -> None:
    """Of what is made from the last commit: say what lies in the folder and is not in it."""
    changed = sorted(left_behind(checked.repo)) if checked.repo is not None else []
    if changed:
        say(left_out_words(changed, "the last commit"))


def left_out_words(changed: Sequence[str], since: str) -> str:
    """What lies in the folder and is in no commit, in words."""
    files = count_words(len(changed), "file")
    return f"{files} changed since {since}, and not in it: {first_words(changed, MOST_NAMED)}"


def first_words(paths: Sequence[str], most: int) -> str:
    """The first of some paths, and how many more there are.

    >>> first_words(["shop.yml"], 2), first_words(["a.yml", "b.yml", "c.yml"], 2)
    ('shop.yml', 'a.yml, b.yml and 1 more')
    """
    more = f" and {len(paths) - most} more" if len(paths) > most else ""
    return f"{', '.join(map(printable, paths[:most]))}{more}"


def count_words(number: int, thing: str) -> str:
    return f"{number or 'no'} {thing}{'' if number == 1 else 's'}"


@contextmanager
def building() -> Iterator[Callable[[float, str], None]]:
    """A progress bar on the other stream; called with the share done, 0 to 1, and a word for what is done."""

    def advance(share: float, what: str) -> None:
        if sys.stderr.isatty():  # elsewhere each new label would be a line of its own
            bar.label = f"Building, {what}"
        bar.update(max(int(share * 100) - bar.pos, 0))

    with click.progressbar(length=100, label="Building", file=sys.stderr) as bar:
        yield advance
