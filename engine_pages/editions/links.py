"""Links to an engine's history: what is live, what its address is, how a token is made.

In: the shop's shares as written. Out: links, their state on a day, their addresses. Each link is a capability: who
knows it sees the pages, and nobody else finds them (W3C TAG, Good Practices for Capability URLs).
"""

import base64
import secrets
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Final, cast

from msgspec import Struct

from ..records.checks.checked import Checked
from ..records.load import Shop
from ..records.shop import TOKEN, Share
from .table import Edition

TOKEN_BYTES: Final = 20  # 160 bits; the TAG's finding asks for 120 at the least
FOLDER: Final = "s"  # of all links in the public tree

GONE: Final = "no longer among the links"


class LinkError(Exception):
    """The link cannot be made or found; the message says why."""


class Link(Struct, frozen=True):
    """One link as it is written, with its place in the list."""

    index: int
    engine: str
    edition: Edition
    token: str
    made: date | None
    until: date | None
    revoked: date | None
    note: str | None

    def state(self, day: date) -> str:
        """Whether it opens on a day, and if not, why."""
        if self.revoked is not None:
            return f"withdrawn on {self.revoked}"
        if not self.is_live(day):
            return f"ended on {self.until}"
        return "live" if self.until is None else f"live until {self.until}"

    def is_live(self, day: date) -> bool:
        return self.revoked is None and (self.until is None or day <= self.until)


def new_token() -> str:
    """160 random bits in base32, lower case (RFC 4648): no letter of it is taken for another."""
    return base64.b32encode(secrets.token_bytes(TOKEN_BYTES)).decode("ascii").lower()


def links_of(checked: Checked) -> tuple[Link, ...]:
    """Every link that is written, with a token by which it can be opened; a line without one opens nothing."""
    return links_in(checked.shop)


def bench_address(shop: Shop, engine: str, day: date) -> str | None:
    """Where an engine's bench page opens on a day, by the last live link to it that is written. None without such a
    link, and where the shop names no site."""
    site = shop.file.it.site if shop.file is not None else None
    of_bench = [link for link in links_in(shop) if (link.engine, link.edition) == (engine, "bench")]
    found = next((link for link in reversed(of_bench) if link.is_live(day)), None)
    return address_of(found, site) if found is not None and site else None


def closed_by(link: Link, now: Iterable[Link], day: date) -> str | None:
    """Why a link of the records that are shown opens nothing on a day; None where it does.

    `now`: those that are written today, which may be later records: what was withdrawn since opens nothing.

    >>> link = Link(0, "K-07", "owner", "a" * 32, None, None, None, None)
    >>> closed_by(link, [], date(2026, 11, 2)), closed_by(link, [link], date(2026, 11, 2))
    ('no longer among the links', None)
    """
    same = [one for one in now if (one.token, one.engine, one.edition) == (link.token, link.engine, link.edition)]
    closed = (one.state(day) for one in (*same, link) if not one.is_live(day))
    return next(closed, None) if same else GONE


def links_in(shop: Shop) -> tuple[Link, ...]:
    """Every link that is written, with a token by which it can be opened; a line without one opens nothing."""
    return tuple(_links(shop.shares.it.shares or [])) if shop.shares is not None else ()


def _links(shares: list[Share]) -> Iterator[Link]:
    for index, share in enumerate(shares):
        if share.token is None or not TOKEN.fullmatch(share.token) or share.edition == "crew":
            continue
        days = [when.day if when is not None else None for when in (share.made, share.until, share.revoked)]
        edition = cast(Edition, share.edition)
        yield Link(index, share.engine, edition, share.token, days[0], days[1], days[2], share.note)


def address_of(link: Link, site: str | None) -> str:
    """Where it opens: under the shop's own site, or from the top of the public tree where the shop names none.

    >>> link = Link(0, "K-07", "owner", "a" * 32, None, None, None, None)
    >>> address_of(link, "https://history.example/")
    'https://history.example/s/aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa/'
    """
    way = f"{FOLDER}/{link.token}/"
    return f"{site.rstrip('/')}/{way}" if site else way
