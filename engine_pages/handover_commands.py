"""The commands that make something to hand over: a history on paper."""

import tempfile
from pathlib import Path
from typing import cast

import click

from .asking import known_engine, read_shop, records_option, say, stop_on_errors
from .editions.table import Edition
from .pages.cache import Cache
from .pages.dossier import DOSSIER
from .pages.one_edition import site_for
from .printing import NoPrinterError, print_page

WITH_HISTORY = ["crew", "owner", "buyer"]
edition_option = click.option(
    "--edition", type=click.Choice(WITH_HISTORY), default="crew", show_default=True, help="Whose reading it is for."
)


@click.command("print")
@click.argument("engine")
@records_option
@edition_option
@click.option("--to", "out", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The PDF file.")
def print_(engine: str, folder: Path, edition: str, out: Path) -> None:
    """Print an engine's whole history as a PDF: the crew's from the folder as it lies, others from the last commit."""
    checked = read_shop(folder, None if edition == "crew" else "HEAD")
    stop_on_errors(checked, "nothing was printed")
    known_engine(checked, engine)
    site = site_for(checked, engine, cast(Edition, edition), Cache())
    with tempfile.TemporaryDirectory(prefix="engine-pages-") as name:
        for path, made in site.files.items():
            if path.endswith((".jpg", DOSSIER)):
                (Path(name) / path).parent.mkdir(parents=True, exist_ok=True)
                (Path(name) / path).write_bytes(made())
        (page,) = Path(name).rglob(DOSSIER)
        try:
            printer = print_page(page, out)
        except (NoPrinterError, OSError) as trouble:
            raise click.ClickException(str(trouble)) from None
    say(f"{out}, printed by {printer}")


HANDOVER = (print_,)
