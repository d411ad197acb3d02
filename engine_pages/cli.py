"""The command `engine-pages`: each command a few lines that call the room that does the work."""

import sys
from contextlib import suppress
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any

import click

from .bench.log_line import LogLineError, add_line
from .bench.new_sheet import SheetThereError, write_blank
from .bench_commands import file_, start, take
from .history.change_asked import AskedChange, ChangeError, ask_changes
from .history.change_words import change_text
from .history.figure_numbers import as_json
from .history.figures import figures_json
from .history.question_figures import change_figures, season_figures
from .history.season_asked import Asked, SeasonError, ask_season
from .history.season_words import season_text
from .history.tell import tell_one, tell_shop
from .printing import say as _say
from .records.checks.all import read_checked
from .records.checks.checked import Checked
from .records.git import repository_of
from .records.schemas import KINDS, file_name, schema_text
from .records.sheet import SheetKind
from .records.source import nearest
from .records.tree import Commit, Folder, NoTree
from .showing import show_site

records_option = click.option(
    "--records",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=".",
    show_default="the current folder",
    help="The shop's folder.",
)
revision_option = click.option("--at", "revision", metavar="REV", help="Read the records as they were at a commit.")


@click.group()
@click.version_option(package_name="engine-pages")
def main() -> None:
    """Teardown histories of competition engines: check records, print figures, build the history site."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8")  # records hold µ and °, whatever the terminal's own encoding


main.add_command(take)
main.add_command(file_)
main.add_command(start)


@main.command()
@records_option
@revision_option
def check(folder: Path, revision: str | None) -> None:
    """Read every record and print what is wrong, as path:line:column. Ends 1 if there are errors."""
    checked = _read(folder, revision)
    errors = sum(problem.level == "error" for problem in checked.problems)
    # figures are reckoned from records that can be understood, and may raise doubts of their own
    problems = checked.problems if errors else tell_shop(checked).problems
    for problem in problems:
        _say(str(problem))
    doubts = len(problems) - errors
    click.echo(
        f"{_count(errors, 'error')}, {_count(doubts, 'doubt')} in {_count(len(checked.shop.engines), 'engine')}",
        err=True,
    )
    sys.exit(1 if errors else 0)


@main.command()
@click.argument("engine")
@records_option
@revision_option
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--edition", type=click.Choice(["crew"]), default="crew", show_default=True)
def figures(engine: str, folder: Path, revision: str | None, day: str | None, edition: str) -> None:
    """Print every figure of one engine as JSON."""
    checked = _read(folder, revision)
    _stop_on_errors(checked, "nothing was reckoned")
    _known(checked, engine)
    told, _ = tell_one(checked, engine, _day(day))
    _say(figures_json(told, edition), nl=False)


@main.command()
@click.argument("engine")
@records_option
@click.option("--hours-each", type=click.FloatRange(min=0, max=10_000), help="Exposure of every event (hours, km …).")
@click.option("--events", type=click.IntRange(1, 1000), help="This many events in place of the plan's.")
@click.option("--renewed", multiple=True, metavar="PART", help="Take it as renewed: a part, a place, a set.")
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--json", "in_json", is_flag=True, help="Print figures as JSON.")
def season(
    engine: str, folder: Path, hours_each: float | None, events: int | None, renewed: tuple[str, ...],
    day: str | None, in_json: bool,
) -> None:  # fmt: skip
    """Does an engine last the season, or another one; what would renewing a part buy?"""
    checked = _read(folder, None)
    _stop_on_errors(checked, "nothing was reckoned")
    _known(checked, engine)
    try:
        asked = ask_season(checked, engine, Asked(events, hours_each, frozenset(renewed)), _day(day))
    except SeasonError as trouble:
        raise click.ClickException(str(trouble)) from None
    figures = {"engine": engine, **season_figures(asked)}
    _say(as_json(figures) if in_json else f"{season_text(engine, asked)}\n", nl=False)


@main.command()
@records_option
@click.option("--fluid", required=True, help="oil, premix, fuel, filter, …, as the records name it.")
@click.option("--kind", help="One kind of part alone (rotor-bearing).")
@click.option("--from", "before", metavar="NAME", help="What was in before (ester-15w50).")
@click.option("--to", "after", metavar="NAME", help="What was in after.")
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--json", "in_json", is_flag=True, help="Print figures as JSON.")
def compare(
    folder: Path, fluid: str, kind: str | None, before: str | None, after: str | None, day: str | None, in_json: bool
) -> None:
    """Did a change of fluid help: wear before and after, within the same parts."""
    checked = _read(folder, None)
    _stop_on_errors(checked, "nothing was reckoned")
    try:
        found = ask_changes(checked, AskedChange(fluid, kind, before, after), _day(day))
    except ChangeError as trouble:
        raise click.ClickException(str(trouble)) from None
    texts = "\n\n".join(change_text(one) for one in found)
    _say(as_json([change_figures(one) for one in found]) if in_json else f"{texts}\n", nl=False)


@main.command()
@click.argument("kind", type=click.Choice(["teardown", "inspection", "build"]))
@click.argument("engine")
@records_option
@click.option("--date", "day", metavar="DATE", help="The sheet's day (2026-11-02); today if it is left out.")
@click.option("--again", is_flag=True, help="A second sheet of that kind and day.")
def sheet(kind: SheetKind, engine: str, folder: Path, day: str | None, again: bool) -> None:
    """Write a blank sheet, with last values, limits and grades beside its lines. Never overwrites."""
    checked = _read(folder, None)
    _stop_on_errors(checked, "no sheet was written")
    _known(checked, engine)
    try:
        path = write_blank(checked, folder, kind, engine, _day(day) or checked.today, again=again)
    except (SheetThereError, OSError) as trouble:
        raise click.ClickException(str(trouble)) from None
    _say(f"The blank sheet is {path}")


@main.command()
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
    """Add a line to an engine's log, in date order, kept as typed."""
    fluids = [one.partition("=") for one in typed.pop("fluids")]
    if any(not (fluid and name) for fluid, _, name in fluids):
        raise click.ClickException("a fluid is FLUID=NAME: --fluid oil=ester-15w50")
    values = {key: value for key, value in typed.items() if value}
    if fluids:
        values["fluids"] = {fluid: name for fluid, _, name in fluids}
    try:
        added = add_line(folder, engine, _day(day) or datetime.now().date(), values)
    except (LogLineError, NoTree, OSError) as trouble:
        raise click.ClickException(str(trouble)) from None
    _say(f"{added.path}:{added.number}: {added.text}")
    for problem in added.doubts:
        click.echo(str(problem), err=True)


