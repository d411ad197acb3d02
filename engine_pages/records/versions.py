"""Every version of record files that git holds: paths and a revision in, each file's contents over time out.

Nothing is parsed here. One pass over the history and one process that reads the blobs, however many files there are.
"""

from collections.abc import Callable

from .git import Repo, read_blobs


def versions_of(repo: Repo, wanted: Callable[[str], bool], revision: str = "HEAD") -> dict[str, list[bytes]]:
    """The contents that each wanted path ever had up to a revision, newest first, each once. GitFailed.

    A path is as it was then: a file that moved has two.
    """
    head = repo.commit(revision)
    if head is None:
        return {}
    blobs: dict[str, dict[str, None]] = {}
    for path, blob, _ in repo.changes(head):
        if blob and wanted(path):
            blobs.setdefault(path, {})[blob] = None
    contents = read_blobs(repo.root, {blob for ids in blobs.values() for blob in ids})
    return {path: [contents[blob] for blob in ids if blob in contents] for path, ids in sorted(blobs.items())}
