"""The command that builds the crew's site."""

from contextlib import suppress
from pathlib import Path

import click

from ..placing.place import PlaceError
from ..plugins.build import build_site
from .asking import building, day_of, known_engine, read_shop, records_option, say, stop_on_errors
from .showing import show_site


@click.command()
@records_option
@click.option(
    "--to", "out", type=click.Path(path_type=Path, file_okay=False), required=True, help="Where the site goes."
)
@click.option("--engine", help="Build the site of this engine alone.")
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--open", "show", is_flag=True, help="Open it in the browser when it is built.")
def site(folder: Path, out: Path, engine: str | None, day: str | None, show: bool) -> None:
    """Build the crew's site. It holds everything: it stays on the crew's machines."""
    checked = read_shop(folder, None)
    stop_on_errors(checked, "nothing was published")
    if engine is not None:
        known_engine(checked, engine)
    with building() as progress:
        try:
            index = build_site(folder, out, engine=engine, as_of=day_of(day), progress=progress)
        except PlaceError as trouble:
            raise click.ClickException(str(trouble)) from None
        except OSError as trouble:
            raise click.ClickException(f"the site could not be written: {trouble}") from None
    say(f"The site is at {index}")
    if show:
        _show(index.parent)


def _show(folder: Path) -> None:
    shown = show_site(folder)
    if shown is None:
        click.echo("No browser could be started here; open that file by hand (its search needs a server).", err=True)
        return
    address, serving = shown
    say(f"It is open at {address}, on this machine alone. Ctrl-C ends it.")
    with suppress(KeyboardInterrupt):
        serving.join()
