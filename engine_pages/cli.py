"""The command `engine-pages`: each command a few lines that call the room that does the work."""

import sys
from contextlib import suppress
from pathlib import Path

import click

from .asking import (
    building,
    count_words,
    day_of,
    known_engine,
    read_shop,
    records_option,
    revision_option,
    say,
    stop_on_errors,
)
from .bench.inbox import waiting
from .bench.settling import why_it_waits
from .bench_commands import BENCH
from .handover_commands import HANDOVER
from .history.change_asked import AskedChange, ChangeError, ask_changes
from .history.change_words import change_text
from .history.figure_numbers import as_json
from .history.figures import figures_json
from .history.question_figures import change_figures, season_figures
from .history.season_asked import Asked, SeasonError, ask_season
from .history.season_words import season_text
from .history.tell import tell_one, tell_shop
from .lock_command import lock
from .placing.place import PlaceError
from .records.schemas import KINDS, file_name, schema_text
from .review_command import review
from .share_commands import SHARE
from .showing import show_site
from .trail_command import trail
from .verify_command import verify


@click.group()
@click.version_option(package_name="engine-pages")
def main() -> None:
    """Teardown histories of competition engines: check records, print figures, build the history site."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8")  # records hold µ and °, whatever the terminal's own encoding


for command in (*BENCH, *SHARE, *HANDOVER, lock, trail, review, verify):
    main.add_command(command)


@main.command()
@records_option
@revision_option
def check(folder: Path, revision: str | None) -> None:
    """Read every record and print what is wrong, as path:line:column. Ends 1 if there are errors.

    Drafts that wait in the inbox are named, with what keeps them there, and are no error.
    """
    checked = read_shop(folder, revision)
    errors = sum(problem.level == "error" for problem in checked.problems)
    # figures are reckoned from records that can be understood, and may raise doubts of their own
    problems = checked.problems if errors else tell_shop(checked).problems
    for problem in problems:
        say(str(problem))
    doubts = len(problems) - errors
    engines = count_words(len(checked.shop.engines), "engine")
    click.echo(f"{count_words(errors, 'error')}, {count_words(doubts, 'doubt')} in {engines}", err=True)
    drafts = waiting(checked.shop.tree.paths())
    if drafts:
        click.echo(f"{count_words(len(drafts), 'draft')} to be settled:", err=True)
    for draft in drafts:
        click.echo(f"  {why_it_waits(checked.shop.tree, draft, checked.today, checked.problems)}", err=True)
    sys.exit(1 if errors else 0)


@main.command()
@click.argument("engine")
@records_option
@revision_option
@click.option("--as-of", "day", metavar="DATE", help="Reckon as of this day (2026-11-02).")
@click.option("--edition", type=click.Choice(["crew"]), default="crew", show_default=True)
def figures(engine: str, folder: Path, revision: str | None, day: str | None, edition: str) -> None:
    """Print every figure of one engine as JSON."""
    checked = read_shop(folder, revision)
    stop_on_errors(checked, "nothing was reckoned")
    known_engine(checked, engine)
    told, _ = tell_one(checked, engine, day_of(day))
    say(figures_json(told, edition), nl=False)


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
    checked = read_shop(folder, None)
    stop_on_errors(checked, "nothing was reckoned")
    known_engine(checked, engine)
    try:
        asked = ask_season(checked, engine, Asked(events, hours_each, frozenset(renewed)), day_of(day))
    except SeasonError as trouble:
        raise click.ClickException(str(trouble)) from None
    figures = {"engine": engine, **season_figures(asked)}
    say(as_json(figures) if in_json else f"{season_text(engine, asked)}\n", nl=False)


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
    checked = read_shop(folder, None)
    stop_on_errors(checked, "nothing was reckoned")
    try:
        found = ask_changes(checked, AskedChange(fluid, kind, before, after), day_of(day))
    except ChangeError as trouble:
        raise click.ClickException(str(trouble)) from None
    texts = "\n\n".join(change_text(one) for one in found)
    say(as_json([change_figures(one) for one in found]) if in_json else f"{texts}\n", nl=False)


@main.command()
@click.argument("kind", type=click.Choice(list(KINDS)), required=False)
@click.option("--to", "out", type=click.Path(path_type=Path, file_okay=False), help="Write into this folder instead.")
def schema(kind: str | None, out: Path | None) -> None:
    """Print the JSON Schema of a kind of record, or write them all: an editor shows what is wrong as you type."""
    if out is None:
        names = "".join(f"{name:<12}{record.path}\n" for name, record in KINDS.items())
        say(schema_text(kind) if kind else names, nl=False)
        return
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name in [kind] if kind else KINDS:
            (out / file_name(name)).write_text(schema_text(name), encoding="utf-8", newline="\n")
            say(str(out / file_name(name)))
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

    checked = read_shop(folder, None)
    stop_on_errors(checked, "nothing was published")
    if engine is not None:
        known_engine(checked, engine)
    with building() as progress:
        try:
            index = build_site(folder, out, engine=engine, as_of=day_of(day), progress=progress)
        except PlaceError as trouble:
            raise click.ClickException(str(trouble)) from None
        except OSError as trouble:
            raise click.ClickException(f"the site could not be written: {trouble}") from None
    say(f"The site is at {index}")
    if show:
        _show(index.parent)


def _show(folder: Path) -> None:
    shown = show_site(folder)
    if shown is None:
        click.echo("No browser could be started here; open that file by hand (its search needs a server).", err=True)
        return
    address, serving = shown
    say(f"It is open at {address}, on this machine alone. Ctrl-C ends it.")
    with suppress(KeyboardInterrupt):
        serving.join()
