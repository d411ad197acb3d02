"""Checks of shares.yml: each link leads to one engine that there is, and can be opened.

A token opens one line and no other: whoever holds it would else see the history of somebody else's engine.
"""

from collections.abc import Iterator
from typing import Final

from ..model import Record
from ..shop import TOKEN, Share, Shares
from ..source import Problem, doubt, error, nearest
from .checked import Checked

MAKE_IT: Final = "engine-pages share makes one"


def check_shares(checked: Checked) -> Iterator[Problem]:
    """A link shows an engine that there is, and ends after it was made."""
    shares = checked.shop.shares
    if shares is None:
        return
    for index, share in enumerate(shares.it.shares or ()):
        if share.engine not in checked.shop.engines:
            message = f"engine {share.engine!r} stands nowhere; {nearest(share.engine, sorted(checked.shop.engines))}"
            yield error(shares.place("shares", index, "engine"), message)
        if share.made and share.until and share.until.day < share.made.day:
            message = f"the link ends on {share.until} before it was made, on {share.made}"
            yield error(shares.place("shares", index, "until"), message)
        yield from _unopened(shares, index, share)


def check_tokens(checked: Checked) -> Iterator[Problem]:
    """Two lines with one token are two engines, or two readers, behind one address."""
    shares = checked.shop.shares
    first: dict[str, int] = {}
    for index, share in enumerate((shares.it.shares if shares is not None else None) or ()):
        if shares is None or share.token is None:
            continue
        other = first.setdefault(share.token, index)
        if other != index:
            line = shares.place("shares", other, "token").line
            message = f"this token stands on line {line} already: a link wants a token of its own; {MAKE_IT}"
            yield error(shares.place("shares", index, "token"), message)


def _unopened(shares: Record[Shares], index: int, share: Share) -> Iterator[Problem]:
    """A line that opens nothing, though somebody may think it does. The token itself is never printed."""
    if share.edition == "crew":
        message = "the crew's edition is never shared: this line opens nothing; write owner, buyer, tag or bench"
        yield doubt(shares.place("shares", index, "edition"), message)
    elif share.token is None:
        yield doubt(shares.place("shares", index), f"a link without a token opens nothing; {MAKE_IT}")
    elif not TOKEN.fullmatch(share.token):
        message = f"this is no token, and opens nothing: a token has 32 of the signs a–z and 2–7; {MAKE_IT}"
        yield doubt(shares.place("shares", index, "token"), message)
