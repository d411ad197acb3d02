"""The command that locks a history: one encrypted file, to be opened in a browser."""

from pathlib import Path
from typing import cast

import click

from ..bench.on_disk import rewrite
from ..editions.table import Edition
from ..pages.cache import Cache
from ..pages.locked_page import LockedFile, is_locked_file, locked_file
from ..pages.one_edition import site_for
from .asking import (
    count_words,
    known_engine,
    read_shop,
    records_option,
    say,
    say_uncommitted,
    stop_on_errors,
    stop_unless_free,
    whole_history,
)


@click.command("lock")
@click.argument("engine")
@records_option
@click.option("--edition", type=click.Choice(["owner", "buyer"]), required=True, help="Whose reading it is for.")
@click.option("--to", "out", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The HTML file.")
@click.option("--at", "revision", default="HEAD", show_default=True, metavar="REV", help="Lock this commit's history.")
@click.option("--small-photos", is_flag=True, help="Photos of 480 px, for mail that takes no large file.")
def lock(engine: str, folder: Path, edition: str, out: Path, revision: str, small_photos: bool) -> None:
    """Lock an engine's whole history in one file, from the last commit. It opens in a browser, with a key or words."""
    stop_unless_free(out, folder, "locked history of ours", is_locked_file)
    checked = read_shop(folder, revision)
    stop_on_errors(checked, "nothing was locked")
    known_engine(checked, engine)
    with whole_history():
        site = site_for(checked, engine, cast(Edition, edition), Cache(), revision)
    locked, stood = locked_file(site.files, small_photos), out.exists()
    try:
        rewrite(out, locked.content)
    except OSError as trouble:
        raise click.ClickException(f"the file could not be written: {trouble}") from None
    say(_locked_text(out, locked))
    if stood:
        say("It took the place of another locked history: that one's key and words open nothing of this one.")
    say_uncommitted(checked)


def _locked_text(out: Path, locked: LockedFile) -> str:
    size = f"{len(locked.content) / 1e6:.1f} MB, {count_words(locked.photos, 'photo')}"
    return f"""\
{out}: locked, {size}
It opens in one of three ways. None of them is kept anywhere: note the one that you use.
  at the end of a link to the file:  #{locked.key}
  as a key to paste:                 {locked.key}
  as words to read out:              {locked.words}
Send the key by another way than the file. Whoever has both can read it for ever: it cannot be withdrawn.
Without the key its size and those of its photos can be seen, and nothing else."""
