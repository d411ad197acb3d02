"""Write links into the shop's register, each change committed by itself: made, withdrawn, renewed, handed on at a sale.

In: the shop's folder, what is asked, the day. Out: the links that are new. Read under the lock, so that two hands that
make links at once lose none.
"""

from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path

from msgspec import Struct

from ..bench.on_disk import Exchange, alone, put_and_commit
from ..bench.share_lines import PATH, with_link, with_values
from ..records.checks.all import read_checked
from ..records.checks.checked import Checked
from ..records.git import repository_of
from ..records.source import nearest
from ..records.tree import Folder
from .day_of_links import day_of_links
from .links import Link, LinkError, links_of, new_token
from .table import Edition

OWNERS: tuple[Edition, ...] = ("owner", "bench")  # links that a new owner does not take over


class Sale(Struct, frozen=True):
    """What a sale did: the new owner's link, the old owner's that were withdrawn, and what opens as before: a plate
    goes with the engine, a buyer's link may be another's who only looked."""

    link: Link
    withdrawn: tuple[Link, ...]
    still_live: tuple[Link, ...]


class _Register(Struct, frozen=True):
    """The shop's register as it lies there, and what is to be written."""

    checked: Checked
    text: str
    day: date

    @property
    def links(self) -> tuple[Link, ...]:
        return links_of(self.checked)


def make_link(folder: Path, engine: str, edition: Edition, day: date, until: date | None, note: str | None) -> Link:
    """A new link. LinkError for an engine that is not there, an end before the day; OSError, GitFailed, BusyError."""
    if until is not None and until < day:
        raise LinkError(f"{until} is before {day}: the link would never open")
    return _changed(folder, day, f"Share {engine}, {edition} edition", lambda register: _added(
        register, register.text, engine, edition, until, note))  # fmt: skip


def end_link(folder: Path, token: str, day: date) -> Link:
    """Withdraw a link, named by its token or the beginning of it."""

    def end(register: _Register) -> tuple[str, str]:
        link = link_named(register.links, token)
        if link.revoked is not None:
            raise LinkError(f"{link.engine}, {link.edition}: {link.state(day)} already")
        return with_values(register.text, link.index, {"revoked": day.isoformat()}), link.token

    return _changed(folder, day, "Withdraw a link", end)


def renew_link(folder: Path, token: str, day: date) -> Link:
    """Give a link a new token: the old one is dead, the pages are renamed and not built again. LinkError: it ended."""

    def renew(register: _Register) -> tuple[str, str]:
        link, new = link_named(register.links, token), new_token()
        lives_on = day_of_links(register.checked.repo, day).day
        if not link.is_live(lives_on):
            raise LinkError(f"{link.engine}, {link.edition}: {link.state(lives_on)}; make a new link")
        return with_values(register.text, link.index, {"token": new, "made": day.isoformat()}), new

    return _changed(folder, day, "Renew a link", renew)


def sell(folder: Path, engine: str, to: str, day: date) -> Sale:
    """Withdraw the old owner's links and make the new owner's, in one commit. As `make_link` raises."""
    old: list[Link] = []
    others: list[Link] = []

    def hand_on(register: _Register) -> tuple[str, str]:
        text = register.text
        for link in (one for one in register.links if one.engine == engine and one.revoked is None):
            if link.edition in OWNERS:
                old.append(link)
                text = with_values(text, link.index, {"revoked": day.isoformat()})
            elif link.is_live(day):
                others.append(link)
        return _added(register, text, engine, "owner", None, f"sold to {to}")

    link = _changed(folder, day, f"{engine} is sold: its links are handed on", hand_on)
    return Sale(link, tuple(old), tuple(others))


def _changed(folder: Path, day: date, message: str, change: Callable[[_Register], tuple[str, str]]) -> Link:
    """Write what `change` makes of the register and commit it; the link of the token that it names. NoTree."""
    Folder(folder)  # what is no shop gets no lock either
    with alone(folder) as aside:
        tree = Folder(folder)
        there = PATH in tree.paths()
        content = tree.read(PATH) if there else b""
        text, token = change(_Register(_checked(tree, day), content.decode("utf-8-sig"), day))
        new = _in_utf8(text)
        if there:
            put_and_commit(folder, aside, {}, PATH, message, changed={PATH: Exchange(content, new)})
        else:
            put_and_commit(folder, aside, {PATH: new}, PATH, message)
        return next(link for link in links_of(_checked(Folder(folder), day)) if link.token == token)


def _in_utf8(text: str) -> bytes:
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError:
        raise LinkError("the note is no UTF-8 text; set the terminal to UTF-8 and type it again") from None


def _checked(tree: Folder, day: date) -> Checked:
    checked = read_checked(tree, day, repository_of(tree.root))
    wrong = [str(one) for one in checked.problems if one.level == "error" and one.source.path == PATH]
    if wrong:
        raise LinkError("\n".join([*wrong, "nothing was written"]))
    return checked


def _added(
    register: _Register, text: str, engine: str, edition: Edition, until: date | None, note: str | None
) -> tuple[str, str]:
    known = register.checked.shop.engines
    if engine not in known:
        raise LinkError(f"there is no engine {engine}; {nearest(engine, sorted(known))}")
    token = new_token()
    values = {"engine": engine, "edition": edition, "token": token, "made": register.day.isoformat()}
    if until is not None:
        values["until"] = until.isoformat()
    if note:
        values["note"] = note
    return with_link(text, values), token


def link_named(links: Iterable[Link], token: str) -> Link:
    """The one link whose token, or the token of whose address, begins so. LinkError."""
    wanted = token.rstrip("/").rsplit("/", 1)[-1]
    found = [link for link in links if wanted and link.token.startswith(wanted)]
    if len(found) != 1:
        raise LinkError(f"{len(found) or 'no'} link{'s begin' if len(found) > 1 else ' begins'} with {token!r}")
    return found[0]
