"""Links, in the words of the commands."""

from ..editions.day_of_links import DayOfLinks
from ..editions.links import Link

SIGNS = 6  # of a link's token: how its code's files are named, and enough to name the link by


def name_of(link: Link) -> str:
    """A link among others: whose it is, what it gives, how its address begins."""
    return f"{link.edition}{f' ({link.note})' if link.note else ''}, {link.token[:SIGNS]}…"


def ahead_words(reckoned: DayOfLinks) -> list[str]:
    if reckoned.ahead is None:
        return []
    commit, day = reckoned.ahead
    return [f"commit {commit[:7]} is dated {day}, ahead of this machine's clock; links are reckoned by {reckoned.day}"]
