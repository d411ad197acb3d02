"""Publish every live link of a shop, and nothing else: records at a commit in, a tree for any static host out.

Each shared site is built beside the tree and exchanged whole. Killed at any instant, the tree holds the old sites or
the new ones; the next publishing tidies up. A site of which nothing changed keeps every byte and every time.
"""

import json
import os
import shutil
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp
from typing import Final

from mkdocs.exceptions import ConfigurationError
from mkdocs.structure.files import get_files
from msgspec import Struct, field
from msgspec.structs import replace

from engine_pages.editions.day_of_links import DayOfLinks, day_of_links
from engine_pages.editions.links import FOLDER, Link, closed_by
from engine_pages.garbage import seldom_collected
from engine_pages.pages.cache import Cache
from engine_pages.pages.kept_past import histories_of
from engine_pages.pages.site import one_sheet
from engine_pages.placing.exchange import take_place
from engine_pages.placing.place import LOCK, PlaceError, beside, check_outside
from engine_pages.records.drafts import left_behind
from engine_pages.records.git import Repo, repository_of, why_no_repository
from engine_pages.records.tree import NoTree

from .build import starter_config
from .made_before import CHANGED, ELSEWHERE, LATER, MadeBefore, Sources, Wanted
from .one_share import Job, Made, is_kept, make_share
from .program import program
from .shared_theme import THEME, SharedTheme, theme_name
from .standing import digest_at, shares_in
from .survey import At, Survey, links_at, survey_of
from .workers import two_hands, workers

Progress = Callable[[float, str], None]
PUBLIC: Final = "public"  # the folder among the records that the tree may stand in: git does not know it
FEWEST_FOR_A_POOL: Final = 3  # sites that have to be told: a process more has to start, and to read the shop once more
KEPT_COSTS: Final = 0.1  # of what a site costs that has to be told: one that was kept is framed alone
TORN: Final = "what stood there was not as it was made"
OLD: Final = "old-"  # beside the tree: what was put aside while the new one takes its place
ROOT_FILES: Final = ("index.html", ".nojekyll", f"{FOLDER}/index.html")
EMPTY: Final = (
    b'<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="robots" content="noindex">'
    b"<title>Nothing here</title></head><body></body></html>\n"
)


class Published(Struct, frozen=True):
    """What a publishing did: links built with the reason, left as they stood, renamed, how many folders were taken
    away, and whose: of links that are ended or withdrawn, those that opened until now.

    `commit` is what was published, `uncommitted` which records and photos are not in it, `reckoned` the day by
    which links are live. `later` is the reason of those that were built after the others, since the rates of like
    parts moved that they lean on.
    """

    commit: str
    built: tuple[tuple[Link, str], ...]
    untouched: tuple[Link, ...]
    renamed: tuple[Link, ...]
    removed: int
    ended: tuple[tuple[Link, str], ...]
    uncommitted: tuple[str, ...]
    reckoned: DayOfLinks
    later: str = ELSEWHERE


class _Work(Struct):
    """One publishing on its way."""

    to: Path
    aside: Path
    made: Path  # in it, and of this publishing alone: what helpers of a killed one may still write is elsewhere
    standing: dict[str, str | None]  # digest by token, of what lies in the tree; None: no site of ours, or a torn one
    live: set[str]  # tokens that open something
    built: list[tuple[Link, str]] = field(default_factory=list)
    untouched: list[Link] = field(default_factory=list)
    renamed: list[Link] = field(default_factory=list)


class Making(Struct, frozen=True):
    """What every link of one publishing is made with."""

    at: At
    theme: str
    sources: Sources
    survey: Survey
    cache: Cache


@seldom_collected()
def publish(
    folder: Path, to: Path, today: date, revision: str = "HEAD", progress: Progress | None = None,
    cache: Cache | None = None,
) -> Published:  # fmt: skip
    """Bring the tree at `to` up to the shop's last commit, or another.

    `cache`: where what is read and made is kept; who publishes again and again hands over the same one each time.
    Raises NoTree where there is no commit to publish, ConfigurationError where records have errors, PlaceError where
    the tree cannot go there, OSError where it cannot be written; what stands there is whole then.
    """
    folder, to, cache = folder.resolve(), to.resolve(), cache or Cache()
    _check_place(folder, to)
    repo = repository_of(folder)
    commit = repo.commit(revision) if repo is not None else None
    if repo is None or commit is None:
        raise NoTree(f"{revision} of {folder}: {why_no_repository(folder) or 'there is no such commit'}")
    with cache.putting_off():  # pages first
        return _published(to, repo, At(folder, commit, today), progress, cache)


