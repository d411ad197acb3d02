"""The command that writes a site as plain files, which need no site generator."""

from pathlib import Path
from typing import cast

import click

from .asking import known_engine, read_shop, records_option, say, stop_on_errors
from .editions.table import Edition
from .handover_commands import edition_option
from .history.tell import tell_shop
from .pages.cache import Cache
from .pages.one_edition import site_for
from .pages.photos import BadPhoto
from .pages.plain_frame import plain_files
from .pages.site import Site, build_pages
from .plain_folder import PlaceError, check_place, write_folder
from .records.checks.checked import Checked
from .records.tree import NoFile


@click.command()
@records_option
@click.option("--to", "out", type=click.Path(path_type=Path, file_okay=False), required=True,
              help="The folder that takes the files.")  # fmt: skip
@click.option("--engine", help="This engine alone.")
@edition_option
def export(folder: Path, out: Path, engine: str | None, edition: str) -> None:
    """Write the site as plain files that open from any disk: the crew's from the folder as it lies, others from the
    last commit."""
    if edition != "crew" and engine is None:
        raise click.UsageError(f"the {edition} edition is of one engine: name it with --engine")
    checked = read_shop(folder, None if edition == "crew" else "HEAD")
    stop_on_errors(checked, "nothing was written")
    if engine is not None:
        known_engine(checked, engine)
    try:
        check_place(out.resolve(), folder.resolve())
        site = _site(checked, engine, cast(Edition, edition))
        file = checked.shop.file
        count = write_folder(plain_files(site, (file.it.name if file else None) or "Engine records"), out, folder)
    except (PlaceError, BadPhoto, NoFile) as trouble:
        raise click.ClickException(str(trouble)) from None
    except OSError as trouble:
        raise click.ClickException(f"the files could not be written: {trouble}") from None
    say(f"{out / 'index.html'}, with {count} files; it opens from any disk")


def _site(checked: Checked, engine: str | None, edition: Edition) -> Site:
    if edition == "crew":
        return build_pages(tell_shop(checked), engine, edition, checked.shop.tree.read, Cache())
    assert engine is not None
    return site_for(checked, engine, edition, Cache())


PLAIN = (export,)
