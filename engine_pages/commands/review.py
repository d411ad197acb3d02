"""The command that reviews an engine before a sale."""

import sys
from pathlib import Path

import click

from ..history.figure_numbers import as_json
from ..pages.cache import Cache
from ..records.git import GitFailed
from ..review.asked import ask_review
from ..review.review_words import review_figures, review_text
from .asking import day_of, known_engine, read_shop, records_option, revision_option, say, stop_on_errors


@click.command("review")
@click.argument("engine")
@records_option
@revision_option
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--json", "in_json", is_flag=True, help="Print it as JSON.")
def review(engine: str, folder: Path, revision: str | None, day: str | None, in_json: bool) -> None:
    """Review an engine before a sale: what a buyer asks, and what in the record is open. Ends 1 where anything is."""
    checked = read_shop(folder, revision)
    stop_on_errors(checked, "nothing was reviewed")
    known_engine(checked, engine)
    try:
        told = ask_review(checked, engine, day_of(day), Cache())
    except GitFailed as trouble:
        raise click.ClickException(str(trouble)) from None
    say(as_json(review_figures(told)) if in_json else f"{review_text(told)}\n", nl=False)
    sys.exit(0 if told.is_ready else 1)
