"""The command that tells an engine's trail: who recorded what, and every amendment since."""

from pathlib import Path

import click

from ..history.figure_numbers import as_json
from ..history.trail_asked import TrailError, ask_trail
from ..history.trail_figures import trail_figures
from ..history.trail_words import trail_text
from ..pages.cache import Cache
from ..records.git import GitFailed, repository_of, why_no_repository
from ..records.trail import read_trail
from .asking import records_option, revision_option, say


@click.command("trail")
@click.argument("engine")
@records_option
@revision_option
@click.option("--json", "in_json", is_flag=True, help="Print it as JSON.")
def trail(engine: str, folder: Path, revision: str | None, in_json: bool) -> None:
    """Who recorded what of an engine and when, and every amendment since. For the crew: it holds names and messages."""
    repo = repository_of(folder)
    if repo is None:
        raise click.ClickException(f"there is no trail: {why_no_repository(folder)}")
    if revision is not None and repo.commit(revision) is None:
        raise click.ClickException(f"{revision}: no such revision in the repository of {folder}")
    try:
        asked = ask_trail(repo, read_trail(repo, revision, kept=Cache()), engine)
    except (GitFailed, TrailError) as trouble:
        raise click.ClickException(str(trouble)) from None
    say(as_json(trail_figures(asked)) if in_json else f"{trail_text(asked)}\n", nl=False)
