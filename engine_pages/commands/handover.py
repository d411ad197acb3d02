"""The commands that make something to hand over: paper, plain files, a bundle."""

import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, TypeVar, cast

import click

from ..editions.bundle import is_bundle, write_bundle
from ..editions.table import Edition, Reader
from ..pages.cache import Cache
from ..pages.dossier import DOSSIER, on_paper
from ..pages.one_bundle import about_of, bundle_files
from ..pages.one_edition import site_for, told_for_crew
from ..pages.photos import BadPhoto
from ..pages.plain_frame import plain_files
from ..pages.site import Site, build_pages
from ..placing.place import PlaceError, check_outside, check_place
from ..placing.plain_folder import write_folder
from ..records.checks.checked import Checked
from ..records.tree import Commit, NoFile
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
from .printing import NoPrinterError, is_pdf, print_page

F = TypeVar("F", bound=Callable[..., Any])
CREW = "crew"
WITH_HISTORY = [CREW, "owner", "buyer"]
STAYS = "crew edition, with names and notes: it stays with the crew"


def _edition_option(default: str) -> Callable[[F], F]:
    return click.option(
        "--edition",
        type=click.Choice(WITH_HISTORY),
        default=default,
        show_default=True,
        help="Whose reading it is for.",
    )


@click.command("print")
@click.argument("engine")
@records_option
@_edition_option("owner")
@click.option("--to", "out", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The PDF file.")
@click.option("--paper", type=click.Choice(["A4", "Letter"], case_sensitive=False), default="A4", show_default=True,
              help="The sheets that it is printed on.")  # fmt: skip
def print_(engine: str, folder: Path, edition: str, out: Path, paper: str) -> None:
    """Print an engine's whole history as a PDF: from the last commit; the crew's from the folder as it lies."""
    stop_unless_free(out, folder, "PDF", is_pdf)
    checked = read_shop(folder, None if edition == CREW else "HEAD")
    stop_on_errors(checked, "nothing was printed")
    known_engine(checked, engine)
    with whole_history():
        site = site_for(checked, engine, cast(Edition, edition), Cache())
    with tempfile.TemporaryDirectory(prefix="engine-pages-") as name:
        for path, made in site.files.items():
            if path.endswith((".jpg", DOSSIER)):
                (Path(name) / path).parent.mkdir(parents=True, exist_ok=True)
                (Path(name) / path).write_bytes(made())
        (page,) = Path(name).rglob(DOSSIER)
        page.write_text(on_paper(page.read_text(encoding="utf-8"), paper), encoding="utf-8")
        try:
            printer = print_page(page, out)
        except (NoPrinterError, OSError) as trouble:
            raise click.ClickException(str(trouble)) from None
    say(f"{out}, {edition} edition, printed by {printer}")
    _say_of(edition, checked)


@click.command()
@records_option
@click.option("--to", "out", type=click.Path(path_type=Path, file_okay=False), required=True,
              help="The folder that takes the files.")  # fmt: skip
@click.option("--engine", help="This engine alone.")
@_edition_option(CREW)
def export(folder: Path, out: Path, engine: str | None, edition: str) -> None:
    """Write a site as plain files that open from any disk: the crew's from the folder as it lies, others from the
    last commit."""
    if edition != CREW and engine is None:
        raise click.UsageError(f"the {edition} edition is of one engine: name it with --engine")
    checked = read_shop(folder, None if edition == CREW else "HEAD")
    stop_on_errors(checked, "nothing was written")
    if engine is not None:
        known_engine(checked, engine)
    try:
        check_outside(out.resolve(), folder.resolve())
        check_place(out.resolve())
        site = _site(checked, engine, cast(Edition, edition))
        file = checked.shop.file
        count = write_folder(plain_files(site, (file.it.name if file else None) or "Engine records"), out, folder)
    except (PlaceError, BadPhoto, NoFile) as trouble:
        raise click.ClickException(str(trouble)) from None
    except OSError as trouble:
        raise click.ClickException(f"the files could not be written: {trouble}") from None
    say(f"{out / 'index.html'}, with {count} files; it opens from any disk")
    _say_of(edition, checked)


def _say_of(edition: str, checked: Checked) -> None:
    """What whoever takes what was made has to know of it."""
    if edition == CREW:
        say(STAYS)
    else:
        say_uncommitted(checked)


def _site(checked: Checked, engine: str | None, edition: Edition) -> Site:
    if edition == CREW:
        return build_pages(told_for_crew(checked), engine, edition, checked.shop.tree.read, Cache())
    assert engine is not None
    with whole_history():
        return site_for(checked, engine, edition, Cache())


@click.command()
@click.argument("engine")
@records_option
@click.option("--edition", type=click.Choice(WITH_HISTORY[1:]), required=True, help="Whose reading it is for.")
@click.option("--to", "out", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The zip file.")
@click.option("--at", "revision", default="HEAD", show_default=True, metavar="REV", help="Of this commit.")
def bundle(engine: str, folder: Path, edition: str, out: Path, revision: str) -> None:
    """Hand an engine's history over whole, from the last commit: its site, records, figures and photos in one zip."""
    stop_unless_free(out, folder, "bundle of ours", is_bundle)
    checked = read_shop(folder, revision)
    stop_on_errors(checked, "nothing was written")
    known_engine(checked, engine)
    assert isinstance(checked.shop.tree, Commit)
    commit = checked.shop.tree.commit
    try:
        with whole_history():
            files = bundle_files(checked, engine, cast(Reader, edition), Cache(), commit)
        manifest = write_bundle(files, partial(about_of, checked, engine, edition), out)
    except (BadPhoto, NoFile) as trouble:
        raise click.ClickException(str(trouble)) from None
    except OSError as trouble:
        raise click.ClickException(f"the zip could not be written: {trouble}") from None
    say(f"{out}, with {count_words(len(files), 'file')} of commit {manifest.about.commit}.\n"
        f"Its fingerprint, to be read out to whoever gets it: {manifest.about.fingerprint}")  # fmt: skip
    say_uncommitted(checked)
