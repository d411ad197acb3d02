"""The commands of the bench, each a few lines that call the room that does the work."""

from collections.abc import Callable, Collection, Iterable
from datetime import date, datetime
from functools import partial
from pathlib import Path
from shlex import quote
from tempfile import TemporaryDirectory
from typing import Any

import click

from ..bench import filing
from ..bench.log_line import LogLineError, add_line
from ..bench.new_sheet import SheetThereError, write_blank
from ..bench.new_shop import NotEmptyError, starter_waits
from ..bench.new_shop import start as start_shop
from ..bench.on_disk import BusyError, ChangedError, rewrite
from ..bench.settling import Settled, drafts_meant, settle
from ..history.tell import tell_one, tell_shop
from ..pages.bench_shelf import bench_pages, bench_path
from ..placing.place import PlaceError
from ..records.git import GitFailed
from ..records.sheet import SheetKind
from ..records.tree import NoTree
from .asking import building, day_of, known_engine, read_shop, records_option, say, stop_on_errors
from .bench_server import FROM_PAGE, PORT, BenchServer, PortTakenError

NOTHING_SAID = (
    "nothing is said of the line but its day; nothing was written. "
    "A run: engine-pages log {} --what race --minutes 35 --starts 2"
)


@click.command("file")
@click.argument("paths", nargs=-1, required=True, type=click.Path(exists=True, path_type=Path))
@click.option("-m", "message", help="What the commit says.")
@records_option
def file_(paths: tuple[Path, ...], message: str | None, folder: Path) -> None:
    """Commit sheets in one step, with the photos that they name: from the camera's folder, shrunk, upright, bare.

    PATHS are sheets or their folders, or an engine's log, and photos or a folder of them. A draft of the inbox
    (inbox/NAME; inbox for all) goes to its place, once nothing keeps it out.
    """
    today = datetime.now().date()
    try:
        drafts = {path: meant for path in paths if (meant := drafts_meant(folder, path))}
        rest = [path for path in paths if path not in drafts]
        photos = rest if drafts and not any(filing.is_record(folder, path) for path in rest) else []
        _settle_each(folder, [draft for meant in drafts.values() for draft in meant], today, message, photos)
        if rest and not photos:
            say(_filed_text(filing.file_in(folder, rest, today, message)))
        if starter_waits(folder):
            say(f"The starter files are staged still, and in no commit: {_starter_commit(folder)}")
    except filing.TROUBLE as trouble:
        raise click.ClickException(str(trouble)) from None


def _settle_each(folder: Path, drafts: list[str], today: date, message: str | None, photos: list[Path]) -> None:
    """Each draft by itself: one that waits still keeps no other out. FilingError with what keeps those that wait."""
    waits: list[str] = []
    for draft in dict.fromkeys(drafts):
        try:
            say(_settled_text(draft, settle(folder, draft, today, message, photos)))
        except filing.FilingError as trouble:
            waits.append(str(trouble))
    if waits:
        raise filing.FilingError("\n".join(waits))


def _starter_commit(folder: Path) -> str:
    return f"git -C {quote(str(folder))} commit -m 'Starter files'"


def _settled_text(draft: str, settled: Settled) -> str:
    in_commit = "in no commit" if settled.commit is None else f"committed as {settled.commit}"
    photos = _photo_lines(settled.photos, settled.not_named)
    return "\n".join([*photos, *map(str, settled.doubts), f"{draft} is now {settled.path}: {in_commit}"])


def _photo_lines(photos: Iterable[tuple[str, str]], not_named: Collection[str]) -> list[str]:
    left = [f"named by no line, and left where they are: {', '.join(not_named)}"] if not_named else []
    return [*(f"{name}: {path}" for name, path in photos), *left]


def _filed_text(filed: filing.Filed) -> str:
    lines = [*_photo_lines(filed.photos, filed.not_named), *map(str, filed.doubts)]
    in_commit = "nothing new; no commit was made" if filed.commit is None else f"committed as {filed.commit}"
    return "\n".join([*lines, f"{', '.join(filed.paths)}: {in_commit}"])


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--demo", is_flag=True, help="Fill it with the demo's records and their history.")
def start(folder: Path, demo: bool) -> None:
    """Make a new shop in an empty folder: a repository that works at once."""
    try:
        files = start_shop(folder, demo=demo)
    except (NotEmptyError, GitFailed, OSError) as trouble:
        raise click.ClickException(str(trouble)) from None
    say(f"{folder} is a shop. Its {len(files)} starter files are staged, to be committed: {_starter_commit(folder)}")
    say(f"Next: read {folder / 'README.md'}")


@click.command()
@click.argument("kind", type=click.Choice(["teardown", "inspection", "build"]))
@click.argument("engine")
@records_option
@click.option("--date", "day", metavar="DATE", help="The sheet's day (2026-11-02); today if it is left out.")
@click.option("--again", is_flag=True, help="A second sheet of that kind and day.")
def sheet(kind: SheetKind, engine: str, folder: Path, day: str | None, again: bool) -> None:
    """Write a blank sheet, with last values, limits and grades beside its lines. Never overwrites."""
    checked = read_shop(folder, None)
    stop_on_errors(checked, "no sheet was written")
    known_engine(checked, engine)
    try:
        path = write_blank(checked, folder, kind, engine, day_of(day) or checked.today, again=again)
    except (SheetThereError, BusyError, GitFailed, NoTree, OSError) as trouble:
        raise click.ClickException(str(trouble)) from None
    say(f"The blank sheet is {path}")