def _published(to: Path, repo: Repo, at: At, progress: Progress | None, cache: Cache) -> Published:
    """Bring the tree up to a commit that is there; `at.today` is the clock's day."""
    reckoned = day_of_links(repo, at.today)
    at = replace(at, today=reckoned.day)
    with ThreadPoolExecutor(1) as beside_it:  # git goes through the folder while the commit is read
        drafts = beside_it.submit(left_behind, repo)
        survey = survey_of(at, cache, progress)
    uncommitted = drafts.result()
    histories = histories_of(repo, at.commit, cache, uncommitted)
    _stop_on_errors(survey)
    written_now = links_at(at.folder, repo.head() or at.commit)
    states = [(link, closed_by(link, written_now, at.today)) for link in survey.links]
    live = [link for link, why in states if why is None and link.engine in survey.groups]
    with _kept_whole(to) as aside:
        made = Path(mkdtemp(prefix="made-", dir=aside))
        theme = _put_theme(to, aside, made, cache)
        standing = {path.name: digest_at(path) for path in shares_in(to)}
        opened = frozenset(standing)
        work = _Work(to, aside, made, standing, {one.token for one in live})
        made_before, sources = MadeBefore(to, cache), Sources(survey, histories, at, theme)
        plan = [sources.wanted(link, made_before) for link in live]
        for one, came in _make_all(work, Making(at, theme, sources, survey, cache), plan, progress):
            made_before.add(one, came, sources)
        made_before.keep()
        _take_away(work, theme)
    return Published(
        at.commit,
        tuple(work.built),
        tuple(work.untouched),
        tuple(work.renamed),
        len(opened - work.live),
        tuple((link, why) for link, why in states if why is not None and link.token in opened),
        tuple(sorted(uncommitted)),
        reckoned,
    )


def _check_place(records: Path, to: Path) -> None:
    """The public tree is never the records, and never the crew's site."""
    check_outside(to, records, PUBLIC)
    if to.is_dir() and not all(_is_of_a_tree(path) for path in to.iterdir() if not path.name.startswith(".")):
        raise PlaceError(f"{to} holds something else than a public tree; name a new folder, or an empty one")
    for name in (FOLDER, *ROOT_FILES):
        place = to / name
        if os.path.lexists(place) and not (place.is_dir() if name == FOLDER else place.is_file()):
            raise PlaceError(f"{place} is no {'folder' if name == FOLDER else 'file'}, as it is in a public tree; "
                             "move it away, or name a new folder")  # fmt: skip


def _is_of_a_tree(path: Path) -> bool:
    return path.name in (FOLDER, *ROOT_FILES) or _is_theme(path)


def _is_theme(path: Path) -> bool:
    return THEME.fullmatch(path.name) is not None and path.is_dir()


def _stop_on_errors(survey: Survey) -> None:
    if survey.errors:
        count = f"{len(survey.errors)} error{'s' if len(survey.errors) > 1 else ''}"
        raise ConfigurationError("\n".join([*survey.errors, f"{count} in the records; nothing was published"]))


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
        if left.name.startswith(OLD) and not os.path.lexists(place):
            left.rename(place)
        elif left.is_dir() and not left.is_symlink():
            shutil.rmtree(left)
        elif left.name != LOCK:
            left.unlink()


def _put_theme(to: Path, aside: Path, made: Path, cache: Cache) -> str:
    """The theme, our own styles in it, and the empty pages, each where it is not there yet; the theme's folder.

    Where the same program put it there before, and its files have their sizes still, it is not gathered again.
    """
    known = json.loads(cache.get("theme", program()) or b"{}")
    if known and all(_has(to / path, size) for path, size in known["sizes"].items()):
        return str(known["theme"])
    theme, sizes = _gathered_theme(to, aside, made)
    cache.put("theme", program(), json.dumps({"theme": theme, "sizes": sizes}).encode("utf-8"))
    return theme


def _has(path: Path, size: int) -> bool:
    return path.is_file() and path.stat().st_size == size