@main.command()
@click.argument("kind", type=click.Choice(list(KINDS)), required=False)
@click.option("--to", "out", type=click.Path(path_type=Path, file_okay=False), help="Write into this folder instead.")
def schema(kind: str | None, out: Path | None) -> None:
    """Print the JSON Schema of a kind of record, or write them all: an editor shows what is wrong as you type."""
    if out is None:
        names = "".join(f"{name:<12}{record.path}\n" for name, record in KINDS.items())
        _say(schema_text(kind) if kind else names, nl=False)
        return
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name in [kind] if kind else KINDS:
            (out / file_name(name)).write_text(schema_text(name), encoding="utf-8", newline="\n")
            _say(str(out / file_name(name)))
    except OSError as trouble:
        raise click.ClickException(f"the schemas could not be written: {trouble}") from None


@main.command()
@records_option
@click.option(
    "--to", "out", type=click.Path(path_type=Path, file_okay=False), required=True, help="Where the site goes."
)
@click.option("--engine", help="Build the site of this engine alone.")
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--open", "show", is_flag=True, help="Open it in the browser when it is built.")
def site(folder: Path, out: Path, engine: str | None, day: str | None, show: bool) -> None:
    """Build the crew's site. It holds everything: it stays on the crew's machines."""
    from .plugins.build import build_site

    checked = _read(folder, None)
    _stop_on_errors(checked, "nothing was published")
    if engine is not None:
        _known(checked, engine)
    with click.progressbar(length=100, label="Building", file=sys.stderr) as bar:
        try:
            index = build_site(folder, out, engine=engine, as_of=_day(day), progress=partial(_advance, bar))
        except OSError as trouble:
            raise click.ClickException(f"the site could not be written: {trouble}") from None
    _say(f"The site is at {index}")
    if show:
        _show(index.parent)


def _advance(bar: Any, share: float, what: str) -> None:
    if sys.stderr.isatty():  # elsewhere each new label would be a line of its own
        bar.label = f"Building, {what}"
    bar.update(max(int(share * 100) - bar.pos, 0))


def _show(folder: Path) -> None:
    shown = show_site(folder)
    if shown is None:
        click.echo("No browser could be started here; open that file by hand (its search needs a server).", err=True)
        return
    address, serving = shown
    _say(f"It is open at {address}, on this machine alone. Ctrl-C ends it.")
    with suppress(KeyboardInterrupt):
        serving.join()


def _read(folder: Path, revision: str | None) -> Checked:
    try:
        tree = Folder(folder) if revision is None else Commit(folder, revision)
    except NoTree as bad:
        raise click.ClickException(str(bad)) from None
    checked = read_checked(tree, datetime.now().date(), repository_of(folder))
    if checked.shop.file is None and not checked.shop.engines:
        raise click.ClickException(f"{folder} is no shop: there is no shop.yml and no engine in it")
    return checked


def _stop_on_errors(checked: Checked, undone: str) -> None:
    """Print the errors of the records and end; `undone` says what therefore did not happen."""
    errors = [problem for problem in checked.problems if problem.level == "error"]
    if errors:
        for problem in errors:
            click.echo(str(problem), err=True)
        raise click.ClickException(f"{_count(len(errors), 'error')} in the records; {undone}")


def _known(checked: Checked, engine: str) -> None:
    """Stop where there is no such engine, or none that can be told: its family is not written."""
    known = [each for each in checked.shop.engines if checked.shop.family_of(each) is not None]
    if engine not in known:
        raise click.ClickException(f"there is no engine {engine}; {nearest(engine, known)}")


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        if len(text) != len("2026-11-02"):
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise click.ClickException(f"{text} is no date; write 2026-11-02") from None


def _count(number: int, thing: str) -> str:
    return f"{number or 'no'} {thing}{'' if number == 1 else 's'}"