@click.command()
@click.argument("engine")
@records_option
@click.option("--date", "day", metavar="DATE", help="The day; today if it is left out.")
@click.option("--kind", type=click.Choice(["run", "service", "change", "incident"]), default="run", show_default=True)
@click.option("--what", help="dyno, practice, race, …; of an incident over_rev, overheat, …")
@click.option("--hours", help="How long it ran: 1.3, or 78 min.")
@click.option("--minutes", help="The same in minutes.")
@click.option("--km")
@click.option("--starts")
@click.option("--peak-rpm")
@click.option("--over-revs")
@click.option("--counter", help="What the counter says now: 41.6 h.")
@click.option("--did", multiple=True, help="A service that was done (oil, filter); may be given again.")
@click.option("--fluid", "fluids", multiple=True, metavar="FLUID=NAME", help="What went in; may be given again.")
@click.option("--why")
@click.option("--note")
def log(engine: str, folder: Path, day: str | None, **typed: Any) -> None:
    """Add a line to an engine's log, in date order, kept as typed.

    The log is a file like any other: engine-pages file engines/ENGINE/log.yml commits it.
    """
    fluids = [one.partition("=") for one in typed.pop("fluids")]
    if any(not (fluid and name) for fluid, _, name in fluids):
        raise click.ClickException("a fluid is FLUID=NAME: --fluid oil=ester-15w50")
    values = {key: value for key, value in typed.items() if value}
    if not fluids and values.keys() <= {"kind"}:
        raise click.ClickException(NOTHING_SAID.format(engine))
    if fluids:
        values["fluids"] = {fluid: name for fluid, _, name in fluids}
    try:
        added = add_line(folder, engine, day_of(day) or datetime.now().date(), values)
    except (LogLineError, BusyError, ChangedError, GitFailed, NoTree, OSError) as trouble:
        raise click.ClickException(str(trouble)) from None
    say(f"{added.path}:{added.number}: {added.text}")
    for problem in added.doubts:
        click.echo(str(problem), err=True)


@click.command()
@click.argument("engine", required=False)
@records_option
@click.option(
    "--to", "out", type=click.Path(path_type=Path, file_okay=False), help="Write the bench pages there instead."
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="The port on this machine. Drafts stay at the address where they were written, port and all. 0: any free one.",
)
def bench(engine: str | None, folder: Path, out: Path | None, port: int) -> None:
    """Serve the crew's site and the bench pages on this machine alone, and take in what they hand over.

    With ENGINE: say where that engine's page is. With --to: write the bench page of ENGINE, or of all, into a folder:
    for a phone, or for a stick.
    """
    if out is not None:
        _write_bench(folder, engine, out)
        return
    if engine is not None:
        known_engine(read_shop(folder, None), engine)
    with TemporaryDirectory(prefix="engine-pages-bench-") as place:
        site = Path(place) / "site"
        tell = partial(click.echo, err=True)
        try:
            with BenchServer(folder, site, port, tell, partial(_build_again, folder, site, tell)) as server:
                _build_bench(folder, site)
                where = server.address if engine is None else server.address_of(bench_path(engine))
                say(f"The bench{f' of {engine}' if engine else ''} is at {where}")
                say("Only this machine can open it. Ctrl-C ends it.")
                server.serve_forever()
        except KeyboardInterrupt:
            return
        except (PortTakenError, NoTree, OSError) as trouble:
            raise click.ClickException(f"the bench cannot be served: {trouble}") from None


def _write_bench(folder: Path, engine: str | None, out: Path) -> None:
    checked = read_shop(folder, None)
    stop_on_errors(checked, "no bench page was written")
    if engine is not None:
        known_engine(checked, engine)
    engines = [tell_one(checked, engine)[0]] if engine is not None else tell_shop(checked).engines
    try:
        for path, made in bench_pages(checked, engines).items():
            rewrite(out / path, made())
    except OSError as trouble:
        raise click.ClickException(f"the bench page could not be written: {trouble}") from None
    say("\n".join(f"{out / 'bench' / one.id / 'index.html'}" for one in engines))


def _build_bench(folder: Path, site: Path) -> None:
    """The crew's site, with bench pages that know where to hand over on this machine."""
    from ..plugins.build import build_site  # the generator is loaded for this alone

    stop_on_errors(read_shop(folder, None), "the bench was not opened")
    with building() as progress:
        build_site(folder, site, progress=progress, take=FROM_PAGE)


def _build_again(folder: Path, site: Path, tell: Callable[[str], None]) -> None:
    """After the records changed. What keeps the site from being built is told; it stays as it was."""
    try:
        _build_bench(folder, site)
    except (click.ClickException, PlaceError, OSError) as trouble:
        tell(f"the site stays as it was: {trouble}")