def _gathered_theme(to: Path, aside: Path, made: Path) -> tuple[str, dict[str, int]]:
    """The theme's folder, and the size of every file that was put into the tree, each whole."""
    shared = SharedTheme("")
    with TemporaryDirectory(prefix="nothing-", dir=made) as nothing:
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
    sizes = {f"{theme}/{path}": len(content) for path, content in everything.items()}
    return theme, sizes | {name: len(EMPTY) if name.endswith(".html") else 0 for name in ROOT_FILES}


def _holds(path: Path, content: bytes) -> bool:
    return path.is_file() and path.read_bytes() == content


def _make_all(
    work: _Work, making: Making, plan: list[Wanted], progress: Progress | None
) -> Iterator[tuple[Wanted, Made]]:
    """Make every link of which anything changed, and put each in its place as soon as it is whole.

    First those of which the records changed: those of their siblings whose rates moved with them come after.
    """
    stands = [one for one in plan if one.why is None and work.standing.get(one.link.token) == one.digest]
    work.untouched.extend(one.link for one in stands)
    still = {one.link.token for one in stands}
    jobs = sorted((one for one in plan if one.link.token not in still), key=lambda one: one.why in LATER)
    for number, (one, made) in enumerate(_made(work, making, jobs, progress), 1):
        _settle(work, one, made.digest)
        if progress is not None:
            progress(number / len(jobs), _called(one))
        yield one, made


def _called(one: Wanted) -> str:
    return f"{one.link.engine}, {one.link.edition}"


def _made(
    work: _Work, making: Making, wanted: list[Wanted], progress: Progress | None
) -> Iterator[tuple[Wanted, Made]]:
    """What was made, in order; where there is much of it, on all cores, but for the first, which need not wait."""
    dead = {digest for token, digest in work.standing.items() if token not in work.live}
    jobs = [making.sources.job(one) for one in wanted]

    def asked(job: Job) -> tuple[At, str, Job, frozenset[str], Path]:
        token = job.link.token
        standing = frozenset(digest for digest in (*dead, work.standing.get(token)) if digest)
        return making.at, making.theme, job, standing, work.made / token

    if wanted and progress is not None:
        progress(0.0, _called(wanted[0]))  # the first takes a while
    costs = [KEPT_COSTS if is_kept(making.cache, job) else 1.0 for job in jobs]
    first = sum(one.why not in LATER for one in wanted)
    few = (os.cpu_count() or 1) == 1 or sum(costs) < FEWEST_FOR_A_POOL
    alone = len(jobs) if few else first if sum(costs[:first]) < FEWEST_FOR_A_POOL else 0
    yield from (
        (one, make_share(*asked(job), making.survey, two_hands, making.cache))
        for one, job in zip(wanted[:alone], jobs[:alone], strict=True)
    )
    if alone == len(jobs):
        return
    making.cache.write_kept()  # each of them reads it
    with workers() as pool:
        futures = [pool.submit(make_share, *asked(job)) for job in jobs[alone:]]
        yield from ((one, future.result()) for one, future in zip(wanted[alone:], futures, strict=True))


def _settle(work: _Work, one: Wanted, digest: str) -> None:
    """Put what was made in its place; of a link that was renewed, what stood under its old address."""
    link = one.link
    new, before = work.made / link.token, work.standing.get(link.token)
    if before == digest:
        work.untouched.append(link)
        return
    if new.is_dir():
        work.built.append((link, _why_built(work, one)))
    else:
        _from_twin(work, digest, new)
        work.renamed.append(link)
    place = work.to / FOLDER / link.token
    _keep_times(place, new)
    take_place(new, place, work.aside / f"{OLD}{link.token}")
    work.standing[link.token] = digest


def _why_built(work: _Work, one: Wanted) -> str:
    if one.link.token not in work.standing:
        return "new"
    return one.why or (TORN if work.standing[one.link.token] is None else CHANGED)


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


def _take_away(work: _Work, theme: str) -> None:
    """Remove what no live link opens, and themes that no page uses any more."""
    dead = [path for path in shares_in(work.to) if path.name not in work.live]
    old_themes = [path for path in work.to.iterdir() if _is_theme(path) and path.name != theme]
    for path in (*dead, *old_themes):
        path.rename(work.aside / f"gone-{path.name}")
