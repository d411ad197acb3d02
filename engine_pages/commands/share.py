"""The commands that share: links made, withdrawn, renewed, handed on."""

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import TypeVar, cast

import click

from ..bench.on_disk import BusyError, ChangedError
from ..editions.day_of_links import day_of_links
from ..editions.links import Link, LinkError, address_of, links_of
from ..editions.registry import end_link, link_named, make_link, renew_link, sell
from ..editions.table import EDITIONS, Edition
from ..pages.link_code import WARNING, code_png, code_svg
from ..records.git import GitFailed
from ..records.ids import file_id
from ..records.tree import NoTree
from .asking import (
    MOST_NAMED,
    day_of,
    first_words,
    read_shop,
    records_option,
    say,
)
from .link_words import SIGNS, ahead_words, name_of

T = TypeVar("T")
TROUBLE = (LinkError, BusyError, ChangedError, GitFailed, NoTree, OSError)
SHARED = [edition for edition in EDITIONS if edition != "crew"]
CALLED_BACK = "Pages that somebody has loaded already cannot be called back."
NOT_YET = "It opens where the public tree is published: engine-pages publish --to DIR."

codes_option = click.option(
    "--codes",
    type=click.Path(path_type=Path, file_okay=False),
    default="codes",
    show_default=True,
    help="Where the code for phones goes, as SVG and PNG.",
)


@click.command()
@click.argument("engine", required=False)
@records_option
@click.option("--edition", type=click.Choice(SHARED), help="Who it is for; tag is the plate on the engine.")
@click.option("--until", metavar="DATE", help="The last day on which it opens (2026-12-31).")
@click.option("--note", help="For the crew: who has it.")
@codes_option
@click.option("--list", "listed", is_flag=True, help="List all links, of one engine or of all.")
@click.option("--show", metavar="TOKEN", help="Print a link that is made, and write its code, again.")
@click.option("--revoke", metavar="TOKEN", help="Withdraw a link.")
@click.option("--renew", metavar="TOKEN", help="Give a link a new address; the old one is dead.")
def share(
    engine: str | None, folder: Path, edition: str | None, until: str | None, note: str | None, codes: Path,
    listed: bool, show: str | None, revoke: str | None, renew: str | None,
) -> None:  # fmt: skip
    """Make a link to an engine's history, or list, show, withdraw or renew links.

    A token, or how it begins, names a link.
    """
    day = datetime.now().date()
    if listed:
        say(_list_text(folder, engine, day))
        return
    if show is not None:
        _show(folder, _tried(lambda: _live(folder, show, day)), codes)
        return
    if revoke is not None:
        say(_withdrawn_text(_tried(lambda: end_link(folder, revoke, day))))
        _say_dead_codes(folder, codes, day)
        return
    if renew is not None:
        _show(folder, _tried(lambda: renew_link(folder, renew, day)), codes)
        say("the old address opens nothing any more after the next publishing")
        _say_dead_codes(folder, codes, day)
        return
    if engine is None or edition is None:
        raise click.UsageError(f"name an ENGINE and --edition {'|'.join(SHARED)}, or --list, --show, --revoke, --renew")
    ends = day_of(until)
    _show(folder, _tried(lambda: make_link(folder, engine, cast(Edition, edition), day, ends, note)), codes)


@click.command()
@click.argument("engine")
@records_option
@click.option("--to", "buyer", required=True, help="Who has it now; stays with the crew.")
@codes_option
def sold(engine: str, folder: Path, buyer: str, codes: Path) -> None:
    """An engine is sold: withdraw its old owner's links and make the new owner's, in one commit."""
    sale = _tried(lambda: sell(folder, engine, buyer, datetime.now().date()))
    for link in sale.withdrawn:
        say(f"withdrawn: {name_of(link)}")
    say(CALLED_BACK if sale.withdrawn else "No link of an old owner was live.")
    for link in sale.still_live:
        end = "" if link.edition == "tag" else f"; to end it: engine-pages share --revoke {link.token[:SIGNS]}"
        say(f"still live: {name_of(link)}{end}")
    _show(folder, sale.link, codes)
    say(f"Write the new owner yourself, under owners: in engines/{engine}/engine.yml; texts that others read name them "
        "until then.")  # fmt: skip
    _say_dead_codes(folder, codes, datetime.now().date())


def _tried(do: Callable[[], T]) -> T:
    try:
        return do()
    except TROUBLE as trouble:
        raise click.ClickException(str(trouble)) from None


def _show(folder: Path, link: Link, codes: Path) -> None:
    """Print a link and write its code."""
    shop = read_shop(folder, None).shop
    site = shop.file.it.site if shop.file is not None else None
    address = address_of(link, site)
    say(address)
    if site is None:
        say(
            "shop.yml names no site: write `site: https://…` there; then the link is whole, and has a code: "
            f"engine-pages share --show {link.token[:SIGNS]}"
        )
        return
    if not site.startswith("https://"):
        say(f"{site} is not https: on the way somebody else may read the link")
    title = f"{link.engine}, {link.edition}"
    name = _code_name(link)
    try:
        codes.mkdir(parents=True, exist_ok=True)
        (codes / f"{name}.svg").write_text(code_svg(address, title, WARNING), encoding="utf-8", newline="\n")
        (codes / f"{name}.png").write_bytes(code_png(address, title, WARNING))
    except OSError as trouble:
        raise click.ClickException(f"the link is made, its code could not be written: {trouble}") from None
    say(f"{codes / name}.svg, .png: its code. {WARNING}\n{NOT_YET}")


def _code_name(link: Link) -> str:
    return f"{file_id(link.engine)}-{link.edition}-{link.token[:SIGNS]}"


def _say_dead_codes(folder: Path, codes: Path, day: date) -> None:
    """Name the codes that open nothing, beside those that do: one of them might go on a plate."""
    links = links_of(read_shop(folder, None))
    live = {_code_name(link) for link in links if link.is_live(day)}
    begins = tuple(f"{file_id(link.engine)}-{link.edition}-" for link in links)
    names = sorted({path.stem for path in codes.glob("*.svg")} if codes.is_dir() else ())
    dead = [name for name in names if name.startswith(begins) and name not in live]
    if dead:
        say(f"codes of addresses that open nothing, to be thrown away: {first_words(dead, MOST_NAMED)} in {codes}")


def _live(folder: Path, token: str, day: date) -> Link:
    """The link of a token, which opens today. LinkError."""
    link = link_named(links_of(read_shop(folder, None)), token)
    if not link.is_live(day):
        raise LinkError(f"{link.engine}, {name_of(link)}: {link.state(day)}")
    return link


def _withdrawn_text(link: Link) -> str:
    return f"{link.engine}, {link.edition}: withdrawn; the next publishing takes it away. {CALLED_BACK}"


def _list_text(folder: Path, engine: str | None, day: date) -> str:
    checked = read_shop(folder, None)
    reckoned = day_of_links(checked.repo, day)
    file = checked.shop.file
    site = file.it.site if file is not None else None
    links = [link for link in links_of(checked) if engine in (None, link.engine)]
    lines = [
        f"{link.engine:<12}{link.edition:<8}{address_of(link, site)}  {link.state(reckoned.day)}"
        f"{f', {link.note}' if link.note else ''}"
        for link in links
    ]
    return "\n".join([*(lines or ["no link is made"]), *ahead_words(reckoned)])
