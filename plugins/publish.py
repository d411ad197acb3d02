"""Publish every live link of a shop, and nothing else: records at a commit in, a tree for any static host out.

Each shared site is built beside the tree and exchanged whole. Killed at any instant, the tree holds the old sites or
the new ones; the next publishing tidies up. A site of which nothing changed keeps every byte and every time.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp
from typing import Final

from mkdocs.exceptions import ConfigurationError
from mkdocs.structure.files import get_files

from engine_pages.editions.links import FOLDER, TOKEN, Link, links_of
from engine_pages.pages.site import one_sheet
from engine_pages.placing.exchange import take_place
from engine_pages.placing.place import PlaceError, beside, check_outside
from engine_pages.records.checks.checked import Checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Commit

from .build import starter_config
from .one_share import Ask, digest_at, make_share, shop_at
from .shared_theme import SharedTheme, theme_name
from .workers import workers

Progress = Callable[[float, str], None]
PUBLIC: Final = "public"  # the folder among the records that the tree may stand in: git does not know it
FEWEST_FOR_A_POOL: Final = 3  # a process more has to read the shop once more
OLD: Final = "old-"  # beside the tree: what was put aside while the new one takes its place
ROOT_FILES: Final = ("index.html", ".nojekyll", f"{FOLDER}/index.html")
EMPTY: Final = (
    b'<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="robots" content="noindex">'
    b"<title>Nothing here</title></head><body></body></html>\n"
)


@dataclass(frozen=True, slots=True)
class Published:
    """What a publishing did: links built with the reason, left as they stood, renamed, taken away, ended.

    `commit` is what was published, `uncommitted` how many files of the shop's folder are not in it.
    """

    commit: str
    built: tuple[tuple[Link, str], ...]
    untouched: tuple[Link, ...]
    renamed: tuple[Link, ...]
    removed: int
    ended: tuple[tuple[Link, str], ...]
    uncommitted: int


@dataclass(slots=True)
class _Work:
    """One publishing on its way."""

    to: Path
    aside: Path
    made: Path  # in it, and of this publishing alone: what helpers of a killed one may still write is elsewhere
    standing: dict[str, str | None]  # digest by token, of what lies in the tree
    live: set[str]  # tokens that open something
    built: list[tuple[Link, str]] = field(default_factory=list)
    untouched: list[Link] = field(default_factory=list)
    renamed: list[Link] = field(default_factory=list)


def publish(folder: Path, to: Path, today: date, revision: str = "HEAD", progress: Progress | None = None) -> Published:
    """Bring the tree at `to` up to the shop's last commit, or another.

    Raises NoTree where there is no commit to publish, ConfigurationError where records have errors, PlaceError where
    the tree cannot go there, OSError where it cannot be written; what stands there is whole then.
    """
    to = to.resolve()
    _check_place(folder.resolve(), to)
    commit = Commit(folder, revision).commit
    day = max(today, _day_of(folder, commit))  # a clock that was set back opens no link again
    checked = shop_at(folder.resolve(), commit, day)
    _stop_on_errors(checked)
    links = links_of(checked)
    live = [link for link in links if link.is_live(day) and link.engine in checked.shop.engines]
    with _kept_whole(to) as aside:
        made = Path(mkdtemp(prefix="made-", dir=aside))
        theme = _put_theme(to, aside, made)
        work = _Work(
            to, aside, made, {path.name: digest_at(path) for path in _shares_in(to)}, {one.token for one in live}
        )
        _make_all(work, Ask(folder.resolve(), commit, day, theme), live, progress)
        removed = _take_away(work, theme)
    return Published(
        commit,
        tuple(work.built),
        tuple(work.untouched),
        tuple(work.renamed),
        removed,
        tuple((link, state) for link in links if (state := link.state(day)) != "live"),
        len(checked.repo.changed()) if checked.repo is not None else 0,
    )


def _check_place(records: Path, to: Path) -> None:
    """The public tree is never the records, and never the crew's site."""
    check_outside(to, records, PUBLIC)
    if to.is_dir() and any(path.name not in ("s", "index.html", ".nojekyll") and not path.name.startswith("theme-")
                           for path in to.iterdir() if not path.name.startswith(".")):  # fmt: skip
        raise PlaceError(f"{to} holds something else than a public tree; name a new folder, or an empty one")


def _stop_on_errors(checked: Checked) -> None:
    errors = [str(one) for one in checked.problems if one.level == "error"]
    if errors:
        count = f"{len(errors)} error{'s' if len(errors) > 1 else ''}"
        raise ConfigurationError("\n".join([*errors, f"{count} in the records; nothing was published"]))


def _day_of(folder: Path, commit: str) -> date:
    """The latest day on which anything of the shop was committed, by the clocks of those who did."""
    repo = repository_of(folder)
    assert repo is not None  # the commit was found in it
    touches = repo.last_touches(commit).values()
    return max((date.fromisoformat(touch.committed[:10]) for touch in touches), default=date.min)


