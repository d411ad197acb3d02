"""The commands of the bench, each a few lines that call the room that does the work."""

from datetime import datetime
from pathlib import Path

import click

from .bench.filing import Filed, FilingError, file_in
from .bench.handed_over import ZipRefusedError
from .bench.new_shop import NotEmptyError
from .bench.new_shop import start as start_shop
from .bench.on_disk import BusyError
from .bench.taking import take as take_in
from .bench.taking import taken_text
from .printing import say
from .records.git import GitFailed
from .records.tree import NoTree

SHOP = click.option(
    "--records",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=".",
    show_default="the current folder",
    help="The shop's folder.",
)
TROUBLE = (BusyError, GitFailed, NoTree, OSError)


@click.command()
@click.argument("zips", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@SHOP
def take(zips: tuple[Path, ...], folder: Path) -> None:
    """Take in sheets that the bench page handed over, with their photos. Prints each one's receipt."""
    refused = 0
    for path in zips:
        try:
            say(taken_text(take_in(folder, path.read_bytes(), datetime.now().date()), path.name))
        except (ZipRefusedError, *TROUBLE) as trouble:
            click.echo(f"{path}: not taken in: {trouble}", err=True)
            refused += 1
    if refused:
        raise click.ClickException(f"{refused} of {len(zips)} not taken in; the draft is still where it was made")


@click.command("file")
@click.argument("paths", nargs=-1, required=True, type=click.Path(exists=True, path_type=Path))
@click.option("-m", "message", help="What the commit says.")
@SHOP
def file_(paths: tuple[Path, ...], message: str | None, folder: Path) -> None:
    """Commit sheets in one step, with the photos that they name: from the camera's folder, shrunk, upright, bare.

    PATHS are sheets or their folders, and photos or a folder of them.
    """
    try:
        filed = file_in(folder, paths, datetime.now().date(), message)
    except (FilingError, *TROUBLE) as trouble:
        raise click.ClickException(str(trouble)) from None
    say(_filed_text(filed))


def _filed_text(filed: Filed) -> str:
    lines = [f"{name}: {path}" for name, path in filed.photos]
    if filed.not_named:
        lines.append(f"named by no line, and left where they are: {', '.join(filed.not_named)}")
    lines += [str(problem) for problem in filed.doubts]
    in_commit = "nothing new; no commit was made" if filed.commit is None else f"committed as {filed.commit}"
    return "\n".join([*lines, f"{', '.join(filed.paths)}: {in_commit}"])


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--demo", is_flag=True, help="Fill it with the demo's records and their history.")
def start(folder: Path, demo: bool) -> None:
    """Make a new shop in an empty folder: a repository that works at once."""
    try:
        files = start_shop(folder, demo=demo)
    except (NotEmptyError, GitFailed, OSError) as trouble:
        raise click.ClickException(str(trouble)) from None
    say(f"{folder} is a shop, with {len(files)} starter files staged. Next: read {folder / 'README.md'}")
