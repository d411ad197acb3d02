"""What is in no commit yet: a repository in; the files that differ from what is checked out, out.

A record that git is told to ignore, or not to look at, is read like any other, so it is a draft like any other.
"""

from .git import Repo
from .load import record_kind


def drafts_in(repo: Repo) -> frozenset[str]:
    """Files that differ from the commit, and records that do so while git's settings hide it. GitFailed."""
    return repo.changed() | {path for path in repo.hidden() if record_kind(path)}