@contextmanager
def _kept_whole(to: Path) -> Iterator[Path]:
    """The folder beside, empty; first what a killed publishing left there is put back or cleared away."""
    with beside(to) as aside:
        try:
            _tidy(to, aside)
            yield aside
        finally:
            _tidy(to, aside)


def _tidy(to: Path, aside: Path) -> None:
    for left in sorted(aside.iterdir()):
        place = to / FOLDER / left.name.removeprefix(OLD)
        if left.name.startswith(OLD) and not place.exists():
            left.rename(place)
        elif left.is_dir():
            shutil.rmtree(left)


def _put_theme(to: Path, aside: Path, made: Path) -> str:
    """The theme with our own styles, and the empty pages, each whole, where it is not there yet; the theme's folder."""
    shared = SharedTheme("")
    with TemporaryDirectory(prefix="engine-pages-") as nothing:
        config = starter_config(Path(nothing) / "site", Path(nothing), "theme")
        files = get_files(config)
        files.add_files_from_theme(config.theme.get_env(), config)
        shared.take_from(files)
    everything = shared.files | {path: read() for path, read in one_sheet().items()}
    theme = theme_name(everything)
    if not all(_holds(to / theme / path, content) for path, content in everything.items()):
        for path, content in everything.items():
            (made / theme / path).parent.mkdir(parents=True, exist_ok=True)
            (made / theme / path).write_bytes(content)
        to.mkdir(parents=True, exist_ok=True)
        take_place(made / theme, to / theme, aside / f"gone-{theme}")
    (to / FOLDER).mkdir(exist_ok=True)
    for name in ROOT_FILES:
        content = EMPTY if name.endswith(".html") else b""
        if not _holds(to / name, content):
            (made / "file").write_bytes(content)
            os.replace(made / "file", to / name)
    return theme


def _holds(path: Path, content: bytes) -> bool:
    return path.is_file() and path.read_bytes() == content


def _shares_in(to: Path) -> Iterator[Path]:
    yield from (path for path in sorted((to / FOLDER).iterdir()) if path.is_dir() and TOKEN.fullmatch(path.name))


def _make_all(work: _Work, ask: Ask, live: list[Link], progress: Progress | None) -> None:
    """Make every live link, and put each in its place as soon as it is whole."""
    for number, (link, digest) in enumerate(_made(work, ask, live), 1):
        if progress is not None:
            progress(number / len(live), f"{link.engine}, {link.edition}")
        _settle(work, link, digest)


def _made(work: _Work, ask: Ask, live: list[Link]) -> Iterator[tuple[Link, str]]:
    """(link, digest), in order; where there are several they are made on all cores."""
    dead = {digest for token, digest in work.standing.items() if token not in work.live}
    jobs = [
        (ask, link, frozenset(one for one in (*dead, work.standing.get(link.token)) if one), work.made / link.token)
        for link in live
    ]
    if len(live) < FEWEST_FOR_A_POOL or (os.cpu_count() or 1) == 1:
        yield from ((link, make_share(*job)) for link, job in zip(live, jobs, strict=True))
        return
    with workers() as pool:
        futures = [pool.submit(make_share, *job) for job in jobs]
        yield from ((link, future.result()) for link, future in zip(live, futures, strict=True))


def _settle(work: _Work, link: Link, digest: str) -> None:
    """Put what was made in its place; of a link that was renewed, what stood under its old address."""
    new, before = work.made / link.token, work.standing.get(link.token)
    if before == digest:
        work.untouched.append(link)
        return
    if new.is_dir():
        work.built.append((link, "new" if before is None else "changed"))
    else:
        _from_twin(work, digest, new)
        work.renamed.append(link)
    place = work.to / FOLDER / link.token
    _keep_times(place, new)
    take_place(new, place, work.aside / f"{OLD}{link.token}")
    work.standing[link.token] = digest


def _from_twin(work: _Work, digest: str, new: Path) -> None:
    """What stands somewhere in the tree with this digest: moved, where its own link is dead, else copied."""
    token = min((token in work.live, token) for token, found in work.standing.items() if found == digest)[1]
    there = work.to / FOLDER / token
    if token in work.live:
        shutil.copytree(there, new)
    else:
        there.rename(new)
        del work.standing[token]


def _keep_times(old: Path, new: Path) -> None:
    """A file whose bytes are the old one's keeps its time, so that nothing is sent again that is there."""
    for path in new.rglob("*"):
        before = old / path.relative_to(new)
        if path.is_file() and before.is_file() and before.read_bytes() == path.read_bytes():
            status = before.stat()
            os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))


def _take_away(work: _Work, theme: str) -> int:
    """Remove what no live link opens, and themes that no page uses any more; how many links went."""
    dead = [path for path in _shares_in(work.to) if path.name not in work.live]
    old_themes = [path for path in work.to.glob("theme-*") if path.name != theme]
    for path in (*dead, *old_themes):
        path.rename(work.aside / f"gone-{path.name}")
    return len(dead)
