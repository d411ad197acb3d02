"""The command that publishes the public tree."""

from concurrent.futures.process import BrokenProcessPool
from datetime import date, datetime
from pathlib import Path

import click

from ..pages.cache import Cache
from ..placing.place import PlaceError
from ..plugins.publish import publish as publish_tree
from ..records.drafts import left_behind
from ..records.git import GitFailed, Repo, repository_of
from ..records.tree import NoTree
from .asking import MOST_NAMED, building, count_words, first_words, left_out_words, records_option, say
from .link_words import ahead_words, name_of
from .staying import Passing, stay

STAYS = "It stays, and publishes each commit that follows. Ctrl-C ends it."


@click.command()
@records_option
@click.option("--to", "out", type=click.Path(path_type=Path, file_okay=False), required=True,
              help="Where the public tree goes.")  # fmt: skip
@click.option("--at", "revision", default="HEAD", show_default=True, metavar="REV", help="Publish this commit.")
@click.option("--stay", "stays", is_flag=True, help="Stay, and publish each commit that follows, until Ctrl-C.")
def publish(folder: Path, out: Path, revision: str, stays: bool) -> None:
    """Build the public tree: every live link and nothing else, from the last commit."""
    cache = Cache()
    if not stays:
        _publish(folder, out, revision, cache)
        return
    if revision != "HEAD":
        raise click.UsageError("--stay follows the last commit; leave out --at")
    repo = repository_of(folder)
    stay(lambda: _state(repo), lambda: _publish(folder, out, revision, cache), STAYS)


def _state(repo: Repo | None) -> tuple[str | None, date]:
    """What a publishing follows from: the last commit, and the day, with which links end."""
    return (repo.head() if repo is not None else None), datetime.now().date()


def _publish(folder: Path, out: Path, revision: str, cache: Cache) -> None:
    with building() as progress:
        try:
            done = publish_tree(folder, out, datetime.now().date(), revision, progress, cache)
        except (GitFailed, NoTree) as trouble:
            raise click.ClickException(str(trouble)) from None
        except PlaceError as trouble:
            raise Passing(str(trouble)) from None
        except BrokenProcessPool:
            raise Passing("a process that helped was ended from outside, as where memory runs out") from None
        except click.ClickException as trouble:  # errors in the records as they are committed
            raise click.ClickException(f"{trouble.format_message()}{_in_no_commit(folder)}") from None
        except OSError as trouble:
            raise Passing(f"the tree could not be written: {trouble}") from None
    told = [one for one in done.built if one[1] != done.later]
    renamed = [(link, "the same pages, at this address now") for link in done.renamed]
    for link, why in (*told, *renamed, *done.ended):
        say(f"{link.engine}, {name_of(link)}: {why}")
    leaning = sum(why == done.later for _, why in done.built)
    if leaning:
        say(f"{count_words(leaning, 'site')} built after these for {done.later}: rates that they lean on moved")
    counts = ((len(done.built), "built"), (len(done.untouched), "left untouched"), (len(done.renamed), "renamed"),
              (done.removed, "taken away"))  # fmt: skip
    say(f"{', '.join(f'{number} {word}' for number, word in counts)}. {out} is commit {done.commit[:7]}.")
    for line in ahead_words(done.reckoned):
        say(line)
    if done.uncommitted:
        say(f"{left_out_words(done.uncommitted, 'that commit')}; commit, then publish again")


def _in_no_commit(folder: Path) -> str:
    """Records that lie in the folder and not in its commit: they may be what is missing in what is published."""
    repo = repository_of(folder)
    changed = sorted(path for path in left_behind(repo) if path.endswith(".yml")) if repo is not None else []
    if not changed:
        return ""
    return (
        "\npublish reads the last commit; changed since, and not in the commit: "
        f"{first_words(changed, MOST_NAMED)}; engine-pages file commits them"
    )
