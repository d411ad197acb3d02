"""The day by which links are live or have ended: that of this machine's clock, or a later one that commits vouch for.

In: the shop's repository, today by the clock. Out: the day, and which commit is dated ahead of the clock. A clock that
was set back opens no link again, and one commit from a clock that was set ahead ends none: a day that the clock has not
reached yet is believed where two of the last three commits were made on it or later.
"""

from datetime import date, timedelta
from typing import Final

from msgspec import Struct

from ..records.git import Repo

WITNESSES: Final = 3  # the last commits, of which most have to agree
A_DAY: Final = timedelta(days=1)  # by so much a date may be ahead where the sun rises earlier


class DayOfLinks(Struct, frozen=True):
    """`day` is that of all links; `ahead`: the last commit dated more than a day after the clock, and its day."""

    day: date
    ahead: tuple[str, date] | None


def day_of_links(repo: Repo | None, today: date) -> DayOfLinks:
    """The day by which links are reckoned, today by the clock or later. GitFailed."""
    commits = repo.last_commits(WITNESSES) if repo is not None else ()
    days = sorted(day for _, day in commits)
    vouched = days[(len(days) - 1) // 2] if days else today
    ahead = next((one for one in commits if one[1] - today > A_DAY), None)
    return DayOfLinks(max(today, vouched), ahead)
