"""The command that takes in what a bench page handed over, and gives its receipt: in words, and as a code for a phone.

The code holds the address of the engine's bench page with the receipt behind it, so that a phone's own camera opens the
page that wrote the sheet and the draft ends there; where no such address is known it holds the receipt alone.
"""

import sys
from datetime import date, datetime
from pathlib import Path
from typing import Final

import click

from ..bench import taking
from ..editions.links import bench_address
from ..pages.link_code import WARNING, code_of_lines, code_png, code_svg
from ..records.load import load_shop
from ..records.tree import Folder
from .asking import records_option, say

SUFFIXES: Final = (".svg", ".png")
RECEIPT: Final = "#receipt="  # behind a bench page's address; the page reads it so

code_option = click.option(
    "--code",
    "code_path",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the receipt's code for phones there, as .svg or .png, instead of showing it. For one ZIP.",
)


@click.command()
@click.argument("zips", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@records_option
@code_option
def take(zips: tuple[Path, ...], folder: Path, code_path: Path | None) -> None:
    """Take in sheets that the bench page handed over, with their photos. Prints each one's receipt.

    On a terminal the receipt stands there as a code too: the phone's camera reads it, and opens the bench page at its
    link, which lets the draft go.
    Ends 0 where every sheet lies in its place now; 1 where one was refused, waits in the inbox, or was removed since.
    """
    _check_code_path(code_path, len(zips))
    refused = elsewhere = 0
    for path in zips:
        try:
            taken = taking.take(folder, path.read_bytes(), datetime.now().date())
        except taking.TROUBLE as trouble:
            click.echo(f"{path}: not taken in: {trouble}", err=True)
            refused += 1
        else:
            say(taking.taken_text(taken, path.name))
            _give_code(folder, taken, code_path)
            elsewhere += not taken.in_place
    if refused:
        raise click.ClickException(f"{refused} of {len(zips)} not taken in; the draft is still where it was made")
    if elsewhere:
        raise click.ClickException(f"{elsewhere} of {len(zips)} not in its place; what is to be done stands above")


def _check_code_path(path: Path | None, zips: int) -> None:
    """Before anything is taken in."""
    if path is None:
        return
    if path.suffix.lower() not in SUFFIXES:
        raise click.UsageError(f"--code writes a .svg or a .png, and {path.name} is none")
    if zips > 1:
        raise click.UsageError("--code is for one ZIP: each has a receipt of its own")


def _give_code(folder: Path, taken: taking.Taken, path: Path | None) -> None:
    """The receipt as a code: in a file, or on a terminal."""
    if path is None and not sys.stdout.isatty():
        return
    held = receipt_link(folder, taken.engine, taken.receipt, datetime.now().date())
    if path is not None:
        _write_code(held, taken, path)
        return
    say(code_of_lines(held))
    if held != taken.receipt:
        say("The phone that wrote the sheet reads this with its camera: the draft goes there.")


def receipt_link(folder: Path, engine: str, receipt: str, day: date) -> str:
    """What the code holds: the engine's bench page at its live link, told the receipt; else the receipt alone."""
    address = bench_address(load_shop(Folder(folder)), engine, day)
    return receipt if address is None else f"{address}{RECEIPT}{receipt}"


def _write_code(held: str, taken: taking.Taken, path: Path) -> None:
    title = f"{taken.engine}, receipt {taken.receipt}"
    words = (title,) if held == taken.receipt else (title, WARNING)
    made = code_png(held, *words) if path.suffix.lower() == ".png" else code_svg(held, *words).encode()
    try:
        path.write_bytes(made)
    except OSError as trouble:
        raise click.ClickException(f"the sheet is dealt with, its code could not be written: {trouble}") from None
    say(f"{path}: its code")
