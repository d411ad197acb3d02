"""How long the trail takes: 2,000 sheets in 5,000 commits, every amendment of every field, and whether all are found.

Beside it what others take for less: pygit2 walking the commits for the changed files of each, and `git log` asked for
one file after another. Run it with the interpreter that has the project and its test extra installed:

    python tests/speed/trail.py [--sheets 2000] [--commits 5000]
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pygit2

sys.path.insert(0, str(Path(__file__).parents[1]))
from planted_history import PlantedHistory

from engine_pages.pages.cache import Cache
from engine_pages.records.git import repository_of
from engine_pages.records.trail import Trail, read_trail

TARGET = 4.0  # s, on a machine of two cores, with nothing kept from an earlier run
ASKED_SINGLY = 40  # files, from which the time for all is reckoned


def laid_out(top: Path, planted: PlantedHistory) -> int:
    """The repository, with its files checked out; how many commits are in the history of main."""
    git = ["git", "-C", str(top)]
    subprocess.run(["git", "init", "-q", "-b", "main", str(top)], check=True)
    subprocess.run([*git, "fast-import", "--quiet"], input=planted.stream, check=True)
    subprocess.run([*git, "reset", "-q", "--hard", "main"], check=True)
    return int(subprocess.run([*git, "rev-list", "--count", "main"], check=True, capture_output=True).stdout)


def walk(top: Path) -> int:
    """pygit2: which files each commit changed against its first parent. No content is read."""
    repository = pygit2.Repository(str(top))
    changes = 0
    for commit in repository.walk(repository.head.target):
        parents = commit.parents
        difference = repository.diff(parents[0], commit) if parents else commit.tree.diff_to_tree(swap=True)
        changes += len(list(difference.deltas))
    return changes


def ask_singly(top: Path, paths: list[str], *options: str) -> None:
    for path in paths:
        subprocess.run(
            ["git", "-C", str(top), "log", *options, "--format=%H", "--", path], check=True, capture_output=True
        )


def processor() -> float:
    """Seconds of processor time so far, with those of the git processes: what a busy machine does not stretch much."""
    return sum(os.times()[:4])


def timed(do: Callable[[], object]) -> float:
    start = time.perf_counter()
    do()
    return time.perf_counter() - start


def counted(trail: Trail) -> Counter[tuple[object, ...]]:
    return Counter(
        (record.recorded.subject, one.field, one.kind, one.old, one.new, one.commit.author)
        for record in trail.records
        if record.recorded is not None
        for one in record.amendments
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sheets", type=int, default=2000)
    parser.add_argument("--commits", type=int, default=5000)
    wanted = parser.parse_args()
    # Sides that were squashed or rebased are in no history: some more are made.
    planted = PlantedHistory(wanted.sheets, wanted.commits + wanted.commits // 40).grow()
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder) / "shop"
        commits = laid_out(top, planted)
        repo = repository_of(top)
        assert repo is not None
        start, worked = time.perf_counter(), processor()
        trail = read_trail(repo)
        cold, worked = time.perf_counter() - start, processor() - worked
        cache = Cache(Path(folder) / "cache")
        filling = timed(lambda: read_trail(repo, kept=cache))
        warm = timed(lambda: read_trail(repo, kept=cache))
        walked = timed(lambda: walk(top))
        some = [record.path for record in trail.records][:: max(wanted.sheets // ASKED_SINGLY, 1)]
        share = len(trail.records) / len(some)
        singly, followed = (timed(lambda o=o: ask_singly(top, some, *o)) * share for o in (("-1",), ("--follow",)))
    found = counted(trail)
    print(f"{len(trail.records)} sheets, {commits} commits, {sum(found.values())} amendments, {planted.moves} moves")
    print(f"planted and not found: {(planted.planted - found).total()}, invented: {(found - planted.planted).total()}")
    print(f"trail {cold:.2f} s (target: under {TARGET}), of processor time {worked:.2f} s")
    print(f"trail while filling a cache {filling:.2f} s, from it {warm:.2f} s")
    print(f"pygit2, changed files alone: {walked:.2f} s")
    print(f"git log -1, file by file: {singly:.0f} s; git log --follow: {followed:.0f} s (from {len(some)} files)")


if __name__ == "__main__":
    main()
