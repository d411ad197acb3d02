"""The command that reads every record."""

import sys
from pathlib import Path

import click

from ..bench.inbox import waiting
from ..bench.settling import why_it_waits
from ..history.tell import tell_shop
from .asking import count_words, read_shop, records_option, revision_option, say


@click.command()
@records_option
@revision_option
def check(folder: Path, revision: str | None) -> None:
    """Read every record and print what is wrong, as path:line:column. Ends 1 if there are errors.

    Drafts that wait in the inbox are named, with what keeps them there, and are no error.
    """
    checked = read_shop(folder, revision)
    errors = sum(problem.level == "error" for problem in checked.problems)
    # figures are reckoned from records that can be understood, and may raise doubts of their own
    problems = checked.problems if errors else tell_shop(checked).problems
    for problem in problems:
        say(str(problem))
    doubts = len(problems) - errors
    engines = count_words(len(checked.shop.engines), "engine")
    click.echo(f"{count_words(errors, 'error')}, {count_words(doubts, 'doubt')} in {engines}", err=True)
    drafts = waiting(checked.shop.tree.paths())
    if drafts:
        click.echo(f"{count_words(len(drafts), 'draft')} to be settled:", err=True)
    for draft in drafts:
        click.echo(f"  {why_it_waits(checked.shop.tree, draft, checked.today, checked.problems)}", err=True)
    sys.exit(1 if errors else 0)
