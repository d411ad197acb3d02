"""What is in no commit yet: a repository in; the files that differ from what is checked out, out.

A record that git is told to ignore, or not to look at, is read like any other, so it is a draft like any other.
"""

from typing import Final

from .git import Repo
from .load import record_kind

_FOLDERS: Final = ("engines/", "families/", "parts/")  # where records lie, and the photos beside them


def drafts_in(repo: Repo) -> frozenset[str]:
    """Files that differ from the commit, and records that do so while git's settings hide it. GitFailed."""
    changed, ignored = repo.changed_and_ignored()
    return changed | {path for path in ignored | repo.unwatched() if record_kind(path)}


def left_behind(repo: Repo) -> frozenset[str]:
    """What of the drafts is missing in what is made from the last commit: records, and what lies beside them.

    Codes of links, a site that was built and the like lie in a shop's folder too; nothing is made of them. GitFailed.
    """
    return frozenset(path for path in drafts_in(repo) if record_kind(path) or path.startswith(_FOLDERS))
